"""Simulated golfers against what courses are rated at, and against their own handicaps."""

from __future__ import annotations

import dataclasses
from functools import cache, partial

import numpy as np

from planner.acceptance.claim import Area, Claim
from planner.acceptance.known_misses import KNOWN_MISSES
from planner.acceptance.typical_play import COURSE, play, scaled
from planner.golfer.yardage_rating import RatedFor, yardage_rating
from planner.strategy.held_index import HeldIndex, held_index
from planner.strategy.round_result import HoleScore, round_score
from planner.strategy.score_distribution import distribution
from planner.units import M_PER_YD

__all__ = ["AREA"]

YARDAGE = "USGA yardage rating formula"
KNUTH = "Knuth, USGA: about 3 over the handicap, and 20 to 25 % of rounds to it"
WHS = "World Handicap System: an index is what the golfer's rounds lead to"
SCRATCH, BOGEY = 0.0, 20.0
INDICES = (0.0, 5.0, 10.0, 20.0)
FACTORS = (0.75, 0.85, 0.95)
"""Courses of 5426, 6150 and 6873 yards."""
LENGTH_YD = float(sum(length for length, _ in COURSE))
AVERAGE_OVER = 3.0
MOST_STROKES = 40


def _yards_a_stroke(index: float) -> float:
    """Yards of course that cost the golfer one stroke, by least squares."""
    lengths = [LENGTH_YD * factor for factor in FACTORS]
    strokes = [play(index).course(scaled(factor)) for factor in FACTORS]
    return 1.0 / float(np.polyfit(lengths, strokes, 1)[0])


def _level(index: float) -> float:
    """Average score at the middle course [strokes]."""
    return play(index).course(scaled(FACTORS[1]))


def _rated(index: float) -> float:
    rating = yardage_rating(LENGTH_YD * FACTORS[1] * M_PER_YD, RatedFor.MEN)
    return (rating.scratch if index == SCRATCH else rating.bogey) + AVERAGE_OVER


@cache
def _held(index: float) -> HeldIndex:
    """Index of twenty rounds on the middle course, rated by its length."""
    golfer = play(index)
    course = yardage_rating(LENGTH_YD * FACTORS[1] * M_PER_YD, RatedFor.MEN).course
    order = np.random.default_rng(3).permutation(18) + 1
    holes = []
    for number, (length, par) in enumerate(scaled(FACTORS[1])):
        scores = golfer.played(length).scores
        counts = np.bincount(np.rint(scores).astype(int), minlength=MOST_STROKES)
        holes.append(
            HoleScore(
                ref=str(number + 1),
                par=par,
                score=distribution(counts / counts.sum(), remainder=0.0),
                stroke_index=int(order[number]),
            )
        )
    return held_index(round_score(holes), course)


def _index(index: float) -> float:
    return _held(index).index.mean


def _over(index: float) -> float:
    return _held(index).average_over


def _to_handicap(index: float) -> float:
    return 100.0 * _held(index).plays_to_it


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    found = []
    for word, index, yards in (("scratch", SCRATCH, 220.0), ("bogey", BOGEY, 160.0)):
        found += [
            Claim(f"{word} golfer, yards of course for a stroke", YARDAGE, yards,
                   partial(_yards_a_stroke, index), "yd", 0.15 * yards,
                   "the formula is a straight line through rated courses; 15 % of its slope"),
            Claim(f"{word} golfer, average at {LENGTH_YD * FACTORS[1]:.0f} yd",
                   f"{YARDAGE}, and {AVERAGE_OVER:g} for an average round (Knuth)", _rated(index),
                   partial(_level, index), "strokes", 1.5,
                   "asked of the model by its design: a plain course is worth a stroke or two"),
        ]  # fmt: skip
    for index in INDICES:
        found += [
            Claim(f"index {index:g}: index that its rounds lead to", WHS, index,
                   partial(_index, index), "", max(1.5, 0.1 * index),
                   "a stroke and a half, as for levels; a tenth of a high index"),
            Claim(f"index {index:g}: average over the handicap held", KNUTH, AVERAGE_OVER,
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
    "The same golfers on the same plain hole, eighteen lengths of it as a course rated by the "
    "published formulas, and the index that twenty such rounds lead to. Days are all alike: no "
    "form is assumed.",
    claims,
)
