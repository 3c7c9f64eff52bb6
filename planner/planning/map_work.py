"""Work on a course's map: open it, draw on it, check it as it would be read, and save it."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.course.map_check import MapReport, report_on
from planner.course.map_document import MapDocument, added, read_document, removed, reshaped
from planner.course.map_sheet import MapSheet
from planner.course.map_writing import geojson_text, geopackage_bytes
from planner.course.tags import Kind
from planner.errors import OptionError

__all__ = [
    "HoleGap",
    "check_document",
    "convert_map",
    "corner_near",
    "empty_map",
    "gaps_of",
    "map_bytes",
    "moved_to",
    "open_map",
    "place_pin",
]

FloatArray = NDArray[np.float64]
GREEN_REACH_M = 40.0
TEE_REACH_M = 60.0
PIN_REACH_M = 25.0
"""A pin this close to a hole's end is that hole's, if no green is drawn there [m]."""
FORMATS = {".geojson": "GeoJSON", ".json": "GeoJSON", ".gpkg": "GeoPackage"}


@dataclass(frozen=True)
class HoleGap:
    """What the map draws of one hole; false for what a plan has to assume."""

    ref: str
    line: bool
    tee: bool
    fairway: bool
    green: bool
    pin: bool
    par: bool


def open_map(path: Path) -> MapDocument:
    """Read a map for changing it; raises :class:`CourseMapError` for what is no map."""
    return read_document(path)


def empty_map(name: str, lon: float, lat: float, *, size_m: float = 1500.0) -> MapDocument:
    """A new map with nothing but a square boundary round a place [degrees].

    Raises
    ------
    OptionError
        The place is none.
    """
    if not (-180 <= lon <= 180 and -85 <= lat <= 85):
        raise OptionError("give a latitude between -85 and 85 and a longitude between -180 and 180")
    half_lat = size_m / 2 / 111_200.0
    half_lon = half_lat / float(np.cos(np.radians(lat)))
    west, south, east, north = lon - half_lon, lat - half_lat, lon + half_lon, lat + half_lat
    square = [(west, south), (east, south), (east, north), (west, north)]
    name = name.strip() or "My course"
    return added(MapDocument((), name), "area", square, {"leisure": "golf_course", "name": name})


def check_document(document: MapDocument) -> MapReport:
    """Everything that ``planner check`` says of the map as it would be saved."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "map.geojson"
        path.write_text(geojson_text(document), encoding="utf-8")
        return replace(report_on(path), source=document.name)


def map_bytes(document: MapDocument, ending: str) -> bytes:
    """The map as a file with an ending of :data:`FORMATS`.

    Raises
    ------
    OptionError
        No format has that ending.
    """
    if ending not in FORMATS:
        raise OptionError(f'"{ending}" is no ending of a map; use {", ".join(FORMATS)}')
    if ending == ".gpkg":
        return geopackage_bytes(document)
    return geojson_text(document).encode()


def convert_map(source: Path, target: Path) -> int:
    """Write a map into another format, by the ending of ``target``; returns its features.

    Raises
    ------
    CourseMapError
        The source is no map.
    OptionError
        No format has that ending, or the target cannot be written.
    """
    ending = target.suffix.lower()
    if ending not in FORMATS:
        raise OptionError(f"{target}: no ending of a map; use {', '.join(FORMATS)}")
    document = read_document(source)
    try:
        target.write_bytes(map_bytes(document, ending))
    except OSError as fault:
        raise OptionError(f"{target}: cannot be written ({fault.strerror or fault})") from fault
    return len(document.features)


def place_pin(
    document: MapDocument, sheet: MapSheet, ref: str, point_proj: tuple[float, float]
) -> MapDocument:
    """The map with the pin of hole ``ref`` at a point [m], and no other on its green.

    Raises
    ------
    OptionError
        There is no such hole, or the point is not on its green.
    """
    line = next((i for i in sheet.items if i.kind is Kind.HOLE and i.ref == ref), None)
    if line is None:
        raise OptionError(f"the map has no hole {ref}")
    end = shapely.Point(shapely.get_coordinates(line.shape_proj)[-1])
    green = _nearest(sheet, Kind.GREEN, end, GREEN_REACH_M)
    place = green if green is not None else end.buffer(PIN_REACH_M)
    if not place.buffer(1.0).covers(shapely.Point(point_proj)):
        raise OptionError(f"that is not on the green of hole {ref}; tap inside it")
    old = [
        item.index
        for item in sheet.items
        if item.kind is Kind.PIN and place.buffer(1.0).intersects(item.shape_proj)
    ]
    for index in sorted(old, reverse=True):
        document = removed(document, index)
    return added(document, "point", sheet.to_lonlat([point_proj]), {"golf": "pin", "ref": ref})


def corner_near(corners_proj: FloatArray, place: tuple[float, float], reach_m: float) -> int | None:
    """Number of the corner nearest to a place, None if none is in reach."""
    if len(corners_proj) == 0:
        return None
    away = np.hypot(*(corners_proj - np.asarray(place)).T)
    nearest = int(away.argmin())
    return nearest if away[nearest] <= reach_m else None


def moved_to(
    document: MapDocument, sheet: MapSheet, index: int, place: tuple[float, float]
) -> MapDocument:
    """The map with a feature moved as a whole, its middle to a place [m]."""
    corners = sheet.to_sheet(document.corners(index))
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    return reshaped(document, index, sheet.to_lonlat(corners + np.asarray(place) - middle))


def gaps_of(sheet: MapSheet) -> tuple[HoleGap, ...]:
    """What is drawn of each hole, in the order of their numbers."""
    found = []
    fairways = [
        item.shape_proj
        for item in sheet.items
        if item.ground is not None and item.ground.name == "FAIRWAY"
    ]
    for ref in sheet.holes():
        line = next(i for i in sheet.items if i.kind is Kind.HOLE and i.ref == ref)
        ends = shapely.get_coordinates(line.shape_proj)
        start, end = shapely.Point(ends[0]), shapely.Point(ends[-1])
        green = _nearest(sheet, Kind.GREEN, end, GREEN_REACH_M)
        around = end.buffer(PIN_REACH_M) if green is None else green.buffer(1.0)
        found.append(
            HoleGap(
                ref,
                True,
                _nearest(sheet, Kind.TEE, start, TEE_REACH_M) is not None,
                any(shape.intersects(line.shape_proj) for shape in fairways),
                green is not None,
                any(i.kind is Kind.PIN and around.intersects(i.shape_proj) for i in sheet.items),
                line.has_par,
            )
        )
    return tuple(found)


def _nearest(
    sheet: MapSheet, kind: Kind, place: shapely.Point, reach_m: float
) -> shapely.Geometry | None:
    shapes = [
        (item.shape_proj.distance(place), item.shape_proj)
        for item in sheet.items
        if item.kind is kind
    ]
    near = [pair for pair in shapes if pair[0] <= reach_m]
    return min(near, key=lambda pair: pair[0])[1] if near else None
