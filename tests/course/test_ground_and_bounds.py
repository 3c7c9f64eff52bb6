"""Ground, penalty areas, boundaries and heights of a hole."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely

from planner.course.hole import Hole
from planner.course.lies import Area, Ground
from planner.course.reading import check_map, to_lonlat
from planner.course.tags import meaning_of


def read(drawing: Any) -> tuple[Hole, list[str]]:
    report = check_map(drawing.write())
    assert report.course is not None, report.findings
    return report.course.holes[0], [str(finding) for finding in report.findings]


def ground_of(hole: Hole, feature_id: str) -> Ground:
    (ground,) = {area.ground for area in hole.areas if area.feature_id == feature_id}
    return ground


@pytest.mark.parametrize(
    ("tags", "ground"),
    [
        ({"golf": "fairway"}, Ground.FAIRWAY),
        ({"golf": "faiway"}, Ground.FAIRWAY),
        ({"golf": "sand_trap"}, Ground.SAND),
        ({"golf": "bunker", "natural": "sand"}, Ground.SAND),
        ({"golf": "rough"}, Ground.ROUGH),
        ({"golf": "rough", "rough": "deep"}, Ground.DEEP_ROUGH),
        ({"golf": "rough", "natural": "scrub"}, Ground.DEEP_ROUGH),
        ({"golf": "rough", "landuse": "forest"}, Ground.TREES),
        ({"golf": "water_hazard"}, Ground.YELLOW),
        ({"golf": "lateral_water_hazard"}, Ground.RED),
        ({"golf": "Lateral Water-Hazard"}, Ground.RED),
        ({"golf": "water_hazard", "golf:penalty": "red"}, Ground.RED),
        ({"golf": "lateral_water_hazard", "golf:penalty": "yellow"}, Ground.YELLOW),
        ({"golf": "penalty_area"}, Ground.RED),
        ({"natural": "water"}, Ground.RED),
        ({"natural": "water", "golf:penalty": "yellow"}, Ground.YELLOW),
        ({"natural": "water", "golf": "water_hazard"}, Ground.YELLOW),
        ({"waterway": "ditch"}, Ground.RED),
        ({"natural": "wood"}, Ground.TREES),
        ({"landuse": "forest"}, Ground.TREES),
        ({"natural": "tree_row"}, Ground.TREES),
        ({"natural": "heath"}, Ground.DEEP_ROUGH),
        ({"natural": "grassland"}, Ground.DEEP_ROUGH),
    ],
)
def test_tag_table(tags: dict[str, str], ground: Ground) -> None:
    meaning = meaning_of(tags)
    assert meaning is not None
    assert meaning.ground is ground


@pytest.mark.parametrize("tags", [{"building": "yes"}, {"golf": "ball_washer"}, {}])
def test_tags_outside_the_table(tags: dict[str, str]) -> None:
    assert meaning_of(tags) is None


def test_stream_in_a_pipe_is_no_water() -> None:
    meaning = meaning_of({"waterway": "stream", "tunnel": "culvert"})
    assert meaning is not None
    assert meaning.ground is None


def test_wrong_green_is_fairway(drawing: Any) -> None:
    # Rule 13.1f: relief must be taken from a wrong green, so nobody putts there.
    drawing.hole().area(drawing.disc(60, 200, 12), golf="green")
    hole, _ = read(drawing)
    assert ground_of(hole, "way/4") is Ground.GREEN
    assert ground_of(hole, "way/5") is Ground.FAIRWAY


def test_streams_and_trees_get_a_width(drawing: Any) -> None:
    drawing.hole()
    drawing.line([(-50, 200), (50, 200)], waterway="stream")
    drawing.line([(-50, 250), (50, 250)], waterway="stream", width="4")
    drawing.line([(-50, 300), (50, 300)], natural="tree_row")
    drawing.point(30, 100, natural="tree").point(40, 100, natural="tree")
    hole, said = read(drawing)
    sizes = {area.feature_id: area.shape_hole.bounds for area in hole.areas}
    assert sizes["way/5"][2] - sizes["way/5"][0] == pytest.approx(2, abs=0.01)
    assert sizes["way/6"][2] - sizes["way/6"][0] == pytest.approx(4, abs=0.01)
    assert sizes["way/7"][2] - sizes["way/7"][0] == pytest.approx(6, abs=0.01)
    assert len(shapely.get_parts(hole.areas_of(Ground.TREES)[-1].shape_hole)) == 2
    assert ground_of(hole, "way/5").area is Area.RED
    assert any("without a width" in line for line in said)


def test_water_drawn_twice_is_one_with_the_golf_colour(drawing: Any) -> None:
    drawing.hole()
    drawing.area(drawing.box(-41, 199, -19, 241), natural="water")
    drawing.area(drawing.box(-40, 200, -20, 240), golf="water_hazard")
    # A lake of which a small part is marked keeps its own colour elsewhere.
    drawing.area(drawing.box(20, 100, 100, 180), natural="water")
    drawing.area(drawing.box(15, 100, 30, 120), golf="water_hazard")
    hole, said = read(drawing)
    assert not any(area.feature_id == "way/5" for area in hole.areas)
    shapes = {area.feature_id: area.shape_hole for area in hole.areas}
    assert shapes["way/6"].area == pytest.approx(22 * 42, rel=1e-4)
    assert ground_of(hole, "way/7") is Ground.RED
    assert shapes["way/7"].area == pytest.approx(80 * 80 - 10 * 20, rel=1e-4)
    assert shapes["way/8"].area == pytest.approx(15 * 20, rel=1e-4)
    assert any("without a golf tag read as a red" in line for line in said)


def test_plain_sand_is_a_bunker_only_if_small_and_on_the_course(drawing: Any) -> None:
    drawing.hole().outline(drawing.box(-80, -100, 80, 500))
    drawing.area(drawing.box(20, 200, 40, 210), natural="sand")
    drawing.area(drawing.box(90, 100, 110, 110), natural="sand")
    drawing.area(drawing.box(-79, 100, -19, 200), natural="sand")
    hole, _ = read(drawing)
    grounds = [ground_of(hole, f"way/{n}") for n in (6, 7, 8)]
    assert grounds == [Ground.SAND, Ground.DEEP_ROUGH, Ground.DEEP_ROUGH]


def test_far_ground_is_cut_off_and_inner_rings_stay(drawing: Any) -> None:
    drawing.hole().area(
        drawing.box(-3000, 100, 3000, 160), drawing.box(30, 110, 50, 150), natural="wood"
    )
    hole, _ = read(drawing)
    (wood,) = hole.areas_of(Ground.TREES)
    assert wood.shape_hole.bounds[3] == pytest.approx(121, abs=0.1)
    assert not wood.shape_hole.intersects(shapely.Point(130, 40))
    # The hole frame is a mirror image of the map: shells must still run one way.
    assert wood.shape_hole.exterior.is_ccw
    assert not wood.shape_hole.interiors[0].is_ccw


def test_no_outline_no_bounds(drawing: Any) -> None:
    hole, said = read(drawing.hole())
    assert hole.in_bounds is None
    assert any("no course outline" in line for line in said)


def test_outline_is_in_bounds(drawing: Any) -> None:
    hole, _ = read(drawing.hole().outline())
    assert hole.in_bounds is not None
    assert hole.in_bounds.bounds == pytest.approx((-100, -150, 500, 150), abs=0.1)


@pytest.mark.parametrize("reach", [200, 60])
@pytest.mark.parametrize("side", [1, -1])
def test_the_side_of_the_hole_is_in_bounds(drawing: Any, side: int, reach: int) -> None:
    # One line crosses the outline; the other ends inside it and is drawn on.
    drawing.hole().outline()
    line = [(40 * side, -reach), (40 * side, 400 + reach)]
    hole, _ = read(drawing.line(line, golf="out_of_bounds"))
    assert hole.in_bounds is not None
    assert hole.in_bounds.area == pytest.approx(600 * 190, rel=1e-4)
    assert hole.in_bounds.contains(shapely.Point(200, 39 * side))
    assert not hole.in_bounds.contains(shapely.Point(200, 41 * side))


def test_one_line_between_two_holes_is_out_for_each_on_the_other_side(drawing: Any) -> None:
    drawing.hole(0, ref="1").hole(100, ref="2").outline(drawing.box(-150, -100, 250, 500))
    drawing.line([(50, -200), (50, 600)], golf="out_of_bounds")
    report = check_map(drawing.write())
    assert report.course is not None
    for hole, east in zip(report.course.holes, (0, 100), strict=True):
        assert hole.in_bounds is not None
        assert hole.in_bounds.area == pytest.approx(600 * 200, rel=1e-4)
        assert hole.in_bounds.contains(shapely.Point(200, 0)), east


def test_line_that_splits_nothing_puts_a_strip_behind_it_out(drawing: Any) -> None:
    drawing.hole().outline(drawing.box(-150, -300, 150, 700))
    hole, said = read(drawing.line([(40, 100), (40, 300)], golf="out_of_bounds"))
    assert hole.in_bounds is not None
    assert not hole.in_bounds.contains(shapely.Point(200, 50))
    assert hole.in_bounds.contains(shapely.Point(200, 30))
    assert hole.in_bounds.contains(shapely.Point(350, 50))
    assert any("a strip of 60 m" in line for line in said)


def test_marks_without_an_outline(drawing: Any) -> None:
    drawing.hole().line([(40, -200), (40, 600)], golf="out_of_bounds")
    drawing.area(drawing.box(-80, 100, -40, 200), golf="out_of_bounds")
    hole, _ = read(drawing)
    assert hole.in_bounds is not None
    assert hole.in_bounds.contains(shapely.Point(200, 0))
    assert not hole.in_bounds.contains(shapely.Point(200, 45))
    assert not hole.in_bounds.contains(shapely.Point(150, -60))


def test_hole_that_leaves_the_outline_stays_in_bounds_round_its_line(drawing: Any) -> None:
    drawing.hole().outline(drawing.box(-150, -100, 150, 300))
    hole, said = read(drawing)
    assert hole.in_bounds is not None
    assert hole.in_bounds.contains(shapely.Point(380, 0))
    assert any("leaves the course outline" in line for line in said)


def test_heights_make_a_profile_with_zero_at_the_tee(drawing: Any) -> None:
    drawing.hole(parts=("fairway",))
    drawing.area(drawing.box(-4, -4, 4, 4), golf="tee", ele="21")
    drawing.area(drawing.disc(0, 380, 14), golf="green", ele="25,5 m")
    drawing.point(10, 200, ele="60 ft").point(100, 300, ele="500")
    hole, _ = read(drawing)
    assert hole.elevation.along == pytest.approx((0, 200, 380), abs=0.1)
    assert hole.elevation.height == pytest.approx((0, 60 * 0.3048 - 21, 4.5), abs=1e-2)
    assert hole.elevation(0.0) == pytest.approx(0, abs=0.05)


def test_heights_from_third_coordinates(drawing: Any) -> None:
    places = [(0, 0, 12.0), (0, 200, 15.0), (0, 380, 13.0)]
    coordinates = [[*drawing.lonlat(east, north), height] for east, north, height in places]
    drawing.hole()
    drawing.features[0]["geometry"]["coordinates"] = coordinates
    hole, _ = read(drawing)
    assert hole.elevation.height == pytest.approx((0, 3, 1), abs=1e-3)
    assert hole.line_hole.has_z is False


def test_one_height_is_no_profile(drawing: Any) -> None:
    hole, _ = read(drawing.hole().point(0, 0, ele="40"))
    assert hole.elevation.along == ()


def test_points_go_back_to_longitude_and_latitude(drawing: Any) -> None:
    report = check_map(drawing.hole().write())
    assert report.course is not None
    hole = report.course.holes[0]
    found = to_lonlat(report.course, hole, [(0, 0), (380, 0), (200, 30)])
    expected = [drawing.lonlat(*place) for place in ((0, 0), (0, 380), (30, 200))]
    np.testing.assert_allclose(found, expected, atol=2e-8)


def test_mirrored_map_gives_the_mirrored_hole(drawing: Any, new_drawing: Any) -> None:
    def drawn(board: Any, side: int) -> Any:
        board.hole()
        board.area([(side * e, n) for e, n in board.box(20, 200, 40, 230)], golf="bunker")
        board.line([(side * e, n) for e, n in ((60, -50), (45, 450))], waterway="stream")
        return board

    right, _ = read(drawn(drawing, 1))
    left, _ = read(drawn(new_drawing(), -1))
    for area, twin in zip(right.areas, left.areas, strict=True):
        assert area.ground is twin.ground
        flipped = shapely.transform(twin.shape_hole, lambda points: points * (1, -1))
        assert area.shape_hole.symmetric_difference(flipped).area < 1e-3 * math.sqrt(
            area.shape_hole.area
        )
