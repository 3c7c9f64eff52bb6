"""Strokes for money: the frontier against brute force, and what owning a club costs."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from planner.strategy.bag_bounds import BagProblem
from planner.strategy.purchase_frontier import (
    ASSUMED_VALUE_KEPT_A_YEAR,
    YearsOfUse,
    holding,
    purchase_frontier,
)
from tests.strategy.bag_values import layered_value, nearest_club_value


def by_force(problem, value):  # type: ignore[no-untyped-def]
    """Money and value of every allowed set that no other beats in both."""
    every = []
    for size in range(1, problem.limit + 1):
        for chosen in itertools.combinations(sorted(problem.everything), size):
            clubs = frozenset(chosen)
            if problem.allows(clubs) and math.isfinite(value(clubs)):
                every.append((problem.cost(clubs), value(clubs)))
    points, least = [], math.inf
    for money, worth in sorted(every):
        if worth < least - 1e-9:
            least = worth
            points.append((money, worth))
    return points


@pytest.mark.parametrize("block", range(4))
def test_brute_force_agrees(block: int) -> None:
    several = 0
    for seed in range(12 * block, 12 * block + 12):
        rng = np.random.default_rng(seed)
        labels, value = (nearest_club_value, layered_value)[seed % 2](rng, 7)
        price = {label: float(rng.integers(5, 60)) for label in labels[3:]}
        budget = math.inf if seed % 3 else 90.0
        problem = BagProblem(labels, 4, price=price, budget=budget)
        found = purchase_frontier(problem, value)
        points = by_force(problem, value)
        assert [p.money for p in found.points] == pytest.approx([money for money, _ in points])
        assert [p.value for p in found.points] == pytest.approx(
            [worth for _, worth in points], abs=2e-6
        )
        assert found.proven
        several += len(points) > 2
    assert several > 3


def test_points_say_what_was_bought_and_saved() -> None:
    def value(clubs: frozenset[str]) -> float:
        if not clubs:
            return math.inf
        return 80.0 - {"old": 1.0, "new": 3.0, "dear": 3.5}.get(max(clubs, key=order), 0.0)

    def order(club: str) -> int:
        return ["old", "new", "dear"].index(club)

    problem = BagProblem(("old", "new", "dear"), 1, price={"new": 100.0, "dear": 900.0})
    none, one, two = purchase_frontier(problem, value).points
    assert (none.money, none.saved, none.bought) == (0.0, 0.0, frozenset())
    assert (one.money, one.saved, one.bought) == (100.0, 2.0, frozenset({"new"}))
    assert (two.money, two.saved, two.bought) == (900.0, 2.5, frozenset({"dear"}))
    few = purchase_frontier(problem, value, worth_while=0.6).points
    assert [point.money for point in few] == [0.0, 100.0]


def test_owning_costs_price_less_resale_over_the_years() -> None:
    held = holding(
        frozenset({"new"}), 0.5, price={"new": 300.0}, resale={"new": 120.0},
        use=YearsOfUse(years=3.0, rounds_a_year=40.0),
    )  # fmt: skip
    assert held.price == 300.0
    assert held.resale == 120.0
    assert held.per_stroke == pytest.approx(600.0)
    assert held.per_stroke_a_year == pytest.approx(180.0 / 3.0 / 0.5)
    assert held.per_stroke_played == pytest.approx(180.0 / (3.0 * 40.0 * 0.5))


def test_without_a_resale_value_a_share_is_kept_each_year() -> None:
    held = holding(
        frozenset({"new"}), 1.0, price={"new": 100.0}, resale={}, use=YearsOfUse(years=2.0)
    )
    assert held.resale == pytest.approx(100.0 * ASSUMED_VALUE_KEPT_A_YEAR**2)


def test_nobody_sells_for_more_than_was_paid() -> None:
    held = holding(
        frozenset({"new"}), 1.0, price={"new": 100.0}, resale={"new": 150.0}, use=YearsOfUse()
    )
    assert held.resale == 100.0
    assert held.per_stroke_a_year == 0.0


def test_what_saves_nothing_has_no_price_a_stroke() -> None:
    held = holding(frozenset({"new"}), 0.0, price={"new": 100.0}, resale={}, use=YearsOfUse())
    assert math.isinf(held.per_stroke)
    assert math.isinf(held.per_stroke_a_year)
