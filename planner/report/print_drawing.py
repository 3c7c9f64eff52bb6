"""A hole drawn small for paper: shapes in the frame of the drawing, labels in points.

The frame is that of :mod:`planner.report.drawing`, x right and y up [m]; the scale of its view
is in points a metre.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.hole import Hole
from planner.course.lies import Ground
from planner.report.drawing import Shape, flip, xy
from planner.report.hole_drawing import LETTERS
from planner.report.print_fonts import ASCENT, text_width
from planner.report.print_palette import printed_ground
from planner.report.shot_shapes import CHI_SQUARE_90, ellipse
from planner.report.typesetting import Box, TextLine
from planner.report.view import View
from planner.strategy.advice import HolePlan, Shot
from planner.units import DistanceUnit

__all__ = ["LARGEST_SCALE", "PrintDrawing", "draw_for_print"]

LARGEST_SCALE = 72.0 / 0.0254 / 480.0
"""Points a metre at 1:480, the largest scale for a drawn green (Rule 4.3a, 3/8 inch to 5 yards)."""
SIDE_MARGIN_M, END_MARGIN_M = 14.0, 10.0
FLAG_PT = 17.0
"""Room above the pin for its flag."""
MARK_STEP = 50.0
"""Distances to the pin are marked every so many units."""
LEAST_STEP_PT = 17.0
"""Marks closer than this on paper are thinned out."""
MARK_HALF_M = 17.0
"""Distance marks reach this far from the line of play."""
DOT_PT = 2.6
"""Radius of the marks of ball, aim and next places [pt]."""
LETTER_DISTANCES = (7.0, 10.0, 13.0)
"""A letter stands this far from its place [pt]; the first that is free is taken."""


@dataclass(frozen=True, eq=False)
class PrintDrawing:
    """Shapes from the bottom up and, over them, labels in points from the lower left corner."""

    view: View
    shapes: tuple[Shape, ...]
    labels: tuple[TextLine, ...]

    @property
    def width(self) -> float:
        """Width on paper [pt]."""
        return (self.view.right - self.view.left) * self.view.scale

    @property
    def height(self) -> float:
        """Height on paper [pt]."""
        return (self.view.top - self.view.bottom) * self.view.scale


def draw_for_print(
    plan: HolePlan,
    *,
    unit: DistanceUnit,
    width: float,
    height: float,
    size: float,
    letters: int,
) -> PrintDrawing:
    """Draw a planned hole to fill ``width`` x ``height`` [pt] with labels in ``size`` [pt].

    ``letters`` next places are marked A, B and so on.
    """
    view = _view(plan, width, height)
    shapes = [
        *_ground(plan.hole, view),
        *_marks(plan, unit, view),
        *_shot(plan.best, view),
        *_pin(plan.hole, view),
        *_places(plan, view, letters),
    ]
    cut = [Shape(one.role, shapely.intersection(one.geometry, view.sheet)) for one in shapes]
    return PrintDrawing(
        view,
        tuple(shape for shape in cut if not shape.geometry.is_empty),
        tuple(_labels(plan, unit, view, size, letters)),
    )


def _view(plan: HolePlan, width: float, height: float) -> View:
    """Window of the given size on paper that shows the hole from the plan's tee to behind it."""
    points = _seen(plan)
    low, high = points.min(axis=0), points.max(axis=0)
    across, along = high - low + 2 * np.array([SIDE_MARGIN_M, END_MARGIN_M])
    scale = min(width / across, (height - FLAG_PT) / along, LARGEST_SCALE)
    left = (low[0] + high[0]) / 2 - width / scale / 2
    spare = (height - FLAG_PT) / scale - along
    bottom = low[1] - END_MARGIN_M - spare / 2
    return View(left, bottom, left + width / scale, bottom + height / scale, scale)


def _seen(plan: HolePlan) -> NDArray[np.float64]:
    """Points (x, y) [m] that must be seen: what lies behind the plan's tee need not."""
    line = plan.hole.line_hole
    passed = line.project(shapely.Point(plan.tee_hole))
    bends = [point for point in line.coords if line.project(shapely.Point(point)) > passed + 1e-6]
    points = [plan.tee_hole, plan.hole.pin_hole, *bends]
    if plan.best.aim is not None:
        points.append(plan.best.aim.point_hole)
    for area in plan.hole.areas_of(Ground.GREEN):
        if area.shape_hole.distance(shapely.Point(plan.hole.pin_hole)) < 1.0:
            points += list(shapely.get_coordinates(area.shape_hole))
    corners = [np.asarray(points, dtype=float)[:, ::-1]]
    if plan.best.pattern is not None:
        corners.append(shapely.get_coordinates(_pattern(plan.best)))
    return np.concatenate(corners)


def _pattern(shot: Shot) -> shapely.Polygon:
    assert shot.pattern is not None
    stock = ellipse(shot.pattern.means_hole[0], shot.pattern.covariances_hole[0], CHI_SQUARE_90)
    return shapely.transform(stock, lambda points: points[:, ::-1])


def _ground(hole: Hole, view: View) -> Iterator[Shape]:
    point = 1 / view.scale
    yield Shape("rough", view.sheet)
    for area in sorted(hole.areas, key=lambda area: area.ground):
        shape = flip(area.shape_hole).simplify(0.2 * point)
        shape = shapely.intersection(shape, view.sheet)
        if area.ground is not Ground.ROUGH and not shape.is_empty:
            yield from printed_ground(area.ground, shape, point=point)
    if hole.in_bounds is not None:
        inside = flip(hole.in_bounds).simplify(0.2 * point)
        outside = shapely.difference(view.sheet, inside)
        if not outside.is_empty:
            yield from printed_ground(Ground.OUT, outside, point=point)
        yield Shape("boundary", inside.boundary)


