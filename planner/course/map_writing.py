"""Maps to files: GeoJSON by RFC 7946 with the public map's golf tags, and GeoPackage."""

from __future__ import annotations

import json
import math
import tempfile
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from planner.course.features import RawFeature
from planner.course.map_document import DECIMALS, MapDocument
from planner.course.projection import WGS84
from planner.course.tags import Kind, meaning_of

__all__ = ["geojson_text", "geopackage_bytes"]

LAYERS = {0: "points", 1: "lines", 2: "areas"}
"""Names of a GeoPackage's layers by dimension."""
_SHOWN_TAGS = ("name", "ref", "par", "handicap", "tee", "ele")


def geojson_text(document: MapDocument) -> str:
    """The map as a FeatureCollection, one feature a line.

    Longitude and latitude in WGS 84, outer rings counterclockwise and inner ones clockwise
    (RFC 7946, section 3.1.6), no ``crs`` (section 4); heights only where they are known.
    """
    head: dict[str, Any] = {"type": "FeatureCollection", "name": document.name}
    if document.attribution:
        head["attribution"] = document.attribution
    bounds = shapely.total_bounds([f.geometry_lonlat for f in document.features])
    if document.features:
        head["bbox"] = [round(float(value), DECIMALS) for value in bounds]
    lines = [json.dumps(_feature(feature), ensure_ascii=False) for feature in document.features]
    start = json.dumps(head, ensure_ascii=False)[:-1]
    return start + ', "features": [\n' + ",\n".join(lines) + "\n]}\n"


def _feature(feature: RawFeature) -> dict[str, Any]:
    return {
        "type": "Feature",
        "id": feature.feature_id,
        "properties": dict(feature.tags),
        "geometry": _geometry(feature.geometry_lonlat),
    }


def _geometry(shape: BaseGeometry) -> dict[str, Any]:
    if shape.geom_type == "GeometryCollection":
        return {
            "type": "GeometryCollection",
            "geometries": [_geometry(part) for part in shapely.get_parts(shape)],
        }
    turned = shapely.orient_polygons(shape, exterior_cw=False)
    made = shapely.geometry.mapping(turned)
    return {"type": made["type"], "coordinates": _rounded(made["coordinates"])}


def _rounded(value: Any) -> Any:
    """Nested coordinates with the decimals of the file; positions that repeat are dropped."""
    if isinstance(value[0], int | float):
        place = [round(float(number), DECIMALS) for number in value[:2]]
        has_height = len(value) > 2 and math.isfinite(value[2])
        return [*place, round(float(value[2]), 2)] if has_height else place
    inner = [_rounded(part) for part in value]
    if isinstance(inner[0][0], int | float):
        kept = [p for i, p in enumerate(inner) if i == 0 or p != inner[i - 1]]
        return kept if len(kept) > 3 or len(kept) == len(inner) else inner
    return inner


def geopackage_bytes(document: MapDocument) -> bytes:
    """The map as a GeoPackage with a layer each for areas, lines and points.

    Columns tell what a feature was read as, its id and its commonest tags; ``tags`` has all.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "map.gpkg"
        for dimension, layer in LAYERS.items():
            features = [
                feature
                for feature in document.features
                if shapely.get_dimensions(feature.geometry_lonlat) == dimension
                and feature.geometry_lonlat.geom_type != "GeometryCollection"
            ]
            if features:
                _frame(features).to_file(path, layer=layer, driver="GPKG", engine="pyogrio")
        return path.read_bytes() if path.exists() else b""


def _frame(features: list[RawFeature]) -> geopandas.GeoDataFrame:
    rows = [
        {
            "feature_id": feature.feature_id,
            "read_as": _read_as(feature),
            **{tag: feature.tags.get(tag) for tag in _SHOWN_TAGS},
            "tags": json.dumps(dict(feature.tags), ensure_ascii=False, sort_keys=True),
        }
        for feature in features
    ]
    shapes = [_without_gaps(feature.geometry_lonlat) for feature in features]
    return geopandas.GeoDataFrame(rows, geometry=shapes, crs=WGS84)


def _read_as(feature: RawFeature) -> str:
    meaning = meaning_of(feature.tags)
    if meaning is None or meaning.kind is Kind.IGNORED:
        return ""
    ground = meaning.ground
    return meaning.kind.value if ground is None else ground.name.lower().replace("_", " ")


def _without_gaps(shape: BaseGeometry) -> BaseGeometry:
    """A shape with all its heights, or with none of them."""
    if not shapely.has_z(shape):
        return shape
    known = np.isfinite(shapely.get_coordinates(shape, include_z=True)[:, 2]).all()
    return shape if known else shapely.force_2d(shape)
