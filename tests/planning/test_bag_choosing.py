"""Choosing clubs: the search against solving every allowed bag, and what is said beside it."""

from __future__ import annotations

import itertools
import math
import threading
from dataclasses import replace

import pytest

from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.errors import OptionError
from planner.golfer.bag import read_bag
from planner.golfer.club import Club, ClubKind
from planner.planning.bag_bench import BagBench, hit_labels
from planner.planning.bag_choosing import ChooseOptions, choose_clubs
from planner.planning.progress import Progress, SearchProgress
from planner.planning.request import PlanRequest
from planner.report.bag_json import advice_as_json
from planner.strategy.bag_choice import SearchState
from planner.strategy.bag_results import BagAdvice
from planner.strategy.solution import Cancelled

CANDIDATES = ("5 wood", "5 hybrid", "7 iron", "9 iron", "Sand wedge", "Lob wedge")
OPTIONS = ChooseOptions(candidates=CANDIDATES, limit=5, shortlist=2, technique=False)


@pytest.fixture(scope="module")
def request_() -> PlanRequest:
    return PlanRequest(
        read_course(demo_folder() / "pebblecote.geojson"),
        read_bag(demo_bag("odile")),
        tee="red",
        holes=("4", "8"),
        preview=True,
    )


@pytest.fixture(scope="module")
def told() -> tuple[list[Progress], list[SearchState]]:
    return [], []


@pytest.fixture(scope="module")
def advice(request_: PlanRequest, told: tuple[list[Progress], list[SearchState]]) -> BagAdvice:
    progress, states = told
    return choose_clubs([request_], OPTIONS, progress=progress.append, found=states.append)


def test_the_best_bag_is_the_best_of_all_solved_in_full(
    request_: PlanRequest, advice: BagAdvice
) -> None:
    bench = BagBench([request_], hit_labels(request_.bag, CANDIDATES))
    bags = [
        frozenset(few)
        for few in itertools.combinations(CANDIDATES, 4)
        if {"Sand wedge", "Lob wedge"} & set(few)
    ]
    values = bench.values([bench.models_of(bag) for bag in bags], preview=True, said="test")
    found = dict(zip(bags, values, strict=True))
    assert found[advice.best.clubs] <= min(values) + advice.error
    assert advice.best.fine == pytest.approx(found[advice.best.clubs], abs=2e-3)
    assert advice.proven
    assert advice.gap <= 0.01


def test_a_place_is_kept_for_the_putter(advice: BagAdvice) -> None:
    assert advice.limit == 4
    assert advice.putter == ("Putter",)
    assert len(advice.best.clubs) == 4
    assert set(advice.left_out) | advice.best.clubs == set(CANDIDATES)


def test_everything_is_said_of_every_club(advice: BagAdvice) -> None:
    assert {worth.club for worth in advice.worths} == set(CANDIDATES)
    for worth in advice.worths:
        assert worth.carried == (worth.club in advice.best.clubs)
        if worth.carried:
            assert worth.missed >= 0.0
            assert worth.use is not None
    shots = [worth.use.shots for worth in advice.worths if worth.use is not None]
    assert 2.0 <= math.fsum(shots) <= advice.best.searched
    # Of 16 clubs the six in question are carried in part only: there is no bag of now.
    assert advice.now is None
    assert math.isnan(advice.saved)


def test_progress_and_bounds_are_told(
    advice: BagAdvice, told: tuple[list[Progress], list[SearchState]]
) -> None:
    progress, states = told
    assert any("hole 4" in one.text for one in progress)
    assert states[-1].value == pytest.approx(advice.bound, abs=1e-4)
    assert all(state.bound <= state.value for state in states)


def test_the_result_is_data(advice: BagAdvice) -> None:
    content = advice_as_json(advice)
    assert content["best"]["clubs"] == [c for c in CANDIDATES if c in advice.best.clubs]
    assert content["now"] is None
    assert content["saved"] is None


