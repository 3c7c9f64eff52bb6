"""Features in metres, cleaned: what the rest of the reader works on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.features import RawFeature
from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.projection import geometry_to_proj, to_proj
from planner.course.tags import (
    Drawn,
    Kind,
    Meaning,
    Tags,
    meaning_of,
    number,
    unknown_label,
)

FloatArray = NDArray[np.float64]
AreaShape: TypeAlias = "shapely.Polygon | shapely.MultiPolygon"
"""Geometry of an area: one polygon or several."""

_AREA_KINDS = (Kind.GREEN, Kind.OUTLINE, Kind.PRACTICE)
_LINES = ("LineString", "MultiLineString")
ASSUMED_SMALLEST_AREA_M2 = 0.5
"""Areas smaller than this are slips of the pen [m2]; assumed."""
ASSUMED_GAP_SHARE = 0.2
"""An open line of water whose ends are nearer than this share of its length is an area; assumed."""


@dataclass(frozen=True)
class MapFeature:
    """One feature of known meaning.

    ``shape_proj`` is valid, not empty and flat [m]; ``heights_proj`` holds its known heights,
    rows (easting, northing, height) [m], shape ``(n, 3)``.
    """

    feature_id: str
    tags: Tags
    meaning: Meaning
    shape_proj: BaseGeometry
    heights_proj: FloatArray

    @property
    def name(self) -> str:
        """Name on the map, or empty."""
        return self.tags.get("name", "")

    @property
    def is_area(self) -> bool:
        """Whether the feature is drawn as an area."""
        return self.shape_proj.geom_type in ("Polygon", "MultiPolygon")


def map_features(
    raw: Sequence[RawFeature], crs_proj: str, log: FindingLog
) -> tuple[list[MapFeature], FloatArray]:
    """Clean and project all features.

    Returns
    -------
    Features the tag table knows, in map order, and all known heights on the map as rows
    (easting, northing, height) [m]. Unknown tags get one note each.
    """
    unknown: Counter[str] = Counter()
    features = []
    heights = [np.empty((0, 3))]
    for feature in raw:
        known_heights = _heights(feature, crs_proj)
        heights.append(known_heights)
        meaning = meaning_of(feature.tags)
        if meaning is None:
            if set(feature.tags) - {"ele"}:
                unknown[unknown_label(feature.tags)] += 1
            continue
        if meaning.kind is Kind.IGNORED:
            continue
        shape = _clean(feature, meaning, crs_proj, log)
        if shape is not None:
            features.append(
                MapFeature(feature.feature_id, feature.tags, meaning, shape, known_heights)
            )
    for label, count in sorted(unknown.items()):
        times = "1 feature" if count == 1 else f"{count} features"
        log.note(WHOLE_FILE, f"{label} ({times}) has no meaning for play", "not used")
    return features, np.vstack(heights)


def of_kind(features: Iterable[MapFeature], kind: Kind) -> list[MapFeature]:
    """Features of one kind, in map order."""
    return [feature for feature in features if feature.meaning.kind is kind]


def polygonal(shape: BaseGeometry) -> AreaShape | None:
    """Areas of a geometry, without lines, points and slips of the pen; None if there are none."""
    areas = [
        part
        for piece in shapely.get_parts(shape)
        for part in (shapely.get_parts(piece) if shapely.get_type_id(piece) > 3 else (piece,))
        if part.geom_type == "Polygon" and part.area > ASSUMED_SMALLEST_AREA_M2
    ]
    if not areas:
        return None
    return areas[0] if len(areas) == 1 else shapely.MultiPolygon(areas)


def _heights(feature: RawFeature, crs_proj: str) -> FloatArray:
    """Heights from third coordinates, else from the feature's own ``ele``."""
    shape = feature.geometry_lonlat
    if shapely.has_z(shape):
        points = shapely.get_coordinates(shape, include_z=True)
        points = points[np.isfinite(points[:, 2])]
        if len(points):
            return np.column_stack((to_proj(crs_proj, points[:, :2]), points[:, 2]))
    height = number(feature.tags.get("ele"), metres=True)
    if height is None:
        return np.empty((0, 3))
    middle = shapely.get_coordinates(shapely.centroid(shapely.force_2d(shape)))
    return np.column_stack((to_proj(crs_proj, middle), [height]))


