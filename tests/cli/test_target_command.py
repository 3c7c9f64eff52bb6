"""``planner target``: what is asked, printed, written and refused."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from planner.cli.app import app
from planner.cli.run import ExitCode
from planner.demo_data import demo_bag, demo_folder
from planner.planning.request import PlanRequest
from planner.report.target_words import apart
from planner.strategy.advice import AimPoint
from planner.strategy.target_results import (
    Choice,
    FormHole,
    FormPlan,
    NextChoice,
    Standing,
    TargetHole,
    TargetPlan,
)
from planner.units import DistanceUnit

MAP = demo_folder() / "pebblecote.geojson"


def choice(swing: str, words: str, worth: float) -> Choice:
    return Choice(swing, AimPoint((150.0, 3.0), words, 3.0, 0.02, 1.0), worth)


DRIVER = choice("Driver", "the left half of the fairway", 0.213)
IRON = choice("5 iron", "the middle of the fairway", 0.187)
LATER = NextChoice("rough, right", 90.0, 0.2, 4, DRIVER, IRON)
STANDINGS = (
    Standing(4, 3.2, 0.1, 0.1, 0.08, DRIVER, IRON, None),
    Standing(5, 2.2, 0.2, 0.213, 0.18, DRIVER, IRON, None),
    Standing(6, 1.2, 0.2, 0.4, 0.39, IRON, IRON, LATER),
    Standing(7, 0.2, 0.2, 0.6, 0.6, IRON, IRON, None),
    Standing(9, -2.0, 0.0001, 0.9, 0.9, DRIVER, IRON, None),
)
PLAN = TargetPlan(
    "C", "Bram Oskel", "yellow", 7, 4, 7.2, 0.62, 0.6, (TargetHole("15", 4, 4, 7.2, STANDINGS),)
)
POINTS = FormPlan(
    "C",
    "Bram Oskel",
    "yellow",
    "Stableford",
    "points",
    (FormHole("15", 4, 1.3, 1.2, choice("Driver", "the pin", 1.3), choice("5 iron", "left", 1.2)),),
)


def run(*arguments: object) -> Result:
    bag = demo_bag("bram")
    return CliRunner().invoke(app, ["target", str(MAP), "--bag", str(bag), *map(str, arguments)])


def said(result: Result) -> str:
    return " ".join(result.output.split())


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    found: list[Any] = []

    def answer(name: str, result: object) -> None:
        def use_case(request: PlanRequest, *arguments: Any, **options: Any) -> object:
            options.pop("progress")
            found.append((name, request, arguments, options))
            return result

        monkeypatch.setattr(f"planner.planning.target.{name}", use_case)

    answer("target_plan", PLAN)
    for name in ("points_plan", "maximum_plan", "match_plan"):
        answer(name, POINTS)
    return found


def test_what_differs_is_printed_once_for_standings_in_a_row(asked: list[Any]) -> None:
    result = run("--target", 7, "--holes", "5,2", "--fine")
    assert result.exit_code == ExitCode.OK
    name, request, arguments, _ = asked[0]
    assert (name, arguments) == ("target_plan", (7,))
    assert request.holes == ("5", "2")
    assert not request.preview
    words = said(result)
    assert "60.0 % playing for fewest strokes (7.2 expected), 62.0 %" in words
    assert "+2.0 %" in words
    assert "2 to 3 behind" in words
    assert "1 behind" in words
    assert "2 ahead" not in words
    assert "coarse" not in words


def test_equal_words_are_told_apart() -> None:
    assert DRIVER.aim is not None
    right = replace(DRIVER, aim=replace(DRIVER.aim, offset_m=12.2))
    assert apart(right, DRIVER, DistanceUnit.METRES) == ", 9 m further right"
    assert apart(DRIVER, right, DistanceUnit.YARDS) == ", 10 yd further left"
    assert apart(DRIVER, IRON, DistanceUnit.METRES) == ""


def test_json_holds_every_standing(asked: list[Any], tmp_path: Path) -> None:
    out = tmp_path / "target.json"
    assert run("--target", 7, "--json", out).exit_code == ExitCode.OK
    assert asked[0][1].preview
    content = json.loads(out.read_text())
    assert content["chance"] == 0.62
    rows = content["holes"][0]["standings"]
    assert [row["in_hand"] for row in rows] == [4, 5, 6, 7, 9]
    assert [row["tee_shot_differs"] for row in rows] == [True, True, False, False, True]
    assert rows[2]["next"]["play"]["swing"] == "Driver"
    assert rows[0]["tee_shot"]["aim_right_of_line_m"] == 3.0


def test_other_forms(asked: list[Any]) -> None:
    result = run("--form", "stableford")
    assert (
        "1.20 points expected playing for fewest strokes, 1.30 playing for points: +0.10"
        in said(result)
    )
    assert run("--form", "maximum", "--over-par", 2).exit_code == ExitCode.OK
    assert run("--form", "match", "--opponent", "3:20,4:60", "--received", 1).exit_code == 0
    assert [one[0] for one in asked] == ["points_plan", "maximum_plan", "match_plan"]
    assert asked[1][2] == (2,)
    _, _, (opponent,), options = asked[2]
    assert opponent.chance(3) == pytest.approx(0.25)
    assert opponent.chance(4) == pytest.approx(0.75)
    assert options == {"received": 1}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "--target is missing"),
        (("--form", "stableford", "--target", 80), "not for --form stableford"),
        (("--form", "match"), "needs --opponent"),
        (("--target", 80, "--received", 1), "for --form match"),
        (("--form", "match", "--opponent", "three"), "write scores and chances"),
        (("--form", "match", "--opponent", "3:-1,4:2"), "write scores and chances"),
        (("--form", "match", "--opponent", "3:0"), "must have a chance"),
        (("--form", "match", "--opponent", "3:nan"), "write scores and chances"),
    ],
)
def test_what_is_refused(asked: list[Any], arguments: tuple[object, ...], words: str) -> None:
    result = run(*arguments)
    assert result.exit_code == ExitCode.USAGE
    assert words in said(result)
    assert not asked
