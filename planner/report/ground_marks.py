"""Marks inside an area (dots, ticks, hatching), so that ground is known without its colour.

All take an area and give lines, in whatever frame the area has; spacing in its unit.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

__all__ = ["dots", "hatching", "ticks", "waves"]

FloatArray = NDArray[np.float64]

DOT_LENGTH = 0.02
"""Length of the stroke that a round line cap turns into a dot."""


def dots(area: BaseGeometry, *, spacing: float) -> BaseGeometry:
    """Dots on a staggered lattice, slightly shaken in a way that is the same every time."""
    points = _lattice(area, spacing, shake=0.3)
    return _segments(points, points + np.array([DOT_LENGTH, 0.0]))


def ticks(area: BaseGeometry, *, spacing: float) -> BaseGeometry:
    """Short upright strokes, as long grass is drawn on maps."""
    points = _lattice(area, spacing, shake=0.25)
    return _segments(points, points + np.array([0.0, 0.3 * spacing]))


def waves(area: BaseGeometry, *, spacing: float) -> BaseGeometry:
    """Short level strokes, as still water is drawn on maps."""
    points = _lattice(area, spacing, shake=0.0)
    arm = np.array([0.3 * spacing, 0.0])
    return shapely.intersection(_segments(points - arm, points + arm), area)


def hatching(area: BaseGeometry, *, spacing: float) -> BaseGeometry:
    """Parallel lines rising to the right, clipped to the area."""
    if area.is_empty:
        return shapely.MultiLineString()
    left, bottom, right, top = area.bounds
    rise = top - bottom
    start = np.arange(np.floor((left - rise) / spacing) * spacing, right, spacing)
    low = np.column_stack((start, np.full_like(start, bottom)))
    return shapely.intersection(_segments(low, low + rise), area)


def _lattice(area: BaseGeometry, spacing: float, *, shake: float) -> FloatArray:
    if area.is_empty:
        return np.empty((0, 2))
    left, bottom, right, top = area.bounds
    # Anchored at zero, so that marks do not move when the area is cut differently.
    columns = np.arange(np.floor(left / spacing), np.ceil(right / spacing) + 1)
    rows = np.arange(np.floor(bottom / spacing), np.ceil(top / spacing) + 1)
    column, row = (part.ravel() for part in np.meshgrid(columns, rows))
    x, y = (column + 0.5 * (row % 2)) * spacing, row * spacing
    # A fixed sine hash: the same shake for the same lattice point in every drawing.
    hashed = np.sin(12.9898 * column + 78.233 * row) * 43758.5453
    x = x + shake * spacing * (hashed - np.floor(hashed) - 0.5)
    y = y + shake * spacing * (7 * hashed - np.floor(7 * hashed) - 0.5)
    inside = shapely.contains_xy(area, x, y)
    return np.column_stack((x[inside], y[inside]))


def _segments(start: FloatArray, end: FloatArray) -> shapely.MultiLineString:
    return shapely.MultiLineString(list(np.stack((start, end), axis=1)))
