"""Putting against published data and an independent simulation."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import fsolve

from planner.golfer.putting import (
    TOUR_PUTTING,
    PuttingSkill,
    drawn_putts,
    expected_putts,
    fit_putting,
    holed_probability,
    putting_skill,
    putts_distribution,
    putts_within,
)
from planner.units import M_PER_FT

# Berry 1996: distance [ft], tries, made, tour professionals.
BERRY = np.array(
    [
        (2, 1443, 1346), (3, 694, 577), (4, 455, 337), (5, 353, 208), (6, 272, 149),
        (7, 256, 136), (8, 240, 111), (9, 217, 69), (10, 200, 67), (11, 237, 75),
        (12, 202, 52), (13, 192, 46), (14, 174, 54), (15, 167, 28), (16, 201, 27),
        (17, 195, 31), (18, 191, 33), (19, 147, 20), (20, 152, 24),
    ],
    dtype=float,
)  # fmt: skip
NINETY = putting_skill(15.0)


def test_berry_data_is_whole() -> None:
    assert tuple(BERRY[:, 1:].sum(axis=0)) == (5988, 3390)


def test_refit_gives_the_published_angle() -> None:
    fit = fit_putting(BERRY[:, 0] * M_PER_FT, BERRY[:, 1], BERRY[:, 2], with_distance_error=False)
    # Gelman & Nolan 2002: 1.5 degrees; the maximum of the likelihood is at 1.52667.
    assert math.degrees(fit.skill.angle_sd) == pytest.approx(1.52667, abs=1e-5)
    assert fit.skill.distance_sd == 0


def test_two_sigma_refit_is_a_maximum_and_not_worse() -> None:
    distance, tries, made = BERRY[:, 0] * M_PER_FT, BERRY[:, 1], BERRY[:, 2]
    angle_only = fit_putting(distance, tries, made, with_distance_error=False)
    both = fit_putting(distance, tries, made)
    assert both.log_likelihood > angle_only.log_likelihood
    for angle, length in ((1.02, 1), (0.98, 1), (1, 1.05), (1, 0.95)):
        near = PuttingSkill(both.skill.angle_sd * angle, both.skill.distance_sd * length)
        chance = holed_probability(distance, near)
        value = (made * np.log(chance) + (tries - made) * np.log1p(-chance)).sum()
        assert value < both.log_likelihood


def test_two_sigma_fit_recovers_known_errors() -> None:
    known = PuttingSkill(math.radians(1.02), 0.080)
    distance = np.arange(2, 60, 2) * M_PER_FT
    tries = np.full(len(distance), 1e6)
    fit = fit_putting(distance, tries, tries * holed_probability(distance, known))
    assert fit.skill.angle_sd == pytest.approx(known.angle_sd, rel=1e-4)
    assert fit.skill.distance_sd == pytest.approx(known.distance_sd, rel=1e-4)


def test_angle_model_closed_form() -> None:
    # Gelman & Nolan 2002, at 10 ft with 1.5 degrees; radii in inches, so 120 in away.
    angle = math.asin((4.25 - 1.68) / 2 / 120) / math.radians(1.5)
    chance = holed_probability(10 * M_PER_FT, PuttingSkill(math.radians(1.5), 0.0))
    assert chance == pytest.approx(math.erf(angle / math.sqrt(2)), abs=1e-12)


@pytest.mark.parametrize(
    ("feet", "putts"),
    [
        (3, 1.045), (5, 1.23), (8, 1.50), (10, 1.61), (15, 1.78),
        (20, 1.87), (30, 1.98), (40, 2.06), (60, 2.21),
    ],
)  # fmt: skip
def test_tour_putts(feet: float, putts: float) -> None:
    # Broadie 2011 and 2014.
    assert expected_putts(feet * M_PER_FT, TOUR_PUTTING) == pytest.approx(putts, abs=0.05)


@pytest.mark.parametrize(
    ("feet", "percent"), [(3, 96), (5, 77), (8, 50), (10, 40), (20, 15), (30, 7)]
)
def test_tour_share_holed(feet: float, percent: float) -> None:
    # Broadie 2014.
    chance = holed_probability(feet * M_PER_FT, TOUR_PUTTING)
    assert 100 * chance == pytest.approx(percent, abs=1.5)


def test_tour_three_putts_from_40_ft() -> None:
    # Broadie 2014: 10 %.
    assert putts_distribution(40 * M_PER_FT, TOUR_PUTTING)[2] == pytest.approx(0.10, abs=0.015)


def test_golfer_averaging_90() -> None:
    # Broadie 2014: half of the 5 ft putts, and two putts on average from 19 ft.
    def gap(log_sd: np.ndarray) -> list[float]:
        skill = PuttingSkill(*np.exp(log_sd))
        return [
            float(holed_probability(5 * M_PER_FT, skill)) - 0.5,
            float(expected_putts(19 * M_PER_FT, skill)) - 2.0,
        ]

    angle, length = np.exp(fsolve(gap, np.log([0.03, 0.09])))
    assert NINETY.angle_sd == pytest.approx(angle, rel=2e-3)
    assert NINETY.distance_sd == pytest.approx(length, rel=5e-3)


def test_golfer_averaging_90_three_putts_a_round() -> None:
    # Broadie 2014: 2.3 a round, from first putts of which most are between 10 and 50 ft
    # (assumed here: even over that range).
    third = putts_distribution(np.linspace(10, 50, 81) * M_PER_FT, NINETY)[:, 2]
    assert 18 * third.mean() == pytest.approx(2.3, abs=1.0)


def test_skill_grows_with_the_index() -> None:
    skills = [putting_skill(index) for index in (-8, -5, 0, 10, 20, 36, 54)]
    assert skills[0] == skills[1] == TOUR_PUTTING
    for better, worse in pairwise(skills[1:]):
        assert better.angle_sd < worse.angle_sd
        assert better.distance_sd < worse.distance_sd
    with pytest.raises(ValueError, match="finite"):
        putting_skill(math.nan)


def test_against_simulation() -> None:
    rng = np.random.default_rng(20)
    start, balls = 9.0, 200_000
    left = np.full(balls, start)
    putts = np.zeros(balls)
    while (out := np.flatnonzero(left > 0)).size:
        x = left[out]
        putts[out] += 1
        angle = rng.normal(0, NINETY.angle_sd, out.size)
        rolled = (x + 0.3048) * (1 + rng.normal(0, NINETY.distance_sd, out.size))
        offered = np.arcsin(np.minimum((4.25 - 1.68) / 2 * 0.0254 / x, 1))
        drops = (np.abs(angle) < offered) & (rolled > x) & (rolled < x + 3 * 0.3048)
        left[out] = np.where(drops, 0, np.hypot(rolled * np.cos(angle) - x, rolled * np.sin(angle)))
    error = putts.std() / math.sqrt(balls)
    assert expected_putts(start, NINETY) == pytest.approx(putts.mean(), abs=3.5 * error)
    shares = np.array([(putts == 1).mean(), (putts == 2).mean(), (putts > 2).mean()])
    bound = 3.5 * np.sqrt(shares * (1 - shares) / balls)
    assert (np.abs(putts_distribution(start, NINETY) - shares) < bound).all()


def test_drawn_putts_follow_the_chances() -> None:
    rng = np.random.default_rng(3)
    balls, skill = 200_000, putting_skill(36)
    for distance in (0.01, 1.5, 6.0, 25.0):
        putts = drawn_putts(np.full(balls, distance), skill, rng=rng)
        chances = putts_within(np.array([distance]), skill, 5)[:, 0]
        found = np.array([(putts <= most).mean() for most in range(1, 6)])
        error = np.sqrt(chances * (1 - chances) / balls)
        assert (np.abs(found - chances) <= 3.5 * error + 1e-9).all()
        mean_error = putts.std() / math.sqrt(balls)
        wanted = float(expected_putts(distance, skill))
        assert putts.mean() == pytest.approx(wanted, abs=3.5 * mean_error + 1e-9)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(-5, 54))
def test_monotone_and_consistent(index: float) -> None:
    skill = putting_skill(index)
    distance = np.linspace(0, 40, 161)
    putts = expected_putts(distance, skill)
    shares = putts_distribution(distance, skill)
    assert putts[0] == pytest.approx(1.0)
    assert (np.diff(putts) >= -1e-9).all()
    assert (np.diff(holed_probability(distance, skill)) <= 1e-6).all()
    np.testing.assert_allclose(shares.sum(axis=1), 1.0, atol=1e-12)
    # Expected putts are at least what one, two and three putts alone give.
    assert (putts >= shares @ (1, 2, 3) - 1e-6).all()


def test_shapes_and_bad_arguments() -> None:
    assert expected_putts(np.ones((2, 3)), TOUR_PUTTING).shape == (2, 3)
    assert putts_distribution(np.ones((2, 3)), TOUR_PUTTING).shape == (2, 3, 3)
    with pytest.raises(ValueError, match="not negative"):
        expected_putts(-1.0, TOUR_PUTTING)
    with pytest.raises(ValueError, match="angle_sd"):
        PuttingSkill(0.0, 0.1)
    with pytest.raises(ValueError, match="distance_sd"):
        PuttingSkill(0.02, -0.1)
    with pytest.raises(ValueError, match="one shape"):
        fit_putting([1.0, 2.0], [10], [5])
    with pytest.raises(ValueError, match="between 0 and tries"):
        fit_putting([1.0], [10], [11])
    with pytest.raises(ValueError, match="both holed and missed"):
        fit_putting([1.0], [10], [10])
