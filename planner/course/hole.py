"""One hole and one course, as frozen facts in metres.

Every coordinate whose name ends in ``_hole``, and every geometry of a :class:`Hole`, is in
the *hole frame*: first coordinate ``along`` [m] from the start of the hole's line towards
the pin, second coordinate ``across`` [m], positive to the right. A bearing is an angle [rad]
from the ``along`` axis, positive to the right, so a unit step is ``(cos b, sin b)``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.lies import Ground

FloatArray = NDArray[np.float64]
Point = tuple[float, float]


@dataclass(frozen=True)
class HoleFrame:
    """Rigid motion between projected coordinates and the hole frame.

    Parameters
    ----------
    origin_proj
        Easting and northing of the start of the hole's line [m].
    azimuth
        Direction of the ``along`` axis, clockwise from grid north [rad].
    """

    origin_proj: Point
    azimuth: float

    def to_hole(self, points_proj: ArrayLike) -> FloatArray:
        """Turn ``(n, 2)`` easting, northing [m] into along, across [m]."""
        east, north = (np.asarray(points_proj, dtype=float) - self.origin_proj).T
        sin, cos = math.sin(self.azimuth), math.cos(self.azimuth)
        return np.column_stack((east * sin + north * cos, east * cos - north * sin))

    def to_proj(self, points_hole: ArrayLike) -> FloatArray:
        """Turn ``(n, 2)`` along, across [m] into easting, northing [m]."""
        along, across = np.asarray(points_hole, dtype=float).T
        sin, cos = math.sin(self.azimuth), math.cos(self.azimuth)
        east = along * sin + across * cos
        north = along * cos - across * sin
        return np.asarray(np.column_stack((east, north)) + self.origin_proj, dtype=float)

    def geometry_to_hole(self, geometry_proj: BaseGeometry) -> BaseGeometry:
        """Turn a projected geometry into the hole frame (third coordinates are dropped)."""
        return shapely.transform(shapely.force_2d(geometry_proj), self.to_hole)


def playing_length(line: shapely.LineString, place: Point) -> float:
    """Length [m] played from ``place`` to the end of ``line``, any frame.

    Straight to the next bend, then along the line. The next bend is the first vertex beyond the
    point of the line nearest to ``place``, so a tee behind the start makes the hole longer by
    its distance and one ahead of it shorter.
    """
    bends = shapely.get_coordinates(line)
    legs = np.hypot(*np.diff(bends, axis=0).T)
    beside = line.project(shapely.Point(place))
    passed = int(np.searchsorted(np.cumsum(legs), beside, side="right"))
    bend = min(passed + 1, len(legs))
    return math.dist(place, bends[bend]) + float(legs[bend:].sum())


@dataclass(frozen=True)
class Tee:
    """One teeing ground of a hole: ``name`` (a colour or word) and its place [m]."""

    name: str
    position_hole: Point


@dataclass(frozen=True)
class GroundArea:
    """A polygon or multipolygon of one kind of ground, in the hole frame.

    ``feature_id`` is the map's own id, ``name`` its name there, if any.
    """

    ground: Ground
    shape_hole: shapely.Polygon | shapely.MultiPolygon
    feature_id: str = ""
    name: str = ""


@dataclass(frozen=True)
class ElevationProfile:
    """Height of the ground along the hole [m], linear between known points, constant beyond.

    Maps carry a height for few points (tee, green), so a hole has a profile along its axis
    and is level across it. An empty profile is level ground.
    """

    along: tuple[float, ...] = ()
    height: tuple[float, ...] = ()

    def __call__(self, along: ArrayLike) -> FloatArray:
        """Height [m] above the profile's datum at ``along`` [m], same shape."""
        at = np.asarray(along, dtype=float)
        if not self.along:
            return np.zeros_like(at)
        return np.asarray(np.interp(at, self.along, self.height), dtype=float)

    @property
    def is_level(self) -> bool:
        """Whether every known height is the same."""
        return len(set(self.height)) < 2


@dataclass(frozen=True)
class Hole:
    """One hole in its own frame.

    Parameters
    ----------
    ref
        Number or text by which the card calls the hole.
    par, stroke_index
        As mapped; ``stroke_index`` may be missing.
    line_hole
        Line of play from the start (0, 0) to the pin.
    tees
        Teeing grounds from longest to shortest; at least one.
    pin_hole
        Place of the pin.
    areas
        Ground drawn on the map, any order. What none covers is rough.
    in_bounds
        Where a ball is in bounds, or None if the map shows no boundary.
    elevation
        Height along the hole.
    frame
        Way back to projected coordinates.
    """

    ref: str
    par: int
    stroke_index: int | None
    line_hole: shapely.LineString
    tees: tuple[Tee, ...]
    pin_hole: Point
    areas: tuple[GroundArea, ...]
    in_bounds: shapely.Polygon | shapely.MultiPolygon | None
    frame: HoleFrame
    elevation: ElevationProfile = field(default_factory=ElevationProfile)
    name: str = ""

    def tee(self, name: str | None = None) -> Tee:
        """Return the tee called ``name`` (first tee if None).

        Raises
        ------
        KeyError
            No tee has that name.
        """
        if name is None:
            return self.tees[0]
        for tee in self.tees:
            if tee.name.casefold() == name.casefold():
                return tee
        raise KeyError(name)

    def length_from(self, tee: Tee) -> float:
        """Playing length [m] from ``tee`` to the pin, as :func:`playing_length` has it."""
        return playing_length(self.line_hole, tee.position_hole)

    def areas_of(self, *grounds: Ground) -> tuple[GroundArea, ...]:
        """Areas of the given kinds, in map order."""
        return tuple(area for area in self.areas if area.ground in grounds)


@dataclass(frozen=True)
class Course:
    """A course as read from a map.

    ``crs_proj`` is the WKT of the projected system of ``HoleFrame.origin_proj``;
    ``assumptions`` says, one line each, what was filled in where the map was silent.
    """

    name: str
    holes: tuple[Hole, ...]
    crs_proj: str
    attribution: str = ""
    assumptions: tuple[str, ...] = ()

    def hole(self, ref: str) -> Hole:
        """Return the hole called ``ref``; raises ``KeyError`` if there is none."""
        for hole in self.holes:
            if hole.ref == ref:
                return hole
        raise KeyError(ref)

    @property
    def tee_names(self) -> tuple[str, ...]:
        """Names of the tee sets, in order of first appearance."""
        return tuple(dict.fromkeys(tee.name for hole in self.holes for tee in hole.tees))
