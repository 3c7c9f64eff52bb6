"""What the server has ready before anybody comes."""

from __future__ import annotations

import threading
from types import ModuleType

import pytest
from streamlit.testing.v1 import AppTest

from planner.page import solving
from planner.page.inputs import demo_maps, map_report, uploaded_file
from planner.page.setup import Setup
from planner.page.start import first_request, get_ready
from planner.planning.request import request_key
from planner.units import DistanceUnit


def test_the_first_screen_asks_for_what_is_ready(quick: ModuleType, page: AppTest) -> None:
    get_ready()
    request = first_request()
    assert request is not None
    key = f"{request_key(request)}/{request.course.holes[0].ref}"
    ready = solving.hole_desks().solved(key)
    assert ready is not None
    page.run()
    assert not page.exception
    # Nothing else was solved: the page found this one.
    assert list(solving.hole_desks()._holes) == [key]
    assert solving.hole_desks().solved(key) is ready


def test_a_fault_while_getting_ready_is_left_for_the_page(
    quick: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("no")

    monkeypatch.setattr("planner.page.solving.open_hole", fails)
    get_ready()
    assert not solving.hole_desks()._holes


def test_a_hole_that_is_being_solved_is_not_looked_at_first(
    quick: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    request = first_request()
    assert request is not None
    path = next(iter(demo_maps().values()))
    report = map_report(uploaded_file(path.name, path.read_bytes()))
    setup = Setup(request, request_key(request), DistanceUnit.METRES, report, "")
    desks, ended = solving.hole_desks(), threading.Event()
    monkeypatch.setattr("planner.page.solving.open_hole", lambda *_, **__: ended.wait(10))
    with desks.asked(f"{setup.key}/1", "somebody", request, "1"):
        assert desks.under_way(f"{setup.key}/1")
        assert solving.first_look(setup, "1") is None
        ended.set()
    assert not desks.under_way(f"{setup.key}/1")
