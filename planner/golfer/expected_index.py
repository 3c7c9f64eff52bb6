"""The handicap index that rounds of known chances lead to, exactly.

With every round drawn from the same chances the index of a full record is the mean of the lowest
8 of 20 independent differentials. Its distribution follows from order statistics by dynamic
programming over the differentials from the lowest up: a state is how many of the counting scores
are placed and their sum.

Exceptional score reductions and caps are left out: they depend on the order of the rounds. They
pull the index of a golfer whose rounds differ widely a little further down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.golfer.handicap import (
    FULL_RECORD,
    MAX_INDEX,
    CourseRating,
    counting_scores,
    differential_tenths,
)

__all__ = ["IndexChances", "index_chances"]

FloatArray = NDArray[np.float64]

_TOLERANCE = 1e-9
"""How far the chances of the rounds may add up away from one."""


@dataclass(frozen=True, eq=False)
class IndexChances:
    """Chances of a handicap index.

    Parameters
    ----------
    indices
        Possible indices, ascending, shape (indices,).
    chances
        Their chances, same shape, adding up to one.
    """

    indices: FloatArray
    chances: FloatArray

    @property
    def mean(self) -> float:
        """Expected index."""
        return float(self.indices @ self.chances)

    @property
    def sd(self) -> float:
        """Standard deviation of the index from one record of scores to another."""
        return math.sqrt(float((self.indices - self.mean) ** 2 @ self.chances))

    def quantile(self, share: float) -> float:
        """Lowest index whose chance of it or lower is at least ``share``."""
        if not 0.0 < share <= 1.0:
            raise ValueError(f"share must be above 0 and at most 1, got {share}")
        place = int(np.searchsorted(np.cumsum(self.chances), share - _TOLERANCE))
        return float(self.indices[min(place, len(self.indices) - 1)])


def index_chances(
    scores: ArrayLike,
    chances: ArrayLike,
    course: CourseRating,
    *,
    rounds: int = FULL_RECORD,
    pcc: float = 0.0,
) -> IndexChances:
    """Chances of the index after ``rounds`` rounds on a course.

    Parameters
    ----------
    scores
        Adjusted gross scores of a round, ascending, shape (scores,).
    chances
        Their chances, same shape, adding up to one.
    rounds
        Scores in the record, 3 to 20.

    Raises
    ------
    ValueError
        The chances are no distribution or ``rounds`` is outside its range.
    """
    totals = np.asarray(scores, dtype=np.int64)
    shares = np.asarray(chances, dtype=np.float64)
    if totals.ndim != 1 or totals.shape != shares.shape or not np.all(np.diff(totals) > 0):
        raise ValueError("scores must ascend and have one chance each")
    if not np.all(shares >= 0.0) or abs(float(shares.sum()) - 1.0) > _TOLERANCE:
        raise ValueError("chances must be at least 0 and add up to 1")
    if rounds > FULL_RECORD:
        raise ValueError(f"rounds must be at most {FULL_RECORD}, got {rounds}")
    low, adjustment = counting_scores(rounds)
    tenths, grouped = _by_tenths(totals, shares, course, pcc)
    sums = _lowest_sum(tenths, grouped, rounds, low)
    return _as_indices(sums, low * int(tenths[0]), low, adjustment)


def _by_tenths(
    totals: NDArray[np.int64], shares: FloatArray, course: CourseRating, pcc: float
) -> tuple[NDArray[np.int64], FloatArray]:
    """Differentials in tenths, ascending and each once, with their chances."""
    rows = [
        (differential_tenths(float(total), course, pcc=pcc), float(share))
        for total, share in zip(totals.tolist(), shares.tolist(), strict=True)
        if share > 0.0
    ]
    groups = [
        (tenths, math.fsum(share for _, share in group))
        for tenths, group in groupby(rows, key=lambda row: row[0])
    ]
    return np.array([row[0] for row in groups]), np.array([row[1] for row in groups])


def _lowest_sum(tenths: NDArray[np.int64], shares: FloatArray, rounds: int, low: int) -> FloatArray:
    """Chances of the sum of the ``low`` lowest of ``rounds``, in tenths over its least value.

    ``open_sums[c]`` holds the chances, divided by rounds!, of c scores placed so far with that
    sum; of m equal scores the weight is p^m / m!. All terms are positive, so nothing cancels.
    """
    over = tenths - tenths[0]
    size = low * int(over[-1]) + 1
    open_sums = np.zeros((low, size))
    open_sums[0, 0] = 1.0
    done = np.zeros(size)
    after = np.append(np.cumsum(shares[::-1])[::-1][1:], 0.0)
    for value, share, rest in zip(over.tolist(), shares.tolist(), after.tolist(), strict=True):
        placed = open_sums.copy()
        for count in range(low):
            wanted = low - count
            for more in range(1, wanted):
                moved = _moved(open_sums[count], more * value)
                placed[count + more] += moved * (share**more / math.factorial(more))
            left = rounds - count
            filled = math.fsum(
                share**more / math.factorial(more) * rest ** (left - more)
                / math.factorial(left - more)
                for more in range(wanted, left + 1)
            )  # fmt: skip
            done += _moved(open_sums[count], wanted * value) * filled
        open_sums = placed
    return np.asarray(done * math.factorial(rounds))


def _moved(sums: FloatArray, by: int) -> FloatArray:
    """The same chances, ``by`` places higher; what leaves the end can never have a chance."""
    if by == 0:
        return sums
    moved = np.zeros_like(sums)
    moved[by:] = sums[:-by]
    return moved


def _as_indices(sums: FloatArray, least: int, low: int, adjustment: int) -> IndexChances:
    """Mean of the counting scores to a tenth, halves up, and the highest index there is."""
    totals = least + np.arange(len(sums)) + 10 * adjustment * low
    tenths = np.minimum((2 * totals + low) // (2 * low), round(10 * MAX_INDEX))
    found, places = np.unique(tenths, return_inverse=True)
    chances = np.bincount(places, weights=sums).astype(np.float64)
    return IndexChances(found / 10.0, chances)
