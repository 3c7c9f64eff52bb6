"""The cheapest road against looking at everything; gains together; totals moved."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.strategy.practice_plan import (
    PracticeStep,
    PricedAbility,
    cheapest_road,
    combined_gain,
    moved,
    overlap_rate,
    ranked,
    regimens,
)
from planner.strategy.score_distribution import convolve, distribution

abilities = st.lists(
    st.lists(st.floats(1.0, 60.0), min_size=1, max_size=3), min_size=1, max_size=4
).map(lambda rows: [PricedAbility(f"a{i}", tuple(row)) for i, row in enumerate(rows)])


def by_hand(priced, chance_of, wanted, hours):
    """Fewest hours that reach the chance, over everything; None if nothing does."""
    found = [
        sum(sum(one.hours[:n]) for one, n in zip(priced, steps, strict=True))
        for steps in product(*(range(len(one.hours) + 1) for one in priced))
        if chance_of(steps) >= wanted
    ]
    affordable = [cost for cost in found if cost <= hours * (1 + 1e-9)]
    return min(affordable) if affordable else None


@settings(deadline=None)
@given(abilities, st.randoms(use_true_random=False), st.floats(0.05, 0.95), st.floats(5.0, 200.0))
def test_the_road_is_the_cheapest_of_all(priced, random, wanted, hours) -> None:
    known: dict[tuple[int, ...], float] = {}

    def chance_of(steps: tuple[int, ...]) -> float:
        return known.setdefault(steps, random.random())

    found = cheapest_road(priced, chance_of, wanted=wanted, hours=hours)
    least = by_hand(priced, chance_of, wanted, hours)
    assert found.proven
    assert found.reached == (least is not None)
    assert found.best.chance == known[found.best.steps]
    if least is not None:
        assert found.best.hours == pytest.approx(least)


@settings(deadline=None)
@given(abilities, st.floats(0.2, 0.9), st.floats(0.0, 0.05), st.randoms(use_true_random=False))
def test_an_estimate_within_its_slack_finds_the_same_road(priced, wanted, slack, random) -> None:
    total = sum(len(one.hours) for one in priced)
    errors: dict[tuple[int, ...], float] = {}

    def chance_of(steps: tuple[int, ...]) -> float:
        return sum(steps) / total

    def estimate(steps: tuple[int, ...]) -> float:
        return chance_of(steps) + errors.setdefault(steps, random.uniform(-slack, slack))

    straight = cheapest_road(priced, chance_of, wanted=wanted, hours=1e6)
    quick = cheapest_road(
        priced, chance_of, wanted=wanted, hours=1e6, estimate=estimate, slack=slack + 1e-12
    )
    assert straight.reached
    assert quick.best.hours == pytest.approx(straight.best.hours)
    assert quick.worked_out <= straight.worked_out


def test_a_search_cut_short_says_so() -> None:
    priced = [PricedAbility("a", (1.0, 1.0, 1.0)), PricedAbility("b", (1.0, 1.0, 1.0))]
    found = cheapest_road(
        priced, lambda steps: 0.1 * sum(steps), wanted=0.55, hours=99.0, most_worked_out=3
    )
    assert not found.reached
    assert not found.proven
    assert found.worked_out == 3


def test_nothing_to_do_costs_nothing() -> None:
    found = cheapest_road([PricedAbility("a", (5.0,))], lambda _: 0.7, wanted=0.6, hours=9.0)
    assert (found.reached, found.best.hours, found.best.steps) == (True, 0.0, (0,))


def test_out_of_reach_gives_the_best_within_the_hours() -> None:
    priced = [PricedAbility("a", (5.0, 9.0)), PricedAbility("b", (4.0,))]
    found = cheapest_road(
        priced,
        lambda steps: 0.1 * steps[0] + 0.15 * steps[1],
        wanted=0.9,
        hours=10.0,
        estimate=lambda steps: 0.1 * steps[0] + 0.15 * steps[1],
    )
    assert not found.reached
    assert found.best.steps == (1, 1)
    assert found.best.hours == 9.0


def test_too_many_combinations_are_refused() -> None:
    priced = [PricedAbility(str(i), (1.0,) * 9) for i in range(6)]
    with pytest.raises(ValueError, match="combinations"):
        regimens(priced, 10.0)
    with pytest.raises(ValueError, match="above 0"):
        PricedAbility("a", (0.0,))


def test_steps_are_ranked_by_strokes_in_an_hour() -> None:
    steps = [
        PracticeStep("long", "", strokes=1.0, hours=50.0),
        PracticeStep("short", "", strokes=0.5, hours=10.0),
    ]
    assert [step.name for step in ranked(steps)] == ["short", "long"]
    assert ranked(steps)[0].strokes_in_ten_hours == 0.5


@given(st.floats(0.1, 12.0), st.floats(0.3, 2.0))
def test_overlap_is_right_where_everything_is_practised(most, share) -> None:
    rate = overlap_rate(most, most * share)
    assert combined_gain([most / 3, 2 * most / 3], rate) == pytest.approx(most * share, rel=1e-6)
    small = combined_gain([1e-6], rate)
    assert small == pytest.approx(1e-6, rel=1e-3)
    assert math.copysign(1.0, rate) == (1.0 if share < 1 else -1.0) or share == pytest.approx(1.0)


def test_moving_a_total_moves_its_mean_and_keeps_it_a_distribution() -> None:
    hole = distribution([0.0, 0.0, 0.05, 0.2, 0.35, 0.25, 0.1, 0.05])
    total = convolve([hole] * 18)
    for gain in (-2.0, 0.0, 0.5, 4.0):
        found = moved(total, gain)
        assert found.mean == pytest.approx(total.mean - gain, abs=1e-6)
        assert found.chances.sum() == pytest.approx(1.0)
    chances = [moved(total, gain).chance_at_most(80) for gain in np.linspace(-3, 8, 12)]
    assert chances == sorted(chances)
    with pytest.raises(ValueError, match="mean"):
        moved(total, 60.0)
