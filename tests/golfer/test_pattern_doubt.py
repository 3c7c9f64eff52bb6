"""Doubts of patterns: closed forms, and what more shots do to them."""

from __future__ import annotations

import math

import pytest

from planner.demo_data import demo_bag
from planner.golfer.bag import Bag, Golfer, read_bag
from planner.golfer.club import Club, ClubKind, MeasuredMishit, MeasuredPattern
from planner.golfer.pattern_doubt import DOUBTS, club_doubts, shifted
from planner.golfer.pattern_prior import PriorStrength
from planner.golfer.shot_outcome import SwingStyle
from planner.golfer.swing_set import build_shot_model
from planner.golfer.techniques import techniques
from planner.units import RAD_PER_DEG


def bag_with(pattern: MeasuredPattern) -> Bag:
    club = Club("7 iron", ClubKind.IRON, 33 * RAD_PER_DEG, pattern=pattern)
    return Bag("bag", Golfer(handicap_index=15.0), (club,))


def measured(shots: int) -> MeasuredPattern:
    mishit = MeasuredMishit("short", 0.2, 60.0, 0.0, 15.0, 9.0)
    return MeasuredPattern(120.0, 0.0, 9.0, 10.0, shots=shots, mishits=(mishit,))


def test_a_measured_club_has_the_posterior_of_normal_and_beta() -> None:
    prior = PriorStrength()
    (doubt,) = club_doubts(bag_with(measured(50))).values()
    # 40 good shots of deviation 9/120 against a prior of 0.10 of the carry.
    assert doubt.carry == pytest.approx(1 / math.sqrt(1 / 0.10**2 + 40 / (9 / 120) ** 2))
    # A deviation from 40 + 8 shots errs by 1/sqrt(2 * 48).
    assert doubt.carry_sd == pytest.approx(1 / math.sqrt(2 * (prior.stock_spread_shots + 40)))
    # A beta distribution with mean 0.2 that counts for 70 shots.
    variance = 0.2 * 0.8 / (prior.share_shots + 50 + 1)
    assert doubt.mishits == pytest.approx(math.sqrt(variance) / 0.2)


def test_more_shots_leave_less_doubt() -> None:
    found = [
        next(iter(club_doubts(bag_with(measured(shots))).values())) for shots in (1, 10, 100, 1000)
    ]
    for name in DOUBTS:
        values = [getattr(doubt, name) for doubt in found]
        assert values == sorted(values, reverse=True)
        assert len(set(values)) == len(values)


def test_a_club_never_hit_is_the_most_doubtful() -> None:
    bag = read_bag(demo_bag("odile"))
    doubts = club_doubts(bag)
    assert set(doubts) == {club.label for club in bag.clubs if club.kind is not ClubKind.PUTTER}
    assert doubts["Light driver"].carry > 2 * doubts["Driver"].carry
    assert doubts["Light driver"].carry_sd == pytest.approx(1 / math.sqrt(2 * 8))


def test_a_shift_changes_each_club_by_its_own_doubt() -> None:
    bag = read_bag(demo_bag("odile"))
    model = build_shot_model(bag)
    doubts = club_doubts(bag)
    longer = shifted(model, doubts, "carry", 1.0)
    for new, old in zip(longer.swings, model.swings, strict=True):
        if old.style is SwingStyle.PARTIAL:
            assert new is old
        else:
            assert new.carry_m / old.carry_m == pytest.approx(1 + doubts[old.club].carry)


@pytest.mark.parametrize("doubt", DOUBTS)
def test_shifts_of_no_deviation_change_nothing(doubt: str) -> None:
    bag = read_bag(demo_bag("bram"))
    model = build_shot_model(bag)
    same = shifted(model, club_doubts(bag), doubt, 0.0)
    for new, old in zip(same.swings, model.swings, strict=True):
        for lie, pattern in old.patterns.items():
            assert new.patterns[lie].weights == pytest.approx(pattern.weights)
            assert new.patterns[lie].means == pytest.approx(pattern.means)
            assert new.patterns[lie].covariances == pytest.approx(pattern.covariances)


def test_techniques_name_the_driver_only_where_there_is_one() -> None:
    bag = read_bag(demo_bag("odile"))
    assert any("Driver" in one.name for one in techniques(bag, ["Driver", "7 iron"]))
    assert not any("Driver" in one.name for one in techniques(bag, ["7 iron"]))


def test_every_technique_can_be_built() -> None:
    bag = read_bag(demo_bag("odile"))
    base = build_shot_model(bag)
    for one in techniques(bag, ["Driver"]):
        changed = bag if one.bag_after is None else one.bag_after(bag)
        model = build_shot_model(changed)
        if one.model_after is not None:
            model = one.model_after(model)
        full = [[s for s in one.swings if s.style is SwingStyle.FULL] for one in (model, base)]
        assert [s.club for s in full[0]] == [s.club for s in full[1]]
        changed_swings = any(a is not b for a, b in zip(*full, strict=True))
        assert changed_swings or (model.putts_expected < base.putts_expected - 1e-6).any()
