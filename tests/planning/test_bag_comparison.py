"""Bags against each other: agreement with solves, common random numbers, and honest doubt."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import replace

import pytest

from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.errors import OptionError
from planner.golfer.bag import Bag, read_bag
from planner.planning.bag_bench import BagBench
from planner.planning.bag_comparison import BALLS, NamedBag, compare_bags, merged_bag
from planner.planning.request import PlanRequest
from planner.report.bag_json import comparison_as_json
from planner.strategy.bag_results import NO_DIFFERENCE, BagComparison

CLUBS = ("Driver", "5 wood", "5 hybrid", "7 iron", "9 iron", "Sand wedge", "Putter")
WITHOUT = tuple(club for club in CLUBS if club != "5 hybrid")
LOB = tuple("Lob wedge" if club == "Driver" else club for club in CLUBS)


@pytest.fixture(scope="module")
def request_() -> PlanRequest:
    return PlanRequest(
        read_course(demo_folder() / "pebblecote.geojson"),
        read_bag(demo_bag("odile")),
        tee="red",
        holes=("9",),
        preview=True,
    )


@pytest.fixture(scope="module")
def compared(request_: PlanRequest) -> BagComparison:
    bags = [
        NamedBag("all", CLUBS),
        NamedBag("no hybrid", WITHOUT),
        NamedBag("the same", tuple(reversed(CLUBS))),
        NamedBag("lob", LOB),
    ]
    return compare_bags([request_], bags)


def test_differences_are_those_of_the_solves(
    request_: PlanRequest, compared: BagComparison
) -> None:
    bench = BagBench([request_], tuple(c for c in (*CLUBS, "Lob wedge") if c != "Putter"))
    jobs = [bench.models_of(clubs) for clubs in (CLUBS, WITHOUT)]
    whole, less = bench.values(jobs, preview=True, said="test")
    assert compared.bags[0].strokes == pytest.approx(whole, abs=1e-4)
    assert compared.differences[0].strokes == pytest.approx(less - whole, abs=1e-4)


def test_a_bag_does_not_differ_from_itself(compared: BagComparison) -> None:
    same = compared.differences[1]
    assert same.strokes == 0.0
    # All the doubt is in both bags, so it cancels.
    assert same.sd == 0.0
    assert not same.real
    assert compared.bags[2].spread == compared.bags[0].spread
    assert same.holes[0].causes == ()


def test_a_needed_club_makes_a_real_difference_and_is_named(compared: BagComparison) -> None:
    lost = compared.differences[0]
    assert lost.strokes > NO_DIFFERENCE
    assert lost.real
    assert lost.low < lost.strokes < lost.high
    assert lost.sd > 0.0
    (hole,) = lost.holes
    assert hole.strokes == pytest.approx(lost.strokes)
    first = hole.causes[0]
    assert first.where == "tee"
    assert first.first == "5 hybrid"
    assert first.second != "5 hybrid"
    assert first.strokes > 0.0
    assert sum(cause.strokes for cause in hole.causes) == pytest.approx(lost.strokes, abs=0.05)


def test_every_bag_has_a_spread_and_penalties(compared: BagComparison) -> None:
    for bag in compared.bags:
        assert 0.5 < bag.spread < 3.0
        assert bag.penalties >= 0.0
        # No more balls have a penalty than there are penalties, within three standard errors.
        for hole in bag.holes:
            assert 0.0 <= hole.penalty_chance <= hole.penalties + 3.0 * 0.5 / math.sqrt(BALLS)
        clean = math.prod(1.0 - hole.penalty_chance for hole in bag.holes)
        assert bag.penalty_chance == pytest.approx(1.0 - clean)


def test_the_result_is_data(compared: BagComparison) -> None:
    content = comparison_as_json(compared)
    assert [bag["name"] for bag in content["bags"]] == ["all", "no hybrid", "the same", "lob"]
    assert content["differences"][1]["real"] is False


def test_more_shots_mean_less_doubt(request_: PlanRequest, compared: BagComparison) -> None:
    def measured(bag: Bag, shots: int) -> Bag:
        return dataclasses.replace(
            bag,
            clubs=tuple(
                club
                if club.pattern is None
                else dataclasses.replace(
                    club, pattern=dataclasses.replace(club.pattern, shots=shots)
                )
                for club in bag.clubs
            ),
        )

    sure = replace(request_, bag=measured(request_.bag, 100_000))
    found = compare_bags([sure], [NamedBag("all", CLUBS), NamedBag("no hybrid", WITHOUT)])
    assert found.differences[0].sd < 0.2 * compared.differences[0].sd
    assert found.differences[0].strokes == pytest.approx(compared.differences[0].strokes, abs=1e-3)


def test_files_of_one_golfer_are_merged(request_: PlanRequest) -> None:
    bag = request_.bag
    few = dataclasses.replace(bag, name="few", clubs=bag.clubs[:5])
    merged = merged_bag([few, bag])
    assert {club.label for club in merged.clubs} == {club.label for club in bag.clubs}
    assert not merged.club("Putter").carried
    assert merged.club("Driver").carried


def test_files_that_contradict_each_other_are_refused(request_: PlanRequest) -> None:
    bag = request_.bag
    other = read_bag(demo_bag("bram"))
    with pytest.raises(OptionError, match="different golfers"):
        merged_bag([bag, other])
    club = dataclasses.replace(bag.club("Driver"), loft=0.2)
    with pytest.raises(OptionError, match="Driver"):
        merged_bag([bag, dataclasses.replace(bag, clubs=(club,))])


def test_what_cannot_be_is_refused(request_: PlanRequest) -> None:
    one = NamedBag("one", CLUBS)
    with pytest.raises(OptionError, match="another"):
        compare_bags([request_], [one])
    with pytest.raises(OptionError, match="one name"):
        compare_bags([request_], [one, one])
    with pytest.raises(OptionError, match="but a putter"):
        compare_bags([request_], [one, NamedBag("two", ("Putter",))])
    everything = tuple(club.label for club in request_.bag.clubs)
    with pytest.raises(OptionError, match="at most 14"):
        compare_bags([request_], [one, NamedBag("two", everything)])
