"""Maps that are changed and written again: nothing else changes, and files are as RFC 7946 asks."""

from __future__ import annotations

import json
from pathlib import Path

import geopandas
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import shape as geometry_of

from planner.course.features import RawFeature
from planner.course.map_document import (
    MapDocument,
    added,
    read_document,
    removed,
    reshaped,
    retagged,
    with_corner_added,
    without_corner,
)
from planner.course.map_writing import geojson_text, geopackage_bytes
from planner.course.reading import read_course
from planner.demo_data import demo_folder
from planner.errors import CourseMapError, OptionError

SQUARE = [(-30.0, 46.0), (-30.0, 46.001), (-29.999, 46.001), (-29.999, 46.0)]
MAPS = ("tarrowick.geojson", "pebblecote.geojson", "mossquern.osm")
PLACES = st.tuples(st.floats(-30.01, -29.99), st.floats(45.99, 46.01))


@pytest.fixture(scope="module", params=MAPS)
def document(request: pytest.FixtureRequest) -> MapDocument:
    return read_document(demo_folder() / request.param)


def rings_of(geometry: dict) -> list[tuple[bool, list]]:
    """Rings of a GeoJSON geometry, and whether each is an outer one."""
    if geometry["type"] == "Polygon":
        return [(i == 0, ring) for i, ring in enumerate(geometry["coordinates"])]
    if geometry["type"] == "MultiPolygon":
        return [(i == 0, ring) for part in geometry["coordinates"] for i, ring in enumerate(part)]
    return []


def test_a_saved_map_is_geojson_with_right_handed_rings(document: MapDocument) -> None:
    content = json.loads(geojson_text(document))
    assert content["type"] == "FeatureCollection"
    assert "crs" not in content
    west, south, east, north = content["bbox"]
    assert len(content["features"]) == len(document.features)
    count = 0
    for feature in content["features"]:
        assert feature["type"] == "Feature"
        assert isinstance(feature["properties"], dict)
        for is_outer, ring in rings_of(feature["geometry"]):
            count += 1
            assert len(ring) >= 4
            assert ring[0] == ring[-1]
            flat = [position[:2] for position in ring]
            assert bool(shapely.is_ccw(shapely.LinearRing(flat))) == is_outer
        assert geometry_of(feature["geometry"]).within(
            shapely.box(west, south, east, north).buffer(1e-6)
        )
    assert count > 20


@pytest.mark.parametrize("name", MAPS)
def test_a_saved_map_is_the_same_course(name: str, tmp_path: Path) -> None:
    source = demo_folder() / name
    saved = tmp_path / "again.geojson"
    saved.write_text(geojson_text(read_document(source)), encoding="utf-8")
    before, after = read_course(source), read_course(saved)
    assert before.name == after.name
    assert before.attribution == after.attribution
    assert [hole.ref for hole in before.holes] == [hole.ref for hole in after.holes]
    for old, new in zip(before.holes, after.holes, strict=True):
        assert (old.par, old.stroke_index, old.name) == (new.par, new.stroke_index, new.name)
        assert new.pin_hole == pytest.approx(old.pin_hole, abs=0.05)
        assert [tee.name for tee in old.tees] == [tee.name for tee in new.tees]
        areas = [sum(a.shape_hole.area for a in hole.areas) for hole in (old, new)]
        assert areas[1] == pytest.approx(areas[0], rel=2e-3)
        assert new.elevation(100.0) == pytest.approx(old.elevation(100.0), abs=0.1)


def test_a_geopackage_holds_every_feature(document: MapDocument, tmp_path: Path) -> None:
    path = tmp_path / "map.gpkg"
    path.write_bytes(geopackage_bytes(document))
    found = 0
    for layer in ("areas", "lines", "points"):
        if layer not in set(geopandas.list_layers(path)["name"]):
            continue
        frame = geopandas.read_file(path, layer=layer)
        assert frame.crs.to_epsg() == 4326
        found += len(frame)
        by_id = {f.feature_id: f for f in document.features}
        for row in frame.head(5).itertuples():
            assert json.loads(row.tags) == dict(by_id[row.feature_id].tags)
    assert found == len(document.features)
    holes = geopandas.read_file(path, layer="lines").query("read_as == 'hole'")
    assert set(holes["ref"]) >= {"1", "2", "3"}


