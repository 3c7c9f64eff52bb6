"""What typical golfers score: strokes to hole out by lie and distance, and where strokes go."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from functools import partial

import numpy as np

from planner.acceptance.claim import Area, Claim, Sense
from planner.acceptance.known_misses import KNOWN_MISSES
from planner.acceptance.typical_play import (
    ASSUMED_FAIRWAY_FROM_YD,
    COURSE,
    INDEX_OF_SCORE,
    TOUR,
    WATER_HOLES,
    PlayedHole,
    play,
    scaled,
)
from planner.course.lies import Lie
from planner.golfer.yardage_rating import RatedFor, yardage_rating
from planner.units import M_PER_YD

__all__ = ["AREA"]

TABLE = "Broadie 2012, Interfaces 42(2), appendix"
LINE = "Broadie 2008, Science and Golf V: J = 2.79 + 0.0066 d"
LINE_COEFFICIENTS = (2.79, 0.0066)
BOGEY_INDEX, AVERAGE_OVER = 20.0, 3.0
OUTCOMES = "Broadie 2018, tee shots on par 4 and 5"
PARTS = "Broadie 2018, strokes of a tour round"
LONGER = "Broadie 2014; Ko 2012"
PUTTS = "Broadie 2014"
TOUR_TABLE: tuple[tuple[float, dict[Lie, float]], ...] = tuple(
    (
        distance,
        {
            lie: value
            for lie, value in zip(
                (Lie.TEE, Lie.FAIRWAY, Lie.ROUGH, Lie.SAND, Lie.TREES), row, strict=True
            )
            if value is not None
        },
    )
    for distance, *row in (
        (20.0, None, 2.40, 2.59, 2.53, 3.51),
        (60.0, None, 2.70, 2.91, 3.15, 3.83),
        (100.0, 2.92, 2.80, 3.02, 3.23, 3.80),
        (140.0, 2.97, 2.91, 3.15, 3.22, 3.80),
        (180.0, 3.05, 3.08, 3.31, 3.40, 3.82),
        (220.0, 3.17, 3.32, 3.53, 3.70, 3.92),
        (260.0, 3.45, 3.58, 3.74, 3.93, 4.03),
        (340.0, 3.86, None, None, None, None),
        (400.0, 3.99, None, None, None, None),
        (460.0, 4.17, None, None, None, None),
        (500.0, 4.41, None, None, None, None),
    )
)
NEAR, FAR_TEE, RECOVERY = 0.10, 0.15, 0.25
NEAR_REASON = "asked of the model by its design: shots are worth tenths of a stroke"
FAR_REASON = "asked of the model by its design; holes this long differ in more than their length"
RECOVERY_REASON = "a mean over all trees that stood in the way; ours stand along one straight edge"
LONG_TEE_YD = 340.0
RECOVERY_ACROSS_YD = 46.0
"""Four yards inside the wood."""
NINETY_YD = (200.0, 300.0, 400.0, 500.0)
AMATEUR_COURSE = 0.9
"""Amateurs play 6500 yards."""
WEEKEND_INDEX, HIGH_INDEX = 15.0, 36.0
"""A weekend golfer, and a high handicap (what the published words are taken to mean)."""
MORE_YD = 20.0
DRIVES = tuple(hole for hole in COURSE if hole[1] > 3)


def _strokes(distance: float, lie: Lie) -> float:
    golfer = play(TOUR)
    if lie is Lie.TEE:
        return golfer.tee_shot(distance).value
    return golfer.value(distance, lie, across_yd=RECOVERY_ACROSS_YD if lie is Lie.TREES else 0.0)


def _table_claims() -> Iterator[Claim]:
    for distance, row in TOUR_TABLE:
        for lie, value in row.items():
            word = "recovery" if lie is Lie.TREES else lie.words
            tolerance, reason = NEAR, NEAR_REASON
            if lie is Lie.TREES:
                tolerance, reason = RECOVERY, RECOVERY_REASON
            elif distance >= LONG_TEE_YD:
                tolerance, reason = FAR_TEE, FAR_REASON
            yield Claim(
                f"tour, {distance:g} yd from {word}", TABLE, value,
                partial(_strokes, distance, lie), "strokes", tolerance, reason,
            )  # fmt: skip


def _index_of_line() -> float:
    """Index of the golfer of the published line, from published formulas alone.

    Eighteen holes of the line make 90 on a course of 6027 yards. There scratch and bogey (about 20)
    golfers are rated by the yardage formulas, and an average round is about 3 over that.
    """
    level, slope = LINE_COEFFICIENTS
    length_yd = (90.0 - 18.0 * level) / slope
    rating = yardage_rating(length_yd * M_PER_YD, RatedFor.MEN)
    share = (90.0 - AVERAGE_OVER - rating.scratch) / (rating.bogey - rating.scratch)
    return BOGEY_INDEX * share


def _ninety(distance: float) -> float:
    return play(_index_of_line()).tee_shot(distance).value


def _all_holes(index: float) -> list[PlayedHole]:
    factor = 1.0 if index == TOUR else AMATEUR_COURSE
    return [play(index).played(length) for length, _ in scaled(factor)]


def _part(index: float, what: str) -> float:
    """Mean of a round's putts, long strokes or short ones."""
    return sum(float(getattr(hole, what).mean()) for hole in _all_holes(index))


