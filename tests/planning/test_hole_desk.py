"""Plans through the use cases: options that must help, results that must repeat."""

import dataclasses
import json
import threading

import pytest

from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.errors import OptionError
from planner.golfer.bag import read_bag
from planner.planning.hole_desk import open_hole
from planner.planning.request import PlanRequest
from planner.planning.round_plan import plan_round
from planner.report.plan_json import plan_as_json
from planner.strategy.solution import Cancelled


def request_for(course="pebblecote.geojson", golfer="odile", **options):
    return PlanRequest(
        read_course(demo_folder() / course), read_bag(demo_bag(golfer)), preview=True, **options
    )


@pytest.fixture(scope="module")
def links():
    return request_for("tarrowick.geojson", tee="red", holes=("4",))


@pytest.fixture(scope="module")
def plain(links):
    return open_hole(links, "4").plan


def test_local_rule_e5_is_an_option_only(links, plain):
    # Hole 4 runs along the boundary.
    found = open_hole(dataclasses.replace(links, local_rule_e5=True), "4").plan
    assert plain.best.shares.out_of_bounds > 0.005
    assert found.expected_strokes <= plain.expected_strokes + 1e-6


def test_fewest_penalties_stay_within_what_may_be_given_up(links, plain):
    found = open_hole(dataclasses.replace(links, aim_for="penalties", give_up=0.1), "4").plan
    assert found.expected_penalties <= plain.expected_penalties + 1e-3
    assert found.expected_strokes <= plain.expected_strokes + 0.1
    assert found.price_of_caution == pytest.approx(
        found.expected_strokes - plain.expected_strokes, abs=1e-6
    )


def test_same_input_gives_the_same_plan_with_every_number_known():
    request = request_for(holes=("1", "2"))
    first, second = (plan_as_json(plan_round(request)) for _ in range(2))
    assert json.dumps(first, allow_nan=False) == json.dumps(second, allow_nan=False)
    for hole in first["holes"]:
        assert hole["expected_penalties"] is not None
        assert hole["converged"]
        assert sum(v for k, v in hole["best"]["shares"].items() if k != "mishit") == pytest.approx(
            1.0, abs=1e-5
        )
        costs = [shot["cost"] for shot in hole["others"]]
        assert costs == sorted(costs)
        assert min(costs) >= 0


def test_every_hole_is_reported_and_a_stop_is_obeyed():
    told = []
    stop = threading.Event()

    def tell(progress):
        told.append(progress.done)
        if progress.done == 1:
            stop.set()

    with pytest.raises(Cancelled):
        plan_round(request_for(threads=1), progress=tell, cancelled=stop)
    assert told[0] == 0
    assert max(told) == 1


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"tee": "mauve"}, "mauve"),
        ({"holes": ("1", "19")}, "19"),
        ({"aim_for": "glory"}, "glory"),
        ({"clubs": ("Bent stick",)}, "Bent stick"),
        ({"give_up": -1.0}, "-1"),
    ],
)
def test_what_is_unknown_is_named(options, words):
    with pytest.raises(OptionError, match=words):
        plan_round(request_for(**options))
