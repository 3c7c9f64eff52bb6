"""The handicap index a golfer would hold who plays rounds of known chances, on one course.

Scores count with every hole limited to net double bogey, which depends on the course handicap and
so on the index itself. The two are brought together by iteration: a higher course handicap never
gives a lower index, so the iteration from the top comes down to a pair that agrees.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.golfer.expected_index import IndexChances, index_chances
from planner.golfer.handicap import (
    MAX_INDEX,
    CourseRating,
    course_handicap,
    strokes_received,
    target_score,
)
from planner.strategy.round_result import RoundScore, total_under
from planner.strategy.score_distribution import ScoreDistribution
from planner.strategy.scoring_forms import net_double_bogey

__all__ = ["HeldIndex", "adjusted_total", "held_index"]


@dataclass(frozen=True, eq=False)
class HeldIndex:
    """Index of a full record of rounds like this one.

    Parameters
    ----------
    index
        Its chances; the mean is what the golfer would usually hold.
    course_handicap
        Of the mean index on this course.
    adjusted
        Chances of the adjusted gross score that counts.
    average_over
        Expected gross total less par and course handicap: strokes over the handicap.
    plays_to_it
        Chance of a gross total of par plus course handicap or fewer.
    """

    index: IndexChances
    course_handicap: int
    adjusted: ScoreDistribution
    average_over: float
    plays_to_it: float


def adjusted_total(score: RoundScore, handicap: int | None) -> ScoreDistribution:
    """Chances of the adjusted gross score: form as in ``score``, holes at most net double bogey.

    Parameters
    ----------
    handicap
        Course handicap, whole; None before there is an index.

    Raises
    ------
    ValueError
        A hole lacks its stroke index.
    """
    pars = [hole.par for hole in score.holes]
    received: Sequence[int | None] = [None] * len(pars)
    if handicap is not None:
        received = strokes_received(handicap, _stroke_indices(score))
    return total_under(score, lambda holes: net_double_bogey(holes, pars, received))


def held_index(score: RoundScore, course: CourseRating) -> HeldIndex:
    """Index of a golfer whose 20 rounds are all drawn from ``score``.

    Raises
    ------
    ValueError
        The round has not 18 holes, lacks a stroke index, or holes were not followed to where
        their score is limited.
    """
    if len(score.holes) != 18:
        raise ValueError(f"an index needs rounds of 18 holes, got {len(score.holes)}")
    handicap = course_handicap(MAX_INDEX, course, score.par)
    while True:
        adjusted = adjusted_total(score, handicap)
        if adjusted.remainder > 0.0:
            raise ValueError("hole scores must be followed to net double bogey")
        found = index_chances(adjusted.scores, np.asarray(adjusted.chances), course)
        agreed = course_handicap(round(found.mean, 1), course, score.par)
        if agreed >= handicap:
            break
        handicap = agreed
    return HeldIndex(
        index=found,
        course_handicap=agreed,
        adjusted=adjusted,
        average_over=score.expected - target_score(agreed, score.par),
        plays_to_it=score.total.chance_at_most(target_score(agreed, score.par)),
    )


def _stroke_indices(score: RoundScore) -> list[int]:
    missing = [hole.ref for hole in score.holes if hole.stroke_index is None]
    if missing:
        raise ValueError(f"no stroke index on hole {', '.join(missing)}")
    return [hole.stroke_index for hole in score.holes if hole.stroke_index is not None]
