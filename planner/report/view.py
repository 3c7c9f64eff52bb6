"""Which part of a hole a drawing shows, and its scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.course.hole import Hole, Point
from planner.strategy.advice import Shot

__all__ = ["Focus", "View", "view_of"]

Focus = Literal["hole", "landing", "green"]

WIDTH_PX, LEAST_HEIGHT_PX, MOST_HEIGHT_PX = 350, 400, 600
"""Fits a phone 390 px wide without scrolling sideways."""
MARGIN_M = 16.0
BLEED_PX = 4
TOP_MARGIN_PX = 26
"""Room for the flag above the pin."""


@dataclass(frozen=True)
class View:
    """A window of the drawing frame (x right, y up) [m], shown at ``scale`` [px/m]."""

    left: float
    bottom: float
    right: float
    top: float
    scale: float

    @property
    def window(self) -> shapely.Polygon:
        """The window as a polygon."""
        return shapely.box(self.left, self.bottom, self.right, self.top)

    @property
    def sheet(self) -> shapely.Polygon:
        """The window and a little more: shapes cut here have their cut edges out of sight."""
        return shapely.box(
            self.left - BLEED_PX / self.scale,
            self.bottom - BLEED_PX / self.scale,
            self.right + BLEED_PX / self.scale,
            self.top + BLEED_PX / self.scale,
        )

    @property
    def width_px(self) -> int:
        """Width [px]."""
        return round((self.right - self.left) * self.scale)

    @property
    def height_px(self) -> int:
        """Height [px]."""
        return round((self.top - self.bottom) * self.scale)

    def to_px(self, x: float, y: float) -> Point:
        """Turn a point [m] into pixels from the top left corner, the second one down."""
        return ((x - self.left) * self.scale, (self.top - y) * self.scale)


def view_of(hole: Hole, shot: Shot | None, focus: Focus = "hole") -> View:
    """Window that holds what ``focus`` asks for, as large as fits; without a shot all the hole."""
    points = _points(hole, shot, focus)
    low, high = points.min(axis=0) - MARGIN_M, points.max(axis=0) + MARGIN_M
    width, height = high - low
    scale = min(WIDTH_PX / width, (MOST_HEIGHT_PX - TOP_MARGIN_PX) / height)
    height_px = min(max(height * scale + TOP_MARGIN_PX, LEAST_HEIGHT_PX), MOST_HEIGHT_PX)
    centre = (low[0] + high[0]) / 2
    left, right = centre - WIDTH_PX / scale / 2, centre + WIDTH_PX / scale / 2
    spare = height_px / scale - height
    bottom = low[1] - (spare - TOP_MARGIN_PX / scale) / 2
    return View(left, bottom, right, bottom + height_px / scale, scale)


def _points(hole: Hole, shot: Shot | None, focus: Focus) -> NDArray[np.float64]:
    """Points (x, y) [m] that must be seen."""
    if focus == "green":
        near = shapely.Point(hole.pin_hole).buffer(30.0)
        return np.asarray(shapely.get_coordinates(near)[:, ::-1])
    line = shapely.get_coordinates(hole.line_hole)
    if shot is None:
        places = [tee.position_hole for tee in hole.tees]
        return np.concatenate([line, np.array([*places, hole.pin_hole])])[:, ::-1]
    landing = [np.array([shot.position_hole])]
    if shot.aim is not None:
        landing = [np.array([shot.aim.point_hole])]
    if shot.pattern is not None:
        # Half-widths of the 90 % ellipse's box are sqrt(4.60517) standard deviations.
        mean = shot.pattern.means_hole[0]
        half = 2.146 * np.sqrt(np.diagonal(shot.pattern.covariances_hole[0]))
        landing += [np.array([mean - half, mean + half])]
    if focus == "landing":
        return np.concatenate(landing)[:, ::-1]
    ends = np.array([shot.position_hole, hole.pin_hole])
    return np.concatenate([line, ends, *landing])[:, ::-1]
