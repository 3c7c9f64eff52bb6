"""Exact arithmetic on the chances of whole scores: of a hole, of holes together, of mixtures.

A score's chances can only be followed so far. What was not followed is kept as a *remainder*: its
chance, and the score it has at least. Nothing is renormalised. Every chance that is told counts
the remainder against what is claimed, so it is a lower bound, and the exact value lies no more
than the remainder above it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["MASS_TOLERANCE", "ScoreDistribution", "certain", "convolve", "distribution", "mixture"]

FloatArray = NDArray[np.float64]

MASS_TOLERANCE = 1e-9
"""How far the chances with their remainder may add up away from one: rounding, no more."""
_ROUNDING = 1e-12
"""Negative chances down to this are rounding and count as zero."""


@dataclass(frozen=True, eq=False)
class ScoreDistribution:
    """Chances of whole scores (strokes, or points), with what was not followed.

    Build one with :func:`distribution`, :func:`certain`, :func:`convolve` or :func:`mixture`.

    Parameters
    ----------
    first
        Score of ``chances[0]``.
    chances
        Chance of ``first``, ``first + 1``, ..., shape (scores,), read-only.
    remainder
        Chance of the scores that were not followed; 0 if all were.
    remainder_from
        The least that a score in the remainder can be. The remainder of a sum overlaps the
        scores in ``chances``: of two holes followed to 9, one may be 10 or more while the total
        is still a common one.

    Raises
    ------
    ValueError
        A chance is negative or not finite, or they do not add up to one.
    """

    first: int
    chances: FloatArray
    remainder: float
    remainder_from: int

    def __post_init__(self) -> None:
        chances = np.array(self.chances, dtype=np.float64)
        if chances.ndim != 1 or not len(chances):
            raise ValueError(f"chances must have shape (scores,), got {chances.shape}")
        if not np.all(np.isfinite(chances)) or chances.min() < -_ROUNDING:
            raise ValueError("chances must be finite and at least 0")
        if not -_ROUNDING <= self.remainder <= 1.0 + _ROUNDING:
            raise ValueError(f"remainder must be between 0 and 1, got {self.remainder}")
        total = float(chances.sum()) + self.remainder
        if abs(total - 1.0) > MASS_TOLERANCE:
            raise ValueError(f"chances and remainder must add up to 1, got {total!r}")
        np.clip(chances, 0.0, None, out=chances)
        chances.setflags(write=False)
        object.__setattr__(self, "chances", chances)
        object.__setattr__(self, "remainder", max(float(self.remainder), 0.0))

    @property
    def scores(self) -> NDArray[np.int64]:
        """Scores of ``chances``, same shape."""
        return np.arange(self.first, self.first + len(self.chances), dtype=np.int64)

    @property
    def least(self) -> int:
        """Lowest score with a chance, the remainder's included."""
        known = np.flatnonzero(self.chances)
        bounds = [self.first + int(known[0])] if len(known) else []
        if self.remainder > 0.0:
            bounds.append(self.remainder_from)
        return min(bounds)

    @property
    def greatest(self) -> int:
        """Highest score that was followed and has a chance; ``first`` if there is none."""
        known = np.flatnonzero(self.chances)
        return self.first + int(known[-1]) if len(known) else self.first

    @property
    def mean(self) -> float:
        """Mean score, the remainder counted at its least: a lower bound where there is one."""
        return float(self.scores @ self.chances) + self.remainder * self.remainder_from

    @property
    def variance(self) -> float:
        """Variance of the score, the remainder counted at its least."""
        centre = self.mean
        spread = float((self.scores - centre) ** 2 @ self.chances)
        return spread + self.remainder * (self.remainder_from - centre) ** 2

    @property
    def sd(self) -> float:
        """Standard deviation of the score, the remainder counted at its least."""
        return math.sqrt(self.variance)

    def chance(self, score: int) -> float:
        """Chance of exactly ``score``, without the remainder."""
        place = score - self.first
        return float(self.chances[place]) if 0 <= place < len(self.chances) else 0.0

    def chance_at_most(self, score: int) -> float:
        """Chance of ``score`` or fewer; the remainder counts as more."""
        return float(self.chances[: max(score - self.first + 1, 0)].sum())

    def chance_at_least(self, score: int) -> float:
        """Chance of ``score`` or more; a remainder that may be less counts as less."""
        known = float(self.chances[max(score - self.first, 0) :].sum())
        return known + (self.remainder if self.remainder_from >= score else 0.0)

    def chance_of_breaking(self, score: int) -> float:
        """Chance of fewer than ``score``."""
        return self.chance_at_most(score - 1)

    def most_chance_at_most(self, score: int) -> float:
        """Upper bound of the chance of ``score`` or fewer: the remainder counts as little."""
        return 1.0 - self.chance_at_least(score + 1)

    def cumulative(self) -> FloatArray:
        """Chance of each of ``scores`` or fewer, same shape; the remainder counts as more."""
        return np.asarray(np.cumsum(self.chances))

    def quantile(self, share: float) -> int:
        """Lowest score whose chance of it or fewer is at least ``share``.

        Raises
        ------
        ValueError
            ``share`` is not above 0, or so near 1 that the remainder decides.
        """
        if not 0.0 < share <= 1.0:
            raise ValueError(f"share must be above 0 and at most 1, got {share}")
        reached = np.flatnonzero(self.cumulative() >= share - _ROUNDING)
        if not len(reached):
            raise ValueError(f"share {share} lies in the remainder of {self.remainder:.3g}")
        return self.first + int(reached[0])

    def shifted(self, strokes: int) -> ScoreDistribution:
        """The same chances, every score ``strokes`` higher."""
        return ScoreDistribution(
            self.first + strokes, self.chances, self.remainder, self.remainder_from + strokes
        )

    def capped(self, maximum: int) -> ScoreDistribution:
        """Chances where every score above ``maximum`` counts as ``maximum``.

        Exact if the scores were followed up to ``maximum``: the remainder is then part of the
        chance of ``maximum``. Otherwise it is still a remainder.
        """
        resolved = self.remainder_from >= maximum
        above = float(self.chances[max(maximum + 1 - self.first, 0) :].sum())
        first = min(self.first, maximum)
        chances = np.zeros(maximum - first + 1)
        kept = self.chances[: max(maximum + 1 - self.first, 0)]
        chances[self.first - first : self.first - first + len(kept)] = kept
        chances[-1] += above + (self.remainder if resolved else 0.0)
        return ScoreDistribution(
            first,
            chances,
            0.0 if resolved else self.remainder,
            min(self.remainder_from, maximum),
        )


