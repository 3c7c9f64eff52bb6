"""A plan's holes and round simulated ball by ball, beside their exact chances."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.strategy.round_result import HoleScore
from planner.strategy.score_distribution import ScoreDistribution

if TYPE_CHECKING:
    from planner.strategy.roll_out import RollOut

__all__ = ["ChanceCheck", "SimulatedHole", "SimulatedRound", "simulated_hole", "simulated_round"]

LEAST_EXPECTED = 20.0
"""Balls that must be expected at a score for its chance to be compared: with fewer the normal
distribution says too little about what may happen."""


@dataclass(frozen=True)
class ChanceCheck:
    """A chance worked out, the share that was simulated, and their difference in standard errors.

    ``score`` is the score it is of.
    """

    score: int
    exact: float
    simulated: float
    errors: float


@dataclass(frozen=True, eq=False)
class SimulatedHole:
    """A hole played ``balls`` times.

    Parameters
    ----------
    ref
        The hole.
    scores
        Every ball's score, shape ``(balls,)``.
    exact, mean, standard_error
        Expected score that was worked out; mean of the scores, and its standard error.
    penalties, putts
        Means.
    chances
        Every score that was to be expected often enough to be compared.
    unfinished
        Balls given up after very many strokes.
    seconds
        Processor time that the balls took, without the solve.
    """

    ref: str
    scores: NDArray[np.int16]
    exact: float
    mean: float
    standard_error: float
    penalties: float
    putts: float
    chances: tuple[ChanceCheck, ...]
    unfinished: int
    seconds: float

    @property
    def difference(self) -> float:
        """Simulated mean less the exact one [strokes]."""
        return self.mean - self.exact

    @property
    def errors(self) -> float:
        """The difference in standard errors; 0 where every ball scored the same, as expected."""
        return _errors(self.difference, self.standard_error)

    @property
    def worst(self) -> ChanceCheck | None:
        """The score whose chance differs by most standard errors."""
        return max(self.chances, key=lambda check: abs(check.errors), default=None)


@dataclass(frozen=True, eq=False)
class SimulatedRound:
    """Totals of simulated rounds: ball ``i`` of every hole is round ``i``.

    ``within`` compares the chances of totals: those of ``score`` or fewer.
    """

    holes: tuple[SimulatedHole, ...]
    rounds: int
    exact: float
    mean: float
    standard_error: float
    within: tuple[ChanceCheck, ...]

    @property
    def seconds(self) -> float:
        """Processor time of all balls."""
        return math.fsum(hole.seconds for hole in self.holes)

    @property
    def errors(self) -> float:
        """Difference of the means in standard errors."""
        return _errors(self.mean - self.exact, self.standard_error)


def simulated_hole(hole: HoleScore, played: RollOut, *, seconds: float) -> SimulatedHole:
    """Compare balls, every putt of which was drawn, with a hole's exact chances."""
    scores = np.rint(played.scores).astype(np.int16)
    balls = len(scores)
    checks = []
    for score, chance in zip(hole.score.scores.tolist(), hole.score.chances, strict=True):
        if chance * balls >= LEAST_EXPECTED:
            checks.append(_check(score, float(chance), float((scores == score).mean()), balls))
    return SimulatedHole(
        hole.ref,
        scores,
        hole.score.mean,
        float(scores.mean()),
        float(scores.std(ddof=1) / math.sqrt(balls)) if balls > 1 else math.nan,
        float(played.penalties.mean()),
        float(played.putts.mean()),
        tuple(checks),
        int((~played.finished).sum()),
        seconds,
    )


def simulated_round(
    holes: Sequence[SimulatedHole], total: ScoreDistribution, totals: Sequence[int]
) -> SimulatedRound:
    """Put simulated holes together, and compare the chances of each of ``totals`` or fewer.

    ``total`` are the exact chances of the total without form.

    Raises
    ------
    ValueError
        There is no hole, or holes were not played equally often.
    """
    if len({len(hole.scores) for hole in holes}) != 1:
        raise ValueError("a simulated round needs holes that were played equally often")
    found = np.asarray(np.sum([hole.scores for hole in holes], axis=0, dtype=np.int64))
    rounds = len(found)
    return SimulatedRound(
        tuple(holes),
        rounds,
        math.fsum(hole.exact for hole in holes),
        float(found.mean()),
        float(found.std(ddof=1) / math.sqrt(rounds)) if rounds > 1 else math.nan,
        tuple(
            _check(most, total.chance_at_most(most), float((found <= most).mean()), rounds)
            for most in totals
        ),
    )


def _check(score: int, exact: float, simulated: float, balls: int) -> ChanceCheck:
    error = math.sqrt(max(exact * (1.0 - exact), 0.0) / balls)
    return ChanceCheck(score, exact, simulated, _errors(simulated - exact, error))


def _errors(difference: float, error: float) -> float:
    if error > 0.0:
        return difference / error
    return 0.0 if abs(difference) < 1e-9 else math.copysign(math.inf, difference)
