"""Which club makes which partial swing.

A golfer can chip any distance; a solver needs a list. The most lofted club gets the fine ladder
over every distance below its full carry, with rungs a share of the golfer's own spread apart:
what lies between two rungs is then lost in the spread. A partial swing with another wedge pays
in two places only: chips that should run out, where rungs twice as far apart are fine enough
because the fine ladder lies beside them, and the distances just below its own full carry, which
the more lofted clubs reach with a full swing or not at all. What a wedge other than the most
lofted one gets depends on its own carry alone.

Where bags are compared that must not be: with ``every_ladder`` every wedge gets the fine ladder
and every iron the punch-outs, so that a club in the bag never takes a swing from another.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from planner.golfer.club import Club, ClubKind
from planner.units import RAD_PER_DEG

Step = Callable[[float], float]

__all__ = [
    "chipping_clubs",
    "ladder",
    "partial_carries",
    "punch_carries",
    "punch_club",
    "punch_clubs",
]

SHORTEST_CARRY_M = 3.0
CHIPS_UP_TO_M = 20.0
ASSUMED_LONGEST_SHARE = 0.92
"""Longest partial swing as a share of the full carry."""
ASSUMED_OTHER_FROM_SHARE = 0.78
"""From this share of its full carry a wedge other than the most lofted one has pitches."""
ASSUMED_PUNCH_CARRIES_M = (12.0, 25.0, 50.0, 80.0, 110.0, 140.0)
"""From a chip under the branches to all that a strong golfer has: without the first a ball in trees
beside a green cannot be put on it, without the last a long way is regained too slowly, and recovery
shots cost more than the published (Broadie 2012)."""
ASSUMED_PUNCH_SHARE = 0.85
"""Longest punch-out as a share of the full carry of its club."""
_PUNCH_LOFT = 30.0 * RAD_PER_DEG
_CLUBS_WITHOUT_WEDGE = 2


def chipping_clubs(clubs: Sequence[Club]) -> tuple[Club, ...]:
    """Clubs for partial swings, most lofted first.

    The wedges; without a wedge the two most lofted irons or hybrids; failing those the most
    lofted club of all. Putters are left out.
    """
    by_loft = sorted(
        (club for club in clubs if club.kind is not ClubKind.PUTTER),
        key=lambda club: (-club.loft, club.label),
    )
    wedges = [club for club in by_loft if club.kind is ClubKind.WEDGE]
    middling = [c for c in by_loft if c.kind in (ClubKind.IRON, ClubKind.HYBRID) and not c.tee_only]
    return tuple(wedges or middling[:_CLUBS_WITHOUT_WEDGE] or by_loft[:1])


def ladder(low_m: float, high_m: float, step: Step) -> list[float]:
    """Carries [m] from ``low_m`` to ``high_m``, at most ``step(carry)`` [m] apart."""
    rungs = [low_m]
    while rungs[-1] + step(rungs[-1]) < high_m - 1e-9:
        rungs.append(rungs[-1] + step(rungs[-1]))
    if high_m <= low_m:
        return rungs
    # The last step would be short; all of them are made shorter by the same factor instead.
    last = rungs[-1] + step(rungs[-1])
    share = (high_m - low_m) / (last - low_m)
    return [low_m + share * (rung - low_m) for rung in rungs] + [high_m]


def partial_carries(
    clubs: Sequence[Club],
    full_carries_m: Mapping[str, float],
    step: Step,
    *,
    every_ladder: bool = False,
) -> dict[str, list[float]]:
    """Carries [m] of the partial swings of every chipping club.

    Parameters
    ----------
    clubs
        As :func:`chipping_clubs` gives them.
    full_carries_m
        Full carry by label [m].
    step
        Largest step to the next carry from a carry [m].
    every_ladder
        Whether every club gets the fine ladder, not the most lofted one only.
    """
    carries: dict[str, list[float]] = {}
    for rank, club in enumerate(clubs):
        full = full_carries_m[club.label]
        longest = max(ASSUMED_LONGEST_SHARE * full, SHORTEST_CARRY_M)
        if rank == 0 or every_ladder:
            carries[club.label] = ladder(SHORTEST_CARRY_M, longest, step)
            continue
        chips = ladder(SHORTEST_CARRY_M, min(CHIPS_UP_TO_M, longest), lambda at: 2 * step(at))
        start = max(ASSUMED_OTHER_FROM_SHARE * full, chips[-1])
        pitches = ladder(start, longest, step) if longest > start else []
        carries[club.label] = sorted({*chips, *pitches})
    return carries


def punch_clubs(clubs: Sequence[Club], *, every_iron: bool = False) -> tuple[Club, ...]:
    """Clubs for punch-outs: the one of :func:`punch_club`, or with ``every_iron`` all irons."""
    irons = tuple(club for club in clubs if club.kind is ClubKind.IRON)
    return irons if every_iron and irons else (punch_club(clubs),)


def punch_club(clubs: Sequence[Club]) -> Club:
    """Club for punch-outs: the iron nearest 30 degrees of loft, without irons any such club."""
    hit = [club for club in clubs if club.kind is not ClubKind.PUTTER]
    irons = [club for club in hit if club.kind is ClubKind.IRON]
    usable = irons or [club for club in hit if not club.tee_only] or hit
    return min(usable, key=lambda club: (abs(club.loft - _PUNCH_LOFT), club.label))


def punch_carries(full_carry_m: float) -> tuple[float, ...]:
    """Carries [m] of punch-outs with a club of a full carry [m]; at least one."""
    longest = ASSUMED_PUNCH_SHARE * full_carry_m
    within = tuple(carry for carry in ASSUMED_PUNCH_CARRIES_M if carry <= longest)
    if not within or (len(within) < len(ASSUMED_PUNCH_CARRIES_M) and longest > 1.15 * within[-1]):
        within += (longest,)
    return within