def test_money_limits_what_is_bought(request_: PlanRequest) -> None:
    options = replace(OPTIONS, candidates=(*CANDIDATES, "Gap wedge"), shortlist=0)
    poor = choose_clubs([request_], replace(options, budget=0.0))
    rich = choose_clubs([request_], options)
    assert not poor.best.clubs & {"Lob wedge", "Gap wedge"}
    assert poor.best.price == 0.0
    assert rich.best.searched <= poor.best.searched + 1e-9
    assert rich.frontier[0].money == 0.0
    assert rich.frontier[0].value == pytest.approx(poor.best.searched, abs=1e-5)
    saved = [point.saved for point in rich.frontier]
    assert saved == sorted(saved)
    assert rich.frontier[-1].value == pytest.approx(rich.best.searched, abs=1e-5)
    names = {row.name for row in rich.money}
    assert {"Lob wedge", "Gap wedge"} <= names


def test_clubs_can_be_forced(request_: PlanRequest) -> None:
    options = replace(OPTIONS, shortlist=0, must=("9 iron",), without=("5 hybrid",))
    found = choose_clubs([request_], options)
    assert "9 iron" in found.best.clubs
    assert "5 hybrid" not in found.best.clubs


def test_techniques_stand_beside_purchases(request_: PlanRequest) -> None:
    options = ChooseOptions(shortlist=0, candidates=None, technique=True)
    putter = Club("Long putter", ClubKind.PUTTER, 0.05, carried=False, price=130.0, resale=70.0)
    bag = replace(request_.bag, clubs=(*request_.bag.clubs, putter))
    found = choose_clubs([replace(request_, bag=bag, holes=("8",))], options)
    techniques = {row.name: row.saved for row in found.money if row.technique}
    assert len(techniques) == 4
    saved = [row.saved for row in found.money]
    assert saved == sorted(saved, reverse=True)
    # Another putter is bought, not practised.
    (other,) = (row for row in found.money if row.name.startswith("Long putter, if it is"))
    assert other.holding is not None
    assert other.saved > 0.0
    assert other.holding.per_stroke == pytest.approx(130.0 / other.saved)
    assert other.holding.resale == 70.0
    assert found.now is not None
    straight = next(saved for name, saved in techniques.items() if "face spread" in name)
    assert straight > 0.05
    assert all(row.holding is None for row in found.money if row.technique)


def test_two_courses_count_half_each(request_: PlanRequest) -> None:
    short = replace(request_, holes=("8",))
    other = replace(request_, holes=("5",))
    options = replace(OPTIONS, shortlist=0)
    values = [choose_clubs([one], options).bound for one in (short, other)]
    both = choose_clubs([short, other], options)
    assert len(both.rounds) == 2
    # One bag for both courses is not better than the best bag for each.
    assert both.bound >= 0.5 * sum(values) - 1e-6


def test_what_cannot_be_is_refused(request_: PlanRequest) -> None:
    with pytest.raises(OptionError, match="no club"):
        choose_clubs([request_], replace(OPTIONS, candidates=("1 iron",)))
    with pytest.raises(OptionError, match="forced in"):
        choose_clubs([request_], replace(OPTIONS, must=CANDIDATES))
    with pytest.raises(OptionError, match="map"):
        choose_clubs([], OPTIONS)


def test_a_choice_can_be_stopped(request_: PlanRequest) -> None:
    stop = threading.Event()
    stop.set()
    with pytest.raises(Cancelled):
        choose_clubs([request_], OPTIONS, cancelled=stop)


def test_stopped_in_the_search_the_best_so_far_is_returned(request_: PlanRequest) -> None:
    stop = threading.Event()

    def when_found(state: SearchState) -> None:
        if state.stage != "start":
            stop.set()

    found = choose_clubs(
        [replace(request_, holes=("8",))], OPTIONS, found=when_found, cancelled=stop
    )
    assert len(found.best.clubs) <= 4
    assert math.isnan(found.best.fine)
    assert not found.proven
    assert found.gap >= 0.0


def test_progress_of_the_search_has_the_best_so_far(
    request_: PlanRequest,
) -> None:
    told: list[Progress] = []
    options = replace(OPTIONS, shortlist=0, technique=False)
    found = choose_clubs([request_], options, progress=told.append)
    searching = [one for one in told if isinstance(one, SearchProgress)]
    assert frozenset(searching[-1].best) == found.best.clubs
    assert searching[-1].value == pytest.approx(found.best.searched)
    assert all(one.bound <= one.value for one in searching)
