"""What a round adds up to, on plans whose sums are known."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from planner.course.hole import Hole, HoleFrame, Tee
from planner.course.lies import Lie
from planner.golfer.shot_outcome import SwingStyle
from planner.strategy.advice import AimPoint, HolePlan, NextShot, RoundPlan, Shares, Shot
from planner.strategy.round_tally import tally

GOOD = Shares(0.7, 0.2, 0.0, 0.05, 0.0, 0.0, 0.05, 0.0, 0.1)
BAD = Shares(0.3, 0.4, 0.0, 0.0, 0.1, 0.0, 0.1, 0.1, 0.3)


def shot(club: str, shares: Shares = GOOD, *, penalties: float = 0.1, cost: float = 0.0) -> Shot:
    aim = AimPoint((200.0, 0.0), "", 0.0, 0.0, 0.0)
    return Shot(
        0, club, SwingStyle.FULL, 200.0, Lie.TEE, (0.0, 0.0), aim, 4.0 + cost, penalties, cost,
        shares, 150.0,
    )  # fmt: skip


def hole(ref: str, best: Shot, *, par: int = 4, others: tuple[Shot, ...] = ()) -> HolePlan:
    facts = Hole(
        ref,
        par,
        None,
        shapely.LineString([(0, 0), (350, 0)]),
        (Tee("white", (0.0, 0.0)),),
        (350.0, 0.0),
        (),
        None,
        HoleFrame((0.0, 0.0), 0.0),
    )
    return HolePlan(
        facts, "white", (0.0, 0.0), 350.0, best, others, (), best.expected_strokes,
        best.expected_penalties, True, 0.0, 3,
    )  # fmt: skip


def round_of(*holes: HolePlan) -> RoundPlan:
    return RoundPlan("Course", "Golfer", "Bag", "white", holes, "strokes")


def place(club: str, chance: float, distance: float) -> NextShot:
    return NextShot("fairway", chance, Lie.FAIRWAY, (0.0, 0.0), distance, shot(club), None)


def test_ends_add_up_to_the_tee_shots() -> None:
    found = tally(round_of(hole("1", shot("Driver")), hole("2", shot("Driver", BAD))))
    ends = found.ends
    assert ends.fairway == pytest.approx(1.0)
    assert ends.mishit == pytest.approx(0.4)
    places = (ends.fairway, ends.rough, ends.deep_rough, ends.sand, ends.trees, ends.green)
    assert sum((*places, ends.penalty, ends.out_of_bounds)) == pytest.approx(2.0)


def test_the_club_of_most_long_holes_has_the_mean_of_its_shares() -> None:
    found = tally(
        round_of(
            hole("1", shot("Driver")),
            hole("2", shot("7 iron"), par=3),
            hole("3", shot("7 iron"), par=3),
            hole("4", shot("7 iron"), par=3),
            hole("5", shot("Driver", BAD), par=5),
            hole("6", shot("3 wood")),
        )
    )
    assert found.tee_club is not None
    assert (found.tee_club.club, found.tee_club.holes) == ("Driver", ("1", "5"))
    assert found.tee_club.shares.fairway == pytest.approx(0.5)
    assert found.tee_club.shares.out_of_bounds == pytest.approx(0.05)


def test_par_threes_alone_have_no_club_of_long_holes() -> None:
    assert tally(round_of(hole("1", shot("7 iron"), par=3))).tee_club is None


def test_the_next_club_is_that_of_most_balls_not_of_most_places() -> None:
    one = replace(
        hole("1", shot("Driver")),
        next_shots=(place("9 iron", 0.7, 120.0), place("7 iron", 0.1, 150.0)),
    )
    two = replace(
        hole("2", shot("Driver")),
        next_shots=(place("9 iron", 0.2, 110.0), place("7 iron", 0.1, 155.0),
                    place("7 iron", 0.1, 160.0)),
    )  # fmt: skip
    found = tally(round_of(one, two)).next_club
    assert found is not None
    assert found.club == "9 iron"
    assert found.times == pytest.approx(0.9)
    assert (found.nearest_m, found.farthest_m) == (110.0, 120.0)


def test_without_next_shots_no_club_is_named() -> None:
    assert tally(round_of(hole("1", shot("Driver")))).next_club is None


def test_risky_holes_come_worst_first_with_their_safest_shot() -> None:
    safe = shot("5 iron", penalties=0.01, cost=0.2)
    found = tally(
        round_of(
            hole("1", shot("Driver", penalties=0.2), others=(safe,)),
            hole("2", shot("Driver", penalties=0.5), others=(shot("3 wood", penalties=0.5),)),
            hole("3", shot("Driver", penalties=0.004)),
        )
    ).at_risk
    assert [risky.plan.hole.ref for risky in found] == ["2", "1"]
    assert found[0].safest is found[0].plan.best
    assert found[1].safest is safe


def test_no_more_holes_are_named_than_asked_for() -> None:
    plan = round_of(*(hole(str(i), shot("Driver", penalties=0.1 * i)) for i in range(1, 9)))
    assert [risky.plan.hole.ref for risky in tally(plan, worst=3).at_risk] == ["8", "7", "6"]
