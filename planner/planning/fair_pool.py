"""Work of many people on few threads, so that one who asks for much does not keep others waiting.

Every person has a queue. A free thread takes the next task of the person for whom the fewest tasks
run, and among those of the one who has waited longest since his last turn. So with ``n`` people
asking and tasks of about one length, everyone's next task starts after at most ``n - 1`` tasks of
others for each thread, however many tasks anyone has queued. Tasks that are ``long`` never take the
last thread.
"""

from __future__ import annotations

import os
import threading
from collections import Counter, OrderedDict, deque
from collections.abc import Callable
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from typing import Any

from planner.errors import BusyError

__all__ = ["FairPool"]

MOST_WAITING, MOST_WAITING_IN_ALL = 100, 2000
"""Tasks that may wait for one person and for all: a round has 18."""
LEAST_THREADS = 2
"""Threads, even of a computer with one core: one stays free of long tasks."""


@dataclass(frozen=True, eq=False)
class _Task:
    future: Future[Any]
    call: Callable[[], Any]
    long: bool


class FairPool:
    """Threads that take turns between owners.

    Parameters
    ----------
    threads
        Tasks that run at once; the computer's cores if None.
    most_waiting, most_waiting_in_all
        Tasks that may wait for one owner, and for all.
    """

    def __init__(
        self,
        threads: int | None = None,
        *,
        most_waiting: int = MOST_WAITING,
        most_waiting_in_all: int = MOST_WAITING_IN_ALL,
    ) -> None:
        self.threads = max(LEAST_THREADS, threads or os.cpu_count() or 1)
        self._most, self._most_in_all = most_waiting, most_waiting_in_all
        self._changed = threading.Condition()
        # In the order of turns: the owner served last stands last.
        self._queues: OrderedDict[str, deque[_Task]] = OrderedDict()
        self._running: Counter[str] = Counter()
        self._long_running = 0
        self._started = 0
        self._closed = False

    def submit(
        self, owner: str, call: Callable[..., Any], /, *arguments: Any, long: bool = False
    ) -> Future[Any]:
        """Queue a call for an owner.

        ``cancel`` of what is returned takes it out of the queue; a call under way must be told by
        other means.

        Raises
        ------
        BusyError
            The owner, or all of them together, have too much waiting.
        """
        task = _Task(Future(), lambda: call(*arguments), long)
        with self._changed:
            if self._closed:
                raise BusyError("the page is being shut down; nothing was started")
            queue = self._queues.get(owner, deque())
            self._drop_cancelled()
            if len(queue) >= self._most:
                raise BusyError(
                    f"{len(queue)} of your calculations are waiting already; stop some, or wait"
                )
            if sum(map(len, self._queues.values())) >= self._most_in_all:
                raise BusyError("too many people are asking at the moment; try again in a minute")
            if owner not in self._queues:
                self._queues[owner] = queue
            queue.append(task)
            if self._started < self.threads:
                self._started += 1
                name = f"fair-{self._started}"
                threading.Thread(target=self._work, name=name, daemon=True).start()
            self._changed.notify()
        return task.future

    def executor(self, owner: str) -> Executor:
        """Give this pool as an executor for one owner."""
        return _OwnersExecutor(self, owner)

    def ahead(self, future: Future[Any]) -> int | None:
        """How many of the tasks queued by now come before this one; None if it does not wait."""
        with self._changed:
            self._drop_cancelled()
            for queue in self._queues.values():
                for place, task in enumerate(queue):
                    if task.future is future:
                        others = (len(q) for q in self._queues.values() if q is not queue)
                        return place + sum(min(place + 1, there) for there in others)
        return None

    def close(self) -> None:
        """Start nothing more; what waits is cancelled."""
        with self._changed:
            self._closed = True
            for queue in self._queues.values():
                for task in queue:
                    task.future.cancel()
            self._queues.clear()
            self._changed.notify_all()

    def _drop_cancelled(self) -> None:
        for owner, queue in list(self._queues.items()):
            for task in [task for task in queue if task.future.cancelled()]:
                queue.remove(task)
            if not queue:
                del self._queues[owner]

    def _next(self) -> tuple[str, _Task] | None:
        """Task whose turn it is; the lock is held."""
        may_be_long = self._long_running < self.threads - 1
        best: tuple[int, str, _Task] | None = None
        for owner, queue in self._queues.items():
            task = next((task for task in queue if may_be_long or not task.long), None)
            if task is not None and (best is None or self._running[owner] < best[0]):
                best = (self._running[owner], owner, task)
        if best is None:
            return None
        _, owner, task = best
        queue = self._queues[owner]
        queue.remove(task)
        self._queues.move_to_end(owner)
        if not queue:
            del self._queues[owner]
        return owner, task

    def _work(self) -> None:
        while True:
            with self._changed:
                while (found := self._next()) is None:
                    if self._closed:
                        return
                    self._changed.wait()
                owner, task = found
                if not task.future.set_running_or_notify_cancel():
                    continue
                self._running[owner] += 1
                self._long_running += task.long
            try:
                result = task.call()
            except BaseException as fault:
                self._done(owner, task)
                # Handed on, not swallowed: whoever asked shows or raises it.
                task.future.set_exception(fault)
            else:
                self._done(owner, task)
                task.future.set_result(result)
            del task, found

    def _done(self, owner: str, task: _Task) -> None:
        with self._changed:
            self._running[owner] -= 1
            if not self._running[owner]:
                del self._running[owner]
            self._long_running -= task.long
            # A long task that had to wait may now be anyone's turn.
            self._changed.notify_all()


class _OwnersExecutor(Executor):
    def __init__(self, pool: FairPool, owner: str) -> None:
        self._pool, self._owner = pool, owner

    def submit(self, call: Callable[..., Any], /, *arguments: Any, **named: Any) -> Future[Any]:
        return self._pool.submit(self._owner, lambda: call(*arguments, **named))
