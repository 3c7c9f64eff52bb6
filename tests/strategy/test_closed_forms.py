"""Holes so simple that the expected strokes are known, through the real solver.

A wide green with the same number of putts from everywhere makes the value of a place depend on
the number of strokes to the green only, and components that end far from every edge make the
shares of a pattern exact: what is left is the arithmetic of the solver.
"""

import dataclasses

import numpy as np
import pytest
import shapely

from planner.course.lies import Ground, Lie

from .builders import COARSE, PUTTS, box_hole, either, model_of, partial_swings, solve, stock, swing

LENGTH = 100.0
GREEN = (Ground.GREEN, shapely.box(60, -40, 140, 40))
FULL = 100.0
# From every place off the green some swing reaches it; they finish what the tee shot leaves.
SHORT = partial_swings(10, 20, 30, 40, sd=0.02)


@pytest.mark.parametrize("share", [0.6, 0.8])
def test_one_target(share):
    # A miss comes back to where it was struck, and within 25 m of there the green is as easy to
    # reach, so strokes to the green are geometric: their mean is 1 / share.
    pattern = either(share, (FULL, 0.0), (0.0, 0.0))
    found = solve(box_hole(LENGTH, GREEN), model_of(swing("Iron", FULL, pattern), *SHORT))
    assert found.solution.converged
    assert found.tee_shot(0).value == pytest.approx(1 / share + PUTTS, abs=1e-3)


@pytest.mark.parametrize("lost", ["boundary", "map"])
@pytest.mark.parametrize("q", [0.1, 0.4])
def test_out_of_bounds(q, lost):
    # Stroke and distance: W + (1 + q) / (1 - q), W the putts of a ball on the green.
    bounds = shapely.box(-200, -40, 300, 60) if lost == "boundary" else None
    pattern = either(1 - q, (FULL, 0.0), (50.0, 85.0 if lost == "boundary" else 200.0))
    hole = box_hole(LENGTH, GREEN, in_bounds=bounds)
    found = solve(hole, model_of(swing("Iron", FULL, pattern), *SHORT))
    assert found.tee_shot(0).value == pytest.approx(PUTTS + (1 + q) / (1 - q), abs=1e-3)


@pytest.mark.parametrize("q", [0.3, 0.37])
def test_a_risk_is_taken_up_to_its_worth(q):
    # The wood costs (1 + q) / (1 - q) strokes to the green, the iron and another iron two; they
    # are equal at q = 1/3.
    wood = swing("Wood", FULL, either(1 - q, (FULL, 0.0), (50.0, 200.0)), lies=(Lie.TEE,))
    iron = swing("Iron", 50.0, stock(50.0, sd=(2.0, 2.0)))
    hole = box_hole(LENGTH, (Ground.GREEN, shapely.box(65, -35, 135, 35)))
    found = solve(hole, model_of(wood, iron, *SHORT))
    assert found.tee_shot(0).value - PUTTS == pytest.approx((1 + q) / (1 - q), abs=1e-3)
    assert found.tee_shot(1).value - PUTTS == pytest.approx(2.0, abs=1e-3)
    clubs = [found.solution.model.swings[shot.swing].club for shot in found.tee_shots()]
    assert (clubs.index("Wood") < clubs.index("Iron")) == (q < 1 / 3)


@pytest.mark.parametrize("ground", [Ground.YELLOW, Ground.RED])
@pytest.mark.parametrize("q", [0.15, 0.5])
def test_water(q, ground):
    # Behind the pond every drop is worth U = 1 + W, one sure stroke and the putts, as is every
    # place from behind the tee on: 1 + q (1 + U) + (1 - q) W.
    green = (Ground.GREEN, shapely.box(50, -45, 145, 45))
    pond = shapely.box(20, -30, 40, 30)
    tee_shot = swing("Iron", FULL, either(1 - q, (FULL, 0.0), (30.0, 0.0)), lies=(Lie.TEE,))
    sure = swing("Rescue", 105.0, stock(105.0, sd=(2.0, 2.0)), lies=(Lie.FAIRWAY, Lie.ROUGH))
    found = solve(
        box_hole(LENGTH, green, (ground, pond)),
        model_of(tee_shot, sure, *SHORT),
        count_penalties=True,
    )
    shot = found.tee_shot(0)
    worth = 1 + PUTTS
    assert shot.value == pytest.approx(1 + q * (1 + worth) + (1 - q) * PUTTS, abs=1e-3)
    assert shot.penalties == pytest.approx(q, abs=1e-3)


@pytest.mark.parametrize(
    ("ground", "side", "penalty"), [(Ground.SAND, -1.0, 2.0), (Ground.TREES, 1.0, 1.0)]
)
def test_unplayable(ground, side, penalty):
    # No club is played from there: two strokes to leave the sand (19.3b), one to leave the trees
    # (19.2b, c), then a sure stroke and the putts.
    share = 0.25
    area = shapely.box(24, min(22 * side, 46 * side), 50, max(22 * side, 46 * side))
    pattern = either(1 - share, (FULL, 0.0), (37.0, 34.0 * side))
    tee_shot = swing("Wood", FULL, pattern, lies=(Lie.TEE,))
    turf = (Lie.FAIRWAY, Lie.ROUGH)
    sure = swing("Iron", 105.0, stock(105.0, sd=(2.0, 2.0)), lies=turf, climb_m=0.0)
    short = partial_swings(10, 20, 30, 40, 55, 70, 85, sd=0.01, lies=turf)
    found = solve(
        box_hole(LENGTH, (Ground.GREEN, shapely.box(54, -45, 146, 45)), (ground, area)),
        model_of(tee_shot, sure, *short),
    )
    expected = 1 + share * (penalty + 1 + PUTTS) + (1 - share) * PUTTS
    # Some coarse cells at the edge of the area see a drop from which the green may be missed.
    assert found.tee_shot(0).value == pytest.approx(expected, abs=0.01)


def test_putts_are_averaged_over_the_green():
    # One sure stroke to a spread of 4 m round the pin. The squared distance of a round normal is
    # exponential, so its quantiles give the mean of the putting curve.
    model = model_of(swing("Iron", FULL, stock(FULL, sd=(4.0, 4.0))), *SHORT, putts=None)
    tables = dataclasses.replace(COARSE, grid=dataclasses.replace(COARSE.grid, cell=2.0))
    found = solve(box_hole(LENGTH, GREEN), model, tables)
    level = (np.arange(100_000) + 0.5) / 100_000
    putts = model.expected_putts(4.0 * np.sqrt(-2 * np.log(level))).mean()
    assert found.tee_shot(0).value == pytest.approx(1 + putts, abs=1e-3)
