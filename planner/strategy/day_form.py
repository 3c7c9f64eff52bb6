"""Form from day to day: the same golfer, every hole a little better or worse together.

A day's form is a number of strokes, normal with mean 0, by which the round's expected score
moves. It reaches the holes by exponential tilting: on a day with tilt t the chance of a score s on
every hole is its usual chance times exp(t s), brought back to a distribution by its own sum. All
holes share the day's t, so a hole moves by about t times its variance: the holes that swing most
anyway, those with trouble, swing most with form. What was impossible stays impossible, and the
tilt of a sum is the sum of the tilts. Among all ways to move the mean, this one changes the
distribution least (in relative entropy).

The days are mixed by Gauss-Hermite quadrature, so that the expected score over all days stays
what it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from planner.strategy.score_distribution import ScoreDistribution, convolve, mixture

__all__ = ["Day", "form_days", "round_total", "tilt_for_shift", "tilted"]

_DAYS = 9
"""Quadrature nodes. The chances of totals differ by less than 4e-5 from those with 19 while form
spreads no wider than the total does anyway, and by less than 2e-6 at three strokes;
``tests/strategy/test_day_form.py`` holds this. More nodes ask for days that are rarer and farther
out, which the holes' scores may not allow."""
_STEEPEST = 64.0
"""Largest tilt that is tried; every real mean is reached long before."""


@dataclass(frozen=True, eq=False)
class Day:
    """A kind of day.

    Parameters
    ----------
    weight
        Chance of such a day.
    strokes
        Expected strokes over the usual; negative on a good day.
    holes
        Chances of each hole's score on such a day.
    """

    weight: float
    strokes: float
    holes: tuple[ScoreDistribution, ...]


def tilted(score: ScoreDistribution, tilt: float) -> ScoreDistribution:
    """Chances times exp(``tilt`` x score), brought back to a distribution.

    The remainder is tilted as if it were its least score, so on bad days it is understated by
    as much as it reaches beyond.
    """
    if tilt == 0.0:
        return score
    powers = tilt * score.scores
    open_power = tilt * score.remainder_from
    top = max(float(powers.max()), open_power if score.remainder > 0.0 else -math.inf)
    weights = score.chances * np.exp(powers - top)
    remainder = score.remainder * math.exp(open_power - top) if score.remainder > 0.0 else 0.0
    total = float(weights.sum()) + remainder
    return ScoreDistribution(score.first, weights / total, remainder / total, score.remainder_from)


def tilt_for_shift(holes: Sequence[ScoreDistribution], strokes: float) -> float:
    """Tilt common to all ``holes`` that moves their expected total by ``strokes``.

    Raises
    ------
    ValueError
        No tilt does: the total would leave the scores that have a chance.
    """
    if strokes == 0.0:
        return 0.0
    wanted = math.fsum(hole.mean for hole in holes) + strokes

    def excess(tilt: float) -> float:
        return math.fsum(tilted(hole, tilt).mean for hole in holes) - wanted

    end = math.copysign(0.25, strokes)
    while excess(end) * strokes < 0.0:
        end *= 2.0
        if abs(end) > _STEEPEST:
            raise ValueError(f"these scores cannot move by {strokes:+.3g} strokes")
    return float(brentq(excess, 0.0, end, xtol=1e-13, rtol=1e-13))


def form_days(
    holes: Sequence[ScoreDistribution], form_sd: float, *, nodes: int = _DAYS
) -> tuple[Day, ...]:
    """Kinds of days whose mixture is a round with form.

    Parameters
    ----------
    holes
        Usual chances of each hole.
    form_sd
        Standard deviation from day to day of the round's expected score [strokes]; 0 gives one
        usual day.
    nodes
        Number of kinds of days.
    """
    if not (math.isfinite(form_sd) and form_sd >= 0.0):
        raise ValueError(f"form_sd must be finite and at least 0, got {form_sd}")
    if form_sd == 0.0:
        return (Day(1.0, 0.0, tuple(holes)),)
    places, weights = np.polynomial.hermite_e.hermegauss(nodes)
    weights = weights / weights.sum()
    days = []
    for place, weight in zip(places.tolist(), weights.tolist(), strict=True):
        tilt = tilt_for_shift(holes, form_sd * place)
        days.append(Day(weight, form_sd * place, tuple(tilted(hole, tilt) for hole in holes)))
    return tuple(days)


def round_total(
    holes: Sequence[ScoreDistribution], *, form_sd: float = 0.0, nodes: int = _DAYS
) -> ScoreDistribution:
    """Chances of the total of ``holes``: independent on a given day, moving together with form."""
    days = form_days(holes, form_sd, nodes=nodes)
    return mixture([day.weight for day in days], [convolve(day.holes) for day in days])
