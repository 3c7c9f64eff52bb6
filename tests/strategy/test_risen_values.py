"""Narrowing to near-best actions from values that are too low leaves every place its best one."""

from __future__ import annotations

import copy

import numpy as np
import pytest

from planner.strategy.hole_solver import HoleSolver
from tests.strategy.builders import solve
from tests.strategy.test_whole_hole import HOLE, bag, golfer, places


@pytest.fixture(scope="module")
def solved():
    return solve(HOLE, golfer(*bag()), tolerance=1e-4)


def settled_from(solved, lowered):
    """Values that sweeps settle at after narrowing against values ``lowered`` below the true."""
    values = copy.deepcopy(solved.solution.values)
    values.state -= lowered
    values.patch -= lowered
    solver = HoleSolver(solved.solution.tables, solved.solution.model, solved.solution.options)
    # Narrower than what the guess is off by: measured against it, no action would come near.
    solver.keep_within(values, 0.1)
    solver.settle(values, most=80)
    return values


@pytest.mark.parametrize("lowered", [0.15, 0.3])
def test_values_find_back_from_too_low_a_guess(solved, lowered):
    right, found = settled_from(solved, 0.0), settled_from(solved, lowered)
    for name in ("state", "patch"):
        seen = places(solved, name, within=38.0)
        off = np.abs(getattr(found, name) - getattr(right, name))[seen]
        assert off.mean() < 1e-3
        assert off.max() < 0.05
