"""Wind, air and turf change patterns through the flight of every swing."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from planner.ball.conditions import Conditions
from planner.ball.flight import Launch, fly
from planner.course.lies import Lie
from planner.golfer.bag import read_bag
from planner.golfer.launch import launches_at_speed, strikes
from planner.golfer.shot_outcome import SwingStyle
from planner.golfer.swing_set import build_shot_model
from planner.golfer.weather_spread import WIND_DIRECTIONS, air_stretch, wind_effect
from planner.units import M_PER_FT, MPS_PER_MPH

BAG = Path(__file__).parents[2] / "courses_demo" / "bags" / "wren_halvard.toml"
AHEAD, RIGHT, BEHIND, LEFT = 0.0, math.pi / 2, math.pi, -math.pi / 2
KINDS = ["driver", "wood", "hybrid", "iron", "iron", "wedge"]
LOFTS = np.radians([10.5, 16, 22, 27, 34, 52])
SPEEDS = np.array([98.0, 92, 86, 83, 80, 77]) * MPS_PER_MPH
WIND = Conditions(wind_from=0.0, wind_speed=5.0)


@cache
def swings(**day):
    model = build_shot_model(read_bag(BAG), conditions=Conditions(**day))
    return {s.club: s for s in model.swings if s.style is SwingStyle.FULL}


def stock(swing, wind_from):
    """Mean carry and covariance of the stock shot from a tee in a wind against the line."""
    pattern = swing.patterns[Lie.TEE]
    mean, matrix = swing.blown(pattern.means[0], wind_from)
    return mean[0], matrix[0] @ pattern.covariances[0] @ matrix[0].T


@pytest.fixture(scope="module")
def windy():
    return swings(wind_from=0.0, wind_speed=6.0)


@pytest.fixture(scope="module")
def still():
    return swings()


def test_a_cross_wind_moves_sideways_mirrored_and_shortens_little(windy, still):
    for label, swing in windy.items():
        usual = still[label].patterns[Lie.TEE].means[0]
        (right_along, right_across), (left_along, left_across) = (
            stock(swing, side)[0] for side in (RIGHT, LEFT)
        )
        # What is offline already stays nearly where it is against the drift.
        drift = 0.5 * (right_across - left_across)
        assert 0.5 * (right_across + left_across) == pytest.approx(usual[1], abs=0.1)
        assert right_along == pytest.approx(left_along, abs=0.1 + 0.1 * abs(usual[1]))
        assert drift < -0.03 * usual[0]
        assert 0.97 * usual[0] < 0.5 * (right_along + left_along) < usual[0] * 1.005


def test_covariances_in_cross_winds_mirror_each_other(windy):
    swing = windy["7 iron"]
    _, right = swing.blown((swing.carry_m, 0.0), RIGHT)
    _, left = swing.blown((swing.carry_m, 0.0), LEFT)
    np.testing.assert_allclose(left[0], right[0] * np.array([[1, -1], [-1, 1]]), atol=1e-9)


def test_a_head_wind_costs_more_than_a_tail_wind_gives(windy, still):
    for label, swing in windy.items():
        usual = still[label].carry_m
        loss = usual - stock(swing, AHEAD)[0][0]
        gain = stock(swing, BEHIND)[0][0] - usual
        assert 0.0 < gain < loss


def test_a_head_wind_gathers_lengths_and_spreads_curves_and_a_tail_wind_the_reverse(windy, still):
    for label, swing in windy.items():
        usual = still[label].patterns[Lie.TEE].covariances[0]
        against, behind = stock(swing, AHEAD)[1], stock(swing, BEHIND)[1]
        assert against[0, 0] < 0.9 * usual[0, 0]
        assert behind[0, 0] > 1.1 * usual[0, 0]
        assert against[1, 1] > behind[1, 1]


def test_a_head_wind_stops_the_ball_sooner(windy, still):
    for label in ("Driver", "3 wood", "4 iron"):
        against, behind = windy[label].runs((Lie.FAIRWAY,), [AHEAD, BEHIND])[:, 0]
        assert against < 0.85 * still[label].run_m[Lie.FAIRWAY] < behind
        assert windy[label].longest_run_on(Lie.FAIRWAY) >= behind
    assert still["Driver"].runs((Lie.FAIRWAY, Lie.SAND), RIGHT) == pytest.approx(
        np.array([[still["Driver"].run_m[Lie.FAIRWAY], 0.0]])
    )


def test_short_shots_are_blown_less(windy):
    swing = windy["7 iron"]

    def drift(share):
        carry = np.array([share * swing.carry_m, 0.0])
        return np.hypot(*(swing.blown(carry, RIGHT)[0][0] - carry))

    whole, half = drift(1.0), drift(0.5)
    assert half == pytest.approx(whole / 4)


def test_the_pattern_in_the_wind_is_what_perturbed_strikes_do():
    # Faster, turned and curving strikes flown through the wind land where the pattern says.
    struck = strikes(KINDS, LOFTS, SPEEDS)
    effect = wind_effect(struck, WIND)
    base = fly(struck)
    for i, wind_from in enumerate(WIND_DIRECTIONS):
        if i % 3:
            continue

        def landing(launch, turn=0.0, wind_from=wind_from):
            flight = fly(launch, wind_speed=WIND.wind_speed, wind_from=wind_from - turn)
            cos, sin = math.cos(turn), math.sin(turn)
            along, across = flight.carry, flight.offline
            return np.column_stack((along * cos - across * sin, along * sin + across * cos))

        middle = landing(struck)
        np.testing.assert_allclose(
            middle - base.carry[:, None] * (1, 0), effect.shift_m[:, i], atol=0.01
        )
        fast = Launch.of(struck.speed * 1.04, struck.angle, struck.spin * 1.04)
        longer = fly(fast).carry - base.carry
        np.testing.assert_allclose(
            (landing(fast) - middle) / longer[:, None], effect.stretch[:, i, :, 0], atol=0.05
        )
        # Offline is start and curve together, in the shares of their variances.
        turned = (landing(struck, 0.02) - middle) / (base.carry * math.tan(0.02))[:, None]
        tilted = Launch.of(struck.speed, struck.angle, struck.spin, 0.04)
        curved = (landing(tilted) - middle) / fly(tilted).offline[:, None]
        variance = 0.85**2 * turned[:, 1] ** 2 + (1 - 0.85**2) * curved[:, 1] ** 2
        np.testing.assert_allclose(effect.stretch[:, i, 1, 1], np.sqrt(variance), atol=0.03)
        mixed = 0.85**2 * turned[:, 0] + (1 - 0.85**2) * curved[:, 0]
        np.testing.assert_allclose(effect.stretch[:, i, 0, 1], mixed, atol=0.03)


def test_the_stretch_is_far_more_than_two_per_cent():
    # What made it worth having: deviations of length into 5 m/s shrink by a fifth to a quarter.
    stretch = wind_effect(strikes(KINDS, LOFTS, SPEEDS), WIND).stretch
    assert (stretch[:, 0, 0, 0] < 0.85).all()
    assert (stretch[:, 18, 0, 0] > 1.15).all()


def test_no_wind_and_standard_air_change_nothing():
    struck = strikes(KINDS, LOFTS, SPEEDS)
    np.testing.assert_allclose(air_stretch(struck, Conditions()), 1.0, atol=1e-9)
    calm = wind_effect(struck, Conditions(wind_from=1.0, wind_speed=1e-9))
    np.testing.assert_allclose(calm.shift_m, 0.0, atol=1e-6)
    np.testing.assert_allclose(calm.stretch - np.eye(2), 0.0, atol=1e-6)
    np.testing.assert_allclose(calm.run_share, 1.0, atol=1e-6)


def test_altitude_lengthens_full_shots_as_golfers_say(still):
    # Common practice: 0.116 % for each 100 ft. The coefficients' drag falls with the Reynolds
    # number as well, hence up to twice that. Standard air is 6.5 degrees colder at 1000 m.
    per_100_ft = 1000.0 / (100.0 * M_PER_FT)
    high = swings(altitude_m=1000.0, temperature_c=8.5)
    for label in ("Driver", "3 wood", "5 iron", "7 iron"):
        gain = high[label].carry_m / still[label].carry_m - 1.0
        assert 0.00116 * 0.5 < gain / per_100_ft < 0.00116 * 2.2


def test_warm_air_lengthens_and_cold_air_shortens(still):
    warm, cold = swings(temperature_c=30.0), swings(temperature_c=2.0)
    for label in ("Driver", "5 iron", "Pitching wedge"):
        assert cold[label].carry_m < still[label].carry_m < warm[label].carry_m
        # Trade knowledge, from memory: some 2 to 4 yards of a drive for each 10 deg C.
        assert warm[label].carry_m / still[label].carry_m < 1.04
        assert warm[label].patterns[Lie.TEE].means[0, 0] == pytest.approx(warm[label].carry_m)


def test_thin_air_spreads_lengths_by_more_than_the_carry(still):
    high = swings(altitude_m=2000.0)
    for label in ("Driver", "7 iron"):
        carry = high[label].carry_m / still[label].carry_m
        along, across = np.sqrt(
            np.diag(high[label].patterns[Lie.TEE].covariances[0])
            / np.diag(still[label].patterns[Lie.TEE].covariances[0])
        )
        assert along > carry > 1.0
        # A turned start grows with the carry, a curve shrinks.
        assert 0.95 < across < carry


def test_firm_turf_runs_and_soft_turf_does_not(still):
    firm, soft = swings(firmness=1.6), swings(firmness=0.6)
    for label in ("Driver", "5 iron", "7 iron"):
        runs = [kind[label].run_m[Lie.FAIRWAY] for kind in (soft, still, firm)]
        assert runs == sorted(runs)
        assert runs[2] > 1.2 * runs[0]
        assert firm[label].carry_m == still[label].carry_m


def test_directions_between_the_tables_are_interpolated(windy):
    swing = windy["Driver"]
    at = np.radians([30.0, 35.0, 40.0])
    mean, matrix = swing.blown((swing.carry_m, 0.0), at)
    np.testing.assert_allclose(mean[1], mean[[0, 2]].mean(axis=0))
    np.testing.assert_allclose(matrix[1], matrix[[0, 2]].mean(axis=0))
    first = launches_at_speed(["iron"], [0.6], [36.0], conditions=WIND)[0]
    assert first.wind_stretch.shape == (36, 2, 2)
    assert first.wind_run_share.shape == (36,)
