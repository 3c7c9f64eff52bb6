"""Clubs predicted from those that were hit: accuracy, honest intervals, and what golfers know."""

import dataclasses
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from planner.golfer.bag import Delivery, read_bag
from planner.golfer.club import Club, ClubKind, MeasuredPattern
from planner.golfer.club_names import matching_club
from planner.golfer.club_prediction import fit_bag, leave_one_out, predict_carries
from planner.golfer.gapping import club_predictions, predicted_carries
from planner.golfer.launch import launches_at_speed
from planner.golfer.shot_log_reading import read_shot_log
from planner.golfer.typical_carry import driver_carry_from, typical_carry
from planner.units import KG_M2_PER_G_CM2, M_PER_IN, MPS_PER_MPH, RAD_PER_DEG

from .simulated_golfers import simulated_golfer

DEMO = Path(__file__).parents[2] / "courses_demo"
GOLFERS = ("bram_oskel", "odile_marrow", "tobias_fennimark", "wren_halvard")
NINETY = 1.6449
"""Half width of a 90 % interval in standard deviations."""
FEWEST_SHOTS = 8
SIMULATED = 10


def club(label, kind, loft_deg, carry=None, *, length_in=None, inertia=None):
    return Club(
        label,
        ClubKind(kind),
        loft_deg * RAD_PER_DEG,
        None if length_in is None else length_in * M_PER_IN,
        pattern=None if carry is None else MeasuredPattern(carry, shots=30),
        head_inertia_kg_m2=None if inertia is None else inertia * KG_M2_PER_G_CM2,
    )


def measured(bag):
    return [c for c in bag.clubs if c.pattern is not None and c.kind is not ClubKind.PUTTER]


def bag_clubs(name):
    bag = read_bag(DEMO / "bags" / f"{name}.toml")
    return bag.golfer.handicap_index, measured(bag)


def log_clubs(name):
    """Clubs with the mean and deviation of the solid shots of a log; no part of the fit."""
    bag = read_bag(DEMO / "bags" / f"{name}.toml")
    log = read_shot_log(DEMO / "shots" / f"{name}.csv").log
    meant = {said: matching_club(said, bag.clubs) for said in dict.fromkeys(log.club)}
    clubs = []
    for one in bag.clubs:
        rows = [meant[said] is not None and meant[said].label == one.label for said in log.club]
        carries = log.carry_m[np.array(rows)]
        if one.kind is ClubKind.PUTTER or len(carries) < FEWEST_SHOTS:
            continue
        solid = carries[np.abs(carries / np.quantile(carries, 0.6) - 1.0) < 0.2]
        pattern = MeasuredPattern(
            float(solid.mean()), carry_sd_m=float(solid.std(ddof=1)), shots=len(solid)
        )
        clubs.append(dataclasses.replace(one, pattern=pattern))
    return bag.golfer.handicap_index, clubs


@cache
def misses(source, name):
    """Log of seen over predicted carries, each club left out once, and their deviations."""
    index, clubs = source(name)
    found = leave_one_out(clubs, index)
    off = [math.log(c.pattern.carry_m / p.carry_m) for c, p in zip(clubs, found, strict=True)]
    # What was seen of the club left out has an error of its own.
    own = [
        (c.pattern.carry_sd_m or 0.08 * c.pattern.carry_m)
        / c.pattern.carry_m
        / math.sqrt(c.pattern.shots or 10)
        for c in clubs
    ]
    return np.array(off), np.hypot([p.log_sd for p in found], own)


@cache
def simulated_misses():
    rng = np.random.default_rng(5)
    off, sds = [], []
    for _ in range(SIMULATED):
        golfer = simulated_golfer(rng)
        for one, found in zip(
            golfer.clubs, leave_one_out(golfer.clubs, golfer.handicap_index), strict=True
        ):
            off.append(math.log(golfer.true_carry_m[one.label] / found.carry_m))
            sds.append(found.log_sd)
    return np.array(off), np.array(sds)


@pytest.mark.parametrize("source", [bag_clubs, log_clubs])
def test_every_demo_golfers_clubs_are_predicted_from_his_others(source):
    for name in GOLFERS:
        off, _ = misses(source, name)
        assert len(off) >= 7
        assert np.median(np.abs(off)) <= 0.06


