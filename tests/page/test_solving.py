from __future__ import annotations

import threading
from types import ModuleType
from typing import Any

import pytest

from planner.errors import SolveError
from planner.page.solving import KEPT_ROUNDS, RoundJobs
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
