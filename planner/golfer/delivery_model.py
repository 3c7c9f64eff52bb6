"""What a delivery makes of a club: the physics behind fitting and predicting carries.

A *delivery* is how a golfer brings any club to the ball, in a few numbers: the speed of the head
with a club of middle length and how it grows with the length, the attack angle and the loft taken
off with each family of clubs, how the loft taken off grows with the loft, and how far off the
centre of the face he strikes. With the facts of a club they give a launch (:mod:`.impact`), a
flight and a run.

Before anything is known of a golfer but his handicap index, his delivery is the usual one for
each kind of club, at the speeds that carry a driver and a middle iron as far as the handicap's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner.ball.conditions import Conditions
from planner.ball.flight import Launch, fly
from planner.ball.run import Turf, run_distance, turf_feel
from planner.golfer import impact
from planner.golfer.club import Club, ClubKind
from planner.golfer.launch import ASSUMED_MAKES
from planner.golfer.skill import GRID, Curve, at_index
from planner.golfer.typical_carry import default_driver_carry, standard_length, typical_carry
from planner.units import KG_M2_PER_G_CM2, M_PER_IN, RAD_PER_DEG

__all__ = [
    "FAMILIES",
    "PARAMETERS",
    "STRIKE",
    "ClubFacts",
    "Delivered",
    "Prior",
    "delivered",
    "facts_of",
    "fly_delivered",
    "handicap_prior",
]

FloatArray = NDArray[np.float64]

FAMILIES = ("driver", "long", "short")
"""Driver; woods and hybrids; irons and wedges."""
PARAMETERS = (
    "log_speed",
    "log_speed_per_m",
    *(f"attack_{family}" for family in FAMILIES),
    *(f"loft_off_{family}" for family in FAMILIES),
    "loft_off_per_loft",
    "log_strike_sd",
)
"""Log of the head speed [m/s] with a club of ``MIDDLE_LENGTH_M``, and its growth for each metre of
length; attack angle and loft taken off beyond the usual of the kind [rad] by family; growth of the
loft taken off by irons and wedges for each radian of loft beyond ``MIDDLE_LOFT``; log of the
deviation of the impact from the centre of the face [m]."""
_ATTACK, _LOFT_OFF, _LOFT_OFF_GROWTH, STRIKE = slice(2, 5), slice(5, 8), 8, 9
"""Places of the parameters; the first two are the speed and its growth."""
MIDDLE_LENGTH_M = 37.0 * M_PER_IN
MIDDLE_LOFT = 34.0 * RAD_PER_DEG
_FAMILY = {
    ClubKind.DRIVER: 0,
    ClubKind.WOOD: 1,
    ClubKind.HYBRID: 1,
    ClubKind.IRON: 2,
    ClubKind.WEDGE: 2,
}

ASSUMED_HEAD_INERTIA_G_CM2 = {
    ClubKind.DRIVER: 4600.0,
    ClubKind.WOOD: 2800.0,
    ClubKind.HYBRID: 2500.0,
    ClubKind.IRON: 2400.0,
    ClubKind.WEDGE: 2700.0,
}
"""Usual inertia of a head about the vertical axis through its centre of mass [g cm2]; from
memory."""
ASSUMED_STRIKE_SD_M: Curve = (GRID, (0.006, 0.0075, 0.0095, 0.0115, 0.0135, 0.015))
"""Deviation of a stock shot's impact from the centre of the face [m]; assumed."""

ASSUMED_LOG_SPEED_SD = 0.12
"""A golfer of a handicap index may swing this much faster or slower than most (log)."""
ASSUMED_GROWTH_SD = 0.007 / M_PER_IN
"""Uncertainty of the growth of the log speed with the length [1/m]."""
ASSUMED_ATTACK_SDS = (1.5 * RAD_PER_DEG, 1.0 * RAD_PER_DEG)
"""Deviation of golfers' attack angles, in common to all clubs and of one family [rad]."""
ASSUMED_LOFT_OFF_SDS = (2.0 * RAD_PER_DEG, 1.5 * RAD_PER_DEG)
"""The same of the loft taken off [rad]."""
ASSUMED_STEEP_TAKES_LOFT_OFF = -0.5
"""Correlation of the common parts of the two: a steep swing takes loft off (common practice)."""
ASSUMED_LOFT_OFF_GROWTH = 0.05
"""Growth of the loft taken off by irons and wedges with the loft, beyond the kinds' own steps."""
ASSUMED_LOFT_OFF_GROWTH_SD = 0.1
"""Uncertainty of the growth of the loft taken off with the loft."""
ASSUMED_LOG_STRIKE_SD = 0.3
"""Uncertainty of the strike's deviation (log)."""

