"""'Same hole, several golfers': one page, nothing over anything else, every golfer's own plan."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pypdfium2 as pdfium
import pytest

from planner.ball.conditions import Conditions
from planner.course.reading import read_course
from planner.demo_data import DEMO_COURSE, demo_bag, demo_folder
from planner.errors import OptionError
from planner.golfer.bag import Bag, read_bag
from planner.planning.printing import golfers_sheet, hole_carries
from planner.report.cautions import CAUTIONS
from planner.report.golfers_sheet import GolferHole, golfers_panel
from planner.report.imposition import PAPERS
from planner.strategy.advice import HolePlan, RoundPlan
from planner.units import DistanceUnit

METRES, YARDS = DistanceUnit.METRES, DistanceUnit.YARDS


@pytest.fixture(scope="module")
def bags() -> list[Bag]:
    return [read_bag(demo_bag(name)) for name in ("odile_marrow", "bram_oskel", "wren_halvard")]


def golfers_of(bags: list[Bag], plan: HolePlan) -> list[GolferHole]:
    found = []
    for number, bag in enumerate(bags):
        best = replace(plan.best, club=f"{number + 3} wood")
        own = replace(plan, best=best, expected_strokes=4.0 + number)
        golfer = bag.golfer
        found.append(
            GolferHole(
                golfer.name,
                golfer.handicap_index,
                golfer.left_handed,
                own,
                hole_carries(own)[0],
            )
        )
    return found


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("count", [1, 2, 3])
def test_nothing_leaves_the_page_or_covers_another(
    demo_round: RoundPlan, bags: list[Bag], paper: str, count: int
) -> None:
    for plan in demo_round.holes[:6]:
        panel = golfers_panel(
            "Course", golfers_of(bags[:count], plan), unit=YARDS, paper=paper, attribution="A map."
        )
        assert (panel.width, panel.height) == PAPERS[paper][::-1]
        texts = panel.texts()
        for line in texts:
            box = line.box
            assert box.left >= panel.content.left - 0.01, line
            assert box.right <= panel.content.right + 0.01, line
            assert box.bottom >= panel.content.bottom - 0.01, line
            assert box.top <= panel.content.top + 0.01, line
            assert line.size >= 7.0
        for one, other in combinations(texts, 2):
            assert not one.box.overlaps(other.box), (one, other)
        for one, other in combinations(panel.drawings, 2):
            assert not one.box.overlaps(other.box)


def test_every_golfer_has_his_own_plan(demo_round: RoundPlan, bags: list[Bag]) -> None:
    course = read_course(demo_folder() / DEMO_COURSE)
    plan = demo_round.holes[10]
    told = [(bag, g.plan) for bag, g in zip(bags, golfers_of(bags, plan), strict=True)]
    pdf = golfers_sheet(course, told, unit=METRES, conditions=Conditions())
    document = pdfium.PdfDocument(pdf)
    assert len(document) == 1
    said = " ".join(document[0].get_textpage().get_text_range().replace("\u00a0", " ").split())
    assert "Hole 11, The Cape" in said
    for number, bag in enumerate(bags):
        assert bag.golfer.name in said
        assert f"{number + 3} wood, carries" in said
        assert f"{4 + number}.00 strokes" in said
    assert "left-handed" in said
    assert all(caution in said for caution in CAUTIONS)
    assert course.attribution.removesuffix(".") in said
    # Something is drawn in every column.
    pixels = document[0].render(scale=0.5).to_numpy()
    third = pixels.shape[1] // 3
    for column in range(3):
        part = pixels[100:200, column * third + 20 : (column + 1) * third - 20, 0]
        assert part.min() < 120 < part.max()


def test_what_makes_no_sheet(demo_round: RoundPlan, bags: list[Bag]) -> None:
    course = read_course(demo_folder() / DEMO_COURSE)
    first, second = demo_round.holes[:2]
    with pytest.raises(OptionError, match="same hole"):
        golfers_sheet(course, [(bags[0], first), (bags[1], second)], unit=METRES)
    with pytest.raises(OptionError, match="one to 3 golfers, not 4"):
        golfers_sheet(course, [(bags[0], first)] * 4, unit=METRES)
    with pytest.raises(OptionError, match="paper"):
        golfers_sheet(course, [(bags[0], first)], unit=METRES, paper="a9")
