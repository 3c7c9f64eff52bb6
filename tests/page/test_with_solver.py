"""The page with the real solver, on a short hole."""

from __future__ import annotations

import pytest
from streamlit.testing.v1 import AppTest

from planner.course.reading import read_course
from planner.demo_data import app_file, demo_bag, demo_folder
from planner.golfer.bag import read_bag
from planner.page import solving
from planner.planning.request import PlanRequest, request_key
from planner.report import words
from planner.units import DistanceUnit


def strokes(page: AppTest) -> str:
    return str(next(m.value for m in page.metric if m.label == "Expected strokes"))


def test_the_page_shows_the_plans_own_numbers() -> None:
    page = AppTest.from_file(str(app_file()), default_timeout=300)
    page.query_params.update({"course": "Pebblecote Short Course", "tee": "red", "hole": "2"})
    page.run()
    assert not page.exception
    course = read_course(demo_folder() / "pebblecote.geojson")
    request = PlanRequest(course, read_bag(demo_bag("odile_marrow")), tee="red")
    # The page keeps its holes by content: this finds the hole it solved, or the keys differ.
    desk = solving.hole_desks().solved(f"{request_key(request)}/2")
    assert desk is not None
    plan = desk.plan
    assert strokes(page) == words.strokes(plan.expected_strokes)
    assert words.margin(plan, DistanceUnit.METRES) in " ".join(
        str(part.value).replace("\\", "") for part in page.markdown
    )
    slider = next(w for w in page.slider if str(w.key).startswith("offset/"))
    slider.set_value(18).run()
    assert not page.exception
    best = plan.best
    assert best.aim is not None
    moved = desk.evaluate(
        best.position_hole, best.lie, best.club, best.aim.beside(18.0), swing=best.swing
    )
    assert strokes(page) == words.strokes(moved.expected_strokes)
    assert moved.expected_strokes > plan.expected_strokes
    assert moved.cost == pytest.approx(moved.expected_strokes - plan.expected_strokes, abs=0.01)
