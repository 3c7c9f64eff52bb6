"""Gapping: the carry of clubs the golfer has not measured, from those he has.

The carry of a club is the golfer's driver carry times a share that falls with loft. The shares
are those of tour players; slower swingers' clubs lie closer together, which a power of the
share below 1 expresses. What the golfer's known carries say beyond that is carried over as a
ratio, linear in loft between known clubs of the same family and constant outside them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from statistics import median

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from planner.course.lies import Lie
from planner.golfer.bag import Delivery
from planner.golfer.club import Club, ClubKind
from planner.golfer.launch import launches_at_speed, launches_for_carry
from planner.golfer.skill import TOUR_INDEX, Curve, at_index
from planner.units import M_PER_IN, M_PER_YD, RAD_PER_DEG

__all__ = [
    "default_driver_carry",
    "driver_carry_from",
    "predicted_carries",
    "standard_length",
    "typical_carry",
]

FloatArray = NDArray[np.float64]

DRIVE_TOTAL_YD: Curve = (
    (TOUR_INDEX, 0.0, 20.0, 40.0, 54.0),
    (285.0, 250.0, 200.0, 150.0, 120.0),
)
"""Length of a good drive [yd]: a scratch man 250, a bogey man (about 20) 200 (definitions of the
USGA Rating System); tour about 285 (average of the years of the published tour tables, from
memory); beyond a bogey golfer extrapolated."""
_USUAL_DRIVER_LOFT = 10.5 * RAD_PER_DEG

_REFERENCE_M = 275 * M_PER_YD
"""Driver carry to which the shares below belong: a tour player's (from memory)."""
_REFERENCE_LOFT_DEG = {
    ClubKind.DRIVER: 10.5,
    ClubKind.WOOD: 15.0,
    ClubKind.HYBRID: 18.5,
    ClubKind.IRON: 21.0,
    ClubKind.WEDGE: 21.0,
}
_REFERENCE_SHARE = {
    ClubKind.DRIVER: 1.0,
    ClubKind.WOOD: 0.884,
    ClubKind.HYBRID: 0.818,
    ClubKind.IRON: 0.771,
    ClubKind.WEDGE: 0.771,
}
_SHARE_PER_DEG = {
    ClubKind.DRIVER: 0.004,
    ClubKind.WOOD: 0.0155,
    ClubKind.HYBRID: 0.0125,
    ClubKind.IRON: 0.01104,
    ClubKind.WEDGE: 0.01104,
}
"""Carries of tour players' clubs, as shares of the driver's: 3-wood .884, hybrid .818, 3-iron
.771, 7-iron .63, pitching wedge .495, lob wedge .33; tour averages from memory, straight lines
in loft laid through them. Loft steps of 4 degrees make 10-15 yards (common practice)."""
_LEAST_SHARE = 0.2

ASSUMED_COMPRESSION = 0.21 / (95 * M_PER_YD)
"""Fall of the power for each metre of driver carry below the reference [1/m]: with 180 yards a
7-iron goes .69 of the driver, against .63 with 275 (trade knowledge, from memory)."""
_POWER_LIMITS = (0.6, 1.0)
ASSUMED_CARRY_PER_IN = 0.012
"""Change of carry for an inch more or less than the standard length."""
_STANDARD_LENGTH_IN = {
    ClubKind.DRIVER: (45.0, 10.5, 0.0),
    ClubKind.WOOD: (43.0, 15.0, 0.25),
    ClubKind.HYBRID: (40.5, 19.0, 0.17),
    ClubKind.IRON: (39.0, 21.0, 0.125),
    ClubKind.WEDGE: (35.75, 46.0, 0.04),
}
"""Length [in] at a loft [deg], and inches less for each degree more (common practice)."""
_DRIVER_CARRY_LIMITS_M = (30.0, 340.0)


def default_driver_carry(handicap_index: float) -> float:
    """Driver carry [m] of a golfer of whom only the handicap index is known.

    It is the carry that, with the run its flight gives on a normal fairway, makes the drive
    as long as the handicap's.
    """
    carries, totals = _drives()
    total = at_index(DRIVE_TOTAL_YD, handicap_index) * M_PER_YD
    return float(np.interp(total, totals, carries))


@lru_cache(maxsize=1)
def _drives() -> tuple[FloatArray, FloatArray]:
    """Carries and total lengths [m] of drives."""
    carries = np.arange(60.0, 271.0, 15.0)
    kinds = [ClubKind.DRIVER.value] * len(carries)
    flights = launches_for_carry(kinds, np.full(len(carries), _USUAL_DRIVER_LOFT), carries)
    runs = np.array([flight.run_m[Lie.FAIRWAY] for flight in flights])
    return carries, np.maximum.accumulate(carries + runs)