_STEP_S = 0.2
"""Time step of flights here [s]; carries differ by less than 1e-5 from those at the usual step."""
_LEAST_CARRY_M = 1.0
_MOST_SPIN_LOFT = 85.0 * RAD_PER_DEG
_LOG_SPEED_LIMITS = (0.0, 4.6)
_LOG_SPEEDS = (2.5, 4.3)
"""Log head speeds [m/s] among which those of a handicap index are looked for."""


@dataclass(frozen=True, eq=False)
class ClubFacts:
    """What decides the flight of ``n`` clubs; arrays of shape ``(n,)``.

    ``family`` indexes ``FAMILIES``; ``length`` [m], ``loft`` [rad], ``head_mass`` [kg],
    ``restitution``, ``head_inertia`` [kg m2]; ``attack`` and ``loft_off`` are the usual delivery
    of the kind [rad].
    """

    kinds: tuple[ClubKind, ...]
    family: NDArray[np.intp]
    length: FloatArray
    loft: FloatArray
    head_mass: FloatArray
    restitution: FloatArray
    head_inertia: FloatArray
    attack: FloatArray
    loft_off: FloatArray


@dataclass(frozen=True, eq=False)
class Delivered:
    """How ``n`` clubs come to the ball, and how that moves with the parameters.

    ``log_speed`` of the head less what off-centre strikes cost, ``attack`` and ``loft_off``
    [rad], shape ``(n,)``; ``slopes`` are the derivatives of the three, ``(3, n, parameters)``.
    """

    log_speed: FloatArray
    attack: FloatArray
    loft_off: FloatArray
    slopes: FloatArray


@dataclass(frozen=True, eq=False)
class Prior:
    """Normal distribution of the parameters before any shot: ``mean`` (p,), ``covariance``."""

    mean: FloatArray
    covariance: FloatArray


def facts_of(clubs: Sequence[Club]) -> ClubFacts:
    """Facts of clubs, putters excepted; what a club does not tell is usual for its kind."""
    makes = [ASSUMED_MAKES[club.kind.value] for club in clubs]
    usual = [ASSUMED_HEAD_INERTIA_G_CM2[club.kind] * KG_M2_PER_G_CM2 for club in clubs]
    lengths = [standard_length(c) if c.length_m is None else c.length_m for c in clubs]
    return ClubFacts(
        kinds=tuple(club.kind for club in clubs),
        family=np.array([_FAMILY[club.kind] for club in clubs], dtype=np.intp),
        length=np.array(lengths, dtype=float),
        loft=np.array([club.loft for club in clubs], dtype=float),
        head_mass=np.array([make.head_mass_kg for make in makes]),
        restitution=np.array([make.restitution for make in makes]),
        head_inertia=np.array(
            [
                inertia if club.head_inertia_kg_m2 is None else club.head_inertia_kg_m2
                for club, inertia in zip(clubs, usual, strict=True)
            ]
        ),
        attack=np.array([make.attack for make in makes]),
        loft_off=np.array([make.loft_taken_off for make in makes]),
    )


def delivered(parameters: FloatArray, facts: ClubFacts) -> Delivered:
    """Delivery of clubs by a golfer with ``parameters``, shape ``(p,)``."""
    clubs = np.arange(len(facts.kinds))
    longer = facts.length - MIDDLE_LENGTH_M
    stronger = np.where(facts.family == 2, facts.loft - MIDDLE_LOFT, 0.0)
    strike_sd = float(np.exp(parameters[STRIKE]))
    # The mean loss of a normal spread is to first order that of its deviation.
    share = impact.off_centre_speed_share(
        strike_sd, head_mass_kg=facts.head_mass, inertia_kg_m2=facts.head_inertia
    )
    slopes = np.zeros((3, len(clubs), len(PARAMETERS)))
    slopes[0, :, 0] = 1.0
    slopes[0, :, 1] = longer
    slopes[0, :, STRIKE] = -2.0 * (1.0 - share)
    slopes[1, clubs, _ATTACK.start + facts.family] = 1.0
    slopes[2, clubs, _LOFT_OFF.start + facts.family] = 1.0
    slopes[2, :, _LOFT_OFF_GROWTH] = stronger
    return Delivered(
        log_speed=parameters[0] + parameters[1] * longer + np.log(share),
        attack=facts.attack + parameters[_ATTACK][facts.family],
        loft_off=facts.loft_off
        + parameters[_LOFT_OFF][facts.family]
        + parameters[_LOFT_OFF_GROWTH] * stronger,
        slopes=slopes,
    )


