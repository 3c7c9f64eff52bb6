"""Jobs of a batch on a Dask cluster: processes of this computer, or a scheduler by its address.

Contents travel with the jobs, so that workers need no disk in common; results come back to be
written by the one who asked. A worker that dies has its jobs done again by others. One at whose
jobs workers die again and again is given up and said.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from types import TracebackType
from typing import TYPE_CHECKING, Any

from planner.errors import OptionError, PlannerError
from planner.planning.batch import Job, Outcome, plan_pair

if TYPE_CHECKING:
    from distributed import Client

__all__ = ["Cluster", "ClusterError"]

DEATHS_ALLOWED = 3
"""Workers that may die at one job before it is given up; Dask's own default."""
AHEAD = 2
"""Jobs handed out for each worker's thread, so that none waits for the next one."""
CONNECT_S = 20.0
LARGE = "100 MB"
"""Message above which Dask warns: a job carries a map of up to 25 MB."""


class ClusterError(PlannerError):
    """The cluster cannot be reached any more, or has no workers."""


class Cluster:
    """Workers for a batch; a runner of jobs, to be used in a ``with`` block.

    Parameters
    ----------
    scheduler
        Address such as ``tcp://10.0.0.4:8786``; None starts worker processes here.
    workers
        Worker processes started here; one for each core if None.

    Raises
    ------
    OptionError
        Dask is not installed, or no scheduler answers there.
    """

    def __init__(self, scheduler: str | None = None, *, workers: int | None = None) -> None:
        self._scheduler, self._workers = scheduler, workers
        self._stack = ExitStack()
        self._client: Client | None = None

    def __enter__(self) -> Cluster:
        try:
            import dask
            import distributed
        except ImportError:
            raise OptionError(
                "Dask is not installed, which batches need: pip install 'planner[batch]'"
            ) from None
        logging.getLogger("distributed").setLevel(logging.CRITICAL)
        settings = {
            "distributed.scheduler.allowed-failures": DEATHS_ALLOWED,
            "distributed.admin.large-graph-warning-threshold": LARGE,
            "distributed.worker.daemon": True,
        }
        self._stack.enter_context(dask.config.set(settings))
        try:
            if self._scheduler is None:
                local = distributed.LocalCluster(
                    n_workers=self._workers or os.cpu_count() or 1,
                    threads_per_worker=1,
                    processes=True,
                    dashboard_address=None,
                    silence_logs=logging.CRITICAL,
                )
                self._stack.enter_context(local)
                self._client = distributed.Client(local)
            else:
                self._client = distributed.Client(self._scheduler, timeout=CONNECT_S)
            self._stack.enter_context(self._client)
        except (OSError, ValueError, TimeoutError) as error:
            self._stack.close()
            where = self._scheduler or "here"
            raise OptionError(f"--scheduler {where}: no answer ({error})") from None
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stack.close()

    @property
    def cores(self) -> int:
        """Threads of all workers at present."""
        return 0 if self._client is None else sum(self._client.nthreads().values())

    def __call__(self, jobs: Iterable[Job]) -> Iterator[Outcome]:
        """Plan jobs and give what became of each, as soon as it is there."""
        import distributed

        client = self._client
        if client is None:
            raise RuntimeError("a cluster is used in a with block")
        try:
            client.wait_for_workers(1, timeout=CONNECT_S)
        except TimeoutError:
            raise ClusterError("the scheduler has no workers; start some") from None
        waiting = iter(jobs)
        keys: dict[Any, str] = {}
        done = distributed.as_completed()

        def hand_out() -> None:
            while len(keys) < max(1, AHEAD * self.cores):
                job = next(waiting, None)
                if job is None:
                    return
                future = client.submit(plan_pair, job, key=f"plan-{job.pair.key}", pure=False)
                keys[future] = job.pair.key
                done.add(future)

        hand_out()
        for future in done:
            yield _outcome(future, keys.pop(future))
            future.release()
            hand_out()


def _outcome(future: Any, key: str) -> Outcome:
    from distributed import KilledWorker

    if future.status == "cancelled":
        raise ClusterError("the scheduler went away; run the batch again to go on")
    fault = future.exception()
    if fault is None:
        outcome: Outcome = future.result()
        return outcome
    if isinstance(fault, KilledWorker):
        return Outcome(key, fault=f"{DEATHS_ALLOWED + 1} workers died at it")
    return Outcome(key, fault=f"a fault of the program: {fault!r}")
