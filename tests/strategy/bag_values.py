"""Cheap values of sets of clubs for tests of searches: more clubs are never worse."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np

from planner.strategy.bag_bounds import BagProblem, ClubSet

SetValue = Callable[[ClubSet], float]


def nearest_club_value(
    rng: np.random.Generator, clubs: int, *, places: int = 30, unplayable: float = 0.0
) -> tuple[tuple[str, ...], SetValue]:
    """At every place the best club of the set is played; with some chance a club has no shot."""
    labels = tuple(f"c{i}" for i in range(clubs))
    cost = rng.gamma(0.6, 0.2, (places, clubs))
    cost[rng.random(cost.shape) < unplayable] = np.inf
    often = rng.dirichlet(np.ones(places)) * 18.0

    def value(chosen: ClubSet) -> float:
        if not chosen:
            return math.inf
        columns = [labels.index(club) for club in sorted(chosen)]
        return float(often @ cost[:, columns].min(axis=1)) + 70.0

    return labels, value


def layered_value(rng: np.random.Generator, clubs: int) -> tuple[tuple[str, ...], SetValue]:
    """Costs that add up along a chain of places, with sets of clubs that are strong together."""
    labels = tuple(f"c{i}" for i in range(clubs))
    layers = rng.gamma(0.5, 0.3, (6, 5, clubs))
    pairs = [tuple(rng.choice(clubs, 2, replace=False)) for _ in range(3)]
    bonus = rng.random(3)

    def value(chosen: ClubSet) -> float:
        has = np.array([label in chosen for label in labels])
        if not has.any():
            return math.inf
        total = float(np.where(has, layers, np.inf).min(axis=2).max(axis=1).sum())
        missed = sum(b for b, (i, j) in zip(bonus, pairs, strict=True) if not (has[i] and has[j]))
        return 80.0 + total + float(missed)

    return labels, value


def best_by_force(problem: BagProblem, value: SetValue) -> float:
    """Least value of every set that is allowed; infinite if there is none."""
    best = math.inf
    for size in range(problem.limit + 1):
        for chosen in itertools.combinations(sorted(problem.everything), size):
            clubs = frozenset(chosen)
            if problem.allows(clubs):
                best = min(best, value(clubs))
    return best


def random_problem(
    rng: np.random.Generator, labels: tuple[str, ...], *, priced: bool
) -> BagProblem:
    """A problem with some clubs forced in or out, and a budget if ``priced``."""
    n = len(labels)
    out = frozenset(label for label in labels if rng.random() < 0.1)
    inside = frozenset(label for label in labels if rng.random() < 0.1) - out
    price = {label: float(10 * rng.integers(1, 8)) for label in labels if rng.random() < 0.6}
    least = math.fsum(price.get(label, 0.0) for label in inside)
    return BagProblem(
        labels,
        int(rng.integers(max(1, len(inside)), n + 1)),
        inside,
        out,
        price if priced else {},
        least + float(10 * rng.integers(0, 16)) if priced else math.inf,
    )
