"""What is said about bags: frozen results, nothing computed but sums."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.strategy.bag_bounds import ClubSet
from planner.strategy.bag_sketch import ClubUse
from planner.strategy.club_worth import RedundantPair
from planner.strategy.purchase_frontier import Holding, Purchase, YearsOfUse

__all__ = [
    "NO_DIFFERENCE",
    "BagAdvice",
    "BagComparison",
    "BagDifference",
    "BagScore",
    "Cause",
    "ClubWorth",
    "HoleDifference",
    "HoleOfBag",
    "MoneyRow",
    "RatedBag",
]

NO_DIFFERENCE = 0.03
"""Strokes a round to which two solves agree; a smaller difference is none."""


@dataclass(frozen=True)
class HoleOfBag:
    """A hole with one bag: expected strokes and penalty strokes, deviation of the score.

    ``course`` is the name of the round where several are over one course; ``penalty_chance`` is the
    chance of at least one penalty stroke.
    """

    course: str
    ref: str
    par: int
    strokes: float
    penalties: float
    spread: float
    penalty_chance: float = math.nan


@dataclass(frozen=True)
class BagScore:
    """A bag over all holes; numbers are for a round, averaged over courses.

    ``spread`` is the standard deviation of the round's score and ``penalty_chance`` the chance of
    at least one penalty stroke in it, holes being independent.
    """

    name: str
    clubs: tuple[str, ...]
    holes: tuple[HoleOfBag, ...]
    strokes: float
    penalties: float
    spread: float
    penalty_chance: float = math.nan


@dataclass(frozen=True)
class Cause:
    """Shots that make a difference on a hole.

    Parameters
    ----------
    where
        ``"tee"``, or ``"approach"`` from anywhere else.
    low_m, high_m
        Distance to the pin [m] between which they are played; equal for a tee shot.
    first, second
        Club that either bag mostly plays there.
    strokes
        What they add to the score of the second bag over that of the first.
    """

    where: str
    low_m: float
    high_m: float
    first: str
    second: str
    strokes: float


@dataclass(frozen=True)
class HoleDifference:
    """Second bag less first on one hole, and the deviation of that from unknown patterns."""

    course: str
    ref: str
    strokes: float
    sd: float
    causes: tuple[Cause, ...]


@dataclass(frozen=True)
class BagDifference:
    """Second bag less first over a round.

    Parameters
    ----------
    first, second
        Names of the bags.
    strokes, penalties
        Differences a round; negative where the second bag is better.
    sd
        Standard deviation of ``strokes`` from what is not known of the clubs' patterns, errors
        that both bags share cancelled.
    low, high
        Interval that holds the difference with a chance of nine in ten.
    holes
        The same hole by hole.
    """

    first: str
    second: str
    strokes: float
    penalties: float
    sd: float
    low: float
    high: float
    holes: tuple[HoleDifference, ...]

    @property
    def real(self) -> bool:
        """Whether the bags differ, as far as can be told."""
        return abs(self.strokes) >= NO_DIFFERENCE and not self.low <= 0.0 <= self.high


@dataclass(frozen=True)
class BagComparison:
    """Bags over the same holes; the first is the one that the others are compared with."""

    golfer: str
    rounds: tuple[str, ...]
    bags: tuple[BagScore, ...]
    differences: tuple[BagDifference, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class RatedBag:
    """A bag that came near the best: expected strokes in the search and solved again finely.

    ``fine`` is NaN where it was not solved again.
    """

    clubs: ClubSet
    searched: float
    fine: float
    price: float


@dataclass(frozen=True)
class ClubWorth:
    """What a club is worth in the chosen bag, in strokes a round.

    Parameters
    ----------
    club
        Its label.
    carried
        Whether it is in the chosen bag.
    missed
        Lost without it; for a club left out, what it would save in the best place.
    instead_of
        For a club left out, the one that would have to go.
    share, share_error
        Its Shapley value and the standard error; NaN for a club left out.
    use
        How it is used; None for a club left out.
    """

    club: str
    carried: bool
    missed: float
    instead_of: str | None
    share: float
    share_error: float
    use: ClubUse | None


@dataclass(frozen=True)
class MoneyRow:
    """One thing that makes the score lower: clubs to buy, or a change of technique.

    ``technique`` says that practice brings it, not money; ``holding`` is None then, and where
    nothing is known of money.
    """

    name: str
    saved: float
    technique: bool
    holding: Holding | None


@dataclass(frozen=True)
class BagAdvice:
    """Which clubs to carry, and what they and others are worth.

    Parameters
    ----------
    golfer, rounds
        For the heading.
    candidates
        Labels of the clubs in question, putters left out.
    putter
        Labels of the putters, which take places but are not chosen among.
    limit
        Most clubs, putters left out.
    now
        Clubs carried now, with their value; None if more are carried than allowed.
    best
        The bag to carry.
    equal
        Bags not to be told from it: within ``error`` of its value.
    error
        How far values of the search were off where they were solved again [strokes a round].
    bound, proven
        No set is worth less in the search than ``bound``; ``proven`` if that is the value of the
        best.
    evaluations, seconds_each
        Sets valued by the search, and how long one took.
    prepared_s, searched_s
        Time for solving the holes with every club, and for the search.
    worths
        Clubs of the chosen bag, then the others.
    pairs
        Clubs that stand in for each other.
    frontier
        Strokes saved against money, by rising money; empty if nothing is for sale.
    frontier_proven
        Whether every point of it is the best for its money.
    money
        Purchases and techniques by strokes saved.
    use
        Years and rounds that money is spread over.
    currency
        The user's.
    least
        Clubs that come before one in the orders of the Shapley value.
    notes
        What was assumed.
    """

    golfer: str
    rounds: tuple[str, ...]
    candidates: tuple[str, ...]
    putter: tuple[str, ...]
    limit: int
    now: RatedBag | None
    best: RatedBag
    equal: tuple[RatedBag, ...]
    error: float
    bound: float
    proven: bool
    evaluations: int
    seconds_each: float
    prepared_s: float
    searched_s: float
    worths: tuple[ClubWorth, ...]
    pairs: tuple[RedundantPair, ...]
    frontier: tuple[Purchase, ...]
    frontier_proven: bool
    money: tuple[MoneyRow, ...]
    use: YearsOfUse
    currency: str = ""
    least: int = 0
    notes: tuple[str, ...] = ()

    @property
    def left_out(self) -> tuple[str, ...]:
        """Candidates that are not carried, in their order."""
        return tuple(club for club in self.candidates if club not in self.best.clubs)

    @property
    def gap(self) -> float:
        """By how much another set could at most be better in the search [strokes]."""
        return max(self.best.searched - self.bound, 0.0)

    @property
    def saved(self) -> float:
        """Strokes a round that the chosen bag saves on the present one; NaN without one."""
        if self.now is None:
            return math.nan
        if math.isnan(self.now.fine) or math.isnan(self.best.fine):
            return self.now.searched - self.best.searched
        return self.now.fine - self.best.fine
