"""The plan and the map check as text."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
import shapely
from rich.console import Console, RenderableType

from planner.course.findings import Finding
from planner.course.hole import Hole, HoleFrame, Tee
from planner.course.lies import Lie
from planner.course.map_check import MapReport, report_on
from planner.golfer.plays_like import PlaysLike
from planner.golfer.shot_outcome import SwingStyle
from planner.report import text, words
from planner.report.cautions import CAUTIONS
from planner.strategy.advice import AimPoint, HolePlan, NextShot, RoundPlan, Shares, Shot
from planner.units import DistanceUnit

METRES, YARDS = DistanceUnit.METRES, DistanceUnit.YARDS
DEMO_MAP = Path(__file__).parents[2] / "courses_demo" / "mossquern.osm"


def shown(part: RenderableType, width: int = 100) -> str:
    console = Console(width=width, color_system=None, force_terminal=False)
    with console.capture() as captured:
        console.print(part)
    return captured.get()


def shot(club: str, cost: float, **changes: object) -> Shot:
    aim = AimPoint((180.0, -6.0), "left edge of the far bunker", -6.0, -0.033, 0.75)
    shares = Shares(0.55, 0.25, 0.0, 0.08, 0.02, 0.0, 0.07, 0.03, 0.12)
    values = Shot(
        swing=3,
        club=club,
        style=SwingStyle.FULL,
        carry_m=180.0,
        lie=Lie.TEE,
        position_hole=(0.0, 0.0),
        aim=aim,
        expected_strokes=4.5 + cost,
        expected_penalties=0.11,
        cost=cost,
        shares=shares,
        leave_m=137.2,
    )
    return dataclasses.replace(values, **changes)  # type: ignore[arg-type]


def hole_plan(ref: str = "7", **changes: object) -> HolePlan:
    hole = Hole(
        ref=ref,
        par=4,
        stroke_index=11,
        line_hole=shapely.LineString([(0, 0), (320, 0)]),
        tees=(Tee("yellow", (0.0, 0.0)),),
        pin_hole=(320.0, 0.0),
        areas=(),
        in_bounds=None,
        frame=HoleFrame((0.0, 0.0), 0.0),
        name="Low Field [b]",
    )
    pitch = shot("Sand wedge", 0.0, style=SwingStyle.PARTIAL, carry_m=60.0, expected_strokes=2.91)
    place = NextShot(
        "left rough", 0.21, Lie.ROUGH, (250.0, -20.0), 66.0, pitch, shot("9 iron", 0.2)
    )
    values = HolePlan(
        hole=hole,
        tee="yellow",
        tee_hole=(0.0, 0.0),
        length_m=320.0,
        best=shot("Driver", 0.0),
        others=(shot("3 wood", 0.06), shot("5 iron", 0.41)),
        next_shots=(place,),
        expected_strokes=4.5,
        expected_penalties=0.11,
        converged=True,
        residual=1e-4,
        sweeps=5,
    )
    return dataclasses.replace(values, **changes)  # type: ignore[arg-type]


def round_plan(*holes: HolePlan) -> RoundPlan:
    return RoundPlan("Low Heath", "A. Golfer", "spring", "yellow", holes, "strokes")


def test_hole_says_everything_about_the_tee_shot() -> None:
    said = " ".join(shown(text.hole_text(hole_plan(), METRES, tee="yellow")).split())
    for part in (
        "Hole 7, Low Field [b], par 4, stroke index 11, 320 m",
        "Driver, carries 180 m",
        "left edge of the far bunker; 6 m left of the line of play; bearing 043°",
        "4.50 strokes, 0.11 of them penalties",
        "fairway 55 %, rough 25 %, sand 8 %, trees 2 %, penalty area 7 %, out of bounds 3 %",
        "mishit (any of these) 12 %",
        "Usual leave: 137 m",
        "Next best: 3 wood, 0.06 strokes more",
        "left rough",
        "Sand wedge, partial to 60 m",
        "else 9 iron: +0.20",
        "5 iron",
        "+0.41",
    ):
        assert part in said, part
    assert "yellow tee" not in said


def test_other_tee_set_is_named() -> None:
    assert "yellow tee" in shown(text.hole_text(hole_plan(), METRES, tee="white"))


def test_yards() -> None:
    said = shown(text.hole_text(hole_plan(), YARDS, tee="yellow"))
    assert "350 yd" in said
    assert "7 yd left of the line of play" in said
    assert " m " not in said


def test_tie_is_called_a_tie() -> None:
    tied = hole_plan(others=(shot("3 wood", 0.004), shot("5 iron", 0.41)))
    said = shown(text.hole_text(tied, METRES))
    assert "A tie with 3 wood" in said
    assert "Next best" not in said
    assert "3 wood tie" in shown(text.round_text(round_plan(tied), METRES))


def test_hole_that_is_not_solved_says_so() -> None:
    unsolved = hole_plan(converged=False, residual=0.2)
    assert "Do not rely on this hole" in shown(text.hole_text(unsolved, METRES))
    assert "4.50?" in shown(text.round_text(round_plan(unsolved), METRES))


def test_one_club_has_no_runner_up() -> None:
    said = shown(text.hole_text(hole_plan(others=()), METRES))
    assert "No other club" in said
    assert "Other choices" not in said


def test_full_round_has_halves_that_add_up() -> None:
    said = shown(text.round_text(round_plan(*(hole_plan(str(n)) for n in range(1, 19))), METRES))
    rows = {line.split()[0]: line.split() for line in said.splitlines() if line.strip()}
    assert rows["Out"][1:] == ["36", "2880", "m", "40.50", "0.99"]
    assert rows["In"][1:] == ["36", "2880", "m", "40.50", "0.99"]
    assert rows["All"][1:] == ["72", "5760", "m", "81.00", "1.98"]


def test_part_of_a_round_has_no_halves() -> None:
    said = shown(text.round_text(round_plan(hole_plan("1"), hole_plan("2")), METRES))
    assert "All" in said
    assert "Out" not in said.replace("Out of bounds", "")


def test_tee_shots_of_a_round() -> None:
    said = shown(text.tee_shots_text(round_plan(hole_plan("12")), METRES))
    assert "12" in said
    assert "leaves 137 m" in said
    assert "Next best: 3 wood" in said


def test_what_is_not_known_is_a_dash() -> None:
    lost = shot("Driver", 0.0, leave_m=float("nan"), expected_penalties=float("nan"))
    said = shown(text.hole_text(hole_plan(best=lost, expected_penalties=float("nan")), METRES))
    assert "nan" not in said
    assert "Usual leave: -." in said


@pytest.mark.parametrize("width", [60, 80, 120])
def test_nothing_is_cut_off(width: int) -> None:
    said = shown(text.hole_text(hole_plan(), METRES), width)
    assert "…" not in said
    assert max(map(len, said.splitlines())) <= width


def test_unplayable_ball() -> None:
    drop = shot("", 0.0, swing=-2, aim=None)
    place = NextShot("trees", 0.1, Lie.TREES, (150.0, 40.0), 180.0, drop, None)
    assert "Unplayable ball: drop" in shown(text.hole_text(hole_plan(next_shots=(place,)), METRES))


def test_closing_has_cautions_assumptions_and_source() -> None:
    said = " ".join(shown(text.closing_text(("par from length",), "somebody's map")).split())
    for line in (*CAUTIONS, "par from length", "Map: somebody's map"):
        assert line in said


def test_findings_name_severity_feature_problem_and_remedy() -> None:
    report = report_on(DEMO_MAP)
    said = " ".join(shown(text.findings_text(report)).split())
    assert report.findings
    for finding in report.findings:
        assert f"{finding.severity} {finding.feature_id}: {finding.problem}" in said
        assert finding.remedy_or_assumption in said
    assert "usable. Mossquern Common, 6 holes" in said


def test_unusable_map_says_so() -> None:
    finding = Finding("error", "way/9 [red]", "no holes", "draw them")
    said = shown(text.findings_text(MapReport("x.geojson", (finding,), None)))
    assert "way/9 [red]: no holes" in said
    assert "1 error, 0 warnings, 0 notes" in said
    assert "x.geojson: cannot be used" in said


def test_what_a_shot_plays_like_is_said_where_it_matters() -> None:
    uphill = shot("Driver", 0.0, plays_like=PlaysLike(138.4, 9.6, 4.2))
    assert words.plays_like(uphill, METRES).replace("\u00a0", " ") == "138 m plays like 152 m"
    said = words.plays_like_parts(uphill, METRES).replace("\u00a0", " ")
    assert said == "138 m plays like 152 m (slope +10 m, wind and air +4 m)"
    assert "(slope +10 yd, wind and air +5 yd)" in words.plays_like_parts(uphill, YARDS).replace(
        "\u00a0", " "
    )
    level = shot("Driver", 0.0, plays_like=PlaysLike(152.0, 0.2, -0.1))
    assert words.plays_like(level, METRES) == words.plays_like_parts(level, METRES) == ""
    assert words.plays_like(shot("Driver", 0.0), METRES) == ""
    place = dataclasses.replace(hole_plan().next_shots[0], best=uphill)
    plan = hole_plan(best=uphill, next_shots=(place,))
    told = " ".join(shown(text.hole_text(plan, METRES), width=220).split())
    assert "Landing: 138 m plays like 152 m (slope +10 m, wind and air +4 m)." in told
    assert "; 138 m plays like 152 m" in told
    assert "Landing:" not in shown(text.hole_text(hole_plan(), METRES))


def test_predictions_claim_no_more_than_the_physics() -> None:
    said = words.PREDICTED_CLUBS
    assert all(
        word in said for word in ("loft, length, kind", "inertia", "shaft", "changes nothing")
    )
