"""Averages between the bearings that have tables: read from both, they are those of its own."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import shapely

from planner.course.hole import ElevationProfile
from planner.course.lies import Ground
from planner.strategy.hole_tables import circle
from planner.strategy.reach import bearings_of
from tests.strategy.builders import COARSE, box_hole, solve
from tests.strategy.test_whole_hole import bag, golfer

HAZARDS = (
    (Ground.FAIRWAY, shapely.box(40, -16, 260, 16)),
    (Ground.GREEN, shapely.box(228, -12, 252, 12)),
    (Ground.SAND, shapely.box(215, 12, 240, 24)),
    (Ground.YELLOW, shapely.box(120, -48, 170, -18)),
    (Ground.TREES, shapely.box(60, 24, 150, 48)),
)


@pytest.mark.parametrize("ratio", [1, 2, 3, 5])
def test_every_bearing_reads_one_table_or_the_two_beside_it(ratio):
    count = 6 * ratio
    nearness = np.zeros((count, 7))
    for node in range(7):
        for b in range(*bearings_of(node, ratio, count)):
            nearness[b, node] = 1.0 - abs(b - node * ratio) / ratio
    np.testing.assert_allclose(nearness.sum(axis=1), 1.0)
    assert ((nearness > 0).sum(axis=1) == np.where(np.arange(count) % ratio, 2, 1)).all()


@pytest.mark.parametrize(("step", "ratio"), [(3.0, 1), (4.0, 2), (7.0, 3), (50.0, 4)])
def test_bearings_with_tables_mirror_each_other(step, ratio):
    bearings = circle(math.radians(step), ratio)
    assert len(bearings) % ratio == 0
    with_tables = bearings[::ratio]
    mirrored = np.sort(np.mod(-with_tables + math.pi, 2 * math.pi))
    np.testing.assert_allclose(mirrored, np.sort(np.mod(with_tables + math.pi, 2 * math.pi)))
    assert np.abs(with_tables).min() < 1e-12 or len(with_tables) % 2 == 1


@pytest.mark.parametrize("slope", [None, ElevationProfile((0.0, 240.0), (0.0, -12.0))])
def test_values_are_those_of_tables_for_every_bearing(slope):
    hole = box_hole(240.0, *HAZARDS, elevation=slope)
    model = golfer(*bag())
    every = dataclasses.replace(COARSE, bearing_ratio=1, patch_bearing_ratio=1)
    some = dataclasses.replace(COARSE, bearing_ratio=2, patch_bearing_ratio=2)
    exact = solve(hole, model, every, refine=True)
    found = solve(hole, model, some, refine=True)
    assert found.tee_value == pytest.approx(exact.tee_value, abs=0.004)
    seen = np.isfinite(exact.solution.values.state) & exact.solver.state_side.occurs
    off = (found.solution.values.state - exact.solution.values.state)[seen]
    assert abs(off.mean()) < 0.005
    assert np.abs(off).mean() < 0.01
