"""A map as a list of drawn things that can be changed; every change makes a new one.

A feature is known by its place in the list: ids of exports are not always there, nor always
different.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.features import RawFeature
from planner.course.findings import FindingLog
from planner.course.location import placed_features
from planner.course.map_check import raw_features
from planner.course.map_limits import MAX_FEATURES
from planner.course.tags import Tags
from planner.errors import CourseMapError, OptionError

__all__ = [
    "MapDocument",
    "added",
    "read_document",
    "removed",
    "reshaped",
    "retagged",
    "with_corner_added",
    "without_corner",
]

FloatArray = NDArray[np.float64]
LEAST_POINTS = {"point": 1, "line": 2, "area": 3}
DRAWN_ID = "drawn"
DECIMALS = 7
"""Of degrees; about a centimetre (RFC 7946, section 11.2, calls six reasonable)."""


@dataclass(frozen=True, eq=False)
class MapDocument:
    """A map: its features in the order of its file, its course's name and its source."""

    features: tuple[RawFeature, ...]
    name: str = ""
    attribution: str = ""

    def corners(self, index: int) -> FloatArray:
        """Longitude and latitude of the corners of a feature [degrees], shape ``(n, 2)``.

        A ring's last corner, which repeats its first, is not among them.
        """
        found = [np.empty((0, 2))]
        shape = self.features[index].geometry_lonlat
        for part in _parts(shape):
            points = shapely.get_coordinates(part)
            found.append(points[:-1] if part.geom_type == "LinearRing" else points)
        return np.concatenate(found)


def read_document(path: Path) -> MapDocument:
    """Read a map file for changing it; features that cannot be drawn are left out.

    Raises
    ------
    CourseMapError
        The file is no map at all.
    """
    log = FindingLog()
    features, attribution = raw_features(path, log)
    placed, _ = placed_features(features, log) if features else ([], None)
    if log.has_errors or not placed:
        errors = [str(f) for f in log.findings if f.severity == "error"]
        raise CourseMapError(str(path), errors or ["no feature can be used"])
    if len(placed) > MAX_FEATURES:
        raise CourseMapError(str(path), [f"has more than {MAX_FEATURES:,} features"])
    outline = [f for f in placed if f.tags.get("leisure") == "golf_course"]
    name = next((f.tags["name"] for f in outline if f.tags.get("name")), "")
    return MapDocument(tuple(placed), name or path.stem, attribution)


def geometry_of(drawn_as: str, points_lonlat: ArrayLike) -> BaseGeometry:
    """Point, line or area through points [degrees], shape ``(n, 2)``.

    Raises
    ------
    OptionError
        There are too few points.
    """
    points = np.round(np.asarray(points_lonlat, dtype=float).reshape(-1, 2), DECIMALS)
    different = len(np.unique(points, axis=0))
    if different < LEAST_POINTS[drawn_as]:
        raise OptionError(
            f"{'an' if drawn_as == 'area' else 'a'} {drawn_as} needs {LEAST_POINTS[drawn_as]} "
            f"different points; {different} are set"
        )
    if drawn_as == "point":
        return shapely.Point(points[0])
    return shapely.LineString(points) if drawn_as == "line" else shapely.Polygon(points)


def added(
    document: MapDocument, drawn_as: str, points_lonlat: ArrayLike, tags: Tags
) -> MapDocument:
    """The map with one more feature, at the end.

    Raises
    ------
    OptionError
        There are too few points, or too many features.
    """
    if len(document.features) >= MAX_FEATURES:
        raise OptionError(f"a map holds at most {MAX_FEATURES:,} features")
    geometry = geometry_of(drawn_as, points_lonlat)
    taken = {feature.feature_id for feature in document.features}
    number = 1
    while f"{DRAWN_ID}/{number}" in taken:
        number += 1
    kept = {key: value.strip() for key, value in tags.items() if value.strip()}
    feature = RawFeature(f"{DRAWN_ID}/{number}", kept, geometry)
    return replace(document, features=(*document.features, feature))


