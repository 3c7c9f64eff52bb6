"""A drawn hole as plain shapes, before any file format.

Drawing frame: x to the right and y up [m], the tee at the bottom, equal scale both ways. It is
the hole frame with its two axes exchanged, so nothing is mirrored. Nothing about golf is
computed here; ellipses are those of the given normal components.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from planner.course.hole import Hole, Point
from planner.course.lies import Ground
from planner.report import words
from planner.report.drawing import Drawing, Label, Shape, flip, xy
from planner.report.ground_marks import dots, hatching, ticks, waves
from planner.report.hole_layers import NO_LAYERS, Layers, cloud_shapes, contours
from planner.report.shot_shapes import aim_shapes, pattern_shapes
from planner.report.view import Focus, View, view_of
from planner.strategy.advice import NextShot, Shot
from planner.units import DistanceUnit

__all__ = ["LETTERS", "ROLES", "draw_bare_hole", "draw_hole", "ground_shapes"]

ROLES = {
    Ground.ROUGH: "rough",
    Ground.DEEP_ROUGH: "deep rough",
    Ground.TREES: "trees",
    Ground.FAIRWAY: "fairway",
    Ground.TEE: "tee",
    Ground.YELLOW: "yellow",
    Ground.RED: "red",
    Ground.SAND: "sand",
    Ground.GREEN: "green",
    Ground.OUT: "out of bounds",
}
SPOKEN = {
    Ground.YELLOW: "yellow penalty area",
    Ground.RED: "red penalty area",
    Ground.SAND: "sand",
}
LETTERS = "ABCDEFGHIJ"
ARC_STEP = 50.0
"""Distances to the pin are marked every so many units."""
ARC_HALF_WIDTH_M = 20.0
"""Distance marks reach this far from the line of play."""
SMALLEST_SHAPE_PX = 0.35
"""Outlines are simplified by this much; less cannot be seen."""


def draw_hole(
    hole: Hole,
    shot: Shot,
    *,
    unit: DistanceUnit = DistanceUnit.METRES,
    next_shots: tuple[NextShot, ...] = (),
    focus: Focus = "hole",
    layers: Layers = NO_LAYERS,
) -> Drawing:
    """Draw a hole with one shot on it.

    Parameters
    ----------
    hole, shot
        What to draw; the shot's pattern may be missing.
    unit
        Unit of the labels.
    next_shots
        Places marked A, B, C, in this order.
    focus
        The whole hole, where the shot lands, or the green.
    layers
        What else to draw.
    """
    view = view_of(hole, shot, focus)
    shapes = [*_ground(hole, view), *_measures(hole, shot.position_hole, unit)]
    lines, numbers = ([], []) if layers.field is None else contours(layers.field, view)
    shapes += lines
    pattern = [] if shot.pattern is None else list(pattern_shapes(shot))
    if layers.cloud is not None:
        pattern += cloud_shapes(layers.cloud, view)
    shapes += [*pattern, *aim_shapes(shot, view), *_pin(hole, view), *_places(next_shots, view)]
    labels = [*numbers, *_labels(hole, shot.position_hole, unit, view)]
    if shot.aim is not None:
        carry = words.distance(shot.carry_m, unit)
        labels.append(Label(carry, xy(shot.aim.point_hole), "carry"))
    labels += _place_labels(next_shots)
    if layers.leave:
        labels += _leave_label(shot, unit)
    return _drawing(hole, view, shapes, labels, _alt(hole, shot, unit, next_shots))


def draw_bare_hole(hole: Hole, ball_hole: Point, *, unit: DistanceUnit) -> Drawing:
    """Draw a hole of which no more is known than its map, with a ball on it."""
    view = view_of(hole, None)
    ball = shapely.Point(xy(ball_hole)).buffer(4.5 / view.scale)
    shapes = [*_ground(hole, view), *_measures(hole, ball_hole, unit), *_pin(hole, view)]
    labels = list(_labels(hole, ball_hole, unit, view))
    return _drawing(hole, view, [*shapes, Shape("ball", ball, "ball")], labels, _seen(hole))


def _drawing(hole: Hole, view: View, shapes: list[Shape], labels: list[Label], alt: str) -> Drawing:
    clipped = []
    for shape in shapes:
        geometry = shapely.intersection(shape.geometry, view.sheet)
        if not geometry.is_empty:
            clipped.append(Shape(shape.role, geometry, shape.words))
    inside = view.window.buffer(-4 / view.scale)
    return Drawing(
        view,
        tuple(clipped),
        tuple(label for label in labels if shapely.intersects_xy(inside, *label.at)),
        f"Hole {hole.ref}, par {hole.par}",
        alt,
    )


def _ground(hole: Hole, view: View) -> Iterator[Shape]:
    sheet, tolerance = view.sheet, SMALLEST_SHAPE_PX / view.scale
    yield Shape("rough", sheet, "rough")
    for area in sorted(hole.areas, key=lambda area: area.ground):
        if area.ground is Ground.ROUGH:
            continue
        shape = shapely.intersection(flip(area.shape_hole).simplify(tolerance), sheet)
        if shape.is_empty:
            continue
        spoken = SPOKEN.get(area.ground, ROLES[area.ground])
        yield Shape(ROLES[area.ground], shape, f"{area.name}, {spoken}" if area.name else spoken)
        yield from _marks(area.ground, shape, view)
    if hole.in_bounds is not None:
        inside = flip(hole.in_bounds).simplify(tolerance)
        outside = shapely.difference(sheet, inside)
        yield from ground_shapes(Ground.OUT, outside, view, "out of bounds")
        yield Shape("boundary", inside.boundary, "boundary: out of bounds beyond it")


def ground_shapes(
    ground: Ground, area: BaseGeometry, view: View, text: str = ""
) -> Iterator[Shape]:
    """Area of one kind of ground with the marks inside it; frame of the drawing."""
    yield Shape(ROLES[ground], area, text)
    yield from _marks(ground, area, view)


def _marks(ground: Ground, shape: BaseGeometry, view: View) -> Iterator[Shape]:
    """Draw the marks inside one area; spacing is fixed in pixels."""
    metre = 1 / view.scale
    inner = shapely.buffer(shape, -2 * metre)
    role = f"{ROLES[ground]} marks"
    if ground is Ground.TREES:
        yield Shape(role, dots(inner, spacing=9 * metre), "trees")
    elif ground is Ground.DEEP_ROUGH:
        yield Shape(role, ticks(inner, spacing=9 * metre), "deep rough")
    elif ground is Ground.SAND:
        yield Shape(role, dots(inner, spacing=4.5 * metre), "sand")
    elif ground.is_penalty_area:
        yield Shape("water marks", waves(inner, spacing=11 * metre), SPOKEN[ground])
    elif ground is Ground.OUT:
        yield Shape(role, hatching(shape, spacing=9 * metre), "out of bounds")


def _measures(hole: Hole, start: Point, unit: DistanceUnit) -> Iterator[Shape]:
    line = flip(hole.line_hole)
    yield Shape("line of play", line, "line of play")
    for number, arc in _arcs(hole, start, unit):
        yield Shape("distance", arc, f"{number:.0f} {unit.symbol} to the pin")


def _arcs(hole: Hole, start: Point, unit: DistanceUnit) -> Iterator[tuple[float, BaseGeometry]]:
    """Arcs of equal distance to the pin across the line of play, nearer than the ball."""
    pin = shapely.Point(xy(hole.pin_hole))
    corridor = shapely.buffer(flip(hole.line_hole), ARC_HALF_WIDTH_M)
    reach = math.dist(start, hole.pin_hole) - 20.0
    number = ARC_STEP
    while unit.to_metres(number) < reach:
        circle = pin.buffer(unit.to_metres(number), quad_segs=64).exterior
        arc = shapely.intersection(circle, corridor)
        if not arc.is_empty:
            yield number, arc
        number += ARC_STEP


def _pin(hole: Hole, view: View) -> Iterator[Shape]:
    x, y = xy(hole.pin_hole)
    pixel = 1 / view.scale
    top = y + 20 * pixel
    yield Shape("pin", shapely.LineString([(x, y), (x, top)]), "pin")
    flag = [(x, top), (x + 10 * pixel, top - 3.5 * pixel), (x, top - 7 * pixel)]
    yield Shape("pin flag", shapely.Polygon(flag), "pin")


def _places(next_shots: tuple[NextShot, ...], view: View) -> Iterator[Shape]:
    for letter, place in zip(LETTERS, next_shots, strict=False):
        yield Shape(
            "next place",
            shapely.Point(xy(place.position_hole)).buffer(3.5 / view.scale),
            f"{letter}: {place.place}, {words.percent(place.chance)} of shots",
        )


def _place_labels(next_shots: tuple[NextShot, ...]) -> Iterator[Label]:
    for letter, place in zip(LETTERS, next_shots, strict=False):
        yield Label(letter, xy(place.position_hole), "place")


def _labels(hole: Hole, start: Point, unit: DistanceUnit, view: View) -> Iterator[Label]:
    for number, arc in _arcs(hole, start, unit):
        points = shapely.get_coordinates(arc)
        right = points[points[:, 0].argmax()]
        yield Label(f"{number:.0f}", (right[0], right[1]), "distance")
    for area in hole.areas_of(Ground.YELLOW, Ground.RED):
        seen = shapely.intersection(flip(area.shape_hole), view.window)
        if not seen.is_empty:
            spot = shapely.point_on_surface(seen)
            yield Label(ROLES[area.ground], (spot.x, spot.y), "ground")


def _leave_label(shot: Shot, unit: DistanceUnit) -> Iterator[Label]:
    """What the shot usually leaves, under its carry."""
    if shot.aim is not None and not math.isnan(shot.leave_m):
        text = f"leaves {words.distance(shot.leave_m, unit)}"
        yield Label(text, xy(shot.aim.point_hole), "leave")


def _alt(hole: Hole, shot: Shot, unit: DistanceUnit, next_shots: tuple[NextShot, ...]) -> str:
    """Return the drawing in words, for those who do not see it."""
    parts = [
        _seen(hole),
        f"Shot: {words.what_to_hit(shot, unit)}.".replace("\u00a0", " "),
    ]
    if shot.aim is not None:
        parts.append(f"Aim: {words.where_to_aim(shot, unit)}.".replace("\u00a0", " "))
    if shot.pattern is not None:
        parts.append("Two ellipses hold five and nine of ten solid shots where they land.")
    if next_shots:
        places = "; ".join(
            f"{letter} {place.place}, {words.percent(place.chance)}"
            for letter, place in zip(LETTERS, next_shots, strict=False)
        )
        parts.append(f"Likely next places: {places}.".replace("\u00a0", " "))
    return " ".join(parts)


def _seen(hole: Hole) -> str:
    """Say what the map shows."""
    kinds = sorted({area.ground for area in hole.areas if area.ground > Ground.ROUGH})
    seen = ", ".join(SPOKEN.get(kind, ROLES[kind]) for kind in kinds)
    return (
        f"Drawing of hole {hole.ref}, par {hole.par}, played from the bottom to the top. "
        f"On it: {seen}{', out of bounds' if hole.in_bounds is not None else ''}."
    )