def test_simulated_golfers_clubs_are_predicted():
    off, _ = simulated_misses()
    assert len(off) == SIMULATED * 14
    assert np.median(np.abs(off)) <= 0.06


def test_ninety_per_cent_intervals_cover():
    parts = [misses(source, name) for source in (bag_clubs, log_clubs) for name in GOLFERS]
    parts.append(simulated_misses())
    off, sd = (np.concatenate(column) for column in zip(*parts, strict=True))
    assert len(off) > 200
    assert 0.85 <= (np.abs(off) <= NINETY * sd).mean() <= 0.97


def test_interval_is_that_of_the_deviation():
    index, clubs = bag_clubs("odile_marrow")
    for found in leave_one_out(clubs, index)[:3]:
        assert math.log(found.high_m / found.carry_m) == pytest.approx(NINETY * found.log_sd, 1e-3)
        assert math.log(found.carry_m / found.low_m) == pytest.approx(NINETY * found.log_sd, 1e-3)


def loft_ratio_carries(clubs, index):
    """Carries by the ratio to the typical ones, linear in loft within woods and within irons."""
    known = [(c, c.pattern.carry_m) for c in clubs if c.pattern is not None]
    driver = driver_carry_from(known)
    carries = {}
    for one in clubs:
        near = sorted(
            (c.loft, math.log(carry / typical_carry(c, driver)))
            for c, carry in known
            if c.kind.is_long == one.kind.is_long
        )
        ratio = float(np.interp(one.loft, *zip(*near, strict=True))) if near else 0.0
        carries[one.label] = typical_carry(one, driver) * math.exp(ratio)
    return carries


@pytest.mark.parametrize("count", [1, 3])
def test_few_known_clubs_say_more_through_the_delivery_than_by_loft_ratios(count):
    rng = np.random.default_rng(3)
    ours, ratios = [], []
    for name in GOLFERS:
        index, clubs = bag_clubs(name)
        for _ in range(3):
            known = set(rng.choice(len(clubs), count, replace=False))
            bag = [
                c if i in known else dataclasses.replace(c, pattern=None)
                for i, c in enumerate(clubs)
            ]
            predicted = predicted_carries(bag, index)
            interpolated = loft_ratio_carries(bag, index)
            for i, c in enumerate(clubs):
                if i not in known:
                    ours.append(math.log(c.pattern.carry_m / predicted[c.label]))
                    ratios.append(math.log(c.pattern.carry_m / interpolated[c.label]))
    assert np.median(np.abs(ours)) < np.median(np.abs(ratios))
    assert np.std(ours) < 0.7 * np.std(ratios)


def test_intervals_widen_away_from_what_was_hit():
    irons = [club(f"{loft}", "iron", loft, 170 - 1.9 * (loft - 25)) for loft in (30, 33, 37)]
    new = [club(f"new {loft}", "iron", loft) for loft in (33.5, 41, 48)]
    new += [club("new wood", "wood", 18), club("new driver", "driver", 10.5)]
    sds = [found.log_sd for found in predict_carries(fit_bag(irons, 15.0), new)]
    assert sds == sorted(sds)
    assert sds[-1] > 1.5 * sds[0]
    more = [*irons, club("wood", "wood", 15, 195.0)]
    narrower = [found.log_sd for found in predict_carries(fit_bag(more, 15.0), new)]
    assert narrower[3] < 0.8 * sds[3]
    few = [
        dataclasses.replace(c, pattern=MeasuredPattern(c.pattern.carry_m, shots=2)) for c in more
    ]
    assert predict_carries(fit_bag(few, 15.0), new)[0].log_sd > narrower[0]


WOODS = (club("3 wood", "wood", 15.0), club("5 wood", "wood", 19.0))


def struck(clubs, mph, attack_deg, loft_off_deg):
    """The clubs as measured by a golfer whose head speed grows by 0.031 an inch from 37."""
    longer = [{"iron": 0.0, "hybrid": 3.2}[c.kind.value] for c in clubs]
    found = launches_at_speed(
        [c.kind.value for c in clubs],
        [c.loft for c in clubs],
        [mph * MPS_PER_MPH * math.exp(0.031 * inches) for inches in longer],
        attack=attack_deg * RAD_PER_DEG,
        loft_taken_off=loft_off_deg * RAD_PER_DEG,
    )
    return [
        dataclasses.replace(c, pattern=MeasuredPattern(f.carry_m, shots=40))
        for c, f in zip(clubs, found, strict=True)
    ]


