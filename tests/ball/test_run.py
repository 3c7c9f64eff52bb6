"""Bounce and roll against Penner 2002."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.ball.conditions import Conditions
from planner.ball.flight import BALL_RADIUS_M, GRAVITY
from planner.ball.run import (
    PENNER_TILT,
    Turf,
    TurfFeel,
    _bounce,
    rolling_resistance,
    run_distance,
    turf_feel,
)

NORMAL = Conditions()


@pytest.mark.parametrize(("feet", "resistance"), [(12, 0.065), (4, 0.196)])
def test_rolling_resistance_of_greens(feet: float, resistance: float) -> None:
    # Penner 2002.
    assert rolling_resistance(feet) == pytest.approx(resistance, abs=6e-4)


def test_tilt_at_the_measured_arrival() -> None:
    # Penner 2002: 15.4 degrees at 18.6 m/s and 44.4 degrees.
    tilt = PENNER_TILT * 18.6 * math.radians(44.4)
    assert math.degrees(tilt) == pytest.approx(15.4, abs=1e-9)


@pytest.mark.parametrize("speed", [1.0, 5.0, 12.0, 20.0, 25.0])
def test_straight_drop_rebounds_by_the_published_share(speed: float) -> None:
    rigid = TurfFeel(liveliness=1, give=1, friction=0.4, resistance=0.1)
    forward, up, spin = _bounce(np.array(0.0), np.array(speed), np.array(0.0), rigid)
    share = 0.510 - 0.0375 * speed + 0.000903 * speed**2 if speed <= 20 else 0.120
    assert up == pytest.approx(share * speed, rel=1e-12)
    assert forward == pytest.approx(0, abs=1e-12)
    assert spin == pytest.approx(0, abs=1e-12)


def test_gripping_bounce_leaves_rolling_and_keeps_moment_about_the_contact() -> None:
    flat = TurfFeel(liveliness=1, give=0, friction=5.0, resistance=0.1)
    forward, _, spin = _bounce(np.array(8.0), np.array(6.0), np.array(200.0), flat)
    assert forward == pytest.approx(-BALL_RADIUS_M * float(spin), abs=1e-12)
    # 7/5 v of a rolling ball is v less 2/5 of the back spin's surface speed before.
    assert 1.4 * forward == pytest.approx(8.0 - 0.4 * BALL_RADIUS_M * 200.0, abs=1e-12)


def test_slipping_bounce_loses_what_friction_takes() -> None:
    ice = TurfFeel(liveliness=1, give=0, friction=0.05, resistance=0.1)
    forward, up, spin = _bounce(np.array(20.0), np.array(6.0), np.array(300.0), ice)
    loss = 0.05 * (6.0 + float(up))
    assert forward == pytest.approx(20.0 - loss, abs=1e-12)
    assert spin == pytest.approx(300.0 - 2.5 * loss / BALL_RADIUS_M, abs=1e-9)


def test_pure_roll_from_the_ramp_gives_the_green_speed() -> None:
    feel = turf_feel(Turf.GREEN, Conditions(green_speed_ft=10))
    rolled = run_distance(1.83, 0.0, -1.83 / BALL_RADIUS_M, feel)
    assert rolled == pytest.approx(10 * 0.3048, rel=1e-9)
    resistance = rolling_resistance(10)
    assert rolled == pytest.approx(1.83**2 / (10 / 7 * resistance * GRAVITY), rel=1e-12)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.floats(5, 35), st.floats(0.3, 1.1), st.floats(0, 900))
def test_softer_and_longer_turf_stops_the_ball_sooner(
    speed: float, descent: float, spin: float
) -> None:
    def run(turf: Turf, **day: float) -> float:
        return float(run_distance(speed, descent, spin, turf_feel(turf, Conditions(**day))))

    fairway, rough, deep = run(Turf.FAIRWAY), run(Turf.ROUGH), run(Turf.DEEP_ROUGH)
    assert abs(deep) <= abs(rough) + 0.5
    assert np.isfinite([fairway, rough, deep]).all()
    assert fairway < 60
    assert run(Turf.ROUGH, rough_length_m=0.12) <= max(rough, 0.5)


def test_order_for_a_drive() -> None:
    # 28 m/s at 38 degrees with 2200 rpm, as a drive lands.
    def run(turf: Turf, **day: float) -> float:
        feel = turf_feel(turf, Conditions(**day))
        return float(run_distance(28.0, math.radians(38), 230.0, feel))

    assert run(Turf.DEEP_ROUGH) < run(Turf.ROUGH) < run(Turf.FAIRWAY)
    assert run(Turf.FAIRWAY, firmness=0.6) < run(Turf.FAIRWAY) < run(Turf.FAIRWAY, firmness=1.6)
    assert run(Turf.GREEN, green_speed_ft=7) < run(Turf.GREEN, green_speed_ft=12)


def test_spin_and_steepness_shorten_the_run() -> None:
    feel = turf_feel(Turf.FAIRWAY, NORMAL)
    by_spin = run_distance(25.0, math.radians(45), np.array([100.0, 500, 900]), feel)
    assert (np.diff(by_spin) < 0).all()
    by_angle = run_distance(25.0, np.radians([30, 40, 50]), 400.0, feel)
    assert (np.diff(by_angle) < 0).all()
    assert run_distance(22.0, math.radians(55), 1000.0, feel) < 0.5
