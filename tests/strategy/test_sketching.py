"""Sketches of solved holes against solving the hole again with fewer clubs."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
import shapely

from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.what_if import only_clubs
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.hole_sketch import HoleSketch
from planner.strategy.shot_evaluation import ShotEvaluator
from planner.strategy.sketching import SketchOptions, sketch_hole
from planner.strategy.solution import SolveOptions
from tests.strategy.builders import COARSE, box_hole, model_of, partial_swings, stock, swing

CLUBS = ("Wood", "Long iron", "Middle iron", "Short iron", "Wedge")
GREEN = shapely.box(205, -11, 228, 11)
FAIRWAY = shapely.box(20, -14, 205, 14)
POND = shapely.box(150, -40, 172, 2)
SAND = shapely.box(196, 11, 212, 26)
HOLE = box_hole(
    216.0,
    (Ground.FAIRWAY, FAIRWAY),
    (Ground.GREEN, GREEN),
    (Ground.RED, POND),
    (Ground.SAND, SAND),
)
TABLES = dataclasses.replace(COARSE, longest_runs=(15.0, 10.0, 10.0, 15.0))


def golfer() -> ShotModel:
    """Four full clubs and a wedge with partial swings; short mishits are in the spread."""
    full = [
        swing(club, carry, stock(carry, sd=(0.06 * carry, 0.055 * carry)))
        for club, carry in zip(CLUBS, (165.0, 142.0, 121.0, 98.0, 74.0), strict=True)
    ]
    return model_of(*full, *partial_swings(6.0, 12.0, 20.0, 30.0, 42.0, 57.0), putts=None)


@pytest.fixture(scope="module")
def levels():  # type: ignore[no-untyped-def]
    return build_levels(HOLE, TABLES)


def solved(levels, model):  # type: ignore[no-untyped-def]
    options = SolveOptions(tables=TABLES, tolerance=1e-4, count_penalties=False)
    return solve_hole(levels, model, options)


def tee_value(solution, solver) -> float:  # type: ignore[no-untyped-def]
    place = HOLE.tees[0].position_hole
    return ShotEvaluator(solution, solver).best_by_swing(place, Lie.TEE)[0].value


@pytest.fixture(scope="module")
def sketch(levels) -> HoleSketch:  # type: ignore[no-untyped-def]
    solution, solver = solved(levels, golfer())
    return sketch_hole(solution, solver, HOLE.tees[0], CLUBS)


def test_rises_are_those_of_solving_again(levels, sketch: HoleSketch) -> None:  # type: ignore[no-untyped-def]
    model = golfer()
    whole = tee_value(*solved(levels, model))
    assert sketch.value == pytest.approx(whole, abs=1e-6)
    rises, again = [], []
    for size in (1, 2):
        for gone in itertools.combinations(range(4), size):
            carried = np.array([i not in gone for i in range(5)])
            few = only_clubs(model, [club for i, club in enumerate(CLUBS) if carried[i]])
            rises.append(sketch.rise(carried))
            again.append(tee_value(*solved(levels, few)) - whole)
    off = np.array(rises) - np.array(again)
    assert max(again) > 0.1
    # Where several clubs are missing the golfer would aim otherwise, which a sketch cannot see:
    # it then tells too much, never too little.
    assert np.abs(off[:4]).max() < 0.005
    assert np.abs(off).max() < 0.03
    assert off.min() > -0.005
    assert np.corrcoef(rises, again)[0, 1] > 0.98


def test_more_clubs_are_never_worse(sketch: HoleSketch) -> None:
    value = {
        clubs: sketch.rise(np.isin(np.arange(5), clubs))
        for size in range(1, 6)
        for clubs in itertools.combinations(range(5), size)
        if 4 in clubs
    }
    assert value[0, 1, 2, 3, 4] == 0.0
    for clubs, rise in value.items():
        for gone in clubs[:-1]:
            assert value[tuple(club for club in clubs if club != gone)] >= rise - 1e-6


def test_shares_and_costs_are_sound(sketch: HoleSketch) -> None:
    shares = np.add.reduceat(
        np.append(sketch.share, 0.0), np.minimum(sketch.first_next[:-1], len(sketch.share))
    )
    empty = np.diff(sketch.first_next) == 0
    total = np.where(empty, 0.0, shares) + sketch.again
    assert (total <= 1.0 + 1e-9).all()
    assert (sketch.again < 1.0).all()
    assert (sketch.cost >= 0.0).all()
    # At every place something costs no more than the best.
    for place in range(sketch.places):
        span = slice(sketch.first_choice[place], sketch.first_choice[place + 1])
        assert sketch.cost[span].min() == pytest.approx(0.0, abs=1e-9)


def test_shots_of_a_round_add_up(sketch: HoleSketch) -> None:
    uses = sketch.uses(np.ones(5, dtype=bool))
    tee = sum(use.shots for use in uses if use.lie is Lie.TEE)
    # Nothing is out of bounds near this hole, so the tee shot is hardly ever played again.
    assert tee == pytest.approx(1.0, abs=0.01)
    shots = sum(use.shots for use in uses)
    # What is not putts or penalties of the expected score is shots.
    assert 1.5 < shots < sketch.value - 1.2


def test_the_same_seed_gives_the_same_sketch(levels, sketch: HoleSketch) -> None:  # type: ignore[no-untyped-def]
    solution, solver = solved(levels, golfer())
    again = sketch_hole(solution, solver, HOLE.tees[0], CLUBS)
    few = np.array([True, False, True, False, True])
    assert again.rise(few) == sketch.rise(few)
    other = sketch_hole(solution, solver, HOLE.tees[0], CLUBS, options=SketchOptions(seed=9))
    assert other.rise(few) == pytest.approx(sketch.rise(few), abs=0.01)


def test_a_price_of_penalties_is_refused(levels) -> None:  # type: ignore[no-untyped-def]
    options = SolveOptions(tables=TABLES, penalty_price=1.0, count_penalties=False)
    solution, solver = solve_hole(levels, golfer(), options)
    with pytest.raises(ValueError, match="fewest strokes"):
        sketch_hole(solution, solver, HOLE.tees[0], CLUBS)
