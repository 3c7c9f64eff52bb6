"""Exact chances of a hole's score under its plan.

Nothing is drawn. All mass starts on the tee and is pushed through the plan, stroke by stroke
(:mod:`planner.strategy.plan_mass`), until it is on the green; there the chances of one, two, three
putts from each distance are the golfer's. With ``g(k, d)`` the mass that comes to the green at
distance ``d`` with ``k`` strokes and penalty strokes spent, and ``p(j, d)`` the chance of ``j``
putts from there::

    chance of score n = sum over k + j = n and all d of g(k, d) p(j, d)

Expected strokes, penalties and putts are added up on the way, so the mean of the chances is
checked by a sum that does not know them.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass

import numpy as np

from planner.golfer.shot_outcome import ShotModel
from planner.strategy.ground_lines import GroundPartition
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.plan_mass import PlannedShots, PushedPlan, push_plan
from planner.strategy.score_distribution import ScoreDistribution
from planner.strategy.solution import HoleSolution

__all__ = ["HoleCounts", "count_hole"]

REMAINDER = 1e-5
"""Chance of higher scores at which they are no longer followed."""
MOST_OVER_PAR = 25
"""Strokes over par beyond which no score is followed, however likely."""
_MOST_PUTTS = 12


@dataclass(frozen=True)
class HoleCounts:
    """What a hole comes to under its plan, followed from the tee.

    ``score`` holds the chances of the score; ``expected`` is the expected score, found without
    them: a sum along the same plan, which the mean of ``score`` must equal. ``putts`` and
    ``penalties`` are expected numbers, ``green`` is the chance to be on the green in two strokes
    fewer than par.
    """

    score: ScoreDistribution
    expected: float
    putts: float
    penalties: float
    green: float


def count_hole(
    solution: HoleSolution,
    solver: HoleSolver,
    partition: GroundPartition,
    shots: PlannedShots,
    *,
    remainder: float = REMAINDER,
    threads: int = 1,
    cancelled: threading.Event | None = None,
) -> HoleCounts:
    """Follow the plan of a solved hole from the tee.

    Parameters
    ----------
    solution, solver
        A solved hole, and the solver that solved it.
    partition
        Ground of the hole, with the edge of its map.
    shots
        The plan.
    remainder
        Chance of higher scores at which they are no longer followed; what is left is the
        remainder of the score.
    """
    par = solution.hole.par
    pushed = push_plan(
        solution,
        solver,
        partition,
        shots,
        most=par + MOST_OVER_PAR,
        remainder=remainder,
        threads=threads,
        cancelled=cancelled,
    )
    putts = float(pushed.on_green.sum(axis=0) @ solution.model.expected_putts(pushed.nodes_m))
    return HoleCounts(
        score=_score(pushed, solution.model),
        expected=float(pushed.strokes + pushed.penalties + putts),
        putts=putts,
        penalties=float(pushed.penalties),
        green=float(pushed.on_green[: max(par - 1, 0)].sum()),
    )


def _score(pushed: PushedPlan, model: ShotModel) -> ScoreDistribution:
    within = np.array([model.putts_within(pushed.nodes_m, k) for k in range(_MOST_PUTTS + 1)])
    holed = np.diff(within, axis=0)
    spent, most = len(pushed.on_green), len(holed)
    chances = np.zeros(spent + most)
    for k, mass in enumerate(pushed.on_green):
        chances[k + 1 : k + 1 + most] += holed @ mass
    known = np.flatnonzero(chances)
    first = int(known[0]) if len(known) else 1
    followed = chances[first : int(known[-1]) + 1] if len(known) else np.zeros(1)
    remainder = max(1.0 - float(followed.sum()), 0.0)
    return ScoreDistribution(first, followed, remainder, pushed.left_from)
