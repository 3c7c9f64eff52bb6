"""Rounds over which bags are valued, and what they are called."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.ball.conditions import Conditions
from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.golfer.bag import read_bag
from planner.planning.bag_comparison import called_by_change
from planner.planning.bag_rounds import round_marks, round_names, rounds_over
from planner.planning.request import PlanRequest


@pytest.fixture(scope="module")
def request_() -> PlanRequest:
    course = read_course(demo_folder() / "pebblecote.geojson")
    return PlanRequest(course, read_bag(demo_bag("odile")), tee="red", holes=("1", "2"))


def test_every_place_is_played_in_every_wind(request_: PlanRequest) -> None:
    links = read_course(demo_folder() / "tarrowick.geojson")
    found = rounds_over(
        request_, places=[(links, "white")], winds=[(None, 0.0), (math.pi, 6.0), (math.pi, 6.0)]
    )
    assert [(one.course.name, one.tee, one.conditions.wind_speed) for one in found] == [
        (request_.course.name, "red", 0.0),
        (request_.course.name, "red", 6.0),
        (links.name, "white", 0.0),
        (links.name, "white", 6.0),
    ]
    # Holes that were asked for belong to the first course.
    assert found[0].holes == ("1", "2")
    assert found[2].holes == ()
    assert rounds_over(request_) == (request_,)


def test_names_tell_rounds_apart(request_: PlanRequest) -> None:
    windy = replace(request_, conditions=Conditions(math.pi, 6.0))
    assert round_names([request_]) == ("Pebblecote Short Course, red tees, 2 of 9 holes",)
    names = round_names([request_, windy, replace(request_, holes=())])
    assert len(set(names)) == 3
    assert "still air" in names[0]
    assert "wind 6\u00a0m/s from S" in names[1]
    assert names[2] == "Pebblecote Short Course, red tees"
    # The same round twice is told apart by number, and so are its holes.
    assert round_names([request_, request_])[1].endswith("(2)")


def test_holes_are_told_by_course_where_that_is_enough(request_: PlanRequest) -> None:
    links = replace(request_, course=read_course(demo_folder() / "tarrowick.geojson"))
    assert round_marks([request_, links]) == (request_.course.name, links.course.name)
    windy = replace(request_, conditions=Conditions(math.pi, 6.0))
    assert len(set(round_marks([request_, windy]))) == 2


def test_bags_are_called_by_what_changes(request_: PlanRequest) -> None:
    bag = request_.bag
    own = [club.label for club in bag.clubs if club.carried]
    swapped = ["9 wood", *(label for label in own if label != "3 wood")]
    fewer = [label for label in own if label not in ("3 wood", "8 iron")]
    found = called_by_change(
        bag, own, [swapped, fewer, [*own, "Lob wedge"], list(reversed(own))], name="mine"
    )
    assert [one.name for one in found] == [
        "mine",
        "9 wood for 3 wood",
        "without 3 wood and 8 iron",
        "with Lob wedge",
    ]
    order = [club.label for club in bag.clubs]
    assert all(list(one.clubs) == sorted(one.clubs, key=order.index) for one in found)
