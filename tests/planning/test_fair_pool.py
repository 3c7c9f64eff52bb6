from __future__ import annotations

import threading
import time
from concurrent.futures import CancelledError

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import BusyError
from planner.planning.fair_pool import FairPool


class Gate:
    """Work that says when it began and ends when it is let go."""

    def __init__(self) -> None:
        self.began, self.go = threading.Event(), threading.Event()

    def __call__(self) -> None:
        self.began.set()
        assert self.go.wait(10)


def blocked(pool: FairPool) -> list[Gate]:
    """Take every thread of a pool; let the gates go to give them back."""
    gates = [Gate() for _ in range(pool.threads)]
    for number, gate in enumerate(gates):
        pool.submit(f"blocker {number}", gate)
        assert gate.began.wait(10)
    return gates


def test_results_and_faults_come_back() -> None:
    pool = FairPool(2)
    assert pool.submit("a", divmod, 7, 2).result(10) == (3, 1)
    assert isinstance(pool.submit("a", divmod, 7, 0).exception(10), ZeroDivisionError)
    assert list(pool.executor("a").map(abs, [-1, -2])) == [1, 2]


@given(
    counts=st.lists(st.integers(1, 12), min_size=1, max_size=6),
    order=st.randoms(use_true_random=False),
)
@settings(max_examples=30)
def test_turns_go_round(counts: list[int], order: object) -> None:
    """However much anyone has queued, before his next turn nobody else has two more than he."""
    pool = FairPool(2)
    gates = blocked(pool)
    asked = [owner for owner, count in enumerate(counts) for _ in range(count)]
    order.shuffle(asked)  # type: ignore[attr-defined]
    served: list[int] = []
    alone = threading.Lock()

    def note(owner: int) -> None:
        with alone:
            served.append(owner)

    futures = [pool.submit(f"owner {owner}", note, owner) for owner in asked]
    gates[0].go.set()
    for future in futures:
        future.result(10)
    gates[1].go.set()
    # One thread served them one at a time: until an owner has no more, turns differ by one.
    left = dict(enumerate(counts))
    turns = dict.fromkeys(left, 0)
    for owner in served:
        turns[owner] += 1
        left[owner] -= 1
        waiting = [turns[other] for other in left if left[other]]
        assert not waiting or turns[owner] - min(waiting) <= 1
    assert sum(turns.values()) == len(asked)


def test_a_newcomer_waits_for_one_task_of_a_heavy_user() -> None:
    pool = FairPool(2)
    gates = blocked(pool)
    served: list[str] = []
    heavy = [pool.submit("heavy", served.append, "heavy") for _ in range(50)]
    light = pool.submit("light", served.append, "light")
    assert pool.ahead(light) == 1
    assert pool.ahead(heavy[3]) == 4
    gates[0].go.set()
    light.result(10)
    for future in heavy:
        future.result(10)
    gates[1].go.set()
    assert served.index("light") <= 1
    assert pool.ahead(light) is None


def test_one_user_alone_has_all_threads() -> None:
    pool = FairPool(3)
    gates = [Gate() for _ in range(3)]
    for gate in gates:
        pool.submit("only", gate)
    assert all(gate.began.wait(10) for gate in gates)
    for gate in gates:
        gate.go.set()


def test_long_work_leaves_a_thread_free() -> None:
    pool = FairPool(2)
    first, second = Gate(), Gate()
    pool.submit("a", first, long=True)
    assert first.began.wait(10)
    later = pool.submit("b", second, long=True)
    assert pool.submit("c", abs, -3).result(10) == 3
    assert not second.began.is_set()
    # Short work of one whose long work waits is not held up by it.
    assert pool.submit("b", abs, -4).result(10) == 4
    first.go.set()
    assert second.began.wait(10)
    second.go.set()
    later.result(10)


def test_what_is_cancelled_never_runs_and_does_not_count() -> None:
    pool = FairPool(2, most_waiting=2)
    gates = blocked(pool)
    ran: list[int] = []
    waiting = [pool.submit("a", ran.append, number) for number in range(2)]
    with pytest.raises(BusyError, match="2 of your calculations are waiting"):
        pool.submit("a", ran.append, 9)
    assert waiting[0].cancel()
    last = pool.submit("a", ran.append, 2)
    for gate in gates:
        gate.go.set()
    last.result(10)
    assert ran == [1, 2]
    with pytest.raises(CancelledError):
        waiting[0].result()


def test_all_together_may_not_wait_without_end() -> None:
    pool = FairPool(2, most_waiting_in_all=3)
    gates = blocked(pool)
    for number in range(3):
        pool.submit(f"owner {number}", abs, 1)
    with pytest.raises(BusyError, match="too many people"):
        pool.submit("another", abs, 1)
    for gate in gates:
        gate.go.set()


def test_threads_are_bounded() -> None:
    pool = FairPool(3)
    before = threading.active_count()
    most = 0
    futures = [pool.submit(f"owner {n % 7}", time.sleep, 0.002) for n in range(70)]
    for future in futures:
        most = max(most, threading.active_count() - before)
        future.result(10)
    assert most <= 3


def test_a_closed_pool_starts_nothing() -> None:
    pool = FairPool(2)
    gates = blocked(pool)
    waiting = pool.submit("a", abs, -1)
    pool.close()
    assert waiting.cancelled()
    with pytest.raises(BusyError, match="shut down"):
        pool.submit("a", abs, -1)
    for gate in gates:
        gate.go.set()
