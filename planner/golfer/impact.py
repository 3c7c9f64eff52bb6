"""Impact of club and ball as rigid bodies: what speed, launch and spin a swing gives.

The head, free at the moment of impact, meets the ball with the *spin loft* ``L``, the angle
between the face's normal and the head's path. Along the normal the speeds part with the
restitution ``e``; across it the ball leaves the face rolling. With head mass ``M`` and ball
mass ``m``::

    v_n = V cos L (1 + e) / (1 + m / M)
    v_t = V sin L / (7/2 + m / M)
    spin = 5 v_t / (2 r)

Off the centre the head turns, and acts along the normal like a mass ``1 / (1/M + b^2 / I)``
for an impact ``b`` from the centre and an inertia ``I``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.ball.flight import BALL_MASS_KG, BALL_RADIUS_M, Launch

__all__ = ["launch", "off_centre_speed_share"]

FloatArray = NDArray[np.float64]


def launch(
    club_speed: ArrayLike,
    spin_loft: ArrayLike,
    *,
    attack: ArrayLike = 0.0,
    head_mass_kg: ArrayLike,
    restitution: ArrayLike,
) -> Launch:
    """Launch of a ball struck in the centre of the face.

    Parameters
    ----------
    club_speed
        Speed of the head [m/s].
    spin_loft
        Delivered loft less attack [rad], between 0 and pi/2.
    attack
        Angle of the head's path above the horizontal [rad]; negative for a downward blow.
    head_mass_kg
        Mass of the head [kg].
    restitution
        Coefficient of restitution between face and ball.

    Returns
    -------
    Launch of the broadcast shape. A ball driven into the ground is launched level.

    Raises
    ------
    ValueError
        A value is outside its range.
    """
    speed, loft, rise, mass, bounce = np.broadcast_arrays(
        *(
            np.asarray(value, dtype=float)
            for value in (club_speed, spin_loft, attack, head_mass_kg, restitution)
        )
    )
    if not ((speed >= 0) & np.isfinite(speed)).all():
        raise ValueError("club_speed must be finite and not negative")
    if not ((loft >= 0) & (loft < np.pi / 2)).all():
        raise ValueError("spin_loft must be at least 0 and below pi/2 rad")
    if not (mass > 0).all() or not ((bounce >= 0) & (bounce <= 1)).all():
        raise ValueError("head_mass_kg must be above 0 and restitution between 0 and 1")
    ratio = BALL_MASS_KG / mass
    normal = speed * np.cos(loft) * (1.0 + bounce) / (1.0 + ratio)
    tangent = speed * np.sin(loft) / (3.5 + ratio)
    # The direction does not depend on the speed, and a speed of 0 still has one.
    below_normal = np.arctan(np.tan(loft) * (1.0 + ratio) / ((3.5 + ratio) * (1.0 + bounce)))
    angle = np.clip(rise + loft - below_normal, 0.0, np.pi / 2)
    return Launch.of(np.hypot(normal, tangent), angle, 2.5 * tangent / BALL_RADIUS_M)


def off_centre_speed_share(
    offset_m: ArrayLike, *, head_mass_kg: ArrayLike, inertia_kg_m2: ArrayLike
) -> FloatArray:
    """Ball speed of an impact ``offset_m`` [m] off the centre, as a share of a centred one.

    ``inertia_kg_m2`` [kg m2] is the head's about its centre of mass, square to the offset. The
    result has the broadcast shape.
    """
    offset, mass, inertia = (
        np.asarray(value, dtype=float) for value in (offset_m, head_mass_kg, inertia_kg_m2)
    )
    if not ((mass > 0).all() and (inertia > 0).all()):
        raise ValueError("head_mass_kg and inertia_kg_m2 must be above 0")
    centred = 1.0 + BALL_MASS_KG / mass
    return np.asarray(centred / (centred + BALL_MASS_KG * offset**2 / inertia))
