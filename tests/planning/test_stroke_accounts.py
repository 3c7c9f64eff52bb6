"""Where strokes go, on one short hole: parts add up, causes cost what they must."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.golfer.bag import read_bag
from planner.golfer.stroke_causes import CAUSES, PENALTIES
from planner.planning.hole_bench import each_hole
from planner.planning.hole_desk import open_hole
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.planning.stroke_accounts import stroke_accounts
from planner.strategy.practice_results import StrokeAccounts
from planner.strategy.solution import Cancelled
from planner.units import DistanceUnit


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
def accounts(told: list[Progress]) -> StrokeAccounts:
    return stroke_accounts(
        request_for(), reference=-5.0, balls=1500, unit=DistanceUnit.YARDS, progress=told.append
    )


def test_parts_add_up_to_the_plan_of_the_hole(accounts: StrokeAccounts) -> None:
    split = accounts.split
    assert [part.name for part in split.parts] == [*(c.name for c in CAUSES), PENALTIES]
    shares = sum(part.share for part in split.parts)
    assert split.rest + shares + split.together == pytest.approx(split.whole)
    plan = open_hole(request_for(), "5").plan
    assert split.whole == pytest.approx(plan.expected_strokes, abs=1e-3)
    assert accounts.penalties == pytest.approx(plan.expected_penalties, abs=5e-3)


def test_a_wild_newcomer_loses_by_his_mishits_and_gains_by_no_cause(
    accounts: StrokeAccounts,
) -> None:
    parts = {part.name: part for part in accounts.split.parts}
    # What is taken away can only help; 0.02 is what a coarse solve is held to.
    assert all(part.alone > -0.02 and part.last > -0.02 for part in parts.values())
    assert parts["mishits"].alone > 0.2
    # Without spread or mishits a tour player's putts are nearly all that is left.
    assert accounts.split.rest < accounts.split.whole - 0.5


def test_gains_by_club_and_distance_add_up_to_the_difference(accounts: StrokeAccounts) -> None:
    rival = accounts.reference
    assert rival is not None
    for gains in (rival.by_club, rival.by_distance):
        assert sum(gain.gained for gain in gains) == pytest.approx(rival.total)
    assert rival.own == accounts.split.whole
    assert rival.total == pytest.approx(
        rival.reference - rival.own, abs=4 * rival.standard_error + 0.05
    )
    assert any(gain.name.endswith("yd") for gain in rival.by_distance)


def test_progress_counts_every_solve(accounts: StrokeAccounts, told: list[Progress]) -> None:
    assert [one.done for one in told] == list(range(1, told[0].total + 1))
    # As he is, each cause alone, all but each, all; and the reference.
    assert told[0].total == 2 * len(CAUSES) + 2 + 1


def test_it_stops_when_asked() -> None:
    stop = threading.Event()

    def after_two(progress: Progress) -> None:
        if progress.done == 2:
            stop.set()

    with pytest.raises(Cancelled):
        stroke_accounts(request_for(), progress=after_two, cancelled=stop)


def test_holes_keep_their_order_and_one_failure_stops_the_rest() -> None:
    holes = request_for().course.holes
    stop = threading.Event()
    found = each_hole(holes, lambda hole: hole.ref, threads=3, cancelled=stop)
    assert found == [hole.ref for hole in holes]
    assert not stop.is_set()

    def fail(hole: Any) -> None:
        raise OSError(hole.ref)

    with pytest.raises(OSError, match="1"):
        each_hole(holes, fail, threads=2, cancelled=stop)
    assert stop.is_set()
