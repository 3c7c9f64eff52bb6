"""What wind and air do to where a strike lands, and to how far strikes scatter.

The scatter of a swing is one of head speeds, start directions and curves. Each of them is
followed through the flight: the landing of a strike a little faster, a little to the right, or
with its spin axis a little tilted, in the weather of the day, against the same in still standard
air. Into a head wind a faster strike gains less and a curve grows; down wind the reverse; a
cross-wind turns gains of length into offline; thin air stretches gains of length by more than the
carry. The angle and speed at which the ball comes down decide the run. In a head wind of 5 m/s an
iron's scatter in length shrinks to three quarters and its curve grows by a fifth, far from
negligible.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.ball.conditions import Conditions
from planner.ball.flight import Launch, fly
from planner.ball.run import Turf, run_distance, turf_feel
from planner.units import RAD_PER_DEG

__all__ = [
    "ASSUMED_START_SHARE",
    "WIND_DIRECTIONS",
    "WindEffect",
    "air_stretch",
    "wind_effect",
]

FloatArray = NDArray[np.float64]

WIND_DIRECTIONS = np.arange(36) * 10.0 * RAD_PER_DEG
"""Directions the wind comes from, clockwise from straight ahead [rad], of the wind's effects."""
WIND_DIRECTIONS.setflags(write=False)
ASSUMED_START_SHARE = 0.85
"""Start direction's deviation over that of the whole offline miss; the rest is curve."""
_CURVE_VARIANCE = 1.0 - ASSUMED_START_SHARE**2
_START_VARIANCE = ASSUMED_START_SHARE**2
_FASTER, _TILT = 0.02, 0.03
"""Steps of the derivatives: log of speed, spin with it; tilt of the spin axis [rad]."""
_STEP_S = 0.1
_LEAST_CURVE = 0.05
"""A tilt of a radian that moves a landing by less than this share of the carry is no curve: a
chip has none to be changed."""
_STRETCH_LIMITS = (0.2, 3.0)
_LEAST_RUN_M, _MOST_RUN_SHARE = 0.3, 3.0
"""A shorter run is no measure of what the wind does to it."""


@dataclass(frozen=True, eq=False)
class WindEffect:
    """Effect of the day's wind on ``n`` strikes for ``WIND_DIRECTIONS``.

    Parameters
    ----------
    shift_m
        Landing point (along, across) less that in the still air of the day [m], ``(n, 36, 2)``.
    stretch
        Matrix by which deviations (along, across) from it are multiplied, ``(n, 36, 2, 2)``.
    run_share
        Run over that in the still air of the day, ``(n, 36)``.
    """

    shift_m: FloatArray
    stretch: FloatArray
    run_share: FloatArray


def wind_effect(struck: Launch, day: Conditions) -> WindEffect:
    """Effect of the wind of the day, against its still air, on strikes of shape ``(n,)``.

    Only winds from the right are flown; those from the left mirror them.
    """
    half = len(WIND_DIRECTIONS) // 2 + 1
    from_right: FloatArray = WIND_DIRECTIONS[:half].astype(np.float64)
    strikes = _strikes(struck)
    still, still_run = _landings(strikes, day)
    blown, run = _landings(strikes, day, day.wind_speed, from_right)
    # A curve costs a little carry in any weather, whichever way it turns: that is no stretch.
    blown[2, ..., 0] -= still[2, ..., 0] - still[0, ..., 0]
    # Winds from the left, 350 degrees down to 190, are those from 10 to 170 mirrored.
    left = blown[:, :, half - 2 : 0 : -1] * np.array((1.0, -1.0))
    # Landings of a strike that starts to the right in a wind from the right are not mirrored
    # by the same tilt: flown with the tilt the other way they are.
    left[2] = 2.0 * left[0] - left[2]
    points = np.concatenate((blown, left), axis=2)
    base = still[:, :, 0]
    share = np.where(still_run < _LEAST_RUN_M, 1.0, run / np.maximum(still_run, _LEAST_RUN_M)).clip(
        0.0, _MOST_RUN_SHARE
    )
    share = np.concatenate((share, share[:, half - 2 : 0 : -1]), axis=1)
    return WindEffect(points[0] - base[0][:, None], _stretch(points, base), share)


