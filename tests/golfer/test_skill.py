"""Skill model against published values, and its symmetries."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.course.lies import Lie
from planner.golfer.club import Club, ClubKind, MeasuredMishit, MeasuredPattern
from planner.golfer.lie_effects import ASSUMED_PARTIAL_SWING
from planner.golfer.short_game import (
    ASSUMED_COURSE_CHIP,
    partial_pattern,
    short_game_skill,
)
from planner.golfer.skill import (
    TOUR_INDEX,
    completed_pattern,
    direction_sd,
    full_swing_skill,
    typical_pattern,
)
from planner.units import M_PER_YD, RAD_PER_DEG

HIT = [kind for kind in ClubKind if kind is not ClubKind.PUTTER]
LOFT = {
    ClubKind.DRIVER: 10.5,
    ClubKind.WOOD: 16.0,
    ClubKind.HYBRID: 21.0,
    ClubKind.IRON: 33.0,
    ClubKind.WEDGE: 52.0,
}
kinds = st.sampled_from(HIT)
indexes = st.floats(-8, 54)


def pattern(kind, index, carry=150.0, **hand):
    return typical_pattern(full_swing_skill(kind, LOFT[kind] * RAD_PER_DEG, index, **hand), carry)


@pytest.mark.parametrize(("index", "degrees"), [(TOUR_INDEX, 3.4), (5, 5), (15, 6.5), (25, 7.5)])
def test_direction_of_drives_has_the_published_deviation(index, degrees):
    # Broadie, values from memory: tour, and golfers scoring 80, 90, 100.
    drive = pattern(ClubKind.DRIVER, index, 200.0)
    kept = [0, 2]
    shares = drive.weights[kept] / drive.weights[kept].sum()
    angle = drive.means[kept, 1] / drive.means[kept, 0]
    variance = drive.covariances[kept, 1, 1] / drive.means[kept, 0] ** 2
    total = shares @ (variance + angle**2) - (shares @ angle) ** 2
    assert math.degrees(math.sqrt(total)) == pytest.approx(degrees, rel=0.01)


def test_high_handicaps_top_a_wood_about_forty_yards():
    # Common practice: about 40 yards, run included; a topped ball runs some 15 m.
    wood = pattern(ClubKind.WOOD, 30, 120.0)
    assert wood.means[1, 0] + 15.0 == pytest.approx(40 * M_PER_YD, abs=6.0)


@given(kinds, indexes)
def test_patterns_are_proper(kind, index):
    found = pattern(kind, index)
    assert found.names == ("stock", "short", "wide")
    assert found.weights[0] > 0.4
    assert np.linalg.eigvalsh(found.covariances).min() > 0


@given(kinds, indexes, st.floats(30, 300))
def test_left_hander_is_the_mirror_image(kind, index, carry):
    right = pattern(kind, index, carry)
    left = pattern(kind, index, carry, left_handed=True).mirrored()
    np.testing.assert_allclose(left.means, right.means, atol=1e-12)
    np.testing.assert_allclose(left.covariances, right.covariances, atol=1e-9)


@given(kinds, st.floats(-5, 39), st.floats(0.5, 10))
def test_worse_golfers_scatter_more(kind, index, more):
    other = min(index + more, 40.0)
    better, worse = pattern(kind, index), pattern(kind, other)
    assert direction_sd(other) > direction_sd(index)
    assert worse.mishit_share > better.mishit_share
    assert worse.covariance[0, 0] > better.covariance[0, 0]
    assert worse.covariances[0, 0, 0] > better.covariances[0, 0, 0]
    assert worse.mean[0] < better.mean[0]


@given(kinds, indexes, st.floats(30, 280), st.floats(1.01, 2))
def test_spread_is_proportional_to_carry(kind, index, carry, factor):
    one, other = pattern(kind, index, carry), pattern(kind, index, carry * factor)
    np.testing.assert_allclose(other.covariances, one.covariances * factor**2, rtol=1e-9)


def test_long_irons_are_missed_more_often_than_short_ones():
    shares = [
        full_swing_skill(ClubKind.IRON, loft * RAD_PER_DEG, 18).short_share
        for loft in (20, 26, 33, 40)
    ]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > shares[-1]


@pytest.mark.parametrize(
    ("kind", "lofts"),
    [(ClubKind.WOOD, (13, 15, 18, 24)), (ClubKind.HYBRID, (17, 20, 24, 30))],
)
def test_less_loft_is_harder_to_hit(kind, lofts):
    skills = [full_swing_skill(kind, loft * RAD_PER_DEG, 18) for loft in lofts]
    for number in ("short_share", "carry_sd", "direction_sd"):
        values = [getattr(skill, number) for skill in skills]
        assert values == sorted(values, reverse=True)
        assert values[0] > values[-1]


@given(indexes)
def test_a_long_iron_is_duffed_as_short_as_a_hybrid_of_its_loft(index):
    def carry(kind, loft):
        return full_swing_skill(kind, loft * RAD_PER_DEG, index).short_carry

    assert carry(ClubKind.IRON, 20) == pytest.approx(carry(ClubKind.HYBRID, 20))
    assert carry(ClubKind.IRON, 26.5) == pytest.approx(
        (carry(ClubKind.IRON, 20) + carry(ClubKind.IRON, 33)) / 2
    )
    assert carry(ClubKind.IRON, 33) == carry(ClubKind.IRON, 40) == carry(ClubKind.WEDGE, 50)


def test_measured_values_are_kept_and_never_mirrored():
    club = Club(
        "7 iron",
        ClubKind.IRON,
        33 * RAD_PER_DEG,
        pattern=MeasuredPattern(
            140.0,
            4.0,
            7.0,
            9.0,
            -0.3,
            mishits=(MeasuredMishit("duff", 0.1, 50.0, 1.0, 20.0, 8.0),),
        ),
    )
    for left_handed in (False, True):
        found = completed_pattern(club, 999.0, 20.0, left_handed=left_handed)
        np.testing.assert_allclose(found.weights, [0.9, 0.1])
        np.testing.assert_allclose(found.means, [(140, 4), (50, 1)])
        np.testing.assert_allclose(found.covariances[0], [(49, -18.9), (-18.9, 81)])
        np.testing.assert_allclose(found.covariances[1], [(400, 0), (0, 64)])
        assert found.names == ("stock", "duff")


def test_carry_alone_is_completed_from_the_handicap():
    club = Club("5 wood", ClubKind.WOOD, 18 * RAD_PER_DEG, pattern=MeasuredPattern(170.0, 6.0))
    found = completed_pattern(club, 999.0, 12.0)
    usual = typical_pattern(full_swing_skill(ClubKind.WOOD, club.loft, 12.0), 170.0)
    np.testing.assert_allclose(found.means[0], (170.0, 6.0))
    np.testing.assert_allclose(found.means[1:], usual.means[1:])
    np.testing.assert_allclose(found.covariances, usual.covariances)


@pytest.mark.parametrize(
    ("lie", "share"), [(Lie.FAIRWAY, 0.078), (Lie.ROUGH, 0.128), (Lie.SAND, 0.158)]
)
def test_professional_chips_stop_where_published(lie, share):
    # Cochran & Stobbs 1968: 7.8, 12.8, 15.8 % of the start distance; a course widens those from
    # grass.
    full = pattern(ClubKind.WEDGE, TOUR_INDEX, 85.0)
    carry, run = 14.0, 6.0
    good = partial_pattern(short_game_skill(TOUR_INDEX), carry, run, full)
    effect = ASSUMED_PARTIAL_SWING[lie]
    shot = good.scaled(1.0, effect.spread, effect.mishits)
    points, _ = shot.sample(np.random.default_rng(3), 200_000)
    rest = np.hypot(*(points - shot.means[0]).T).mean() / (carry + run)
    widened = 1.0 if lie is Lie.SAND else ASSUMED_COURSE_CHIP
    assert rest / widened == pytest.approx(share, abs=0.012)


@given(indexes, st.floats(2, 60), st.floats(0, 20))
def test_partial_swings_are_proper_and_grow(index, carry, run):
    full = pattern(ClubKind.WEDGE, index, 80.0)
    skill = short_game_skill(index)
    one = partial_pattern(skill, carry, run, full)
    longer = partial_pattern(skill, carry, run + 5.0, full)
    assert (np.diag(longer.covariances[0]) > np.diag(one.covariances[0])).all()
    assert math.sqrt(one.covariances[0, 0, 0]) >= skill.floor_m
    wilder = partial_pattern(short_game_skill(index, spread_factor=1.5), carry, run, full)
    assert wilder.covariances[0, 0, 0] >= one.covariances[0, 0, 0]
