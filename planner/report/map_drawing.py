"""A map being changed as shapes: what is on it, what is chosen, and what is being drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
from numpy.typing import NDArray

from planner.course.hole import Point
from planner.course.lies import Ground
from planner.course.map_sheet import MapSheet, SheetItem
from planner.course.tags import Kind
from planner.report.drawing import Drawing, Label, Shape
from planner.report.hole_drawing import ROLES, ground_shapes
from planner.report.view import View

__all__ = ["MapMarks", "draw_map", "map_view"]

MARKS_FROM = 0.45
"""Scale [px/m] from which grounds get their marks; on smaller ones they would only be grey."""
LABELS_FROM = 0.25
_GROUND_OF_KIND = {Kind.GREEN: Ground.GREEN, Kind.TEE: Ground.TEE}
LEAST_HEIGHT_SHARE = 0.7
HEIGHT_SHARE = 1.25


@dataclass(frozen=True, eq=False)
class MapMarks:
    """What is worked on: the chosen feature and corner, and the points set so far [m]."""

    chosen: int | None = None
    corners_proj: NDArray | None = None  # type: ignore[type-arg]
    corner: int | None = None
    points_proj: Sequence[Point] = ()
    closes: bool = False


def map_view(box: tuple[float, float, float, float], width_px: int) -> View:
    """Window that holds a box (west, south, east, north) [m], ``width_px`` wide.

    It is as high as the box asks for, within what a screen shows at once.
    """
    west, south, east, north = box
    share = min(max((north - south) / (east - west), LEAST_HEIGHT_SHARE), HEIGHT_SHARE)
    height_px = round(share * width_px)
    scale = min(width_px / (east - west), height_px / (north - south))
    middle_x, middle_y = (west + east) / 2, (south + north) / 2
    half_x, half_y = width_px / scale / 2, height_px / scale / 2
    return View(middle_x - half_x, middle_y - half_y, middle_x + half_x, middle_y + half_y, scale)


def draw_map(sheet: MapSheet, view: View, marks: MapMarks, *, title: str) -> Drawing:
    """Draw what of the sheet is in the window."""
    window = view.sheet
    seen = [item for item in sheet.items if item.shape_proj.intersects(window)]
    shapes: list[Shape] = [Shape("rough", window, "rough")]
    grounds = sorted(
        (item for item in seen if _ground(item) is not None and _dimension(item) == 2),
        key=lambda item: _ground(item) or Ground.ROUGH,
    )
    for item in grounds:
        shapes += _area(item, view)
    for item in seen:
        shapes += _line_or_point(item, view)
    shapes += _marks(sheet, view, marks)
    clipped = []
    for shape in shapes:
        part = shapely.intersection(shape.geometry, window)
        if not part.is_empty:
            clipped.append(Shape(shape.role, part, shape.words))
    labels = [label for item in seen for label in _labels(item, view)]
    inside = view.window.buffer(-6 / view.scale)
    return Drawing(
        view,
        tuple(clipped),
        tuple(label for label in labels if shapely.intersects_xy(inside, *label.at)),
        title,
        f"Drawing of the map, north at the top: {title}. {len(seen)} things in view.",
    )


def _dimension(item: SheetItem) -> int:
    return int(shapely.get_dimensions(item.shape_proj))


def _ground(item: SheetItem) -> Ground | None:
    return item.ground if item.ground is not None else _GROUND_OF_KIND.get(item.kind)


def _area(item: SheetItem, view: View) -> Iterator[Shape]:
    ground = _ground(item)
    assert ground is not None
    shape = item.shape_proj
    if not shape.is_valid:
        shape = shapely.make_valid(shape)
    shape = shapely.intersection(shape.simplify(0.35 / view.scale), view.sheet)
    if shape.is_empty:
        return
    if view.scale >= MARKS_FROM and ground is not Ground.ROUGH:
        yield from ground_shapes(ground, shape, view, item.words)
    else:
        yield Shape(ROLES[ground], shape, item.words)


def _line_or_point(item: SheetItem, view: View) -> Iterator[Shape]:
    shape = item.shape_proj
    pixel = 1 / view.scale
    if item.kind is Kind.OUTLINE:
        edge = shape.boundary if _dimension(item) == 2 else shape
        yield Shape("boundary", edge, item.words)
    elif item.kind is Kind.OUT_OF_BOUNDS:
        yield Shape("boundary", shape, item.words)
    elif item.kind is Kind.HOLE:
        yield Shape("map line", shape if _dimension(item) < 2 else shape.boundary, item.words)
    elif _dimension(item) == 1:
        yield Shape("red" if item.ground is Ground.RED else "contour", shape, item.words)
    elif _dimension(item) == 0:
        for point in shapely.get_parts(shape):
            yield Shape("ball", point.buffer(4 * pixel), item.words)


def _labels(item: SheetItem, view: View) -> Iterator[Label]:
    if item.kind is Kind.HOLE and item.ref and _dimension(item) == 1:
        # Between the tee and the first bend numbers of neighbouring holes stay apart.
        spot = item.shape_proj.interpolate(0.35, normalized=True)
        yield Label(item.ref, (spot.x, spot.y), "place")
    elif item.kind is Kind.PIN and view.scale >= LABELS_FROM:
        spot = item.shape_proj.centroid
        yield Label("pin", (spot.x, spot.y), "distance")


def _marks(sheet: MapSheet, view: View, marks: MapMarks) -> Iterator[Shape]:
    pixel = 1 / view.scale
    if marks.chosen is not None:
        item = sheet.item(marks.chosen)
        if item is not None:
            edge = item.shape_proj.boundary if _dimension(item) == 2 else item.shape_proj
            yield Shape("chosen", edge if _dimension(item) else edge.buffer(9 * pixel), "chosen")
    if marks.corners_proj is not None:
        for number, (x, y) in enumerate(marks.corners_proj):
            role = "corner chosen" if number == marks.corner else "corner"
            size = 7 if number == marks.corner else 4
            yield Shape(role, shapely.Point(x, y).buffer(size * pixel), f"corner {number + 1}")
    points = list(marks.points_proj)
    if len(points) > 1:
        ring = [*points, points[0]] if marks.closes and len(points) > 2 else points
        yield Shape("chosen", shapely.LineString(ring), "being drawn")
    for number, point in enumerate(points):
        words = f"point {number + 1} of what is being drawn"
        yield Shape("corner", shapely.Point(point).buffer(4.5 * pixel), words)
