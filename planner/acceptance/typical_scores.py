"""What typical golfers score: strokes to hole out by lie and distance, and where strokes go."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from functools import cache, partial

import numpy as np

from planner.acceptance.claim import Area, Claim, Sense
from planner.acceptance.known_misses import KNOWN_MISSES
from planner.acceptance.typical_play import (
    ASSUMED_FAIRWAY_FROM_YD,
    COURSE,
    GREEN_WOOD_YD,
    INDEX_OF_SCORE,
    TOUR,
    TREES_FROM_YD,
    WATER_HOLES,
    PlayedHole,
    play,
    scaled,
)
from planner.course.lies import Lie
from planner.golfer.published_scores import NINETY_FIRST, NINETY_PER_YD, TOUR_STROKES
from planner.golfer.shot_outcome import ASSUMED_TREE_FREE_PATH_M
from planner.planning.calibration import (
    APPROACH_TOLERANCE,
    LONG_TEES_YD,
    NINETY_TEES_YD,
    TEE_TOLERANCE,
    TypicalRound,
    ninety_index,
)
from planner.units import M_PER_YD

__all__ = ["AREA"]

TABLE = "Broadie 2012, Interfaces 42(2), appendix"
LINE = "Broadie 2008, Science and Golf V: J = 2.79 + 0.0066 d"
OUTCOMES = "Broadie 2018, tee shots on par 4 and 5"
PARTS = "Broadie 2018, strokes of a tour round"
LONGER = "Broadie 2014; Ko 2012"
PUTTS = "Broadie 2014"
RECOVERY_STROKES = {
    20: 3.51, 60: 3.83, 100: 3.80, 140: 3.80, 180: 3.82, 220: 3.92, 260: 4.03,
}  # fmt: skip
"""Strokes to hole out on tour from a recovery position by distance [yd], the table's last column;
the others are those of the calibration."""
RECOVERY = 0.25
NEAR_REASON = "asked of the model by its design: shots are worth tenths of a stroke"
FAR_REASON = "asked of the model by its design; holes this long differ in more than their length"
RECOVERY_REASON = "a mean over all trees that stood in the way; ours stand along one straight edge"
ASSUMED_BLOCKED = 0.5
"""Share of balls hit low and straight at the pin that the wood stops where recoveries are played
from: the way is as often blocked as not. A third or two thirds move a figure by 0.1 to 0.3."""
BLOCKED_YD = -math.log1p(-ASSUMED_BLOCKED) * ASSUMED_TREE_FREE_PATH_M / M_PER_YD
"""Wood on the line from there to the pin [yd]."""
AMATEUR_COURSE = 0.925
"""Amateurs play 6500 yards."""
WEEKEND_INDEX, HIGH_INDEX = 15.0, 36.0
"""A weekend golfer, and a high handicap (what the published words are taken to mean)."""
MORE_YD = 20.0
DRIVES = tuple(hole for hole in COURSE if hole[1] > 3)


@cache
def _calibrated(index: float) -> TypicalRound:
    """A golfer of the calibration, on the plain hole without woods."""
    return TypicalRound(index)


def _strokes(index: float, distance: float, lie: Lie) -> float:
    return _calibrated(index).strokes(distance, lie)


def _recovery(distance: float) -> float:
    for trees in (TREES_FROM_YD, GREEN_WOOD_YD):
        # So far off the line that of the way to the pin this much is wood.
        across = trees * distance / (distance - BLOCKED_YD)
        if across <= distance:
            return play(TOUR, trees_yd=trees).value(distance, Lie.TREES, across_yd=across)
    # Nearer to the pin than any such place: abreast of it.
    return play(TOUR, trees_yd=trees).value(distance, Lie.TREES, across_yd=distance)


def _table_claims() -> Iterator[Claim]:
    for lie, row in TOUR_STROKES.items():
        for distance, value in row.items():
            long = distance >= LONG_TEES_YD
            yield Claim(
                f"tour, {distance} yd from {lie.words}", TABLE, value,
                partial(_strokes, TOUR, distance, lie), "strokes",
                TEE_TOLERANCE if long else APPROACH_TOLERANCE,
                FAR_REASON if long else NEAR_REASON,
            )  # fmt: skip
    for distance, value in RECOVERY_STROKES.items():
        yield Claim(
            f"tour, {distance} yd from recovery", TABLE, value, partial(_recovery, distance),
            "strokes", RECOVERY, RECOVERY_REASON,
        )  # fmt: skip
    for distance in NINETY_TEES_YD:
        yield Claim(
            f"golfer averaging 90, {distance} yd from the tee", LINE,
            NINETY_FIRST + NINETY_PER_YD * distance,
            partial(_strokes, ninety_index(), distance, Lie.TEE), "strokes", TEE_TOLERANCE,
            FAR_REASON,
        )  # fmt: skip


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


def _worth_of_length(index: float, trees_yd: float | None = None) -> float:
    """Strokes a round saved by drives 20 yards longer."""
    holes = COURSE if index == TOUR else scaled(AMATEUR_COURSE)
    usual, longer = (play(index, trees_yd=trees_yd, longer_yd=more) for more in (0.0, MORE_YD))
    return usual.course(holes) - longer.course(holes)


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    ninety = INDEX_OF_SCORE[90]
    course_reason = "courses differ; ours is one plain hole at eighteen lengths"
    found = list(_table_claims())
    found += [
        Claim("tour, putts a round", PARTS, 29.1, partial(_part, TOUR, "putts"), "putts", 0.6,
              course_reason),
        Claim("tour, short game a round, strokes from 100 yd and nearer", PARTS, 9.8,
              partial(_part, TOUR, "short"), "strokes", 0.6, course_reason),
        Claim("tour, long game a round", PARTS, 32.2, partial(_part, TOUR, "long"), "strokes",
               0.6, course_reason),
        Claim("tour, strokes a round", PARTS, 71.1, partial(_part, TOUR, "scores"), "strokes",
               1.0, course_reason),
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
        Claim("20 yd longer drives between woods, tour", LONGER, 0.75,
              partial(_worth_of_length, TOUR, TREES_FROM_YD), "strokes a round", 0.25, words),
        Claim("20 yd longer drives between woods, high handicap", LONGER, 2.8,
              partial(_worth_of_length, HIGH_INDEX, TREES_FROM_YD), "strokes a round", 0.7, words),
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
    "The skill model's golfers with a standard set of clubs on a plain hole of every length. "
    "Strokes by lie are those of `planner calibrate`; where strokes go and what drives find is "
    "played ball by ball with woods 33 yards from the middle of the fairway all the way. Longer "
    "drives go 20 yards farther at the angle they had. The skill model's assumed tables were set "
    "on the strokes by lie, so there the agreement is a fit; how far punch-outs go was set with an "
    "eye on the recoveries; drives, parts of the game and length were not looked at.",
    claims,
)
