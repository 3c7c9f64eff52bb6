"""Launches found from carries: exactness, and what golfers would recognise."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.ball.conditions import Conditions
from planner.course.lies import Lie
from planner.golfer.launch import (
    ASSUMED_MAKES,
    WIND_DIRECTIONS,
    launch_for_carry,
    launches_at_speed,
    launches_for_carry,
)
from planner.units import MPS_PER_MPH

BAG = (
    ("driver", 10.5, 215.0), ("wood", 15, 195), ("wood", 19, 182), ("hybrid", 22, 172),
    ("iron", 25, 162), ("iron", 28, 153), ("iron", 31, 144), ("iron", 34, 135),
    ("iron", 38, 125), ("iron", 42, 115), ("wedge", 46, 105), ("wedge", 52, 90),
    ("wedge", 56, 80),
)  # fmt: skip
KINDS = [kind for kind, _, _ in BAG]
LOFTS = np.radians([loft for _, loft, _ in BAG])
CARRIES = np.array([carry for _, _, carry in BAG])
WIND = Conditions(wind_from=0.3, wind_speed=6.0)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.sampled_from(sorted(ASSUMED_MAKES)), st.floats(9, 60), st.floats(3, 85))
def test_carry_comes_out(kind: str, loft_deg: float, carry: float) -> None:
    found = launch_for_carry(kind, math.radians(loft_deg), carry)
    assert found.carry_m == pytest.approx(carry, abs=0.02)
    assert found.carry_ratio == pytest.approx(1.0, abs=1e-12)
    assert found.wind_shift_m is None


def test_drive_looks_like_a_drive() -> None:
    # Common practice for a 160 mph ball and a 200-230 m carry.
    drive = launch_for_carry("driver", math.radians(10.5), 215.0)
    assert 145 < drive.ball_speed / MPS_PER_MPH < 170
    assert 9 < math.degrees(drive.launch_angle) < 14
    assert 35 < math.degrees(drive.descent) < 42
    assert 15 < drive.run_m[Lie.FAIRWAY] < 25


def test_irons_and_wedges_look_like_them() -> None:
    # Common practice: middle iron down at 45-50 degrees with 4-8 m of run, wedge at about 50
    # with 1-3 m.
    iron = launch_for_carry("iron", math.radians(34), 135.0)
    assert 44.5 < math.degrees(iron.descent) < 50
    assert 4 < iron.run_m[Lie.FAIRWAY] < 8
    wedge = launch_for_carry("wedge", math.radians(50), 95.0)
    assert 47 < math.degrees(wedge.descent) < 55
    assert 0.8 < wedge.run_m[Lie.FAIRWAY] < 3


def test_run_falls_through_the_bag_and_with_the_lie() -> None:
    flights = launches_for_carry(KINDS, LOFTS, CARRIES)
    runs = np.array([flight.run_m[Lie.FAIRWAY] for flight in flights])
    assert (np.diff(runs) < 1.0).all()
    for flight in flights:
        run = flight.run_m
        assert set(run) == {Lie.TEE, Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.GREEN}
        assert 0 <= run[Lie.DEEP_ROUGH] <= run[Lie.ROUGH] <= run[Lie.FAIRWAY] == run[Lie.TEE]
        assert flight.climb_m + flight.shadow_m < flight.carry_m


def test_chips_run_by_loft() -> None:
    # Common practice: with a middle iron about three parts of run to one of carry, with a
    # pitching wedge about two, with a sand wedge about one.
    kinds, lofts = ["iron", "wedge", "wedge"], np.radians([34, 46, 56])
    flights = launches_for_carry(kinds, lofts, [5.0, 5.0, 5.0])
    shares = [flight.run_m[Lie.GREEN] / 5.0 for flight in flights]
    assert shares == pytest.approx([3, 2, 1], abs=0.5)
    for flight in flights:
        assert flight.climb_m == math.inf
        assert flight.shadow_m == pytest.approx(5.0, abs=0.02)


def test_steep_swing_makes_the_shorter_wood_longer() -> None:
    # Common practice: with 6-7 degrees taken off, 19 degrees outcarry 15.
    speed = np.array([80.0, 79.0]) * MPS_PER_MPH
    three, five = launches_at_speed(
        ["wood", "wood"],
        np.radians([15, 19]),
        speed,
        attack=math.radians(-5),
        loft_taken_off=math.radians(6.5),
    )
    assert five.carry_m > three.carry_m + 5


def test_wind_shift() -> None:
    (flight,) = launches_for_carry(["driver"], [math.radians(10.5)], [210.0], conditions=WIND)
    shift = flight.wind_shift_m
    assert shift is not None
    assert shift.shape == (len(WIND_DIRECTIONS), 2)
    against, right, behind, left = shift[0], shift[9], shift[18], shift[27]
    assert against[0] < 0 < behind[0] < -against[0]
    assert right[1] < 0 < left[1]
    np.testing.assert_allclose(shift[1:, 0], shift[:0:-1, 0], atol=1e-6)
    np.testing.assert_allclose(shift[1:, 1], -shift[:0:-1, 1], atol=1e-6)
    assert abs(against[1]) < 1e-6


def test_air_and_turf_of_the_day() -> None:
    def drive(**day: float) -> tuple[float, float]:
        found = launch_for_carry("driver", math.radians(10.5), 210.0, Conditions(**day))
        return found.carry_ratio, found.run_m[Lie.FAIRWAY]

    assert drive(altitude_m=1200)[0] > 1.03
    assert drive(temperature_c=30)[0] > 1.005
    assert drive(temperature_c=2)[0] < 0.995
    assert drive(firmness=0.6)[1] < drive()[1] < drive(firmness=1.5)[1]


def test_carry_beyond_the_usual_delivery_takes_loft_off() -> None:
    usual = launch_for_carry("wedge", math.radians(56), 85.0)
    strong = launch_for_carry("wedge", math.radians(56), 115.0)
    assert strong.carry_m == pytest.approx(115.0, abs=0.02)
    assert strong.loft_taken_off > usual.loft_taken_off
    assert launch_for_carry("driver", math.radians(9), 280.0).carry_m == pytest.approx(280, abs=0.1)


def test_bad_arguments() -> None:
    with pytest.raises(ValueError, match="putter"):
        launch_for_carry("putter", 0.05, 5.0)
    with pytest.raises(ValueError, match="above 0"):
        launch_for_carry("iron", 0.5, -5.0)
    with pytest.raises(ValueError, match=r"wedge of 60\.0 deg: 300\.0 m"):
        launch_for_carry("wedge", math.radians(60), 300.0)
    with pytest.raises(ValueError, match="lofts must have shape"):
        launches_at_speed(["iron"], [0.5, 0.6], [30.0])


def test_bag_is_quick() -> None:
    start = time.perf_counter()
    launches_for_carry(KINDS, LOFTS, CARRIES, conditions=WIND)
    assert time.perf_counter() - start < 2.0
