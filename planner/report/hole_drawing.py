"""A drawn hole as plain shapes, before any file format: what the chart and the SVG share.

Drawing frame: x to the right and y up [m], the tee at the bottom, equal scale both ways. It is
the hole frame with its two axes exchanged, so nothing is mirrored. Nothing about golf is
computed here; ellipses are those of the given normal components.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.hole import Hole, Point
from planner.course.lies import Ground
from planner.report import words
from planner.report.ground_marks import dots, hatching, ticks, waves
from planner.report.view import Focus, View, view_of
from planner.strategy.advice import NextShot, Shot
from planner.units import DistanceUnit

__all__ = [
    "CHI_SQUARE_50",
    "CHI_SQUARE_90",
    "LOOKS",
    "Drawing",
    "Label",
    "Shape",
    "draw_hole",
    "ellipse",
    "ground_shapes",
]

FloatArray = NDArray[np.float64]

CHI_SQUARE_50, CHI_SQUARE_90 = 2 * math.log(2), 2 * math.log(10)
"""Chi-square quantiles with 2 degrees of freedom, ``-2 ln(1 - p)``: 1.38629 and 4.60517."""

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


@dataclass(frozen=True, eq=False)
class Shape:
    """A geometry in the drawing frame, painted in the style of ``role``; ``words`` explain it."""

    role: str
    geometry: BaseGeometry
    words: str = ""


@dataclass(frozen=True)
class Look:
    """How a text is set: side of its point, move to the right [px], size [px]."""

    align: Literal["left", "center", "right"] = "center"
    dx: float = 0.0
    size: float = 11.0
    bold: bool = False


LOOKS = {
    "distance": Look("left", dx=4),
    "ground": Look(),
    "carry": Look("right", dx=-13, size=13, bold=True),
    "place": Look("left", dx=6, size=13, bold=True),
}
"""Every way in which a text is set."""


@dataclass(frozen=True)
class Label:
    """Text at a point of the drawing frame, set as ``LOOKS[look]`` says."""

    text: str
    at: Point
    look: str


@dataclass(frozen=True, eq=False)
class Drawing:
    """Shapes from the bottom up, labels over all of them, and the same in words."""

    view: View
    shapes: tuple[Shape, ...]
    labels: tuple[Label, ...]
    title: str
    alt: str


def ellipse(mean: ArrayLike, covariance: ArrayLike, chi_square: float) -> shapely.Polygon:
    """Ellipse of a normal's mass: where the Mahalanobis distance squared is ``chi_square``.

    ``mean`` (2,) [m], ``covariance`` (2, 2) [m2]; 72 corners, same frame.
    """
    factor = np.linalg.cholesky(np.asarray(covariance, dtype=float))
    turn = np.linspace(0.0, 2 * math.pi, 72, endpoint=False)
    circle = np.column_stack((np.cos(turn), np.sin(turn)))
    return shapely.Polygon(
        np.asarray(mean, dtype=float) + math.sqrt(chi_square) * circle @ factor.T
    )


def draw_hole(
    hole: Hole,
    shot: Shot,
    *,
    unit: DistanceUnit = DistanceUnit.METRES,
    next_shots: tuple[NextShot, ...] = (),
    focus: Focus = "hole",
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
    """
    view = view_of(hole, shot, focus)
    shapes = [*_ground(hole, view), *_measures(hole, shot, unit)]
    pattern = [] if shot.pattern is None else list(_pattern(shot))
    shapes += [*pattern, *_aim(shot, view), *_pin(hole, view), *_places(next_shots, view)]
    clipped = []
    for shape in shapes:
        geometry = shapely.intersection(shape.geometry, view.sheet)
        if not geometry.is_empty:
            clipped.append(Shape(shape.role, geometry, shape.words))
    labels = [*_labels(hole, shot, unit, view), *_place_labels(next_shots)]
    inside = view.window.buffer(-4 / view.scale)
    return Drawing(
        view,
        tuple(clipped),
        tuple(label for label in labels if shapely.intersects_xy(inside, *label.at)),
        f"Hole {hole.ref}, par {hole.par}",
        _alt(hole, shot, unit, next_shots),
    )


def _flip(geometry: BaseGeometry) -> BaseGeometry:
    """Hole frame (along, across) to drawing frame (x = across, y = along), either way."""
    return shapely.transform(geometry, lambda points: points[:, ::-1])


def _xy(point_hole: Point) -> Point:
    return (point_hole[1], point_hole[0])


def _ground(hole: Hole, view: View) -> Iterator[Shape]:
    sheet, tolerance = view.sheet, SMALLEST_SHAPE_PX / view.scale
    yield Shape("rough", sheet, "rough")
    for area in sorted(hole.areas, key=lambda area: area.ground):
        if area.ground is Ground.ROUGH:
            continue
        shape = shapely.intersection(_flip(area.shape_hole).simplify(tolerance), sheet)
        if shape.is_empty:
            continue
        spoken = SPOKEN.get(area.ground, ROLES[area.ground])
        yield Shape(ROLES[area.ground], shape, f"{area.name}, {spoken}" if area.name else spoken)
        yield from _marks(area.ground, shape, view)
    if hole.in_bounds is not None:
        inside = _flip(hole.in_bounds).simplify(tolerance)
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


def _measures(hole: Hole, shot: Shot, unit: DistanceUnit) -> Iterator[Shape]:
    line = _flip(hole.line_hole)
    yield Shape("line of play", line, "line of play")
    for number, arc in _arcs(hole, shot, unit):
        yield Shape("distance", arc, f"{number:.0f} {unit.symbol} to the pin")


