"""A map being changed, in metres: what lies where, and what a tap means."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.lies import Ground
from planner.course.map_document import MapDocument
from planner.course.projection import (
    centre_of,
    crs_centred_on,
    from_proj,
    geometry_to_proj,
    to_proj,
)
from planner.course.tags import Kind, meaning_of

__all__ = ["MapSheet", "SheetItem", "centre_of_document", "map_sheet"]

FloatArray = NDArray[np.float64]
AROUND_HOLE_M = 45.0


@dataclass(frozen=True, eq=False)
class SheetItem:
    """One feature: its place in the document, what it was read as, and its shape [m]."""

    index: int
    kind: Kind
    ground: Ground | None
    shape_proj: BaseGeometry
    ref: str
    name: str
    has_par: bool = False

    @property
    def words(self) -> str:
        """What it is, for a person."""
        what = self.kind.value
        if self.ground is not None:
            what = "sand" if self.ground is Ground.SAND else self.ground.area.value
            if self.ground in (Ground.FAIRWAY, Ground.ROUGH, Ground.DEEP_ROUGH, Ground.TREES):
                what = self.ground.name.lower().replace("_", " ")
        return " ".join(part for part in (what, self.ref, self.name) if part)


@dataclass(frozen=True, eq=False)
class MapSheet:
    """Everything on a map that has a meaning for play, easting and northing [m]."""

    crs_proj: str
    items: tuple[SheetItem, ...]

    def to_lonlat(self, points_proj: ArrayLike) -> FloatArray:
        """Longitude and latitude [degrees] of points [m], shape ``(n, 2)``."""
        return from_proj(self.crs_proj, np.asarray(points_proj, dtype=float).reshape(-1, 2))

    def to_sheet(self, points_lonlat: ArrayLike) -> FloatArray:
        """Points [m] of longitude and latitude [degrees], shape ``(n, 2)``."""
        return to_proj(self.crs_proj, np.asarray(points_lonlat, dtype=float).reshape(-1, 2))

    def item(self, index: int) -> SheetItem | None:
        """Item of a feature; None if it has no meaning for play."""
        return next((item for item in self.items if item.index == index), None)

    def at(self, point_proj: tuple[float, float], reach_m: float) -> SheetItem | None:
        """What a tap means: the nearest point or line in reach, else the smallest area there."""
        tap = shapely.Point(point_proj)
        thin = [item for item in self.items if shapely.get_dimensions(item.shape_proj) < 2]
        near = [(item.shape_proj.distance(tap), item) for item in thin]
        close = [(away, item) for away, item in near if away <= reach_m]
        if close:
            return min(close, key=lambda one: one[0])[1]
        wide = [
            item
            for item in self.items
            if shapely.get_dimensions(item.shape_proj) == 2
            and item.shape_proj.distance(tap) <= reach_m / 2
        ]
        return min(wide, key=lambda item: item.shape_proj.area, default=None)

    def holes(self) -> dict[str, tuple[float, float, float, float]]:
        """Box round each hole's line [m], west, south, east, north, by its number."""
        found: dict[str, tuple[float, float, float, float]] = {}
        for item in self.items:
            if item.kind is Kind.HOLE and item.ref:
                west, south, east, north = item.shape_proj.buffer(AROUND_HOLE_M).bounds
                found.setdefault(item.ref, (west, south, east, north))
        return dict(sorted(found.items(), key=lambda one: (len(one[0]), one[0])))

    def bounds(self) -> tuple[float, float, float, float]:
        """Box round the holes, greens and tees [m], or round everything if there are none."""
        play = [i.shape_proj for i in self.items if i.kind in (Kind.HOLE, Kind.GREEN, Kind.TEE)]
        shapes = play or [item.shape_proj for item in self.items]
        if not shapes:
            return (-200.0, -200.0, 200.0, 200.0)
        west, south, east, north = shapely.total_bounds(shapes)
        edge = 60.0
        return (west - edge, south - edge, east + edge, north + edge)


def map_sheet(document: MapDocument, *, centre_lonlat: tuple[float, float]) -> MapSheet:
    """Put a map on a sheet centred on a place [degrees]; the same place for every change of it."""
    crs_proj = crs_centred_on(*centre_lonlat)
    items = []
    for index, feature in enumerate(document.features):
        meaning = meaning_of(feature.tags)
        if meaning is None or meaning.kind is Kind.IGNORED:
            continue
        shape = geometry_to_proj(crs_proj, feature.geometry_lonlat)
        ref, name = feature.tags.get("ref", ""), feature.tags.get("name", "")
        par = "par" in feature.tags
        items.append(SheetItem(index, meaning.kind, meaning.ground, shape, ref, name, par))
    return MapSheet(crs_proj, tuple(items))


def centre_of_document(document: MapDocument) -> tuple[float, float]:
    """Longitude and latitude [degrees] of the middle of a map's holes, or of everything."""
    holes = [f for f in document.features if f.tags.get("golf") == "hole"] or document.features
    return centre_of(
        [shapely.get_coordinates(shapely.centroid(f.geometry_lonlat))[0] for f in holes]
    )
