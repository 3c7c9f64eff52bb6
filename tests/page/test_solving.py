from __future__ import annotations

import threading
from types import ModuleType
from typing import Any

import pytest

from planner.errors import BusyError, SolveError
from planner.page.solving import KEPT_ROUNDS, MOST_ROUNDS, HoleDesks, RoundJobs
from planner.planning.fair_pool import FairPool
from planner.planning.progress import Progress
from planner.strategy.solution import Cancelled


def test_progress_and_result(monkeypatch: pytest.MonkeyPatch) -> None:
    go = threading.Event()

    def plan_round(request: Any, *, progress: Any, **_: Any) -> str:
        progress(Progress(3, 18, "hole 4"))
        go.wait(10)
        return f"plan of {request}"

    monkeypatch.setattr("planner.page.solving.plan_round", plan_round)
    jobs = RoundJobs()
    job = jobs.start("key", "request")  # type: ignore[arg-type]
    for _ in range(1000):
        if job.progress.done:
            break
        threading.Event().wait(0.005)
    assert (job.progress.done, job.progress.total) == (3, 18)
    assert jobs.start("key", "request") is job, "one round is planned once"  # type: ignore[arg-type]
    go.set()
    assert job.future.result(10) == "plan of request"
    assert jobs.find("key") is job


def test_stopping_reaches_the_worker_and_lets_it_start_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    begun, ended = threading.Event(), threading.Event()

    def plan_round(request: Any, *, cancelled: threading.Event, **_: Any) -> str:
        begun.set()
        assert cancelled.wait(10)
        ended.set()
        raise SolveError("stopped")

    monkeypatch.setattr("planner.page.solving.plan_round", plan_round)
    jobs = RoundJobs()
    job = jobs.start("key", "request")  # type: ignore[arg-type]
    assert begun.wait(10)
    jobs.forget("key")
    assert ended.wait(2), "a stopped round must end within two seconds"
    assert isinstance(job.future.exception(10), SolveError)
    assert jobs.find("key") is None
    assert jobs.start("key", "request") is not job  # type: ignore[arg-type]
    jobs.forget("key")


def test_a_stopped_job_keeps_what_it_solved(monkeypatch: pytest.MonkeyPatch) -> None:
    solved = threading.Event()

    def plan_round(request: Any, *, finished: Any, cancelled: threading.Event, **_: Any) -> str:
        finished("hole 2")
        finished("hole 1")
        solved.set()
        assert cancelled.wait(10)
        raise Cancelled

    monkeypatch.setattr("planner.page.solving.plan_round", plan_round)
    jobs = RoundJobs()
    job = jobs.start("key", "request")  # type: ignore[arg-type]
    assert solved.wait(10)
    jobs.stop("key")
    assert isinstance(job.future.exception(10), Cancelled)
    assert jobs.find("key") is job
    assert job.solved == ("hole 2", "hole 1")
    again = jobs.start("key", "request")  # type: ignore[arg-type]
    assert again is not job
    jobs.forget("key")


def test_a_fault_is_handed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    def plan_round(*_: Any, **__: Any) -> str:
        raise ZeroDivisionError("a fault of the program")

    monkeypatch.setattr("planner.page.solving.plan_round", plan_round)
    job = RoundJobs().start("key", "request")  # type: ignore[arg-type]
    assert isinstance(job.future.exception(10), ZeroDivisionError)


def test_only_the_latest_rounds_are_kept(quick: ModuleType, monkeypatch: Any) -> None:
    monkeypatch.setattr("planner.page.solving.plan_round", lambda *_, **__: "plan")
    jobs = RoundJobs()
    for number in range(KEPT_ROUNDS + 3):
        jobs.start(f"key {number}", "request").future.result(10)  # type: ignore[arg-type]
    assert jobs.find("key 0") is None
    assert jobs.find(f"key {KEPT_ROUNDS + 2}") is not None


def test_rounds_of_one_do_not_keep_anothers_hole_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three rounds of 18 holes are queued; a hole of somebody else comes next but one."""
    pool = FairPool(2)
    served: list[str] = []
    go = threading.Event()

    def hole(whose: str) -> str:
        go.wait(10)
        served.append(whose)
        return whose

    def plan_round(request: Any, *, pool: Any, **_: Any) -> int:
        return len([job.result() for job in [pool.submit(hole, "heavy") for _ in range(18)]])

    monkeypatch.setattr("planner.page.solving.plan_round", plan_round)
    monkeypatch.setattr("planner.page.solving.open_hole", lambda *_, **__: hole("light"))
    jobs, desks = RoundJobs(pool), HoleDesks(pool)
    rounds = [jobs.start(f"key {n}", None, "heavy") for n in range(MOST_ROUNDS)]  # type: ignore[arg-type]
    with pytest.raises(BusyError, match="of your rounds are being planned"):
        jobs.start("one more", None, "heavy")  # type: ignore[arg-type]
    with pool._changed:
        pool._changed.wait_for(lambda: len(pool._queues.get("heavy", ())) >= 50, 5)
    with desks.asked("hole", "light", None, "1") as waiting:  # type: ignore[arg-type]
        assert pool.ahead(waiting) in (0, 1)
        go.set()
        assert waiting.result(10) == "light"
    assert [job.future.result(10) for job in rounds] == [18] * MOST_ROUNDS
    assert served.index("light") <= 2 * pool.threads
    assert served.count("heavy") == 18 * MOST_ROUNDS
    pool.close()


def test_what_nobody_waits_for_any_more_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    pool, begun, ended = FairPool(2), threading.Event(), threading.Event()

    def open_hole(*_: Any, cancelled: threading.Event) -> str:
        begun.set()
        assert cancelled.wait(10)
        ended.set()
        raise Cancelled

    monkeypatch.setattr("planner.page.solving.open_hole", open_hole)
    desks = HoleDesks(pool)
    with desks.asked("hole", "a", None, "1"):  # type: ignore[arg-type]
        assert begun.wait(10)
        with desks.asked("hole", "b", None, "1"):  # type: ignore[arg-type]
            pass
        assert not ended.is_set(), "one still waits"
    assert ended.wait(2)
    pool.close()
