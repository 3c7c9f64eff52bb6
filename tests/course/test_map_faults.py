"""Every fault of a map gets one clear line, never a traceback."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.course import map_check
from planner.course.lies import Ground
from planner.course.reading import MapReport, check_map, read_course
from planner.errors import CourseMapError


def findings(report: MapReport, severity: str) -> list[str]:
    return [str(finding) for finding in report.findings if finding.severity == severity]


def assert_found(report: MapReport, severity: str, *words: str) -> None:
    lines = findings(report, severity)
    assert any(all(word in line for word in words) for line in lines), (words, report.findings)


def test_a_sound_map_has_no_errors_or_warnings(drawing: Any) -> None:
    report = check_map(drawing.hole().outline(name="Invented Links").write())
    assert report.usable
    assert not findings(report, "error") + findings(report, "warning")
    assert read_course(Path(report.source)).name == "Invented Links"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", ["empty"]),
        (b"   \n", ["empty"]),
        (b"hello", ["not JSON"]),
        (b'{"type": "FeatureCollection", "features": [', ["not JSON"]),
        (b'{"type": "Feature"}\n{"type": "Feature"}', ["one feature a line"]),
        (b"[1, 2]", ["not GeoJSON", "object"]),
        (b'{"type": "Topology"}', ["'type' is 'Topology'"]),
        (b'{"elements": []}', ["query answer"]),
        (b'{"type": "Feature", "geometry": null}', ["a single Feature"]),
        (b'{"type": "Polygon", "coordinates": []}', ["a single Polygon"]),
        (b'{"type": "FeatureCollection"}', ["no list 'features'"]),
        (b'{"type": "FeatureCollection", "features": []}', ["is empty"]),
        (b"[" * 200_000, ["nested too deep"]),
        (b"1" * 5000, ["not JSON"]),
        (b"\xff\xfe\x00h", ["not UTF-8"]),
        (b'{"type": "FeatureCollection", "features": [3, null]}', ["no feature"]),
    ],
)
def test_files_that_are_no_map(tmp_path: Path, content: bytes, words: list[str]) -> None:
    path = tmp_path / "map.geojson"
    path.write_bytes(content)
    report = check_map(path)
    assert not report.usable
    assert_found(report, "error", *words)
    with pytest.raises(CourseMapError, match=r"map\.geojson"):
        read_course(path)


def test_missing_file_folder_and_huge_file(
    tmp_path: Path, drawing: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert_found(check_map(tmp_path / "none.geojson"), "error", "cannot be read")
    assert_found(check_map(tmp_path), "error", "folder")
    monkeypatch.setattr(map_check, "MAX_FILE_MB", 0.0001)
    assert_found(check_map(drawing.hole().write()), "error", "more than")


@pytest.mark.parametrize("name", ["urn:ogc:def:crs:OGC:1.3:CRS84", "EPSG:4326"])
def test_legacy_crs_of_wgs_84_is_accepted(drawing: Any, name: str) -> None:
    drawing.members["crs"] = {"type": "name", "properties": {"name": name}}
    assert check_map(drawing.hole().write()).usable


@pytest.mark.parametrize(
    "crs", [{"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::3857"}}, 7, {}]
)
def test_other_crs_is_an_error(drawing: Any, crs: Any) -> None:
    drawing.members["crs"] = crs
    assert_found(check_map(drawing.hole().write()), "error", "not longitude and latitude")


def test_projected_and_swapped_coordinates(new_drawing: Callable[[], Any]) -> None:
    projected = new_drawing()
    projected.add(
        {"type": "LineString", "coordinates": [[512000, 4990000], [512000, 4990400]]},
        golf="hole",
        ref="1",
    )
    assert_found(check_map(projected.write()), "error", "projected")
    swapped = new_drawing()
    swapped.add({"type": "LineString", "coordinates": [[45, 150], [45.003, 150]]}, golf="hole")
    assert_found(check_map(swapped.write()), "error", "latitude is written before longitude")


def test_plausibly_swapped_feature_is_read_the_other_way_and_said(drawing: Any) -> None:
    drawing.hole(parts=("tee", "fairway"))
    ring = [drawing.lonlat(*point)[::-1] for point in drawing.disc(0, 380, 14)]
    drawing.add({"type": "Polygon", "coordinates": [ring]}, golf="green")
    report = check_map(drawing.write())
    assert_found(report, "warning", "latitude seems to be written before longitude")
    assert report.course is not None
    (green,) = report.course.holes[0].areas_of(Ground.GREEN)
    assert green.shape_hole.centroid.x == pytest.approx(380, abs=0.1)


def test_the_place_is_said_because_a_whole_file_may_be_swapped(drawing: Any) -> None:
    assert_found(check_map(drawing.hole().write()), "note", "N", "30.0000 W", "exchanged")


def test_feature_far_away_is_left_out(drawing: Any) -> None:
    drawing.hole().add({"type": "Point", "coordinates": [10, 10]}, natural="tree")
    assert_found(check_map(drawing.write()), "warning", "degrees from the course")


@pytest.mark.parametrize(
    ("geometry", "words"),
    [
        (None, "no geometry"),
        (7, "not an object"),
        ({"type": "Circle", "coordinates": [0, 0]}, "unknown geometry type"),
        ({"type": ["Polygon"], "coordinates": []}, "unknown geometry type"),
        ({"type": "Polygon", "coordinates": []}, "empty Polygon"),
        ({"type": "Polygon"}, "empty Polygon"),
        ({"type": "Polygon", "coordinates": [[]]}, "nested 2 deep instead of 3"),
        ({"type": "Polygon", "coordinates": [[-30, 45], [-30, 46]]}, "nested 2 deep instead of 3"),
        ({"type": "LineString", "coordinates": [-30, 45]}, "nested 1 deep instead of 2"),
        ({"type": "LineString", "coordinates": [[-30, 45]]}, "single position"),
        ({"type": "Point", "coordinates": [[-30, 45]]}, "nested 2 deep instead of 1"),
        ({"type": "Point", "coordinates": ["-30", "45"]}, "is not two numbers"),
        ({"type": "Point", "coordinates": [True, 45]}, "is not two numbers"),
        ({"type": "Point", "coordinates": [math.nan, 45]}, "NaN or infinite"),
        ({"type": "Point", "coordinates": [10**400, 45]}, "NaN or infinite"),
        ({"type": "LineString", "coordinates": [[-30, 45], [-30, math.inf]]}, "NaN or infinite"),
        (
            {"type": "Polygon", "coordinates": [[[-30, 45], [-30, 45.001], [-30, 45]]]},
            "fewer than three",
        ),
        ({"type": "GeometryCollection", "geometries": []}, "empty GeometryCollection"),
    ],
)
@pytest.mark.parametrize("tags", [{"golf": "bunker"}, {"golf": "hole", "ref": "9"}])
def test_broken_geometry_is_left_out_and_the_rest_still_read(
    drawing: Any, geometry: Any, words: str, tags: dict[str, str]
) -> None:
    report = check_map(drawing.hole().add(geometry, **tags).write())
    assert report.usable
    left_out = "hole left out" if tags["golf"] == "hole" else "left out"
    assert_found(report, "warning", "way/5", words, left_out)


def test_self_crossing_unclosed_and_repeated_corners_are_mended(drawing: Any) -> None:
    drawing.hole()
    drawing.area([(20, 200), (40, 220), (40, 200), (20, 220), (20, 200)], golf="bunker")
    drawing.area([(-20, 200), (-40, 200), (-40, 220), (-20, 220)], golf="bunker")
    drawing.area([(-20, 240), (-40, 240), (-40, 240), (-40, 260), (-20, 240)], golf="bunker")
    report = check_map(drawing.write())
    assert_found(report, "warning", "way/5", "crosses itself", "repaired")
    assert_found(report, "warning", "way/6", "not closed", "closed it")
    assert_found(report, "note", "way/7", "1 corners repeat")
    assert report.course is not None
    areas = {area.feature_id: area.shape_hole for area in report.course.holes[0].areas}
    assert all(shape.is_valid for shape in areas.values())
    assert areas["way/5"].area == pytest.approx(200, rel=1e-4)
    assert areas["way/6"].area == pytest.approx(400, rel=1e-4)


def test_line_of_no_length(drawing: Any) -> None:
    report = check_map(drawing.hole().line([(0, 0), (0, 0)], golf="hole", ref="2").write())
    assert_found(report, "warning", "way/5", "no length", "hole left out")


def test_no_hole_lines_says_what_to_draw(drawing: Any) -> None:
    drawing.outline().area(drawing.disc(0, 0, 10), golf="green")
    report = check_map(drawing.write())
    assert not report.usable
    assert_found(report, "error", "no hole is drawn", "from tee to green", "1 greens")


def test_only_a_hole_point(drawing: Any) -> None:
    report = check_map(drawing.point(0, 0, golf="hole", ref="1").write())
    assert_found(report, "error", "none of its hole features can be used")
    assert_found(report, "warning", "drawn as a point")


def test_hole_drawn_as_an_area_or_closed_line(drawing: Any) -> None:
    drawing.area(drawing.box(-30, -20, 30, 400), golf="hole", ref="1", par="4")
    drawing.area(drawing.box(-4, -4, 4, 4), golf="tee")
    drawing.area(drawing.disc(0, 380, 14), golf="green")
    drawing.line(drawing.box(70, -20, 130, 400), golf="hole", ref="2", par="4")
    drawing.area(drawing.disc(100, 380, 14), golf="green")
    report = check_map(drawing.write())
    assert report.course is not None
    first, second = report.course.holes
    assert first.line_hole.length == pytest.approx(380, abs=0.01)
    assert_found(report, "warning", "hole drawn as an area", "farthest tee")
    assert second.line_hole.length == pytest.approx(math.hypot(400, 30), abs=0.01)
    assert_found(report, "warning", "hole drawn as an area", "farthest corner")


def test_line_from_green_to_tee_is_turned_round(drawing: Any) -> None:
    drawing.line([(0, 380), (0, 0)], golf="hole", ref="1", par="4")
    drawing.area(drawing.box(-4, -4, 4, 4), golf="tee")
    drawing.area(drawing.disc(0, 380, 14), golf="green")
    report = check_map(drawing.write())
    assert_found(report, "warning", "from green to tee", "turned round")
    assert report.course is not None
    hole = report.course.holes[0]
    assert hole.tees[0].position_hole == pytest.approx((0, 0), abs=0.1)
    assert hole.pin_hole == pytest.approx((380, 0), abs=0.1)


def test_right_way_round_beside_the_last_green(drawing: Any) -> None:
    # The tee is 12 m from the green of the hole before, and this hole's green is not drawn.
    drawing.hole(parts=("tee", "fairway"))
    drawing.area(drawing.disc(20, 0, 10), golf="green")
    report = check_map(drawing.write())
    assert not any("turned round" in line for line in findings(report, "warning"))


def test_line_that_ends_nowhere_near_a_green(drawing: Any) -> None:
    drawing.hole(parts=("tee", "fairway")).area(drawing.disc(90, 380, 10), golf="green")
    report = check_map(drawing.write())
    assert_found(report, "warning", "hole 1", "no green", "the nearest is 80 m off", "12 m radius")
    assert report.course is not None
    hole = report.course.holes[0]
    (green,) = hole.areas_of(Ground.GREEN)
    assert green.feature_id == "assumed green"
    assert green.shape_hole.area == pytest.approx(math.pi * 12**2, rel=0.01)
    assert any("round green" in text for text in report.course.assumptions)


def test_no_fairway_is_assumed_round_the_line_but_not_through_woods(drawing: Any) -> None:
    drawing.hole(parts=("tee", "green")).area(drawing.box(5, 200, 60, 250), natural="wood")
    report = check_map(drawing.write())
    assert_found(report, "warning", "no fairway", "30 m wide")
    assert report.course is not None
    (fairway,) = report.course.holes[0].areas_of(Ground.FAIRWAY)
    (wood,) = report.course.holes[0].areas_of(Ground.TREES)
    assert fairway.shape_hole.contains(shapely.Point(300, 0))
    assert not fairway.shape_hole.contains(shapely.Point(50, 0))
    assert fairway.shape_hole.intersection(wood.shape_hole).area < 1e-6


@pytest.mark.parametrize(
    ("length", "par", "expected", "words"),
    [
        (150, None, 3, "no par"),
        (380, None, 4, "no par"),
        (500, None, 5, "no par"),
        (650, None, 6, "no par"),
        (380, "4/5", 4, "par '4/5'"),
        (380, "4;5", 4, "par '4;5'"),
        (380, "four", 4, "not a par"),
        (380, "0", 4, "not a par"),
        (500, "3", 3, "par 3 on a line of 500 m"),
    ],
)
def test_par(drawing: Any, length: int, par: str | None, expected: int, words: str) -> None:
    report = check_map(drawing.hole(length=length, par=par).write())
    assert report.course is not None
    assert report.course.holes[0].par == expected
    assert_found(report, "warning", words)


@pytest.mark.parametrize(
    ("text", "expected"), [("7", 7), ("18", 18), (None, None), ("19", None), ("x", None)]
)
def test_stroke_index(drawing: Any, text: str | None, expected: int | None) -> None:
    report = check_map(drawing.hole(handicap=text).write())
    assert report.course is not None
    assert report.course.holes[0].stroke_index == expected
    if text and expected is None:
        assert_found(report, "warning", "not a stroke index")


def test_unknown_tags_get_one_line_each_with_a_count(drawing: Any) -> None:
    drawing.hole().point(5, 5, golf="ball_washer").point(6, 5, golf="ball_washer")
    drawing.point(7, 7, amenity="bench")
    notes = findings(check_map(drawing.write()), "note")
    assert sum("ball_washer" in note for note in notes) == 1
    assert any("golf=ball_washer (2 features)" in note for note in notes)
    assert any("amenity=* (1 feature)" in note for note in notes)


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["type", "coordinates", "geometry", "properties", "id", "x"]),
            inner,
            max_size=3,
        )
    ),
    max_leaves=6,
)


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_no_damage_to_a_map_raises(data: st.DataObject, new_drawing: Callable[[], Any]) -> None:
    document = json.loads(new_drawing().hole().outline().text())
    for _ in range(data.draw(st.integers(1, 3))):
        place: Any = document
        while True:
            keys = list(place) if isinstance(place, dict) else list(range(len(place)))
            if not keys:
                break
            key = data.draw(st.sampled_from(keys))
            inner = place[key]
            if isinstance(inner, dict | list) and inner and data.draw(st.integers(0, 4)):
                place = inner
                continue
            place[key] = data.draw(JSON_VALUES)
            break
    path = new_drawing().folder / "damaged.geojson"
    path.write_text(json.dumps(document), encoding="utf-8")
    report = check_map(path)
    assert report.usable == (not findings(report, "error"))


GEOMETRIES = {
    "Point": [0, 190],
    "MultiPoint": [[0, 190], [5, 200]],
    "LineString": [[-10, 180], [10, 200]],
    "closed LineString": [[-10, 180], [10, 180], [10, 200], [-10, 180]],
    "MultiLineString": [[[-10, 180], [0, 200]], [[5, 180], [9, 210]]],
    "Polygon": [[[-10, 180], [10, 180], [10, 200], [-10, 180]]],
    "MultiPolygon": [[[[-9, 180], [9, 180], [9, 200], [-9, 180]]]],
}
TAGS = [
    *({"golf": value} for value in ("hole", "tee", "green", "pin", "fairway", "bunker", "rough")),
    *({"golf": value} for value in ("out_of_bounds", "water_hazard", "driving_range", "path")),
    {"leisure": "golf_course"},
    {"natural": "tree"},
    {"natural": "tree_row", "width": "x"},
    {"waterway": "stream", "width": "-3"},
    {"natural": "sand", "ele": "1e5"},
]


@pytest.mark.parametrize("tags", TAGS, ids=str)
@pytest.mark.parametrize("kind", GEOMETRIES)
def test_any_tag_on_any_geometry(drawing: Any, kind: str, tags: dict[str, str]) -> None:
    def placed(value: Any) -> Any:
        if isinstance(value[0], list):
            return [placed(inner) for inner in value]
        return drawing.lonlat(*value)

    geometry = {"type": kind.split()[-1], "coordinates": placed(GEOMETRIES[kind])}
    collection = {"type": "GeometryCollection", "geometries": [geometry, geometry]}
    drawing.hole().outline()
    report = check_map(drawing.add(geometry, **tags).add(collection, **tags).write())
    assert report.course is not None
    for hole in report.course.holes:
        assert all(area.shape_hole.is_valid for area in hole.areas)
        assert hole.in_bounds is not None
        assert hole.in_bounds.is_valid
