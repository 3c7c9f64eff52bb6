"""Carries of clubs nobody measured."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.course.lies import Lie
from planner.golfer.bag import LOFT_LIMITS_DEG, Delivery
from planner.golfer.club import Club, ClubKind, MeasuredPattern
from planner.golfer.gapping import (
    club_predictions,
    default_driver_carry,
    driver_carry_from,
    predicted_carries,
    standard_length,
    typical_carry,
)
from planner.golfer.launch import launch_for_carry
from planner.units import M_PER_IN, M_PER_YD, MPS_PER_MPH, RAD_PER_DEG


def club(label, kind, loft_deg, carry=None, length_in=None):
    return Club(
        label,
        ClubKind(kind),
        loft_deg * RAD_PER_DEG,
        None if length_in is None else length_in * M_PER_IN,
        pattern=None if carry is None else MeasuredPattern(carry),
    )


@pytest.mark.parametrize(("index", "yards"), [(0, 250), (20, 200)])
def test_default_drive_has_the_length_of_the_rating_system(index, yards):
    # USGA Rating System: scratch man 250 yd, bogey man 200 yd, run included.
    carry = default_driver_carry(index)
    run = launch_for_carry("driver", 10.5 * RAD_PER_DEG, carry).run_m[Lie.FAIRWAY]
    assert (carry + run) / M_PER_YD == pytest.approx(yards, abs=1.0)


def test_steps_between_irons_are_10_to_15_yards():
    # Common practice, loft steps of about 4 degrees; for a 230-yard carry.
    lofts = (25, 29, 33, 37, 41, 45)
    carries = [typical_carry(club("x", "iron", loft), 230 * M_PER_YD) for loft in lofts]
    steps = [(a - b) / M_PER_YD for a, b in itertools.pairwise(carries)]
    assert all(8.0 <= step <= 15.0 for step in steps)


@st.composite
def two_clubs(draw):
    """Two clubs of one kind with lofts the kind is built with, the stronger first."""
    kind = draw(st.sampled_from([k for k in ClubKind if k is not ClubKind.PUTTER]))
    least, most = LOFT_LIMITS_DEG[kind]
    loft = draw(st.floats(least, most - 0.1))
    return club("a", kind, loft), club("b", kind, draw(st.floats(loft + 0.1, most)))


@given(two_clubs(), st.floats(60, 280), st.floats(0.5, 20))
def test_carry_falls_with_loft_and_grows_with_speed(clubs, driver, more):
    low, high = clubs
    assert typical_carry(high, driver) <= typical_carry(low, driver)
    assert typical_carry(low, driver + more) > typical_carry(low, driver)


def test_longer_shaft_carries_farther():
    usual = standard_length(club("a", "iron", 33)) / M_PER_IN
    carries = [typical_carry(club("a", "iron", 33, length_in=usual + d), 200.0) for d in (-1, 0, 1)]
    assert carries == sorted(carries)
    assert carries[1] == pytest.approx(typical_carry(club("a", "iron", 33), 200.0))


@given(st.floats(80, 260))
def test_driver_carry_is_recovered_from_any_club(driver):
    for kind, loft in (("driver", 11), ("wood", 17), ("hybrid", 22), ("iron", 34), ("wedge", 54)):
        hit = club("x", kind, loft)
        found = driver_carry_from([(hit, typical_carry(hit, driver))])
        assert found == pytest.approx(driver, rel=1e-6)


@settings(max_examples=30, deadline=None)
@given(
    st.floats(130, 260),
    st.lists(
        # Lofts in tenths of a degree: two that differ by rounding alone are one loft.
        st.tuples(
            st.integers(200, 600).map(lambda tenths: tenths / 10),
            st.one_of(st.none(), st.floats(0.9, 1.1)),
        ),
        min_size=2,
        max_size=10,
        unique_by=lambda pair: pair[0],
    ),
)
def test_predictions_lie_between_measured_neighbours_and_fall_with_loft(driver, rows):
    clubs = [
        club(str(i), "iron", loft, share and share * typical_carry(club("", "iron", loft), driver))
        for i, (loft, share) in enumerate(rows)
    ]
    carries = predicted_carries(clubs, 15.0)
    alone = {
        label: found.delivery_carry_m for label, found in club_predictions(clubs, 15.0).items()
    }

    def falls(a, b):
        # Lofted long irons of slow swings may outcarry stronger ones, and are left alone.
        return not alone or alone[a.label] >= alone[b.label]

    for this in clubs:
        if this.pattern is not None:
            assert carries[this.label] == this.pattern.carry_m
            continue
        measured = [c for c in clubs if c.pattern]
        weaker = [c.pattern.carry_m for c in measured if c.loft > this.loft and falls(this, c)]
        stronger = [c.pattern.carry_m for c in measured if c.loft < this.loft and falls(c, this)]
        low, high = max(weaker, default=0), min(stronger, default=1e9)
        if low <= high:
            assert low - 1e-9 <= carries[this.label] <= high + 1e-9
    missing = sorted((c for c in clubs if c.pattern is None), key=lambda c: c.loft)
    for a, b in itertools.pairwise(missing):
        if falls(a, b):
            assert carries[b.label] <= carries[a.label] + 1e-9


def test_a_club_of_a_measured_loft_carries_as_far():
    clubs = [club("old", "iron", 34, 128.0), club("new", "iron", 34), club("9", "iron", 41, 104.0)]
    assert predicted_carries(clubs, 15.0)["new"] == pytest.approx(128.0)


def test_ratio_of_known_irons_passes_to_their_neighbours_not_to_woods():
    weak = [club("6", "iron", 30, 110), club("8", "iron", 38, 95), club("7", "iron", 34)]
    woods = [club("D", "driver", 10.5, 210), club("3", "wood", 15)]
    carries = predicted_carries([*weak, *woods], 10.0)
    assert 95 < carries["7"] < 110
    assert carries["3"] > 170


def test_delivery_anchors_the_carries_if_nothing_was_measured():
    clubs = [club("Driver", "driver", 10.5), club("7 iron", "iron", 33)]
    slow, fast = (
        predicted_carries(clubs, 18.0, delivery=Delivery("7 iron", mph * MPS_PER_MPH))
        for mph in (60, 90)
    )
    assert fast["7 iron"] > slow["7 iron"] + 30
    assert fast["Driver"] > slow["Driver"] + 30