def _clean(
    feature: RawFeature, meaning: Meaning, crs_proj: str, log: FindingLog
) -> BaseGeometry | None:
    shape = geometry_to_proj(crs_proj, feature.geometry_lonlat)
    if shape.geom_type == "GeometryCollection":
        shape = _largest_kind(shape)
    shape = _without_repeats(shape, feature.feature_id, log)
    if shape.geom_type in _LINES:
        return _clean_line(shape, feature, meaning, log)
    if shape.geom_type in ("Point", "MultiPoint"):
        return _clean_point(shapely.get_parts(shape)[0], feature, meaning, log)
    return _clean_area(shape, feature, meaning, log)


def _clean_area(
    shape: BaseGeometry, feature: RawFeature, meaning: Meaning, log: FindingLog
) -> BaseGeometry | None:
    if not shapely.is_valid(shape):
        reason = shapely.is_valid_reason(shape).split("[")[0].lower()
        shape = shapely.make_valid(shape)
        log.warning(feature.feature_id, f"outline crosses itself ({reason})", "repaired")
    area = polygonal(shape)
    if area is None:
        log.warning(feature.feature_id, "area without extent", _left_out(meaning))
    return area


def _clean_line(
    shape: BaseGeometry, feature: RawFeature, meaning: Meaning, log: FindingLog
) -> BaseGeometry | None:
    if shape.length < 1.0:
        log.warning(feature.feature_id, "line of no length", _left_out(meaning))
        return None
    is_ground = meaning.kind is Kind.GROUND
    if meaning.kind in _AREA_KINDS or meaning.kind is Kind.TEE or is_ground:
        closed = _closed_area(shape)
        if meaning.drawn is Drawn.TREES or (
            meaning.drawn is Drawn.STREAM and not _is_meant_closed(shape, feature.tags)
        ):
            return shape
        if closed is None:
            log.warning(
                feature.feature_id,
                f"{_label(meaning)} drawn as a line that goes round nothing",
                "left out; draw it as an area",
            )
            return None
        if not _is_ring(shape):
            log.warning(
                feature.feature_id,
                f"{_label(meaning)} drawn as an open line",
                "closed it to an area",
            )
        return closed
    return shape


def _clean_point(
    shape: BaseGeometry, feature: RawFeature, meaning: Meaning, log: FindingLog
) -> BaseGeometry | None:
    keeps_points = (Kind.TEE, Kind.GREEN, Kind.PIN, Kind.HOLE, Kind.OUTLINE)
    if meaning.kind in keeps_points or meaning.drawn is Drawn.TREES:
        return shape
    if meaning.kind is Kind.PRACTICE:
        return None
    log.warning(
        feature.feature_id,
        f"{_label(meaning)} drawn as a point, without an area",
        "left out; draw it as an area",
    )
    return None


def _label(meaning: Meaning) -> str:
    if meaning.ground is not None:
        return meaning.ground.name.lower().replace("_", " ")
    return "course outline" if meaning.kind is Kind.OUTLINE else meaning.kind.value


def _left_out(meaning: Meaning) -> str:
    if meaning.kind is Kind.HOLE:
        return "hole left out; draw its line from tee to green"
    return "left out"


def _is_ring(shape: BaseGeometry) -> bool:
    return shape.geom_type == "LineString" and bool(shape.is_closed)


def _is_meant_closed(shape: BaseGeometry, tags: Tags) -> bool:
    """Whether a line of water goes round an area, not along a stream."""
    if _is_ring(shape):
        return True
    start, end = shapely.get_coordinates(shape)[[0, -1]]
    gap = float(np.hypot(*(end - start)))
    return "waterway" not in tags and gap <= ASSUMED_GAP_SHARE * shape.length


def _closed_area(shape: BaseGeometry) -> BaseGeometry | None:
    corners = shapely.get_coordinates(shape)
    if len(np.unique(corners, axis=0)) < 3:
        return None
    return polygonal(shapely.make_valid(shapely.Polygon(corners)))


def _without_repeats(shape: BaseGeometry, feature_id: str, log: FindingLog) -> BaseGeometry:
    plain = shapely.remove_repeated_points(shape)
    dropped = shapely.get_num_coordinates(shape) - shapely.get_num_coordinates(plain)
    if dropped > 0:
        log.note(feature_id, f"{dropped} corners repeat the one before", "dropped")
    return plain


def _largest_kind(shape: BaseGeometry) -> BaseGeometry:
    """Areas of a collection, else its lines, else its points."""
    flat = [shape]
    while any(part.geom_type == "GeometryCollection" for part in flat):
        flat = [piece for part in flat for piece in shapely.get_parts(part)]
    dimension = max(shapely.get_dimensions(part) for part in flat)
    kept = [part for part in flat if shapely.get_dimensions(part) == dimension]
    return kept[0] if len(kept) == 1 else shapely.union_all(kept)
