"""From a record of scores to an index, and from an index to strokes on a course."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.golfer.handicap import (
    STROKE_PLAY_ALLOWANCE,
    CourseRating,
    HandicapIndex,
    course_handicap,
    handicap_index,
    playing_handicap,
    record_with_reductions,
    target_score,
)
from planner.golfer.score_file import PostedScore
from planner.golfer.yardage_rating import YardageRating

__all__ = ["CourseStrokes", "ScoringRecord", "course_strokes", "scoring_record"]


@dataclass(frozen=True)
class ScoringRecord:
    """A record of scores and the index it gives.

    Parameters
    ----------
    scores
        As posted, oldest first.
    differentials
        As they count: as posted, or after the reductions for exceptional scores.
    index
        The index and which scores count.
    exceptional
        Places of scores 7.0 strokes or more below the index they were played with.
    reduced
        Whether their reductions are in ``differentials``.
    """

    scores: tuple[PostedScore, ...]
    differentials: tuple[float, ...]
    index: HandicapIndex
    exceptional: tuple[int, ...]
    reduced: bool


@dataclass(frozen=True)
class CourseStrokes:
    """What an index is worth on a course.

    Parameters
    ----------
    course, par
        Rating and par of the 18 or nine holes.
    estimate
        Where the rating comes from the length alone; else None.
    allowance
        Share of the course handicap that counts in the playing handicap.
    course_handicap, playing_handicap
        Strokes received, negative if given back.
    target
        Gross score that plays to the course handicap.
    """

    course: CourseRating
    par: int
    estimate: YardageRating | None
    allowance: float
    course_handicap: int
    playing_handicap: int
    target: int


def scoring_record(
    scores: Sequence[PostedScore],
    *,
    low_index: float | None = None,
    reduce_exceptional: bool = False,
) -> ScoringRecord:
    """Index of a record, and which scores count.

    Parameters
    ----------
    scores
        Oldest first.
    low_index
        Lowest index of the year before; with it rises are capped.
    reduce_exceptional
        Take the reductions for exceptional scores off; leave it where the differentials come
        from a record that has them already.

    Raises
    ------
    ValueError
        There are fewer than three scores.
    """
    record = record_with_reductions(
        [score.differential for score in scores], reduce=reduce_exceptional
    )
    return ScoringRecord(
        tuple(scores),
        record.differentials,
        handicap_index(record.differentials, low_index=low_index),
        record.exceptional,
        reduce_exceptional,
    )


def course_strokes(
    index: float,
    course: CourseRating,
    par: int,
    *,
    estimate: YardageRating | None = None,
    allowance: float = STROKE_PLAY_ALLOWANCE,
    nine_holes: bool = False,
) -> CourseStrokes:
    """Course and playing handicap of an index, and the score that plays to it."""
    received = course_handicap(index, course, par, nine_holes=nine_holes)
    return CourseStrokes(
        course,
        par,
        estimate,
        allowance,
        received,
        playing_handicap(index, course, par, allowance=allowance, nine_holes=nine_holes),
        target_score(received, par),
    )
