"""Typical golfers on a plain hole: what the claims about scores are computed from.

One hole, 560 yards long, straight, level and still, is solved for a golfer; tees stand anywhere
along its line, so that one solution gives a hole of every length, and eighteen of them a course.
The golfer is the skill model's for his handicap index with a usual set of clubs: nothing measured,
nothing fitted here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.acceptance.plain_holes import box_hole
from planner.course.hole import Course, Hole, Point
from planner.course.lies import Ground, Lie
from planner.golfer.bag import Bag, bag_from_text
from planner.golfer.putting import PuttingSkill
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.skill import TOUR_INDEX
from planner.golfer.swing_set import build_shot_model, golfer_putting
from planner.golfer.what_if import scaled_carry
from planner.planning.hole_bench import open_bench
from planner.planning.request import PlanRequest
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.policy import TeeShot
from planner.strategy.roll_out import Moment, roll_out
from planner.units import M_PER_YD

__all__ = [
    "COURSE",
    "INDEX_OF_SCORE",
    "TOUR",
    "WATER_HOLES",
    "Play",
    "PlayedHole",
    "play",
    "scaled",
]

FloatArray = NDArray[np.float64]

TOUR = TOUR_INDEX
INDEX_OF_SCORE = {80: 5.0, 90: 15.0, 100: 25.0}
"""Handicap index of golfers averaging 80, 90 and 100: par 72, and about three strokes over the
handicap as an average round is (Knuth, USGA)."""
COURSE = (
    (165, 3), (180, 3), (200, 3), (215, 3),
    (360, 4), (390, 4), (410, 4), (420, 4), (430, 4), (440, 4), (450, 4), (455, 4), (465, 4),
    (480, 4),
    (525, 5), (540, 5), (550, 5), (560, 5),
)  # fmt: skip
"""Lengths [yd] and pars of a course of 7235 yards as tours play (lengths from memory)."""
WATER_HOLES = 3
"""Holes of the 14 with a drive that have water along one side (assumed)."""
LONGEST_YD = 560
ASSUMED_FAIRWAY_WIDTH_YD = 32.0
"""Tour fairways are 25 to 35 yards wide where drives land (from memory)."""
ASSUMED_FAIRWAY_FROM_YD = 130.0
"""Fairways begin so far from the tee: a drive that stops short of it has not found one."""
ASSUMED_TREES_FROM_YD = 42.0
"""Distance of the woods from the middle of the fairway: 26 yards of rough on each side."""
ASSUMED_WATER_FROM_YD = 28.0
ASSUMED_GREEN_RADIUS_M = 13.3
"""556 m2, 6000 square feet, of a tour green on average (from memory)."""
BUNKERS = ((4.0, -20.0, 7.0, 5.0), (-4.0, 20.0, 7.0, 5.0))
"""Greenside bunkers: middle from the pin, towards the tee and to the right, half axes [m]."""
BEHIND_GREEN_M = 60.0
WIDTH_M = 200.0
DRIVER = "Driver"
CLUBS = (
    (DRIVER, "driver", 10.5), ("3 wood", "wood", 15.0), ("Hybrid", "hybrid", 19.0),
    ("4 iron", "iron", 23.0), ("5 iron", "iron", 26.0), ("6 iron", "iron", 29.5),
    ("7 iron", "iron", 33.0), ("8 iron", "iron", 37.0), ("9 iron", "iron", 41.0),
    ("Pitching wedge", "wedge", 46.0), ("Gap wedge", "wedge", 50.0), ("Sand wedge", "wedge", 55.0),
    ("Lob wedge", "wedge", 60.0), ("Putter", "putter", 3.0),
)  # fmt: skip
"""A usual set (common practice)."""
BALLS, SEED = 8000, 7
"""Balls played from each tee; the mean of a round of eighteen holes is good to 0.04 strokes."""
SHORT_GAME_YD = 100.0
"""Long and short game part here (Broadie 2014)."""


def bag_of(index: float) -> Bag:
    """A usual set of clubs in the hands of a golfer of a handicap index."""
    clubs = "".join(
        f'[[club]]\nlabel = "{label}"\nkind = "{kind}"\nloft_deg = {loft}\n'
        + ("tee_only = true\n" if kind == "driver" else "")
        for label, kind, loft in CLUBS
    )
    return bag_from_text(
        f'format = 1\nname = "usual"\n[golfer]\nhandicap_index = {index}\n{clubs}', source="usual"
    )


def plain_hole(*, water: bool) -> Hole:
    """The hole that everything is played on."""
    length = LONGEST_YD * M_PER_YD
    end = length + BEHIND_GREEN_M
    half = ASSUMED_FAIRWAY_WIDTH_YD / 2 * M_PER_YD
    trees = ASSUMED_TREES_FROM_YD * M_PER_YD
    green = shapely.Point(length, 0.0).buffer(ASSUMED_GREEN_RADIUS_M)
    sand = [
        shapely.affinity.scale(shapely.Point(length - back, aside).buffer(1.0), a, b)
        for back, aside, a, b in BUNKERS
    ]
    areas = [
        (Ground.FAIRWAY, shapely.box(0.0, -half, length, half)),
        (Ground.TREES, shapely.box(-40.0, -WIDTH_M, end, -trees)),
        (Ground.TREES, shapely.box(-40.0, trees, end, WIDTH_M)),
        (Ground.GREEN, green),
        *((Ground.SAND, shape) for shape in sand),
    ]
    if water:
        side = ASSUMED_WATER_FROM_YD * M_PER_YD
        areas.append((Ground.RED, shapely.box(0.0, side, length - 30.0, WIDTH_M)))
    return box_hole(length, *areas, par=5)


@dataclass(frozen=True, eq=False)
class PlayedHole:
    """Balls played from one tee.

    Parameters
    ----------
    scores, putts
        Strokes with penalties and putts, and putts alone, shape ``(balls,)``.
    first_putt_m
        Distance of the first putt [m], same shape.
    after_tee
        Lie after the tee shot, same shape; penalty strokes are told by ``penalty``.
    drive_m
        How much nearer the pin the tee shot brought the ball [m], same shape.
    penalty
        Whether the tee shot brought a penalty, same shape.
    long, short
        Strokes from beyond 100 yards and from nearer, putts left out, penalties with the stroke.
    """

    scores: FloatArray
    putts: FloatArray
    first_putt_m: FloatArray
    after_tee: NDArray[np.int64]
    drive_m: FloatArray
    penalty: NDArray[np.bool_]
    long: FloatArray
    short: FloatArray


class Play:
    """A golfer on the plain hole, solved."""

    def __init__(self, adviser: HoleAdviser, model: ShotModel, putting: PuttingSkill) -> None:
        self._adviser = adviser
        self._model = model
        self._putting = putting
        self._pin = adviser.hole.pin_hole
        self._tees: dict[float, TeeShot] = {}
        self._rounds: dict[tuple[float, int], PlayedHole] = {}

    def _place(self, distance_yd: float, across_yd: float = 0.0) -> Point:
        return (self._pin[0] - distance_yd * M_PER_YD, across_yd * M_PER_YD)

    def value(self, distance_yd: float, lie: Lie, *, across_yd: float = 0.0) -> float:
        """Strokes to hole out from a lie so far from the pin [yd]."""
        point = np.array([self._place(distance_yd, across_yd)])
        return float(self._adviser.policy.value_at(point, np.array([int(lie)]))[0])

    def tee_shot(self, distance_yd: float) -> TeeShot:
        """Best shot from a tee so far from the pin [yd]."""
        if distance_yd not in self._tees:
            best = self._adviser.place_values(self._place(distance_yd), Lie.TEE)[0]
            self._tees[distance_yd] = TeeShot(best.swing, best.bearing, best.value)
        return self._tees[distance_yd]

    def course(self, holes: tuple[tuple[float, int], ...] = COURSE) -> float:
        """Expected strokes of a course."""
        return math.fsum(self.tee_shot(length).value for length, _ in holes)

    def played(self, distance_yd: float, *, balls: int = BALLS) -> PlayedHole:
        """Play balls from a tee, each shot drawn; the same every time."""
        if (distance_yd, balls) not in self._rounds:
            self._rounds[distance_yd, balls] = self._play(distance_yd, balls)
        return self._rounds[distance_yd, balls]

    def _play(self, distance_yd: float, balls: int) -> PlayedHole:
        adviser = self._adviser
        policy = adviser.policy.with_tee(self.tee_shot(distance_yd))
        hole, model = adviser.hole, self._model
        pin = np.array(hole.pin_hole)
        after = np.full(balls, -1)
        penalty = np.zeros(balls, dtype=bool)
        long, short, first = np.zeros(balls), np.zeros(balls), np.zeros(balls)
        spent, drive = np.zeros(balls), np.zeros(balls)
        nearer = np.zeros(balls, dtype=bool)
        turn = 0

        def watch(moment: Moment) -> None:
            nonlocal turn
            who = moment.ball
            # What was spent since the last time belongs to the shot played then.
            added = moment.spent - spent[who]
            spent[who] = moment.spent
            near = nearer[who]
            np.add.at(short, who, np.where(near, added, 0.0))
            np.add.at(long, who, np.where(near, 0.0, added))
            away = np.hypot(*(moment.points - pin).T)
            if turn > 0:
                new = after[who] < 0
                after[who[new]] = moment.lies[new]
                drive[who[new]] = distance_yd * M_PER_YD - away[new]
                penalty[who[new]] = added[new] > 1.0
            nearer[who] = away <= SHORT_GAME_YD * M_PER_YD
            green = moment.swings == -1
            first[who[green]] = away[green]
            turn += 1

        found = roll_out(
            hole,
            model,
            self._place(distance_yd),
            decide=policy.decide,
            value_at=policy.value_at,
            balls=balls,
            rng=np.random.default_rng(SEED),
            partition=adviser.partition,
            putting=self._putting,
            watch=watch,
        )
        return PlayedHole(found.scores, found.putts, first, after, drive, penalty, long, short)


def scaled(factor: float) -> tuple[tuple[float, int], ...]:
    """The course, every hole so many times as long."""
    return tuple((length * factor, par) for length, par in COURSE)


@cache
def play(index: float, *, water: bool = False, longer_yd: float = 0.0) -> Play:
    """Solve the plain hole for a golfer of an index, his driver so much longer [yd]."""
    bag = bag_of(index)
    model = build_shot_model(bag)
    if longer_yd:
        carry = next(swing.carry_m for swing in model.swings if swing.club == DRIVER)
        model = scaled_carry(model, 1.0 + longer_yd * M_PER_YD / carry, clubs=(DRIVER,))
    hole = plain_hole(water=water)
    course = Course("plain", (hole,), "")
    bench = open_bench(PlanRequest(course=course, bag=bag), hole, [model])
    return Play(bench.solve(model), model, golfer_putting(bag.golfer))
