"""The one shot model: what the solver, the exact exposure and the simulator all use.

A :class:`Swing` is a club swung in one way (full, partial, punch-out) with everything that
decides where the ball stops:

1. *Start.* The ball leaves towards the aim point. If a wood stands within ``climb_m`` of the
   ball on its start line, the ball is stopped there with probability
   ``1 - exp(-wood crossed / ASSUMED_TREE_FREE_PATH_M)``, where the wood is that within
   ``climb_m`` and within ``carry_m``. The start line is the aim line turned by a normal angle
   with deviation ``start_sd``, drawn independently of where the carry ends.
2. *Carry.* It ends at a point drawn from the pattern of the lie, laid along the aim line, moved
   and stretched by the wind. On sloping ground the drawn point is where the ball would pass the
   height of its start; it lands where the descent line meets the ground.
3. *Descent.* If the last ``canopy_shadow_m`` of the carry passes over a wood and the ball lands
   outside it, the ball stops in that wood, at the point nearest the landing, with probability
   ``ASSUMED_CANOPY_STOP_SHARE``.
4. *Run.* From the landing point the ball runs ``run_m[lie]``, times the wind's share, along the
   aim line, unless sand,
   trees, a penalty area or a boundary on the way stops it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.course.lies import Lie
from planner.golfer.shot_pattern import ShotPattern

FloatArray = NDArray[np.float64]

ASSUMED_TREE_FREE_PATH_M = 20.0
"""Mean distance a low ball flies in a wood before it is stopped [m]; assumed."""
ASSUMED_CANOPY_HEIGHT_M = 12.0
"""Height above which a ball clears a wood [m]; assumed."""
ASSUMED_LONGEST_BLOWN = 1.3
"""Carries beyond this share of the swing's own are taken as blown like it; assumed."""
ASSUMED_CANOPY_STOP_SHARE = 0.6
"""Share of balls that a canopy stops when they come down through it; assumed."""


class SwingStyle(Enum):
    """How a club is swung."""

    FULL = "full"
    PARTIAL = "partial"
    PUNCH = "punch-out"


