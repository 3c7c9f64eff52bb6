"""One hole solved for many shot models: its tables are made once, and holes go side by side."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from planner.course.hole import Hole, Tee
from planner.errors import SolveError
from planner.golfer.shot_outcome import ShotModel
from planner.planning.hole_desk import planned_shots, score_of
from planner.planning.request import PlanRequest, tee_of
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.hole_plan import build_levels, preview_options, solve_hole
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.hole_tables import HoleTables, TableOptions, longest_climb, longest_runs
from planner.strategy.round_result import HoleScore
from planner.strategy.solution import SolveOptions
from planner.strategy.solver_side import SHORT_LONGEST_M

__all__ = ["HoleBench", "each_hole", "open_bench"]

T = TypeVar("T")
Place = TypeVar("Place")
Runs = tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class HoleBench:
    """A hole with its tables, made by :func:`open_bench`.

    ``levels`` holds the tables without and, if it is in force, with Local Rule E-5.
    """

    hole: Hole
    tee: Tee
    levels: tuple[tuple[HoleTables, ...], ...]

    def solve(
        self,
        model: ShotModel,
        *,
        count_penalties: bool = False,
        cancelled: threading.Event | None = None,
    ) -> HoleAdviser:
        """Fewest strokes of one of the models the bench was opened for.

        Raises
        ------
        SolveError
            The hole cannot be solved, or the solution did not settle.
        planner.strategy.solution.Cancelled
            ``cancelled`` was set.
        """
        return self._solve(model, count_penalties, cancelled)[0]

    def solve_scored(
        self, model: ShotModel, *, cancelled: threading.Event | None = None
    ) -> tuple[HoleAdviser, HoleScore]:
        """As :meth:`solve`, and the chances of the hole's score."""
        adviser, solver = self._solve(model, True, cancelled)
        shots = planned_shots(adviser, solver)
        return adviser, score_of(adviser, solver, shots, cancelled=cancelled)

    def _solve(
        self, model: ShotModel, count_penalties: bool, cancelled: threading.Event | None
    ) -> tuple[HoleAdviser, HoleSolver]:
        found = []
        for levels in self.levels:
            options = SolveOptions(tables=levels[0].options, count_penalties=count_penalties)
            solution, solver = solve_hole(levels, model, options, cancelled=cancelled)
            found.append((HoleAdviser(solution, solver, self.tee), solver))
        best, solver = min(found, key=lambda one: one[0].tee_value)
        if not best.solution.converged:
            raise SolveError(
                f"hole {self.hole.ref}: not converged, its values still move by "
                f"{best.solution.residual:.3f} strokes; leave it out with --holes"
            )
        return best, solver


def open_bench(
    request: PlanRequest, hole: Hole, models: Sequence[ShotModel], *, threads: int = 1
) -> HoleBench:
    """Tables of ``hole`` that serve every one of ``models``."""
    runs = [longest_runs(model, patch_carry=SHORT_LONGEST_M) for model in models]
    options = TableOptions(
        club_length=max(model.club_length_m for model in models),
        local_rule_e5=request.local_rule_e5,
        longest_runs=_longest([every for every, _ in runs]),
        patch_longest_runs=_longest([short for _, short in runs]),
        longest_climb=max(longest_climb(model) for model in models),
        threads=threads,
    )
    if request.preview:
        options = preview_options(options)
    rules = [False, True] if options.local_rule_e5 and hole.in_bounds is not None else [False]
    levels = tuple(build_levels(hole, replace(options, local_rule_e5=rule)) for rule in rules)
    return HoleBench(hole, tee_of(hole, request.tee), levels)


def each_hole(
    holes: Sequence[Place],
    work: Callable[[Place], T],
    *,
    threads: int,
    cancelled: threading.Event,
) -> list[T]:
    """Do some work for every hole, side by side; results in the order of the holes.

    The first failure sets ``cancelled``, so that the rest stops, and is raised.
    """
    with ThreadPoolExecutor(max(1, min(threads, len(holes)))) as pool:
        jobs = [pool.submit(work, hole) for hole in holes]
        try:
            return [job.result() for job in jobs]
        except BaseException:
            cancelled.set()
            for job in jobs:
                job.cancel()
            raise


def _longest(runs: Sequence[Runs]) -> Runs:
    fairway, rough, deep_rough, green = np.max(np.asarray(runs), axis=0).tolist()
    return fairway, rough, deep_rough, green
