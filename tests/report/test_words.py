from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.ball.conditions import Conditions
from planner.golfer.shot_outcome import SwingStyle
from planner.report import words
from planner.strategy.advice import HolePlan, Shares, Shot
from planner.units import DistanceUnit

M, YD = DistanceUnit.METRES, DistanceUnit.YARDS


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "0 %"),
        (0.0004, "0 %"),
        (0.004, "<1 %"),
        (0.114, "11 %"),
        (0.993, ">99 %"),
        (1.0, "100 %"),
    ],
)
def test_percent(share: float, said: str) -> None:
    assert words.percent(share).replace("\u00a0", " ") == said


def test_strokes_that_were_not_counted_are_not_a_number() -> None:
    assert words.strokes(4.004) == "4.00"
    assert words.strokes(float("nan")) == "not known"


def test_distances_convert_exactly() -> None:
    assert words.distance(91.44, YD) == "100\u00a0yd"
    assert words.distance(91.44, M) == "91\u00a0m"


@pytest.mark.parametrize(
    ("day", "unit", "said"),
    [
        (Conditions(), M, "still air, 15 °C"),
        (Conditions(math.radians(225), 5.0), M, "wind 5 m/s from SW, 15 °C"),
        (Conditions(math.radians(225), 4.4704), YD, "wind 10 mph from SW, 15 °C"),
        (Conditions(math.radians(350), 2.5, 8.0), M, "wind 2.5 m/s from N, 8 °C"),
        (Conditions(math.radians(-90), 12.0), M, "wind 12 m/s from W, 15 °C"),
        (Conditions(altitude_m=304.8), M, "still air, 15 °C, 305 m above the sea"),
        (Conditions(altitude_m=304.8), YD, "still air, 15 °C, 1000 ft above the sea"),
        (
            Conditions(firmness=1.4, green_speed_ft=10.5, rough_length_m=0.08),
            M,
            "still air, 15 °C, turf 1.4 times as firm as usual, greens 10.5 ft, rough 8 cm",
        ),
    ],
)
def test_conditions(day: Conditions, unit: DistanceUnit, said: str) -> None:
    assert words.conditions(day, unit).replace("\u00a0", " ") == said


@pytest.mark.parametrize(
    ("value", "said"), [(0.0, "tie"), (0.009, "tie"), (0.011, "+0.01"), (0.4, "+0.40")]
)
def test_cost(value: float, said: str) -> None:
    assert words.cost(value) == said


@pytest.mark.parametrize(
    ("offset", "said"),
    [
        (0.3, "on the line of play"),
        (-4.0, "4\u00a0m left of the line of play"),
        (4.0, "4\u00a0m right of the line of play"),
    ],
)
def test_aim_offset(offset: float, said: str) -> None:
    assert words.aim_offset(offset, M) == said


def test_a_partial_swing_is_said_with_its_carry(shot: Shot) -> None:
    assert words.shot_name(shot, M) == "Driver"
    short = replace(shot, club="Sand wedge", style=SwingStyle.PARTIAL, carry_m=45.72)
    assert words.shot_name(short, YD) == "Sand wedge, partial to 50\u00a0yd"


def test_an_unplayable_ball_is_said(shot: Shot) -> None:
    assert "unplayable" in words.what_to_hit(replace(shot, swing=-2, aim=None), M)


def test_a_tie_is_called_a_tie_and_a_margin_by_its_size(plan: HolePlan) -> None:
    assert words.margin(plan, M) == "Next best: 3 wood, 0.05 strokes more."
    near = replace(plan.others[0], cost=0.004)
    tied = words.margin(replace(plan, others=(near, plan.others[1])), M)
    assert tied.startswith("A tie with 3 wood")
    assert "5 iron" not in tied
    assert "No other club" in words.margin(replace(plan, others=()), M)


def test_chances_name_every_share() -> None:
    shares = Shares(0.1, 0.2, 0.05, 0.15, 0.25, 0.03, 0.12, 0.1, 0.3)
    said = dict(words.chances(shares))
    assert len(said) == len(Shares.__dataclass_fields__)
    assert sum(said.values()) == pytest.approx(1.3)
