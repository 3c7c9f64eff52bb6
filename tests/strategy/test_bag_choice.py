"""The best set of clubs: brute force agrees, bounds are admissible, certificates are true."""

from __future__ import annotations

import itertools
import math
import threading

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import OptionError
from planner.strategy.bag_bounds import BagProblem, pair_bound, single_bound
from planner.strategy.bag_choice import ChoiceOptions, Remembered, SearchState, choose_bag
from tests.strategy.bag_values import (
    best_by_force,
    layered_value,
    nearest_club_value,
    random_problem,
)

VALUES = (nearest_club_value, layered_value)


@pytest.mark.parametrize("kind", [0, 1])
@pytest.mark.parametrize("priced", [False, True])
@pytest.mark.parametrize("block", range(6))
def test_brute_force_agrees(kind: int, priced: bool, block: int) -> None:
    proven = 0
    for seed in range(40 * block, 40 * block + 40):
        rng = np.random.default_rng(seed)
        labels, value = VALUES[kind](rng, int(rng.integers(2, 9)))
        problem = random_problem(rng, labels, priced=priced)
        best = best_by_force(problem, value)
        if math.isinf(best):
            with pytest.raises(OptionError):
                choose_bag(problem, value)
            continue
        found = choose_bag(problem, value)
        assert problem.allows(found.best)
        assert found.value == value(found.best)
        assert found.value == pytest.approx(best, abs=2e-6), seed
        assert found.proven
        assert found.gap <= 1e-6 + 1e-12
        assert found.bound <= best + 1e-12
        proven += 1
    assert proven > 20


@pytest.mark.parametrize("pairs_from", [2, 99])
def test_places_without_a_shot_are_no_obstacle(pairs_from: int) -> None:
    for seed in range(60):
        rng = np.random.default_rng(1000 + seed)
        labels, value = nearest_club_value(rng, 8, unplayable=0.5)
        problem = BagProblem(labels, 5)
        best = best_by_force(problem, value)
        options = ChoiceOptions(pairs_from=pairs_from)
        if math.isinf(best):
            with pytest.raises(OptionError, match="no allowed set"):
                choose_bag(problem, value, options=options)
        else:
            assert choose_bag(problem, value, options=options).value == pytest.approx(best)


@settings(deadline=None, max_examples=60)
@given(seed=st.integers(0, 10_000), clubs=st.integers(3, 8))
def test_no_completion_is_worth_less_than_a_bound(seed: int, clubs: int) -> None:
    rng = np.random.default_rng(seed)
    labels, value = VALUES[seed % 2](rng, clubs)
    everything = frozenset(labels)
    removals = int(rng.integers(1, clubs))
    singles = {club: value(everything - {club}) for club in labels}
    pairs = np.array([[value(everything - {one, other}) for other in labels] for one in labels])
    best = min(
        value(everything - frozenset(gone)) for gone in itertools.combinations(labels, removals)
    )
    assert single_bound(singles.values(), removals) <= best + 1e-12
    assert pair_bound(pairs, removals) <= best + 1e-12
    if removals >= 2:
        assert pair_bound(pairs, removals) >= single_bound(singles.values(), removals) - 1e-12


def test_a_stopped_search_has_the_best_so_far_and_a_true_bound() -> None:
    for evaluations in (1, 2, 5, 20, 60, 200):
        for seed in range(12):
            rng = np.random.default_rng(seed)
            labels, value = nearest_club_value(rng, 9)
            problem = BagProblem(labels, 5)
            best = best_by_force(problem, value)
            options = ChoiceOptions(most_evaluations=evaluations)
            start = [frozenset(labels[:5])]
            if evaluations < 2:
                with pytest.raises(OptionError, match="stopped"):
                    choose_bag(problem, value, start=start, options=options)
                continue
            found = choose_bag(problem, value, start=start, options=options)
            assert found.bound <= best + 1e-12
            assert best - 1e-12 <= found.value
            assert found.evaluations <= evaluations
            if found.proven:
                assert found.value == pytest.approx(best, abs=2e-6)


def test_a_cancelled_search_returns_what_it_was_given() -> None:
    labels, value = nearest_club_value(np.random.default_rng(3), 9)
    stop = threading.Event()

    def counted(clubs: frozenset[str]) -> float:
        if len(clubs) == 5:
            stop.set()
        return value(clubs)

    start = frozenset(labels[:5])
    found = choose_bag(BagProblem(labels, 5), counted, start=[start], cancelled=stop)
    assert found.best == start
    assert not found.proven
    assert found.bound == value(frozenset(labels))


