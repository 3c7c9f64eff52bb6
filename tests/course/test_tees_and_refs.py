"""Tee sets, refs of 27 holes, pins: what belongs to which hole and what it is called."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from planner.course.hole import Course, Hole
from planner.course.reading import MapReport, check_map
from planner.course.tees import names_of


def course_of(report: MapReport) -> Course:
    assert report.course is not None, report.findings
    return report.course


def only_hole(drawing: Any) -> Hole:
    (hole,) = course_of(check_map(drawing.write())).holes
    return hole


def said(report: MapReport, *words: str) -> bool:
    return any(all(word in str(finding) for word in words) for finding in report.findings)


@pytest.mark.parametrize(
    ("tags", "names"),
    [
        ({"tee": "Gold;White"}, ("gold", "white")),
        ({"tee:colour": "red"}, ("red",)),
        ({"colour": "blue"}, ("blue",)),
        ({"tee": "yes", "colour": "blue"}, ("blue",)),
        ({"name": "Medal"}, ("medal",)),
        ({"name": "Tee 7"}, ()),
        ({"name": "7"}, ()),
        ({}, ()),
    ],
)
def test_names_of_a_tee(tags: dict[str, str], names: tuple[str, ...]) -> None:
    assert names_of(tags, "7") == names


def test_named_tees_from_longest_to_shortest(drawing: Any) -> None:
    drawing.hole(parts=("fairway", "green"))
    drawing.area(drawing.box(-4, 56, 4, 64), golf="tee", tee="red")
    drawing.area(drawing.box(-4, -14, 4, -6), golf="tee", tee="white")
    drawing.point(0, 20, golf="tee", tee="yellow;blue")
    hole = only_hole(drawing)
    assert [tee.name for tee in hole.tees] == ["white", "yellow", "blue", "red"]
    lengths = [hole.length_from(tee) for tee in hole.tees]
    assert lengths == pytest.approx([390, 360, 360, 320], abs=0.1)


@pytest.mark.parametrize(
    ("places", "names"),
    [
        ([0], ["back"]),
        ([30, 0], ["back", "forward"]),
        ([0, 60, 30], ["back", "middle", "forward"]),
        ([0, 60, 30, 90], ["back", "middle 1", "middle 2", "forward"]),
    ],
)
def test_unnamed_tees_get_plain_words_by_length(
    drawing: Any, places: list[float], names: list[str]
) -> None:
    drawing.hole(parts=("fairway", "green"))
    for north in places:
        drawing.area(drawing.box(-4, north - 4, 4, north + 4), golf="tee")
    hole = only_hole(drawing)
    assert [tee.name for tee in hole.tees] == names
    along = [tee.position_hole[0] for tee in hole.tees]
    assert along == pytest.approx(sorted(places), abs=0.1)


def test_no_tee_means_the_start_of_the_line(drawing: Any) -> None:
    report = check_map(drawing.hole(parts=("fairway", "green")).write())
    (tee,) = course_of(report).holes[0].tees
    assert tee.position_hole == pytest.approx((0, 0), abs=1e-6)
    assert said(report, "no tee is drawn", "start of its line")


@pytest.mark.parametrize(("metres", "unit"), [(1.0, "metres"), (0.9144, "yards"), (0.3048, "feet")])
def test_dist_tags_place_tees_in_the_unit_that_fits_the_lines(
    drawing: Any, metres: float, unit: str
) -> None:
    tags = {f"dist__{name}": str(round(d / metres)) for name, d in (("white", 383), ("red", 330))}
    report = check_map(drawing.hole(parts=("fairway", "green"), **tags).write())
    hole = course_of(report).holes[0]
    assert said(report, "no unit", f"read as {unit}")
    lengths = {tee.name: hole.length_from(tee) for tee in hole.tees}
    assert lengths == pytest.approx({"white": 383, "red": 330}, abs=0.6)


def test_dist_with_its_own_unit_and_a_wrong_one(drawing: Any) -> None:
    drawing.hole(parts=("fairway", "green"), dist__white="400 yd", dist__red="5 m")
    report = check_map(drawing.write())
    hole = course_of(report).holes[0]
    assert {t.name: hole.length_from(t) for t in hole.tees} == pytest.approx(
        {"white": 400 * 0.9144}, abs=0.01
    )
    assert said(report, "dist:red is 5 m")


def test_dist_names_the_unnamed_tee_of_that_length(drawing: Any) -> None:
    hole = only_hole(drawing.hole(dist__yellow="376 m"))
    (tee,) = hole.tees
    assert tee.name == "yellow"
    assert tee.position_hole == pytest.approx((0, 0), abs=0.1)


def test_tees_go_to_the_hole_beside_whose_start_they_lie(drawing: Any) -> None:
    # Two parallel holes 50 m apart, played in opposite directions.
    drawing.hole(ref="1")
    drawing.line([(50, 380), (50, 0)], golf="hole", ref="2", par="4")
    drawing.area(drawing.disc(50, 0, 12), golf="green")
    drawing.area(drawing.box(46, 376, 54, 384), golf="tee", tee="yellow")
    first, second = course_of(check_map(drawing.write())).holes
    assert [tee.name for tee in first.tees] == ["back"]
    assert [tee.name for tee in second.tees] == ["yellow"]


def test_a_tee_with_a_holes_ref_is_that_holes_though_another_is_nearer(drawing: Any) -> None:
    drawing.hole(ref="1")
    drawing.line([(50, 0), (50, 380)], golf="hole", ref="2", par="4")
    drawing.area(drawing.disc(50, 380, 12), golf="green")
    drawing.area(drawing.box(-14, 20, -6, 28), golf="tee", tee="red", ref="2")
    # Its ref is hole 2's, too, but it is too far away to be believed.
    drawing.area(drawing.box(-4, 224, 4, 232), golf="tee", tee="blue", ref="2")
    # Beside hole 1, with a ref that no hole has.
    drawing.area(drawing.box(-4, -24, 4, -16), golf="tee", tee="white", ref="9")
    first, second = course_of(check_map(drawing.write())).holes
    assert [tee.name for tee in first.tees] == ["white", "back"]
    assert [tee.name for tee in second.tees] == ["red"]


def test_practice_tees_are_nobodys(drawing: Any) -> None:
    drawing.hole().area(drawing.box(-40, -30, -10, 30), golf="driving_range")
    drawing.area(drawing.box(-30, -4, -20, 4), golf="tee")
    drawing.point(10, 0, golf="tee", practice="yes")
    assert len(only_hole(drawing).tees) == 1


def test_pin_of_the_map_beats_the_line_and_the_line_beats_the_middle(drawing: Any) -> None:
    drawing.hole().point(5, 385, golf="pin")
    report = check_map(drawing.write())
    hole = course_of(report).holes[0]
    assert said(report, "pin of hole 1", "golf=pin")
    assert hole.line_hole.length == pytest.approx((385**2 + 25) ** 0.5, abs=0.01)
    assert hole.line_hole.coords[0] == pytest.approx((0, 0), abs=1e-6)
    assert hole.pin_hole[1] == pytest.approx(0, abs=1e-6)


def test_line_that_stops_short_ends_in_the_middle_of_the_green(drawing: Any) -> None:
    drawing.line([(0, 0), (0, 350)], golf="hole", ref="1", par="4")
    drawing.area(drawing.disc(0, 380, 14), golf="green")
    report = check_map(drawing.write())
    assert course_of(report).holes[0].pin_hole == pytest.approx((380, 0), abs=0.1)
    assert said(report, "pin of hole 1", "middle of the green")


def test_missing_refs_from_names_or_free_numbers(drawing: Any) -> None:
    drawing.hole(0, ref=None, name="Hole 4").hole(300, ref=None).hole(600, ref="1")
    report = check_map(drawing.write())
    assert [hole.ref for hole in course_of(report).holes] == ["1", "2", "4"]
    assert said(report, "hole without ref or number", "called 2")


def test_nine_holes_played_twice(drawing: Any) -> None:
    report = check_map(drawing.hole(ref="1;10").write())
    assert course_of(report).holes[0].ref == "1"
    assert said(report, "refs 1, 10", "planned once")


def test_holes_in_numeric_order(drawing: Any) -> None:
    for place, ref in enumerate(("10", "2", "1", "11")):
        drawing.hole(place * 300, ref=ref)
    assert [h.ref for h in course_of(check_map(drawing.write())).holes] == ["1", "2", "10", "11"]


def test_the_same_hole_drawn_twice_is_one(drawing: Any) -> None:
    report = check_map(drawing.hole().line([(1, 0), (1, 380)], golf="hole", ref="1").write())
    assert len(course_of(report).holes) == 1
    assert said(report, "drawn twice")


def loops(drawing: Any, names: tuple[str, str] = ("", "")) -> Any:
    """Two loops of three holes, side by side, in mixed order in the file."""
    for ref in (1, 2, 3):
        for place in (0, 1) if ref != 2 else (1, 0):
            east = place * 1000 + ref * 60
            north = (0, 380) if ref % 2 else (380, 0)
            name = {"name": f"{names[place]} {ref}"} if names[place] else {}
            points = [(east, north[0]), (east, north[1])]
            drawing.line(points, golf="hole", ref=str(ref), par="4", **name)
            drawing.area(drawing.disc(east, north[1], 12), golf="green")
    return drawing


def loop_of(course: Course) -> dict[str, int]:
    """Which drawn loop (0 west, 1 east) each ref is, by where its line starts."""
    east = {hole.ref: hole.frame.origin_proj[0] for hole in course.holes}
    middle = sum(east.values()) / len(east)
    return {ref: int(value > middle) for ref, value in east.items()}


def test_loops_by_nested_outline(new_drawing: Callable[[], Any]) -> None:
    drawing = loops(new_drawing())
    drawing.outline(drawing.box(-200, -200, 1500, 600), name="Whole Ground")
    drawing.outline(drawing.box(0, -100, 400, 500), name="West")
    drawing.outline(drawing.box(1000, -100, 1400, 500), name="East")
    report = check_map(drawing.write())
    course = course_of(report)
    assert loop_of(course) == {
        **{f"East {n}": 1 for n in (1, 2, 3)},
        **{f"West {n}": 0 for n in (1, 2, 3)},
    }
    assert [hole.ref for hole in course.holes][:3] == ["East 1", "East 2", "East 3"]
    assert course.name == "Whole Ground"
    assert said(report, "same ref", "outlines")


def test_loops_by_name(new_drawing: Callable[[], Any]) -> None:
    course = course_of(check_map(loops(new_drawing(), ("Heath", "Shore")).write()))
    assert loop_of(course) == {
        **{f"Heath {n}": 0 for n in (1, 2, 3)},
        **{f"Shore {n}": 1 for n in (1, 2, 3)},
    }


def test_loops_by_the_shortest_walk(new_drawing: Callable[[], Any]) -> None:
    report = check_map(loops(new_drawing()).write())
    found = loop_of(course_of(report))
    assert len(found) == 6
    for letter in "ab":
        assert len({found[f"{n}{letter}"] for n in (1, 2, 3)}) == 1
    assert said(report, "same ref", "shortest walk", "1a to 3a")
