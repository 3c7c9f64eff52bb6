"""The solver against an independent simulation of its plan with exact polygons, off the lattice.

Only the shot model is shared. The simulation plays what the plan says at the ball's own place, one
step looked ahead.
"""

from dataclasses import replace

import numpy as np
import pytest

from planner.benchmark.solved_hole import player, solve
from planner.course.reading import read_course
from planner.demo_data import DEMO_COURSE, demo_folder
from planner.strategy.roll_out import roll_out

LATTICE_ERROR = 0.003
"""What 3 m cells cost at hazards [strokes]. From the tee of hole 12 the solver finds 16.55 % in the
water, 6.77 % in sand and 56.4 % on the green, exact are 16.72, 7.04 and 56.0 %."""
WOODS = {"4": 0.004, "7": 0.024, "15": 0.004}
"""What woods cost beside it on holes where many balls end in them [strokes]: values jump there from
place to place, and the relief of a cell is that of one place in it."""
COURSE = read_course(demo_folder() / DEMO_COURSE)
REFS = [hole.ref for hole in COURSE.holes]


def difference(golfer, ref, balls):
    hole = COURSE.hole(ref)
    one = replace(player(golfer), tee=hole.tees[0].name)
    solved = solve(one, hole, one.table_options(threads=2))
    adviser = solved.adviser
    played = roll_out(
        hole,
        adviser.model,
        adviser.tee.position_hole,
        decide=solved.ahead.decide,
        value_at=adviser.policy.value_at,
        may_replay=False,
        balls=balls,
        rng=np.random.default_rng(1),
        partition=adviser.partition,
    )
    # A ball in a hundred thousand may go to and fro where the nearest actions of two places differ.
    assert played.finished.mean() > 1 - 1e-4
    assert solved.solution.converged
    print(golfer, ref, adviser.tee_value, played.mean, played.standard_error)
    return played.mean - adviser.tee_value, played.standard_error


@pytest.mark.parametrize(("golfer", "ref"), [("odile", "12"), ("wren", "8")])
def test_short_holes_agree_with_the_simulation(golfer, ref):
    off, error = difference(golfer, ref, 100_000)
    assert abs(off) < 3 * error


@pytest.mark.slow
@pytest.mark.parametrize("ref", REFS)
def test_every_hole_agrees_with_a_long_simulation(ref):
    off, error = difference("wren", ref, 400_000)
    if ref not in WOODS:
        # Within three standard errors of 100,000 balls, which are twice those of 400,000.
        assert abs(off) < 6 * error
    assert abs(off) < 3 * error + LATTICE_ERROR + WOODS.get(ref, 0.0)


@pytest.mark.slow
@pytest.mark.parametrize("ref", ["1", "9", "12"])
def test_holes_of_a_wilder_golfer_agree_with_a_long_simulation(ref):
    off, error = difference("odile", ref, 400_000)
    assert abs(off) < 3 * error + LATTICE_ERROR
