"""What a score is worth: the stakes a hole is played for.

Strokes in hand are what is left of an allowance; every stroke and penalty takes one. A hole is
played for its worth by the strokes in hand when the ball is holed. What the worth is makes the
form of play: the chance of a total over the holes that follow, Stableford points (Rule 21.1), a
score under a maximum (Rule 21.2), a hole of match play (Rule 3.2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.strategy.match_chances import hole_chances
from planner.strategy.score_distribution import ScoreDistribution, certain
from planner.strategy.scoring_forms import stableford_points_of

__all__ = [
    "ScoreWorth",
    "match_worth",
    "maximum_worth",
    "points_worth",
    "target_worth",
    "worth_of_scores",
]

FloatArray = NDArray[np.float64]

_ROUNDING = 1e-9
"""Falls of the worth down to this are rounding and are levelled."""


@dataclass(frozen=True, eq=False)
class ScoreWorth:
    """Worth by strokes in hand when a ball is holed; more in hand is never worth less.

    Parameters
    ----------
    first
        Strokes in hand of ``worth[0]``.
    worth
        Worth of ``first``, ``first + 1``, ... strokes in hand, shape (n,). Fewer than ``first``
        are worth ``worth[0]``, more than the last ``worth[-1]``.

    Raises
    ------
    ValueError
        The worth is empty, not finite, or falls.
    """

    first: int
    worth: FloatArray

    def __post_init__(self) -> None:
        worth = np.array(self.worth, dtype=np.float64)
        if worth.ndim != 1 or not len(worth) or not np.isfinite(worth).all():
            raise ValueError("worth must be finite, of shape (n,)")
        if np.any(np.diff(worth) < -_ROUNDING * max(float(np.abs(worth).max()), 1.0)):
            raise ValueError("more strokes in hand must not be worth less")
        worth = np.maximum.accumulate(worth)
        worth.setflags(write=False)
        object.__setattr__(self, "worth", worth)

    @property
    def last(self) -> int:
        """Strokes in hand of the last worth."""
        return self.first + len(self.worth) - 1

    @property
    def range(self) -> float:
        """Most that can be won or lost."""
        return float(self.worth[-1] - self.worth[0])

    def at(self, in_hand: ArrayLike) -> FloatArray:
        """Worth of strokes in hand, same shape."""
        place = np.asarray(in_hand, dtype=np.intp) - self.first
        return np.asarray(self.worth[np.clip(place, 0, len(self.worth) - 1)])

    def expected(self, score: ScoreDistribution, in_hand: ArrayLike) -> FloatArray:
        """Mean worth after a hole of known chances, from strokes in hand on its tee.

        The remainder of the score counts at its least.
        """
        start = np.asarray(in_hand, dtype=np.intp)
        after = self.at(start[..., None] - score.scores) @ score.chances
        return np.asarray(after + score.remainder * self.at(start - score.remainder_from))


def target_worth() -> ScoreWorth:
    """Worth after the last hole: 1 with no stroke too many, else 0."""
    return ScoreWorth(-1, np.array([0.0, 1.0]))


def worth_of_scores(worth: ArrayLike, *, first: int = 1) -> ScoreWorth:
    """Stakes of one hole by its score, in hand being none on the tee.

    Parameters
    ----------
    worth
        Worth of the scores ``first``, ``first + 1``, ...; higher scores are worth the last.
    """
    by_score = np.asarray(worth, dtype=np.float64)
    return ScoreWorth(-(first + len(by_score) - 1), by_score[::-1])


def points_worth(par: int, *, received: int = 0) -> ScoreWorth:
    """Stableford points of one hole (Rule 21.1b)."""
    end = max(par + received + 2, 1)
    return worth_of_scores(
        [stableford_points_of(score, par, received=received) for score in range(1, end + 1)]
    )


def maximum_worth(maximum: int) -> ScoreWorth:
    """Fewest strokes under a maximum score (Rule 21.2): its worth is minus the score."""
    if maximum < 1:
        raise ValueError(f"the maximum of a hole is at least 1, got {maximum}")
    return worth_of_scores(-np.arange(1.0, maximum + 1))


def match_worth(
    theirs: ScoreDistribution, *, win: float, half: float, loss: float, received: int = 0
) -> ScoreWorth:
    """One hole of match play against an opponent whose score has known chances.

    Parameters
    ----------
    win, half, loss
        Worth of winning, halving and losing the hole, such as 1, 0.5 and 0, or the chances of
        the match thereafter; ``win`` the most and ``loss`` the least.
    received
        Strokes received on the hole.

    Raises
    ------
    ValueError
        The opponent's scores were not followed to the end, or a loss is worth more.
    """
    if theirs.remainder > 1e-6:
        raise ValueError("the opponent's scores must be followed to the end")
    if not loss <= half <= win:
        raise ValueError(f"win, half and loss must be worth ever less, got {win}, {half}, {loss}")
    worth = []
    for score in range(1, theirs.greatest + max(received, 0) + 2):
        chances = hole_chances(certain(score), theirs, received=received)
        lost = 1.0 - chances.win - chances.half
        worth.append(win * chances.win + half * chances.half + loss * lost)
    # Rounding must not make a worse score worth more.
    return worth_of_scores(np.minimum.accumulate(worth))
