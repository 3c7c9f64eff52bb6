"""From a club and its carry to everything its flight decides.

A golfer knows how far a club carries, not how fast it is swung. Here the club speed is found at
which a club of that kind and loft, delivered in the usual way, carries the known distance in
still standard air. The same strike then gives descent, apex, clearance over woods, run, the
shift by wind, and the carry in thinner or warmer air.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.ball.conditions import STANDARD_AIR, Conditions
from planner.ball.flight import Launch, fly
from planner.ball.run import Turf, run_distance, turf_feel
from planner.course.lies import Lie
from planner.golfer import impact
from planner.golfer.shot_outcome import ASSUMED_CANOPY_HEIGHT_M
from planner.golfer.weather_spread import WIND_DIRECTIONS, air_stretch, wind_effect
from planner.units import MPS_PER_MPH, RAD_PER_DEG

__all__ = [
    "WIND_DIRECTIONS",
    "ClubLaunch",
    "launch_for_carry",
    "launches_at_speed",
    "launches_for_carry",
    "strikes",
]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class _Make:
    """A kind of club as it is built and usually delivered."""

    head_mass_kg: float
    restitution: float
    attack: float
    loft_taken_off: float
    top_speed: float


def _make(
    mass_g: float, restitution: float, attack_deg: float, taken_off_deg: float, top_speed_mph: float
) -> _Make:
    return _Make(
        mass_g / 1000.0,
        restitution,
        attack_deg * RAD_PER_DEG,
        taken_off_deg * RAD_PER_DEG,
        top_speed_mph * MPS_PER_MPH,
    )


ASSUMED_MAKES: Mapping[str, _Make] = {
    "driver": _make(200.0, 0.83, 2.0, -2.0, 138.0),
    "wood": _make(212.0, 0.82, -1.5, 0.5, 127.0),
    "hybrid": _make(235.0, 0.80, -3.0, 2.0, 116.0),
    "iron": _make(265.0, 0.78, -3.5, 4.0, 105.0),
    "wedge": _make(300.0, 0.74, -4.0, 7.0, 98.0),
}
"""Typical head mass [g], restitution, attack angle [deg, + up], loft taken off at delivery
[deg, - added] and the greatest club speed [mph] of each kind of club; assumed."""

_TURF_OF_LIE = {
    Lie.TEE: Turf.FAIRWAY,
    Lie.FAIRWAY: Turf.FAIRWAY,
    Lie.ROUGH: Turf.ROUGH,
    Lie.DEEP_ROUGH: Turf.DEEP_ROUGH,
    Lie.GREEN: Turf.GREEN,
}
_LEAST_SPEED, _GREATEST_SPEED = 1.0, 75.0
"""Club speeds between which a carry is looked for [m/s]."""
_STEPS = 20
_TABLE_STEP_S = 0.1
"""Time step of flights among which a carry is looked for [s]; it costs less than 1e-5 of it."""
_MOST_LOFT_STEPS = 15
"""Greatest extra loft taken off to reach a carry [deg]."""


@dataclass(frozen=True, eq=False)
class ClubLaunch:
    """One strike and the flight facts that follow from it.

    Parameters
    ----------
    kind, loft
        The club; static loft [rad].
    loft_taken_off
        Static loft less delivered loft [rad].
    club_speed
        Speed of the head [m/s].
    ball_speed, launch_angle, spin
        Launch of the ball [m/s, rad, rad/s].
    carry_m
        Carry in still standard air [m].
    descent, apex_m, time_s
        Angle of descent [rad], greatest height [m] and duration [s] in the air of the day, no wind.
    climb_m
        Ground distance after which the flight is above the canopy [m]; infinite if never.
    shadow_m
        Ground distance before landing over which it is below the canopy [m]; the whole carry if
        it never was above.
    run_m
        Run on each kind of turf [m], not below 0; sand and trees are absent.
    carry_ratio
        Carry in the still air of the day over ``carry_m``.
    wind_shift_m
        Shift of the carry (along, across) [m] by the wind of the day for ``WIND_DIRECTIONS``,
        against the still air of the day, shape ``(36, 2)``; None in still air.
    wind_stretch, wind_run_share
        Matrices by which the wind multiplies deviations (along, across), shape ``(36, 2, 2)``,
        and shares by which it multiplies the run, ``(36,)``; None in still air.
    air_stretch
        Factor on deviations (along, across) by the air of the day against standard air, ``(2,)``.
    """

    kind: str
    loft: float
    loft_taken_off: float
    club_speed: float
    ball_speed: float
    launch_angle: float
    spin: float
    carry_m: float
    descent: float
    apex_m: float
    time_s: float
    climb_m: float
    shadow_m: float
    run_m: Mapping[Lie, float]
    carry_ratio: float
    wind_shift_m: FloatArray | None
    wind_stretch: FloatArray | None
    wind_run_share: FloatArray | None
    air_stretch: FloatArray


def strikes(
    kinds: Sequence[str],
    lofts: ArrayLike,
    club_speeds: ArrayLike,
    *,
    attack: ArrayLike | None = None,
    loft_taken_off: ArrayLike | None = None,
) -> Launch:
    """Strike clubs at given speeds.

    Parameters
    ----------
    kinds
        ``n`` of driver, wood, hybrid, iron and wedge.
    lofts
        Static lofts [rad], shape ``(n,)``.
    club_speeds
        Speeds of the head [m/s], shape ``(..., n)``.
    attack, loft_taken_off
        Delivery [rad], broadcast against ``(n,)``; None is the usual one of the kind.

    Returns
    -------
    Launches of shape ``(..., n)``.

    Raises
    ------
    ValueError
        A kind is not known, shapes do not fit, or the spin loft is 90 deg or more.
    """
    _check_kinds(kinds)
    makes = [ASSUMED_MAKES[kind] for kind in kinds]
    loft = np.asarray(lofts, dtype=float)
    if loft.shape != (len(makes),):
        raise ValueError(f"lofts must have shape ({len(makes)},), got {loft.shape}")
    rise, taken = _attack(kinds, attack), _taken_off(kinds, loft_taken_off)
    return impact.launch(
        club_speeds,
        np.maximum(loft - taken - rise, 0.0),
        attack=rise,
        head_mass_kg=np.array([make.head_mass_kg for make in makes]),
        restitution=np.array([make.restitution for make in makes]),
    )


def _attack(kinds: Sequence[str], attack: ArrayLike | None) -> FloatArray:
    usual = [ASSUMED_MAKES[kind].attack for kind in kinds]
    return np.asarray(usual if attack is None else attack, dtype=float)


def _taken_off(kinds: Sequence[str], loft_taken_off: ArrayLike | None) -> FloatArray:
    usual = [ASSUMED_MAKES[kind].loft_taken_off for kind in kinds]
    return np.asarray(usual if loft_taken_off is None else loft_taken_off, dtype=float)


def _check_kinds(kinds: Sequence[str]) -> None:
    unknown = sorted({kind for kind in kinds if kind not in ASSUMED_MAKES})
    if unknown:
        raise ValueError(f"no flight for club kinds {unknown}; known are {list(ASSUMED_MAKES)}")


def launches_for_carry(
    kinds: Sequence[str],
    lofts: ArrayLike,
    carries_m: ArrayLike,
    *,
    conditions: Conditions | None = None,
    attack: ArrayLike | None = None,
    loft_taken_off: ArrayLike | None = None,
    canopy_m: float = ASSUMED_CANOPY_HEIGHT_M,
) -> tuple[ClubLaunch, ...]:
    """Strikes at which clubs carry the given distances in still standard air.

    Parameters
    ----------
    kinds, lofts, attack, loft_taken_off
        As for :func:`strikes`.
    carries_m
        Carries [m], above 0, shape ``(n,)``.
    conditions
        Wind, air and turf for wind shift, carry ratio and run; None is a still standard day.
    canopy_m
        Height of the canopy for climb and shadow [m].

    Returns
    -------
    One for each club.

    A carry beyond the kind's greatest speed is met by taking more loft off, a degree at a time, as
    strong players do; ``ClubLaunch.loft_taken_off`` says how much in all.

    Raises
    ------
    ValueError
        As :func:`strikes`, or nothing gives the carry.
    """
    _check_kinds(kinds)
    carry = np.asarray(carries_m, dtype=float)
    if carry.shape != (len(kinds),) or not ((carry > 0) & np.isfinite(carry)).all():
        raise ValueError(f"carries_m must be {len(kinds)} distances above 0, got {carry}")

    taken = np.broadcast_to(_taken_off(kinds, loft_taken_off), carry.shape).copy()
    rise = np.broadcast_to(_attack(kinds, attack), carry.shape)
    top = np.array([ASSUMED_MAKES[kind].top_speed for kind in kinds])
    loft = np.asarray(lofts, dtype=float)

    def carries(speeds: FloatArray, clubs: NDArray[np.intp]) -> FloatArray:
        """Carries [m] of some clubs at ``(steps, clubs)`` speeds, made to rise with speed."""
        struck = strikes(
            [kinds[int(i)] for i in clubs],
            loft[clubs],
            speeds,
            attack=rise[clubs],
            loft_taken_off=taken[clubs],
        )
        return np.asarray(np.maximum.accumulate(fly(struck, step_s=_TABLE_STEP_S).carry))

    every = np.arange(len(kinds))
    speeds = np.geomspace(np.full(len(kinds), _LEAST_SPEED), top, _STEPS)
    table = carries(speeds, every)
    short = np.flatnonzero(table[-1] < carry)
    usual = taken.copy()
    for _ in range(_MOST_LOFT_STEPS):
        if len(short) == 0:
            break
        taken[short] += RAD_PER_DEG
        table[:, short] = carries(speeds[:, short], short)
        short = short[table[-1, short] < carry[short]]
    if len(short):
        taken[short] = usual[short]
        speeds[:, short] = np.geomspace(_LEAST_SPEED, _GREATEST_SPEED, _STEPS)[:, None]
        table[:, short] = carries(speeds[:, short], short)
    beyond = np.flatnonzero((carry > table[-1]) | (carry < table[0]))
    if len(beyond):
        lines = [
            f"{kinds[int(i)]} of {np.degrees(loft[i]):.1f} deg: {carry[i]:.1f} m is not between "
            f"{table[0, i]:.1f} and {table[-1, i]:.1f} m"
            for i in beyond
        ]
        raise ValueError("no club speed gives this carry; " + "; ".join(lines))
    above = np.clip((table < carry).sum(axis=0), 1, _STEPS - 1)
    speeds = np.linspace(speeds[above - 1, every], speeds[above, every], _STEPS)
    table = carries(speeds, every)
    above = np.clip((table < carry).sum(axis=0), 1, _STEPS - 1)
    low, high = table[above - 1, every], table[above, every]
    share = np.clip((carry - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
    speed = speeds[above - 1, every] * (1.0 - share) + speeds[above, every] * share
    return launches_at_speed(
        kinds,
        lofts,
        speed,
        conditions=conditions,
        attack=rise,
        loft_taken_off=taken,
        canopy_m=canopy_m,
    )


def launch_for_carry(
    kind: str,
    loft: float,
    carry_m: float,
    conditions: Conditions | None = None,
    *,
    attack: float | None = None,
    loft_taken_off: float | None = None,
    canopy_m: float = ASSUMED_CANOPY_HEIGHT_M,
) -> ClubLaunch:
    """:func:`launches_for_carry` for one club; ``loft`` [rad], ``carry_m`` [m]."""
    (found,) = launches_for_carry(
        [kind],
        [loft],
        [carry_m],
        conditions=conditions,
        attack=attack,
        loft_taken_off=loft_taken_off,
        canopy_m=canopy_m,
    )
    return found


def launches_at_speed(
    kinds: Sequence[str],
    lofts: ArrayLike,
    club_speeds: ArrayLike,
    *,
    conditions: Conditions | None = None,
    attack: ArrayLike | None = None,
    loft_taken_off: ArrayLike | None = None,
    canopy_m: float = ASSUMED_CANOPY_HEIGHT_M,
) -> tuple[ClubLaunch, ...]:
    """Strikes at given club speeds [m/s], shape ``(n,)``; else as :func:`launches_for_carry`."""
    day = Conditions() if conditions is None else conditions
    speed = np.asarray(club_speeds, dtype=float)
    if speed.shape != (len(kinds),):
        raise ValueError(f"club_speeds must have shape ({len(kinds)},), got {speed.shape}")
    struck = strikes(kinds, lofts, speed, attack=attack, loft_taken_off=loft_taken_off)
    taken = np.broadcast_to(_taken_off(kinds, loft_taken_off), speed.shape)
    still = fly(struck, air=day.air, keep_path=True)
    standard = still if day.air == STANDARD_AIR else fly(struck, air=STANDARD_AIR)
    climb, shadow = still.clearance(canopy_m)
    wind = None if day.is_still else wind_effect(struck, day)
    thin = np.ones((len(kinds), 2)) if day.air == STANDARD_AIR else air_stretch(struck, day)
    runs = {
        lie: np.maximum(
            run_distance(
                still.landing_speed, still.descent, still.landing_spin, turf_feel(turf, day)
            ),
            0.0,
        )
        for lie, turf in _TURF_OF_LIE.items()
    }
    return tuple(
        ClubLaunch(
            kind=kind,
            loft=float(np.asarray(lofts, dtype=float)[i]),
            loft_taken_off=float(taken[i]),
            club_speed=float(speed[i]),
            ball_speed=float(struck.speed[i]),
            launch_angle=float(struck.angle[i]),
            spin=float(struck.spin[i]),
            carry_m=float(standard.carry[i]),
            descent=float(still.descent[i]),
            apex_m=float(still.apex[i]),
            time_s=float(still.time[i]),
            climb_m=float(climb[i]),
            shadow_m=float(shadow[i]),
            run_m={lie: float(run[i]) for lie, run in runs.items()},
            carry_ratio=float(still.carry[i] / max(standard.carry[i], 1e-9)),
            wind_shift_m=None if wind is None else wind.shift_m[i],
            wind_stretch=None if wind is None else wind.stretch[i],
            wind_run_share=None if wind is None else wind.run_share[i],
            air_stretch=thin[i],
        )
        for i, kind in enumerate(kinds)
    )
