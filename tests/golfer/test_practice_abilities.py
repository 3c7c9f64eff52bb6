"""Steps of practice, causes of lost strokes, and reference golfers: each changes what it should."""

from __future__ import annotations

import numpy as np
import pytest

from planner.course.lies import Lie
from planner.demo_data import demo_bag
from planner.errors import OptionError
from planner.golfer.bag import read_bag
from planner.golfer.practice_abilities import (
    ABILITIES,
    ASSUMED_GROWTH,
    ASSUMED_HOURS,
    MOST_STEPS,
    improved,
    step_hours,
)
from planner.golfer.putting import (
    TOUR_PUTTING,
    PuttingSkill,
    expected_putts,
    holed_probability,
)
from planner.golfer.reference_golfer import reference_bag, reference_index, reference_name
from planner.golfer.shot_outcome import SwingStyle
from planner.golfer.skill import TOUR_INDEX
from planner.golfer.stroke_causes import CAUSES, model_without
from planner.golfer.swing_set import build_shot_model, golfer_putting


@pytest.fixture(scope="module")
def bag():
    return read_bag(demo_bag("bram"))


@pytest.fixture(scope="module")
def model(bag):
    return build_shot_model(bag)


def step_of(key: str, count: int = 1) -> tuple[int, ...]:
    return tuple(count if one.key == key else 0 for one in ABILITIES)


def full(model, club="Driver"):
    return next(s for s in model.swings if s.club == club and s.style is SwingStyle.FULL)


def test_no_practice_changes_nothing(bag, model) -> None:
    same = improved(bag, build_shot_model, (0,) * len(ABILITIES))
    for one, other in zip(model.swings, same.swings, strict=True):
        for lie, pattern in one.patterns.items():
            np.testing.assert_array_equal(pattern.covariances, other.patterns[lie].covariances)
    np.testing.assert_array_equal(model.putts_expected, same.putts_expected)


def test_every_ability_changes_its_own_part(bag, model) -> None:
    label = next(swing.club for swing in model.swings)
    before = full(model, label).patterns[Lie.TEE]
    for one in ABILITIES:
        after_model = improved(bag, build_shot_model, step_of(one.key))
        after = full(after_model, label).patterns[Lie.TEE]
        sd, new_sd = (np.sqrt(np.diag(p.covariances[0])) for p in (before, after))
        changed = {
            "mishits": after.mishit_share < before.mishit_share,
            "carry": new_sd[0] < sd[0] * 0.99 and one.key != "speed",
            "direction": new_sd[1] < sd[1] * 0.99,
            "speed": after.means[0, 0] > before.means[0, 0] * 1.01,
            "putting": after_model.putts_expected[60] < model.putts_expected[60],
        }
        assert {key for key, yes in changed.items() if yes} == {one.key} - {"short game"}
    short = improved(bag, build_shot_model, step_of("short game"))
    partial = [i for i, s in enumerate(model.swings) if s.style is SwingStyle.PARTIAL]
    assert partial
    for i in partial:
        lie = next(iter(model.swings[i].patterns))
        old, new = (m.swings[i].patterns[lie] for m in (model, short))
        np.testing.assert_allclose(new.covariances[0], old.covariances[0] * 0.85**2)


def test_steps_follow_one_another(bag) -> None:
    own = golfer_putting(bag.golfer)
    better = PuttingSkill(0.81 * own.angle_sd, 0.81 * own.distance_sd)
    twice = improved(bag, build_shot_model, step_of("putting", 2))
    distance = np.array([1.0, 3.0, 9.0])
    np.testing.assert_allclose(
        twice.expected_putts(distance), expected_putts(distance, better), atol=0.01
    )
    # The chances of one putt, two, ... are those of the better putter, too.
    np.testing.assert_allclose(
        twice.putts_within(distance, 1), holed_probability(distance, better), atol=0.01
    )


def test_hours_grow_and_can_be_replaced() -> None:
    assert set(ASSUMED_HOURS) == {one.key for one in ABILITIES}
    hours = step_hours({"putting": 10.0, "speed": 0.0})
    assert hours["putting"] == pytest.approx(
        (10.0, 10.0 * ASSUMED_GROWTH, 10.0 * ASSUMED_GROWTH**2)
    )
    assert hours["speed"] == ()
    assert len(hours["mishits"]) == MOST_STEPS
    with pytest.raises(OptionError, match='no ability "driving"; there are mishits'):
        step_hours({"driving": 3.0})
    with pytest.raises(OptionError, match="putting: hours"):
        step_hours({"putting": -3.0})


def test_causes_taken_away_leave_a_tour_player_without_spread(bag, model) -> None:
    all_gone = model_without(model, bag.golfer, range(len(CAUSES)))
    for swing in all_gone.swings:
        for pattern in swing.patterns.values():
            assert pattern.mishit_share == 0.0
            assert np.sqrt(np.linalg.eigvalsh(pattern.covariances)).max() < 1.0
    putts = expected_putts(model.putts_distance_m[5:], TOUR_PUTTING)
    np.testing.assert_allclose(all_gone.putts_expected[5:], putts)
    # In whatever order they are taken.
    for first, second in ((0, 3), (1, 2), (3, 1)):
        one = model_without(model_without(model, bag.golfer, {first}), bag.golfer, {second})
        both = model_without(model, bag.golfer, {first, second})
        for a, b in zip(one.swings, both.swings, strict=True):
            for lie, pattern in a.patterns.items():
                np.testing.assert_allclose(pattern.covariances, b.patterns[lie].covariances)
                np.testing.assert_allclose(pattern.weights, b.patterns[lie].weights)


def test_a_tour_putter_gains_nothing_from_tour_putting() -> None:
    wren = read_bag(demo_bag("wren"))
    tour = reference_bag(wren, TOUR_INDEX)
    model = build_shot_model(tour)
    place = next(i for i, cause in enumerate(CAUSES) if cause.name.startswith("putting"))
    same = model_without(model, tour.golfer, {place})
    np.testing.assert_allclose(same.putts_expected, model.putts_expected)


@pytest.mark.parametrize(
    ("text", "index"),
    [
        ("tour", TOUR_INDEX),
        ("Scratch", 0.0),
        ("12,4", 12.4),
        ("+2", -2.0),
        ("-2", -2.0),
        ("54", 54),
    ],
)
def test_reference_golfers_by_name_and_index(text: str, index: float) -> None:
    assert reference_index(text) == index


@pytest.mark.parametrize("text", ["", "pro", "55", "+11", "12 or so"])
def test_nobody_of_that_name(text: str) -> None:
    with pytest.raises(OptionError, match="write tour, scratch, or a handicap index"):
        reference_index(text)


def test_a_reference_is_better_with_the_same_clubs(bag) -> None:
    tour = reference_bag(bag, TOUR_INDEX)
    assert [club.label for club in tour.clubs] == [club.label for club in bag.clubs]
    assert all(club.pattern is None for club in tour.clubs)
    assert tour.golfer.left_handed == bag.golfer.left_handed
    assert tour.golfer.name == reference_name(TOUR_INDEX) == "a tour player"
    assert reference_name(-2.0) == "a golfer of index +2"
    models = [build_shot_model(reference_bag(bag, index)) for index in (TOUR_INDEX, 20.0)]
    better, worse = (full(model, models[0].swings[0].club).patterns[Lie.TEE] for model in models)
    assert better.means[0, 0] > worse.means[0, 0]
    assert better.mishit_share < worse.mishit_share
