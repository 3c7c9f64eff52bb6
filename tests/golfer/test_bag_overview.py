"""A bag at a glance against closed forms."""

import math

import pytest
from scipy.special import ndtr

from planner.golfer.bag import bag_from_text
from planner.golfer.bag_overview import Neighbours, bag_overview
from planner.report.clubs_chart import (
    club_rows,
    count_said,
    gapping_chart,
    gaps_said,
    overlaps_said,
    pattern_chart,
)
from planner.units import DistanceUnit

METRES = DistanceUnit.METRES


def bag_of(*clubs: tuple[str, str, float, float | None], candidates: int = 0):
    rows = []
    for place, (label, kind, loft, carry) in enumerate(clubs):
        status = "candidate" if place >= len(clubs) - candidates else "bag"
        rows.append(
            f'[[club]]\nlabel = "{label}"\nkind = "{kind}"\nloft_deg = {loft}\nstatus = "{status}"'
        )
        if carry is not None:
            rows.append(
                f"[club.pattern]\ncarry = {carry}\ncarry_sd = 8.0\noffline_sd = 9.0\n"
                "shots = 400\nmishit = []"
            )
    rows.append('[[club]]\nlabel = "Putter"\nkind = "putter"')
    return bag_from_text("\n".join(["[golfer]\nhandicap_index = 15.0", *rows]), source="bag")


THREE = (
    ("5 iron", "iron", 26.0, 150.0),
    ("5 hybrid", "hybrid", 25.0, 151.0),
    ("9 iron", "iron", 42.0, 100.0),
)


def test_two_clubs_of_one_length_do_one_job():
    overview = bag_overview(bag_of(*THREE))
    assert [view.club.label for view in overview.clubs] == ["5 hybrid", "5 iron", "9 iron"]
    [pair] = overview.overlaps
    assert (pair.longer, pair.shorter) == ("5 hybrid", "5 iron")
    # Independent normals 1 m apart; what is not known of the carries only brings it nearer 1/2.
    assert float(ndtr(-1.0 / (8.0 * math.sqrt(2.0)))) <= pair.outcarried < 0.5
    [said] = overlaps_said(overview)
    assert said.startswith("5 hybrid and 5 iron do one job: 4")
    assert "of stock shots of the 5 iron outcarry one of the 5 hybrid" in said


def test_fifty_metres_are_a_gap():
    overview = bag_overview(bag_of(*THREE))
    [gap] = overview.gaps
    assert (gap.longer, gap.shorter, gap.middle_m) == ("5 iron", "9 iron", 125.0)
    # 25 m from either mean: the share within 5 m of the middle, deviation at least 8 m.
    least = float(ndtr(-20 / 8) - ndtr(-30 / 8))
    assert least <= gap.reached < 0.05
    assert "A gap of 50" in gaps_said(overview, METRES)[0]


def test_wedges_fill_gaps_with_partial_swings():
    assert Neighbours("a", "b", 40.0, 80.0, 0.0, 0.0, partial=False).is_gap
    assert not Neighbours("a", "b", 40.0, 80.0, 0.0, 0.0, partial=True).is_gap


def test_more_shots_leave_a_narrower_carry():
    clubs = (*THREE, ("7 iron", "iron", 33.0, None))
    views = {view.club.label: view for view in bag_overview(bag_of(*clubs)).clubs}
    width = {label: view.carry_high_m - view.carry_low_m for label, view in views.items()}
    assert views["7 iron"].source == "predicted"
    assert width["7 iron"] > 2 * width["5 iron"]


def test_the_usual_pattern_does_not_know_the_clubs_own_shots():
    one = bag_overview(bag_of(*THREE)).clubs[-1]
    other = bag_overview(bag_of(*THREE[:2], ("9 iron", "iron", 42.0, 60.0))).clubs[-1]
    assert other.carry_m == pytest.approx(60.0)
    assert other.usual.means[0, 0] == pytest.approx(one.usual.means[0, 0])


@pytest.mark.parametrize(
    ("carried", "said"),
    [(12, "room for 1 more"), (13, "as many as Rule 4.1b allows"), (3, "room for 10 more")],
)
def test_the_count_says_rule_4_1b(carried, said):
    clubs = [(f"club {i}", "iron", 20.0 + 2 * i, 170.0 - 9 * i) for i in range(carried)]
    assert said in count_said(bag_overview(bag_of(*clubs)))


def test_candidates_are_looked_at_where_asked():
    bag = bag_of(*THREE, candidates=1)
    assert len(bag_overview(bag).clubs) == 2
    assert len(bag_overview(bag, candidates=True).clubs) == 3
    assert bag_overview(bag, candidates=True).carried == 3


def test_charts_and_table_show_every_club():
    overview = bag_overview(bag_of(*THREE))
    assert [row["Club"] for row in club_rows(overview, METRES)] == ["5 hybrid", "5 iron", "9 iron"]
    rows = gapping_chart(overview, METRES).to_dict()["layer"]
    assert len(rows) == 3
    outlines = pattern_chart(overview.clubs[0], METRES).to_dict()["datasets"]["outlines"]
    # The usual pattern has mishits, and this golfer's own has none.
    assert {row["role"] for row in outlines} == {"pattern 90", "line of play"}
