"""Typical carries: how far each club of a golfer goes whose driver's carry is known.

The carry of a club is the golfer's driver carry times a share that falls with loft. The shares
are those of tour players; slower swingers' clubs lie closer together, which a power of the
share below 1 expresses.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from statistics import median

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from planner.ball.conditions import Conditions
from planner.ball.flight import fly
from planner.ball.run import Turf, run_distance, turf_feel
from planner.golfer.club import Club, ClubKind
from planner.golfer.launch import strikes
from planner.golfer.skill import TOUR_INDEX, Curve, at_index
from planner.units import M_PER_IN, M_PER_YD, RAD_PER_DEG

__all__ = [
    "default_driver_carry",
    "driver_carry_from",
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
_DRIVE_SPEEDS = (20.0, 62.0)
"""Head speeds between which drives are tabled [m/s]."""

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
    """Carries and total lengths [m] of usual drives, from slow to fast swings."""
    speeds = np.linspace(*_DRIVE_SPEEDS, 40)
    lofts = np.full(len(speeds), _USUAL_DRIVER_LOFT)
    flight = fly(strikes([ClubKind.DRIVER.value] * len(speeds), lofts, speeds))
    feel = turf_feel(Turf.FAIRWAY, Conditions())
    run = run_distance(flight.landing_speed, flight.descent, flight.landing_spin, feel)
    return flight.carry, np.maximum.accumulate(flight.carry + np.maximum(run, 0.0))


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