@dataclass(frozen=True)
class Swing:
    """A club swung in one way.

    Parameters
    ----------
    club
        Label of the club in the bag.
    style
        Full, partial or punch-out.
    carry_m
        Mean carry of the stock shot from a good lie, still air and level ground [m].
    patterns
        Shot pattern from each lie from which this swing is allowed.
    run_m
        Run after landing on each kind of turf [m]; a lie that is absent stops the ball dead.
    descent
        Angle of descent at landing [rad], between 0 and pi/2.
    climb_m
        Ground distance after which the flight is above the canopy [m]; infinite if never.
    shadow_m
        Ground distance before landing over which the flight is below the canopy [m].
    start_sd
        Standard deviation of the start direction [rad].
    wind_shift_m
        Shift of the carry (along, across) [m] for winds from 0, 10, ... 350 degrees clockwise
        from straight ahead, shape ``(36, 2)``; None in still air.
    wind_stretch
        Matrices that multiply deviations from a carry of ``carry_m`` in those winds, shape
        ``(36, 2, 2)``; None leaves deviations as they are.
    wind_run_share
        Run over ``run_m`` in those winds, shape ``(36,)``; None leaves the run as it is.
    air_ratio
        Carry in the still air of the day over that in standard air.
    """

    club: str
    style: SwingStyle
    carry_m: float
    patterns: Mapping[Lie, ShotPattern]
    run_m: Mapping[Lie, float]
    descent: float
    climb_m: float
    shadow_m: float
    start_sd: float
    wind_shift_m: FloatArray | None = None
    wind_stretch: FloatArray | None = None
    wind_run_share: FloatArray | None = None
    air_ratio: float = 1.0

    @property
    def canopy_shadow_m(self) -> float:
        """Low part of the descent [m]; none for a flight that is low from start to end.

        Such a flight meets woods on its whole way, which the start rule already counts.
        """
        return 0.0 if np.isinf(self.climb_m) else self.shadow_m

    @property
    def label(self) -> str:
        """The swing in words, without units: club and style."""
        return self.club if self.style is SwingStyle.FULL else f"{self.club}, {self.style.value}"

    def longest_run_on(self, lie: Lie) -> float:
        """Longest run on a turf over all directions of the day's wind [m]."""
        share = 1.0 if self.wind_run_share is None else float(self.wind_run_share.max())
        return max(self.run_m.get(lie, 0.0), 0.0) * share

    def runs(self, lies: Sequence[Lie], wind_from: ArrayLike) -> FloatArray:
        """Run [m] on each of ``lies``, shape ``(n, lies)``, in winds as for :meth:`shift`."""
        run = np.array([max(self.run_m.get(lie, 0.0), 0.0) for lie in lies])
        angle = np.atleast_1d(np.asarray(wind_from, dtype=float))
        if self.wind_run_share is None:
            return np.tile(run, (len(angle), 1))
        return np.asarray(_at_wind(self.wind_run_share, angle)[:, None] * run)

    def blown(self, carries: FloatArray, wind_from: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """What the wind makes of mean carries and of deviations from them.

        A shorter carry is shorter in the air: it is shifted by the square of its length over
        ``carry_m``, and its deviations are stretched in proportion to that length.

        Parameters
        ----------
        carries
            Mean carries (along, across) in still air [m], shape ``(n, 2)`` or ``(2,)``.
        wind_from
            As for :meth:`shift`, shape ``(n,)``.

        Returns
        -------
        Mean carries in the wind [m], shape ``(n, 2)``, and the matrices that multiply deviations
        from them, shape ``(n, 2, 2)``.
        """
        angle = np.atleast_1d(np.asarray(wind_from, dtype=float))
        still = np.broadcast_to(carries, (len(angle), 2))
        length = np.clip(still[:, :1] / self.carry_m, 0.0, ASSUMED_LONGEST_BLOWN)
        matrix = np.broadcast_to(np.eye(2), (len(angle), 2, 2)).copy()
        if self.wind_stretch is not None:
            matrix += length[..., None] * (_at_wind(self.wind_stretch, angle) - np.eye(2))
        moved = still + length**2 * self.shift(angle)
        # What is offline already is a deviation from the line; along it the shift says all.
        moved += (matrix[..., 1] - np.array((0.0, 1.0))) * still[:, 1:]
        return moved, matrix

    def shift(self, wind_from: ArrayLike) -> FloatArray:
        """Shift of a stock carry by the wind.

        Parameters
        ----------
        wind_from
            Direction the wind comes from, clockwise from the line of play [rad], shape ``(n,)``.

        Returns
        -------
        (along, across) [m], shape ``(n, 2)``.
        """
        angle = np.atleast_1d(np.asarray(wind_from, dtype=float))
        if self.wind_shift_m is None:
            return np.zeros((len(angle), 2))
        return _at_wind(self.wind_shift_m, angle)


@dataclass(frozen=True)
class ShotModel:
    """All swings of one golfer with one bag in given conditions, and his putting.

    Parameters
    ----------
    swings
        Every allowed swing.
    putts_distance_m, putts_expected
        Expected putts at increasing distances [m]; linear between them.
    club_length_m
        Length of the longest club but the putter [m], the club-length of the Rules.
    putts_chances
        Chance to hole out within 1, 2, ... putts at ``putts_distance_m``, shape ``(k, n)``; None
        where only the expected number is known.
    wind_from
        Azimuth the wind comes from [rad clockwise from north], None in still air.
    """

    swings: tuple[Swing, ...]
    putts_distance_m: FloatArray
    putts_expected: FloatArray
    club_length_m: float
    wind_from: float | None = None
    left_handed: bool = False
    notes: tuple[str, ...] = field(default=())
    putts_chances: FloatArray | None = None

    def expected_putts(self, distance_m: ArrayLike) -> FloatArray:
        """Expected putts from ``distance_m`` [m], same shape."""
        distance = np.asarray(distance_m, dtype=float)
        return np.asarray(np.interp(distance, self.putts_distance_m, self.putts_expected))

    def putts_within(self, distance_m: ArrayLike, most: int) -> FloatArray:
        """Chance to hole out within ``most`` putts from ``distance_m`` [m], same shape.

        Where only the expected number is known, the whole numbers beside it share the chance.
        """
        distance = np.asarray(distance_m, dtype=float)
        if most < 1:
            return np.zeros_like(distance)
        if self.putts_chances is None:
            return np.clip(most + 1.0 - self.expected_putts(distance), 0.0, 1.0)
        if most > len(self.putts_chances):
            return np.ones_like(distance)
        chances = self.putts_chances[most - 1]
        return np.asarray(np.interp(distance, self.putts_distance_m, chances))


def _at_wind(table: FloatArray, angle: FloatArray) -> FloatArray:
    """Values of a table by wind direction, evenly spaced round the circle, at angles ``(n,)``."""
    step = np.mod(angle, 2 * np.pi) / (2 * np.pi) * len(table)
    low = np.floor(step).astype(int) % len(table)
    high = (low + 1) % len(table)
    part = (step - np.floor(step)).reshape(-1, *(1,) * (table.ndim - 1))
    return np.asarray(table[low] * (1 - part) + table[high] * part)
