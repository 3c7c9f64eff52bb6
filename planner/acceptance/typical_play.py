"""Typical golfers on the plain hole, ball by ball: where strokes go, and what rounds come of it.

One hole, straight, level and still, is solved for a golfer; tees stand anywhere along its line, so
that one solution gives a hole of every length, and eighteen of them a course. It is the plain
hole of the calibration with woods beside it, and water on some. The golfer is the skill model's
for his handicap index with a standard set of clubs: nothing measured, nothing fitted here.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.course.hole import Course, GroundArea, Hole, Point
from planner.course.lies import Ground, Lie
from planner.course.plain_hole import plain_hole
from planner.golfer.putting import PuttingSkill
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.shot_pattern import ShotPattern
from planner.golfer.skill import TOUR_INDEX
from planner.golfer.standard_set import typical_bag
from planner.golfer.swing_set import build_shot_model, golfer_putting
from planner.planning.hole_bench import open_bench
from planner.planning.request import PlanRequest
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.policy import TeeShot
from planner.strategy.roll_out import Moment, roll_out
from planner.units import M_PER_YD

__all__ = [
    "COURSE",
    "GREEN_WOOD_YD",
    "INDEX_OF_SCORE",
    "TOUR",
    "TREES_FROM_YD",
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
    (160, 3), (175, 3), (195, 3), (210, 3),
    (350, 4), (380, 4), (400, 4), (410, 4), (420, 4), (430, 4), (440, 4), (445, 4), (455, 4),
    (460, 4),
    (500, 5), (520, 5), (535, 5), (545, 5),
)  # fmt: skip
"""Lengths [yd] and pars of a course as tours play, from memory but for their sum: of 7030 yards
the published strokes by distance from the tee add up to the published strokes of a tour round."""
WATER_HOLES = 3
"""Holes of the 14 with a drive that have water along one side (assumed)."""
ASSUMED_FAIRWAY_FROM_YD = 130.0
"""Fairways begin so far from the tee: a drive that stops short of it has not found one."""
TREES_FROM_YD = 100.0 / 3.0
"""Distance of the woods from the middle of the fairway: a clearing of 200 feet for a hole, 100 to
either side of its middle, as staked out by a golf architect (cybergolf.com, "The construction of
the second golf course at Giants Ridge, part 4")."""
GREEN_WOOD_YD = 14.0
"""The wood of recoveries so near that no hole's clearing leaves a tree there (assumed)."""
ASSUMED_WATER_FROM_YD = 28.0
"""Distance of the water from the middle of the fairway, on the right."""
WIDTH_M, BESIDE_M, WATER_ENDS_M = 200.0, 60.0, 30.0
DRIVER = "Driver"
BALLS, SEED = 8000, 7
"""Balls played from each tee; the mean of a round of eighteen holes is good to 0.04 strokes."""
SHORT_GAME_YD = 100.0
"""Long and short game part here (Broadie 2014)."""


def wooded_hole(*, water: bool, trees_yd: float | None) -> Hole:
    """The plain hole, with woods on both sides and water along one if asked for."""
    hole = plain_hole()
    start, end = -BESIDE_M, hole.pin_hole[0] + BESIDE_M
    side = ASSUMED_WATER_FROM_YD * M_PER_YD
    more = []
    if trees_yd is not None:
        trees = trees_yd * M_PER_YD
        more += [
            GroundArea(Ground.TREES, shapely.box(start, -WIDTH_M, end, -trees)),
            GroundArea(Ground.TREES, shapely.box(start, trees, end, WIDTH_M)),
        ]
    if water:
        far = hole.pin_hole[0] - WATER_ENDS_M
        more.append(GroundArea(Ground.RED, shapely.box(0.0, side, far, WIDTH_M)))
    return dataclasses.replace(hole, areas=(*hole.areas, *more))


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
        """Strokes to hole out from a lie so far from the pin [yd], ``across_yd`` off the line.

        Raises
        ------
        ValueError
            The line of play is farther off than the pin.
        """
        if across_yd > distance_yd:
            raise ValueError(f"no place {across_yd:g} yd off the line is {distance_yd:g} yd away")
        along_yd = math.sqrt(distance_yd**2 - across_yd**2)
        # Worked out at the place itself: between cells an edge of a wood would blur.
        return self._adviser.place_values(self._place(along_yd, across_yd), lie)[0].value

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


def _farther(pattern: ShotPattern, more_m: float) -> ShotPattern:
    """Every shot of a pattern so much farther at its own angle."""
    away = (pattern.means[:, :1] + more_m) / pattern.means[:, :1]
    means = np.hstack((pattern.means[:, :1] + more_m, pattern.means[:, 1:] * away))
    wider = np.array([np.diag((1.0, share)) for share in away[:, 0]])
    covariances = wider @ pattern.covariances @ wider
    return ShotPattern(pattern.weights, means, covariances, pattern.names)


def _longer_driver(model: ShotModel, more_m: float) -> ShotModel:
    """Every drive so much farther [m] at the angle it had: longer, and not straighter."""
    swings = tuple(
        dataclasses.replace(
            swing,
            carry_m=swing.carry_m + more_m,
            patterns={lie: _farther(one, more_m) for lie, one in swing.patterns.items()},
        )
        if swing.club == DRIVER
        else swing
        for swing in model.swings
    )
    return dataclasses.replace(model, swings=swings)


@cache
def play(
    index: float,
    *,
    water: bool = False,
    longer_yd: float = 0.0,
    trees_yd: float | None = TREES_FROM_YD,
) -> Play:
    """Solve the plain hole for a golfer of an index, his drives so much longer [yd]."""
    bag = typical_bag(index)
    model = build_shot_model(bag)
    if longer_yd:
        model = _longer_driver(model, longer_yd * M_PER_YD)
    hole = wooded_hole(water=water, trees_yd=trees_yd)
    course = Course("plain", (hole,), "")
    bench = open_bench(PlanRequest(course=course, bag=bag), hole, [model])
    return Play(bench.solve(model), model, golfer_putting(bag.golfer))