def typical_carry(club: Club, driver_carry_m: float) -> float:
    """Carry [m] of ``club`` for a golfer whose driver carries ``driver_carry_m`` [m].

    Falls with loft within a kind, grows with the driver's carry and with the length.
    """
    kind, loft_deg = club.kind, club.loft / RAD_PER_DEG
    share = _REFERENCE_SHARE[kind] - _SHARE_PER_DEG[kind] * (loft_deg - _REFERENCE_LOFT_DEG[kind])
    short_of = _REFERENCE_M - driver_carry_m
    power = float(np.clip(1 - ASSUMED_COMPRESSION * short_of, *_POWER_LIMITS))
    carry = driver_carry_m * float(max(share, _LEAST_SHARE) ** power)
    if club.length_m is None:
        return carry
    longer = (club.length_m - standard_length(club)) / M_PER_IN
    return carry * (1 + ASSUMED_CARRY_PER_IN * float(np.clip(longer, -4.0, 4.0)))


def standard_length(club: Club) -> float:
    """Usual length [m] of a club of this kind and loft."""
    length, at_loft, step = _STANDARD_LENGTH_IN[club.kind]
    return (length - step * (club.loft / RAD_PER_DEG - at_loft)) * M_PER_IN


def driver_carry_from(carries_m: Iterable[tuple[Club, float]]) -> float | None:
    """Driver carry [m] that fits known carries [m] of clubs best (their median), if any."""
    low, high = _DRIVER_CARRY_LIMITS_M
    fits = []
    for club, carry in carries_m:
        if typical_carry(club, low) >= carry:
            fits.append(low)
        elif typical_carry(club, high) <= carry:
            fits.append(high)
        else:
            fits.append(
                float(brentq(lambda d, c=club, t=carry: typical_carry(c, d) - t, low, high))
            )
    return median(fits) if fits else None


def predicted_carries(
    clubs: Sequence[Club], handicap_index: float, *, delivery: Delivery | None = None
) -> dict[str, float]:
    """Carry [m] by label for every club but putters.

    Measured carries are kept. A predicted one lies between its measured neighbours in loft of
    the same kind and never grows with loft within a kind; a measured neighbour out of order
    is taken as it is. Without any measured club the carry of ``delivery``'s club comes from its
    flight; without a delivery the handicap's :func:`default_driver_carry` is used.
    """
    hit = [club for club in clubs if club.kind is not ClubKind.PUTTER]
    known = [(club, club.pattern.carry_m) for club in hit if club.pattern is not None]
    if not known and delivery is not None:
        known = [
            (club, _delivered_carry(club, delivery))
            for club in hit
            if club.label.casefold() == delivery.club.casefold()
        ]
    driver_carry = driver_carry_from(known) or default_driver_carry(handicap_index)
    carries = {club.label: carry for club, carry in known}
    for is_long in (True, False):
        family = [club for club in hit if club.kind.is_long == is_long]
        carries |= _between(
            [club for club in family if club.label not in carries],
            [(club, carry) for club, carry in known if club.kind.is_long == is_long],
            driver_carry,
        )
    return carries


def _delivered_carry(club: Club, delivery: Delivery) -> float:
    (strike,) = launches_at_speed(
        [club.kind.value],
        [club.loft],
        [delivery.speed_mps],
        attack=[delivery.attack],
        loft_taken_off=[delivery.loft_taken_off],
    )
    return strike.carry_m


def _between(
    missing: list[Club], known: list[tuple[Club, float]], driver_carry_m: float
) -> dict[str, float]:
    by_loft: dict[float, list[float]] = {}
    for club, carry in known:
        ratio = math.log(carry / typical_carry(club, driver_carry_m))
        by_loft.setdefault(club.loft, []).append(ratio)
    lofts = sorted(by_loft)
    ratios = [float(np.mean(by_loft[loft])) for loft in lofts]
    carries: dict[str, float] = {}
    last: dict[ClubKind, float] = {}
    for club in sorted(missing, key=lambda club: (club.loft, -(club.length_m or 0.0))):
        ratio = float(np.interp(club.loft, lofts, ratios)) if lofts else 0.0
        carry = typical_carry(club, driver_carry_m) * math.exp(ratio)
        above = [c for k, c in known if k.loft <= club.loft and k.kind is club.kind]
        below = [c for k, c in known if k.loft >= club.loft and k.kind is club.kind]
        high, low = min(above, default=math.inf), max(below, default=0.0)
        if low <= high:
            carry = min(max(carry, low), high)
        if club.length_m is None:
            carry = min(carry, last.get(club.kind, math.inf))
            last[club.kind] = carry
        carries[club.label] = carry
    return carries
