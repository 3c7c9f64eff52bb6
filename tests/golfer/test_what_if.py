"""Changes of a shot model and a bag: what changes, what does not, and by how much."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from planner.course.lies import Lie
from planner.demo_data import demo_bag
from planner.errors import OptionError
from planner.golfer import what_if
from planner.golfer.bag import Bag, Delivery, Golfer, read_bag
from planner.golfer.club import Club, ClubKind, MeasuredPattern
from planner.golfer.gapping import predicted_carries
from planner.golfer.putting import PuttingSkill, expected_putts
from planner.golfer.shot_outcome import ShotModel, SwingStyle
from planner.golfer.swing_set import build_shot_model
from planner.units import RAD_PER_DEG


@pytest.fixture(scope="module")
def bag() -> Bag:
    return read_bag(demo_bag("odile"))


@pytest.fixture(scope="module")
def model(bag: Bag) -> ShotModel:
    return build_shot_model(bag)


def pattern_of(model: ShotModel, club: str, lie: Lie = Lie.TEE):  # type: ignore[no-untyped-def]
    (swing,) = (s for s in model.swings if s.club == club and s.style is SwingStyle.FULL)
    return swing.patterns[lie]


def test_without_mishits_only_stock_shots_are_left(model: ShotModel) -> None:
    clean = what_if.without_mishits(model)
    for swing, before in zip(clean.swings, model.swings, strict=True):
        for lie, pattern in swing.patterns.items():
            assert pattern.mishit_share == 0.0
            assert len(pattern.weights) == 1
            assert (pattern.means[0] == before.patterns[lie].means[0]).all()


def test_without_mishits_of_one_club_leaves_the_others_alone(model: ShotModel) -> None:
    changed = what_if.without_mishits(model, "Driver")
    for swing, before in zip(changed.swings, model.swings, strict=True):
        assert (swing is before) == (swing.club != "Driver")


@pytest.mark.parametrize("factor", [0.5, 1.0, 1.7, 40.0])
def test_mishits_are_scaled_and_their_kinds_keep_their_proportions(
    model: ShotModel, factor: float
) -> None:
    changed = what_if.scaled_mishits(model, factor, clubs=("Driver",))
    new, old = pattern_of(changed, "Driver"), pattern_of(model, "Driver")
    assert new.mishit_share == pytest.approx(min(factor * old.mishit_share, 0.95))
    assert new.weights[1:] / new.mishit_share == pytest.approx(old.weights[1:] / old.mishit_share)


def test_offline_moves_towards_the_stock_line_which_stays(model: ShotModel) -> None:
    changed = what_if.scaled_offline(model, 0.8)
    new, old = pattern_of(changed, "Driver"), pattern_of(model, "Driver")
    assert new.means[0] == pytest.approx(old.means[0])
    assert new.means[:, 0] == pytest.approx(old.means[:, 0])
    line = old.means[0, 1]
    assert new.means[1:, 1] - line == pytest.approx(0.8 * (old.means[1:, 1] - line))
    assert new.covariances[:, 1, 1] == pytest.approx(0.64 * old.covariances[:, 1, 1])
    assert new.covariances[:, 0, 1] == pytest.approx(0.8 * old.covariances[:, 0, 1])
    assert new.covariances[:, 0, 0] == pytest.approx(old.covariances[:, 0, 0])
    assert changed.swings[0].start_sd == pytest.approx(0.8 * model.swings[0].start_sd, rel=1e-2)


def test_distance_changes_the_along_deviation_only(model: ShotModel) -> None:
    changed = what_if.scaled_distance(model, 0.5, styles=(SwingStyle.FULL,))
    new, old = pattern_of(changed, "7 iron"), pattern_of(model, "7 iron")
    assert new.covariances[:, 0, 0] == pytest.approx(0.25 * old.covariances[:, 0, 0])
    assert new.covariances[:, 1, 1] == pytest.approx(old.covariances[:, 1, 1])
    assert (new.means == old.means).all()
    partial = [i for i, s in enumerate(model.swings) if s.style is SwingStyle.PARTIAL]
    assert partial
    assert all(changed.swings[i] is model.swings[i] for i in partial)


def test_a_factor_of_one_changes_nothing_that_matters(model: ShotModel) -> None:
    for change in (
        what_if.scaled_mishits,
        what_if.scaled_offline,
        what_if.scaled_distance,
        what_if.scaled_carry,
    ):
        same = change(model, 1.0)
        for swing, before in zip(same.swings, model.swings, strict=True):
            assert swing.start_sd == pytest.approx(before.start_sd)
            for lie, pattern in swing.patterns.items():
                assert pattern.means == pytest.approx(before.patterns[lie].means)
                assert pattern.covariances == pytest.approx(before.patterns[lie].covariances)


def test_short_game_leaves_full_swings_alone(model: ShotModel) -> None:
    changed = what_if.with_short_game(model, 0.7, mishits=0.5)
    for swing, before in zip(changed.swings, model.swings, strict=True):
        if swing.style is not SwingStyle.PARTIAL:
            assert swing is before
            continue
        for lie, pattern in swing.patterns.items():
            old = before.patterns[lie]
            assert pattern.covariances[0] == pytest.approx(0.49 * old.covariances[0])
            assert pattern.mishit_share == pytest.approx(0.5 * old.mishit_share)


def test_putting_is_that_of_the_new_skill_with_its_chances(model: ShotModel) -> None:
    skill = PuttingSkill(1.2 * RAD_PER_DEG, 0.07)
    changed = what_if.with_putting(model, skill)
    far = changed.putts_distance_m > 0.0
    assert changed.putts_expected[far] == pytest.approx(
        expected_putts(changed.putts_distance_m[far], skill)
    )
    assert changed.putts_chances is not None
    assert model.putts_chances is not None
    assert changed.putts_chances.shape == model.putts_chances.shape
    assert (changed.putts_chances[0] >= model.putts_chances[0] - 1e-12).all()
    assert changed.swings is model.swings


def test_putting_errors_are_scaled() -> None:
    skill = what_if.scaled_putting(PuttingSkill(0.03, 0.1), angle=0.5, distance=0.8)
    assert (skill.angle_sd, skill.distance_sd) == pytest.approx((0.015, 0.08))


def test_only_some_clubs_keep_their_swings(model: ShotModel) -> None:
    few = what_if.only_clubs(model, ("Driver", "Sand wedge", "Putter"))
    assert {swing.club for swing in few.swings} == {"Driver", "Sand wedge"}
    assert all(any(swing is one for one in model.swings) for swing in few.swings)
    with pytest.raises(OptionError, match="putter"):
        what_if.only_clubs(model, ("Putter",))


def test_an_unknown_club_is_named(model: ShotModel) -> None:
    with pytest.raises(OptionError, match="1 iron"):
        what_if.without_mishits(model, "1 iron")


@pytest.mark.parametrize("factor", [-0.1, math.inf, math.nan])
def test_senseless_factors_are_refused(model: ShotModel, factor: float) -> None:
    with pytest.raises(ValueError, match="factor"):
        what_if.scaled_mishits(model, factor)


def test_faster_carries_farther_with_every_club_but_by_less_than_the_speed_squared(
    bag: Bag,
) -> None:
    quicker = what_if.faster(bag, 0.05)
    before = predicted_carries(bag.clubs, bag.golfer.handicap_index, delivery=bag.golfer.delivery)
    golfer = quicker.golfer
    after = predicted_carries(quicker.clubs, golfer.handicap_index, delivery=golfer.delivery)
    # Without air the carry would grow with the square of the speed; a slow swing, whose ball
    # hardly stays up, may gain more than a fast one.
    ratio = np.array([after[label] / before[label] for label in before])
    assert (ratio > 1.03).all()
    assert (ratio < 1.05**2.5).all()


def test_faster_keeps_directions_and_shares(bag: Bag) -> None:
    quicker = what_if.faster(bag, 0.05)
    for club in bag.clubs:
        old, new = club.pattern, quicker.club(club.label).pattern
        if old is None or new is None or not old.has_spread:
            continue
        assert new.offline_sd_m is not None
        assert old.offline_sd_m is not None
        assert new.offline_sd_m / new.carry_m == pytest.approx(old.offline_sd_m / old.carry_m)
        assert [m.share for m in new.mishits or ()] == [m.share for m in old.mishits or ()]
        assert new.shots == old.shots
    assert quicker.golfer.delivery is not None
    assert bag.golfer.delivery is not None
    assert quicker.golfer.delivery.speed_mps == pytest.approx(1.05 * bag.golfer.delivery.speed_mps)


def test_faster_by_nothing_keeps_measured_clubs() -> None:
    club = Club(
        "7 iron", ClubKind.IRON, 33 * RAD_PER_DEG, pattern=MeasuredPattern(120.0, 2.0, 8.0, 9.0)
    )
    golfer = Golfer(handicap_index=12.0, delivery=Delivery("7 iron", 31.0))
    bag = Bag("bag", golfer, (club, Club("Putter", ClubKind.PUTTER, 0.06)))
    same = what_if.faster(bag, 0.0)
    assert same.club("7 iron").pattern == club.pattern
    assert same.club("Putter") == bag.club("Putter")
    assert dataclasses.replace(same, clubs=bag.clubs) == bag
