"""A course drawn from nothing, checked and planned on; pins; other formats."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from planner.course.map_document import MapDocument, added, read_document
from planner.course.map_kinds import DRAWN_KINDS, asked_of, tags_for
from planner.course.map_sheet import MapSheet, centre_of_document, map_sheet
from planner.course.tags import Kind, meaning_of
from planner.demo_data import demo_folder
from planner.errors import OptionError
from planner.planning.map_work import (
    check_document,
    convert_map,
    corner_near,
    empty_map,
    gaps_of,
    moved_to,
    place_pin,
)

CENTRE = (-30.2, 46.1)


def sheet_of(document: MapDocument) -> MapSheet:
    return map_sheet(document, centre_lonlat=CENTRE)


def drawn(document: MapDocument, name: str, points: list[tuple[float, float]], **answers: str):
    kind = DRAWN_KINDS[name]
    places = sheet_of(document).to_lonlat(points)
    return added(document, kind.drawn_as, places, tags_for(kind, answers))


def box(x: float, y: float, half: float) -> list[tuple[float, float]]:
    return [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]


@pytest.fixture
def course() -> MapDocument:
    """One hole of 300 m going north, without a fairway."""
    document = empty_map("New Links", *CENTRE)
    document = drawn(document, "line of a hole", [(0, -150), (0, 50), (0, 150)], ref="1", par="4")
    document = drawn(document, "tee", box(0, -150, 4), tee="white", ref="1")
    return drawn(document, "green", box(0, 150, 12))


def test_a_course_drawn_from_nothing_can_be_planned_on(course: MapDocument) -> None:
    report = check_document(course)
    assert report.course is not None, [str(f) for f in report.findings]
    (hole,) = report.course.holes
    assert report.course.name == "New Links"
    assert (hole.ref, hole.par) == ("1", 4)
    assert [tee.name for tee in hole.tees] == ["white"]
    assert hole.length_from(hole.tees[0]) == pytest.approx(300, abs=1)
    assert hole.in_bounds is not None


def test_every_kind_is_read_as_what_it_is_called(course: MapDocument) -> None:
    for kind in DRAWN_KINDS.values():
        assert meaning_of(kind.tags) is not None, kind.name
    document = course
    for name, shape in (
        ("bunker", box(20, 140, 5)),
        ("red penalty area", box(-40, 0, 15)),
        ("yellow penalty area", box(40, 0, 15)),
        ("wood", box(60, 60, 10)),
        ("deep rough", box(-60, 60, 10)),
        ("fairway", box(0, 20, 14)),
    ):
        document = drawn(document, name, shape)
    document = drawn(document, "stream", [(-50, 80), (50, 80)], width="3")
    report = check_document(document)
    assert report.course is not None
    grounds = {area.ground.name for area in report.course.holes[0].areas}
    assert {"SAND", "RED", "YELLOW", "TREES", "DEEP_ROUGH", "FAIRWAY", "GREEN"} <= grounds


def test_what_is_missing_is_told_hole_by_hole(course: MapDocument) -> None:
    (gap,) = gaps_of(sheet_of(course))
    assert (gap.tee, gap.green, gap.par) == (True, True, True)
    assert (gap.fairway, gap.pin) == (False, False)
    bare = drawn(empty_map("Bare", *CENTRE), "line of a hole", [(0, 0), (0, 200)], ref="7")
    (gap,) = gaps_of(sheet_of(bare))
    assert gap == type(gap)("7", True, False, False, False, False, False)


def test_a_pin_goes_where_it_is_put_and_the_old_one_away(course: MapDocument) -> None:
    once = place_pin(course, sheet_of(course), "1", (5.0, 155.0))
    twice = place_pin(once, sheet_of(once), "1", (-6.0, 148.0))
    pins = [i for i in sheet_of(twice).items if i.kind is Kind.PIN]
    assert len(pins) == 1
    assert np.allclose(pins[0].shape_proj.coords[0], (-6.0, 148.0), atol=0.02)
    report = check_document(twice)
    assert report.course is not None
    hole = report.course.holes[0]
    along, across = np.array(hole.frame.to_proj([hole.pin_hole])[0])
    tee = hole.frame.to_proj([hole.tees[0].position_hole])[0]
    assert np.allclose(np.array([along, across]) - tee, (-6.0, 298.0), atol=0.1)
    with pytest.raises(OptionError, match="not on the green of hole 1"):
        place_pin(course, sheet_of(course), "1", (60.0, 155.0))
    with pytest.raises(OptionError, match="no hole 9"):
        place_pin(course, sheet_of(course), "9", (0.0, 150.0))


def test_taps_mean_the_smallest_thing_there(course: MapDocument) -> None:
    sheet = sheet_of(course)
    green = sheet.at((3.0, 145.0), 1.0)
    assert green is not None
    assert green.kind is Kind.GREEN
    line = sheet.at((1.0, 100.0), 3.0)
    assert line is not None
    assert line.kind is Kind.HOLE
    outline = sheet.at((100.0, 100.0), 3.0)
    assert outline is not None
    assert outline.kind is Kind.OUTLINE
    assert sheet.at((5000.0, 0.0), 3.0) is None


def test_moving_a_thing_keeps_its_shape(course: MapDocument) -> None:
    sheet = sheet_of(course)
    index = next(i.index for i in sheet.items if i.kind is Kind.GREEN)
    moved = sheet_of(moved_to(course, sheet, index, (30.0, 140.0))).item(index)
    assert moved is not None
    assert moved.shape_proj.centroid.x == pytest.approx(30.0, abs=0.05)
    assert moved.shape_proj.area == pytest.approx(576.0, rel=2e-3)


def test_the_nearest_corner_in_reach() -> None:
    corners = np.array([[0.0, 0.0], [10.0, 0.0]])
    assert corner_near(corners, (9.0, 1.0), 3.0) == 1
    assert corner_near(corners, (5.0, 5.0), 3.0) is None
    assert corner_near(np.empty((0, 2)), (5.0, 5.0), 3.0) is None


def test_what_is_asked_of_a_kind() -> None:
    assert [key for key, _ in asked_of({"golf": "hole"})] == ["ref", "par", "handicap", "name"]
    assert [key for key, _ in asked_of({"golf": "tee"})] == ["tee", "ref"]
    assert [key for key, _ in asked_of({"golf": "bunker"})] == ["name"]
    assert [key for key, _ in asked_of({"building": "yes"})] == ["name"]


def test_a_new_map_is_somewhere() -> None:
    with pytest.raises(OptionError, match="latitude"):
        empty_map("x", 200.0, 10.0)
    assert centre_of_document(empty_map("x", *CENTRE)) == pytest.approx(CENTRE, abs=1e-6)


def test_converting_by_ending(tmp_path: Path) -> None:
    source = demo_folder() / "mossquern.osm"
    out = tmp_path / "m.geojson"
    assert convert_map(source, out) == len(read_document(source).features)
    assert len(read_document(out).features) == len(read_document(source).features)
    with pytest.raises(OptionError, match="no ending of a map"):
        convert_map(source, tmp_path / "m.pdf")
    with pytest.raises(OptionError, match="cannot be written"):
        convert_map(source, tmp_path / "nowhere" / "m.geojson")