def test_a_drawn_feature_can_be_taken_back(document: MapDocument) -> None:
    more = added(document, "area", SQUARE, {"golf": "green", "ref": " 3 ", "name": ""})
    assert len(more.features) == len(document.features) + 1
    assert more.features[-1].tags == {"golf": "green", "ref": "3"}
    assert more.features[-1].feature_id not in {f.feature_id for f in document.features}
    again = added(more, "point", SQUARE[:1], {"golf": "pin"})
    assert len({f.feature_id for f in again.features}) == len(again.features)
    assert removed(more, len(document.features)).features == document.features


def test_corners_are_the_features_own(document: MapDocument) -> None:
    for index in range(len(document.features)):
        corners = document.corners(index)
        elsewhere = corners + np.array([0.001, -0.002])
        moved = reshaped(document, index, elsewhere)
        assert np.allclose(moved.corners(index), elsewhere, atol=2e-7)
        others = [f for i, f in enumerate(moved.features) if i != index]
        assert others == [f for i, f in enumerate(document.features) if i != index]
        old, new = (d.features[index].geometry_lonlat for d in (document, moved))
        assert old.geom_type == new.geom_type


def test_corners_come_and_go() -> None:
    square = added(MapDocument((), "x"), "area", SQUARE, {"golf": "green"})
    more = with_corner_added(square, 0, (-29.9995, 46.0012))
    assert len(more.corners(0)) == 5
    assert more.features[0].geometry_lonlat.is_valid
    assert (
        without_corner(more, 0, 2)
        .features[0]
        .geometry_lonlat.equals(square.features[0].geometry_lonlat)
    )
    triangle = without_corner(square, 0, 0)
    with pytest.raises(OptionError, match="3 different points"):
        without_corner(triangle, 0, 0)


@given(st.lists(PLACES, min_size=1, max_size=8), st.sampled_from(["point", "line", "area"]))
def test_whatever_is_drawn_can_be_saved_or_is_refused(
    points: list[tuple[float, float]], drawn_as: str
) -> None:
    empty = MapDocument((), "x")
    different = len({(round(x, 7), round(y, 7)) for x, y in points})
    if different < {"point": 1, "line": 2, "area": 3}[drawn_as]:
        with pytest.raises(OptionError, match="different points"):
            added(empty, drawn_as, points, {})
        return
    drawn = added(empty, drawn_as, points, {"golf": "green"})
    (feature,) = json.loads(geojson_text(drawn))["features"]
    for is_outer, ring in rings_of(feature["geometry"]):
        assert ring[0] == ring[-1]
        assert len(ring) >= 4
        assert is_outer


def test_tags_can_be_changed_and_dropped(document: MapDocument) -> None:
    changed = retagged(document, 0, {"leisure": "golf_course", "name": " New Name ", "x": " "})
    assert changed.features[0].tags == {"leisure": "golf_course", "name": "New Name"}
    assert changed.features[0].geometry_lonlat is document.features[0].geometry_lonlat


def test_heights_that_are_not_known_are_not_written() -> None:
    line = shapely.LineString([(-30.0, 46.0, 12.345), (-30.0, 46.001, np.nan)])
    text = geojson_text(MapDocument((RawFeature("way/1", {"golf": "hole"}, line),), "x"))
    assert json.loads(text)["features"][0]["geometry"]["coordinates"] == [
        [-30.0, 46.0, 12.35],
        [-30.0, 46.001],
    ]
    assert "NaN" not in text


def test_what_is_no_map_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "no.geojson"
    path.write_text("[]")
    with pytest.raises(CourseMapError, match="not GeoJSON"):
        read_document(path)
