"""What a distance plays like: the same shot on level ground in still standard air.

A ball that comes down at an angle meets ground that is higher by ``h`` earlier by
``h / tan(descent)``. Wind and air change the carry through the flight of the club in hand, so
that one distance plays differently with a low and with a high shot.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from planner.course.lies import Lie
from planner.golfer.shot_outcome import Swing

__all__ = ["PlaysLike", "ground_covered", "plays_like", "slope_distance"]

_STEPS = 40
_CLOSE_M = 1e-9


@dataclass(frozen=True)
class PlaysLike:
    """A distance and what it plays like, for one swing; all along the aim line [m].

    Parameters
    ----------
    ground_m
        From the ball to where the stock shot lands.
    slope_m
        What the height of that place adds.
    weather_m
        What wind, temperature and altitude add.
    """

    ground_m: float
    slope_m: float
    weather_m: float

    @property
    def total_m(self) -> float:
        """What the distance plays like: the carry of this shot on a still standard day."""
        return self.ground_m + self.slope_m + self.weather_m


def slope_distance(rise_m: float, descent: float) -> float:
    """Length [m] that a rise of ``rise_m`` [m] adds for an angle of ``descent`` [rad].

    Negative downhill.

    Raises
    ------
    ValueError
        The descent is not between 0 and pi/2.
    """
    if not 0.0 < descent < math.pi / 2:
        raise ValueError(f"descent must be between 0 and pi/2 rad, got {descent}")
    return rise_m / math.tan(descent)


def ground_covered(
    carry_m: float, descent: float, rise_at: Callable[[float], float]
) -> tuple[float, float]:
    """Where a shot lands on uneven ground.

    Parameters
    ----------
    carry_m
        Carry on level ground [m].
    descent
        Angle of descent [rad].
    rise_at
        Height of the ground above the ball at a distance along the shot [m].

    Returns
    -------
    Distance to the landing point, and height of the ground there above the ball [m]. The descent
    is a straight line; the first ground it meets from above counts.
    """
    slope_distance(0.0, descent)

    def above(distance: float) -> float:
        return (carry_m - distance) * math.tan(descent) - rise_at(distance)

    # From where the line is surely above the ground, forward to the first place it is not.
    low, high = 0.0, 2.0 * carry_m
    if above(high) > 0.0:
        return high, rise_at(high)
    step = (high - low) / _STEPS
    while above(low + step) > 0.0:
        low += step
    high = low + step
    while high - low > _CLOSE_M:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if above(middle) > 0.0 else (low, middle)
    landing = 0.5 * (low + high)
    return landing, rise_at(landing)


def plays_like(
    swing: Swing, lie: Lie, *, wind_from: float, rise_at: Callable[[float], float]
) -> PlaysLike:
    """What the distance of a swing's stock shot plays like.

    Parameters
    ----------
    swing, lie
        The swing, and what the ball lies on.
    wind_from
        Direction the wind comes from, clockwise from the aim line [rad]; anything in still air.
    rise_at
        Height of the ground above the ball at a distance along the aim line [m].
    """
    stock = swing.patterns[lie].means[0]
    (blown,), _ = swing.blown(stock, wind_from)
    ground, rise = ground_covered(float(blown[0]), swing.descent, rise_at)
    slope = slope_distance(rise, swing.descent)
    usual = float(stock[0]) / swing.air_ratio
    return PlaysLike(ground, slope, usual - ground - slope)