def test_incumbent_falls_and_bound_rises_as_it_runs() -> None:
    labels, value = nearest_club_value(np.random.default_rng(11), 11, places=60)
    states: list[SearchState] = []
    found = choose_bag(BagProblem(labels, 6), value, report=states.append)
    values = [state.value for state in states]
    bounds = [state.bound for state in states]
    assert values == sorted(values, reverse=True)
    assert bounds == sorted(bounds)
    assert all(state.bound <= found.value for state in states)
    assert states[-1].stage == "done"
    assert len({state.stage for state in states}) >= 4


def test_greedy_and_swaps_need_the_proof_at_times() -> None:
    """The proof is no decoration: some searches end better than what was swapped together."""
    better = 0
    for seed in range(80):
        labels, value = layered_value(np.random.default_rng(seed), 9)
        last: dict[str, float] = {}

        def keep(state: SearchState, last: dict[str, float] = last) -> None:
            last[state.stage] = state.value

        found = choose_bag(BagProblem(labels, 4), value, report=keep)
        better += found.value < last["swapping clubs"] - 1e-6
    assert better > 0


def test_values_are_worked_out_once_and_shared() -> None:
    labels, value = nearest_club_value(np.random.default_rng(5), 9)
    asked: list[frozenset[str]] = []

    def counted(clubs: frozenset[str]) -> float:
        asked.append(clubs)
        return value(clubs)

    known = Remembered(counted)
    first = choose_bag(BagProblem(labels, 5), known)
    assert len(asked) == len(set(asked)) == known.evaluations == first.evaluations
    again = choose_bag(BagProblem(labels, 5), known)
    assert again.evaluations == 0
    assert again.best == first.best


def test_far_fewer_sets_are_valued_than_there_are() -> None:
    labels, value = nearest_club_value(np.random.default_rng(1), 17, places=300)
    found = choose_bag(BagProblem(labels, 13), value)
    assert found.proven
    assert found.evaluations < 0.5 * math.comb(17, 13)


def test_of_equal_sets_the_cheaper_is_taken() -> None:
    def value(clubs: frozenset[str]) -> float:
        return 70.0 - min(len(clubs), 2)

    price = {"a": 50.0, "b": 0.0, "c": 10.0, "d": 0.0}
    found = choose_bag(BagProblem(("a", "b", "c", "d"), 2, price=price), value)
    assert found.value == 68.0
    assert BagProblem(("a",), 1, price=price).cost(found.best) <= 10.0


def test_runners_up_are_allowed_and_in_order() -> None:
    labels, value = nearest_club_value(np.random.default_rng(8), 9)
    problem = BagProblem(labels, 5, forced_in=frozenset({"c0"}))
    found = choose_bag(problem, value, runners_up=5)
    values = [worth for _, worth in found.runners_up]
    assert len(values) == 5
    assert values == sorted(values)
    assert values[0] >= found.value
    assert all(problem.allows(clubs) for clubs, _ in found.runners_up)


def test_problems_that_cannot_be_are_refused() -> None:
    with pytest.raises(OptionError, match="1 iron"):
        BagProblem(("a", "b"), 1, forced_in=frozenset({"1 iron"}))
    with pytest.raises(OptionError, match="forced in and out"):
        BagProblem(("a", "b"), 1, forced_in=frozenset("a"), forced_out=frozenset("a"))
    with pytest.raises(OptionError, match="2 clubs are forced in"):
        BagProblem(("a", "b"), 1, forced_in=frozenset("ab"))
    with pytest.raises(OptionError, match="budget"):
        BagProblem(("a",), 1, forced_in=frozenset("a"), price={"a": 9.0}, budget=5.0)
    with pytest.raises(OptionError, match="no club"):
        BagProblem(("a",), 0)
    with pytest.raises(ValueError, match="once"):
        BagProblem(("a", "a"), 1)
    with pytest.raises(ValueError, match="negative"):
        BagProblem(("a",), 1, price={"a": -1.0})


def test_removals_count_money_and_places() -> None:
    price = {"a": 30.0, "b": 20.0, "c": 10.0}
    problem = BagProblem(("a", "b", "c", "d"), 3, price=price, budget=25.0)
    everything = frozenset("abcd")
    # 60 is 35 too much: without a and b it is 10.
    assert problem.least_removals(everything, frozenset()) == 2
    assert problem.least_removals(everything, frozenset("a")) is None
    assert problem.least_removals(frozenset("bd"), frozenset()) == 0
    assert BagProblem(("a", "b", "c", "d"), 1).least_removals(everything, frozenset()) == 3
