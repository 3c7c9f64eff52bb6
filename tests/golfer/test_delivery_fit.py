"""A delivery fitted to clubs that were hit."""

import dataclasses
import itertools
import math

import numpy as np
import pytest

from planner.course.lies import Lie
from planner.golfer.bag import Delivery
from planner.golfer.club import Club, ClubKind, MeasuredPattern
from planner.golfer.delivery_fit import discrepancy, fit_delivery, log_carries
from planner.golfer.delivery_model import (
    PARAMETERS,
    STRIKE,
    delivered,
    facts_of,
    fly_delivered,
    handicap_prior,
)
from planner.golfer.launch import launches_at_speed
from planner.golfer.typical_carry import default_driver_carry, typical_carry
from planner.units import KG_M2_PER_G_CM2, M_PER_IN, MPS_PER_MPH, RAD_PER_DEG

INDEX = 14.0
CLUBS = (
    ("Driver", "driver", 10.5),
    ("3 wood", "wood", 15.0),
    ("4 hybrid", "hybrid", 22.0),
    ("5 iron", "iron", 26.0),
    ("7 iron", "iron", 33.0),
    ("9 iron", "iron", 41.0),
    ("Gap wedge", "wedge", 51.0),
    ("Lob wedge", "wedge", 60.0),
)
SPEED, GROWTH = PARAMETERS.index("log_speed"), PARAMETERS.index("log_speed_per_m")


def club(label, kind, loft_deg, carry=None, *, length_in=None, inertia=None, **measured):
    return Club(
        label,
        ClubKind(kind),
        loft_deg * RAD_PER_DEG,
        None if length_in is None else length_in * M_PER_IN,
        pattern=None if carry is None else MeasuredPattern(carry, **measured),
        head_inertia_kg_m2=None if inertia is None else inertia * KG_M2_PER_G_CM2,
    )


def golfer_with(parameters, *, shots=100_000):
    """Clubs as a golfer with these parameters hits them, all but exactly measured."""
    clubs = [club(*row) for row in CLUBS]
    carries = np.exp(log_carries(parameters, facts_of(clubs))[0])
    return [
        dataclasses.replace(one, pattern=MeasuredPattern(float(carry), shots=shots))
        for one, carry in zip(clubs, carries, strict=True)
    ]


def changed(**by_name):
    """The prior's parameters, some of them moved."""
    found = handicap_prior(INDEX).mean.copy()
    for name, change in by_name.items():
        found[PARAMETERS.index(name)] += change
    return found


def test_the_prior_hits_the_handicaps_driver_and_middle_iron():
    clubs = [club("Driver", "driver", 10.5), club("7 iron", "iron", 34.0)]
    driver = default_driver_carry(INDEX)
    carries = np.exp(log_carries(handicap_prior(INDEX).mean, facts_of(clubs))[0])
    assert carries == pytest.approx([typical_carry(one, driver) for one in clubs], rel=1e-3)


def test_flights_agree_with_those_of_known_launches():
    # The launch module flies with its own step; without off-centre strikes both must agree.
    facts = facts_of([club(*row) for row in CLUBS])
    speed = np.linspace(42.0, 30.0, len(CLUBS))
    carry, run = fly_delivered(facts, np.log(speed), facts.attack, facts.loft_off)
    known = launches_at_speed([kind.value for kind in facts.kinds], facts.loft, speed)
    assert np.exp(carry) == pytest.approx([launch.carry_m for launch in known], rel=2e-5)
    assert run == pytest.approx([launch.run_m[Lie.FAIRWAY] for launch in known], abs=0.05)


def test_off_centre_strikes_cost_what_a_rigid_body_says():
    # Rigid body: at a deviation of 2 cm 3.6 % of ball speed at 4000 g cm2 and 2.5 % at 5900.
    drivers = [club("a", "driver", 10.5, inertia=4000), club("b", "driver", 10.5, inertia=5900)]
    parameters = handicap_prior(INDEX).mean.copy()
    parameters[STRIKE] = math.log(0.02)
    far = delivered(parameters, facts_of(drivers)).log_speed
    parameters[STRIKE] = -50.0
    centred = delivered(parameters, facts_of(drivers)).log_speed
    assert 1 - np.exp(far - centred) == pytest.approx([0.036, 0.025], abs=6e-4)


def test_slopes_are_those_of_the_model():
    facts = facts_of([club(*row) for row in CLUBS])
    at = changed(log_speed=0.05, attack_short=-0.02, loft_off_long=0.02)
    slopes = log_carries(at, facts)[2]
    for i, name in enumerate(PARAMETERS):
        # The fit's are one-sided, half a degree wide; per degree 0.0014 of the carry is nothing.
        step = {"log_speed_per_m": 0.05, "loft_off_per_loft": 0.05}.get(name, 0.01)
        ahead, behind = at.copy(), at.copy()
        ahead[i] += step
        behind[i] -= step
        by_hand = (log_carries(ahead, facts)[0] - log_carries(behind, facts)[0]) / (2 * step)
        np.testing.assert_allclose(slopes[:, i], by_hand, rtol=0.06, atol=0.08)


