"""What a round's plan adds up to: where penalties come from and which shots are asked for most."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, fields

from planner.strategy.advice import HolePlan, NextShot, RoundPlan, Shares, Shot

__all__ = ["NextTally", "RiskyHole", "RoundTally", "TeeTally", "tally"]

LEAST_RISK = 0.005
"""Penalty strokes that show with two decimals."""
LONG_PAR = 4
"""From this par on the tee shot is not meant for the green."""


@dataclass(frozen=True)
class TeeTally:
    """The club hit most from the tees of par 4s and longer, and its mean chances there."""

    club: str
    holes: tuple[str, ...]
    shares: Shares


@dataclass(frozen=True)
class NextTally:
    """The club hit most after the tee shot.

    ``times`` is how often a round, over the listed next places; distances to the pin [m].
    """

    club: str
    times: float
    nearest_m: float
    farthest_m: float


@dataclass(frozen=True, eq=False)
class RiskyHole:
    """A hole with its tee shot of the fewest expected penalty strokes, which may be the best."""

    plan: HolePlan
    safest: Shot


@dataclass(frozen=True, eq=False)
class RoundTally:
    """Sums over a round.

    Parameters
    ----------
    ends
        How many of the tee shots end in each place; adds up to the number of holes.
    at_risk
        Holes with the most expected penalty strokes, worst first; none without any.
    tee_club, next_club
        Clubs asked for most; None if there is no such shot.
    """

    ends: Shares
    at_risk: tuple[RiskyHole, ...]
    tee_club: TeeTally | None
    next_club: NextTally | None


def tally(plan: RoundPlan, *, worst: int = 5) -> RoundTally:
    """Add up a round's plan; ``worst`` is the most holes named as risky."""
    order = sorted(plan.holes, key=lambda hole: hole.expected_penalties, reverse=True)
    return RoundTally(
        _sum([hole.best.shares for hole in plan.holes]),
        tuple(_risky(hole) for hole in order[:worst] if hole.expected_penalties > LEAST_RISK),
        _tee_club([hole for hole in plan.holes if hole.hole.par >= LONG_PAR]),
        _next_club([place for hole in plan.holes for place in hole.next_shots]),
    )


def _risky(hole: HolePlan) -> RiskyHole:
    # With equal penalties the cheaper shot, which comes first, is taken.
    shots = (hole.best, *hole.others)
    return RiskyHole(hole, min(shots, key=lambda shot: shot.expected_penalties))


def _sum(shares: Sequence[Shares], each: float = 1.0) -> Shares:
    return Shares(
        **{
            one.name: each * sum(float(getattr(share, one.name)) for share in shares)
            for one in fields(Shares)
        }
    )


def _tee_club(holes: Sequence[HolePlan]) -> TeeTally | None:
    by_club: defaultdict[str, list[HolePlan]] = defaultdict(list)
    for hole in holes:
        by_club[hole.best.club].append(hole)
    if not by_club:
        return None
    club, played = max(by_club.items(), key=lambda item: len(item[1]))
    shares = _sum([hole.best.shares for hole in played], 1.0 / len(played))
    return TeeTally(club, tuple(hole.hole.ref for hole in played), shares)


def _next_club(places: Sequence[NextShot]) -> NextTally | None:
    by_club: defaultdict[str, list[NextShot]] = defaultdict(list)
    for place in places:
        if place.best.aim is not None:
            by_club[place.best.club].append(place)
    if not by_club:
        return None

    def times(club: str) -> float:
        return sum(place.chance for place in by_club[club])

    club = max(by_club, key=times)
    distances = [place.distance_m for place in by_club[club]]
    return NextTally(club, times(club), min(distances), max(distances))
