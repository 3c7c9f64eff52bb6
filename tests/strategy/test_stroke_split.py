"""Parts of a score add up, and are what the theory of shares says."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.strategy.stroke_split import (
    every_set,
    shapley_split,
    summed,
    two_ended_sets,
    two_ended_split,
)

NAMES = ("mishits", "direction", "length", "putting")
strokes = st.floats(-5.0, 10.0, allow_nan=False)


@st.composite
def games(draw: st.DrawFn) -> dict[frozenset[int], float]:
    return {chosen: draw(strokes) for chosen in every_set(len(NAMES))}


@given(games())
def test_parts_and_what_is_lost_together_add_up_to_the_score(game) -> None:
    for split in (two_ended_split(NAMES, game), shapley_split(NAMES, game)):
        shares = sum(part.share for part in split.parts)
        assert split.rest + shares + split.together == pytest.approx(split.whole)
        assert split.whole == game[frozenset()]
        assert split.rest == game[frozenset(range(4))]


@given(games())
def test_shapley_values_are_the_mean_over_all_orders(game) -> None:
    split = shapley_split(NAMES, game)
    assert split.together == pytest.approx(0.0, abs=1e-9)
    for i, part in enumerate(split.parts):
        saved = []
        for order in permutations(range(4)):
            before = frozenset(order[: order.index(i)])
            saved.append(game[before] - game[before | {i}])
        assert part.share == pytest.approx(sum(saved) / len(saved))


@given(
    st.lists(strokes, min_size=4, max_size=4),
    st.lists(strokes, min_size=6, max_size=6),
    strokes,
)
def test_pairs_that_meddle_leave_nothing_over(alone, pairs, whole) -> None:
    both = [(i, j) for i in range(4) for j in range(i)]
    game = {
        chosen: whole
        - sum(alone[i] for i in chosen)
        - sum(w for (i, j), w in zip(both, pairs, strict=True) if i in chosen and j in chosen)
        for chosen in every_set(4)
    }
    quick, full = two_ended_split(NAMES, game), shapley_split(NAMES, game)
    assert quick.together == pytest.approx(0.0, abs=1e-9)
    for one, other in zip(quick.parts, full.parts, strict=True):
        assert one.share == pytest.approx(other.share, abs=1e-9)
    # Every pair is counted in neither of the two alone.
    assert quick.overlap == pytest.approx(-sum(pairs), abs=1e-9)


def test_sets_are_named_once_and_hold_both_ends() -> None:
    sets = two_ended_sets(5)
    assert len(sets) == len(set(sets)) == 12
    assert sets[0] == frozenset()
    assert frozenset(range(5)) in sets
    assert len(every_set(5)) == 32
    # With two causes all but one is the other one.
    assert set(two_ended_sets(2)) == set(every_set(2))


@given(games(), games())
def test_a_round_is_the_sum_of_its_holes(first, second) -> None:
    holes = [two_ended_split(NAMES, first), two_ended_split(NAMES, second)]
    both = {chosen: first[chosen] + second[chosen] for chosen in first}
    total, straight = summed(holes), two_ended_split(NAMES, both)
    assert total.whole == pytest.approx(straight.whole)
    assert total.together == pytest.approx(straight.together, abs=1e-9)
    for one, other in zip(total.parts, straight.parts, strict=True):
        assert (one.alone, one.last, one.share) == pytest.approx(
            (other.alone, other.last, other.share), abs=1e-9
        )


def test_holes_split_by_other_causes_are_not_summed() -> None:
    game = {chosen: 0.0 for chosen in every_set(2)}
    with pytest.raises(ValueError, match="same causes"):
        summed([two_ended_split(("a", "b"), game), two_ended_split(("a", "c"), game)])
    with pytest.raises(ValueError, match="at least one hole"):
        summed([])
