"""Filling polygons by rows, against the library's point by point answer."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planner.numerics.polygon_fill import fill_polygon

START, CELL, SHAPE = (-7.3, 4.1), 0.8, (60, 45)


def centres():
    rows, columns = np.indices(SHAPE)
    return START[0] + CELL * (rows + 0.5), START[1] + CELL * (columns + 0.5)


def star(rng, middle, points):
    angle = np.sort(rng.uniform(0, 2 * np.pi, points))
    radius = rng.uniform(2.0, 22.0, points)
    return shapely.Polygon(
        np.column_stack((np.cos(angle), np.sin(angle))) * radius[:, None] + middle
    ).buffer(0)


@pytest.mark.parametrize("seed", range(25))
def test_cells_are_those_whose_centres_lie_inside(seed):
    rng = np.random.default_rng(seed)
    shape = star(rng, rng.uniform((0.0, 0.0), (40.0, 40.0)), 17)
    if seed % 2:
        shape = shape.difference(star(rng, np.asarray(shape.representative_point().coords[0]), 9))
    found = np.zeros(SHAPE, np.int8)
    for part in shapely.get_parts(shape):
        fill_polygon(found, part, 3, start=START, cell=CELL)
    expected = shapely.contains_xy(shape, *centres())
    np.testing.assert_array_equal(found == 3, expected)
    assert set(np.unique(found)) <= {0, 3}


def test_what_was_there_stays_elsewhere():
    found = np.full(SHAPE, 5, np.int8)
    fill_polygon(found, shapely.box(0.0, 10.0, 9.0, 20.0), 1, start=START, cell=CELL)
    inside = shapely.contains_xy(shapely.box(0.0, 10.0, 9.0, 20.0), *centres())
    np.testing.assert_array_equal(found, np.where(inside, 1, 5))


@pytest.mark.parametrize("box", [(-50, -50, -40, 80), (90, 5, 95, 9), (0, 60, 3, 90)])
def test_a_polygon_beside_the_lattice_fills_nothing(box):
    found = np.zeros(SHAPE, np.int8)
    fill_polygon(found, shapely.box(*box), 1, start=START, cell=CELL)
    assert not found.any()


def test_a_polygon_over_the_lattice_fills_all_of_it():
    found = np.zeros(SHAPE, np.int8)
    fill_polygon(found, shapely.box(-100, -100, 100, 100), 1, start=START, cell=CELL)
    assert found.all()
