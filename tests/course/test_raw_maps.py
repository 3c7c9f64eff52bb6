"""Whole files as they come: XML exports, and one freely drawn course in both formats."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import shapely

from planner.course.lies import Ground
from planner.course.reading import MapReport, check_map, read_course

DATA = Path(__file__).parents[1] / "data"
NODES = {
    1: (0.0, 0.0),
    2: (0.0, 0.0034),
    11: (0.0005, 0.001),
    12: (0.0010, 0.001),
    13: (0.0010, 0.002),
    14: (0.0005, 0.002),
    21: (0.0007, 0.0013),
    22: (0.0008, 0.0013),
    23: (0.0008, 0.0016),
}
HOLE = '<way id="1"><nd ref="1"/><nd ref="2"/><tag k="golf" v="hole"/><tag k="ref" v="1"/></way>'


def way(number: int, nodes: str, **tags: str) -> str:
    refs = "".join(f'<nd ref="{node}"/>' for node in nodes.split())
    pairs = "".join(f'<tag k="{key}" v="{value}"/>' for key, value in tags.items())
    return f'<way id="{number}">{refs}{pairs}</way>'


def wood(*members: tuple[int, str], tagged: bool = True) -> str:
    refs = "".join(f'<member type="way" ref="{n}" role="{role}"/>' for n, role in members)
    tag = '<tag k="natural" v="wood"/>' if tagged else ""
    return f'<relation id="5">{refs}<tag k="type" v="multipolygon"/>{tag}</relation>'


@pytest.fixture
def check_xml(tmp_path: Path) -> Callable[..., MapReport]:
    def check(*parts: str, head: str = "", root: str = "osm") -> MapReport:
        nodes = "".join(
            f'<node id="{n}" lon="{lon - 30}" lat="{lat + 45}"/>' for n, (lon, lat) in NODES.items()
        )
        text = f'<?xml version="1.0"?>{head}<{root} version="0.6">{nodes}{"".join(parts)}</{root}>'
        path = tmp_path / "map.osm"
        path.write_text(text, encoding="utf-8")
        return check_map(path)

    return check


def wood_area(report: MapReport) -> float:
    assert report.course is not None, report.findings
    return sum(a.shape_hole.area for a in report.course.holes[0].areas_of(Ground.TREES))


# Of the box 0.0005 by 0.001 degrees and the triangle cut out of it, at 45 N (WGS 84 degree
# lengths: 78.85 km of longitude, 111.13 km of latitude).
BOX = 0.0005 * 78_847 * 0.001 * 111_132
TRIANGLE = 0.5 * 0.0001 * 78_847 * 0.0003 * 111_132


def test_closed_way_is_an_area(check_xml: Callable[..., MapReport]) -> None:
    report = check_xml(HOLE, way(2, "11 12 13 14 11", natural="wood"))
    assert wood_area(report) == pytest.approx(BOX, rel=1e-3)


# The attributes are those of the public map's export, the note that of its query service.
@pytest.mark.parametrize(
    ("attributes", "note", "said"),
    [
        ("", "", ""),
        ('attribution="drawn by hand"', "", "drawn by hand"),
        (
            'copyright="OpenStreetMap and contributors" '
            'attribution="http://www.openstreetmap.org/copyright" '
            'license="http://opendatacommons.org/licenses/odbl/1-0/"',
            "<note>something else</note>",
            "OpenStreetMap and contributors; http://www.openstreetmap.org/copyright; "
            "http://opendatacommons.org/licenses/odbl/1-0/",
        ),
        (
            "",
            "<note>The data is\n made available under ODbL.</note>",
            "The data is made available under ODbL.",
        ),
    ],
)
def test_source_is_what_the_file_says(
    tmp_path: Path,
    check_xml: Callable[..., MapReport],
    attributes: str,
    note: str,
    said: str,
) -> None:
    check_xml(note, HOLE)
    path = tmp_path / "map.osm"
    text = path.read_text(encoding="utf-8").replace("<osm ", f"<osm {attributes} ", 1)
    path.write_text(text, encoding="utf-8")
    report = check_map(path)
    assert report.course is not None
    assert report.course.attribution == said
    unnamed = [note for note in report.course.assumptions if "names no source" in note]
    assert len(unnamed) == (said == "")


@pytest.mark.parametrize("tagged", [True, False])
def test_multipolygon_of_joined_ways_with_a_hole(
    check_xml: Callable[..., MapReport], tagged: bool
) -> None:
    tags = {} if tagged else {"natural": "wood"}
    ways = (way(2, "11 12 13", **tags), way(3, "11 14 13"), way(4, "21 22 23 21"))
    relation = wood((2, "outer"), (3, "outer"), (4, "inner"), tagged=tagged)
    report = check_xml(HOLE, *ways, relation)
    assert wood_area(report) == pytest.approx(BOX - TRIANGLE, rel=1e-3)


def test_ring_that_does_not_close_and_missing_members(
    check_xml: Callable[..., MapReport],
) -> None:
    report = check_xml(HOLE, way(2, "11 12 13 14"), wood((2, "outer"), (99, "outer")))
    assert wood_area(report) == pytest.approx(BOX, rel=1e-3)
    texts = [str(finding) for finding in report.findings]
    assert any("relation/5" in text and "do not join" in text for text in texts)
    assert any(
        "relation/5" in text and "1 of its ways are not in the file" in text for text in texts
    )


def test_deleted_objects_and_bad_nodes(check_xml: Callable[..., MapReport]) -> None:
    deleted = way(2, "11 12 13 14 11", natural="wood").replace("<way ", '<way action="delete" ')
    bad = '<node id="70" lon="x" lat="1"/><node id="71" lon="nan" lat="1"/>'
    report = check_xml(HOLE, deleted, bad, way(3, "11 70 12 13 11", natural="wood"))
    texts = [str(finding) for finding in report.findings]
    assert any("2 nodes without a finite" in text for text in texts)
    assert any("way/3" in text and "1 of its nodes" in text for text in texts)
    assert wood_area(report) == pytest.approx(BOX / 2, rel=1e-3)


@pytest.mark.parametrize(
    "head",
    [
        '<!DOCTYPE osm [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>',
        '<!DOCTYPE osm SYSTEM "http://example.invalid/osm.dtd">',
    ],
)
def test_document_types_and_entities_are_refused(
    check_xml: Callable[..., MapReport], head: str
) -> None:
    report = check_xml(HOLE, head=head)
    assert not report.usable
    assert "refused" in str(report.findings[0])


def test_other_xml_and_broken_xml(check_xml: Callable[..., MapReport], tmp_path: Path) -> None:
    assert "root is <gpx>" in str(check_xml(HOLE, root="gpx").findings[0])
    assert not check_xml().usable
    path = tmp_path / "broken.osm"
    path.write_text("<osm><node", encoding="utf-8")
    assert "not well-formed XML" in str(check_map(path).findings[0])


@pytest.mark.parametrize("name", ["free_hand_course.geojson", "free_hand_course.osm"])
def test_freely_drawn_course(name: str) -> None:
    report = check_map(DATA / name)
    course = read_course(DATA / name)
    assert course == report.course
    assert course.name == "Hollin Skerry Golf Course"
    assert [(h.ref, h.par, h.stroke_index) for h in course.holes] == [
        ("1", 4, 3),
        ("2", 3, None),
        ("3", 5, None),
    ]
    first, second, third = course.holes
    assert [tee.name for tee in first.tees] == ["white", "yellow", "blue", "red"]
    # The card's 398 yd from white, measured along the drawn line to the drawn tee.
    assert first.length_from(first.tees[0]) == pytest.approx(398 * 0.9144, rel=0.03)
    assert second.name == "Heron"
    assert len(second.areas_of(Ground.YELLOW)) == 1
    assert len(first.areas_of(Ground.SAND)) == 3
    assert len(third.areas_of(Ground.RED)) == 1
    for hole in course.holes:
        assert hole.in_bounds is not None
        assert len(hole.areas_of(Ground.GREEN)) == 1
        assert hole.areas_of(Ground.GREEN)[0].shape_hole.contains(shapely.Point(hole.pin_hole))
        assert all(area.shape_hole.is_valid for area in hole.areas)
    texts = [str(finding) for finding in report.findings]
    for words in (
        "turned round",
        "par '5/4'",
        "handicap '25'",
        "read as yards",
        "ball_washer (1 feature)",
        "crosses itself",
        "no fairway is drawn",
        "pin of hole 2; placed at the golf=pin",
    ):
        assert any(words in text for text in texts), words


def test_both_formats_give_the_same_holes() -> None:
    # Heights are only in the XML file, a null geometry only in the other.
    geojson, xml = (read_course(DATA / f"free_hand_course.{kind}") for kind in ("geojson", "osm"))
    for one, other in zip(geojson.holes, xml.holes, strict=True):
        assert one.line_hole.equals_exact(other.line_hole, 1e-3)
        assert [tee.name for tee in one.tees] == [tee.name for tee in other.tees]
        areas = {area.feature_id: area.shape_hole.area for area in one.areas}
        twins = {area.feature_id: area.shape_hole.area for area in other.areas}
        assert areas == pytest.approx(twins, rel=1e-3)
    assert geojson.holes[0].elevation.is_level
    assert xml.holes[0].elevation.height[1] == pytest.approx(6.5, abs=0.1)
