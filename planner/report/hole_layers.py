"""Optional layers of a drawn hole: contours of expected strokes, and single shots of a pattern."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import contourpy
import numpy as np
import shapely
from numpy.typing import NDArray

from planner.report.drawing import Label, Shape
from planner.report.view import View
from planner.strategy.landing_cloud import LandingCloud
from planner.strategy.value_field import ValueField

__all__ = ["NO_LAYERS", "Layers", "cloud_shapes", "contours"]

FloatArray = NDArray[np.float64]

UNKNOWN = 20.0
"""What lies off the solved map has larger values than this [strokes]."""
STEPS = (0.05, 0.1, 0.2, 0.5, 1.0)
"""Strokes between contours: the first that makes few enough of them is taken."""
MOST_CONTOURS = 14
LEAST_LENGTH_PX = 20.0
"""Shorter contours are specks and are left out."""
LABEL_GAP_PX = 34.0
"""Numbers on contours stay this far apart."""
DOT_PX, CROSS_PX = 1.7, 3.2


@dataclass(frozen=True, eq=False)
class Layers:
    """What is drawn besides the hole and the shot; None leaves a layer out."""

    field: ValueField | None = None
    cloud: LandingCloud | None = None
    leave: bool = True


NO_LAYERS = Layers()


def contours(field: ValueField, view: View) -> tuple[list[Shape], list[Label]]:
    """Lines of equal expected strokes, each with its number once."""
    known = field.strokes[np.isfinite(field.strokes)]
    known = known[known < UNKNOWN]
    if known.size == 0:
        return [], []
    low, high = np.quantile(known, [0.005, 0.995])
    step = next((s for s in STEPS if (high - low) / s <= MOST_CONTOURS), STEPS[-1])
    sheets = [
        contourpy.contour_generator(field.across, field.along, np.ma.masked_invalid(sheet))
        for sheet in np.where(field.strokes < UNKNOWN, field.strokes, np.nan)
    ]
    shapes: list[Shape] = []
    labels: list[Label] = []
    for number in np.arange(np.ceil(low / step), np.floor(high / step) + 1):
        level = number * step
        text = f"{level:.2f}".rstrip("0").rstrip(".") if step < 0.1 else f"{level:.1f}"
        lines = [np.asarray(line) for sheet in sheets for line in sheet.lines(level)]
        found = [line for line in lines if _length(line) > LEAST_LENGTH_PX / view.scale]
        if not found:
            continue
        geometry = shapely.MultiLineString(found).simplify(0.35 / view.scale)
        shapes.append(Shape("contour", geometry, f"{text} strokes to be expected from here"))
        spot = _free_spot(max(found, key=_length), labels, view)
        if spot is not None:
            labels.append(Label(text, spot, "contour"))
    return shapes, labels


def cloud_shapes(cloud: LandingCloud, view: View) -> Iterator[Shape]:
    """Dots for solid shots, crosses for mishits."""
    dots = shapely.points(cloud.solid[:, ::-1])
    yield Shape(
        "landed",
        shapely.union_all(shapely.buffer(dots, DOT_PX / view.scale, quad_segs=3)),
        "a solid shot lands here",
    )
    arm = CROSS_PX / view.scale
    crosses = [
        [(x - arm, y - side * arm), (x + arm, y + side * arm)]
        for x, y in cloud.mishit[:, ::-1]
        for side in (1, -1)
    ]
    yield Shape("landed mishit", shapely.MultiLineString(crosses), "a mishit lands here")


def _length(line: FloatArray) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _free_spot(line: FloatArray, labels: list[Label], view: View) -> tuple[float, float] | None:
    """Point of a line inside the window, far from other numbers; its middle if it is free."""
    inside = view.window.buffer(-14 / view.scale)
    order = np.argsort(np.abs(np.arange(len(line)) - len(line) / 2), kind="stable")
    taken = np.array([label.at for label in labels]).reshape(-1, 2)
    for x, y in line[order]:
        if not shapely.intersects_xy(inside, x, y):
            continue
        if len(taken) and np.hypot(*(taken - (x, y)).T).min() < LABEL_GAP_PX / view.scale:
            continue
        return (float(x), float(y))
    return None
