"""Heights on the map to the profile of a hole along its axis."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.hole import ElevationProfile, HoleFrame, Point

FloatArray = NDArray[np.float64]

ASSUMED_HEIGHT_REACH_M = 40.0
"""Heights farther than this from a hole's line, tees and green are not its own [m]; assumed."""
ASSUMED_HEIGHT_SPACING_M = 1.0
"""Heights closer together along the axis are averaged [m]; assumed."""


def profile_of(
    heights_proj: FloatArray, play_proj: BaseGeometry, frame: HoleFrame, tee_hole: Point
) -> ElevationProfile:
    """Profile along the hole, zero at the tee.

    Parameters
    ----------
    heights_proj
        Known heights, rows (easting, northing, height) [m], shape ``(n, 3)``.
    play_proj
        Line of play with tees and green [m].
    frame
        Frame of the hole.
    tee_hole
        The tee whose height is the datum [m].
    """
    distance = shapely.distance(shapely.points(heights_proj[:, :2]), play_proj)
    own = heights_proj[distance <= ASSUMED_HEIGHT_REACH_M]
    along = frame.to_hole(own[:, :2])[:, 0]
    order = np.argsort(along, kind="stable")
    along, height = along[order], own[order, 2]
    # A new place starts wherever the gap to the one before is large enough.
    gaps = np.diff(along, prepend=along[:1]) > ASSUMED_HEIGHT_SPACING_M
    place = np.cumsum(gaps)
    if len(own) == 0 or place[-1] == 0:
        # One height alone says nothing of slopes.
        return ElevationProfile()
    count = np.bincount(place)
    along = np.bincount(place, weights=along) / count
    height = np.bincount(place, weights=height) / count
    height = height - np.interp(tee_hole[0], along, height)
    return ElevationProfile(tuple(map(float, along)), tuple(map(float, height)))
