"""Where on Earth the features are, and whether their coordinates can be meant."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.course.features import RawFeature
from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.projection import centre_of

FloatArray = NDArray[np.float64]

ASSUMED_COURSE_REACH_DEG = 0.25
"""Features farther than this from the course's centre are not part of it [degrees]; assumed."""


def placed_features(
    features: Sequence[RawFeature], log: FindingLog
) -> tuple[list[RawFeature], tuple[float, float] | None]:
    """Features that lie on the course, and its centre (lon, lat) [degrees].

    Coordinates beyond 180 or 90 are errors. Features that lie far from the rest, but on it when
    longitude and latitude are exchanged, are exchanged; others far away are left out.
    """
    if not features or not _are_degrees(features, log):
        return [], None
    # The holes say where the course is; an extract may hold a whole county of woods.
    places = np.array([_centre(feature) for feature in features])
    holes = np.array([feature.tags.get("golf") == "hole" for feature in features])
    centre = centre_of(places[holes] if holes.any() else places)
    placed = []
    for feature, place in zip(features, places, strict=True):
        if _is_near(place, centre) or shapely.intersects_xy(
            shapely.envelope(feature.geometry_lonlat), *centre
        ):
            placed.append(feature)
        elif _is_near(place[::-1], centre):
            log.warning(
                feature.feature_id,
                "latitude seems to be written before longitude, unlike the other features",
                "read with the two exchanged",
            )
            placed.append(_exchanged(feature))
        else:
            distance = math.hypot(place[0] - centre[0], place[1] - centre[1])
            log.warning(
                feature.feature_id,
                f"lies {distance:.1f} degrees from the course",
                "left out",
            )
    lon, lat = centre
    log.note(
        WHOLE_FILE,
        f"the course lies at {abs(lat):.4f} {'N' if lat >= 0 else 'S'}, "
        f"{abs(lon):.4f} {'E' if lon >= 0 else 'W'}",
        "if that is not where it is, longitude and latitude are exchanged in the whole file",
    )
    return placed, centre


def _are_degrees(features: Sequence[RawFeature], log: FindingLog) -> bool:
    """Check the ranges of all coordinates, one error for each kind of fault."""
    swapped: list[str] = []
    projected: list[str] = []
    for feature in features:
        x, y = np.abs(shapely.get_coordinates(feature.geometry_lonlat)).max(axis=0)
        if x <= 180 and y <= 90:
            continue
        (swapped if x <= 90 and y <= 180 else projected).append(feature.feature_id)
    if projected:
        log.error(
            projected[0],
            f"coordinates beyond 180 or 90 in {_count(projected)}: projected, not degrees",
            "export in WGS 84 longitude and latitude (EPSG:4326)",
        )
    if swapped:
        log.error(
            swapped[0],
            f"latitudes beyond 90 in {_count(swapped)}: latitude is written before longitude",
            "write longitude first, as RFC 7946 asks",
        )
    return not (swapped or projected)


def _count(ids: Sequence[str]) -> str:
    return "1 feature" if len(ids) == 1 else f"{len(ids)} features"


def _centre(feature: RawFeature) -> FloatArray:
    west, south, east, north = feature.geometry_lonlat.bounds
    return np.array([(west + east) / 2, (south + north) / 2])


def _is_near(place: FloatArray, centre: tuple[float, float]) -> bool:
    lon = math.remainder(place[0] - centre[0], 360.0) * math.cos(math.radians(centre[1]))
    return math.hypot(lon, place[1] - centre[1]) <= ASSUMED_COURSE_REACH_DEG


def _exchanged(feature: RawFeature) -> RawFeature:
    shape = shapely.transform(
        shapely.force_2d(feature.geometry_lonlat), lambda points: points[:, ::-1]
    )
    return replace(feature, geometry_lonlat=shape)
