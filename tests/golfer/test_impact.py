"""Impact against the rigid-body closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.golfer.impact import launch, off_centre_speed_share
from planner.units import MPS_PER_MPH, RPM_PER_RAD_S


@pytest.mark.parametrize(
    ("loft", "restitution", "mass", "mph", "degrees", "rpm"),
    [(10.5, 0.83, 0.200, 146.41, 8.588, 2444.2), (30.0, 0.78, 0.270, 132.44, 24.096, 6814.8)],
)
def test_closed_form(
    loft: float, restitution: float, mass: float, mph: float, degrees: float, rpm: float
) -> None:
    ball = launch(100 * MPS_PER_MPH, math.radians(loft), head_mass_kg=mass, restitution=restitution)
    assert ball.speed / MPS_PER_MPH == pytest.approx(mph, abs=0.006)
    assert math.degrees(ball.angle) == pytest.approx(degrees, abs=6e-4)
    assert ball.spin * RPM_PER_RAD_S == pytest.approx(rpm, abs=0.06)


def test_attack_turns_the_launch_and_nothing_else() -> None:
    level = launch(40.0, 0.4, head_mass_kg=0.27, restitution=0.78)
    down = launch(40.0, 0.4, attack=-0.07, head_mass_kg=0.27, restitution=0.78)
    assert down.angle == pytest.approx(float(level.angle) - 0.07)
    assert (down.speed, down.spin) == (level.speed, level.spin)


def test_zero_loft_is_a_collision_in_line() -> None:
    ball = launch(50.0, 0.0, head_mass_kg=0.2, restitution=0.83)
    assert ball.speed == pytest.approx(50 * 1.83 / (1 + 0.04593 / 0.2))
    assert (ball.angle, ball.spin) == (0, 0)


@pytest.mark.parametrize(("inertia_g_cm2", "loss"), [(4000, 0.036), (5900, 0.025)])
def test_off_centre_loss(inertia_g_cm2: float, loss: float) -> None:
    # Rigid body, 2 cm off the centre of a 200 g head.
    share = off_centre_speed_share(0.02, head_mass_kg=0.2, inertia_kg_m2=inertia_g_cm2 * 1e-7)
    assert 1 - share == pytest.approx(loss, abs=5e-4)
    assert off_centre_speed_share(0.0, head_mass_kg=0.2, inertia_kg_m2=4e-4) == 1


def test_bad_arguments() -> None:
    with pytest.raises(ValueError, match="club_speed"):
        launch(-1.0, 0.2, head_mass_kg=0.2, restitution=0.8)
    with pytest.raises(ValueError, match="spin_loft"):
        launch(40.0, np.pi, head_mass_kg=0.2, restitution=0.8)
    with pytest.raises(ValueError, match="restitution"):
        launch(40.0, 0.2, head_mass_kg=0.2, restitution=1.8)
    with pytest.raises(ValueError, match="inertia"):
        off_centre_speed_share(0.02, head_mass_kg=0.2, inertia_kg_m2=0)
