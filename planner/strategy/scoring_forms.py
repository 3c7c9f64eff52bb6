"""Other forms of stroke play as functions of hole scores: Stableford, maximum score, net.

Rules of Golf 2023, 21.1 and 21.2. What a golfer gets on a hole depends on that hole's score alone,
so each form maps a hole's chances to chances of points or capped strokes; a round is their
convolution, on every kind of day where the golfer has form.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.golfer.handicap import maximum_hole_score
from planner.strategy.round_result import RoundScore, total_under
from planner.strategy.score_distribution import ScoreDistribution, distribution

__all__ = [
    "net_double_bogey",
    "net_scores",
    "round_points",
    "round_with_maximum",
    "stableford_points",
    "stableford_points_of",
    "with_maximum",
]

_POINTS_AT_PAR = 2
"""Rule 21.1b(1): two points for the fixed target score, one more for each stroke fewer."""


def stableford_points_of(score: int, par: int, *, received: int = 0) -> int:
    """Stableford points of one hole score (Rule 21.1b).

    Parameters
    ----------
    received
        Handicap strokes received on the hole, negative if given back; 0 for gross points.
    """
    return max(_POINTS_AT_PAR + par + received - score, 0)


def stableford_points(
    score: ScoreDistribution, par: int, *, received: int = 0
) -> ScoreDistribution:
    """Chances of a hole's Stableford points; exact, since a remainder scores none.

    The table of the Rules ends with six points at four under; with handicap strokes its pattern
    is carried on below that (common practice).

    Raises
    ------
    ValueError
        The scores were not followed to where points end, ``par + received + 2``.
    """
    end = _POINTS_AT_PAR + par + received
    if score.remainder > 0.0 and score.remainder_from < end:
        raise ValueError(
            f"hole scores must be followed to {end}, the remainder starts at {score.remainder_from}"
        )
    points = np.array(
        [stableford_points_of(value, par, received=received) for value in score.scores.tolist()]
    )
    chances = np.bincount(points, weights=score.chances)
    chances[0] += score.remainder
    return distribution(chances, remainder=0.0)


def with_maximum(
    scores: Sequence[ScoreDistribution], maxima: Sequence[int]
) -> tuple[ScoreDistribution, ...]:
    """Chances of each hole's score under a maximum score (Rule 21.2).

    Parameters
    ----------
    maxima
        Maximum of each hole, such as twice its par; followed scores make the result exact.
    """
    return tuple(score.capped(top) for score, top in zip(scores, maxima, strict=True))


def net_double_bogey(
    scores: Sequence[ScoreDistribution], pars: Sequence[int], received: Sequence[int | None]
) -> tuple[ScoreDistribution, ...]:
    """Chances of each hole's score as it counts for handicapping (Rules of Handicapping 3.1).

    Parameters
    ----------
    received
        Strokes received on each hole; None without an index, where par + 5 is the maximum.
    """
    rows = zip(pars, received, strict=True)
    return with_maximum(scores, [maximum_hole_score(par, strokes) for par, strokes in rows])


def net_scores(
    scores: Sequence[ScoreDistribution], received: Sequence[int]
) -> tuple[ScoreDistribution, ...]:
    """Chances of each hole's score less the strokes received."""
    return tuple(score.shifted(-n) for score, n in zip(scores, received, strict=True))


def round_points(score: RoundScore, received: Sequence[int]) -> ScoreDistribution:
    """Chances of a round's Stableford points.

    Parameters
    ----------
    received
        Handicap strokes received on each hole; zeros for gross points.

    Raises
    ------
    ValueError
        A hole's scores were not followed to where its points end.
    """
    pars = [hole.par for hole in score.holes]
    return total_under(
        score,
        lambda holes: (
            stableford_points(hole, par, received=strokes)
            for hole, par, strokes in zip(holes, pars, received, strict=True)
        ),
    )


def round_with_maximum(score: RoundScore, maxima: Sequence[int]) -> ScoreDistribution:
    """Chances of a round's total under a maximum score on each hole (Rule 21.2)."""
    return total_under(score, lambda holes: with_maximum(holes, maxima))
