"""Strokes gained add up to the score, on any log and on solved holes."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from planner.course.hole import Point
from planner.course.lies import Ground, Lie
from planner.golfer.what_if import without_mishits
from planner.strategy.advice import TIE_STROKES
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.reference_gains import PUTTING, TEE_SHOTS, gains_on_hole, gains_per_round
from planner.strategy.strokes_gained import HoleWorth, PlayedShot, account

from .builders import (
    COARSE,
    EVERY_LIE,
    box_hole,
    either,
    model_of,
    partial_swings,
    solve,
    stock,
    swing,
)

CLUBS = ("Driver", "7 iron")


class FreeWorth:
    """Any value anywhere; the driver costs more the farther right the ball lies."""

    def value(self, position_hole: Point, lie: Lie) -> float:
        return 1.0 + abs(math.sin(position_hole[0])) * 4.0 + 0.3 * lie

    def clubs(self, position_hole: Point, lie: Lie) -> dict[str, float]:
        if lie is Lie.GREEN:
            return {}
        value = self.value(position_hole, lie)
        return {"7 iron": value, "Driver": value + abs(position_hole[1]) / 50.0}


@st.composite
def logs(draw: st.DrawFn) -> list[PlayedShot]:
    place = st.tuples(st.floats(-10.0, 500.0), st.floats(-80.0, 80.0))
    return [
        PlayedShot(
            number,
            draw(place),
            draw(st.sampled_from(Lie)),
            draw(st.sampled_from(["", "Putter", *CLUBS])),
            draw(st.integers(1, 4)),
            draw(st.integers(0, 2)),
        )
        for number in range(1, draw(st.integers(1, 12)) + 1)
    ]


@given(logs())
def test_shots_add_up_to_what_was_expected_less_the_score(shots) -> None:
    found = account("7", 4, shots, FreeWorth())
    assert found.score == sum(shot.strokes + shot.penalties for shot in shots)
    assert sum(shot.gained for shot in found.shots) == pytest.approx(
        found.expected - found.score, abs=1e-9
    )
    assert found.gained == pytest.approx(found.expected - found.score, abs=1e-9)
    # Nothing is lost when a shot is taken apart into leaving the plan and striking the ball.
    struck = sum(shot.struck for shot in found.shots)
    assert struck - found.leaving == pytest.approx(found.gained, abs=1e-9)
    assert found.shots[-1].after == 0.0


@given(logs())
def test_the_plan_is_kept_left_or_not_known(shots) -> None:
    for shot in account("7", 4, shots, FreeWorth()).shots:
        cost = abs(shot.played.position_hole[1]) / 50.0
        if shot.played.lie is Lie.GREEN or shot.played.club == "7 iron":
            assert shot.kept
            assert shot.leaving == 0.0
        elif shot.played.club == "Driver":
            assert shot.kept == (cost < TIE_STROKES)
            assert shot.leaving == (0.0 if cost < TIE_STROKES else pytest.approx(cost))
        else:
            assert shot.kept is None
            assert math.isnan(shot.leaving)


def test_a_hole_without_shots_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="no shots"):
        account("1", 3, [], FreeWorth())


HOLE = box_hole(
    150.0,
    (Ground.FAIRWAY, shapely.box(20, -15, 140, 15)),
    (Ground.GREEN, shapely.Point(150, 0).buffer(9)),
    (Ground.SAND, shapely.box(120, 16, 150, 30)),
)


def adviser(*, wild: bool = False) -> HoleAdviser:
    good = stock(100.0, sd=(7.0, 9.0))
    iron = either(0.8, (100.0, 0.0), (55.0, 6.0), sd=7.0) if wild else good
    model = model_of(
        swing("Iron", 100.0, iron, lies=EVERY_LIE),
        swing("Short iron", 60.0, stock(60.0, sd=(5.0, 5.0)), lies=EVERY_LIE),
        *partial_swings(6.0, 14.0, 28.0, 45.0),
        putts=None,
    )
    solved = solve(HOLE, model, COARSE, tolerance=1e-4)
    return HoleAdviser(solved.solution, solved.solver, HOLE.tees[0])


@pytest.fixture(scope="module")
def own() -> HoleAdviser:
    return adviser(wild=True)


def test_worth_of_a_solved_hole_is_its_best_club(own) -> None:
    worth = HoleWorth(own)
    tee = HOLE.tees[0].position_hole
    assert worth.value(tee, Lie.TEE) == own.tee_value
    place = (60.0, -4.0)
    clubs = worth.clubs(place, Lie.FAIRWAY)
    assert list(clubs.values()) == sorted(clubs.values())
    assert worth.value(place, Lie.FAIRWAY) == min(clubs.values())
    # One step before the lattice and the lattice itself are one value, but for its cells of 6 m.
    near = own.policy.value_at(np.array([place]), np.array([int(Lie.FAIRWAY)]))[0]
    assert worth.value(place, Lie.FAIRWAY) == pytest.approx(near, abs=0.15)
    assert worth.value((150.0, 5.0), Lie.GREEN) == own.model.expected_putts(5.0)
    assert worth.clubs((150.0, 5.0), Lie.GREEN) == {}


def test_a_hole_played_with_the_wrong_club_says_what_it_cost(own) -> None:
    worth = HoleWorth(own)
    tee = HOLE.tees[0].position_hole
    shots = [
        PlayedShot(1, tee, Lie.TEE, "Short iron"),
        PlayedShot(2, (60.0, 0.0), Lie.FAIRWAY, "Iron", penalties=1),
        PlayedShot(3, (150.0, 4.0), Lie.GREEN, strokes=2),
    ]
    found = account("1", 3, shots, worth)
    clubs = worth.clubs(tee, Lie.TEE)
    assert found.shots[0].leaving == pytest.approx(clubs["Short iron"] - clubs["Iron"])
    assert found.shots[0].planned == "Iron"
    assert found.shots[0].leaving > 0.05
    assert found.score == 5
    assert found.gained == pytest.approx(own.tee_value - 5.0)


@pytest.fixture(scope="module")
def gains(own):
    return gains_on_hole(own, adviser(), balls=3000, rng=np.random.default_rng(1))


def test_gains_on_a_reference_add_up_to_the_difference_of_scores(gains, own) -> None:
    assert gains.balls == 3000
    assert gains.gained.sum() / gains.balls == pytest.approx(gains.total, abs=1e-9)
    # The reference has no mishits; the golfer loses strokes to him.
    assert gains.reference < own.tee_value
    assert gains.total == pytest.approx(gains.reference - own.tee_value, abs=0.06)
    assert gains.total < -4.0 * gains.standard_error


def test_clubs_and_distances_each_hold_every_shot(gains) -> None:
    names = ("under 20 m", "20 to 80 m", "over 80 m")
    clubs, bands = gains_per_round([gains, gains], [20.0, 80.0], names)
    for found in (clubs, bands):
        assert sum(gain.gained for gain in found) == pytest.approx(2 * gains.total)
        assert sum(gain.shots for gain in found) == pytest.approx(
            2 * len(gains.gained) / gains.balls
        )
    by_name = {gain.name: gain for gain in bands}
    # A par 3 has no tee shot of a par 4; one green is putted a hole, as well as the reference does.
    assert TEE_SHOTS not in by_name
    assert by_name[PUTTING].shots == pytest.approx(2.0)
    assert by_name[PUTTING].gained == pytest.approx(0.0, abs=1e-9)
    worst = min(clubs, key=lambda gain: gain.gained)
    assert worst.name == "Iron"


def test_a_golfer_gains_nothing_on_himself(own) -> None:
    gains = gains_on_hole(own, own, balls=4000, rng=np.random.default_rng(2))
    # 6 m cells and the nearest lattice point's action: the bias of the lattice, not of the sum.
    assert gains.total == pytest.approx(0.0, abs=3 * gains.standard_error + 0.03)


def test_bands_need_their_names(gains) -> None:
    with pytest.raises(ValueError, match="need 2 names"):
        gains_per_round([gains], [20.0], ["a"])


def test_without_mishits_is_the_model_of_the_reference(own) -> None:
    assert without_mishits(own.model).swings[0].patterns[Lie.TEE].mishit_share == 0.0
