"""``planner golfers``: the same hole for several, as a table and on paper."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType
from typing import Any

import pypdfium2 as pdfium
import pytest
from typer.testing import CliRunner, Result

from planner.cli.app import app
from planner.cli.run import ExitCode
from planner.planning import round_plan
from planner.planning.request import PlanRequest
from planner.strategy.advice import RoundPlan

ROOT = Path(__file__).resolve().parents[2]
MAP = str(ROOT / "courses_demo" / "tarrowick.geojson")
BAGS = [
    str(ROOT / "courses_demo" / "bags" / f"{name}.toml")
    for name in ("odile_marrow", "bram_oskel", "wren_halvard")
]


def run(*arguments: str, bags: list[str] = BAGS) -> Result:
    named = [part for bag in bags for part in ("--bag", bag)]
    return CliRunner().invoke(app, ["golfers", MAP, *named, *arguments])


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch, stand_in: ModuleType) -> list[PlanRequest]:
    """Requests that reached the planner, which answers at once with made-up plans."""
    requests: list[PlanRequest] = []

    def answer(request: PlanRequest, **options: Any) -> RoundPlan:
        requests.append(request)
        plan: RoundPlan = stand_in.plan_round(request, **options)
        return plan

    monkeypatch.setattr(round_plan, "plan_round", answer)
    return requests


def test_every_golfer_has_his_tees_and_a_row(asked: list[PlanRequest], tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    tees = ["--tees", "red", "--tees", "yellow", "--tees", "white"]
    result = run("--hole", "1", *tees, "--out", str(out))
    assert result.exit_code == ExitCode.OK, result.output
    assert [(one.tee, one.holes) for one in asked] == [
        ("red", ("1",)),
        ("yellow", ("1",)),
        ("white", ("1",)),
    ]
    for name in ("Odile Marrow", "Bram Oskel", "Wren Halvard"):
        assert name in result.output
    assert "Hole 1, Harbour Road" in result.output
    (page,) = pdfium.PdfDocument(out)
    said = page.get_textpage().get_text_range().replace("\u00a0", " ")
    assert "Bram Oskel" in said
    assert "Wren Halvard" in said


def test_one_set_of_tees_is_for_all_and_yards_are_said(asked: list[PlanRequest]) -> None:
    result = run("--hole", "1", "--tees", "red", "--units", "yards", bags=BAGS[:2])
    assert result.exit_code == ExitCode.OK, result.output
    assert [one.tee for one in asked] == ["red", "red"]
    said = result.output.replace("\u00a0", " ")
    assert " yd" in said
    assert " m " not in said


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--hole", "1-3"], "name one hole"),
        (["--hole", "1", "--tees", "red", "--tees", "white"], "--tees: given 2 times for 3"),
        (["--hole", "1", "--out", "/no/such/folder/x.pdf"], "there is no folder"),
    ],
)
def test_what_is_wrong_is_said_before_any_work(
    asked: list[PlanRequest], arguments: list[str], said: str
) -> None:
    result = run(*arguments)
    assert result.exit_code == ExitCode.USAGE
    assert said in result.output
    assert not asked


def test_four_golfers_are_one_too_many(asked: list[PlanRequest]) -> None:
    result = run("--hole", "1", bags=[*BAGS, BAGS[0]])
    assert result.exit_code == ExitCode.USAGE
    assert "3 golfers" in result.output
    assert not asked
