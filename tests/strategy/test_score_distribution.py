"""Score arithmetic against closed forms, enumeration and the Rules."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from planner.strategy.score_distribution import (
    MASS_TOLERANCE,
    ScoreDistribution,
    certain,
    convolve,
    distribution,
    mixture,
)
from planner.strategy.scoring_forms import (
    net_double_bogey,
    net_scores,
    stableford_points,
    stableford_points_of,
    with_maximum,
)


@st.composite
def distributions(draw: st.DrawFn, *, remainders: bool = True) -> ScoreDistribution:
    """Chances of at most seven scores from 1 to 5 on, now and then with a remainder."""
    weights = draw(st.lists(st.integers(0, 9), min_size=1, max_size=7))
    rest = draw(st.integers(0, 3)) if remainders else 0
    if sum(weights) == 0:
        weights[0] = 1
    total = sum(weights) + rest
    chances = np.array(weights) / total
    return distribution(chances, first=draw(st.integers(1, 5)), remainder=rest / total)


def outcomes(score: ScoreDistribution) -> list[tuple[int, float]]:
    return list(zip(score.scores.tolist(), score.chances.tolist(), strict=True))


def full(score: ScoreDistribution, low: int, high: int) -> list[float]:
    return [score.chance(value) for value in range(low, high)]


def test_target_with_success_at_every_stroke_is_geometric() -> None:
    # Success p at each stroke: mean 1/p, variance (1-p)/p^2 (geometric distribution).
    p = 0.3
    strokes = np.arange(1, 120)
    score = distribution(p * (1 - p) ** (strokes - 1), first=1)
    assert score.mean == pytest.approx(1 / p, abs=1e-12)
    assert score.variance == pytest.approx((1 - p) / p**2, abs=1e-9)
    assert score.remainder == pytest.approx((1 - p) ** 119, rel=1e-2, abs=1e-15)
    assert score.chance_at_most(4) == pytest.approx(1 - (1 - p) ** 4, abs=1e-14)


def test_eighteen_geometric_holes_are_negative_binomial() -> None:
    # The sum of 18 geometric scores is negative binomial with 18 successes.
    p = 0.25
    hole = distribution(p * (1 - p) ** np.arange(150), first=1)
    total = convolve([hole] * 18)
    scores = np.arange(18, 130)
    exact = stats.nbinom.pmf(scores - 18, 18, p)
    assert np.allclose([total.chance(int(s)) for s in scores], exact, rtol=1e-10, atol=0.0)


def test_coin_holes_are_binomial() -> None:
    hole = distribution([0.4, 0.6], first=4)
    total = convolve([hole] * 18)
    assert (total.least, total.greatest, total.remainder) == (72, 90, 0.0)
    assert np.allclose(total.chances, stats.binom.pmf(np.arange(19), 18, 0.6), atol=1e-15)
    assert total.chance_of_breaking(80) == pytest.approx(stats.binom.cdf(7, 18, 0.6), abs=1e-14)
    assert total.chance_at_least(80) == pytest.approx(stats.binom.sf(7, 18, 0.6), abs=1e-14)
    assert total.quantile(0.5) == 72 + int(stats.binom.ppf(0.5, 18, 0.6))
    assert total.sd == pytest.approx(math.sqrt(18 * 0.4 * 0.6))


@given(st.lists(distributions(), min_size=1, max_size=4))
def test_mass_adds_up_with_the_remainder(parts: list[ScoreDistribution]) -> None:
    total = convolve(parts)
    assert float(total.chances.sum()) + total.remainder == pytest.approx(1.0, abs=1e-12)
    followed = math.prod(1 - part.remainder for part in parts)
    assert total.remainder == pytest.approx(1 - followed, abs=1e-12)


@given(distributions(), distributions(), distributions())
def test_order_of_holes_does_not_matter(
    one: ScoreDistribution, two: ScoreDistribution, three: ScoreDistribution
) -> None:
    forth, back = convolve([one, two, three]), convolve([three, two, one])
    pairs = convolve([one, convolve([two, three])])
    for other in (back, pairs):
        assert (other.first, other.remainder_from) == (forth.first, forth.remainder_from)
        assert np.allclose(other.chances, forth.chances, atol=1e-14)


@given(st.lists(distributions(remainders=False), min_size=1, max_size=4))
def test_total_is_that_of_enumeration(parts: list[ScoreDistribution]) -> None:
    expected: dict[int, float] = {}
    for card in itertools.product(*(outcomes(part) for part in parts)):
        total = sum(score for score, _ in card)
        expected[total] = expected.get(total, 0.0) + math.prod(chance for _, chance in card)
    found = convolve(parts)
    assert all(abs(found.chance(s) - c) < 1e-13 for s, c in expected.items())
    assert sum(expected.values()) == pytest.approx(float(found.chances.sum()), abs=1e-12)


@given(st.lists(distributions(), min_size=1, max_size=3), st.integers(0, 40))
def test_told_chances_hold_wherever_the_remainder_ends(
    parts: list[ScoreDistribution], target: int
) -> None:
    """Put every remainder at its least, and far out: both lie within what is told."""
    total = convolve(parts)
    for beyond in (0, 60):
        resolved = []
        for part in parts:
            rows = np.zeros(part.remainder_from + beyond + 1)
            rows[part.first : part.first + len(part.chances)] = part.chances
            rows[-1] += part.remainder
            resolved.append(distribution(rows))
        exact = convolve(resolved)
        low, high = total.chance_at_most(target), total.most_chance_at_most(target)
        assert low - 1e-12 <= exact.chance_at_most(target) <= high + 1e-12
        assert total.chance_at_least(target) <= exact.chance_at_least(target) + 1e-12
        assert total.mean <= exact.mean + 1e-9


def test_remainder_of_a_sum_starts_where_one_hole_is_open() -> None:
    open_hole = distribution([0.5, 0.4], first=3)
    total = convolve([open_hole, distribution([0.5, 0.5], first=4)])
    assert open_hole.remainder == pytest.approx(0.1)
    assert (open_hole.remainder_from, total.remainder_from) == (5, 9)
    assert total.remainder == pytest.approx(0.1)
    assert total.chance_at_most(8) == pytest.approx(0.9 - 0.4 * 0.5)
    assert total.chance_at_least(9) == pytest.approx(0.1 + 0.4 * 0.5)


def test_quantile_in_the_remainder_is_refused() -> None:
    score = distribution([0.5, 0.4], first=3)
    assert score.quantile(0.9) == 4
    with pytest.raises(ValueError, match="remainder"):
        score.quantile(0.95)
    with pytest.raises(ValueError, match="share"):
        score.quantile(0.0)


@pytest.mark.parametrize(
    "make",
    [
        lambda: distribution([0.5, 0.6]),
        lambda: distribution([0.5, 0.4], remainder=0.0),
        lambda: distribution([1.1, -0.1]),
        lambda: distribution([math.nan, 1.0]),
        lambda: distribution([]),
        lambda: distribution([1.0], remainder=-0.5),
        lambda: mixture([0.5, 0.6], [certain(1), certain(2)]),
        lambda: mixture([1.0], [certain(1), certain(2)]),
    ],
)
def test_lost_chances_are_found(make: object) -> None:
    with pytest.raises(ValueError, match=r"chances|remainder|weights|finite"):
        make()  # type: ignore[operator]


def test_rounding_is_no_remainder() -> None:
    thirds = distribution([1 / 3, 1 / 3, 1 / 3 - 1e-15])
    assert thirds.remainder == 0.0
    assert distribution([0.0, 1.0 + MASS_TOLERANCE / 2]).remainder == 0.0


def test_chances_cannot_be_changed() -> None:
    source = np.array([0.5, 0.5])
    score = distribution(source)
    source[0] = 0.0
    assert score.chance(0) == 0.5
    with pytest.raises(ValueError, match="read-only"):
        score.chances[0] = 0.0


def test_mixture() -> None:
    mixed = mixture([0.25, 0.75], [certain(4), distribution([0.2, 0.6], first=5)])
    assert full(mixed, 4, 7) == pytest.approx([0.25, 0.15, 0.45])
    assert (mixed.remainder, mixed.remainder_from) == (pytest.approx(0.15), 7)


@given(distributions(), st.integers(1, 14))
def test_maximum_score(score: ScoreDistribution, maximum: int) -> None:
    capped = score.capped(maximum)
    assert capped.greatest <= maximum
    for value in range(maximum):
        assert capped.chance(value) == score.chance(value)
    if score.remainder_from >= maximum:
        assert capped.remainder == 0.0
        assert capped.chance_at_least(maximum) == pytest.approx(
            1.0 - math.fsum(full(score, 0, maximum)), abs=1e-12
        )
    else:
        assert capped.remainder == score.remainder


def test_maximum_of_twice_par_by_hand() -> None:
    # Rule 21.2: a player gets only the maximum even if the actual score exceeds it.
    hole = distribution([0.1, 0.2, 0.3, 0.2, 0.1], first=3)
    (capped,) = with_maximum([hole], [6])
    assert full(capped, 3, 8) == pytest.approx([0.1, 0.2, 0.3, 0.4, 0.0])
    assert capped.remainder == 0.0


def test_net_double_bogey_follows_strokes_received() -> None:
    hole = distribution(np.full(12, 1 / 12), first=1)
    with_stroke, without, first_scores, plus = net_double_bogey(
        [hole] * 4, [4, 4, 4, 4], [1, 0, None, -1]
    )
    assert [d.greatest for d in (with_stroke, without, first_scores, plus)] == [7, 6, 9, 5]
    assert with_stroke.chance(7) == pytest.approx(6 / 12)


@pytest.mark.parametrize(
    ("over", "points"), [(3, 0), (2, 0), (1, 1), (0, 2), (-1, 3), (-2, 4), (-3, 5), (-4, 6)]
)
def test_points_of_the_rules_table(over: int, points: int) -> None:
    # Rules of Golf 2023, 21.1b(1).
    assert stableford_points_of(5 + over, 5) == points
    assert stableford_points_of(5 + over + 1, 5, received=1) == points


@given(
    st.lists(
        st.tuples(distributions(remainders=False), st.integers(3, 5), st.integers(-1, 2)),
        min_size=1,
        max_size=3,
    )
)
def test_stableford_is_that_of_enumeration(
    holes: list[tuple[ScoreDistribution, int, int]],
) -> None:
    expected: dict[int, float] = {}
    for card in itertools.product(*(outcomes(score) for score, _, _ in holes)):
        points = sum(
            stableford_points_of(score, par, received=received)
            for (score, _), (_, par, received) in zip(card, holes, strict=True)
        )
        expected[points] = expected.get(points, 0.0) + math.prod(chance for _, chance in card)
    total = convolve(
        stableford_points(score, par, received=received) for score, par, received in holes
    )
    assert all(abs(total.chance(p) - c) < 1e-13 for p, c in expected.items())
    assert total.remainder == 0.0


def test_open_scores_count_no_points() -> None:
    hole = distribution([0.0, 0.0, 0.0, 0.1, 0.5, 0.2, 0.1])
    points = stableford_points(hole, 4)
    assert full(points, 0, 4) == pytest.approx([0.1 + 0.1, 0.2, 0.5, 0.1])
    with pytest.raises(ValueError, match="followed to 8"):
        stableford_points(hole, 4, received=2)


def test_net_scores() -> None:
    (net,) = net_scores([distribution([0.5, 0.4], first=4)], [1])
    assert (net.first, net.remainder_from) == (3, 5)
