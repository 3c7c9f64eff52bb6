"""What clubs are worth: closed forms, axioms, and agreement of draws with the exact value."""

from __future__ import annotations

import itertools
import math
import threading

import numpy as np
import pytest

from planner.strategy.club_worth import (
    leave_one_out,
    redundant_pairs,
    shapley_values,
    worth_of_adding,
)
from tests.strategy.bag_values import layered_value, nearest_club_value

TWINS = {"a": "long", "b": "long", "c": "short"}


def twins(clubs: frozenset[str]) -> float:
    """Two clubs for one job worth 4 strokes, one for another worth 1; d is never used."""
    jobs = {TWINS[club] for club in clubs if club in TWINS}
    return 80.0 - 4.0 * ("long" in jobs) - 1.0 * ("short" in jobs)


def test_left_out_one_by_one_twins_are_worth_nothing() -> None:
    bag = frozenset("abcd")
    assert leave_one_out(twins, bag) == {"a": 0.0, "b": 0.0, "c": 1.0, "d": 0.0}


def test_shapley_value_shares_what_twins_do() -> None:
    found = {one.club: one.strokes for one in shapley_values(twins, "abcd")}
    assert found == pytest.approx({"a": 2.0, "b": 2.0, "c": 1.0, "d": 0.0})


def by_permutations(value, players):  # type: ignore[no-untyped-def]
    """The definition: mean of what a club adds over every order."""
    total = dict.fromkeys(players, 0.0)
    orders = list(itertools.permutations(players))
    for order in orders:
        for i, club in enumerate(order):
            before = frozenset(order[:i])
            total[club] += value(before) - value(before | {club})
    return {club: total[club] / len(orders) for club in players}


@pytest.mark.parametrize("seed", range(6))
def test_exact_value_is_the_mean_over_all_orders(seed: int) -> None:
    labels, raw = layered_value(np.random.default_rng(seed), 6)

    def value(clubs: frozenset[str]) -> float:
        return raw(clubs) if clubs else 90.0

    found = {one.club: one.strokes for one in shapley_values(value, labels)}
    assert found == pytest.approx(by_permutations(value, labels))
    assert math.fsum(found.values()) == pytest.approx(90.0 - value(frozenset(labels)))


def test_from_some_clubs_up_only_larger_sets_count() -> None:
    labels, value = nearest_club_value(np.random.default_rng(2), 6)
    found = {one.club: one.strokes for one in shapley_values(value, labels, least=5)}
    assert found == pytest.approx(leave_one_out(value, frozenset(labels)))


def test_draws_agree_with_the_exact_value_within_their_error() -> None:
    labels, value = nearest_club_value(np.random.default_rng(4), 9, places=60)
    exact = shapley_values(value, labels, least=3)
    drawn = shapley_values(
        value, labels, least=3, most_exact=0, permutations=300, rng=np.random.default_rng(1)
    )
    off = [
        (one.strokes - other.strokes) / one.standard_error
        for one, other in zip(drawn, exact, strict=True)
    ]
    assert all(one.standard_error > 0 for one in drawn)
    assert max(map(abs, off)) < 4.0
    assert np.std(off) < 2.0


def test_draws_can_be_stopped() -> None:
    labels, value = nearest_club_value(np.random.default_rng(4), 9)
    stop = threading.Event()
    stop.set()
    found = shapley_values(value, labels, most_exact=0, permutations=1000, least=1, cancelled=stop)
    assert len(found) == 9
    assert found[0].standard_error > 0


@pytest.mark.parametrize("most_exact", [0, 1000])
def test_sets_that_cannot_play_do_not_count(most_exact: int) -> None:
    def value(clubs: frozenset[str]) -> float:
        return twins(clubs) if "d" in clubs else math.inf

    found = shapley_values(value, "abcd", most_exact=most_exact, permutations=200)
    worth = {one.club: one.strokes for one in found}
    assert all(math.isfinite(worth[club]) for club in "abc")
    assert math.isnan(worth["d"])


def test_clubs_that_are_always_there_get_no_share() -> None:
    found = shapley_values(twins, ("b", "c"), always=frozenset("a"))
    assert {one.club: one.strokes for one in found} == {"b": 0.0, "c": 1.0}


def test_pairs_that_stand_in_for_each_other_are_found() -> None:
    (pair,) = redundant_pairs(twins, frozenset("abcd"), nothing=0.01, something=0.1)
    assert (pair.first, pair.second) == ("a", "b")
    assert (pair.first_alone, pair.second_alone, pair.both) == (0.0, 0.0, 4.0)


def test_two_clubs_that_are_merely_cheap_are_no_pair() -> None:
    def value(clubs: frozenset[str]) -> float:
        return 80.0 - 0.02 * len(clubs)

    assert redundant_pairs(value, frozenset("abcd"), nothing=0.03, something=0.03) == ()


def test_a_further_club_goes_in_for_the_one_missed_least() -> None:
    saved, out = worth_of_adding(twins, frozenset("ab"), "c", limit=2)
    assert (saved, out) == (1.0, "a")
    saved, out = worth_of_adding(twins, frozenset("ab"), "c", limit=3)
    assert (saved, out) == (1.0, None)
    saved, out = worth_of_adding(twins, frozenset("ab"), "c", limit=2, fixed=frozenset("ab"))
    assert (saved, out) == (0.0, None)