def wood_carries(index, mph, attack_deg, loft_off_deg):
    known = struck(
        (club("7 iron", "iron", 33.0), club("4 hybrid", "hybrid", 22.0)),
        mph,
        attack_deg,
        loft_off_deg,
    )
    delivery = Delivery(
        "3 wood",
        mph * MPS_PER_MPH * math.exp(0.031 * 6.0),
        attack_deg * RAD_PER_DEG,
        loft_off_deg * RAD_PER_DEG,
    )
    carries = predicted_carries([*known, *WOODS], index, delivery=delivery)
    return carries["3 wood"], carries["5 wood"]


def test_a_steep_swing_carries_the_19_degree_wood_farther_and_a_shallow_fast_one_the_15():
    # Common practice: a steep swing takes 6-7 degrees off, and then a 5-wood outcarries a 3-wood.
    for loft_off in (6.0, 6.5, 7.0):
        three, five = wood_carries(20.0, 66.0, -5.0, loft_off)
        assert five > three + 2.0
    three, five = wood_carries(3.0, 88.0, -1.0, 0.0)
    assert three > five + 5.0


def test_two_degrees_more_loft_and_a_longer_shaft_do_what_physics_says():
    index, clubs = bag_clubs("wren_halvard")
    fit = fit_bag(clubs, index)
    usual, weak, long, hard = predict_carries(
        fit,
        [
            club("usual", "iron", 33, length_in=37),
            club("weak", "iron", 35, length_in=37),
            club("long", "iron", 33, length_in=37.5),
            club("hard to turn", "iron", 33, length_in=37, inertia=4000),
        ],
    )
    # Loft steps of about 4 degrees make 10-15 yards (common practice), 2 degrees half of that.
    assert 4.0 < usual.carry_m - weak.carry_m < 8.0
    # Half an inch is some 1.5 % of head speed, and a little more of the carry.
    assert 1.008 < long.carry_m / usual.carry_m < 1.03
    assert 1.0 < hard.carry_m / usual.carry_m < 1.02
    assert long.club_speed > usual.club_speed


def test_a_harder_to_turn_head_helps_the_wild_striker_more():
    def gain(index):
        clubs = [club("7 iron", "iron", 33, 130.0), club("Driver", "driver", 10.5, 190.0)]
        easy, hard = predict_carries(
            fit_bag(clubs, index),
            [club("a", "driver", 10.5, inertia=3500), club("b", "driver", 10.5, inertia=5900)],
        )
        return hard.carry_m / easy.carry_m - 1.0

    assert 0.0 < gain(0.0) < gain(15.0) < gain(30.0) < 0.03


def test_a_club_has_nothing_of_a_shaft_but_its_length():
    names = {field.name for field in dataclasses.fields(Club)}
    assert "length_m" in names
    assert not [name for name in names if "flex" in name or "shaft" in name or "weight" in name]


def test_measured_carries_are_kept_and_predictions_cover_all_clubs():
    index, clubs = bag_clubs("tobias_fennimark")
    bag = read_bag(DEMO / "bags" / "tobias_fennimark.toml")
    carries = predicted_carries(bag.clubs, index, delivery=bag.golfer.delivery)
    assert set(carries) == {c.label for c in bag.clubs if c.kind is not ClubKind.PUTTER}
    assert all(carries[c.label] == c.pattern.carry_m for c in clubs)
    predictions = club_predictions(bag.clubs, index, delivery=bag.golfer.delivery)
    assert set(predictions) == set(carries)
    assert all(p.low_m < p.carry_m < p.high_m for p in predictions.values())


def test_nothing_known_gives_nothing_and_a_delivery_alone_something():
    bag = [club("Driver", "driver", 10.5), club("7 iron", "iron", 33)]
    assert fit_bag(bag, 12.0) is None
    assert club_predictions(bag, 12.0) == {}
    other = Delivery("3 wood", 40.0)
    assert club_predictions(bag, 12.0, delivery=other) == {}
    known = club_predictions(bag, 12.0, delivery=Delivery("7 IRON", 36.0))
    assert known["7 iron"].log_sd < known["Driver"].log_sd
    assert predict_carries(fit_bag(bag, 12.0, delivery=Delivery("Driver", 45.0)), []) == ()
