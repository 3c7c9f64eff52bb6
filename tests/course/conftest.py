"""A drawing board for maps: features placed in metres, written as mappers' files."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

import pytest
from pyproj import Geod

ORIGIN_LONLAT = (-30.0, 45.0)
GEOD = Geod(ellps="WGS84")
Points = Sequence[tuple[float, float]]


def lonlat(east: float, north: float) -> list[float]:
    """Place ``east``, ``north`` [m] of the drawing's origin, along a geodesic."""
    azimuth = math.degrees(math.atan2(east, north))
    lon, lat, _ = GEOD.fwd(*ORIGIN_LONLAT, azimuth, math.hypot(east, north))
    return [lon, lat]


def box(west: float, south: float, east: float, north: float) -> list[tuple[float, float]]:
    return [(west, south), (east, south), (east, north), (west, north), (west, south)]


def disc(east: float, north: float, radius: float, corners: int = 24) -> list[tuple[float, float]]:
    angles = [2 * math.pi * n / corners for n in range(corners)]
    ring = [(east + radius * math.cos(a), north + radius * math.sin(a)) for a in angles]
    return [*ring, ring[0]]


class Drawing:
    """A GeoJSON map in the making."""

    box = staticmethod(box)
    disc = staticmethod(disc)
    lonlat = staticmethod(lonlat)

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.features: list[dict[str, Any]] = []
        self.members: dict[str, Any] = {"type": "FeatureCollection"}

    def add(self, geometry: Any, **tags: Any) -> Drawing:
        """Add a feature; ``__`` in a tag's name stands for a colon."""
        named = {key.replace("__", ":"): value for key, value in tags.items()}
        self.features.append(
            {
                "type": "Feature",
                "id": f"way/{len(self.features) + 1}",
                "properties": named,
                "geometry": geometry,
            }
        )
        return self

    def area(self, ring: Points, *inner: Points, **tags: Any) -> Drawing:
        rings = [[lonlat(*point) for point in part] for part in (ring, *inner)]
        return self.add({"type": "Polygon", "coordinates": rings}, **tags)

    def line(self, points: Points, **tags: Any) -> Drawing:
        coordinates = [lonlat(*point) for point in points]
        return self.add({"type": "LineString", "coordinates": coordinates}, **tags)

    def point(self, east: float, north: float, **tags: Any) -> Drawing:
        return self.add({"type": "Point", "coordinates": lonlat(east, north)}, **tags)

    def hole(
        self,
        east: float = 0.0,
        length: float = 380.0,
        *,
        parts: Iterable[str] = ("tee", "fairway", "green"),
        **tags: Any,
    ) -> Drawing:
        """Add a straight hole to the north that starts at ``(east, 0)``, with its areas."""
        given = {"ref": "1", "par": "4", "handicap": "7"} | tags
        self.line([(east, 0.0), (east, length)], golf="hole", **given)
        if "tee" in parts:
            self.area(box(east - 4, -4, east + 4, 4), golf="tee")
        if "fairway" in parts:
            self.area(box(east - 15, 80, east + 15, length - 20), golf="fairway")
        if "green" in parts:
            self.area(disc(east, length, 14), golf="green")
        return self

    def outline(self, ring: Points | None = None, **tags: Any) -> Drawing:
        return self.area(ring or box(-150, -100, 150, 500), leisure="golf_course", **tags)

    def text(self) -> str:
        return json.dumps(self.members | {"features": self.features})

    def write(self, name: str = "map.geojson") -> Path:
        path = self.folder / name
        path.write_text(self.text(), encoding="utf-8")
        return path


@pytest.fixture
def drawing(tmp_path: Path) -> Drawing:
    return Drawing(tmp_path)


@pytest.fixture
def new_drawing(tmp_path: Path) -> Callable[[], Drawing]:
    return lambda: Drawing(tmp_path)
