"""Values of a solved hole as lattices for contours, and single shots of a pattern."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planner.course.hole import Tee
from planner.course.lies import Ground, Lie
from planner.strategy.advice import PatternOnGround
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.landing_cloud import landing_cloud
from planner.strategy.value_field import lie_of, value_field, values_at

from .builders import box_hole, model_of, partial_swings, solve, stock, swing

FAIRWAY, POND = shapely.box(0, -20, 140, 20), shapely.box(60, 25, 100, 40)


@pytest.fixture(scope="module")
def adviser() -> HoleAdviser:
    hole = box_hole(150.0, (Ground.FAIRWAY, FAIRWAY), (Ground.RED, POND))
    swings = (swing("7 iron", 110.0, stock(110.0)), *partial_swings(15.0, 30.0, 45.0, 60.0, 80.0))
    solved = solve(hole, model_of(*swings))
    return HoleAdviser(solved.solution, solved.solver, Tee("white", (0.0, 0.0)))


def test_the_field_is_the_value_of_the_ground(adviser: HoleAdviser) -> None:
    field = value_field(adviser.policy, adviser.hole, (20.0, -50.0, 140.0, 50.0))
    assert field.strokes.shape[1:] == (len(field.along), len(field.across))
    points = np.stack(np.meshgrid(field.along, field.across, indexing="ij"), axis=-1)
    wanted = values_at(adviser.policy, adviser.hole, points)
    # Each place is on the sheet of its own lie.
    playable = np.isfinite(wanted)
    away = np.where(np.isfinite(field.strokes), np.abs(field.strokes - wanted), 1.0).min(axis=0)
    assert away[playable].max() < 1e-9
    assert not np.isfinite(field.strokes[:, ~playable]).any()


def test_water_has_no_value_and_nearer_is_better(adviser: HoleAdviser) -> None:
    here = values_at(
        adviser.policy, adviser.hole, np.array([[80.0, 30.0], [40.0, 0.0], [110.0, 0.0]])
    )
    assert np.isnan(here[0])
    assert here[1] > here[2] > 1.0


def test_the_fine_lattice_is_taken_near_the_pin(adviser: HoleAdviser) -> None:
    near = value_field(adviser.policy, adviser.hole, (140.0, -10.0, 160.0, 10.0))
    far = value_field(adviser.policy, adviser.hole, (0.0, -10.0, 160.0, 10.0))
    assert np.diff(near.along)[0] < np.diff(far.along)[0]


@pytest.mark.parametrize(
    ("ground", "lie"),
    [
        (Ground.FAIRWAY, Lie.FAIRWAY),
        (Ground.SAND, Lie.SAND),
        (Ground.TEE, Lie.FAIRWAY),
        (Ground.GREEN, None),
        (Ground.RED, None),
        (Ground.OUT, None),
    ],
)
def test_what_a_ball_is_played_from(ground: Ground, lie: Lie | None) -> None:
    assert lie_of(ground) is lie


def test_a_cloud_has_as_many_mishits_as_the_pattern() -> None:
    pattern = PatternOnGround(
        np.array([0.81, 0.12, 0.07]),
        np.array([[200.0, 5.0], [120.0, 0.0], [150.0, 40.0]]),
        np.array([np.diag([100.0, 225.0])] * 3),
        ("stock", "short", "wide"),
        10.0,
    )
    cloud = landing_cloud(pattern, 100, rng=np.random.default_rng(3))
    assert (len(cloud.solid), len(cloud.mishit)) == (81, 19)
    many = landing_cloud(pattern, 100_000, rng=np.random.default_rng(3))
    assert many.solid.mean(axis=0) == pytest.approx([200.0, 5.0], abs=0.2)
    assert np.cov(many.solid.T) == pytest.approx(np.diag([100.0, 225.0]), abs=4.0)
    assert many.mishit[:12_000].mean(axis=0) == pytest.approx([120.0, 0.0], abs=0.5)
