"""Optional layers of the drawing: contours against a field that is known, and dots and crosses."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planner.course.hole import Hole
from planner.report.hole_drawing import draw_hole
from planner.report.hole_layers import Layers, contours
from planner.report.view import View
from planner.strategy.advice import Shot
from planner.strategy.landing_cloud import landing_cloud
from planner.strategy.value_field import ValueField

VIEW = View(-60.0, 0.0, 60.0, 200.0, 3.0)


def cone(pin: tuple[float, float] = (180.0, 10.0), *, unknown: float = np.nan) -> ValueField:
    """A value of 1 at the pin that rises by one every 50 m; half of it on a sheet of its own."""
    along, across = np.arange(0.0, 201.0, 2.0), np.arange(-60.0, 61.0, 2.0)
    grid = np.stack(np.meshgrid(along, across, indexing="ij"), axis=-1)
    strokes = 1.0 + np.hypot(*np.moveaxis(grid - pin, -1, 0)) / 50.0
    left = np.where(grid[..., 1] <= 0, strokes, unknown)
    right = np.where(grid[..., 1] >= 0, strokes, np.nan)
    return ValueField(along, across, np.array([left, right]))


@pytest.mark.parametrize("unknown", [np.nan, 99.0])
def test_contours_lie_where_the_value_is(unknown: float) -> None:
    shapes, labels = contours(cone(unknown=unknown), VIEW)
    assert len(shapes) >= 5
    pin = shapely.Point(10.0, 180.0)
    for shape in shapes:
        level = float(shape.words.split()[0])
        away = shapely.distance(shapely.points(shapely.get_coordinates(shape.geometry)), pin)
        assert away == pytest.approx(50.0 * (level - 1.0), abs=0.6)
    assert {label.text for label in labels} <= {shape.words.split()[0] for shape in shapes}
    spots = np.array([label.at for label in labels])
    apart = np.hypot(*(spots[:, None] - spots[None]).transpose(2, 0, 1))
    assert apart[~np.eye(len(spots), dtype=bool)].min() >= 34.0 / VIEW.scale


def test_a_field_without_values_has_no_contours() -> None:
    nothing = ValueField(np.arange(3.0), np.arange(3.0), np.full((1, 3, 3), np.nan))
    assert contours(nothing, VIEW) == ([], [])


def test_layers_are_drawn_when_asked_for(hole: Hole, shot: Shot) -> None:
    plain = {shape.role for shape in draw_hole(hole, shot).shapes}
    assert not plain & {"contour", "landed", "landed mishit"}
    assert shot.pattern is not None
    cloud = landing_cloud(shot.pattern, 100, rng=np.random.default_rng(0))
    drawing = draw_hole(hole, shot, layers=Layers(cone((350.0, 0.0)), cloud))
    by_role = {shape.role: shape.geometry for shape in drawing.shapes}
    assert {"contour", "landed", "landed mishit"} <= set(by_role)
    # A fifth of the pattern is mishit, and each has a cross of its own.
    arm = 2 * 3.2 / drawing.view.scale
    assert by_role["landed mishit"].length == pytest.approx(20 * 2 * arm * 2**0.5, rel=0.05)
    assert "leaves 152\u00a0m" in [label.text for label in drawing.labels]
