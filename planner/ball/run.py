"""Run of a ball after it lands: bounces, then a roll.

Penner 2002, "The run of a golf ball", Can. J. Phys. 80, 931-940. Soft turf gives way before the
ball as if the ball met a rigid plane tilted back by an angle proportional to speed and to the
angle of arrival from the vertical. Against that plane the rebound is a share ``e`` of the normal
speed, and the ball leaves rolling if friction can make it, else sliding. Between bounces the air
is left out. A bounce lower than 5 mm starts the roll, which turf slows by 5/7 of its rolling
resistance times gravity.

Penner's numbers are for a green. How other turf differs is assumed, and set so that run on a
normal fairway is what golfers see: about 20 m for a drive, 6 m for a middle iron, 2 m for a wedge.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.ball.conditions import Conditions
from planner.ball.flight import BALL_RADIUS_M, GRAVITY
from planner.units import M_PER_FT, RAD_PER_DEG

__all__ = ["Turf", "TurfFeel", "rolling_resistance", "run_distance", "turf_feel"]

FloatArray = NDArray[np.float64]


class Turf(Enum):
    """Turf on which a ball runs."""

    FAIRWAY = "fairway"
    ROUGH = "rough"
    DEEP_ROUGH = "deep rough"
    GREEN = "green"


@dataclass(frozen=True)
class TurfFeel:
    """How turf treats a ball.

    Parameters
    ----------
    liveliness
        Factor on Penner's share of the normal speed that is given back.
    give
        Factor on Penner's tilt of the plane; softer turf gives more.
    friction
        Coefficient of sliding friction.
    resistance
        Rolling resistance as a share of the weight.
    grab
        Share of the forward speed that tall grass takes at every bounce.
    """

    liveliness: float
    give: float
    friction: float
    resistance: float
    grab: float = 0.0


PENNER_FRICTION = 0.40
PENNER_TILT = 15.4 * RAD_PER_DEG / (18.6 * 44.4 * RAD_PER_DEG)
"""Tilt [rad] for each m/s of speed and rad of angle from the vertical."""
_RAMP_SPEED = 1.83
"""Speed at the foot of the ramp that measures green speed [m/s]; Penner 2002's resistances of
0.065 to 0.196 for 12 to 4 ft follow from it."""
_LEAST_BOUNCE_M = 0.005
_MOST_BOUNCES = 40

ASSUMED_FAIRWAY = TurfFeel(liveliness=1.0, give=1.05, friction=PENNER_FRICTION, resistance=0.25)
ASSUMED_ROUGH = TurfFeel(
    liveliness=0.8, give=1.05, friction=PENNER_FRICTION, resistance=0.5, grab=0.15
)
ASSUMED_DEEP_ROUGH = TurfFeel(
    liveliness=0.6, give=1.05, friction=PENNER_FRICTION, resistance=1.0, grab=0.5
)
ASSUMED_GREEN_GIVE = 1.05
ASSUMED_FIRMNESS_EXPONENT = 0.3
"""Power of the firmness by which turf gives less and returns more."""
ASSUMED_NORMAL_ROUGH_M = 0.05
"""Height of rough for which the two feels above are meant [m]."""


def rolling_resistance(green_speed_ft: float) -> float:
    """Return the resistance of a level green on which the ramp gives ``green_speed_ft`` [ft]."""
    return _RAMP_SPEED**2 / (2.0 * 5.0 / 7.0 * GRAVITY * green_speed_ft * M_PER_FT)


def turf_feel(turf: Turf, conditions: Conditions) -> TurfFeel:
    """Feel of ``turf`` in the conditions of the day.

    A power of the firmness divides the give and multiplies the liveliness; firmness itself divides
    the rolling resistance, but for greens, whose resistance is their speed. Rough resists in
    proportion to its height and grabs the more the taller it is.
    """
    firmer = conditions.firmness**ASSUMED_FIRMNESS_EXPONENT
    if turf is Turf.GREEN:
        return TurfFeel(
            liveliness=firmer,
            give=ASSUMED_GREEN_GIVE / firmer,
            friction=PENNER_FRICTION,
            resistance=rolling_resistance(conditions.green_speed_ft),
        )
    feel = {
        Turf.FAIRWAY: ASSUMED_FAIRWAY,
        Turf.ROUGH: ASSUMED_ROUGH,
        Turf.DEEP_ROUGH: ASSUMED_DEEP_ROUGH,
    }[turf]
    height = 1.0 if turf is Turf.FAIRWAY else conditions.rough_length_m / ASSUMED_NORMAL_ROUGH_M
    return TurfFeel(
        liveliness=feel.liveliness * firmer,
        give=feel.give / firmer,
        friction=feel.friction,
        resistance=feel.resistance * height / conditions.firmness,
        grab=1.0 - (1.0 - feel.grab) ** height,
    )


def run_distance(
    landing_speed: ArrayLike, descent: ArrayLike, landing_spin: ArrayLike, feel: TurfFeel
) -> FloatArray:
    """Run on level ground from the landing point to rest.

    Parameters
    ----------
    landing_speed
        Speed at landing [m/s].
    descent
        Angle below the horizontal at landing [rad].
    landing_spin
        Back spin at landing [rad/s].
    feel
        The turf.

    Returns
    -------
    Run along the line of flight [m], broadcast shape; negative if the ball spins back.
    """
    speed, angle, spin = np.broadcast_arrays(
        *(np.asarray(value, dtype=float) for value in (landing_speed, descent, landing_spin))
    )
    forward, down = speed * np.cos(angle), speed * np.sin(angle)
    spin = np.array(spin)
    run = np.zeros(speed.shape)
    least_up = np.sqrt(2.0 * GRAVITY * _LEAST_BOUNCE_M)
    bouncing = down > least_up
    for _ in range(_MOST_BOUNCES):
        after, up, spun = _bounce(forward, down, spin, feel)
        forward = np.where(bouncing, after, forward)
        spin = np.where(bouncing, spun, spin)
        bouncing &= up > least_up
        if not bouncing.any():
            break
        run = np.where(bouncing, run + 2.0 * forward * up / GRAVITY, run)
        down = np.where(bouncing, up, down)
    rolling = (5.0 * forward - 2.0 * BALL_RADIUS_M * spin) / 7.0
    roll = rolling * np.abs(rolling) / (2.0 * 5.0 / 7.0 * feel.resistance * GRAVITY)
    return np.asarray(run + roll)


def _bounce(
    forward: FloatArray, down: FloatArray, spin: FloatArray, feel: TurfFeel
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Forward and upward speed [m/s] and back spin [rad/s] after one bounce."""
    speed = np.hypot(forward, down)
    from_vertical = np.arctan2(forward, down)
    # No plane can lean back beyond the ball's own path.
    tilt = np.minimum(feel.give * PENNER_TILT * speed, 1.0) * from_vertical
    tangent = speed * np.sin(from_vertical - tilt)
    normal = speed * np.cos(from_vertical - tilt)
    slow = 0.510 - 0.0375 * normal + 0.000903 * normal**2
    back = np.clip(feel.liveliness * np.where(normal <= 20.0, slow, 0.120), 0.0, 0.9)
    surface = tangent + BALL_RADIUS_M * spin
    grip = feel.friction * (1.0 + back) * normal
    rolls = 2.0 / 7.0 * np.abs(surface) <= grip
    slip = np.where(rolls, 2.0 / 7.0 * surface, np.sign(surface) * grip)
    tangent_after = tangent - slip
    spin_after = spin - 2.5 * slip / BALL_RADIUS_M
    normal_after = back * normal
    ahead = tangent_after * np.cos(tilt) - normal_after * np.sin(tilt)
    return (
        np.asarray(ahead * (1.0 - feel.grab)),
        np.asarray(normal_after * np.cos(tilt) + tangent_after * np.sin(tilt)),
        np.asarray(spin_after),
    )
