"""Flight of a golf ball through still or moving air.

Drag and lift coefficients and the decay of spin: Smits & Smith 1994, "A new aerodynamic model of
a golf ball in flight", Science and Golf II. With ``S`` the speed of the surface over the speed
through the air and ``Re`` the Reynolds number::

    C_D = 0.24 + 0.18 S + 0.06 sin(pi (Re - 90000) / 200000)
    C_L = 0.54 S^0.4
    d(spin)/dt = -2e-5 spin v / r

Their measurements span about Re 70000 to 210000 (from memory); ``Re`` is held at these ends
beyond them. The equations of motion (MacDonald & Hanzely 1991, Am. J. Phys. 59, 213) are stepped
by the classical Runge-Kutta method for all shots at once.

Axes: along the line of play, across (positive to the right) and up, from the ball [m].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.ball.conditions import STANDARD_AIR, Air

__all__ = ["BALL_MASS_KG", "BALL_RADIUS_M", "GRAVITY", "Flight", "Launch", "fly"]

FloatArray = NDArray[np.float64]

BALL_MASS_KG = 0.04593
"""Greatest mass the Equipment Rules allow."""
BALL_RADIUS_M = 0.021335
"""Half the least diameter the Equipment Rules allow."""
GRAVITY = 9.80665

_DRAG_AREA_PER_MASS = np.pi * BALL_RADIUS_M**2 / (2.0 * BALL_MASS_KG)
_RE_LIMITS = (70_000.0, 210_000.0)
_STEP_S = 0.04
_LONGEST_FLIGHT_S = 40.0


@dataclass(frozen=True, eq=False)
class Launch:
    """How balls leave the club; arrays of one shape ``(...)``.

    ``speed`` [m/s], ``angle`` above the horizontal [rad], back ``spin`` [rad/s], and
    ``tilt`` of the spin axis [rad], positive for a ball that curves to the right.
    """

    speed: FloatArray
    angle: FloatArray
    spin: FloatArray
    tilt: FloatArray

    @staticmethod
    def of(speed: ArrayLike, angle: ArrayLike, spin: ArrayLike, tilt: ArrayLike = 0.0) -> Launch:
        """Build from anything that broadcasts.

        Raises
        ------
        ValueError
            Shapes do not fit, or a value is not finite, or a speed or spin is negative, or an
            angle is outside 0..pi/2.
        """
        arrays = np.broadcast_arrays(
            *(np.asarray(value, dtype=float) for value in (speed, angle, spin, tilt))
        )
        if not all(np.isfinite(array).all() for array in arrays):
            raise ValueError("speed, angle, spin and tilt must be finite")
        if (arrays[0] < 0).any() or (arrays[2] < 0).any():
            raise ValueError("speed and spin must not be negative")
        if (arrays[1] < 0).any() or (arrays[1] > np.pi / 2).any():
            raise ValueError("angle must be between 0 and pi/2 rad")
        return Launch(*(np.array(array) for array in arrays))


@dataclass(frozen=True, eq=False)
class Flight:
    """Flights from launch to the height of the launch; arrays of one shape ``(...)``.

    ``carry`` along and ``offline`` across [m], ``apex`` height [m], ``descent`` angle below the
    horizontal at landing [rad], ``landing_speed`` [m/s], ``landing_spin`` [rad/s], ``time`` [s].
    ``path_along`` and ``path_height`` [m] of shape ``(steps, ...)`` hold the flight up to the
    landing point, which is repeated to the end; empty unless the path was asked for.
    """

    carry: FloatArray
    offline: FloatArray
    apex: FloatArray
    descent: FloatArray
    landing_speed: FloatArray
    landing_spin: FloatArray
    time: FloatArray
    path_along: FloatArray
    path_height: FloatArray

    def clearance(self, height_m: float) -> tuple[FloatArray, FloatArray]:
        """Ground distances over which the flight is below ``height_m`` [m].

        Returns
        -------
        Distance from the ball to where the flight passes the height going up, infinite if it never
        does; and distance before landing at which it comes below it, the whole carry if it
        never was above [m].

        Raises
        ------
        ValueError
            The path was not kept, or ``height_m`` is not above 0.
        """
        if self.path_height.shape[0] == 0:
            raise ValueError("the flight was computed without its path; use keep_path=True")
        if not height_m > 0.0:
            raise ValueError(f"height_m must be above 0, got {height_m}")
        steps = self.path_height.shape[0]
        height = self.path_height.reshape(steps, -1)
        along = self.path_along.reshape(steps, -1)
        above = height >= height_m
        column = np.arange(height.shape[1])
        ever = above.any(axis=0)
        first = np.maximum(above.argmax(axis=0), 1)
        last = np.minimum(steps - 1 - above[::-1].argmax(axis=0), steps - 2)

        def crossing(before: NDArray[np.intp]) -> FloatArray:
            low, high = height[before, column], height[before + 1, column]
            rise = np.where(high == low, 1.0, high - low)
            share = np.clip((height_m - low) / rise, 0.0, 1.0)
            start = along[before, column]
            return np.asarray(start + share * (along[before + 1, column] - start))

        carry = self.carry.ravel()
        climb = np.where(ever, crossing(first - 1), np.inf)
        shadow = np.where(ever, carry - crossing(last), carry)
        shape = self.carry.shape
        return climb.reshape(shape), shadow.reshape(shape)


def fly(
    launch: Launch,
    *,
    air: Air = STANDARD_AIR,
    wind_speed: ArrayLike = 0.0,
    wind_from: ArrayLike = 0.0,
    keep_path: bool = False,
    step_s: float = _STEP_S,
) -> Flight:
    """Fly balls until they are back at the height of their launch.

    Parameters
    ----------
    launch
        Launches, shape ``(...)``.
    air
        Density 0 flies without air.
    wind_speed
        Speed of the wind [m/s], the same at every height; broadcast against the launches.
    wind_from
        Direction the wind comes from, clockwise from the line of play [rad]: 0 is a head wind,
        pi/2 a wind from the right; broadcast against the launches.
    keep_path
        Keep the path, which :meth:`Flight.clearance` needs.
    step_s
        Time step [s].

    Raises
    ------
    ValueError
        Shapes do not fit, or a flight lasts longer than 40 s.
    """
    fields = (launch.speed, launch.angle, launch.spin, launch.tilt)
    arrays = np.broadcast_arrays(
        *fields, np.asarray(wind_speed, dtype=float), np.asarray(wind_from, dtype=float)
    )
    shape = arrays[0].shape
    speed, angle, spin, tilt, wind, wind_angle = (array.ravel() for array in arrays)
    motion = _Motion(
        air,
        np.array(
            (-wind * np.cos(wind_angle), -wind * np.sin(wind_angle), np.cos(tilt), np.sin(tilt))
        ),
    )
    count = len(speed)
    state = np.zeros((7, count))
    state[3], state[5], state[6] = speed * np.cos(angle), speed * np.sin(angle), spin
    landed = np.zeros((7, count))
    time = np.zeros(count)
    apex = np.zeros(count)
    flying = np.arange(count)
    along, height = [state[0]], [state[2]]
    for number in range(int(np.ceil(_LONGEST_FLIGHT_S / step_s))):
        after = motion.step(state, step_s)
        apex[flying] = np.maximum(apex[flying], _top(state, after, step_s))
        down = after[2] <= 0.0
        if down.any():
            share = _landing_share(state[:, down], after[:, down], step_s)
            ids = flying[down]
            landed[:, ids] = _between(state[:, down], after[:, down], share, step_s)
            time[ids] = (number + share) * step_s
            up = ~down
            flying, after = flying[up], after[:, up]
            motion = motion.only(up)
        if keep_path:
            along.append(landed[0].copy())
            height.append(np.zeros(count))
            along[-1][flying], height[-1][flying] = after[0], after[2]
        state = after
        if len(flying) == 0:
            break
    else:
        raise ValueError("a flight lasts longer than 40 s; check launch, air and wind")
    path = (np.array(along), np.array(height)) if keep_path else (np.empty((0, count)),) * 2
    ground_speed = np.hypot(landed[3], landed[4])
    return Flight(
        carry=landed[0].reshape(shape),
        offline=landed[1].reshape(shape),
        apex=apex.reshape(shape),
        descent=np.arctan2(-landed[5], ground_speed).reshape(shape),
        landing_speed=np.hypot(ground_speed, landed[5]).reshape(shape),
        landing_spin=landed[6].reshape(shape),
        time=time.reshape(shape),
        path_along=path[0].reshape(-1, *shape),
        path_height=path[1].reshape(-1, *shape),
    )


class _Motion:
    """Equations of motion of ``n`` balls: position (3), velocity (3) and spin, ``(7, n)``."""

    def __init__(self, air: Air, each: FloatArray) -> None:
        self._air = air
        # The wind's own speed along and across, cosine and sine of the tilt, shape (4, n).
        self._each = each

    def only(self, chosen: NDArray[np.bool_]) -> _Motion:
        """Equations of the chosen balls."""
        return _Motion(self._air, self._each[:, chosen])

    def step(self, state: FloatArray, dt: float) -> FloatArray:
        """State after ``dt`` [s] by one Runge-Kutta step."""
        k1 = self._rate(state)
        k2 = self._rate(state + 0.5 * dt * k1)
        k3 = self._rate(state + 0.5 * dt * k2)
        k4 = self._rate(state + dt * k3)
        return np.asarray(state + dt / 6.0 * (k1 + 2.0 * (k2 + k3) + k4))

    def _rate(self, state: FloatArray) -> FloatArray:
        wind_along, wind_across, cos, sin = self._each
        vx = state[3] - wind_along
        vy = state[4] - wind_across
        vz = state[5]
        spin = state[6]
        speed = np.sqrt(vx * vx + vy * vy + vz * vz) + 1e-12
        ratio = np.abs(spin) * BALL_RADIUS_M / speed
        reynolds = np.clip(
            2.0 * BALL_RADIUS_M * self._air.density / self._air.viscosity * speed, *_RE_LIMITS
        )
        drag = 0.24 + 0.18 * ratio + 0.06 * np.sin(np.pi * (reynolds - 90_000.0) / 200_000.0)
        push = self._air.density * _DRAG_AREA_PER_MASS * speed
        drag *= push
        lift = push * 0.54 * ratio**0.4
        rate = np.empty_like(state)
        rate[:3] = state[3:6]
        rate[3] = -drag * vx - lift * (cos * vz + sin * vy)
        rate[4] = -drag * vy + lift * sin * vx
        rate[5] = -drag * vz + lift * cos * vx - GRAVITY
        rate[6] = -2e-5 * spin * speed / BALL_RADIUS_M
        return rate


def _hermite(
    start: FloatArray, end: FloatArray, rate0: FloatArray, rate1: FloatArray, u: FloatArray
) -> FloatArray:
    """Cubic through two values with the rates per unit of ``u`` in 0..1."""
    v = 1.0 - u
    return np.asarray(
        v * v * (1 + 2 * u) * start + u * v * v * rate0 + u * u * (3 - 2 * u) * end
        - u * u * v * rate1
    )  # fmt: skip


def _between(before: FloatArray, after: FloatArray, share: FloatArray, dt: float) -> FloatArray:
    """State at ``share`` of a step: positions by their velocities, the rest linear."""
    state = before + share * (after - before)
    for axis in range(3):
        state[axis] = _hermite(
            before[axis], after[axis], before[axis + 3] * dt, after[axis + 3] * dt, share
        )
    return np.asarray(state)


def _landing_share(before: FloatArray, after: FloatArray, dt: float) -> FloatArray:
    """Share of the step after which the height is 0, by Newton's method on the cubic.

    The height is concave within a step, so that starting at the end finds the later root, also in
    a first step, which begins at height 0.
    """
    share = np.ones(before.shape[1])
    rise0, rise1 = before[5] * dt, after[5] * dt
    fall = after[2] - before[2]
    for _ in range(8):
        height = _hermite(before[2], after[2], rise0, rise1, share)
        slope = (
            6.0 * share * (1.0 - share) * fall
            + (1.0 - share) * (1.0 - 3.0 * share) * rise0
            + share * (3.0 * share - 2.0) * rise1
        )
        share = np.clip(share - height / np.where(slope < 0.0, slope, -np.inf), 0.0, 1.0)
    return np.asarray(share)


def _top(before: FloatArray, after: FloatArray, dt: float) -> FloatArray:
    """Greatest height within a step."""
    turns = (before[5] > 0.0) & (after[5] <= 0.0)
    share = np.where(turns, before[5] / np.where(turns, before[5] - after[5], 1.0), 1.0)
    top = _hermite(before[2], after[2], before[5] * dt, after[5] * dt, share)
    return np.asarray(np.where(turns, top, np.maximum(before[2], after[2])))