def _marks(plan: HolePlan, unit: DistanceUnit, view: View) -> Iterator[Shape]:
    yield Shape("line of play", flip(plan.hole.line_hole))
    for _, arc in _arcs(plan, unit, view):
        yield Shape("halo", arc)
        yield Shape("distance", arc)


def _arcs(plan: HolePlan, unit: DistanceUnit, view: View) -> Iterator[tuple[float, BaseGeometry]]:
    """Arcs of equal distance to the pin across the line of play, nearer than the tee."""
    pin = shapely.Point(xy(plan.hole.pin_hole))
    corridor = shapely.buffer(flip(plan.hole.line_hole), MARK_HALF_M)
    step = MARK_STEP
    while unit.to_metres(step) * view.scale < LEAST_STEP_PT:
        step *= 2
    number = step
    while unit.to_metres(number) < math.dist(plan.tee_hole, plan.hole.pin_hole) - 10.0:
        circle = pin.buffer(unit.to_metres(number), quad_segs=64).exterior
        arc = shapely.intersection(circle, corridor)
        if not arc.is_empty:
            yield number, arc
        number += step


def _shot(shot: Shot, view: View) -> Iterator[Shape]:
    point = 1 / view.scale
    ball = xy(shot.position_hole)
    if shot.pattern is not None:
        outline = _pattern(shot).exterior
        yield Shape("halo", outline)
        yield Shape("pattern 90", outline)
    if shot.aim is not None:
        aim = xy(shot.aim.point_hole)
        line = shapely.LineString([ball, aim])
        yield Shape("halo", line)
        yield Shape("aim line", line)
        yield Shape("aim point", shapely.Point(aim).buffer(DOT_PT * point))
    yield Shape("ball", shapely.Point(ball).buffer(DOT_PT * point))


def _pin(hole: Hole, view: View) -> Iterator[Shape]:
    x, y = xy(hole.pin_hole)
    point = 1 / view.scale
    top = y + 14 * point
    pole = shapely.LineString([(x, y), (x, top)])
    yield Shape("halo", pole)
    yield Shape("pin", pole)
    flag = [(x, top), (x + 7 * point, top - 2.5 * point), (x, top - 5 * point)]
    yield Shape("pin flag", shapely.Polygon(flag))


def _places(plan: HolePlan, view: View, letters: int) -> Iterator[Shape]:
    for place in plan.next_shots[:letters]:
        spot = shapely.Point(xy(place.position_hole))
        yield Shape("next place", spot.buffer(2.2 / view.scale))


def _labels(
    plan: HolePlan, unit: DistanceUnit, view: View, size: float, letters: int
) -> Iterator[TextLine]:
    """Letters first, then distances where there is room; none over another, none cut off."""
    taken = _dots(plan, view, letters)
    window = Box(
        1.0,
        1.0,
        (view.right - view.left) * view.scale - 1.0,
        (view.top - view.bottom) * view.scale - 1.0,
    )
    for letter, place in zip(LETTERS, plan.next_shots[:letters], strict=False):
        x, y = _on_paper(view, xy(place.position_hole))
        spots = [
            (x + far * math.cos(turn), y + far * math.sin(turn))
            for far in LETTER_DISTANCES
            for turn in np.radians([0, 180, 45, 315, 135, 225, 90, 270])
        ]
        yield from _set(letter, spots, size, window, taken, bold=True)
    for number, arc in _arcs(plan, unit, view):
        points = shapely.get_coordinates(shapely.intersection(arc, view.window))
        if len(points) == 0:
            continue
        text = f"{number:.0f}"
        reach = text_width(text, size) / 2 + 1.5
        ends = [_on_paper(view, points[i]) for i in (points[:, 0].argmax(), points[:, 0].argmin())]
        spots = [
            (x + side * (reach + out), y)
            for out in (0.0, 4.0, 8.0)
            for (x, y), side in zip(ends, (1, -1), strict=True)
        ]
        yield from _set(text, spots, size, window, taken, bold=False)


def _dots(plan: HolePlan, view: View, letters: int) -> list[Box]:
    """Where ball, aim, pin and next places are marked: no label hides them."""
    spots = [plan.best.position_hole, *(p.position_hole for p in plan.next_shots[:letters])]
    if plan.best.aim is not None:
        spots.append(plan.best.aim.point_hole)
    found = []
    for spot in spots:
        x, y = _on_paper(view, xy(spot))
        found.append(Box(x - DOT_PT, y - DOT_PT, x + DOT_PT, y + DOT_PT))
    x, y = _on_paper(view, xy(plan.hole.pin_hole))
    return [*found, Box(x - 1.0, y - 1.0, x + 0.5 * FLAG_PT, y + FLAG_PT)]


def _set(
    text: str,
    centres: list[tuple[float, float]],
    size: float,
    window: Box,
    taken: list[Box],
    *,
    bold: bool,
) -> Iterator[TextLine]:
    """Text at the first of the centres [pt] where it is free and whole."""
    for x, y in centres:
        line = TextLine(
            text,
            x - text_width(text, size, bold=bold) / 2,
            y - ASCENT / 2 * size,
            size,
            bold,
            over_drawing=True,
        )
        box = line.box
        whole = (
            window.left <= box.left
            and window.bottom <= box.bottom
            and box.right <= window.right
            and box.top <= window.top
        )
        if whole and not any(box.overlaps(other) for other in taken):
            taken.append(box)
            yield line
            return


def _on_paper(view: View, at: NDArray[np.float64] | tuple[float, float]) -> tuple[float, float]:
    return ((at[0] - view.left) * view.scale, (at[1] - view.bottom) * view.scale)
