"""What a choice of clubs may be, and bounds below which no completion of it can score.

All that is used of the value of a set is that more clubs are never worse:

    A subset of B   implies   value(A) >= value(B)

Let M be the clubs still in play, F those of them that must stay and r how many must go at least.
Every completion leaves out a set R of at least r clubs of M less F, and is worth at least

- value(M);
- the r-th smallest of value(M less c) over the clubs c that may go, because the dearest club of R
  is at least r-th in that order;
- the least t for which the clubs that may go have r among them whose pairs all have
  value(M less the pair) <= t: every pair of R is such a pair. Instead of looking for r clubs that
  are all pairwise cheap, it is enough that each of r clubs has r - 1 cheap partners, which is
  weaker, quicker, and still a bound.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.errors import OptionError

__all__ = ["BagProblem", "ClubSet", "SetValue", "pair_bound", "single_bound"]

ClubSet = frozenset[str]
SetValue = Callable[[ClubSet], float]
"""Expected strokes with a set of clubs; infinite where it cannot play."""


@dataclass(frozen=True)
class BagProblem:
    """Which sets of clubs may be chosen.

    Parameters
    ----------
    candidates
        Labels of all clubs in question, each once.
    limit
        Most clubs that may be chosen.
    forced_in, forced_out
        Clubs that must and must not be chosen.
    price
        Money each club would cost; clubs that are absent cost nothing.
    budget
        Most money; infinite for no limit.

    Raises
    ------
    OptionError
        No set may be chosen.
    """

    candidates: tuple[str, ...]
    limit: int
    forced_in: ClubSet = frozenset()
    forced_out: ClubSet = frozenset()
    price: Mapping[str, float] = field(default_factory=dict)
    budget: float = math.inf

    def __post_init__(self) -> None:
        known = set(self.candidates)
        if len(known) != len(self.candidates):
            raise ValueError("candidates must each be named once")
        unknown = sorted((self.forced_in | self.forced_out) - known)
        if unknown:
            raise OptionError(f"{', '.join(unknown)}: no such candidate; add it or leave it out")
        both = sorted(self.forced_in & self.forced_out)
        if both:
            raise OptionError(f"{', '.join(both)}: forced in and out; choose one")
        if any(price < 0 for price in self.price.values()):
            raise ValueError("prices must not be negative")
        if self.limit < 1:
            raise OptionError("no club may be carried; raise the limit")
        if len(self.forced_in) > self.limit:
            raise OptionError(
                f"{len(self.forced_in)} clubs are forced in, but at most {self.limit} may be had"
            )
        if self.cost(self.forced_in) > self.budget:
            raise OptionError(
                f"the clubs forced in cost {self.cost(self.forced_in):g}, more than the budget of "
                f"{self.budget:g}"
            )

    @property
    def everything(self) -> ClubSet:
        """All candidates that are not forced out."""
        return frozenset(self.candidates) - self.forced_out

    def cost(self, clubs: Iterable[str]) -> float:
        """Money that clubs cost together."""
        return math.fsum(self.price.get(club, 0.0) for club in clubs)

    def allows(self, clubs: ClubSet) -> bool:
        """Whether a set may be chosen."""
        return (
            self.forced_in <= clubs <= self.everything
            and len(clubs) <= self.limit
            and self.cost(clubs) <= self.budget
        )

    def least_removals(self, clubs: ClubSet, kept: ClubSet) -> int | None:
        """How many clubs at least must leave a set, those ``kept`` excepted; None if that fails."""
        free = sorted((self.price.get(club, 0.0) for club in clubs - kept), reverse=True)
        over = self.cost(clubs) - self.budget
        removals = max(len(clubs) - self.limit, 0)
        if removals > len(free):
            return None
        # Money is summed in another order than in the cost of a set: rounding must not decide.
        slack = 1e-9 * max(1.0, abs(self.budget)) if math.isfinite(self.budget) else 0.0
        saved, gone = 0.0, 0
        while over - saved > slack:
            if gone == len(free):
                return None
            saved += free[gone]
            gone += 1
        return max(removals, gone)


def single_bound(singles: Iterable[float], removals: int) -> float:
    """Bound from the values with one club less; see the module docstring."""
    ordered = sorted(singles)
    if removals < 1:
        raise ValueError("removals must be at least 1")
    return ordered[removals - 1] if removals <= len(ordered) else math.inf


def pair_bound(pairs: NDArray[np.float64], removals: int) -> float:
    """Bound from the values with two clubs less; see the module docstring.

    Parameters
    ----------
    pairs
        Symmetric, shape ``(n, n)``: value without clubs i and j; on the diagonal, without i.
    """
    n = len(pairs)
    if removals > n:
        return math.inf
    if removals == 1:
        return float(np.diag(pairs).min())
    # Cost at which each club has enough partners, itself included, and then enough such clubs.
    partner = np.sort(np.maximum(pairs, np.diag(pairs)[:, None]), axis=1)[:, removals - 1]
    return float(np.sort(partner)[removals - 1])