def fly_delivered(
    facts: ClubFacts, log_speed: FloatArray, attack: FloatArray, loft_off: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Log carry [m] and run on a normal fairway [m] in still standard air.

    ``log_speed``, ``attack`` and ``loft_off`` [rad] have shape ``(..., n)``, and so do the
    results. A run backwards counts as none.
    """
    if not facts.kinds:
        return np.zeros_like(log_speed), np.zeros_like(log_speed)
    spin_loft = np.clip(facts.loft - loft_off - attack, 0.0, _MOST_SPIN_LOFT)
    struck = impact.launch(
        np.exp(np.clip(log_speed, *_LOG_SPEED_LIMITS)),
        spin_loft,
        attack=attack,
        head_mass_kg=facts.head_mass,
        restitution=facts.restitution,
    )
    flight = fly(Launch.of(struck.speed, struck.angle, struck.spin), step_s=_STEP_S)
    feel = turf_feel(Turf.FAIRWAY, Conditions())
    run = run_distance(flight.landing_speed, flight.descent, flight.landing_spin, feel)
    return np.log(np.maximum(flight.carry, _LEAST_CARRY_M)), np.maximum(run, 0.0)


@lru_cache(maxsize=64)
def handicap_prior(handicap_index: float) -> Prior:
    """Delivery of golfers with a handicap index."""
    clubs = (
        Club("driver", ClubKind.DRIVER, 10.5 * RAD_PER_DEG),
        Club("iron", ClubKind.IRON, MIDDLE_LOFT),
    )
    facts = facts_of(clubs)
    driver = default_driver_carry(handicap_index)
    mean = np.zeros(len(PARAMETERS))
    mean[_LOFT_OFF_GROWTH] = ASSUMED_LOFT_OFF_GROWTH
    mean[STRIKE] = np.log(at_index(ASSUMED_STRIKE_SD_M, handicap_index))
    usual = delivered(mean, facts)
    speeds = np.linspace(*_LOG_SPEEDS, 64)
    carries, _ = fly_delivered(facts, speeds[:, None], usual.attack, usual.loft_off)
    fast, slow = (
        float(np.interp(np.log(typical_carry(club, driver)), carries[:, i], speeds))
        - usual.log_speed[i]
        for i, club in enumerate(clubs)
    )
    longer = facts.length - MIDDLE_LENGTH_M
    mean[1] = (fast - slow) / (longer[0] - longer[1])
    mean[0] = slow - mean[1] * longer[1]

    covariance = np.zeros((len(mean), len(mean)))
    covariance[0, 0] = ASSUMED_LOG_SPEED_SD**2
    covariance[1, 1] = ASSUMED_GROWTH_SD**2
    (attack, own_attack), (off, own_off) = ASSUMED_ATTACK_SDS, ASSUMED_LOFT_OFF_SDS
    covariance[_ATTACK, _ATTACK] = attack**2 + np.eye(3) * own_attack**2
    covariance[_LOFT_OFF, _LOFT_OFF] = off**2 + np.eye(3) * own_off**2
    together = ASSUMED_STEEP_TAKES_LOFT_OFF * attack * off
    covariance[_ATTACK, _LOFT_OFF] = covariance[_LOFT_OFF, _ATTACK] = together
    covariance[_LOFT_OFF_GROWTH, _LOFT_OFF_GROWTH] = ASSUMED_LOFT_OFF_GROWTH_SD**2
    covariance[STRIKE, STRIKE] = ASSUMED_LOG_STRIKE_SD**2
    for array in (mean, covariance):
        array.setflags(write=False)
    return Prior(mean, covariance)
