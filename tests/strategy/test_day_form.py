"""Form from day to day: tilting keeps what it should and moves what it must."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from planner.strategy.day_form import form_days, round_total, tilt_for_shift, tilted
from planner.strategy.score_distribution import (
    ScoreDistribution,
    certain,
    convolve,
    distribution,
    mixture,
)


def course() -> list[ScoreDistribution]:
    """Eighteen holes at one over par, steadier than a binomial; the total spreads by 4.3."""
    found = []
    for par in (4, 4, 3, 5, 4, 4, 3, 4, 5) * 2:
        excess = np.arange(60) - (par - 2)
        loose = distribution(stats.binom.pmf(excess, 24, 2.6 / 24))
        found.append(mixture([0.4, 0.6], [loose, certain(round(loose.mean))]))
    return found


def test_tilt_of_a_geometric_score_is_geometric() -> None:
    # exp(t s) q^(s-1) p is geometric again, with q exp(t) for q.
    q, tilt = 0.4, 0.3
    score = distribution((1 - q) * q ** np.arange(200), first=1)
    other = q * math.exp(tilt)
    assert np.allclose(
        tilted(score, tilt).chances[:40], (1 - other) * other ** np.arange(40), rtol=1e-12
    )


@given(st.floats(-1.5, 1.5))
def test_tilt_of_the_sum_is_the_sum_of_the_tilts(tilt: float) -> None:
    holes = course()[:3]
    whole = tilted(convolve(holes), tilt)
    parts = convolve(tilted(hole, tilt) for hole in holes)
    assert np.allclose(whole.chances, parts.chances, atol=1e-13)


@given(st.floats(-8.0, 12.0))
def test_mean_moves_by_what_was_asked(strokes: float) -> None:
    holes = course()
    tilt = tilt_for_shift(holes, strokes)
    moved = sum(tilted(hole, tilt).mean - hole.mean for hole in holes)
    assert moved == pytest.approx(strokes, abs=1e-8)


def test_a_small_shift_falls_on_holes_by_their_variance() -> None:
    steady, wild = distribution([0.05, 0.9, 0.05], first=3), distribution([0.4, 0.2, 0.4], first=3)
    tilt = tilt_for_shift([steady, wild], 0.001)
    moves = [tilted(hole, tilt).mean - hole.mean for hole in (steady, wild)]
    assert moves[1] / moves[0] == pytest.approx(wild.variance / steady.variance, rel=1e-3)


def test_tilt_treats_the_remainder_as_its_least_score() -> None:
    score = distribution([0.5, 0.4], first=3)
    after = tilted(score, 1.0)
    closed = tilted(distribution([0.5, 0.4, 0.1], first=3), 1.0)
    assert after.remainder == pytest.approx(closed.chance(5))
    assert after.chance(3) == pytest.approx(closed.chance(3))


def test_form_keeps_the_mean_and_adds_its_variance() -> None:
    holes = course()
    usual, formed = round_total(holes), round_total(holes, form_sd=2.5)
    assert formed.mean == pytest.approx(usual.mean, abs=1e-8)
    days = form_days(holes, 2.5)
    within = sum(day.weight * convolve(day.holes).variance for day in days)
    assert formed.variance == pytest.approx(within + 2.5**2, abs=1e-7)
    assert formed.sd > usual.sd


def test_form_helps_a_target_out_of_reach_and_hurts_a_safe_one() -> None:
    holes = course()
    usual, formed = round_total(holes), round_total(holes, form_sd=2.5)
    far, safe = round(usual.mean - 8), round(usual.mean + 8)
    assert formed.chance_at_most(far) > usual.chance_at_most(far)
    assert formed.chance_at_most(safe) < usual.chance_at_most(safe)


@pytest.mark.parametrize(("form_sd", "error"), [(1.0, 1e-9), (3.0, 2e-6), (4.0, 4e-5)])
def test_days_are_many_enough(form_sd: float, error: float) -> None:
    holes = course()
    few = round_total(holes, form_sd=form_sd)
    many = round_total(holes, form_sd=form_sd, nodes=19)
    assert 4.0 < convolve(holes).sd < 4.6
    worst = max(abs(few.chance_at_most(s) - many.chance_at_most(s)) for s in range(40, 160))
    assert worst < error


def test_no_form_is_one_usual_day() -> None:
    holes = course()
    (day,) = form_days(holes, 0.0)
    assert (day.weight, day.strokes) == (1.0, 0.0)
    assert np.array_equal(round_total(holes).chances, convolve(holes).chances)


@pytest.mark.parametrize("form_sd", [-1.0, math.nan, math.inf])
def test_form_must_be_a_spread(form_sd: float) -> None:
    with pytest.raises(ValueError, match="form_sd"):
        form_days(course(), form_sd)


def test_scores_cannot_move_past_their_ends() -> None:
    with pytest.raises(ValueError, match="cannot move"):
        tilt_for_shift([distribution([0.5, 0.5], first=4)], 0.6)
