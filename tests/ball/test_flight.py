"""Flight against closed forms, symmetry and published bounds."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from planner.ball.conditions import STANDARD_AIR, Air, Conditions
from planner.ball.flight import BALL_MASS_KG, BALL_RADIUS_M, GRAVITY, Launch, fly
from planner.ball.run import Turf, run_distance, turf_feel
from planner.units import M_PER_FT, M_PER_YD, MPS_PER_MPH, RPM_PER_RAD_S

NO_AIR = Air(density=0.0, viscosity=1.8e-5)
DRIVE = Launch.of(160 * MPS_PER_MPH, math.radians(11), 2700 / RPM_PER_RAD_S)
SHOTS = Launch.of(
    np.array([70.0, 62.0, 48.0, 38.0, 30.0]),
    np.radians([11, 14, 20, 30, 36]),
    np.array([280.0, 420, 600, 800, 850]),
)


def test_the_ball_is_the_heaviest_and_smallest_allowed() -> None:
    # Equipment Rules: not more than 45.93 g, not less than 42.67 mm across.
    assert pytest.approx(0.04593) == BALL_MASS_KG
    assert pytest.approx(0.04267) == 2 * BALL_RADIUS_M


def test_range_without_air() -> None:
    flight = fly(Launch.of(160 * MPS_PER_MPH, math.radians(12), 300.0), air=NO_AIR, keep_path=True)
    # Published with g = 9.81: 231.97 yd.
    assert flight.carry / M_PER_YD * GRAVITY / 9.81 == pytest.approx(231.97, abs=0.01)
    speed, angle = 160 * MPS_PER_MPH, math.radians(12)
    assert flight.carry == pytest.approx(speed**2 * math.sin(2 * angle) / GRAVITY, abs=1e-6)
    assert flight.apex == pytest.approx((speed * math.sin(angle)) ** 2 / (2 * GRAVITY), abs=1e-6)
    assert flight.descent == pytest.approx(angle, abs=1e-9)
    assert flight.landing_speed == pytest.approx(speed, abs=1e-9)
    # The spin decays by the way through the air, which is at most speed times time.
    decay = -math.log(flight.landing_spin / 300.0) / (2e-5 / BALL_RADIUS_M)
    assert 0.98 * speed * flight.time < decay < speed * flight.time
    # The parabola is above 5 m between the two roots.
    climb, shadow = flight.clearance(5.0)
    rise = speed * math.sin(angle)
    first = (rise - math.sqrt(rise**2 - 2 * GRAVITY * 5)) / GRAVITY
    assert climb == pytest.approx(speed * math.cos(angle) * first, abs=0.02)
    assert shadow == pytest.approx(climb, abs=0.02)


def test_published_coefficients_by_another_integrator() -> None:
    # Smits & Smith 1994, written out again and left to an adaptive method.
    rho, area = STANDARD_AIR.density, math.pi * BALL_RADIUS_M**2

    def rate(_: float, y: np.ndarray) -> list[float]:
        vx, vz, spin = y[2], y[3], y[4]
        v = math.hypot(vx, vz)
        s = spin * BALL_RADIUS_M / v
        re = min(max(v * 2 * BALL_RADIUS_M * rho / STANDARD_AIR.viscosity, 7e4), 2.1e5)
        cd = 0.24 + 0.18 * s + 0.06 * math.sin(math.pi * (re - 9e4) / 2e5)
        k = rho * area * v / (2 * BALL_MASS_KG)
        lift = k * 0.54 * s**0.4
        return [
            vx, vz, -k * cd * vx - lift * vz, -k * cd * vz + lift * vx - GRAVITY,
            -2e-5 * spin * v / BALL_RADIUS_M,
        ]  # fmt: skip

    def ground(_: float, y: np.ndarray) -> float:
        return float(y[1])

    ground.terminal, ground.direction = True, -1  # type: ignore[attr-defined]
    for i in range(5):
        v, a, spin = (float(part[i]) for part in (SHOTS.speed, SHOTS.angle, SHOTS.spin))
        start = [0, 1e-12, v * math.cos(a), v * math.sin(a), spin]
        other = solve_ivp(rate, (0, 15), start, events=ground, rtol=1e-9, atol=1e-9)
        end = other.y_events[0][0]
        flight = fly(SHOTS)
        assert flight.carry[i] == pytest.approx(end[0], abs=0.01)
        assert flight.time[i] == pytest.approx(other.t_events[0][0], abs=1e-3)
        assert flight.descent[i] == pytest.approx(math.atan2(-end[3], end[2]), abs=1e-3)


def test_overall_distance_standard() -> None:
    # Equipment Rules: 176 mph ball, 10 degrees, 2520 rpm must not go beyond 317 + 3 yd in all.
    flight = fly(Launch.of(176 * MPS_PER_MPH, math.radians(10), 2520 / RPM_PER_RAD_S))
    run = run_distance(
        flight.landing_speed,
        flight.descent,
        flight.landing_spin,
        turf_feel(Turf.FAIRWAY, Conditions()),
    )
    total = (flight.carry + run) / M_PER_YD
    assert 255 < total < 320


def test_wind_is_asymmetric() -> None:
    still = fly(SHOTS).carry
    against = fly(SHOTS, wind_speed=5.0, wind_from=0.0).carry
    behind = fly(SHOTS, wind_speed=5.0, wind_from=np.pi).carry
    assert (still - against > behind - still).all()
    assert (behind > still).all()
    # Drive: a mile an hour costs about 1 % against and gives about half of that behind (common
    # practice); 5 m/s is 11.2 mph.
    loss, gain = (1 - against / still)[0], (behind / still - 1)[0]
    assert 0.06 < loss < 0.15
    assert 0.04 < gain < 0.11


def test_cross_wind_is_a_mirror() -> None:
    right = fly(SHOTS, wind_speed=6.0, wind_from=np.pi / 2)
    left = fly(SHOTS, wind_speed=6.0, wind_from=3 * np.pi / 2)
    np.testing.assert_allclose(right.carry, left.carry, atol=1e-9)
    np.testing.assert_allclose(right.offline, -left.offline, atol=1e-9)
    assert (right.offline < 0).all()


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(0, 12), st.floats(0, 2 * math.pi), st.floats(-0.3, 0.3))
def test_mirrored_wind_and_tilt_mirror_the_flight(speed: float, angle: float, tilt: float) -> None:
    one = Launch.of(DRIVE.speed, DRIVE.angle, DRIVE.spin, tilt)
    two = Launch.of(DRIVE.speed, DRIVE.angle, DRIVE.spin, -tilt)
    a = fly(one, wind_speed=speed, wind_from=angle)
    b = fly(two, wind_speed=speed, wind_from=-angle)
    assert a.carry == pytest.approx(float(b.carry), abs=1e-6)
    assert a.offline == pytest.approx(-float(b.offline), abs=1e-6)


def test_tilt_curves_the_ball() -> None:
    curved = fly(Launch.of(DRIVE.speed, DRIVE.angle, DRIVE.spin, math.radians(5)))
    assert curved.offline > 3
    assert curved.carry == pytest.approx(float(fly(DRIVE).carry), rel=0.02)


def test_thin_air_carries_farther() -> None:
    still = fly(DRIVE).carry
    high = fly(DRIVE, air=Conditions(altitude_m=1000).air).carry / still
    warm = fly(DRIVE, air=Conditions(temperature_c=30).air).carry / still
    assert warm > 1.005
    # Common practice: 0.116 % for each 100 ft; the drag of these coefficients also falls with
    # the Reynolds number, so within a factor of about two.
    per_100_ft = (high - 1) / (1000 / (100 * M_PER_FT))
    assert 0.0008 < per_100_ft < 0.0025


def test_step_is_fine_enough() -> None:
    np.testing.assert_allclose(fly(SHOTS).carry, fly(SHOTS, step_s=0.005).carry, atol=2e-3)


def test_clearance_of_a_low_and_a_high_flight() -> None:
    low = Launch.of(12.0, math.radians(35), 150.0)
    flight = fly(low, keep_path=True)
    climb, shadow = flight.clearance(12.0)
    assert climb == np.inf
    assert shadow == flight.carry
    climb, shadow = fly(SHOTS, keep_path=True).clearance(12.0)
    assert (climb > 12 / np.tan(SHOTS.angle + 0.15)).all()
    assert (shadow < climb).all()
    with pytest.raises(ValueError, match="keep_path"):
        fly(SHOTS).clearance(12.0)


def test_flights_do_not_see_each_other() -> None:
    together = fly(SHOTS, wind_speed=4.0, wind_from=1.0, keep_path=True)
    alone = fly(
        Launch.of(SHOTS.speed[3], SHOTS.angle[3], SHOTS.spin[3]), wind_speed=4.0, wind_from=1.0
    )
    for name in ("carry", "offline", "apex", "descent", "landing_speed", "landing_spin", "time"):
        assert getattr(together, name)[3] == pytest.approx(float(getattr(alone, name)), abs=1e-12)
    assert together.path_along[-1] == pytest.approx(together.carry)


def test_bad_launches() -> None:
    for speed, angle, spin, words in (
        (-1, 0.1, 1, "negative"), (1, 2.0, 1, "angle"), (1, 0.1, np.nan, "finite"),
    ):  # fmt: skip
        with pytest.raises(ValueError, match=words):
            Launch.of(speed, angle, spin)
    with pytest.raises(ValueError, match="40 s"):
        fly(Launch.of(300.0, 1.5, 0.0), air=NO_AIR)


def test_twenty_launches_in_36_winds_are_quick() -> None:
    launches = Launch.of(np.linspace(10, 75, 20)[:, None], 0.25, 400.0)
    start = time.perf_counter()
    flight = fly(launches, wind_speed=7.0, wind_from=np.radians(np.arange(0, 360, 10)))
    assert flight.carry.shape == (20, 36)
    assert time.perf_counter() - start < 1.5