def _arcs(hole: Hole, shot: Shot, unit: DistanceUnit) -> Iterator[tuple[float, BaseGeometry]]:
    """Arcs of equal distance to the pin across the line of play, nearer than the ball."""
    pin = shapely.Point(_xy(hole.pin_hole))
    corridor = shapely.buffer(_flip(hole.line_hole), ARC_HALF_WIDTH_M)
    reach = math.dist(shot.position_hole, hole.pin_hole) - 20.0
    number = ARC_STEP
    while unit.to_metres(number) < reach:
        circle = pin.buffer(unit.to_metres(number), quad_segs=64).exterior
        arc = shapely.intersection(circle, corridor)
        if not arc.is_empty:
            yield number, arc
        number += ARC_STEP


def _pattern(shot: Shot) -> Iterator[Shape]:
    pattern = shot.pattern
    assert pattern is not None
    flip = np.array([[0.0, 1.0], [1.0, 0.0]])
    means = pattern.means_hole @ flip
    covariances = flip @ pattern.covariances_hole @ flip
    for i in range(len(pattern.names) - 1, 0, -1):
        yield Shape(
            "mishit",
            ellipse(means[i], covariances[i], CHI_SQUARE_50),
            f"mishit, {pattern.names[i]}: {words.percent(float(pattern.weights[i]))} of shots, "
            "half of them land in here",
        )
    for role, share, chi_square in (
        ("pattern 90", "nine", CHI_SQUARE_90),
        ("pattern 50", "five", CHI_SQUARE_50),
    ):
        yield Shape(
            role,
            ellipse(means[0], covariances[0], chi_square),
            f"{share} of ten solid shots land in here",
        )


def _aim(shot: Shot, view: View) -> Iterator[Shape]:
    ball = np.array(_xy(shot.position_hole))
    pixel = 1 / view.scale
    if shot.aim is not None:
        aim = np.array(_xy(shot.aim.point_hole))
        yield Shape("aim line", shapely.LineString([ball, aim]), "aim line")
        if shot.pattern is not None and shot.pattern.run_m > 1.0:
            yield from _run(shot, aim, view)
        yield Shape("aim point", shapely.Point(aim).buffer(5 * pixel), "aim point")
        arms = [
            [aim - step, aim + step]
            for step in (np.array([9 * pixel, 0]), np.array([0, 9 * pixel]))
        ]
        yield Shape("aim line", shapely.MultiLineString(arms), "aim point")
    yield Shape("ball", shapely.Point(ball).buffer(4.5 * pixel), "ball")


def _run(shot: Shot, aim: FloatArray, view: View) -> Iterator[Shape]:
    """Arrow from where the stock shot lands to where it stops on a fairway."""
    assert shot.pattern is not None
    assert shot.aim is not None
    step = np.array([math.sin(shot.aim.bearing), math.cos(shot.aim.bearing)])
    side = np.array([step[1], -step[0]])
    start = shot.pattern.means_hole[0][::-1]
    end = start + shot.pattern.run_m * step
    head = min(6 / view.scale, shot.pattern.run_m)
    lines = [
        [start, end],
        [end - head * (step + 0.6 * side), end],
        [end - head * (step - 0.6 * side), end],
    ]
    yield Shape("run", shapely.MultiLineString(lines), "run on a fairway")


def _pin(hole: Hole, view: View) -> Iterator[Shape]:
    x, y = _xy(hole.pin_hole)
    pixel = 1 / view.scale
    top = y + 20 * pixel
    yield Shape("pin", shapely.LineString([(x, y), (x, top)]), "pin")
    flag = [(x, top), (x + 10 * pixel, top - 3.5 * pixel), (x, top - 7 * pixel)]
    yield Shape("pin flag", shapely.Polygon(flag), "pin")


def _places(next_shots: tuple[NextShot, ...], view: View) -> Iterator[Shape]:
    for letter, place in zip(LETTERS, next_shots, strict=False):
        yield Shape(
            "next place",
            shapely.Point(_xy(place.position_hole)).buffer(3.5 / view.scale),
            f"{letter}: {place.place}, {words.percent(place.chance)} of shots",
        )


def _place_labels(next_shots: tuple[NextShot, ...]) -> Iterator[Label]:
    for letter, place in zip(LETTERS, next_shots, strict=False):
        yield Label(letter, _xy(place.position_hole), "place")


def _labels(hole: Hole, shot: Shot, unit: DistanceUnit, view: View) -> Iterator[Label]:
    for number, arc in _arcs(hole, shot, unit):
        points = shapely.get_coordinates(arc)
        right = points[points[:, 0].argmax()]
        yield Label(f"{number:.0f}", (right[0], right[1]), "distance")
    for area in hole.areas_of(Ground.YELLOW, Ground.RED):
        seen = shapely.intersection(_flip(area.shape_hole), view.window)
        if not seen.is_empty:
            spot = shapely.point_on_surface(seen)
            yield Label(ROLES[area.ground], (spot.x, spot.y), "ground")
    if shot.aim is not None:
        yield Label(words.distance(shot.carry_m, unit), _xy(shot.aim.point_hole), "carry")


def _alt(hole: Hole, shot: Shot, unit: DistanceUnit, next_shots: tuple[NextShot, ...]) -> str:
    """Return the drawing in words, for those who do not see it."""
    kinds = sorted({area.ground for area in hole.areas if area.ground > Ground.ROUGH})
    seen = ", ".join(SPOKEN.get(kind, ROLES[kind]) for kind in kinds)
    parts = [
        f"Drawing of hole {hole.ref}, par {hole.par}, played from the bottom to the top. "
        f"On it: {seen}{', out of bounds' if hole.in_bounds is not None else ''}.",
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
