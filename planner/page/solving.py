"""Solved holes and rounds, kept by content: the same question is never solved twice.

Whatever is solved takes its turn on the shared threads. What nobody waits for any more is stopped.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

import streamlit as st

from planner.errors import BusyError, PlannerError
from planner.page.access import is_public, owner, turn_name
from planner.page.setup import Setup
from planner.page.work import computing, result_when_done
from planner.planning.fair_pool import FairPool
from planner.planning.hole_desk import HoleDesk, open_hole
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.planning.round_plan import plan_round
from planner.strategy.advice import HolePlan, RoundPlan

__all__ = [
    "HoleDesks",
    "RoundJob",
    "RoundJobs",
    "first_look",
    "hole_desk",
    "hole_desks",
    "round_jobs",
    "round_key",
    "solved_hole",
]

KEPT_HOLES, KEPT_ROUNDS = 24, 128
MOST_ROUNDS, MOST_ROUNDS_IN_ALL = 3, 64
"""Rounds under way for one person, and for all; each has a thread that waits for its holes."""
HOME = "home"
"""Whose turn it is where nobody is named."""


def hole_desk(setup: Setup, ref: str) -> HoleDesk:
    """Solve one hole, or take it from what is kept; it is shared and must not be changed.

    Raises
    ------
    PlannerError
        The hole cannot be planned, or too much is waiting.
    """
    with hole_desks().asked(f"{setup.key}/{ref}", turn_name(), setup.request, ref) as future:
        return result_when_done(future)


def solved_hole(setup: Setup, ref: str) -> HoleDesk | None:
    """One hole if it is solved already."""
    return hole_desks().solved(f"{setup.key}/{ref}")


def first_look(setup: Setup, ref: str) -> HoleDesk | None:
    """Solve one hole on coarse cells, several times quicker; it is not kept.

    None in public, where everybody's turn would come later for it; where the hole is being solved
    already, which this would delay; and where it fails: the solve proper then says why.
    """
    if is_public() or hole_desks().under_way(f"{setup.key}/{ref}"):
        return None
    request, cancelled = replace(setup.request, preview=True), threading.Event()
    try:
        future: Future[HoleDesk] = computing().submit(
            turn_name(), lambda: open_hole(request, ref, cancelled=cancelled)
        )
        return result_when_done(future)
    except PlannerError:
        return None
    finally:
        # Whoever goes on before its end needs it no more.
        cancelled.set()


@dataclass
class _Solving:
    """A hole that is solved or being solved, and how many wait for it."""

    future: Future[HoleDesk]
    cancelled: threading.Event
    waiting: int = 0


class HoleDesks:
    """Solved holes by content key, the latest kept; each is solved once however many ask."""

    def __init__(self, pool: FairPool, kept: int = KEPT_HOLES) -> None:
        self._pool, self._kept = pool, kept
        self._lock = threading.Lock()
        self._holes: OrderedDict[str, _Solving] = OrderedDict()

    @contextmanager
    def asked(
        self, key: str, asker: str, request: PlanRequest, ref: str
    ) -> Iterator[Future[HoleDesk]]:
        """Hole of a key, solved in the turn of the first who asks.

        A solve is stopped when the last who asked leaves the block before its end.
        """
        solving = self._enter(key, asker, request, ref)
        try:
            yield solving.future
        finally:
            self._leave(key, solving)

    def solved(self, key: str) -> HoleDesk | None:
        """Hole of a key if it is solved."""
        with self._lock:
            found = self._holes.get(key)
        if found is None or not found.future.done() or found.future.cancelled():
            return None
        return None if found.future.exception() is not None else found.future.result()

    def put(self, key: str, desk: HoleDesk) -> None:
        """Take in a hole that was solved before, unless it is there or being solved."""
        future: Future[HoleDesk] = Future()
        future.set_result(desk)
        with self._lock:
            self._holes.setdefault(key, _Solving(future, threading.Event()))

    def under_way(self, key: str) -> bool:
        """Whether somebody waits for this hole already."""
        with self._lock:
            found = self._holes.get(key)
            return found is not None and found.waiting > 0 and not found.future.done()

    def _enter(self, key: str, asker: str, request: PlanRequest, ref: str) -> _Solving:
        with self._lock:
            found = self._holes.get(key)
            if found is None or found.cancelled.is_set():
                cancelled = threading.Event()
                future = self._pool.submit(
                    asker, lambda: open_hole(request, ref, cancelled=cancelled)
                )
                found = self._holes[key] = _Solving(future, cancelled)
            self._holes.move_to_end(key)
            found.waiting += 1
            for old in [old for old, one in self._holes.items() if not one.waiting]:
                if len(self._holes) <= self._kept:
                    break
                del self._holes[old]
            return found

    def _leave(self, key: str, solving: _Solving) -> None:
        with self._lock:
            solving.waiting -= 1
            if solving.waiting:
                return
            if not solving.future.done():
                solving.cancelled.set()
                solving.future.cancel()
            failed = solving.cancelled.is_set() or solving.future.exception() is not None
            # What failed may work the next time.
            if failed and self._holes.get(key) is solving:
                del self._holes[key]


@st.cache_resource(show_spinner=False)
def hole_desks() -> HoleDesks:
    """Solved holes of all sessions."""
    return HoleDesks(computing())


@dataclass
class RoundJob:
    """A round being planned by another thread, which writes the last two fields.

    ``solved`` holds the holes that are done, in the order in which they were; it stays when the
    job is stopped.
    """

    future: Future[RoundPlan]
    cancelled: threading.Event
    asker: str = HOME
    progress: Progress = field(default_factory=lambda: Progress(0, 1, "waiting"))
    solved: tuple[HolePlan, ...] = ()

    @property
    def under_way(self) -> bool:
        """Whether it waits or runs."""
        return not self.future.done() and not self.cancelled.is_set()


class RoundJobs:
    """Rounds by key, their holes solved in turns, the latest kept."""

    def __init__(self, pool: FairPool | None = None) -> None:
        self._pool = pool or FairPool()
        # These threads only wait for the holes of their rounds.
        self._rounds = ThreadPoolExecutor(MOST_ROUNDS_IN_ALL, thread_name_prefix="round")
        self._lock = threading.Lock()
        self._jobs: OrderedDict[str, RoundJob] = OrderedDict()

    def find(self, key: str) -> RoundJob | None:
        """Job of a key, running or done; None if there is none."""
        with self._lock:
            return self._jobs.get(key)

    def start(self, key: str, request: PlanRequest, asker: str = HOME) -> RoundJob:
        """Start planning unless this round is planned or under way already.

        A stopped job is dropped and the round planned from its start.

        Raises
        ------
        BusyError
            ``asker``, or all, have too many rounds under way.
        """
        with self._lock:
            job = self._jobs.get(key)
            if job is not None and not job.cancelled.is_set():
                return job
            under_way = [one for one in self._jobs.values() if one.under_way]
            if sum(one.asker == asker for one in under_way) >= MOST_ROUNDS:
                raise BusyError(
                    f"{MOST_ROUNDS} of your rounds are being planned; wait, or stop one of them"
                )
            if len(under_way) >= MOST_ROUNDS_IN_ALL:
                raise BusyError("too many rounds are being planned; try again in a few minutes")
            job = RoundJob(Future(), threading.Event(), asker)
            self._jobs[key] = job
            self._jobs.move_to_end(key)
            for old in [old for old, one in self._jobs.items() if not one.under_way]:
                if len(self._jobs) <= KEPT_ROUNDS:
                    break
                del self._jobs[old]
            self._rounds.submit(self._plan, job, request)
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

    def _plan(self, job: RoundJob, request: PlanRequest) -> None:
        """Plan and hand over the result or the fault; never touches the page."""

        def note(progress: Progress) -> None:
            job.progress = progress

        def keep(plan: HolePlan) -> None:
            job.solved = (*job.solved, plan)

        if not job.future.set_running_or_notify_cancel():
            return
        try:
            plan = plan_round(
                request,
                progress=note,
                finished=keep,
                cancelled=job.cancelled,
                pool=self._pool.executor(job.asker),
                scored=True,
            )
            job.future.set_result(plan)
        except BaseException as fault:
            # Handed on, not swallowed: the page shows or raises it.
            job.future.set_exception(fault)


@st.cache_resource(show_spinner=False)
def round_jobs() -> RoundJobs:
    """Rounds of all sessions; a reload finds its round again."""
    return RoundJobs(computing())


def round_key(setup: Setup) -> str:
    """Key of a round of whoever is there: nobody else finds or stops it."""
    return f"{owner()}/{setup.key}"
