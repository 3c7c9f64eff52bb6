"""Looking one step ahead between lattice places costs no more than the nearest place's action."""

from __future__ import annotations

import numpy as np
import pytest

from planner.course.lies import Ground, Lie
from planner.strategy.grid import label_points
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.look_ahead import LookAhead
from planner.strategy.solution import SolveOptions

from .builders import COARSE
from .test_whole_hole import HOLE, bag, golfer


@pytest.fixture(scope="module")
def solved():
    solution, solver = solve_hole(
        build_levels(HOLE, COARSE), golfer(*bag()), SolveOptions(tables=COARSE, tolerance=1e-4)
    )
    adviser = HoleAdviser(solution, solver, HOLE.tees[0])
    return adviser, LookAhead(solution, solver, adviser.tee_shot)


def places(count=150):
    """Places all over the hole that are fairway, rough or sand, and their lies."""
    rng = np.random.default_rng(7)
    points = rng.uniform((20.0, -24.0), (205.0, 22.0), (count, 2))
    lies = np.array([int(Ground(int(one)).lie) for one in label_points(HOLE, points)])
    kept = np.isin(lies, (Lie.FAIRWAY, Lie.ROUGH, Lie.SAND))
    return points[kept], lies[kept]


def exact_costs(adviser, points, lies, decide):
    """Cost of what is decided, aimed exactly so and worked out at the ball's own place."""
    swings, bearings = decide(points, lies, np.zeros(len(points), dtype=bool))
    found = [
        adviser.evaluator.value_of(tuple(map(float, point)), Lie(int(lie)), int(swing), float(aim))
        for point, lie, swing, aim in zip(points, lies, swings, bearings, strict=True)
    ]
    return np.array([np.inf if one is None else one.value for one in found])


def test_what_is_played_costs_less_at_the_balls_own_place(solved) -> None:
    adviser, ahead = solved
    points, lies = places()
    near = exact_costs(adviser, points, lies, adviser.policy.decide)
    best = exact_costs(adviser, points, lies, ahead.decide)
    assert np.isfinite(best).all()
    # The border between two clubs is crossed by few places; most keep their action.
    saved = near - best
    assert saved.mean() > 2e-4
    assert saved.max() > 0.03
    assert np.quantile(saved, 0.05) > -0.002
    # And it costs about the value read there, which knows the best action of every cell.
    assert abs((best - adviser.policy.value_at(points, lies)).mean()) < 0.006


def test_the_tee_shot_is_the_plans(solved) -> None:
    adviser, ahead = solved
    swing, bearing = ahead.decide(np.zeros((2, 2)), np.full(2, int(Lie.TEE)), np.ones(2, bool))
    assert (swing == adviser.tee_shot.swing).all()
    assert (bearing == adviser.tee_shot.bearing).all()