def air_stretch(struck: Launch, day: Conditions) -> FloatArray:
    """Stretch of deviations (along, across) by the day's still air against standard air ``(n, 2)``.

    Of the carry itself it holds nothing; a stretch of the carry's own ratio is no surprise.
    """
    strikes = _strikes(struck)
    thin, _ = _landings(strikes, day)
    standard, _ = _landings(strikes, Conditions())
    matrix = _stretch(thin, standard[:, :, 0])[:, 0]
    return np.asarray(np.diagonal(matrix, axis1=1, axis2=2))


def _strikes(struck: Launch) -> Launch:
    """The strikes, the same faster, and the same with a tilted spin axis, shape ``(3, n)``."""
    faster = np.array([1.0, math.exp(_FASTER), 1.0])[:, None]
    tilt = struck.tilt + np.array([0.0, 0.0, _TILT])[:, None]
    return Launch(struck.speed * faster, np.tile(struck.angle, (3, 1)), struck.spin * faster, tilt)


def _landings(
    strikes: Launch, day: Conditions, wind_speed: float = 0.0, wind_from: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Landing points (along, across) [m], shape ``(3, n, directions, 2)``, in the air of a day.

    And the run of the first strikes on a fairway [m], shape ``(n, directions)``.
    """
    launch = Launch(*(value[..., None] for value in _fields(strikes)))
    directions = np.zeros(1) if wind_from is None else wind_from
    flight = fly(launch, air=day.air, wind_speed=wind_speed, wind_from=directions, step_s=_STEP_S)
    run = run_distance(
        flight.landing_speed[0],
        flight.descent[0],
        flight.landing_spin[0],
        turf_feel(Turf.FAIRWAY, day),
    )
    return np.stack((flight.carry, flight.offline), axis=-1), np.maximum(run, 0.0)


def _fields(launch: Launch) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    return launch.speed, launch.angle, launch.spin, launch.tilt


def _stretch(points: FloatArray, base: FloatArray) -> FloatArray:
    """Matrices from landings in two weathers.

    Parameters
    ----------
    points
        Landings of the three strikes, shape ``(3, n, directions, 2)``.
    base
        The same in the weather to compare with, shape ``(3, n, 2)``.
    """
    carry = np.maximum(base[0, :, 0], 1e-6)
    gain = np.maximum(base[1, :, 0] - base[0, :, 0], 1e-9)
    curve = base[2, :, 1] - base[0, :, 1]
    curved = np.abs(curve) > _LEAST_CURVE * _TILT * carry
    by_speed = (points[1] - points[0]) / gain[:, None, None]
    by_curve = (points[2] - points[0]) / np.where(curved, curve, 1.0)[:, None, None]
    by_start = _turned(points[0]) / carry[:, None, None]
    by_curve = np.where(curved[:, None, None], by_curve, by_start)
    low, high = _STRETCH_LIMITS
    across = np.sqrt(
        _START_VARIANCE * by_start[..., 1] ** 2 + _CURVE_VARIANCE * by_curve[..., 1] ** 2
    )
    matrix = np.empty((*points.shape[1:3], 2, 2))
    matrix[..., 0, 0] = np.clip(by_speed[..., 0], low, high)
    matrix[..., 1, 0] = by_speed[..., 1]
    matrix[..., 0, 1] = _START_VARIANCE * by_start[..., 0] + _CURVE_VARIANCE * by_curve[..., 0]
    matrix[..., 1, 1] = np.clip(across, low, high)
    return matrix


def _turned(landing: FloatArray) -> FloatArray:
    """Change of landings (n, directions, 2) by a start direction to the right [m/rad].

    A strike that starts to the right is the same strike turned with the wind turned the other way.
    """
    turned = np.stack((-landing[..., 1], landing[..., 0]), axis=-1)
    if landing.shape[1] == 1:
        return turned
    step = WIND_DIRECTIONS[1] - WIND_DIRECTIONS[0]
    slope = (np.roll(landing, -1, axis=1) - np.roll(landing, 1, axis=1)) / (2.0 * step)
    return np.asarray(turned - slope)
