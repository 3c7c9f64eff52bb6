"""The result of a round: every hole's score with its chances, and their total."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from planner.strategy.day_form import form_days, round_total
from planner.strategy.score_distribution import ScoreDistribution, convolve, mixture

__all__ = ["BARRIERS", "HoleScore", "RoundScore", "round_score", "total_under"]

BARRIERS = (100, 90, 80, 70)
"""Totals that golfers want to break over 18 holes."""
_UNKNOWN = math.nan


@dataclass(frozen=True, eq=False)
class HoleScore:
    """What one hole costs under a plan.

    Parameters
    ----------
    ref, par, stroke_index
        As mapped; ``stroke_index`` may be missing.
    score
        Chances of the hole's score, penalties included.
    penalties, putts
        Expected number; nan where it was not counted.
    fairway
        Chance that the tee shot ends on the fairway; nan on par 3s and where not counted.
    green
        Chance to be on the green in two strokes fewer than par; nan where not counted.
    expected
        Expected score, found without the chances: a check of their mean; nan where not counted.
    """

    ref: str
    par: int
    score: ScoreDistribution
    stroke_index: int | None = None
    penalties: float = _UNKNOWN
    putts: float = _UNKNOWN
    fairway: float = _UNKNOWN
    green: float = _UNKNOWN
    expected: float = _UNKNOWN

    def chance_over_par(self, low: int, high: int) -> float:
        """Chance of ``low`` to ``high`` strokes over par, both included."""
        return math.fsum(self.score.chance(self.par + over) for over in range(low, high + 1))


@dataclass(frozen=True, eq=False)
class RoundScore:
    """Chances of a round's total.

    Parameters
    ----------
    holes
        The holes in order of play, each as on a usual day.
    total
        Chances of the total, with form.
    form_sd
        Standard deviation of the golfer's form from day to day [strokes]; 0 for none.
    target
        Total to reach or beat; None if there is none.
    title
        What the round is, for a heading; free text.
    """

    holes: tuple[HoleScore, ...]
    total: ScoreDistribution
    form_sd: float = 0.0
    target: int | None = None
    title: str = ""

    @property
    def par(self) -> int:
        """Par of the holes together."""
        return sum(hole.par for hole in self.holes)

    @property
    def expected(self) -> float:
        """Expected total; a sum of the holes' means, so remainders matter least here."""
        return math.fsum(hole.score.mean for hole in self.holes)

    @property
    def chance_of_par(self) -> float:
        """Chance of par or better for the round."""
        return self.total.chance_at_most(self.par)

    @property
    def chance_of_target(self) -> float:
        """Chance of the target or better; nan without a target."""
        return math.nan if self.target is None else self.total.chance_at_most(self.target)

    @property
    def penalties(self) -> float:
        """Expected penalty strokes; nan where not counted on every hole."""
        return sum(hole.penalties for hole in self.holes)

    @property
    def putts(self) -> float:
        """Expected putts; nan where not counted on every hole."""
        return sum(hole.putts for hole in self.holes)

    @property
    def greens(self) -> float:
        """Expected greens hit in two strokes fewer than par; nan where not counted."""
        return sum(hole.green for hole in self.holes)

    @property
    def fairways(self) -> tuple[float, int]:
        """Expected fairways hit, and on how many holes they were counted."""
        counted = [hole.fairway for hole in self.holes if not math.isnan(hole.fairway)]
        return math.fsum(counted), len(counted)


def round_score(
    holes: Iterable[HoleScore],
    *,
    form_sd: float = 0.0,
    target: int | None = None,
    title: str = "",
) -> RoundScore:
    """Chances of the total of ``holes``.

    Parameters
    ----------
    form_sd
        Standard deviation from day to day of the expected total [strokes]; see ``day_form``.
    """
    played = tuple(holes)
    if not played:
        raise ValueError("a round has at least one hole")
    total = round_total([hole.score for hole in played], form_sd=form_sd)
    return RoundScore(played, total, form_sd, target, title)


def total_under(
    score: RoundScore,
    rule: Callable[[Sequence[ScoreDistribution]], Iterable[ScoreDistribution]],
) -> ScoreDistribution:
    """Chances of a total that counts the holes otherwise, with the same form.

    Parameters
    ----------
    rule
        From the chances of every hole's score on one kind of day to what counts on each hole.
    """
    days = form_days([hole.score for hole in score.holes], score.form_sd)
    return mixture([day.weight for day in days], [convolve(rule(day.holes)) for day in days])
