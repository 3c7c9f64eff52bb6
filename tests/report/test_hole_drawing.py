from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from planner.course.hole import Hole
from planner.numerics.polygon_probability import polygon_probability
from planner.report.drawing import Drawing
from planner.report.hole_drawing import draw_hole
from planner.report.shot_shapes import CHI_SQUARE_50, CHI_SQUARE_90, ellipse
from planner.strategy.advice import HolePlan, Shot
from planner.units import DistanceUnit


def roles(drawing: Drawing) -> list[str]:
    return [shape.role for shape in drawing.shapes]


def of_role(drawing: Drawing, role: str) -> list[shapely.Geometry]:
    return [shape.geometry for shape in drawing.shapes if shape.role == role]


@pytest.mark.parametrize(("chi_square", "mass"), [(CHI_SQUARE_50, 0.5), (CHI_SQUARE_90, 0.9)])
def test_an_ellipse_holds_its_mass(chi_square: float, mass: float) -> None:
    mean, covariance = np.array([20.0, -3.0]), np.array([[100.0, -40.0], [-40.0, 225.0]])
    shape = ellipse(mean, covariance, chi_square)
    inside = polygon_probability(shape, mean[None], covariance[None])
    # A polygon of 72 corners is 0.13 % smaller than the ellipse.
    assert float(np.squeeze(inside)) == pytest.approx(mass, abs=0.0015)
    assert shape.area == pytest.approx(
        math.pi * chi_square * math.sqrt(np.linalg.det(covariance)), rel=0.0014
    )


def test_published_quantiles() -> None:
    assert pytest.approx(1.38629, abs=5e-6) == CHI_SQUARE_50
    assert pytest.approx(4.60517, abs=5e-6) == CHI_SQUARE_90


@pytest.mark.parametrize("focus", ["hole", "landing", "green"])
def test_everything_stays_on_the_sheet(hole: Hole, shot: Shot, focus: str) -> None:
    drawing = draw_hole(hole, shot, focus=focus)
    sheet = drawing.view.sheet.buffer(1e-6)
    assert all(shapely.covers(sheet, shape.geometry) for shape in drawing.shapes)
    assert drawing.view.width_px <= 350
    assert drawing.view.height_px <= 620


def test_the_whole_hole_shows_ball_pin_aim_and_pattern(hole: Hole, plan: HolePlan) -> None:
    drawing = draw_hole(hole, plan.best, next_shots=plan.next_shots)
    for role in ("ball", "pin", "aim point", "pattern 50", "pattern 90", "mishit", "run"):
        assert of_role(drawing, role), role
    assert of_role(drawing, "pattern 90")[0].area == pytest.approx(
        math.pi * CHI_SQUARE_90 * math.sqrt(100 * 225 - 1600), rel=0.002
    )
    assert "A" in [label.text for label in drawing.labels]


def test_tee_is_below_and_right_is_right(hole: Hole, shot: Shot) -> None:
    drawing = draw_hole(hole, shot)
    view = drawing.view
    ball, pin = of_role(drawing, "ball")[0].centroid, of_role(drawing, "pin")[0].bounds
    assert view.to_px(ball.x, ball.y)[1] > view.to_px(pin[0], pin[1])[1]
    # The red area is mapped to the right of the hole, the yellow one to the left.
    red, yellow = of_role(drawing, "red")[0].centroid, of_role(drawing, "yellow")[0].centroid
    assert view.to_px(red.x, red.y)[0] > view.to_px(yellow.x, yellow.y)[0]
    # The aim is to the right of the ball.
    aim = of_role(drawing, "aim point")[0].centroid
    assert aim.x - ball.x == pytest.approx(200 * math.sin(0.1), abs=0.01)
    assert aim.y - ball.y == pytest.approx(200 * math.cos(0.1), abs=0.01)


def test_the_run_goes_on_along_the_aim_line(hole: Hole, shot: Shot) -> None:
    run = of_role(draw_hole(hole, shot), "run")[0]
    ball = shapely.Point(0, 0)
    assert shapely.hausdorff_distance(ball, run) == pytest.approx(218.0, abs=0.01)


def test_paint_order_is_that_of_the_ground(hole: Hole, shot: Shot) -> None:
    painted = roles(draw_hole(hole, shot))
    order = ["rough", "deep rough", "trees", "fairway", "yellow", "red", "sand", "green"]
    places = [painted.index(role) for role in order]
    assert places == sorted(places)
    assert painted.index("green") < painted.index("pattern 90") < painted.index("pattern 50")
    assert painted.index("pattern 50") < painted.index("aim point")


def test_labels_follow_the_unit(hole: Hole, shot: Shot) -> None:
    metres = [label.text for label in draw_hole(hole, shot).labels]
    yards = [label.text for label in draw_hole(hole, shot, unit=DistanceUnit.YARDS).labels]
    assert "200\u00a0m" in metres
    assert "219\u00a0yd" in yards
    assert {"50", "100", "150", "200"} <= set(metres)
    arcs = draw_hole(hole, shot, unit=DistanceUnit.YARDS)
    hundred = next(s for s in arcs.shapes if s.words.startswith("100 yd"))
    away = shapely.distance(hundred.geometry, shapely.Point(0, 350))
    assert away == pytest.approx(91.44, abs=0.05)


def test_penalty_areas_are_named_on_the_drawing(hole: Hole, shot: Shot) -> None:
    assert {"red", "yellow"} <= {label.text for label in draw_hole(hole, shot).labels}


def test_the_same_hole_gives_the_same_drawing(hole: Hole, shot: Shot) -> None:
    one, other = draw_hole(hole, shot), draw_hole(hole, shot)
    assert [s.geometry.wkb for s in one.shapes] == [s.geometry.wkb for s in other.shapes]


def test_a_shot_without_pattern_or_aim_is_drawn(hole: Hole, shot: Shot) -> None:
    bare = draw_hole(hole, replace(shot, pattern=None, aim=None, swing=-2))
    assert "pattern 50" not in roles(bare)
    assert "ball" in roles(bare)
    assert "unplayable" in bare.alt


def test_a_hole_without_boundary_or_areas_is_drawn(hole: Hole, shot: Shot) -> None:
    bare = draw_hole(replace(hole, areas=(), in_bounds=None), shot)
    assert "out of bounds" not in roles(bare)


def test_the_drawing_says_itself_in_words(hole: Hole, plan: HolePlan) -> None:
    alt = draw_hole(hole, plan.best, next_shots=plan.next_shots).alt
    for words in ("hole 7", "Driver", "left edge of the right bunker", "A left half", "41 %"):
        assert words in alt
