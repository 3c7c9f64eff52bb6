"""The solver against an independent simulation of its policy with exact polygons, off the lattice.

Only the shot model is shared. Holes of one full shot agree within three standard errors. On longer
holes the simulation plays, between lattice points, the action of the nearest one, which costs it
0.005 to 0.015 strokes on tree-lined holes; there the two are held to that.
"""

import numpy as np
import pytest

from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.golfer.bag import read_bag
from planner.planning.hole_desk import open_hole
from planner.planning.request import PlanRequest
from planner.strategy.roll_out import roll_out

NEAREST_ACTION_COST = 0.02


def difference(golfer, ref, balls):
    course = read_course(demo_folder() / "tarrowick.geojson")
    desk = open_hole(PlanRequest(course, read_bag(demo_bag(golfer))), ref)
    adviser = desk.adviser
    played = roll_out(
        desk.hole,
        adviser.model,
        adviser.tee.position_hole,
        decide=adviser.policy.decide,
        value_at=adviser.policy.value_at,
        balls=balls,
        rng=np.random.default_rng(1),
        partition=adviser.partition,
    )
    # A ball in a hundred thousand may go to and fro where the nearest actions of two places differ.
    assert played.finished.mean() > 1 - 1e-4
    assert desk.plan.converged
    print(golfer, ref, adviser.tee_value, played.mean, played.standard_error)
    return played.mean - adviser.tee_value, played.standard_error


@pytest.mark.parametrize(("golfer", "ref"), [("odile", "12"), ("wren", "8")])
def test_short_holes_agree_with_the_simulation(golfer, ref):
    off, error = difference(golfer, ref, 100_000)
    assert abs(off) < 3 * error


@pytest.mark.slow
@pytest.mark.parametrize(("golfer", "ref"), [("odile", "12"), ("wren", "12"), ("wren", "3")])
def test_short_holes_agree_with_a_long_simulation(golfer, ref):
    off, error = difference(golfer, ref, 400_000)
    assert abs(off) < 3 * error


@pytest.mark.slow
@pytest.mark.parametrize(("golfer", "ref"), [("odile", "9"), ("wren", "9"), ("wren", "1")])
def test_long_holes_lose_no_more_than_the_nearest_action(golfer, ref):
    off, error = difference(golfer, ref, 400_000)
    assert -3 * error < off < NEAREST_ACTION_COST + 3 * error
