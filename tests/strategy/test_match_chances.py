"""Match play against enumeration of every course a match can take."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.strategy.match_chances import (
    HoleChances,
    extra_holes_chance,
    hole_chances,
    match_chances,
)
from planner.strategy.score_distribution import distribution


@st.composite
def holes(draw: st.DrawFn, most: int = 6) -> list[HoleChances]:
    rows = draw(
        st.lists(
            st.tuples(st.integers(0, 5), st.integers(0, 5), st.integers(0, 5)).filter(any),
            min_size=1,
            max_size=most,
        )
    )
    return [HoleChances(*(part / sum(row) for part in row)) for row in rows]


def enumerated(rows: list[HoleChances], up: int) -> dict[object, float]:
    """Chances of endings and of ever being dormie, from every sequence of hole results."""
    found: dict[object, float] = {}

    def add(key: object, chance: float) -> None:
        found[key] = found.get(key, 0.0) + chance

    for results in itertools.product((1, 0, -1), repeat=len(rows)):
        chance = math.prod(
            {1: hole.win, 0: hole.half, -1: hole.loss}[result]
            for result, hole in zip(results, rows, strict=True)
        )
        lead, dormie, left = up, {up} if abs(up) == len(rows) else set(), len(rows)
        for result in results:
            lead, left = lead + result, left - 1
            if abs(lead) > left:
                break
            if left and abs(lead) == left:
                dormie.add(lead)
        add(("end", lead, left if lead else 0), chance)
        for side in {math.copysign(1, lead) for lead in dormie if lead}:
            add(("dormie", side), chance)
    return found


@given(holes(), st.integers(-2, 2))
def test_match_is_that_of_enumeration(rows: list[HoleChances], up: int) -> None:
    up = max(-len(rows), min(len(rows), up))
    expected, found = enumerated(rows, up), match_chances(rows, up=up)
    for ending in found.endings:
        assert ending.chance == pytest.approx(expected["end", ending.up, ending.left], abs=1e-13)
    assert math.fsum(ending.chance for ending in found.endings) == pytest.approx(1.0)
    assert found.win + found.half + found.loss == pytest.approx(1.0)
    assert found.dormie_up == pytest.approx(expected.get(("dormie", 1.0), 0.0), abs=1e-13)
    assert found.dormie_down == pytest.approx(expected.get(("dormie", -1.0), 0.0), abs=1e-13)


@given(holes(most=18))
def test_sides_mirror(rows: list[HoleChances]) -> None:
    mine = match_chances(rows)
    theirs = match_chances([HoleChances(hole.loss, hole.half, hole.win) for hole in rows])
    assert mine.win == pytest.approx(theirs.loss, abs=1e-13)
    assert mine.dormie_up == pytest.approx(theirs.dormie_down, abs=1e-13)


def test_winning_every_hole_is_ten_and_eight() -> None:
    found = match_chances([HoleChances(1.0, 0.0, 0.0)] * 18)
    (ending,) = found.endings
    assert (ending.up, ending.left, ending.chance) == (10, 8, 1.0)
    assert found.dormie_up == 1.0


def test_all_halved_is_a_tie() -> None:
    found = match_chances([HoleChances(0.0, 1.0, 0.0)] * 18)
    assert (found.win, found.half, found.loss, found.dormie_up) == (0.0, 1.0, 0.0, 0.0)


def test_equal_players_who_never_halve_tie_as_coins_do() -> None:
    # 18 tosses end level with chance C(18, 9) / 2^18; the leader cannot be caught otherwise.
    found = match_chances([HoleChances(0.5, 0.0, 0.5)] * 18)
    assert found.half == pytest.approx(math.comb(18, 9) / 2**18)
    assert found.win == pytest.approx(found.loss)


def test_dormie_two_with_coins() -> None:
    # Two up with two to play and even holes: only losing both brings a tie.
    found = match_chances([HoleChances(0.5, 0.0, 0.5)] * 2, up=2)
    assert (found.win, found.half, found.loss) == (0.75, 0.25, 0.0)
    assert (found.dormie_up, found.dormie_down) == (1.0, 0.0)
    assert [(e.up, e.left) for e in found.endings] == [(3, 1), (2, 0), (0, 0)]


def test_match_that_is_over() -> None:
    with pytest.raises(ValueError, match="over"):
        match_chances([HoleChances(0.5, 0.0, 0.5)], up=2)


def test_no_hole_to_play_is_as_it_stands() -> None:
    assert match_chances([]).half == 1.0


@pytest.mark.parametrize("received", [-1, 0, 1])
def test_hole_is_that_of_enumeration(received: int) -> None:
    mine = distribution([0.2, 0.5, 0.2, 0.1], first=3)
    theirs = distribution([0.1, 0.6, 0.3], first=4)
    expected = {1: 0.0, 0: 0.0, -1: 0.0}
    for i, j in itertools.product(range(3, 7), range(4, 7)):
        net = i - received
        result = (net < j) - (net > j)
        expected[result] += mine.chance(i) * theirs.chance(j)
    found = hole_chances(mine, theirs, received=received)
    assert [found.win, found.half, found.loss] == pytest.approx(
        [expected[1], expected[0], expected[-1]]
    )
    assert found.unknown == 0.0


def test_only_two_open_scores_leave_a_hole_unknown() -> None:
    mine = distribution([0.0] * 4 + [0.7, 0.2])
    theirs = distribution([0.0] * 4 + [0.5, 0.3])
    found = hole_chances(mine, theirs)
    assert found.unknown == pytest.approx(0.1 * 0.2)
    assert found.half == pytest.approx(0.7 * 0.5 + 0.2 * 0.3)
    assert found.win == pytest.approx(0.7 * 0.5 + 0.2 * 0.2)
    assert found.loss == pytest.approx(0.2 * 0.5 + 0.1 * 0.8)
    match = match_chances([found] * 3)
    assert match.unknown > 0.0
    assert match.win + match.half + match.loss + match.unknown == pytest.approx(1.0)


def test_extra_holes() -> None:
    # One hole over and over: the first one that is not halved decides.
    hole = HoleChances(0.3, 0.5, 0.2)
    assert extra_holes_chance([hole]) == pytest.approx(0.3 / 0.5)
    other = HoleChances(0.1, 0.6, 0.3)
    first = 0.3 + 0.5 * 0.1
    assert extra_holes_chance([hole, other]) == pytest.approx(first / (1 - 0.5 * 0.6))
    with pytest.raises(ValueError, match="won or lost"):
        extra_holes_chance([HoleChances(0.0, 1.0, 0.0)])
    with pytest.raises(ValueError, match="remainder"):
        extra_holes_chance([HoleChances(0.3, 0.3, 0.3, 0.1)])
