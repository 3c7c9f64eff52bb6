"""Solver, exact shares and simulation make the same of a wind, each with its own arithmetic."""

import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from planner.ball.conditions import Conditions
from planner.course.lies import Ground, Lie
from planner.course.reading import read_course
from planner.golfer.bag import read_bag
from planner.golfer.shot_outcome import SwingStyle
from planner.golfer.swing_set import build_shot_model
from planner.planning.hole_desk import open_hole
from planner.planning.request import PlanRequest
from planner.strategy.actions import action_arrays
from planner.strategy.exposure import outcome_shares
from planner.strategy.ground_lines import ground_partition
from planner.strategy.roll_out import roll_out
from planner.strategy.shot_draws import ShotDraws

from .builders import box_hole

DEMO = Path(__file__).parents[2] / "courses_demo"
BAG = read_bag(DEMO / "bags" / "bram_oskel.toml")
WIND = Conditions(wind_from=1.1, wind_speed=8.0)
HOLE = box_hole(
    330,
    (Ground.FAIRWAY, shapely.box(90, -16, 290, 18)),
    (Ground.SAND, shapely.box(150, 18, 185, 34)),
    (Ground.RED, shapely.box(120, -60, 240, -30)),
    (Ground.GREEN, shapely.box(315, -12, 345, 12)),
    in_bounds=shapely.box(-40, -90, 380, 70),
    azimuth=0.4,
)
BEARINGS = np.array([-0.12, 0.0, 0.2, 2.0])


@pytest.fixture(scope="module")
def model():
    return build_shot_model(BAG, conditions=WIND)


def number(model, club):
    return next(
        i for i, s in enumerate(model.swings) if s.club == club and s.style is SwingStyle.FULL
    )


@pytest.mark.parametrize(("club", "bearing"), [("Driver", 0.1), ("5 iron", -0.05), ("Driver", 0.5)])
def test_exact_shares_are_those_of_drawn_shots(model, club, bearing):
    partition = ground_partition(HOLE)
    swing = number(model, club)
    exact = outcome_shares(partition, HOLE, model, model.swings[swing], Lie.TEE, (0, 0), bearing)
    count = 60_000
    drawn = ShotDraws(partition, HOLE, model).draw(
        np.zeros((count, 2)),
        np.full(count, int(Lie.TEE)),
        np.full(count, swing),
        np.full(count, bearing),
        rng=np.random.default_rng(4),
    )
    ground = partition.grounds[drawn.ground_class]
    for name in ("fairway", "rough", "sand", "red", "out_of_bounds"):
        kind = {"out_of_bounds": Ground.OUT}.get(name) or Ground[name.upper()]
        share = float((ground == kind).mean())
        assert share == pytest.approx(
            getattr(exact, name), abs=4 * math.sqrt(0.25 / count) + 1e-3
        ), name


def test_solvers_arrays_are_the_patterns_in_the_wind(model):
    swing = model.swings[number(model, "Driver")]
    arrays = action_arrays([swing], HOLE, BEARINGS, wind_from=model.wind_from, lies=(Lie.TEE,))
    assert arrays.mean.shape[1] == len(BEARINGS)
    pattern = swing.patterns[Lie.TEE]
    for b, bearing in enumerate(BEARINGS):
        against = model.wind_from - HOLE.frame.azimuth - bearing
        # Half of the shots of each component on either side of the mean: through drawn deviations.
        for k in range(len(pattern.weights)):
            mean, matrix = swing.blown(pattern.means[k], against)
            factor = matrix[0] @ np.linalg.cholesky(pattern.covariances[k])
            aa, cc, ac = arrays.covariance[0, b, 0, k]
            np.testing.assert_allclose(factor @ factor.T, [[aa, ac], [ac, cc]])
            np.testing.assert_allclose(arrays.mean[0, b, 0, k], mean[0])
    assert arrays.run[0, 0, 0] != arrays.run[0, 3, 0]


def test_still_air_needs_no_arrays_by_bearing():
    model = build_shot_model(BAG, clubs=["Driver", "7 iron", "Putter"])
    arrays = action_arrays(model.swings[:2], HOLE, BEARINGS, wind_from=None)
    assert arrays.mean.shape[1] == arrays.covariance.shape[1] == arrays.run.shape[1] == 1


def test_a_short_hole_in_the_wind_agrees_with_the_simulation():
    course = read_course(DEMO / "tarrowick.geojson")
    desk = open_hole(
        PlanRequest(course, read_bag(DEMO / "bags" / "odile_marrow.toml"), conditions=WIND), "12"
    )
    adviser = desk.adviser
    played = roll_out(
        desk.hole,
        adviser.model,
        adviser.tee.position_hole,
        decide=adviser.policy.decide,
        value_at=adviser.policy.value_at,
        may_replay=False,
        balls=60_000,
        rng=np.random.default_rng(1),
        partition=adviser.partition,
    )
    assert abs(played.mean - adviser.tee_value) < 3 * played.standard_error
    like = desk.plan.best.plays_like
    assert like is not None
    assert abs(like.weather_m) > 1.0
