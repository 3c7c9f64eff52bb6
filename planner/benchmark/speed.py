"""How long a hole and a round take, and what they need."""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial

from planner.benchmark.evaluation_count import EvaluationCount, counted_evaluations
from planner.benchmark.result_table import ResultTable
from planner.benchmark.solved_hole import Player
from planner.course.hole import Hole
from planner.planning.hole_desk import open_hole
from planner.planning.round_plan import plan_round
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.solution import SolveOptions

USUAL_LENGTH_M = 400.0
"""Length of the single hole that is timed; the course's hole nearest to it is taken [m]."""
_STARTS = 5
_COMMANDS = {
    "import planner": "import planner",
    "planner --help": "import sys; sys.argv = ['planner', '--help']; "
    "from planner.cli.app import main; main()",
}


@dataclass(frozen=True)
class _Timed:
    seconds: float
    count: EvaluationCount


def speed(golfer: Player, *, threads: int, repeats: int) -> list[ResultTable]:
    """Time one hole, the whole course, and a start of the program.

    Parameters
    ----------
    golfer
        Whose holes; his bag decides how many swings there are.
    threads
        Threads used.
    repeats
        The least of so many runs of the single hole is given.
    """
    holes = golfer.course.holes
    hole = min(holes, key=lambda one: abs(_length(golfer, one) - USUAL_LENGTH_M))
    _solve_only(golfer, [hole], threads)  # compiled kernels are loaded, or compiled, here
    open_hole(golfer.request([hole], threads=threads), hole.ref)
    rows = []
    for name, chosen, runs in (
        (f"hole {hole.ref}, {_length(golfer, hole):.0f} m", [hole], repeats),
        (f"{len(holes)} holes", list(holes), 1),
    ):
        rows.append(
            _row(
                name,
                _least(partial(_solve_only, golfer, chosen, threads), runs),
                _least(partial(_plan, golfer, chosen, threads), runs).seconds,
            )
        )
    clubs = len({swing.club for swing in golfer.model.swings})
    notes = [
        "Seconds on the clock for tables and solve, and with the plan's advice drawn up, too.",
        "Evaluated: costs of one swing on one bearing from one lie and cell, over all sweeps; "
        "with components: the same times the components of its shot pattern.",
        f"Bag: {golfer.name}, {clubs} clubs without the putter, "
        f"{len(golfer.model.swings)} swings with partial ones; {golfer.tee} tees.",
        f"{threads} threads; least of {repeats} runs for the one hole. Kernels compiled and "
        "loaded by a run before the clock starts.",
        f"Peak memory so far: {peak_memory_mib():.0f} MiB.",
    ]
    heading = ("", "solved s", "with advice s", "evaluated", "a second", "with components a second")
    return [ResultTable("Speed of planning", heading, rows, notes), start_up()]


def start_up() -> ResultTable:
    """Time an import and the help, each in a fresh interpreter."""
    empty = _started("pass")
    rows = [
        [name, f"{_started(code):.3f}", f"{_started(code) - empty:.3f}"]
        for name, code in _COMMANDS.items()
    ]
    notes = [
        f"A fresh interpreter each; least of {_STARTS} starts. An empty one takes {empty:.3f} s."
    ]
    return ResultTable("Start of the program", ("", "seconds", "without the empty"), rows, notes)


def peak_memory_mib() -> float:
    """Most memory this process has held so far [MiB]."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 2**20 if sys.platform == "darwin" else peak / 2**10


def _length(golfer: Player, hole: Hole) -> float:
    return hole.length_from(golfer.tee_of(hole))


def _row(name: str, alone: _Timed, advised: float) -> list[str]:
    return [
        name,
        f"{alone.seconds:.2f}",
        f"{advised:.2f}",
        f"{alone.count.actions / 1e6:,.0f} million",
        f"{alone.count.actions / alone.seconds / 1e6:,.0f} million",
        f"{alone.count.components / alone.seconds / 1e6:,.0f} million",
    ]


def _least(work: Callable[[], None], runs: int) -> _Timed:
    return min((_timed(work) for _ in range(runs)), key=lambda one: one.seconds)


def _timed(work: Callable[[], None]) -> _Timed:
    with counted_evaluations() as count:
        begun = time.perf_counter()
        work()
        return _Timed(time.perf_counter() - begun, count)


def _solve_only(golfer: Player, holes: Sequence[Hole], threads: int) -> None:
    """Tables and solve of every hole, holes side by side, as in a plan of a round."""
    workers = max(1, min(threads, len(holes)))
    options = golfer.table_options(threads=max(1, threads // workers))

    def one(hole: Hole) -> None:
        solve_hole(build_levels(hole, options), golfer.model, SolveOptions(tables=options))

    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(one, holes))


def _plan(golfer: Player, holes: Sequence[Hole], threads: int) -> None:
    plan_round(golfer.request(holes, threads=threads))


def _started(code: str) -> float:
    def once() -> float:
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True, stdout=subprocess.DEVNULL)
        return time.perf_counter() - begun

    return min(once() for _ in range(_STARTS))
