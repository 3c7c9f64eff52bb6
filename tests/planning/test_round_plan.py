"""What a round tells its caller while it is planned, without solving anything."""

from __future__ import annotations

import threading
import time
from collections import Counter
from types import SimpleNamespace
from typing import Any

import pytest

from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.errors import SolveError
from planner.golfer.bag import read_bag
from planner.planning import round_plan
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.planning.round_plan import plan_round
from planner.strategy.solution import Cancelled


@pytest.fixture
def request_of_nine(monkeypatch: pytest.MonkeyPatch) -> PlanRequest:
    def desk(request: Any, hole: Any, *_: Any, cancelled: threading.Event, **__: Any) -> Any:
        time.sleep(0.002 * (int(hole.ref) % 3))
        if cancelled.is_set():
            raise Cancelled
        plan = SimpleNamespace(hole=hole, best=SimpleNamespace(label="7 iron"))
        return SimpleNamespace(plan=plan, score=None)

    monkeypatch.setattr(round_plan, "solve_desk", desk)
    course = read_course(demo_folder() / "pebblecote.geojson")
    return PlanRequest(course, read_bag(demo_bag("odile_marrow")), threads=3)


def test_every_hole_is_handed_over_once_and_one_at_a_time(request_of_nine: PlanRequest) -> None:
    told: list[Any] = []
    inside = Counter[str]()

    def one_at_a_time(what: Any) -> None:
        inside["now"] += 1
        assert inside["now"] == 1
        time.sleep(0.001)
        inside["now"] -= 1
        told.append(what)

    plan = plan_round(request_of_nine, finished=one_at_a_time, progress=one_at_a_time)
    first, *rest = told
    assert first == Progress(0, 9, "reading patterns")
    # Every hole comes just before the progress that counts it.
    assert [progress.done for progress in rest[1::2]] == list(range(1, 10))
    handed = rest[::2]
    assert {one.hole.ref for one in handed} == {str(ref) for ref in range(1, 10)}
    assert [one.hole.ref for one in plan.holes] == [str(ref) for ref in range(1, 10)]
    assert {id(one) for one in handed} == {id(one) for one in plan.holes}


def test_a_stop_after_some_holes_has_handed_those_over(request_of_nine: PlanRequest) -> None:
    stop = threading.Event()
    handed: list[Any] = []

    def finished(plan: Any) -> None:
        handed.append(plan)
        if len(handed) == 3:
            stop.set()

    with pytest.raises(Cancelled):
        plan_round(request_of_nine, finished=finished, cancelled=stop)
    assert 3 <= len(handed) < 9


def test_a_hole_that_fails_ends_the_round(
    request_of_nine: PlanRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = round_plan.solve_desk

    def desk(request: Any, hole: Any, *rest: Any, **options: Any) -> Any:
        if hole.ref == "4":
            raise SolveError("hole 4: no shot can be played")
        return real(request, hole, *rest, **options)

    monkeypatch.setattr(round_plan, "solve_desk", desk)
    handed: list[Any] = []
    with pytest.raises(SolveError, match="hole 4"):
        plan_round(request_of_nine, finished=handed.append)
    assert "4" not in {one.hole.ref for one in handed}