def distribution(
    chances: ArrayLike, *, first: int = 0, remainder: float | None = None
) -> ScoreDistribution:
    """Distribution from the chances of consecutive scores.

    Parameters
    ----------
    chances
        Shape (scores,): chance of ``first``, ``first + 1``, ... With ``first`` 0 the index is the
        score.
    remainder
        Chance of ``first + scores`` or more; what is missing to one if not given. Give it where
        it is known, so that lost chances are found.

    Raises
    ------
    ValueError
        The chances are negative, or add up to something else than one.
    """
    array = np.asarray(chances, dtype=np.float64)
    total = float(array.sum())
    if remainder is None:
        if total > 1.0 + MASS_TOLERANCE:
            raise ValueError(f"chances must add up to at most 1, got {total!r}")
        # Less than a few roundings is no remainder.
        remainder = 1.0 - total if total < 1.0 - _ROUNDING else 0.0
    return _trimmed(first, array, remainder, first + len(array))


def certain(score: int) -> ScoreDistribution:
    """One score for sure."""
    return ScoreDistribution(score, np.ones(1), 0.0, score + 1)


def convolve(parts: Iterable[ScoreDistribution]) -> ScoreDistribution:
    """Sum of independent scores, such as a round from its holes; 0 for sure without any.

    Chances are only added and multiplied, so that even the smallest are right in relation.
    """
    total = certain(0)
    for part in parts:
        chances = np.convolve(total.chances, part.chances)
        known = (1.0 - total.remainder) * (1.0 - part.remainder)
        total = _trimmed(total.first + part.first, chances, 1.0 - known, _least_of_sum(total, part))
    return total


def mixture(
    weights: Sequence[float] | FloatArray, parts: Sequence[ScoreDistribution]
) -> ScoreDistribution:
    """One of ``parts`` by chance.

    Parameters
    ----------
    weights
        Chance of each part; they add up to one.
    """
    if len(weights) != len(parts) or not len(parts):
        raise ValueError(f"{len(weights)} weights for {len(parts)} parts")
    if min(weights) < 0.0 or abs(math.fsum(weights) - 1.0) > MASS_TOLERANCE:
        raise ValueError("weights must be at least 0 and add up to 1")
    first = min(part.first for part in parts)
    chances = np.zeros(max(part.first + len(part.chances) for part in parts) - first)
    for weight, part in zip(weights, parts, strict=True):
        place = part.first - first
        chances[place : place + len(part.chances)] += weight * part.chances
    remainder = math.fsum(w * part.remainder for w, part in zip(weights, parts, strict=True))
    open_ends = [part.remainder_from for part in parts if part.remainder > 0.0]
    return _trimmed(first, chances, remainder, min(open_ends, default=first + len(chances)))


def _least_of_sum(one: ScoreDistribution, other: ScoreDistribution) -> int:
    """Least total with either part in its remainder; past the known totals if neither has one."""
    bounds = []
    if one.remainder > 0.0:
        bounds.append(one.remainder_from + other.least)
    if other.remainder > 0.0:
        bounds.append(other.remainder_from + one.least)
    return min(bounds, default=one.greatest + other.greatest + 1)


def _trimmed(
    first: int, chances: FloatArray, remainder: float, remainder_from: int
) -> ScoreDistribution:
    """Distribution without scores of no chance at either end."""
    known = np.flatnonzero(chances)
    if len(known):
        start, end = int(known[0]), int(known[-1]) + 1
        first, chances = first + start, chances[start:end]
    return ScoreDistribution(first, chances, remainder, remainder_from)
