"""GeoJSON text to raw features (RFC 7946), every fault of the file in the log.

Coordinates are walked by hand, not by a library, so that each fault names its feature and
nothing a file may hold raises.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.features import RawFeature, feature_id_of, named_source, tags_of_properties
from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.map_limits import too_many_parts

FloatArray = NDArray[np.float64]

_WGS84_NAMES = {
    "urn:ogc:def:crs:ogc:1.3:crs84",
    "urn:ogc:def:crs:ogc::crs84",
    "ogc:crs84",
    "crs84",
    "epsg:4326",
    "urn:ogc:def:crs:epsg::4326",
    "wgs84",
    "wgs 84",
}
_DEPTHS = {
    "Point": 1,
    "MultiPoint": 2,
    "LineString": 2,
    "MultiLineString": 3,
    "Polygon": 3,
    "MultiPolygon": 4,
}
_MAX_COLLECTION_DEPTH = 4
_EXPORT_HINT = "export the map as a GeoJSON FeatureCollection"


class _BadGeometryError(Exception):
    """A geometry cannot be used; the text says why."""


def features_of_geojson(text: str, log: FindingLog) -> tuple[list[RawFeature], str]:
    """Read GeoJSON text.

    Returns
    -------
    Features with a usable geometry, in file order, and the source that the file names.
    """
    if problem := too_many_parts(text):
        log.error(WHOLE_FILE, problem, "export only the course and its surroundings")
        return [], ""
    try:
        document = json.loads(text)
    except RecursionError:
        log.error(WHOLE_FILE, "brackets are nested too deep", _EXPORT_HINT)
        return [], ""
    except ValueError as fault:
        hint = _EXPORT_HINT
        if "Extra data" in str(fault):
            hint = "if it holds one feature a line, put them into one FeatureCollection"
        log.error(WHOLE_FILE, f"not JSON ({fault})", hint)
        return [], ""
    collection = _collection(document, log)
    if collection is None:
        return [], ""
    _check_crs(document, log)
    features = []
    for position, feature in enumerate(collection, start=1):
        read = _feature(feature, position, log)
        if read is not None:
            features.append(read)
    return features, named_source(document)


def _collection(document: object, log: FindingLog) -> list[object] | None:
    if not isinstance(document, Mapping):
        log.error(WHOLE_FILE, "not GeoJSON: the outermost value is not an object", _EXPORT_HINT)
        return None
    kind = document.get("type")
    if kind != "FeatureCollection":
        if "elements" in document:
            problem = "a query answer with 'elements', not GeoJSON"
        elif isinstance(kind, str) and kind in {"Feature", "GeometryCollection", *_DEPTHS}:
            problem = f"a single {kind}, not a FeatureCollection"
        else:
            problem = f"not GeoJSON: 'type' is {_short(kind)}"
        log.error(WHOLE_FILE, problem, f"{_EXPORT_HINT}, or as .osm XML")
        return None
    collection = document.get("features")
    if not isinstance(collection, list):
        log.error(WHOLE_FILE, "the FeatureCollection has no list 'features'", _EXPORT_HINT)
        return None
    if not collection:
        log.error(WHOLE_FILE, "the FeatureCollection is empty", "draw or export the course")
        return None
    return collection


def _check_crs(document: Mapping[str, Any], log: FindingLog) -> None:
    crs = document.get("crs")
    if crs is None:
        return
    properties = crs.get("properties") if isinstance(crs, Mapping) else None
    name = properties.get("name") if isinstance(properties, Mapping) else None
    if not isinstance(name, str) or name.strip().lower() not in _WGS84_NAMES:
        log.error(
            WHOLE_FILE,
            f"coordinates are said to be in {_short(name or crs)}, not longitude and latitude",
            "export in WGS 84 (EPSG:4326), as RFC 7946 asks",
        )


def _feature(feature: object, position: int, log: FindingLog) -> RawFeature | None:
    if not isinstance(feature, Mapping) or feature.get("type", "Feature") != "Feature":
        log.warning(f"feature {position}", "not a GeoJSON Feature", "left out")
        return None
    feature_id = feature_id_of(feature, position)
    tags = tags_of_properties(feature.get("properties"))
    geometry = feature.get("geometry")
    # A hole that is lost is worth more words than a lost bush.
    remedy = (
        "hole left out; draw its line from tee to green again"
        if tags.get("golf") == "hole"
        else "left out; draw it again if it matters"
    )
    if geometry is None:
        log.warning(feature_id, "no geometry (null)", remedy)
        return None
    try:
        shape = _geometry(geometry, feature_id, log)
    except _BadGeometryError as fault:
        log.warning(feature_id, str(fault), remedy)
        return None
    return RawFeature(feature_id, tags, shape)


def _geometry(geometry: object, feature_id: str, log: FindingLog, depth: int = 0) -> BaseGeometry:
    if not isinstance(geometry, Mapping):
        raise _BadGeometryError("geometry is not an object")
    kind: Any = geometry.get("type")
    if kind == "GeometryCollection":
        members = geometry.get("geometries")
        if not isinstance(members, list) or not members:
            raise _BadGeometryError("empty GeometryCollection")
        if depth >= _MAX_COLLECTION_DEPTH:
            raise _BadGeometryError("GeometryCollections nested too deep")
        return shapely.GeometryCollection(
            [_geometry(member, feature_id, log, depth + 1) for member in members]
        )
    if not isinstance(kind, str) or kind not in _DEPTHS:
        raise _BadGeometryError(f"unknown geometry type {_short(kind)}")
    value = geometry.get("coordinates")
    if value is None or value == []:
        raise _BadGeometryError(f"empty {kind}")
    return _BUILDERS[kind](value, feature_id, log)


def _point(value: object, feature_id: str, log: FindingLog) -> BaseGeometry:
    return shapely.Point(_positions([value], "Point", nested=value)[0])


def _multi_point(value: object, feature_id: str, log: FindingLog) -> BaseGeometry:
    return shapely.MultiPoint(_positions(value, "MultiPoint"))


def _line(value: object, feature_id: str, log: FindingLog) -> BaseGeometry:
    positions = _positions(value, "LineString")
    if len(positions) < 2:
        raise _BadGeometryError("LineString with a single position")
    return shapely.LineString(positions)


def _multi_line(value: object, feature_id: str, log: FindingLog) -> BaseGeometry:
    return shapely.MultiLineString(
        [_line(part, feature_id, log) for part in _parts(value, "MultiLineString")]
    )


def _polygon(value: object, feature_id: str, log: FindingLog) -> BaseGeometry:
    rings = [_ring(part, feature_id, log) for part in _parts(value, "Polygon")]
    return shapely.Polygon(rings[0], rings[1:])


def _multi_polygon(value: object, feature_id: str, log: FindingLog) -> BaseGeometry:
    return shapely.MultiPolygon(
        [_polygon(part, feature_id, log) for part in _parts(value, "MultiPolygon")]
    )


_BUILDERS = {
    "Point": _point,
    "MultiPoint": _multi_point,
    "LineString": _line,
    "MultiLineString": _multi_line,
    "Polygon": _polygon,
    "MultiPolygon": _multi_polygon,
}


def _parts(value: object, kind: str) -> list[object]:
    if not isinstance(value, list) or _depth(value) != _DEPTHS[kind]:
        raise _wrong_nesting(value, kind)
    if not value:
        raise _BadGeometryError(f"empty {kind}")
    return value


def _ring(value: object, feature_id: str, log: FindingLog) -> FloatArray:
    positions = _positions(value, "Polygon", nested=[value])
    if len(np.unique(positions[:, :2], axis=0)) < 3:
        raise _BadGeometryError("ring with fewer than three different corners")
    if not np.array_equal(positions[0, :2], positions[-1, :2]):
        log.warning(
            feature_id, "ring is not closed: its last position is not its first", "closed it"
        )
        positions = np.vstack((positions, positions[:1]))
    return positions


def _positions(value: object, kind: str, *, nested: object = None) -> FloatArray:
    """Positions as ``(n, 2)``, or ``(n, 3)`` with NaN for heights not given."""
    if not isinstance(value, list):
        raise _wrong_nesting(value if nested is None else nested, kind)
    if not value:
        raise _BadGeometryError(f"empty {kind} or ring")
    rows = []
    for position in value:
        if not isinstance(position, list):
            raise _wrong_nesting(value if nested is None else nested, kind)
        if any(isinstance(number, list) for number in position):
            raise _wrong_nesting(value if nested is None else nested, kind)
        if len(position) < 2 or not all(_is_number(number) for number in position[:2]):
            raise _BadGeometryError(f"position {_short(position)} is not two numbers")
        if not all(map(_is_finite, position[:2])):
            raise _BadGeometryError("a coordinate is NaN or infinite")
        has_height = len(position) > 2 and _is_number(position[2]) and _is_finite(position[2])
        rows.append((position[0], position[1], position[2] if has_height else math.nan))
    positions = np.array(rows, dtype=float)
    return positions if np.isfinite(positions[:, 2]).any() else positions[:, :2]


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _is_finite(value: float) -> bool:
    try:
        return math.isfinite(float(value))
    except OverflowError:
        return False


def _depth(value: object) -> int:
    depth = 0
    while isinstance(value, list):
        depth += 1
        value = value[0] if value else None
    return depth


def _wrong_nesting(value: object, kind: str) -> _BadGeometryError:
    return _BadGeometryError(
        f"{kind} coordinates are nested {_depth(value)} deep instead of {_DEPTHS[kind]}"
    )


def _short(value: object) -> str:
    try:
        text = repr(value)
    except RecursionError:
        text = "(nested too deep to show)"
    return text if len(text) <= 60 else text[:57] + "..."
