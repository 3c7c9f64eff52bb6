"""``planner card`` and ``planner sheet``: what is written, what is said, and when it is refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pypdfium2 as pdfium
import pytest
from typer.testing import CliRunner, Result

from planner.cli.app import app
from planner.cli.card_commands import Paper
from planner.cli.run import ExitCode
from planner.planning import round_plan
from planner.planning.request import PlanRequest
from planner.report.imposition import PAPERS
from planner.strategy.advice import RoundPlan
from planner.units import DistanceUnit

ROOT = Path(__file__).resolve().parents[2]
MAP = str(ROOT / "courses_demo" / "tarrowick.geojson")
BAG = str(ROOT / "courses_demo" / "bags" / "odile_marrow.toml")


def run(command: str, out: Path, *arguments: str) -> Result:
    return CliRunner().invoke(app, [command, MAP, "--bag", BAG, "--out", str(out), *arguments])


def text_of(path: Path) -> str:
    pages = [page.get_textpage().get_text_range() for page in pdfium.PdfDocument(path)]
    return " ".join(" ".join(pages).replace("\u00a0", " ").split())


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch, stand_in: ModuleType) -> list[PlanRequest]:
    """Requests that reached the planner, which answers at once with made-up plans."""
    return _answering(monkeypatch, stand_in, lambda plan: plan)


def _answering(
    monkeypatch: pytest.MonkeyPatch,
    stand_in: ModuleType,
    change: Callable[[RoundPlan], RoundPlan],
) -> list[PlanRequest]:
    requests: list[PlanRequest] = []

    def answer(request: PlanRequest, **options: Any) -> RoundPlan:
        requests.append(request)
        return change(stand_in.plan_round(request, **options))

    monkeypatch.setattr(round_plan, "plan_round", answer)
    return requests


@pytest.mark.parametrize("paper", Paper)
def test_card_is_written_for_the_paper(
    asked: list[PlanRequest], tmp_path: Path, paper: Paper
) -> None:
    out = tmp_path / "card.pdf"
    result = run("card", out, "--paper", paper.value, "--tees", "red")
    assert result.exit_code == ExitCode.OK, result.output
    document = pdfium.PdfDocument(out)
    assert document[0].get_size() == pytest.approx(PAPERS[paper.value], abs=0.01)
    assert f"{out}: Tarrowick Links, 18 holes." in result.stdout
    assert "Print it at 100 % on both sides" in result.stdout
    assert "Rule 4.3a" in result.stdout


def test_single_leaves(asked: list[PlanRequest], tmp_path: Path) -> None:
    out = tmp_path / "card.pdf"
    result = run("card", out, "--single")
    document = pdfium.PdfDocument(out)
    assert {page.get_size() for page in document} == {(306.0, 504.0)}
    assert "cut it to 4 1/4 by 7 in" in result.stdout


@pytest.mark.parametrize("paper", Paper)
def test_sheet_is_one_page(asked: list[PlanRequest], tmp_path: Path, paper: Paper) -> None:
    out = tmp_path / "sheet.pdf"
    result = run("sheet", out, "--paper", paper.value)
    assert result.exit_code == ExitCode.OK, result.output
    document = pdfium.PdfDocument(out)
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx(PAPERS[paper.value], abs=0.01)
    assert result.stdout == f"{out}: Tarrowick Links, 18 holes.\n"


@pytest.mark.parametrize("command", ["card", "sheet"])
def test_every_option_of_a_plan_reaches_the_planner(
    asked: list[PlanRequest], tmp_path: Path, command: str
) -> None:
    result = run(
        command,
        tmp_path / "out.pdf",
        *("--tees", "red", "--holes", "1-3", "--aim-for", "penalties", "--give-up", "0.3"),
        *("--wind", "5 m/s from S", "--temperature", "59 F", "--altitude", "100 m"),
        *("--firmness", "1.5", "--green-speed", "11", "--rough", "8", "--local-rule-e5"),
        *("--clubs", "Driver,7 wood,Putter", "--preview"),
    )
    assert result.exit_code == ExitCode.OK, result.output
    (request,) = asked
    assert (request.tee, request.holes) == ("red", ("1", "2", "3"))
    assert (request.aim_for, request.give_up) == ("penalties", 0.3)
    day = request.conditions
    assert day.wind_from == pytest.approx(3.14159265)
    assert day.wind_speed == 5.0
    assert day.temperature_c == pytest.approx(15.0)
    assert (day.altitude_m, day.firmness, day.green_speed_ft) == (100.0, 1.5, 11.0)
    assert day.rough_length_m == pytest.approx(0.08)
    assert request.local_rule_e5
    assert request.preview
    assert request.clubs == ("Driver", "7 wood", "Putter")


@pytest.mark.parametrize("command", ["card", "sheet"])
@pytest.mark.parametrize("unit", DistanceUnit)
def test_units_are_those_asked_for(
    asked: list[PlanRequest], tmp_path: Path, command: str, unit: DistanceUnit
) -> None:
    out = tmp_path / "out.pdf"
    run(command, out, "--units", unit.value)
    hole = asked[0].course.holes[0]
    length = unit.from_metres(hole.length_from(hole.tees[0]))
    assert f"{length:.0f} {unit.symbol}" in text_of(out)


@pytest.mark.parametrize("command", ["card", "sheet"])
def test_what_is_written_again_is_not_stale(
    asked: list[PlanRequest], tmp_path: Path, command: str
) -> None:
    out = tmp_path / "out.pdf"
    run(command, out, "--tees", "red")
    red = text_of(out)
    run(command, out, "--tees", "white")
    white = text_of(out)
    assert "red tees" in red
    assert "red tees" not in white
    assert "white tees" in white
    run(command, out, "--tees", "red")
    assert text_of(out) == red


@pytest.mark.parametrize("command", ["card", "sheet"])
def test_a_hole_that_was_not_solved_is_printed_and_told(
    monkeypatch: pytest.MonkeyPatch, stand_in: ModuleType, tmp_path: Path, command: str
) -> None:
    def spoilt(plan: RoundPlan) -> RoundPlan:
        first, *rest = plan.holes
        return replace(plan, holes=(replace(first, converged=False), *rest))

    _answering(monkeypatch, stand_in, spoilt)
    out = tmp_path / "out.pdf"
    result = run(command, out)
    assert result.exit_code == ExitCode.UNSOLVED
    assert "not converged on hole 1; do not rely on it" in result.stderr
    assert "not solved" in text_of(out).lower()


@pytest.mark.parametrize("command", ["card", "sheet"])
def test_a_place_that_cannot_be_written_is_refused_before_the_work(
    asked: list[PlanRequest], tmp_path: Path, command: str
) -> None:
    result = run(command, tmp_path / "no" / "such" / "out.pdf")
    assert result.exit_code == ExitCode.USAGE
    assert "there is no folder" in result.stderr
    result = run(command, tmp_path)
    assert result.exit_code == ExitCode.USAGE
    assert "name a file in it" in result.stderr
    assert asked == []


@pytest.mark.parametrize("command", ["card", "sheet"])
def test_a_file_is_asked_for(command: str) -> None:
    result = CliRunner().invoke(app, [command, MAP, "--bag", BAG])
    assert result.exit_code == ExitCode.USAGE
    assert "--out" in result.stderr


def test_papers_are_those_of_the_sheets() -> None:
    assert {paper.value for paper in Paper} == set(PAPERS)
