"""Playing for a target on two short holes."""

from __future__ import annotations

import threading
from itertools import pairwise
from typing import Any

import pytest

from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.errors import OptionError
from planner.golfer.bag import read_bag
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.planning.target import match_plan, maximum_plan, points_plan, target_plan
from planner.strategy.score_distribution import distribution
from planner.strategy.solution import Cancelled
from planner.strategy.target_results import TargetPlan


def request_for(*holes: str, **options: Any) -> PlanRequest:
    return PlanRequest(
        read_course(demo_folder() / "pebblecote.geojson"),
        read_bag(demo_bag("bram")),
        holes=holes,
        preview=True,
        clubs=("9 iron", "Pitching wedge", "Sand wedge"),
        **options,
    )


@pytest.fixture(scope="module")
def told() -> list[Progress]:
    return []


@pytest.fixture(scope="module")
def plan(told: list[Progress]) -> TargetPlan:
    return target_plan(request_for("5", "2"), 8, progress=told.append)


def test_the_target_is_likelier_than_with_fewest_strokes(plan: TargetPlan) -> None:
    assert 0.0 < plan.chance_planned <= plan.chance < 1.0
    assert [hole.ref for hole in plan.holes] == ["5", "2"]
    assert [hole.left for hole in plan.holes] == [2, 1]
    assert plan.holes[0].expected_left == pytest.approx(plan.expected)
    first = plan.holes[0].standings
    assert [row.in_hand for row in first] == [8]
    assert first[0].chance == pytest.approx(plan.chance)
    assert first[0].behind == pytest.approx(plan.expected - 8)


def test_standings_rise_with_strokes_in_hand(plan: TargetPlan) -> None:
    rows = plan.holes[1].standings
    assert len(rows) > 3
    for fewer, more in pairwise(rows):
        assert more.in_hand == fewer.in_hand + 1
        assert more.chance >= fewer.chance
    for row in rows:
        assert row.chance >= row.chance_planned
        assert row.best.worth >= row.planned.worth
        if row.later is not None:
            assert row.later.in_hand == row.in_hand - 1
            assert row.later.best.worth > row.later.planned.worth


def test_progress_goes_to_its_end(plan: TargetPlan, told: list[Progress]) -> None:
    assert plan.par == 6
    assert [one.done for one in told] == [1, 2, 3, 4]
    assert {one.total for one in told} == {4}


def test_other_forms_of_play() -> None:
    request = request_for("5")
    points = points_plan(request)
    capped = maximum_plan(request, 2)
    half = match_plan(request, distribution([1.0], first=4), received=0)
    for plan in (points, capped, half):
        assert plan.worth >= plan.worth_planned
        assert len(plan.holes) == 1
    assert 0.5 < points.worth < 2.5
    assert 3.0 < -capped.worth < 5.0
    # Against a sure four: a three wins, a four halves.
    assert 0.2 < half.worth < 0.9


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(OptionError, match="a stroke each"):
        target_plan(request_for("5", "2"), 1)
    with pytest.raises(OptionError, match="above par"):
        maximum_plan(request_for("5"), 0)


def test_it_can_be_stopped() -> None:
    stop = threading.Event()
    stop.set()
    with pytest.raises(Cancelled):
        target_plan(request_for("5"), 4, cancelled=stop)
