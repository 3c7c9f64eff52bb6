"""Simulated golfers against what courses are rated at, and against their own handicaps."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from planner.acceptance.claim import Area, Claim
from planner.acceptance.known_misses import KNOWN_MISSES
from planner.acceptance.typical_play import COURSE, play, scaled
from planner.golfer.handicap import CourseRating, course_handicap, target_score
from planner.golfer.published_scores import AVERAGE_OVER_HANDICAP
from planner.golfer.yardage_rating import RatedFor, yardage_rating
from planner.planning.calibration import (
    BOGEY_INDEX,
    LEVEL_TOLERANCE,
    ROUNDS_YD,
    SLOPE_TOLERANCE,
    TypicalRound,
)
from planner.strategy.held_index import HeldIndex, held_index
from planner.strategy.round_result import HoleScore, RoundScore, round_score
from planner.strategy.score_distribution import distribution
from planner.units import M_PER_YD

__all__ = ["AREA"]

FloatArray = NDArray[np.float64]
YARDAGE = "USGA yardage rating formula"
KNUTH = "Knuth, USGA: about 3 over the handicap, and 20 to 25 % of rounds to it"
WHS = "World Handicap System: an index is what the golfer's rounds lead to"
SCRATCH = 0.0
INDICES = (0.0, 5.0, 10.0, 20.0)
COURSE_FACTOR = 0.875
"""The course of the rounds has 6150 yards."""
LENGTH_YD = float(sum(length for length, _ in COURSE))
MOST_STROKES = 40


@cache
def _calibrated(index: float) -> TypicalRound:
    """A golfer of the calibration, on the plain hole without woods."""
    return TypicalRound(index)


def _yards_a_stroke(index: float) -> float:
    """Yards of course that cost the golfer one stroke, by least squares."""
    return _calibrated(index).slope_yd()[0]


def _level(index: float, length_yd: float) -> float:
    """Average score on a course of a length."""
    return _calibrated(index).round_score(length_yd)


def _rated(index: float, length_yd: float) -> float:
    rating = yardage_rating(length_yd * M_PER_YD, RatedFor.MEN)
    return (rating.scratch if index == SCRATCH else rating.bogey) + AVERAGE_OVER_HANDICAP


@dataclass(frozen=True, eq=False)
class _Season:
    """Rounds of a golfer, the course they are played on, and the index that twenty lead to."""

    rounds: RoundScore
    course: CourseRating
    held: HeldIndex

    def targets(self) -> FloatArray:
        """Score that plays to the handicap, for every index that he may hold."""
        par = self.rounds.par
        return np.array(
            [
                target_score(course_handicap(float(index), self.course, par), par)
                for index in self.held.index.indices
            ]
        )


@cache
def _season(index: float) -> _Season:
    """Twenty rounds and more on a course rated by its length."""
    golfer = play(index, trees_yd=None)
    length = LENGTH_YD * COURSE_FACTOR
    course = yardage_rating(length * M_PER_YD, RatedFor.MEN).course
    order = np.random.default_rng(3).permutation(18) + 1
    holes = []
    for number, (yards, par) in enumerate(scaled(COURSE_FACTOR)):
        scores = golfer.played(yards).scores
        counts = np.bincount(np.rint(scores).astype(int), minlength=MOST_STROKES)
        holes.append(
            HoleScore(
                ref=str(number + 1),
                par=par,
                score=distribution(counts / counts.sum(), remainder=0.0),
                stroke_index=int(order[number]),
            )
        )
    rounds = round_score(holes)
    return _Season(rounds, course, held_index(rounds, course))


def _index(index: float) -> float:
    return _season(index).held.index.mean


def _over(index: float) -> float:
    """Average score over the one that plays to the handicap, whatever the index is just then."""
    season = _season(index)
    return season.rounds.expected - float(season.targets() @ season.held.index.chances)


def _to_handicap(index: float) -> float:
    """Share of rounds to the handicap or better [%], whatever the index is just then."""
    season = _season(index)
    reached = [season.rounds.total.chance_at_most(int(target)) for target in season.targets()]
    return 100.0 * float(np.array(reached) @ season.held.index.chances)


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    found = []
    for word, index, yards in (("scratch", SCRATCH, 220.0), ("bogey", BOGEY_INDEX, 160.0)):
        found.append(
            Claim(f"{word} golfer, yards of course for a stroke", YARDAGE, yards,
                  partial(_yards_a_stroke, index), "yd", SLOPE_TOLERANCE * yards,
                  "a tenth of the slope: two published ones of much the same golfer are 6 % apart")
        )  # fmt: skip
        found += [
            Claim(f"{word} golfer, average at {length} yd",
                  f"{YARDAGE}, and {AVERAGE_OVER_HANDICAP:g} for an average round (Knuth)",
                  _rated(index, length), partial(_level, index, length), "strokes",
                  LEVEL_TOLERANCE,
                  "asked of the model by its design: a plain course is worth a stroke or two")
            for length in ROUNDS_YD
        ]  # fmt: skip
    for index in INDICES:
        found += [
            Claim(f"index {index:g}: index that its rounds lead to", WHS, index,
                   partial(_index, index), "", max(1.5, 0.1 * index),
                   "a stroke and a half, as for levels; a tenth of a high index"),
            Claim(f"index {index:g}: average over the handicap held", KNUTH, AVERAGE_OVER_HANDICAP,
                   partial(_over, index), "strokes", 1.0, "published as about 3"),
            Claim(f"index {index:g}: rounds to the handicap held", KNUTH, 22.5,
                   partial(_to_handicap, index), "%", 2.5,
                   "published as 20 to 25 %"),
        ]  # fmt: skip
    return tuple(
        dataclasses.replace(claim, long=True, known_miss=KNOWN_MISSES.get(claim.name, ""))
        for claim in found
    )


AREA = Area(
    "ratings",
    "Ratings and handicaps",
    "Scratch and bogey golfers by length, as `planner calibrate` has them; and rounds played ball "
    "by ball on a course of 6150 yards that is rated by its length, and so has no woods and no "
    "water, with the index that twenty of them lead to. Days are all alike: no form is assumed. "
    "The skill model's assumed tables were set on the published strokes and ratings by length, so "
    "there the agreement is a fit; the average over the index and the rounds to it were not looked "
    "at.",
    claims,
)
