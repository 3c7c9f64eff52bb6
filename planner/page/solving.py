"""Solved holes and rounds, kept by content: the same question is never solved twice."""

from __future__ import annotations

import threading
from collections import OrderedDict
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field

import streamlit as st

from planner.page.setup import Setup
from planner.planning.hole_desk import HoleDesk, open_hole
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.planning.round_plan import plan_round
from planner.strategy.advice import HolePlan, RoundPlan

__all__ = ["RoundJob", "RoundJobs", "hole_desk", "round_jobs"]

KEPT_HOLES, KEPT_ROUNDS = 24, 12


def hole_desk(setup: Setup, ref: str) -> HoleDesk:
    """Solve one hole, or take it from the cache; it is shared and must not be changed."""
    return _hole_desk(setup.key, ref, setup.request)


@st.cache_resource(max_entries=KEPT_HOLES, show_spinner=False)
def _hole_desk(key: str, ref: str, _request: PlanRequest) -> HoleDesk:
    return open_hole(_request, ref)


@dataclass
class RoundJob:
    """A round being planned by another thread, which writes the last two fields.

    ``solved`` holds the holes that are done, in the order in which they were; it stays when the
    job is stopped.
    """

    future: Future[RoundPlan]
    cancelled: threading.Event
    progress: Progress = field(default_factory=lambda: Progress(0, 1, "waiting"))
    solved: tuple[HolePlan, ...] = ()


class RoundJobs:
    """Rounds by content key, one planned at a time, the latest kept."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="round")
        self._lock = threading.Lock()
        self._jobs: OrderedDict[str, RoundJob] = OrderedDict()

    def find(self, key: str) -> RoundJob | None:
        """Job of a key, running or done; None if there is none."""
        with self._lock:
            return self._jobs.get(key)

    def start(self, key: str, request: PlanRequest) -> RoundJob:
        """Start planning unless this round is planned or under way already.

        A stopped job is dropped and the round planned from its start.
        """
        with self._lock:
            job = self._jobs.get(key)
            if job is not None and not job.cancelled.is_set():
                return job
            cancelled = threading.Event()
            job = RoundJob(Future(), cancelled)
            self._jobs[key] = job
            self._jobs.move_to_end(key)
            while len(self._jobs) > KEPT_ROUNDS:
                _, dropped = self._jobs.popitem(last=False)
                dropped.cancelled.set()
            self._pool.submit(_plan, job, request)
            return job

    def stop(self, key: str) -> None:
        """Stop a job, but keep what it has solved."""
        job = self.find(key)
        if job is not None:
            job.cancelled.set()

    def forget(self, key: str) -> None:
        """Stop a job and drop it, so that it can be started again."""
        with self._lock:
            job = self._jobs.pop(key, None)
        if job is not None:
            job.cancelled.set()


def _plan(job: RoundJob, request: PlanRequest) -> None:
    """Plan and hand over the result or the fault; runs in the pool and never touches the page."""

    def note(progress: Progress) -> None:
        job.progress = progress

    def keep(plan: HolePlan) -> None:
        job.solved = (*job.solved, plan)

    if not job.future.set_running_or_notify_cancel():
        return
    try:
        plan = plan_round(request, progress=note, finished=keep, cancelled=job.cancelled)
        job.future.set_result(plan)
    except BaseException as fault:
        # Handed on, not swallowed: the page shows or raises it.
        job.future.set_exception(fault)


@st.cache_resource(show_spinner=False)
def round_jobs() -> RoundJobs:
    """Rounds of all sessions; a reload finds its round again."""
    return RoundJobs()