def _three_putts(index: float) -> float:
    return sum(float((hole.putts >= 3).mean()) for hole in _all_holes(index))


def _drives(index: float, what: str) -> float:
    """Share of drives [%] that end so, over 14 holes of which some have water on one side."""
    factor = 1.0 if index == TOUR else AMATEUR_COURSE
    shares = []
    for water, holes in ((False, len(DRIVES) - WATER_HOLES), (True, WATER_HOLES)):
        found = [play(index, water=water).played(length * factor) for length, _ in DRIVES]
        share = np.mean([_share(one, what) for one in found])
        shares.append(float(share) * holes)
    return 100.0 * sum(shares) / len(DRIVES)


def _share(hole: PlayedHole, what: str) -> float:
    lie, dry = hole.after_tee, ~hole.penalty
    mown = (lie == Lie.FAIRWAY) | (lie == Lie.GREEN)
    # The plain hole is mown from the tee on; a course is not.
    far = hole.drive_m >= ASSUMED_FAIRWAY_FROM_YD * M_PER_YD
    told = {
        "fairway": mown & far,
        "rough or sand": (lie == Lie.ROUGH) | (lie == Lie.SAND) | (mown & ~far),
        "recovery": lie == Lie.TREES,
    }
    if what == "penalty":
        return float(hole.penalty.mean())
    return float((told[what] & dry).mean())


def _worth_of_length(index: float) -> float:
    """Strokes a round saved by a driver 20 yards longer."""
    holes = COURSE if index == TOUR else scaled(AMATEUR_COURSE)
    return play(index).course(holes) - play(index, longer_yd=MORE_YD).course(holes)


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    ninety = INDEX_OF_SCORE[90]
    course_reason = "courses differ; ours is one plain hole at eighteen lengths"
    found = list(_table_claims())
    found += [
        Claim(f"golfer averaging 90, {distance:g} yd from the tee", LINE,
              LINE_COEFFICIENTS[0] + LINE_COEFFICIENTS[1] * distance,
               partial(_ninety, distance), "strokes", FAR_TEE, FAR_REASON)
        for distance in NINETY_YD
    ]  # fmt: skip
    found += [
        Claim("tour, putts a round", PARTS, 29.1, partial(_part, TOUR, "putts"), "putts", 0.6,
               course_reason),
        Claim("tour, short game a round, strokes from 100 yd and nearer", PARTS, 9.8,
               partial(_part, TOUR, "short"), "strokes", 0.6, course_reason),
        Claim("tour, long game a round", PARTS, 32.2, partial(_part, TOUR, "long"), "strokes",
               0.6, course_reason),
        Claim("tour, strokes a round", PARTS, 71.1, partial(_part, TOUR, "scores"), "strokes",
               1.0, course_reason),
        Claim("golfer averaging 90, strokes a round", "he averages 90", 90.0,
               partial(_part, ninety, "scores"), "strokes", 1.5, course_reason),
        Claim("golfer averaging 90, three putts or more a round", PUTTS, 2.3,
               partial(_three_putts, ninety), "", 0.5, course_reason),
    ]  # fmt: skip
    shares = "the plain hole has one width, woods and water all along on three holes"
    found += [
        Claim(f"tour drives, {what}", OUTCOMES, percent, partial(_drives, TOUR, what), "%", within,
               shares)
        for what, percent, within in (
            ("fairway", 65.0, 5.0), ("rough or sand", 31.0, 5.0), ("recovery", 2.3, 1.5),
            ("penalty", 1.3, 1.0),
        )
    ]  # fmt: skip
    found += [
        Claim(f"weekend golfer's drives, {what}", OUTCOMES, percent,
               partial(_drives, WEEKEND_INDEX, what), "%", 5.0, shares)
        for what, percent in (("fairway", 49.0), ("recovery", 16.0))
    ]  # fmt: skip
    words = "published in words: about 0.75 on tour, almost 3 for high handicaps"
    found += [
        Claim("20 yd longer drives, tour", LONGER, 0.75, partial(_worth_of_length, TOUR),
               "strokes a round", 0.25, words),
        Claim("20 yd longer drives, high handicap", LONGER, 2.8,
               partial(_worth_of_length, HIGH_INDEX), "strokes a round", 0.7, words),
    ]  # fmt: skip
    for score, index in INDEX_OF_SCORE.items():
        found += [
            Claim(f"20 yd longer drives, golfer averaging {score}, more than tour", LONGER, 0.75,
                   partial(_worth_of_length, index), "strokes a round", sense=Sense.AT_LEAST),
            Claim(f"20 yd longer drives, golfer averaging {score}, less than a high handicap",
                   LONGER, 3.0, partial(_worth_of_length, index), "strokes a round",
                   sense=Sense.AT_MOST),
        ]  # fmt: skip
    return tuple(
        dataclasses.replace(claim, long=True, known_miss=KNOWN_MISSES.get(claim.name, ""))
        for claim in found
    )


AREA = Area(
    "scores",
    "What typical golfers score",
    "The skill model's golfers with a usual set of clubs, on a plain hole of every length: a "
    "fairway 32 yards wide, 26 yards of rough, woods, a round green with two bunkers.",
    claims,
)
