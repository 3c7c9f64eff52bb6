"""Long work of several people: nobody loses his to another, and nobody has too much of it."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from typing import Any

import pytest

from planner.errors import BusyError
from planner.page import background
from planner.page.background import MOST_JOBS, Jobs
from planner.planning.fair_pool import FairPool
from planner.planning.progress import Progress


class Visits:
    """Whoever starts work next."""

    name = "odile"


@pytest.fixture
def visits(monkeypatch: pytest.MonkeyPatch) -> Iterator[Visits]:
    who, pool = Visits(), FairPool(2)
    monkeypatch.setattr(background, "turn_name", lambda: who.name)
    monkeypatch.setattr(background, "computing", lambda: pool)
    yield who
    pool.close()


class Held:
    """Work that goes on until it is let go or stopped, and says so."""

    def __init__(self) -> None:
        self.began, self.go, self.stopped = (threading.Event() for _ in range(3))

    def __call__(self, report: Any, cancelled: threading.Event) -> str:
        report(Progress(1, 2, "half"))
        self.began.set()
        while not self.go.wait(0.005):
            if cancelled.is_set():
                self.stopped.set()
                raise BusyError("stopped")
        return "done"


def test_what_is_under_way_is_never_dropped_for_others(visits: Visits) -> None:
    jobs, work = Jobs(2), Held()
    for number in range(20):
        visits.name = f"visitor {number}"
        jobs.start(f"key {number}", work)
    found = [jobs.find(f"key {number}") for number in range(20)]
    assert all(job is not None and not job.ended for job in found)
    work.go.set()
    assert [job.future.result(10) for job in found if job is not None] == ["done"] * 20
    assert not work.stopped.is_set()
    # Of those that have ended the latest are kept.
    jobs.start("last", work)
    assert jobs.find("key 0") is None
    assert jobs.find("key 19") is found[19]


def test_one_person_may_not_have_too_much_under_way(visits: Visits) -> None:
    jobs, work = Jobs(8), Held()
    for number in range(MOST_JOBS + 1):
        jobs.start(f"key {number}", work)
    refused = jobs.find(f"key {MOST_JOBS}")
    assert refused is not None
    assert isinstance(refused.future.exception(1), BusyError)
    visits.name = "bram"
    jobs.start("his", work)
    his = jobs.find("his")
    assert his is not None
    assert not his.ended
    jobs.stop("key 0")
    jobs.stop(f"key {MOST_JOBS}")
    visits.name = "odile"
    jobs.start(f"key {MOST_JOBS}", work)
    again = jobs.find(f"key {MOST_JOBS}")
    assert again is not None
    assert not again.ended
    work.go.set()
    assert again.future.result(10) == "done"


def test_stopping_reaches_work_under_way_and_work_that_waits(visits: Visits) -> None:
    jobs, first, second = Jobs(8), Held(), Held()
    jobs.start("first", first)
    jobs.start("second", second)
    waiting = jobs.find("second")
    assert waiting is not None
    assert first.began.wait(10)
    jobs.stop("second")
    jobs.stop("first")
    assert first.stopped.wait(2)
    assert jobs.find("first") is None
    assert waiting.turn is not None
    assert waiting.turn.cancelled()
    assert not second.stopped.is_set(), "it never began"


def test_short_work_goes_on_while_long_work_waits(visits: Visits) -> None:
    """One long calculation at a time on two threads: the other is free for single holes."""
    jobs, work = Jobs(8), Held()
    for number in range(MOST_JOBS):
        jobs.start(f"key {number}", work)
    assert background.computing().submit("bram", abs, -3).result(5) == 3
    work.go.set()
