"""Sketches of holes: closed forms, the general Bellman equation, and exact monotony."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from planner.course.lies import Lie
from planner.strategy.bag_causes import hole_causes
from planner.strategy.bag_sketch import BagSketch
from planner.strategy.hole_sketch import ANY_BAG, HoleSketch, sketch_of


def bag(*clubs: int, of: int) -> np.ndarray:
    mask = np.zeros(of, dtype=bool)
    mask[list(clubs)] = True
    return mask


def random_sketch(seed: int, clubs: int = 4, places: int = 7) -> HoleSketch:
    """Places that lead to each other and, with some chance each time, to the green."""
    rng = np.random.default_rng(seed)
    choices = []
    for _ in range(places):
        cost = rng.gamma(0.7, 0.2, clubs)
        cost -= cost.min()
        options = []
        for club in range(clubs):
            there = rng.choice(places, 3, replace=False)
            share = rng.dirichlet(np.ones(4))[:3]
            options.append(
                (club, float(cost[club]), list(zip(there.tolist(), share.tolist(), strict=True)))
            )
        choices.append(options)
    return sketch_of("1", clubs, 4.5, choices)


def by_iteration(seed: int, carried: np.ndarray, places: int = 7, clubs: int = 4) -> np.ndarray:
    """The same sketch's Bellman equation by plain value iteration over its lists."""
    rng = np.random.default_rng(seed)
    table = []
    for _ in range(places):
        cost = rng.gamma(0.7, 0.2, clubs)
        cost -= cost.min()
        options = []
        for club in range(clubs):
            there = rng.choice(places, 3, replace=False)
            share = rng.dirichlet(np.ones(4))[:3]
            row = np.zeros(places)
            row[there] = share
            options.append((club, cost[club], row))
        table.append(options)
    rise = np.zeros(places)
    for _ in range(400):
        rise = np.array(
            [min(c + row @ rise for club, c, row in options if carried[club]) for options in table]
        )
    return rise


@pytest.mark.parametrize("seed", range(8))
def test_rises_solve_the_bellman_equation(seed: int) -> None:
    sketch = random_sketch(seed)
    for size in (1, 2, 3):
        for clubs in itertools.combinations(range(4), size):
            carried = bag(*clubs, of=4)
            assert sketch.rises(carried) == pytest.approx(by_iteration(seed, carried), abs=2e-6)


def test_with_every_club_nothing_rises() -> None:
    sketch = random_sketch(3)
    assert (sketch.rises(bag(0, 1, 2, 3, of=4)) == 0.0).all()


def test_fewer_clubs_never_do_better() -> None:
    for seed in range(20):
        sketch = random_sketch(seed, clubs=5)
        value = {
            clubs: sketch.rise(bag(*clubs, of=5))
            for size in range(1, 6)
            for clubs in itertools.combinations(range(5), size)
        }
        for clubs, rise in value.items():
            for gone in clubs:
                fewer = tuple(club for club in clubs if club != gone)
                if fewer:
                    assert value[fewer] >= rise - 1e-6


def test_one_place_that_is_played_again() -> None:
    """A shot that costs 0.3 more and is repeated with chance p costs 0.3 / (1 - p) in all."""
    sketch = sketch_of("1", 2, 3.0, [[(0, 0.0, []), (1, 0.3, [(0, 0.4)])]])
    assert sketch.rise(bag(0, 1, of=2)) == 0.0
    assert sketch.rise(bag(1, of=2)) == pytest.approx(0.3 / 0.6)
    (use,) = sketch.uses(bag(1, of=2))
    assert use.shots == pytest.approx(1 / 0.6)
    assert use.shots * use.lost == pytest.approx(sketch.rise(bag(1, of=2)))


def test_a_place_without_a_shot_cannot_be_played_unless_it_can_be_lifted() -> None:
    stuck = sketch_of("1", 2, 4.0, [[(0, 0.0, [(1, 1.0)])], [(1, 0.0, [])]])
    assert math.isinf(stuck.rise(bag(0, of=2)))
    lifted = sketch_of("1", 2, 4.0, [[(0, 0.0, [(1, 1.0)])], [(1, 0.0, []), (ANY_BAG, 0.8, [])]])
    assert lifted.rise(bag(0, of=2)) == pytest.approx(0.8)


def test_costs_of_the_shots_add_up_to_the_rise() -> None:
    for seed in range(10):
        sketch = random_sketch(seed)
        for clubs in ((0, 1), (2, 3), (0, 2, 3)):
            carried = bag(*clubs, of=4)
            lost = math.fsum(use.shots * use.lost for use in sketch.uses(carried))
            assert lost == pytest.approx(sketch.rise(carried), abs=2e-6)


def test_the_needed_clubs_do_as_well_as_all() -> None:
    twins = [[(0, 0.0, []), (1, 0.0, []), (2, 0.4, [])], [(2, 0.0, []), (ANY_BAG, 0.0, [])]]
    sketch = sketch_of("1", 3, 3.0, twins)
    assert sketch.needed().tolist() == [True, False, False]
    for seed in range(6):
        sketch = random_sketch(seed, clubs=6)
        assert (sketch.rises(sketch.needed()) == 0.0).all()


def test_a_round_without_either_of_two_equal_clubs_is_dearer() -> None:
    sketch = sketch_of("1", 3, 3.0, [[(0, 0.0, []), (1, 0.0, []), (2, 0.4, [])]])
    rounds = BagSketch(("a", "b", "c"), [sketch], [1.0])
    assert rounds(frozenset("bc")) == pytest.approx(3.0)
    assert rounds(frozenset("c")) == pytest.approx(3.4)
    assert math.isinf(rounds(frozenset()))


def test_a_warm_start_from_a_larger_bag_comes_to_the_same() -> None:
    sketch = random_sketch(6)
    start = sketch.rises(bag(0, 1, 2, of=4))
    assert sketch.rises(bag(0, 1, of=4), start) == pytest.approx(
        sketch.rises(bag(0, 1, of=4)), abs=2e-6
    )


def test_a_round_adds_its_holes_up() -> None:
    first, second = random_sketch(1), random_sketch(2)
    rounds = BagSketch(("a", "b", "c", "d"), [first, second], [1.0, 0.5])
    few = frozenset({"a", "c", "Putter"})
    carried = bag(0, 2, of=4)
    assert rounds.best == pytest.approx(1.5 * 4.5)
    assert rounds(few) == pytest.approx(
        rounds.best + first.rise(carried) + 0.5 * second.rise(carried)
    )
    shots = {use.club: use.shots for use in rounds.uses(few)}
    assert set(shots) == {"a", "c"}
    expected = math.fsum(use.shots for use in first.uses(carried))
    expected += 0.5 * math.fsum(use.shots for use in second.uses(carried))
    assert math.fsum(shots.values()) == pytest.approx(expected)


def test_causes_name_the_tee_shot_that_makes_the_difference() -> None:
    base = sketch_of("1", 3, 4.0, [[(0, 0.0, [(1, 1.0)]), (1, 0.25, [(1, 1.0)])], [(2, 0.0, [])]])
    lie = np.array([int(Lie.TEE), int(Lie.FAIRWAY)], dtype=np.int8)
    sketch = HoleSketch(**{**vars(base), "lie": lie, "distance_m": np.array([350.0, 130.0])})
    labels = ("Driver", "5 wood", "7 iron")
    (cause,) = hole_causes(sketch, labels, bag(0, 2, of=3), bag(1, 2, of=3))
    assert (cause.where, cause.first, cause.second) == ("tee", "Driver", "5 wood")
    assert cause.strokes == pytest.approx(0.25)
