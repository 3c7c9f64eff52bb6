"""Handicaps by the World Handicap System: from scores to an index, and from it to strokes.

Source: Rules of Handicapping (The R&A and USGA, 2020, revised 2024); the Rule stands beside each
function. Not included: the playing conditions calculation itself (its result is an input), scores
over nine holes, whose expected second half follows no published formula, and committee reviews.

Numbers are taken as the decimals they print as and rounded exactly: ".5 rounded upwards", which
for negative values is towards zero (Rules 5.1a, 5.1c, 6.1, 6.2).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

__all__ = [
    "FULL_RECORD",
    "LEAST_RECORD",
    "MAX_INDEX",
    "PCC_RANGE",
    "SLOPE_RANGE",
    "STANDARD_SLOPE",
    "STROKE_PLAY_ALLOWANCE",
    "Cap",
    "CourseRating",
    "HandicapIndex",
    "ReducedRecord",
    "adjusted_gross_score",
    "counting_scores",
    "course_handicap",
    "differential_tenths",
    "exceptional_reduction",
    "handicap_index",
    "maximum_hole_score",
    "playing_handicap",
    "record_with_reductions",
    "round_half_up",
    "score_differential",
    "strokes_received",
    "target_score",
    "unrounded_course_handicap",
]

STANDARD_SLOPE = 113
"""Slope rating of a course of standard difficulty."""
SLOPE_RANGE = (55, 155)
"""Definition of slope rating."""
PCC_RANGE = (-1.0, 3.0)
"""Rule 5.1a, note: the playing conditions adjustment."""
MAX_INDEX = 54.0
"""Rule 5.3."""
FULL_RECORD, LEAST_RECORD = 20, 3
"""Scores in a full record, and the fewest that give an index."""
STROKE_PLAY_ALLOWANCE = 0.95
"""Appendix C: recommended for individual stroke play, also Stableford and maximum score. From
memory."""
SOFT_CAP, HARD_CAP = 3, 5
"""Rule 5.8: strokes above the low index where a rise is halved, and where it ends."""

_COUNTING = (
    (3, 1, -2), (4, 1, -1), (5, 1, 0), (6, 2, -1), (8, 2, 0), (11, 3, 0), (14, 4, 0), (16, 5, 0),
    (18, 6, 0), (19, 7, 0), (20, 8, 0),
)  # fmt: skip
"""Rule 5.2a: up to so many scores, so many of the lowest count, and the adjustment [strokes]."""
_EXCEPTIONAL = ((Fraction(10), -2), (Fraction(7), -1))
"""Rule 5.9: strokes below the index from which a score is exceptional, and the reduction."""
_MAX_OVER_PAR = 5
"""Rule 3.1a, before there is an index; and from memory 3.1b, where a course handicap above 54
would give more."""


class Cap(Enum):
    """How a rise of an index was limited."""

    NONE = "none"
    SOFT = "soft cap"
    HARD = "hard cap"


@dataclass(frozen=True)
class CourseRating:
    """Rating of a set of tees for one group of players.

    Parameters
    ----------
    rating
        Course rating: what a scratch golfer's better rounds average [strokes].
    slope
        Slope rating, 55 to 155.
    """

    rating: float
    slope: int

    def __post_init__(self) -> None:
        if not (math.isfinite(self.rating) and self.rating > 0.0):
            raise ValueError(f"course rating must be above 0, got {self.rating}")
        if not SLOPE_RANGE[0] <= self.slope <= SLOPE_RANGE[1]:
            raise ValueError(f"slope rating must be {SLOPE_RANGE[0]} to {SLOPE_RANGE[1]}, "
                             f"got {self.slope}")  # fmt: skip


@dataclass(frozen=True)
class HandicapIndex:
    """An index and how it came about.

    Parameters
    ----------
    value
        Handicap index; plus handicaps are negative.
    counting
        Places in the record of the scores that count, oldest first.
    considered
        Number of scores looked at, the most recent 20 at most.
    adjustment
        Strokes added to the mean of the counting scores for a short record.
    before_cap
        The index without cap, and ``cap`` which one applied.
    """

    value: float
    counting: tuple[int, ...]
    considered: int
    adjustment: int
    before_cap: float
    cap: Cap


@dataclass(frozen=True)
class ReducedRecord:
    """A record after its exceptional scores.

    Parameters
    ----------
    differentials
        Score differentials with the reductions taken off, oldest first.
    exceptional
        Places of the exceptional scores.
    """

    differentials: tuple[float, ...]
    exceptional: tuple[int, ...]


def round_half_up(value: Fraction, unit: Fraction = Fraction(1)) -> Fraction:
    """Nearest multiple of ``unit``; halves go up, for negative values towards zero."""
    return math.floor(value / unit + Fraction(1, 2)) * unit


def score_differential(score: float, course: CourseRating, *, pcc: float = 0.0) -> float:
    """Score differential of a round over 18 holes, to a tenth (Rule 5.1a).

    Parameters
    ----------
    score
        Adjusted gross score; see :func:`adjusted_gross_score`.
    pcc
        Playing conditions adjustment of the day, -1 to 3.
    """
    return differential_tenths(score, course, pcc=pcc) / 10


def differential_tenths(score: float, course: CourseRating, *, pcc: float = 0.0) -> int:
    """Score differential as a whole number of tenths."""
    if not PCC_RANGE[0] <= pcc <= PCC_RANGE[1]:
        raise ValueError(f"PCC must be {PCC_RANGE[0]:g} to {PCC_RANGE[1]:g}, got {pcc}")
    over = _exact(score) - _exact(course.rating) - _exact(pcc)
    return int(round_half_up(10 * over * STANDARD_SLOPE / course.slope))


def counting_scores(scores: int) -> tuple[int, int]:
    """How many of the lowest ``scores`` count, and the adjustment [strokes] (Rule 5.2).

    Raises
    ------
    ValueError
        There are fewer than three scores.
    """
    if scores < LEAST_RECORD:
        raise ValueError(f"an index needs {LEAST_RECORD} scores over 18 holes, got {scores}")
    considered = min(scores, FULL_RECORD)
    return next((low, change) for most, low, change in _COUNTING if considered <= most)


def handicap_index(
    differentials: Sequence[float], *, low_index: float | None = None
) -> HandicapIndex:
    """Handicap index of a record (Rules 5.2, 5.3, 5.8).

    Parameters
    ----------
    differentials
        Score differentials, oldest first; only the last 20 are looked at.
    low_index
        Lowest index of the 365 days before the last score. Caps apply only with it, and, since a
        low index is established by a full record, only to 20 scores or more.

    Raises
    ------
    ValueError
        There are fewer than three scores.
    """
    low, adjustment = counting_scores(len(differentials))
    start = max(len(differentials) - FULL_RECORD, 0)
    # Of equal scores the later one counts: it stays in the record longer.
    order = sorted(range(start, len(differentials)), key=lambda i: (differentials[i], -i))
    counting = tuple(sorted(order[:low]))
    mean = sum((_exact(differentials[i]) for i in counting), Fraction()) / low
    found = min(_tenths(mean + adjustment), _exact(MAX_INDEX))
    value, cap = found, Cap.NONE
    if low_index is not None and len(differentials) >= FULL_RECORD:
        value, cap = _capped(found, _exact(low_index))
    return HandicapIndex(
        value=float(value),
        counting=counting,
        considered=len(differentials) - start,
        adjustment=adjustment,
        before_cap=float(found),
        cap=cap,
    )


def _capped(index: Fraction, low: Fraction) -> tuple[Fraction, Cap]:
    """Half of a rise above 3.0 counts, and no more than 5.0 (Rule 5.8)."""
    rise = index - low
    if rise <= SOFT_CAP:
        return index, Cap.NONE
    softened = SOFT_CAP + (rise - SOFT_CAP) / 2
    if softened > HARD_CAP:
        return low + HARD_CAP, Cap.HARD
    return _tenths(low + softened), Cap.SOFT


def exceptional_reduction(differential: float, index: float) -> int:
    """Strokes [0, -1 or -2] taken off the record for one score (Rule 5.9).

    Parameters
    ----------
    index
        Handicap index in force when the round was played.
    """
    below = _exact(index) - _exact(differential)
    return next((change for least, change in _EXCEPTIONAL if below >= least), 0)


def record_with_reductions(differentials: Sequence[float], *, reduce: bool = True) -> ReducedRecord:
    """Walk through a record and find its exceptional scores (Rule 5.9).

    Every score is compared with the index before it, and a reduction is taken off each of the 20
    most recent differentials, the exceptional one included. Caps on the way are left out, since
    they depend on dates.

    Parameters
    ----------
    differentials
        As played, oldest first.
    reduce
        False only finds them, for a record whose differentials are reduced already.
    """
    record: list[Fraction] = []
    exceptional = []
    for place, differential in enumerate(differentials):
        change = 0
        if len(record) >= LEAST_RECORD:
            index = handicap_index([float(value) for value in record[-FULL_RECORD:]]).value
            change = exceptional_reduction(differential, index)
        record.append(_exact(differential))
        if change:
            exceptional.append(place)
        if change and reduce:
            record[-FULL_RECORD:] = [value + change for value in record[-FULL_RECORD:]]
    return ReducedRecord(tuple(float(value) for value in record), tuple(exceptional))


def unrounded_course_handicap(
    index: float, course: CourseRating, par: int, *, nine_holes: bool = False
) -> Fraction:
    """Course handicap in full, as a playing handicap wants it (Rule 6.1).

    Parameters
    ----------
    course, par
        Of the 18 or, with ``nine_holes``, of the nine that are played; of a nine counts half the
        index, to a tenth.
    """
    share = _tenths(_exact(index) / 2) if nine_holes else _exact(index)
    return share * course.slope / STANDARD_SLOPE + _exact(course.rating) - par


def course_handicap(
    index: float, course: CourseRating, par: int, *, nine_holes: bool = False
) -> int:
    """Course handicap: strokes received at par; negative are given back (Rule 6.1)."""
    full = unrounded_course_handicap(index, course, par, nine_holes=nine_holes)
    return int(round_half_up(full))


def playing_handicap(
    index: float,
    course: CourseRating,
    par: int,
    *,
    allowance: float = STROKE_PLAY_ALLOWANCE,
    nine_holes: bool = False,
) -> int:
    """Strokes received in a competition (Rule 6.2).

    Parameters
    ----------
    allowance
        Share of the course handicap that counts in the form of play; 1 in singles match play.
    """
    full = unrounded_course_handicap(index, course, par, nine_holes=nine_holes)
    return int(round_half_up(full * _exact(allowance)))


def target_score(handicap: int, par: int) -> int:
    """Gross score that plays to a course handicap (USGA, Local Guidance for Rule 6)."""
    return par + handicap


def strokes_received(handicap: int, stroke_indices: Sequence[int]) -> tuple[int, ...]:
    """Strokes received on each hole, negative where they are given back (Appendix E).

    The holes are taken in the order of their stroke indices: the lowest receive first, and plus
    handicaps give back from the highest. Only the order counts, so that nine holes with the odd
    stroke indices of a card are right as well.

    Raises
    ------
    ValueError
        Two holes have the same stroke index.
    """
    if len(set(stroke_indices)) != len(stroke_indices):
        raise ValueError("stroke indices must be different")
    order = {value: rank for rank, value in enumerate(sorted(stroke_indices))}
    if not order:
        return ()
    # Floor division also serves plus handicaps: -1 is one stroke less everywhere and 17 more.
    everywhere, first = divmod(handicap, len(order))
    return tuple(everywhere + (order[value] < first) for value in stroke_indices)


def maximum_hole_score(par: int, received: int | None) -> int:
    """Highest score on a hole for handicapping: net double bogey (Rule 3.1).

    Parameters
    ----------
    received
        Strokes received on the hole with the full course handicap; None without an index.
    """
    return par + (_MAX_OVER_PAR if received is None else min(2 + received, _MAX_OVER_PAR))


def adjusted_gross_score(
    scores: Sequence[int], pars: Sequence[int], received: Sequence[int | None]
) -> int:
    """Total with every hole limited to its maximum (Rule 3.1)."""
    return sum(
        min(score, maximum_hole_score(par, strokes))
        for score, par, strokes in zip(scores, pars, received, strict=True)
    )


def _exact(value: float) -> Fraction:
    """The decimal number that a float prints as."""
    return Fraction(str(float(value)))


def _tenths(value: Fraction) -> Fraction:
    return round_half_up(value, Fraction(1, 10))
