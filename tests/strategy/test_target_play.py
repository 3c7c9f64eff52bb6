"""Strokes in hand across holes against all policies of small explicit problems."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.strategy.score_distribution import ScoreDistribution, convolve, distribution
from planner.strategy.score_worth import ScoreWorth
from planner.strategy.target_play import best_chances


class Choices:
    """A hole as a choice among scores with known chances; the first is the plan."""

    def __init__(self, *ways: ScoreDistribution) -> None:
        self.ways = ways

    @property
    def score(self) -> ScoreDistribution:
        return self.ways[0]

    def best(self, worth: ScoreWorth, *, follow: int, first: int, last: int) -> np.ndarray:
        assert follow <= first <= last
        in_hand = np.arange(first, last + 1)
        return np.max([worth.expected(way, in_hand) for way in self.ways], axis=0)


SAFE = distribution([0.1, 0.7, 0.2], first=3)
BOLD = distribution([0.35, 0.25, 0.15, 0.25], first=3)
LONG = distribution([0.3, 0.5, 0.2], first=4)


def by_all_policies(holes: list[Choices], target: int) -> float:
    """Best chance over every policy: a way for each hole and each total so far."""

    def totals(played: int) -> list[int]:
        low = sum(min(way.first for way in hole.ways) for hole in holes[:played])
        high = sum(max(way.greatest for way in hole.ways) for hole in holes[:played])
        return list(range(low, high + 1))

    places = [(h, total) for h in range(len(holes)) for total in totals(h)]
    best = 0.0
    for ways in itertools.product(*(range(len(holes[h].ways)) for h, _ in places)):
        policy = dict(zip(places, ways, strict=True))
        standing = {0: 1.0}
        for h, hole in enumerate(holes):
            after: dict[int, float] = {}
            for total, chance in standing.items():
                way = hole.ways[policy[h, total]]
                for score, share in zip(way.scores.tolist(), way.chances.tolist(), strict=True):
                    after[total + score] = after.get(total + score, 0.0) + chance * share
            standing = after
        best = max(best, sum(chance for total, chance in standing.items() if total <= target))
    return best


@pytest.mark.parametrize("target", range(9, 16))
def test_against_every_policy(target):
    holes = [Choices(SAFE, BOLD), Choices(LONG), Choices(SAFE, BOLD)]
    found = best_chances(holes, target)
    assert found.chance == pytest.approx(by_all_policies(holes, target), abs=1e-12)


@pytest.mark.parametrize("target", range(8, 19))
def test_a_single_policy_has_the_chances_of_the_convolution(target):
    holes = [Choices(SAFE), Choices(LONG), Choices(BOLD)]
    found = best_chances(holes, target)
    known = convolve([SAFE, LONG, BOLD]).chance_at_most(target)
    assert found.chance == pytest.approx(known, abs=1e-12)
    assert found.chance_planned == pytest.approx(known, abs=1e-12)


chances = st.lists(st.floats(0.01, 1.0), min_size=2, max_size=4).map(
    lambda weights: distribution(np.array(weights) / sum(weights), first=3)
)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.lists(chances, min_size=1, max_size=3), min_size=1, max_size=5))
def test_more_strokes_in_hand_never_hurt_and_a_choice_never_does(ways):
    holes = [Choices(*few) for few in ways]
    found = [best_chances(holes, target) for target in range(3 * len(holes) - 1, 7 * len(holes))]
    chances = [one.chance for one in found]
    assert np.all(np.diff(chances) >= -1e-12)
    for one in found:
        assert one.gain >= -1e-12
        assert np.all(np.diff(one.best, axis=1) >= -1e-12)
        assert np.all(one.best >= one.plan - 1e-12)


def test_behind_the_bold_way_is_taken():
    holes = [Choices(SAFE, BOLD)]
    assert best_chances(holes, 3).chance == pytest.approx(0.35)
    assert best_chances(holes, 4).chance == pytest.approx(0.8)
    assert best_chances(holes, 3).gain == pytest.approx(0.25)


def test_who_stands_where_is_counted():
    found = best_chances([Choices(SAFE), Choices(LONG)], 9)
    assert found.of(found.reach, 1, 9 - 4) == pytest.approx(0.7)
    assert found.of(found.reach, 2, 9 - 7) == pytest.approx(0.1 * 0.3)
    assert found.solved == ((9, 9), (4, 5))
