"""Playing for a target: the best chance of a total, strokes in hand carried from hole to hole.

With ``s`` strokes in hand on the tee of a hole the best chance is that of the hole played for what
the strokes then left are worth on the next tee::

    W_h(s) = max over play of  E[ W_(h+1)(s - strokes) ],   after the last hole 1 if s >= 0, else 0

worked out from the last hole back. The plan's own chances are the same sum without the maximum.
Only strokes in hand with which a golfer may stand there, and with which anything is open, are
worked out; with others the hole is played as planned.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from planner.strategy.hole_solver import check_cancelled
from planner.strategy.score_distribution import ScoreDistribution
from planner.strategy.score_worth import ScoreWorth

__all__ = ["Stage", "TargetChances", "best_chances"]

FloatArray = NDArray[np.float64]

LEAST_REACH, LEAST_CHANCE = 2e-4, 2e-4
"""Standings rarer than this on a tee are left to the plan, as are chances that near 0 or 1."""
_HOPELESS = 1e-7
_BESIDE = 2
"""Strokes beyond the expected score down to which a hole is followed from its fewest in hand."""


class Stage(Protocol):
    """One hole: its score as planned, and its best play for a worth."""

    @property
    def score(self) -> ScoreDistribution:
        """Chances of its score as planned."""

    def best(self, worth: ScoreWorth, *, follow: int, first: int, last: int) -> FloatArray:
        """Worth of best play from the tee with ``first`` to ``last`` strokes in hand.

        During the hole fewer than ``follow`` strokes in hand need not be told apart.
        """


@dataclass(frozen=True, eq=False)
class TargetChances:
    """Chances of a target by hole and strokes in hand.

    Parameters
    ----------
    target
        Total to reach or beat.
    plan, best
        Chance on the tee of each hole, and after the last, as planned and at best, shape
        ``(holes + 1, target + 2)``; the columns are -1, 0, ... ``target`` strokes in hand.
    reach
        Chance to stand so as planned, same shape; none is counted below -1.
    solved
        Fewest and most strokes in hand for which best play was worked out on each hole; None
        where nothing is open.
    """

    target: int
    plan: FloatArray
    best: FloatArray
    reach: FloatArray
    solved: tuple[tuple[int, int] | None, ...]

    @property
    def chance_planned(self) -> float:
        """Chance of the target as planned."""
        return float(self.plan[0, -1])

    @property
    def chance(self) -> float:
        """Best chance of the target."""
        return float(self.best[0, -1])

    @property
    def gain(self) -> float:
        """Chance gained by playing for the target."""
        return self.chance - self.chance_planned

    def of(self, table: FloatArray, hole: int, in_hand: int) -> float:
        """Entry of one of the tables; with fewer than -1 in hand that of -1."""
        return float(table[hole, max(in_hand, -1) + 1])


def best_chances(
    stages: Sequence[Stage],
    target: int,
    *,
    told: Callable[[int, TargetChances], None] | None = None,
    cancelled: threading.Event | None = None,
) -> TargetChances:
    """Best chance of ``target`` or fewer strokes over holes played in order.

    Parameters
    ----------
    stages
        The holes in order of play.
    told
        Called with the place of each hole once it is worked out, the last one first, and the
        chances; those of the holes before it are still as planned.
    """
    holes = len(stages)
    in_hand = np.arange(-1, target + 1)
    plan = np.zeros((holes + 1, len(in_hand)))
    plan[-1] = in_hand >= 0
    for h in range(holes - 1, -1, -1):
        plan[h] = ScoreWorth(-1, plan[h + 1]).expected(stages[h].score, in_hand)
    reach = _reach([stage.score for stage in stages], len(in_hand))
    best = plan.copy()
    solved: list[tuple[int, int] | None] = [None] * holes
    for h in range(holes - 1, -1, -1):
        check_cancelled(cancelled)
        worth = ScoreWorth(-1, best[h + 1])
        best[h] = worth.expected(stages[h].score, in_hand)
        open_ = (plan[h] > LEAST_CHANCE) & (plan[h] < 1.0 - LEAST_CHANCE)
        standing = (np.cumsum(reach[h]) > LEAST_REACH) & (
            np.cumsum(reach[h][::-1])[::-1] > LEAST_REACH
        )
        wanted = in_hand[open_ & standing]
        if len(wanted):
            first, last = int(wanted[0]), int(wanted[-1])
            hopeful = int(in_hand[np.argmax(worth.worth > _HOPELESS)]) + 1
            deep = first - math.ceil(stages[h].score.mean) - _BESIDE
            found = stages[h].best(
                worth, follow=min(max(deep, hopeful), first), first=first, last=last
            )
            chosen = slice(first + 1, last + 2)
            # Playing on as planned is always open.
            best[h, chosen] = np.maximum(best[h, chosen], found)
            # So is not to use a stroke more in hand than others that were worked out.
            best[h] = np.maximum.accumulate(best[h])
            solved[h] = first, last
        if told is not None:
            told(h, TargetChances(target, plan, best, reach, tuple(solved)))
    return TargetChances(target, plan, best, reach, tuple(solved))


def _reach(scores: Sequence[ScoreDistribution], size: int) -> FloatArray:
    """Chance of each number of strokes in hand on every tee, played as planned."""
    reach = np.zeros((len(scores) + 1, size))
    reach[0, -1] = 1.0
    for h, score in enumerate(scores):
        for strokes, chance in zip(score.scores.tolist(), score.chances.tolist(), strict=True):
            if strokes < size:
                reach[h + 1, : size - strokes] += chance * reach[h, strokes:]
    return reach
