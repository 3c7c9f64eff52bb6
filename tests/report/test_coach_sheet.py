"""The coach's sheet: one page, every hole, nothing over anything else."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest

from planner.planning.printing import coach_sheet
from planner.report.cautions import CAUTIONS
from planner.report.coach_sheet import sheet_panel
from planner.report.imposition import PAPERS
from planner.report.panel import Panel
from planner.strategy.advice import RoundPlan
from planner.strategy.round_tally import tally
from planner.units import DistanceUnit

METRES, YARDS = DistanceUnit.METRES, DistanceUnit.YARDS


def panel_of(plan: RoundPlan, unit: DistanceUnit = METRES, paper: str = "a4") -> Panel:
    return sheet_panel(plan, tally(plan), unit=unit, paper=paper)


def text_of(plan: RoundPlan, unit: DistanceUnit = METRES, paper: str = "a4") -> str:
    document = pdfium.PdfDocument(coach_sheet(plan, unit=unit, paper=paper))
    assert len(document) == 1
    text = document[0].get_textpage().get_text_range()
    return " ".join(text.replace("\u00a0", " ").split())


def assert_well_set(panel: Panel) -> None:
    for line in panel.lines:
        box = line.box
        assert box.left >= panel.content.left - 0.01, line
        assert box.right <= panel.content.right + 0.01, line
        assert box.bottom >= panel.content.bottom - 0.01, line
        assert box.top <= panel.content.top + 0.01, line
        assert line.size >= 7.0
    for one, other in combinations(panel.lines, 2):
        assert not one.box.overlaps(other.box), (one, other)


@pytest.mark.parametrize("unit", [METRES, YARDS])
@pytest.mark.parametrize("paper", PAPERS)
def test_it_is_one_page_with_every_hole(
    demo_round: RoundPlan, paper: str, unit: DistanceUnit
) -> None:
    assert_well_set(panel_of(demo_round, unit, paper))
    document = pdfium.PdfDocument(coach_sheet(demo_round, unit=unit, paper=paper))
    assert document[0].get_size() == pytest.approx(PAPERS[paper], abs=0.01)
    said = text_of(demo_round, unit, paper)
    for plan in demo_round.holes:
        length = f"{plan.length_m / unit.metres:.0f} {unit.symbol}"
        index = plan.hole.stroke_index
        assert f"{plan.hole.ref} {plan.hole.par} {index} {length} {plan.best.club}" in said
    assert "Out 36" in said
    assert "In 36" in said
    assert f"{demo_round.expected_strokes:.2f} strokes expected" in said


def test_typefaces_are_embedded(demo_round: RoundPlan) -> None:
    (page,) = pdfium.PdfDocument(coach_sheet(demo_round, unit=METRES))
    pieces = list(page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_TEXT]))
    assert pieces
    for piece in pieces:
        assert pdfium_c.FPDFFont_GetIsEmbedded(pdfium_c.FPDFTextObj_GetFont(piece.raw)) == 1


@pytest.mark.parametrize(
    "name",
    [
        "The Worshipful and Extraordinarily Long-Named Golfing Society of Nether Quill",
        "<b>Bold</b> & <script>alert(1)</script>",
        "Unbroken" * 12,
        "東京 \u202e Ząb",
        "",
    ],
)
@pytest.mark.parametrize("paper", PAPERS)
def test_names_of_any_kind_do_not_overflow(demo_round: RoundPlan, name: str, paper: str) -> None:
    holes = []
    for one in demo_round.holes:
        assert one.best.aim is not None
        best = replace(one.best, club=name, aim=replace(one.best.aim, words=name))
        others = tuple(replace(shot, club=name) for shot in one.others)
        places = tuple(replace(place, best=best) for place in one.next_shots)
        holes.append(replace(one, best=best, others=others, next_shots=places))
    plan = replace(
        demo_round,
        course=name,
        golfer=name,
        bag=name,
        tee=name,
        conditions=name * 3,
        attribution=name * 9,
        notes=(name,) * 30,
        holes=tuple(holes),
    )
    assert_well_set(panel_of(plan, YARDS, paper))


@pytest.mark.parametrize("count", [1, 9, 27, 36, 90])
@pytest.mark.parametrize("paper", PAPERS)
def test_any_number_of_holes_is_one_page(demo_round: RoundPlan, count: int, paper: str) -> None:
    plan = replace(demo_round, holes=(demo_round.holes * 5)[:count])
    assert_well_set(panel_of(plan, METRES, paper))
    said = text_of(plan, METRES, paper)
    assert ("rows more: planner plan prints them all." in said) == (count == 90)
    assert "Notes" in said


def test_it_says_where_strokes_are_at_risk(demo_round: RoundPlan) -> None:
    first, second, *rest = demo_round.holes
    risky = replace(
        second,
        expected_penalties=0.66,
        others=(
            replace(second.others[0], club="Brass spoon", expected_penalties=0.01, cost=0.123),
            *second.others[1:],
        ),
    )
    said = text_of(replace(demo_round, holes=(first, risky, *rest)))
    told = "0.66 penalty strokes; Brass spoon from the tee 0.01, at +0.12."
    assert f"Hole {second.hole.ref}: {told}" in said
    assert f"most penalty strokes are expected on holes {second.hole.ref}, " in said


def test_without_penalties_it_says_so(demo_round: RoundPlan) -> None:
    holes = tuple(replace(hole, expected_penalties=0.0) for hole in demo_round.holes)
    said = text_of(replace(demo_round, holes=holes))
    assert "The plan expects no penalty strokes." in said
    assert "Keeping it in play" not in said


def test_it_tells_what_the_plan_asks_for(demo_round: RoundPlan) -> None:
    said = text_of(demo_round)
    assert "1. Driver from the tee: planned on 13 holes;" in said
    assert "2. Driver after the tee shot: asked for most, 14.4 times a round" in said
    assert "In no order of worth: a plan does not tell what practice would gain." in said


def test_cautions_source_and_assumptions_are_printed(demo_round: RoundPlan) -> None:
    said = text_of(demo_round)
    for caution in CAUTIONS:
        assert caution in said
    assert f"Map: {demo_round.attribution}" in said
    assert "Assumed (1): a note" in said
    assert f"Plan {demo_round.key}" in said


def test_holes_that_were_not_solved_are_named(demo_round: RoundPlan) -> None:
    first, *rest = demo_round.holes
    said = text_of(replace(demo_round, holes=(replace(first, converged=False), *rest)))
    assert f"Not solved, do not rely on: hole {first.hole.ref}." in said
    assert f"{first.expected_strokes:.2f}?" in said


def test_left_handers_are_named(demo_round: RoundPlan) -> None:
    assert "left-handed" in text_of(replace(demo_round, left_handed=True))


def test_same_plan_same_bytes_and_another_plan_others(demo_round: RoundPlan) -> None:
    one = coach_sheet(demo_round, unit=METRES)
    assert one == coach_sheet(demo_round, unit=METRES)
    assert one != coach_sheet(replace(demo_round, golfer="Somebody Else"), unit=METRES)
