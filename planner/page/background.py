"""Long work by content key, in the background: progress, stopping, and results that are kept."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import Any

from planner.errors import BusyError
from planner.page.access import turn_name
from planner.page.work import computing
from planner.planning.progress import Progress

__all__ = ["MOST_JOBS", "Job", "Jobs", "Work"]

MOST_JOBS = 3
"""Under way for one person; each takes minutes."""

Work = Callable[[Callable[[Progress], None], threading.Event], Any]
"""Does the work; told where to report, and what is set when it is to stop."""


@dataclass
class Job:
    """Work under way or done; another thread writes ``progress``.

    ``cancelled`` tells the work to end, which it may do with what it has found, and which it tells
    itself when a part of it fails; ``stopped`` says that nobody wants the result any more.
    """

    future: Future[Any]
    cancelled: threading.Event
    asker: str = ""
    turn: Future[Any] | None = None
    progress: Progress = field(default_factory=lambda: Progress(0, 1, "waiting"))
    stopped: bool = False

    @property
    def ended(self) -> bool:
        """Whether it is done, failed or stopped; not while it is finishing with what it has."""
        return self.future.done() or self.stopped

    @property
    def finishing(self) -> bool:
        """Whether it was told to end and still works."""
        return self.cancelled.is_set() and not self.ended


class Jobs:
    """Jobs by key, each in its turn on the shared threads.

    Those under way are kept, and of those that have ended the latest ``kept``.
    """

    def __init__(self, kept: int) -> None:
        self._lock = threading.Lock()
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._kept = kept

    def find(self, key: str) -> Job | None:
        """Job of a key, under way or done; None if there is none."""
        with self._lock:
            return self._jobs.get(key)

    def start(self, key: str, work: Work) -> None:
        """Start some work unless that of this key is under way or done.

        What cannot be started, because its asker or all have too much under way, ends at once with
        that fault.
        """
        asker = turn_name()
        with self._lock:
            job = self._jobs.get(key)
            if job is not None and not job.stopped:
                return
            mine = sum(one.asker == asker and not one.ended for one in self._jobs.values())
            job = Job(Future(), threading.Event(), asker)
            self._jobs[key] = job
            self._jobs.move_to_end(key)
            self._drop()
            try:
                if mine >= MOST_JOBS:
                    raise BusyError(f"{mine} of your calculations are under way; stop one, or wait")
                job.turn = computing().submit(asker, _run, job, work, long=True)
            except BusyError as error:
                job.future.set_exception(error)

    def finish(self, key: str) -> None:
        """Ask a job to end with what it has found so far; one that has not begun is stopped."""
        job = self.find(key)
        if job is not None and job.future.running():
            job.cancelled.set()
        else:
            self.stop(key)

    def stop(self, key: str) -> None:
        """Stop a job and drop it, so that it can be started again."""
        with self._lock:
            job = self._jobs.pop(key, None)
        if job is not None:
            job.stopped = True
            job.cancelled.set()
            if job.turn is not None:
                job.turn.cancel()

    def _drop(self) -> None:
        """Forget the oldest that have ended; never what somebody waits for."""
        ended = [key for key, one in self._jobs.items() if one.ended]
        for key in ended[: max(0, len(ended) - self._kept)]:
            del self._jobs[key]


def _run(job: Job, work: Work) -> None:
    """Do the work and hand over the result or the fault; never touches the page."""

    def note(progress: Progress) -> None:
        job.progress = progress

    if job.cancelled.is_set() or not job.future.set_running_or_notify_cancel():
        return
    try:
        job.future.set_result(work(note, job.cancelled))
    except BaseException as fault:
        # Handed on, not swallowed: the page shows or raises it.
        job.future.set_exception(fault)
