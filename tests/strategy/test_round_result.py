"""A round's result, and the handicap index that such rounds lead to."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from planner.golfer.handicap import (
    CourseRating,
    course_handicap,
    score_differential,
    strokes_received,
)
from planner.strategy.held_index import adjusted_total, held_index
from planner.strategy.round_result import HoleScore, RoundScore, round_score
from planner.strategy.score_distribution import certain, distribution, mixture
from planner.strategy.scoring_forms import round_points, round_with_maximum

RATING = CourseRating(71.2, 125)
PARS = (4, 4, 3, 5, 4, 4, 3, 4, 5) * 2


def holes(over: float = 1.1) -> list[HoleScore]:
    """Eighteen holes with a Poisson number of strokes over one under par."""
    found = []
    for number, par in enumerate(PARS, start=1):
        chances = stats.poisson.pmf(np.arange(60) - (par - 1), 1.0 + over)
        score = distribution(chances)
        found.append(HoleScore(str(number), par, score, number, 0.1, 1.9, 0.5, 0.4))
    return found


def test_round_adds_up() -> None:
    score = round_score(holes(), target=90)
    assert score.par == 72
    # Poisson scores add to a Poisson score.
    mean = 18 * 2.1
    assert score.expected == pytest.approx(72 - 18 + mean, abs=1e-9)
    assert score.total.sd == pytest.approx(math.sqrt(mean), abs=1e-6)
    assert score.chance_of_target == pytest.approx(stats.poisson.cdf(90 - 54, mean), abs=1e-9)
    assert score.chance_of_par == pytest.approx(stats.poisson.cdf(18, mean), abs=1e-9)
    assert score.total.chance_of_breaking(100) == pytest.approx(stats.poisson.cdf(45, mean))
    assert score.penalties == pytest.approx(1.8)
    assert score.putts == pytest.approx(34.2)
    assert score.greens == pytest.approx(7.2)
    assert score.holes[0].chance_over_par(-1, 1) == pytest.approx(stats.poisson.cdf(2, 2.1))


def test_what_was_not_counted_is_not_known() -> None:
    rows = holes()
    rows[3] = replace(rows[3], putts=math.nan, fairway=math.nan)
    score = round_score(rows)
    assert math.isnan(score.putts)
    assert math.isnan(score.chance_of_target)
    assert score.fairways == (pytest.approx(8.5), 17)
    with pytest.raises(ValueError, match="at least one hole"):
        round_score([])


def test_a_golfer_who_always_plays_the_same_holds_that_differential() -> None:
    score = round_score(
        [HoleScore(str(i), par, certain(par + 1), i) for i, par in enumerate(PARS, start=1)]
    )
    found = held_index(score, RATING)
    assert found.index.mean == score_differential(90, RATING) == 17.0
    assert found.course_handicap == course_handicap(17.0, RATING, 72) == 18
    assert found.average_over == 0.0
    assert found.plays_to_it == 1.0


def test_index_and_net_double_bogey_agree() -> None:
    score = round_score(holes())
    found = held_index(score, RATING)
    again = adjusted_total(score, found.course_handicap)
    assert np.array_equal(again.chances, found.adjusted.chances)
    assert found.adjusted.mean < score.expected


def test_average_round_is_as_far_over_the_handicap_as_published() -> None:
    # About 3 over on average, and 20 to 25 of 100 rounds that play to it (Knuth, USGA); 2 to 5
    # over, and 15 to 20 of 100 (USGA, Local Guidance for Rule 6). For a round of usual spread.
    rows = [
        replace(hole, score=mixture([0.3, 0.7], [hole.score, certain(hole.par + 1)]))
        for hole in holes()
    ]
    score = round_score(rows)
    assert 3.0 < score.total.sd < 4.0
    found = held_index(score, RATING)
    assert 2.0 < found.average_over < 5.0
    assert 0.15 < found.plays_to_it < 0.25


def test_form_makes_the_index_lower_and_rarer_to_play_to() -> None:
    steady = held_index(round_score(holes()), RATING)
    moody = held_index(round_score(holes(), form_sd=3.0), RATING)
    assert moody.index.mean < steady.index.mean - 0.3
    assert moody.average_over > steady.average_over


def test_first_scores_count_to_par_and_five() -> None:
    first = adjusted_total(round_score(holes()), None)
    assert first.greatest == 72 + 5 * 18
    assert first.remainder == 0.0


def without_index(score: RoundScore) -> RoundScore:
    return replace(score, holes=tuple(replace(hole, stroke_index=None) for hole in score.holes))


def test_index_needs_eighteen_holes_with_stroke_indices() -> None:
    score = round_score(holes())
    with pytest.raises(ValueError, match="no stroke index on hole 1, 2"):
        held_index(without_index(score), RATING)
    with pytest.raises(ValueError, match="18 holes, got 9"):
        held_index(round_score(holes()[:9]), RATING)


def test_index_needs_scores_followed_far_enough() -> None:
    rows = holes()
    chances = np.array([rows[0].score.chance(s) for s in range(5)])
    rows[0] = replace(rows[0], score=distribution(chances))
    with pytest.raises(ValueError, match="net double bogey"):
        held_index(round_score(rows), RATING)


def test_points_of_a_round_who_always_makes_bogey() -> None:
    score = round_score(
        [HoleScore(str(i), par, certain(par + 1), i) for i, par in enumerate(PARS, start=1)]
    )
    # One point a hole, and two with a stroke (Rule 21.1b).
    assert round_points(score, [0] * 18).chance(18) == 1.0
    assert round_points(score, strokes_received(12, range(1, 19))).chance(30) == 1.0


def test_points_and_strokes_of_a_round_add_up_where_no_hole_goes_wrong() -> None:
    # Without scores above net double bogey every stroke fewer is a point more: points = 36 + par
    # + received - total.
    rows = [
        replace(hole, score=distribution([0.2, 0.5, 0.3], first=hole.par - 1)) for hole in holes()
    ]
    score = round_score(rows, form_sd=1.5)
    points = round_points(score, [1] * 18)
    for total in range(54, 91):
        assert points.chance(36 + 72 + 18 - total) == pytest.approx(score.total.chance(total))


def test_maximum_score_of_a_round() -> None:
    score = round_score(holes(), form_sd=2.0)
    capped = round_with_maximum(score, [2 * par for par in PARS])
    assert capped.greatest == 144
    assert capped.remainder == 0.0
    assert capped.mean < score.total.mean
    # A maximum that nobody reaches changes nothing.
    free = round_with_maximum(score, [59] * 18)
    assert free.mean == pytest.approx(score.total.mean, abs=1e-9)
