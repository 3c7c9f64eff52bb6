"""What a drawing is made of, before any file format: shapes, texts and where they stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

from planner.course.hole import Point
from planner.report.view import View

__all__ = ["LOOKS", "Drawing", "Label", "Look", "Shape", "flip", "xy"]


@dataclass(frozen=True, eq=False)
class Shape:
    """A geometry in the drawing frame, painted in the style of ``role``; ``words`` explain it."""

    role: str
    geometry: BaseGeometry
    words: str = ""


@dataclass(frozen=True)
class Look:
    """How a text is set: side of its point, moves to the right and down [px], size [px]."""

    align: Literal["left", "center", "right"] = "center"
    dx: float = 0.0
    dy: float = 0.0
    size: float = 11.0
    bold: bool = False


LOOKS = {
    "distance": Look("left", dx=4),
    "ground": Look(),
    "carry": Look("right", dx=-13, size=13, bold=True),
    "place": Look("left", dx=6, size=13, bold=True),
    "contour": Look(size=10.5),
    "leave": Look("right", dx=-13, dy=15, size=11),
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


def flip(geometry: BaseGeometry) -> BaseGeometry:
    """Hole frame (along, across) to drawing frame (x = across, y = along), either way."""
    return shapely.transform(geometry, lambda points: points[:, ::-1])


def xy(point_hole: Point) -> Point:
    """Turn a point of the hole frame [m] into one of the drawing frame [m]."""
    return (point_hole[1], point_hole[0])
