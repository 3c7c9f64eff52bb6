"""Exact chances of a hole's score under its plan.

Nothing is drawn. The chance to hole out within ``k`` strokes is carried along the policy from
everywhere on the hole (:mod:`planner.strategy.policy_evaluation`), then through the tee shot with
its exact swing and bearing. With ``q`` the chance that the tee shot is lost or out of bounds::

    F_k(tee) = E[ F_(k - 1)(next); in play ] + q F_(k - 2)(tee)

Expected putts and penalties are carried the same way, and so is the chance to be on the green in
two strokes fewer than par. The sum of ``1 - F_k`` over all ``k`` is the expected score.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Point
from planner.course.lies import Lie
from planner.strategy.action_means import ActionMeans
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.policy_evaluation import PolicyEvaluation, Within
from planner.strategy.relief_values import PLAYED_LIES
from planner.strategy.score_distribution import ScoreDistribution, distribution
from planner.strategy.solution import HoleSolution
from planner.strategy.values import Values, index_points, point_values

__all__ = ["HoleCounts", "TeeStroke", "count_hole"]

FloatArray = NDArray[np.float64]

REMAINDER = 1e-5
"""Chance of higher scores at which they are no longer followed."""
MOST_OVER_PAR = 25
"""Strokes over par beyond which no score is followed, however likely."""
SETTLED = 2e-4
"""Change at which expected putts are settled."""
_PUTTS_GUESS = 1.9
"""Putts of a hole from which the search for their expected number starts."""
_ROUGH_SLOT = PLAYED_LIES.index(Lie.ROUGH)


@dataclass(frozen=True)
class TeeStroke:
    """The shot from the tee: where it is hit from, the swing, and its bearing [rad]."""

    position_hole: Point
    swing: int
    bearing: float


@dataclass(frozen=True)
class HoleCounts:
    """What a hole comes to under its plan, followed from the tee.

    ``score`` holds the chances of the score; ``expected`` is the expected score, found without
    them: a sum along the same policy, which the mean of ``score`` must equal. ``putts`` and
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
    tee: TeeStroke,
    *,
    remainder: float = REMAINDER,
    cancelled: threading.Event | None = None,
) -> HoleCounts:
    """Follow the plan of a solved hole from the tee.

    Parameters
    ----------
    solution, solver
        A solved hole, and the solver that solved it.
    remainder
        Chance of higher scores at which they are no longer followed; what is left is the
        remainder of the score.
    """
    policy = PolicyEvaluation(solver, solution.values)
    follower = _FromTee(solver, tee)
    par = solution.hole.par
    steps: list[Within] = []
    left = 1.0
    for step in islice(policy.holing(cancelled=cancelled), par + MOST_OVER_PAR):
        steps.append(step)
        if 1.0 - _near(solver, step.values, tee.position_hole) < remainder:
            # A tee shot that is often lost leaves more than a ball in play beside the tee.
            left = 1.0 - float(follower.within(steps)[-1])
            if left < remainder:
                break
    within = follower.within(steps)
    chances = np.diff(within)
    return HoleCounts(
        score=distribution(chances, first=1, remainder=float(1.0 - within[-1])),
        expected=_expected(policy, follower, solution, cancelled),
        putts=_putts(policy, follower, solver, cancelled),
        penalties=_penalties(policy, follower, solution, cancelled),
        green=float(
            follower.within(
                list(islice(policy.reaching_green(cancelled=cancelled), max(par - 2, 0)))
            )[-1]
        ),
    )


class _FromTee:
    """Carries what is known everywhere on a hole through its tee shot."""

    def __init__(self, solver: HoleSolver, tee: TeeStroke) -> None:
        self._solver, self._tee = solver, tee

    def within(self, steps: list[Within]) -> FloatArray:
        """Chances to reach a goal from the tee within 0, 1, ... ``len(steps)`` strokes."""
        found = np.zeros(len(steps) + 1)
        if not steps:
            return found
        in_play, lost = self._means([one.values for one in steps], [one.edges for one in steps])
        for k in range(1, len(found)):
            found[k] = in_play[k - 1] + (lost * found[k - 2] if k > 1 else 0.0)
        # Interpolation may leave a chance a few millionths too high, or falling.
        return np.maximum.accumulate(np.clip(found, 0.0, 1.0))

    def additive(
        self, values: Values, edges: FloatArray, *, stroke: float, penalty: float
    ) -> float:
        """Expected sum from the tee of a quantity that is known everywhere."""
        (in_play,), lost = self._means([values], [edges])
        return float((stroke + in_play + lost * penalty) / (1.0 - lost))

    def _means(self, values: list[Values], edges: list[FloatArray]) -> tuple[FloatArray, float]:
        tee = self._tee
        means = ActionMeans(self._solver, values, edges)
        return means.after(tee.position_hole, Lie.TEE, tee.swing, tee.bearing)


def _near(solver: HoleSolver, values: Values, point: Point) -> float:
    """A quantity at a point with a lie in the rough: about that at the tee."""
    grid = solver.tables.grid
    index = index_points(
        grid, solver.tables.pin, np.array([point]), np.array([_ROUGH_SLOT], dtype=np.intp)
    )
    base = solver.builder.base_values(values)
    return float(point_values(index, base, values.patch, np.zeros(1))[0])


def _expected(
    policy: PolicyEvaluation,
    follower: _FromTee,
    solution: HoleSolution,
    cancelled: threading.Event | None,
) -> float:
    price = solution.options.penalty_price
    strokes = policy.additive(
        stroke=1.0,
        penalty=1.0,
        start=solution.values if price == 0.0 else None,
        tolerance=SETTLED,
        cancelled=cancelled,
    )
    edges = policy.at_edges(strokes, putt=1.0, penalty=1.0)
    return follower.additive(strokes, edges, stroke=1.0, penalty=1.0)


def _putts(
    policy: PolicyEvaluation,
    follower: _FromTee,
    solver: HoleSolver,
    cancelled: threading.Event | None,
) -> float:
    guess = solver.zero()
    guess.state[:], guess.patch[:] = _PUTTS_GUESS, _PUTTS_GUESS
    putts = policy.additive(
        stroke=0.0, penalty=0.0, putt=1.0, start=guess, tolerance=SETTLED, cancelled=cancelled
    )
    edges = policy.at_edges(putts, putt=1.0, penalty=0.0)
    return follower.additive(putts, edges, stroke=0.0, penalty=0.0)


def _penalties(
    policy: PolicyEvaluation,
    follower: _FromTee,
    solution: HoleSolution,
    cancelled: threading.Event | None,
) -> float:
    found = solution.penalties
    if found is None:
        found = policy.additive(stroke=0.0, penalty=1.0, cancelled=cancelled)
    return follower.additive(found, policy.edge_penalties(found), stroke=0.0, penalty=1.0)