@pytest.mark.parametrize("faster", [-0.2, 0.0, 0.2])
def test_head_speed_is_recovered(faster):
    fit = fit_delivery(golfer_with(changed(log_speed=faster)), INDEX)
    assert fit.converged
    truth = handicap_prior(INDEX).mean[SPEED] + faster
    sd = math.sqrt(fit.covariance[SPEED, SPEED])
    assert sd < 0.06
    assert fit.parameters[SPEED] == pytest.approx(truth, abs=1.5 * sd)
    # Speed and loft are told apart only in part; the carries they make together are met.
    predicted = np.exp(log_carries(fit.parameters, fit.clubs)[0])
    carries = [one.pattern.carry_m for one in golfer_with(changed(log_speed=faster))]
    assert predicted == pytest.approx(carries, rel=0.02)


def test_what_is_measured_narrows_the_parameters_and_more_of_it_more_so():
    clubs = golfer_with(changed(log_speed=0.1), shots=30)
    wide = handicap_prior(INDEX).covariance
    few = fit_delivery(clubs[::4], INDEX).covariance
    many = fit_delivery(clubs, INDEX).covariance
    for i in (SPEED, GROWTH):
        assert many[i, i] < few[i, i] < wide[i, i]
    assert (np.linalg.eigvalsh(many) > 0).all()


def test_a_known_delivery_counts_and_says_which_angle_it_is():
    clubs = golfer_with(changed(log_speed=0.0))
    seven = next(one for one in clubs if one.label == "7 iron")
    usual = facts_of([seven])
    mph = math.exp(handicap_prior(INDEX).mean[SPEED]) / MPS_PER_MPH
    steep = Delivery("7 iron", mph * MPS_PER_MPH, usual.attack[0] - 0.07, usual.loft_off[0] + 0.05)
    told = fit_delivery(clubs, INDEX, known=(seven, steep)).parameters
    silent = fit_delivery(clubs, INDEX, known=(seven, Delivery("7 iron", steep.speed_mps)))
    for name, sign in (("attack_short", -1), ("loft_off_short", 1)):
        i = PARAMETERS.index(name)
        assert sign * (told[i] - silent.parameters[i]) > 0.01


def test_wide_scatter_means_a_wide_strike():
    def strike(share):
        rows = [
            dataclasses.replace(
                one,
                pattern=dataclasses.replace(
                    one.pattern, carry_sd_m=share * one.pattern.carry_m, shots=50
                ),
            )
            for one in golfer_with(changed())
        ]
        return fit_delivery(rows, INDEX).parameters[STRIKE]

    assert strike(0.04) < strike(0.08) < strike(0.16)


def test_short_runs_mean_loft():
    def loft_off(run):
        rows = [
            club(*row, carry.pattern.carry_m, run_m=run)
            for row, carry in zip(CLUBS[3:6], golfer_with(changed())[3:6], strict=True)
        ]
        fit = fit_delivery(rows, INDEX)
        return fit.parameters[PARAMETERS.index("loft_off_short")], fit.run_share

    (low, short), (high, long) = loft_off(2.0), loft_off(14.0)
    assert low < high
    assert short < 1 < long


def test_order_of_the_clubs_does_not_matter():
    clubs = golfer_with(changed(log_speed=0.1, attack_short=-0.03), shots=20)
    one, two = fit_delivery(clubs, INDEX), fit_delivery(clubs[::-1], INDEX)
    np.testing.assert_allclose(one.parameters, two.parameters, atol=1e-6)
    np.testing.assert_allclose(one.covariance, two.covariance, atol=1e-8)


def test_discrepancies_are_a_covariance_shared_by_near_clubs():
    facts = facts_of([club(*row) for row in CLUBS])
    shared = discrepancy(facts, facts, same=True)
    np.testing.assert_allclose(shared, shared.T)
    assert (np.linalg.eigvalsh(shared) > 0).all()
    irons = [shared[3, j] for j in (4, 5)]
    assert shared[3, 3] > irons[0] > irons[1] > shared[3, 7] >= 0


def test_weights_of_the_size_of_discrepancies_follow_the_data():
    smooth = golfer_with(changed(log_speed=0.1))
    factor = itertools.cycle((1.08, 0.92))
    rough = [
        dataclasses.replace(one, pattern=MeasuredPattern(one.pattern.carry_m * f, shots=1000))
        for one, f in zip(smooth, factor, strict=False)
    ]
    small, large = (fit_delivery(rows, INDEX) for rows in (smooth, rough))
    assert small.weights.sum() == pytest.approx(1.0)
    assert small.weights @ small.scales < 0.7 < 1.3 < large.weights @ large.scales


def test_bad_arguments():
    with pytest.raises(ValueError, match="nothing to fit"):
        fit_delivery([], INDEX)
    with pytest.raises(ValueError, match="measured carry"):
        fit_delivery([club("7 iron", "iron", 33.0)], INDEX)
    putter = Club("Putter", ClubKind.PUTTER, 0.05, pattern=MeasuredPattern(5.0))
    with pytest.raises(ValueError, match="no putter"):
        fit_delivery([putter], INDEX)
