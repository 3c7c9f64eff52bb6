"""Distances, directions and map formats."""

from __future__ import annotations

import json
import math
import tempfile
from functools import partial
from pathlib import Path

import numpy as np

from planner.acceptance.claim import Area, Claim, Sense
from planner.course.hole import HoleFrame
from planner.course.lies import Ground
from planner.course.projection import crs_centred_on, from_proj, to_proj
from planner.course.reading import check_map
from planner.units import M_PER_YD

__all__ = ["AREA"]

START_LATLON, END_LATLON = (56.343, -2.803), (56.345868908, -2.799106925)
"""A geodesic of 400.000 m at azimuth 37 degrees (GeographicLib)."""
LENGTH_M, AZIMUTH_DEG = 400.0, 37.0
GEOGRAPHICLIB = "GeographicLib, WGS 84"
RFC = "RFC 7946, section 3.1.6"
M_PER_DEG = 111_000.0
BOX_M = (40.0, 30.0)
"""Sides of the bunker whose rings are drawn in several ways [m]."""


def _projected() -> np.ndarray:
    """Start and end in the projection of a course that is centred 3 km away, (2, 2) [m]."""
    crs = crs_centred_on(START_LATLON[1] + 0.03, START_LATLON[0] - 0.02)
    return to_proj(crs, [START_LATLON[::-1], END_LATLON[::-1]])


def _length() -> float:
    start, end = _projected()
    return float(np.hypot(*(end - start)))


def _end_by_frame() -> np.ndarray:
    """Longitude and latitude of the point 400 m along a hole with that azimuth."""
    crs = crs_centred_on(START_LATLON[1], START_LATLON[0])
    origin = to_proj(crs, [START_LATLON[::-1]])[0]
    frame = HoleFrame((float(origin[0]), float(origin[1])), math.radians(AZIMUTH_DEG))
    return np.asarray(from_proj(crs, frame.to_proj([(LENGTH_M, 0.0)]))[0])


def _miss_m() -> float:
    """Distance of that point from the published one [m]."""
    lon, lat = _end_by_frame()
    north = (lat - END_LATLON[0]) * M_PER_DEG
    east = (lon - END_LATLON[1]) * M_PER_DEG * math.cos(math.radians(lat))
    return math.hypot(north, east)


def _ring(clockwise: bool, closed: bool = True) -> list[list[float]]:
    half = [side / 2 / M_PER_DEG for side in BOX_M]
    corners = [(-1, -1), (-1, 1), (1, 1), (1, -1)]
    points = [[-30.0 + x * half[0], 0.001 + y * half[1]] for x, y in corners]
    ring = points if clockwise else points[::-1]
    return [*ring, ring[0]] if closed else ring


def _map(ring: list[list[float]], **tags: str) -> dict[str, object]:
    line = [[-30.0, 0.0], [-30.0, 300.0 / M_PER_DEG]]
    hole = {"golf": "hole", "ref": "1", "par": "4", **tags}

    def feature(kind: str, coordinates: object, properties: dict[str, str]) -> dict[str, object]:
        geometry = {"type": kind, "coordinates": coordinates}
        return {"type": "Feature", "geometry": geometry, "properties": properties}

    features = [
        feature("LineString", line, hole),
        feature("Polygon", [ring], {"golf": "bunker"}),
    ]
    return {"type": "FeatureCollection", "attribution": "drawn for a check", "features": features}


def _sand_area(clockwise: bool) -> float:
    """Area of the bunker as read [m2]."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "map.geojson"
        path.write_text(json.dumps(_map(_ring(clockwise))), encoding="utf-8")
        course = check_map(path).course
        assert course is not None
        return float(sum(a.shape_hole.area for a in course.holes[0].areas_of(Ground.SAND)))


def _open_ring_said() -> str:
    """Whether a ring that is not closed is told of."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "map.geojson"
        path.write_text(json.dumps(_map(_ring(True, closed=False))), encoding="utf-8")
        found = [f for f in check_map(path).findings if "ring" in str(f) or "close" in str(f)]
        return "told" if found else "silent"


def _tee_length(value: str) -> float:
    """Playing length of the hole from the tee that only a ``dist`` tag knows [m]."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "map.geojson"
        text = json.dumps(_map(_ring(True), **{"dist:yellow": value}))
        path.write_text(text, encoding="utf-8")
        course = check_map(path).course
        assert course is not None
        hole = course.holes[0]
        return hole.length_from(hole.tee("yellow"))


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    millimetre = "a hole is to be right to a millimetre"
    # RFC 7946 asks for counterclockwise outer rings, and that readers accept others.
    box = BOX_M[0] * BOX_M[1]
    equator = "the box is drawn in degrees of 111 km, which are 0.3 to 0.4 % off at the equator"
    return (
        Claim(
            "length of a hole 3 km from the middle of its course",
            GEOGRAPHICLIB, LENGTH_M, _length, "m", 1e-3, millimetre,
        ),
        Claim(
            "place 400 m along a hole at azimuth 37°, distance from the published end",
            GEOGRAPHICLIB, 0.0, _miss_m, "m", 1e-3, millimetre, Sense.AT_MOST,
        ),
        Claim("metres in a yard", "international yard, 1959", 0.9144, lambda: M_PER_YD, "m"),
        Claim(
            "area of a polygon drawn clockwise",
            RFC, box, partial(_sand_area, True), "m²", 0.01 * box, equator,
        ),
        Claim(
            "area of a polygon drawn counterclockwise",
            RFC, box, partial(_sand_area, False), "m²", 0.01 * box, equator,
        ),
        Claim(
            "ring whose ends do not meet", RFC, "told", _open_ring_said, sense=Sense.SAME
        ),
        Claim(
            "dist:yellow=280, no unit, on a line of 300 m",
            "OpenStreetMap tagging pages: golf=hole, dist in metres",
            280.0, partial(_tee_length, "280"), "m", 0.01, "a tag is exact but for rounding",
        ),
        Claim(
            "dist:yellow=300 yd on the same line",
            "OpenStreetMap tagging pages: a unit may stand behind a number",
            300 * 0.9144, partial(_tee_length, "300 yd"), "m", 0.01,
            "a tag is exact but for rounding",
        ),
    )  # fmt: skip


AREA = Area(
    "geodesy",
    "Distances and maps",
    "Lengths in the projection a course is planned in, and small maps read as files.",
    claims,
)
