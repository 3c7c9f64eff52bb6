"""``planner round``: what is asked for reaches the plan, and what is printed is what was found."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from planner.cli.app import app
from planner.cli.run import ExitCode
from planner.demo_data import DEMO_COURSE, demo_bag, demo_folder
from planner.planning import round_plan
from planner.planning.request import PlanRequest
from planner.strategy.advice import RoundPlan
from planner.strategy.roll_out import RollOut
from planner.strategy.round_result import HoleScore
from planner.strategy.score_distribution import distribution
from planner.strategy.simulated_round import simulated_hole
from planner.strategy.solution import Cancelled

MAP = str(demo_folder() / DEMO_COURSE)
BAG = str(demo_bag("odile_marrow"))
CHANCES = (0.1, 0.5, 0.4)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[PlanRequest]:
    """Requests that reached the planning, which here gives every hole the same chances."""
    found: list[PlanRequest] = []

    def plan(request: PlanRequest, *, scored: bool, **_: Any) -> RoundPlan:
        assert scored
        found.append(request)
        scores = tuple(
            HoleScore(ref, 4, distribution(CHANCES, first=3), None, 0.25, 2.0, 0.5, 0.6, 4.3)
            for ref in request.holes
        )
        return RoundPlan("Low Heath", "A. Golfer", "old", "red", (), "strokes", scores=scores)

    monkeypatch.setattr(round_plan, "plan_round", plan)
    return found


def run(*options: str) -> Any:
    return CliRunner().invoke(app, ["round", MAP, "--bag", BAG, *options])


def test_chances_of_two_holes(asked: list[PlanRequest]) -> None:
    done = run("--holes", "1-2", "--target", "7", "--wind", "5 m/s from W", "--tees", "red")
    assert done.exit_code == ExitCode.OK, done.output
    assert asked[0].holes == ("1", "2")
    assert asked[0].conditions.wind_speed == 5.0
    text = " ".join(done.output.replace("\u00a0", " ").split())
    # Seven or better: 3 + 3, 3 + 4 and 4 + 3.
    assert "7 or better, the target 11 %" in text
    # Par 8 or better: those, 4 + 4, and 3 + 5 in either order.
    assert "Par 8 or better 44 %" in text
    assert "8.6 strokes on average, 0.6 over par 8." in text
    assert "0.50 penalty strokes, 4.0 putts, 1.0 of 2 fairways, 1.2 of 2 greens" in text


def test_everything_as_data(asked: list[PlanRequest], tmp_path: Path) -> None:
    file = tmp_path / "round.json"
    done = run("--holes", "1-2", "--target", "8", "--form", "0.2", "--json", str(file))
    assert done.exit_code == ExitCode.OK, done.output
    content = json.loads(file.read_text(encoding="utf-8"))
    assert content["expected"] == pytest.approx(8.6)
    assert content["holes"][1]["score"]["chances"] == pytest.approx(CHANCES)
    assert content["holes"][1]["expected_along_the_plan"] == 4.3
    assert content["greens"] == pytest.approx(1.2)
    assert sum(content["total"]["chances"]) == pytest.approx(1.0)
    mean = sum(
        (content["total"]["first"] + i) * chance
        for i, chance in enumerate(content["total"]["chances"])
    )
    assert mean == pytest.approx(8.6, abs=1e-6)
    # Form leaves the mean and moves the chances.
    assert content["chance_of_target"] != pytest.approx(0.44, abs=1e-4)
    assert content["chance_of_target"] == pytest.approx(0.44, abs=0.03)


def test_form_wider_than_the_holes_is_refused(asked: list[PlanRequest]) -> None:
    done = run("--holes", "1-2", "--form", "8")
    assert done.exit_code == ExitCode.USAGE
    assert "too wide for 2 of 18 holes" in done.output
    assert "at most 0.9" in done.output
    # Nobody waits for a plan to be told so.
    assert not asked


def test_simulated_rounds_stand_beside_the_exact_ones(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    hole = HoleScore("1", 4, distribution(CHANCES, first=3), None, 0.25, 2.0, 0.5, 0.6, 4.3)
    scores = np.repeat([3.0, 4.0, 5.0], [120, 480, 400])
    played = RollOut(scores, np.zeros(1000), np.full(1000, 2.0), np.ones(1000, dtype=bool))

    def plan(request: PlanRequest, *, simulate: int, **_: Any) -> RoundPlan:
        assert simulate == 1000
        balls = simulated_hole(hole, played, seconds=1.0)
        return RoundPlan(
            "Low Heath", "A. G.", "old", "red", (), "strokes", scores=(hole,), simulated=(balls,)
        )

    monkeypatch.setattr(round_plan, "plan_round", plan)
    file = tmp_path / "round.json"
    done = run("--holes", "1", "--simulate", "1000", "--target", "3", "--json", str(file))
    assert done.exit_code == ExitCode.OK, done.output
    text = " ".join(done.output.replace("\u00a0", " ").split())
    assert "1,000 rounds in 1 s of one processor" in text
    # 120 threes where 100 were to be expected: 20 / sqrt(1000 x 0.1 x 0.9) standard errors.
    assert "1 4.3000 4.2800 -0.0200 0.0210 -1.0 3: 10.00 % / 12.00 % (+2.1)" in text
    assert "Every hole's mean is within three standard errors." in text
    assert "3 or fewer 10.000 % 12.000 % +2.1" in text
    content = json.loads(file.read_text(encoding="utf-8"))["simulated"]
    assert content["rounds"] == 1000
    assert content["holes"][0]["chances"][2] == {"score": 5, "exact": 0.4, "simulated": 0.4}


def test_a_folder_that_is_not_there_is_said_before_planning(asked: list[PlanRequest]) -> None:
    done = run("--holes", "1", "--json", "/nowhere/at/all.json")
    assert done.exit_code == ExitCode.USAGE
    assert "there is no folder" in done.output
    assert not asked


def test_an_interrupted_plan_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: Any, **__: Any) -> RoundPlan:
        raise KeyboardInterrupt from Cancelled()

    monkeypatch.setattr(round_plan, "plan_round", stopped)
    assert run("--holes", "1").exit_code == ExitCode.INTERRUPTED
