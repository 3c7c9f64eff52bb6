"""Practice and the road to a target, on one short hole."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.errors import OptionError
from planner.golfer.bag import read_bag
from planner.planning.practice import practice_plan
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.strategy.practice_results import Goal, PracticePlan

TODAY = date(2027, 1, 4)
HOURS = {"direction": 0.0, "carry": 0.0, "speed": 0.0}
"""Three abilities are enough for a test."""


def request_for(**options: Any) -> PlanRequest:
    return PlanRequest(
        read_course(demo_folder() / "pebblecote.geojson"),
        read_bag(demo_bag("bram")),
        holes=("5",),
        preview=True,
        clubs=("Pitching wedge", "Sand wedge"),
        **options,
    )


@pytest.fixture(scope="module")
def told() -> list[Progress]:
    return []


@pytest.fixture(scope="module")
def plan(told: list[Progress]) -> PracticePlan:
    # A hole of 1000 hours cannot be bought; the road to a likely 4 can.
    return practice_plan(
        request_for(),
        goal=Goal(4, 0.62, date(2028, 1, 4), 4.0),
        today=TODAY,
        hours=HOURS,
        progress=told.append,
    )


def test_abilities_are_ranked_by_strokes_in_an_hour(plan: PracticePlan) -> None:
    rates = [step.strokes_in_ten_hours for step in plan.steps]
    assert rates == sorted(rates, reverse=True)
    assert {step.name for step in plan.steps} == {"fewer mishits", "short game", "putting"}
    assert all(step.strokes > 0.0 for step in plan.steps)
    # Fewer strokes, more chance.
    assert all(step.chance > 0.0 for step in plan.steps)
    assert plan.own_hours
    assert plan.par == 3


def test_the_road_says_what_to_do_and_what_it_brings(plan: PracticePlan) -> None:
    road = plan.road
    assert road is not None
    assert road.hours == pytest.approx(365 / 7 * 4.0)
    assert 0.0 < road.chance_now < 0.62
    assert road.chance_then > road.chance_now
    assert road.expected_then < plan.expected
    assert road.hours_needed <= road.hours
    assert road.reached == (road.chance_then >= 0.62)
    assert road.stages
    order = [step.name for step in plan.steps]
    named = [stage.name for stage in road.stages]
    assert named == sorted(named, key=order.index)


def test_progress_ends_with_every_solve(told: list[Progress], plan: PracticePlan) -> None:
    first = [one for one in told if one.total == told[0].total]
    # As he is, each of three alone by a step and by all steps, and everything.
    assert told[0].total == 1 + 3 + 3 + 1
    assert max(one.done for one in first) == told[0].total


def test_without_a_target_only_the_ranking_is_made() -> None:
    found = practice_plan(request_for(), hours={**HOURS, "mishits": 0.0, "short game": 0.0})
    assert found.road is None
    (step,) = found.steps
    assert step.name == "putting"
    assert step.chance != step.chance


@pytest.mark.parametrize(
    ("goal", "said"),
    [
        (Goal(4, 0.5, TODAY), "that day is over"),
        (Goal(4, 1.0), "--chance"),
        (Goal(4, 0.5, None, 0.0), "--hours-a-week"),
    ],
)
def test_goals_that_cannot_be(goal: Goal, said: str) -> None:
    with pytest.raises(OptionError, match=said):
        practice_plan(request_for(), goal=goal, today=TODAY)


def test_somebody_must_practise_something() -> None:
    with pytest.raises(OptionError, match="every ability has 0 hours"):
        practice_plan(
            request_for(),
            hours={**HOURS, "mishits": 0.0, "short game": 0.0, "putting": 0.0},
        )