def removed(document: MapDocument, index: int) -> MapDocument:
    """The map without one feature."""
    kept = document.features[:index] + document.features[index + 1 :]
    return replace(document, features=kept)


def retagged(document: MapDocument, index: int, tags: Tags) -> MapDocument:
    """The map with other tags on one feature; empty values are dropped."""
    kept = {key: value.strip() for key, value in tags.items() if value.strip()}
    return _with(document, index, replace(document.features[index], tags=kept))


def reshaped(document: MapDocument, index: int, corners_lonlat: ArrayLike) -> MapDocument:
    """The map with one feature's corners elsewhere, as many as it has and in the same order.

    Heights are dropped from a feature that is moved.
    """
    corners = np.round(np.asarray(corners_lonlat, dtype=float), DECIMALS)
    feature = document.features[index]
    shape = shapely.force_2d(feature.geometry_lonlat)
    moved = []
    start = 0
    for part in _parts(shape):
        count = len(part.coords)
        ring = part.geom_type == "LinearRing"
        ours = corners[start : start + count - ring]
        start += count - ring
        moved.append(np.concatenate((ours, ours[:1])) if ring else ours)
    whole = shapely.set_coordinates(shapely.from_wkb(shape.wkb), np.concatenate(moved))
    return _with(document, index, replace(feature, geometry_lonlat=whole))


def with_corner_added(
    document: MapDocument, index: int, point_lonlat: tuple[float, float]
) -> MapDocument:
    """The map with one corner more on the nearest side of a feature that is one line or area."""
    feature = document.features[index]
    shape = shapely.force_2d(feature.geometry_lonlat)
    line = shape.exterior if shape.geom_type == "Polygon" else shape
    if line.geom_type not in ("LineString", "LinearRing"):
        raise OptionError("corners can be added to one line or one area only")
    points = shapely.get_coordinates(line)
    sides = shapely.linestrings(np.stack((points[:-1], points[1:]), axis=1))
    nearest = int(shapely.distance(sides, shapely.Point(point_lonlat)).argmin())
    new = np.insert(points, nearest + 1, np.round(point_lonlat, DECIMALS), axis=0)
    made = shapely.Polygon(new, shape.interiors) if line is not shape else shapely.LineString(new)
    return _with(document, index, replace(feature, geometry_lonlat=made))


def without_corner(document: MapDocument, index: int, corner: int) -> MapDocument:
    """The map without one corner of a feature that is one line or area.

    Raises
    ------
    OptionError
        Too few would be left.
    """
    feature = document.features[index]
    shape = shapely.force_2d(feature.geometry_lonlat)
    if shape.geom_type not in ("Polygon", "LineString"):
        raise OptionError("corners can be taken from one line or one area only")
    outer = shape.exterior if shape.geom_type == "Polygon" else shape
    points = shapely.get_coordinates(outer)
    if shape.geom_type == "Polygon":
        points = points[:-1]
    if corner >= len(points):
        raise OptionError("corners of holes in an area cannot be taken away; draw it again")
    kept = np.delete(points, corner, axis=0)
    made = geometry_of("area" if shape.geom_type == "Polygon" else "line", kept)
    if shape.geom_type == "Polygon":
        made = shapely.Polygon(made.exterior, shape.interiors)
    return _with(document, index, replace(feature, geometry_lonlat=made))


def _with(document: MapDocument, index: int, feature: RawFeature) -> MapDocument:
    features = document.features
    return replace(document, features=(*features[:index], feature, *features[index + 1 :]))


def _parts(shape: BaseGeometry) -> list[BaseGeometry]:
    """Rings, lines and points of a geometry, in the order of its coordinates."""
    found: list[BaseGeometry] = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon":
            found += [part.exterior, *part.interiors]
        elif part.geom_type in ("LineString", "LinearRing", "Point"):
            found.append(part)
        else:
            found += _parts(part)
    return found
