"""Places of balls and aims on a bent hole."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from planner.course.hole import GroundArea, Hole, HoleFrame, Tee
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import SwingStyle
from planner.planning.ball_places import (
    aim_moved_by,
    ball_place,
    place_beside_line,
    within_map,
)
from planner.strategy.advice import AimPoint, Shares, Shot

HOLE = Hole(
    "1",
    4,
    None,
    shapely.LineString([(0, 0), (200, 0), (300, 100)]),
    (Tee("white", (0.0, 0.0)),),
    (300.0, 100.0),
    (
        GroundArea(Ground.FAIRWAY, shapely.box(100, -15, 250, 15)),
        GroundArea(Ground.RED, shapely.box(100, -40, 250, -20)),
        GroundArea(Ground.GREEN, shapely.Point(300, 100).buffer(10)),
    ),
    shapely.box(-50, -90, 400, 190),
    HoleFrame((0.0, 0.0), 0.0),
)
SHARES = Shares(1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def shot_at(bearing: float, carry: float = 150.0) -> Shot:
    aim = AimPoint((carry * math.cos(bearing), carry * math.sin(bearing)), "", 0.0, bearing, 0.0)
    return Shot(
        0, "Driver", SwingStyle.FULL, carry, Lie.TEE, (0.0, 0.0), aim, 4.0, 0.0, 0.0, SHARES, 100.0
    )


def test_a_place_is_told_along_the_line_and_beside_it() -> None:
    place = ball_place(HOLE, (150.0, 12.0))
    assert (place.ground, place.lie) == (Ground.FAIRWAY, Lie.FAIRWAY)
    assert place.to_go_m == pytest.approx(50 + 100 * math.sqrt(2))
    assert place.right_m == pytest.approx(12.0)
    assert place.to_pin_m == pytest.approx(math.dist((150, 12), (300, 100)))


@pytest.mark.parametrize(
    ("at", "ground"),
    [((150, -30), Ground.RED), ((300, 100), Ground.GREEN), ((150, -95), Ground.OUT)],
)
def test_no_ball_is_played_from_some_ground(at: tuple[float, float], ground: Ground) -> None:
    place = ball_place(HOLE, at)
    assert place.ground is ground
    assert place.lie is None


@given(st.floats(160.0, 340.0), st.floats(-30.0, 30.0))
def test_numbers_and_places_are_each_others_inverse(to_go: float, right: float) -> None:
    # On the inside of the bend two places of the line are equally near; stay away from it.
    if abs(to_go - 100 * math.sqrt(2)) < 35:
        return
    place = ball_place(HOLE, place_beside_line(HOLE, to_go, right))
    assert place.to_go_m == pytest.approx(to_go, abs=1e-6)
    assert place.right_m == pytest.approx(right, abs=1e-6)


def test_behind_the_tee_the_line_goes_on() -> None:
    length = HOLE.line_hole.length
    assert place_beside_line(HOLE, length + 20, 0.0) == pytest.approx((-20.0, 0.0))


def test_far_away_is_another_hole() -> None:
    assert within_map(HOLE, (100.0, 140.0))
    assert not within_map(HOLE, (100.0, 160.0))
    assert not within_map(HOLE, (math.nan, 0.0))


@given(st.floats(-0.6, 0.6), st.floats(-1.0, 1.0))
def test_a_moved_aim_goes_through_what_was_tapped(bearing: float, turn: float) -> None:
    shot = shot_at(bearing)
    target = (90 * math.cos(bearing + turn), 90 * math.sin(bearing + turn))
    assert shot.aim is not None
    along, across = shot.aim.beside(aim_moved_by(shot, target))
    assert math.atan2(across, along) == pytest.approx(bearing + turn, abs=1e-9)


def test_an_aim_backwards_is_limited() -> None:
    assert aim_moved_by(shot_at(0.0), (-50.0, 1.0)) == pytest.approx(150 * math.tan(1.308996939))
