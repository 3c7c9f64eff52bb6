"""Which club makes which partial swing.

A golfer can chip any distance; a solver needs a list. The most lofted club gets the fine ladder
over every distance below its full carry. A partial swing with another wedge pays in two places
only: chips that should run out, where a step of 3 m is fine enough because the fine ladder
lies beside it, and the distances just below its own full carry, which the more lofted clubs
reach with a full swing or not at all. A bag with three or four wedges so has some 45 to 60
partial swings. What a wedge other than the most lofted one gets depends on its own carry alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from planner.golfer.club import Club, ClubKind
from planner.units import RAD_PER_DEG

__all__ = ["chipping_clubs", "ladder", "partial_carries", "punch_carries", "punch_club"]

SHORTEST_CARRY_M = 3.0
CHIP_STEP_M = 1.5
OTHER_CHIP_STEP_M = 3.0
CHIPS_UP_TO_M = 20.0
ASSUMED_LONGEST_SHARE = 0.92
"""Longest partial swing as a share of the full carry."""
ASSUMED_OTHER_FROM_SHARE = 0.78
"""From this share of its full carry a wedge other than the most lofted one has pitches."""
ASSUMED_PUNCH_CARRIES_M = (25.0, 50.0, 80.0, 110.0)
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


def ladder(low_m: float, high_m: float, ratio: float) -> list[float]:
    """Carries [m] from ``low_m`` to ``high_m`` with one ratio between them, ``ratio`` or less."""
    steps = max(1, math.ceil(math.log(high_m / low_m) / math.log(ratio) - 1e-9))
    return [low_m * (high_m / low_m) ** (i / steps) for i in range(steps + 1)]


def partial_carries(
    clubs: Sequence[Club], full_carries_m: Mapping[str, float], ratio: float
) -> dict[str, list[float]]:
    """Carries [m] of the partial swings of every chipping club.

    Parameters
    ----------
    clubs
        As :func:`chipping_clubs` gives them.
    full_carries_m
        Full carry by label [m].
    ratio
        Largest ratio of neighbouring carries above 20 m, above 1.
    """
    carries: dict[str, list[float]] = {}
    for rank, club in enumerate(clubs):
        full = full_carries_m[club.label]
        longest = ASSUMED_LONGEST_SHARE * full
        step = CHIP_STEP_M if rank == 0 else OTHER_CHIP_STEP_M
        count = int((min(CHIPS_UP_TO_M, longest) - SHORTEST_CARRY_M) / step + 1e-9)
        chips = [SHORTEST_CARRY_M + step * i for i in range(count + 1)]
        start = chips[-1] if rank == 0 else max(ASSUMED_OTHER_FROM_SHARE * full, chips[-1])
        pitches = ladder(start, longest, ratio) if longest > start else []
        carries[club.label] = sorted({*chips, *pitches})
    return carries


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
