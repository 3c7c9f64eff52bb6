"""Simulation of a policy, ball by ball, off any lattice.

It follows the shot model with exact polygons (:mod:`planner.strategy.shot_draws`) and the Rules
with :mod:`planner.course.relief`. The policy decides; values serve only to choose among relief
options. With the policy of a solved hole the mean score must agree with the solved value.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.course import relief
from planner.course.hole import Hole, Point
from planner.course.lies import Ground, Lie
from planner.golfer.putting import PuttingSkill, drawn_putts
from planner.golfer.shot_outcome import ShotModel
from planner.strategy.grid import label_points
from planner.strategy.ground_lines import GroundPartition, ground_partition
from planner.strategy.shot_draws import ShotDraws

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
Decide = Callable[[FloatArray, IntArray, BoolArray], tuple[ArrayLike, ArrayLike]]
ValueAt = Callable[[FloatArray, IntArray], ArrayLike]
Watch = Callable[["Moment"], None]

UNPLAYABLE = -2
"""Swing index of a ball declared unplayable."""
_CHUNK = 50_000
_PLACE_M = 0.5
"""Relief is worked out for references on a lattice of this spacing [m]; each ball takes the
nearest."""
_LIE_OF_GROUND = np.array([ground.lie for ground in Ground], dtype=np.int64)


@dataclass(frozen=True, eq=False)
class RollOut:
    """Result of ``n`` balls.

    Parameters
    ----------
    scores
        Strokes with penalties and putts; what a ball had so far if it did not finish.
    penalties, putts
        Parts of it.
    finished
        Whether the ball was holed within the strokes allowed.
    """

    scores: FloatArray
    penalties: FloatArray
    putts: FloatArray
    finished: BoolArray

    @property
    def mean(self) -> float:
        """Mean score of the balls that finished, not a number if none did."""
        done = self.scores[self.finished]
        return float(done.mean()) if done.size else math.nan

    @property
    def standard_error(self) -> float:
        """Standard error of :attr:`mean`, not a number for fewer than two balls."""
        done = self.scores[self.finished]
        return float(done.std(ddof=1) / math.sqrt(done.size)) if done.size > 1 else math.nan


@dataclass(frozen=True, eq=False)
class Moment:
    """Balls about to be played, or on the green at last; all arrays of one length.

    Parameters
    ----------
    ball
        Which balls.
    points, lies
        Where they are [m], shape ``(n, 2)``, and on what (values of ``Lie``).
    swings
        What is played, ``UNPLAYABLE`` for a ball that is lifted; -1 on the green.
    spent
        Strokes and penalty strokes so far.
    """

    ball: IntArray
    points: FloatArray
    lies: IntArray
    swings: IntArray
    spent: FloatArray


def roll_out(
    hole: Hole,
    model: ShotModel,
    tee_position: Point,
    *,
    decide: Decide,
    value_at: ValueAt,
    balls: int,
    rng: np.random.Generator,
    local_rule_e5: bool = False,
    may_replay: bool = True,
    map_box: shapely.Polygon | None = None,
    max_strokes: int = 30,
    putting: PuttingSkill | None = None,
    partition: GroundPartition | None = None,
    watch: Watch | None = None,
) -> RollOut:
    """Play ``balls`` balls from a tee.

    Parameters
    ----------
    tee_position
        Where the balls start [m].
    decide
        Called with places ``(n, 2)`` [m], lies ``(n,)`` (values of ``Lie``) and whether each
        ball is on the tee; returns the index of the swing in ``model.swings``, or
        ``UNPLAYABLE``, and the bearing [rad] of each ball. Balls on the green are not asked.
    value_at
        Expected strokes at places ``(n, 2)`` with lies ``(n,)``, ``Lie.TEE`` for the tee; never
        asked on the green, where the model's putts count.
    local_rule_e5
        Whether Model Local Rule E-5 is in force.
    may_replay
        Whether a ball in a penalty area may be played again from where it came (17.1d(1)) although
        there is other relief. A solved plan, whose drops do not know where a ball came from, never
        does.
    map_box
        A ball outside it is lost; None for no end. Not used if ``partition`` is given.
    max_strokes
        Decisions after which a ball is given up.
    putting
        Draws every putt; None adds the expected putts of the model instead.
    partition
        Ground of the hole, if it was made before.
    watch
        Told of all balls that are played at a time, and once of those that reached the green.

    Raises
    ------
    ValueError
        The policy has no shot for a ball, or one that its lie does not allow.
    """
    ground = partition or ground_partition(hole, map_box=map_box)
    draws = ShotDraws(ground, hole, model)
    choice = _Relief(hole, model, value_at, local_rule_e5, may_replay)
    parts = [
        _Flight(draws, choice, hole, model, tee_position, min(_CHUNK, balls - first)).play(
            decide, rng, max_strokes, putting, watch, first
        )
        for first in range(0, balls, _CHUNK)
    ]
    return RollOut(
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("scores", "penalties", "putts", "finished")
        )
    )


class _Flight:
    """A chunk of balls on their way."""

    def __init__(
        self,
        draws: ShotDraws,
        choice: _Relief,
        hole: Hole,
        model: ShotModel,
        tee: Point,
        balls: int,
    ) -> None:
        self.draws = draws
        self.choice = choice
        self.model = model
        self.pin = np.asarray(hole.pin_hole)
        self.points = np.tile(np.asarray(tee, dtype=float), (balls, 1))
        self.lies = np.full(balls, Lie.TEE, dtype=np.int64)
        self.last_points, self.last_lies = self.points.copy(), self.lies.copy()
        self.strokes = np.zeros(balls)
        self.penalties = np.zeros(balls)
        self.putts = np.zeros(balls)

    def play(
        self,
        decide: Decide,
        rng: np.random.Generator,
        max_strokes: int,
        putting: PuttingSkill | None,
        watch: Watch | None,
        first: int,
    ) -> RollOut:
        for _ in range(max_strokes):
            live = np.flatnonzero(self.lies != Lie.GREEN)
            if live.size == 0:
                break
            places, lies = self.points[live], self.lies[live]
            chosen, aims = decide(places, lies, lies == Lie.TEE)
            swings = np.asarray(chosen, dtype=np.int64)
            bearings = np.asarray(aims, dtype=float)
            self._check(places, lies, swings, bearings)
            if watch is not None:
                watch(self._moment(live, swings, first))
            lifted = swings == UNPLAYABLE
            if lifted.any():
                who = live[lifted]
                drops = self.choice.unplayable(
                    places[lifted], lies[lifted], self.last_points[who], self.last_lies[who]
                )
                self._lift(who, drops)
            if not lifted.all():
                self._hit(live[~lifted], swings[~lifted], bearings[~lifted], rng)
        finished = self.lies == Lie.GREEN
        if watch is not None:
            done = np.flatnonzero(finished)
            watch(self._moment(done, np.full(len(done), -1, dtype=np.int64), first))
        distance = np.hypot(*(self.points[finished] - self.pin).T)
        if putting is None:
            self.putts[finished] = self.model.expected_putts(distance)
        else:
            self.putts[finished] = drawn_putts(distance, putting, rng=rng)
        scores = self.strokes + self.penalties + self.putts
        return RollOut(scores, self.penalties, self.putts, finished)

    def _moment(self, who: IntArray, swings: IntArray, first: int) -> Moment:
        spent = self.strokes[who] + self.penalties[who]
        return Moment(who + first, self.points[who], self.lies[who], swings, spent)

    @staticmethod
    def _check(places: FloatArray, lies: IntArray, swings: IntArray, bearings: FloatArray) -> None:
        bad = (swings < 0) & (swings != UNPLAYABLE) | ~np.isfinite(bearings)
        if bad.any():
            i = int(np.argmax(bad))
            raise ValueError(
                f"the policy has no shot from {Lie(int(lies[i])).words} at {places[i]} m along "
                "and across the hole; solve the hole with a bag that has one"
            )

    def _hit(
        self, who: IntArray, swings: IntArray, bearings: FloatArray, rng: np.random.Generator
    ) -> None:
        before, lies = self.points[who], self.lies[who]
        shots = self.draws.draw(before, lies, swings, bearings, rng=rng)
        self.last_points[who], self.last_lies[who] = before, lies
        self.strokes[who] += 1.0
        ground = self.draws.partition.grounds[shots.ground_class]
        self.points[who] = shots.rest_hole
        self.lies[who] = _LIE_OF_GROUND[ground]
        wet = np.isin(ground, (Ground.YELLOW, Ground.RED))
        if wet.any():
            drops = self.choice.penalty_area(
                ground[wet], shots.crossing_hole[wet], before[wet], lies[wet]
            )
            self._lift(who[wet], drops)
        out = ground == Ground.OUT
        if out.any():
            lost = shots.ground_class[out] == self.draws.partition.lost_class
            drops = self.choice.out_of_bounds(
                lost, shots.crossing_hole[out], before[out], lies[out]
            )
            self._lift(who[out], drops)

    def _lift(self, who: IntArray, drops: _Drops) -> None:
        self.points[who] = drops.points
        self.lies[who] = drops.lies
        self.penalties[who] += drops.strokes


@dataclass(eq=False)
class _Drops:
    """Best relief of some balls: place, lie, penalty strokes and cost with the penalty."""

    points: FloatArray
    lies: IntArray
    strokes: FloatArray
    cost: FloatArray


class _Relief:
    """Chooses among relief options by value; remembers what it worked out by place."""

    def __init__(
        self,
        hole: Hole,
        model: ShotModel,
        value_at: ValueAt,
        local_rule_e5: bool,
        may_replay: bool,
    ) -> None:
        self.hole = hole
        self.may_replay = may_replay
        self.model = model
        self.value_at = value_at
        self.local_rule_e5 = local_rule_e5 and hole.in_bounds is not None
        self.known: dict[tuple[int, int, int], tuple[float, float, int, float, float]] = {}
        self.shapes = {
            ground: shapely.get_parts(
                shapely.union_all([area.shape_hole for area in hole.areas_of(ground)])
            )
            for ground in (Ground.YELLOW, Ground.RED, Ground.SAND)
        }
        self.water = shapely.union_all(
            [area.shape_hole for area in hole.areas_of(Ground.YELLOW, Ground.RED)]
        )
        self.fairway = shapely.union_all(
            [area.shape_hole for area in hole.areas_of(Ground.FAIRWAY)]
        )
        self.not_fairway = shapely.union_all(
            [
                area.shape_hole
                for area in hole.areas_of(Ground.YELLOW, Ground.RED, Ground.SAND, Ground.GREEN)
            ]
        )

    def values(self, points: FloatArray, lies: IntArray) -> FloatArray:
        """Expected strokes to hole out, on the green too."""
        found = np.empty(len(points))
        green = lies == Lie.GREEN
        if green.any():
            away = points[green] - np.asarray(self.hole.pin_hole)
            found[green] = self.model.expected_putts(np.hypot(away[:, 0], away[:, 1]))
        if not green.all():
            found[~green] = self.value_at(points[~green], lies[~green])
        return found

    def penalty_area(
        self, ground: IntArray, crossing: FloatArray, before: FloatArray, lies: IntArray
    ) -> _Drops:
        """Rule 17.1d, stroke and distance among the options or where there is no other."""
        drops = self._best(ground, crossing)
        only = None if self.may_replay else np.isinf(drops.cost)
        return self._or_replay(drops, before, lies, only=only)

    def out_of_bounds(
        self, lost: BoolArray, crossing: FloatArray, before: FloatArray, lies: IntArray
    ) -> _Drops:
        """Rule 18.2, or Local Rule E-5 where the ball crossed a boundary."""
        if not self.local_rule_e5:
            return _Drops(before, lies, np.ones(len(before)), np.full(len(before), np.nan))
        drops = self._best(np.full(len(before), Ground.OUT, dtype=np.int64), crossing)
        drops.cost[lost] = np.inf
        return self._or_replay(drops, before, lies)

    def unplayable(
        self, points: FloatArray, lies: IntArray, before: FloatArray, lies_before: IntArray
    ) -> _Drops:
        """Rule 19.2b and c, in sand 19.3; stroke and distance only if they give no drop."""
        kind = np.where(lies == Lie.SAND, int(Ground.SAND), int(Ground.TREES))
        drops = self._best(kind.astype(np.int64), points)
        none = np.isinf(drops.cost)
        drops.points[none], drops.lies[none] = before[none], lies_before[none]
        return drops

    def _or_replay(
        self,
        drops: _Drops,
        before: FloatArray,
        lies: IntArray,
        *,
        only: BoolArray | None = None,
    ) -> _Drops:
        """Drops, or the last place again where that is better (where ``only`` says, if it does)."""
        replay = 1.0 + self.values(before, lies)
        again = replay < drops.cost
        if only is not None:
            again &= only
        return _Drops(
            np.where(again[:, None], before, drops.points),
            np.where(again, lies, drops.lies),
            np.where(again, 1.0, drops.strokes),
            np.where(again, replay, drops.cost),
        )

    def _best(self, kind: IntArray, points: FloatArray) -> _Drops:
        """Best drop for each reference point; infinite cost where there is none."""
        cells = np.rint(points / _PLACE_M).astype(np.int64)
        keys, back = np.unique(np.column_stack((kind, cells)), axis=0, return_inverse=True)
        places = [(int(k), int(i), int(j)) for k, i, j in keys]
        self._learn([key for key in places if key not in self.known])
        found = np.array([self.known[key] for key in places])[back.reshape(-1)]
        return _Drops(found[:, :2], found[:, 2].astype(np.int64), found[:, 3], found[:, 4])

    def _learn(self, places: list[tuple[int, int, int]]) -> None:
        rows: list[FloatArray] = []
        for number, (kind, i, j) in enumerate(places):
            self.known[kind, i, j] = (i * _PLACE_M, j * _PLACE_M, int(Lie.ROUGH), 1.0, math.inf)
            for option in self._options(Ground(kind), (i * _PLACE_M, j * _PLACE_M)):
                n = len(option.points_hole)
                extra = np.tile((float(number), float(option.strokes)), (n, 1))
                rows.append(np.hstack((option.points_hole, extra)))
        if not rows:
            return
        table = np.concatenate(rows)
        labels = label_points(self.hole, table[:, :2])
        table = table[~np.isin(labels, (Ground.YELLOW, Ground.RED, Ground.OUT))]
        if len(table) == 0:
            return
        lies = _LIE_OF_GROUND[label_points(self.hole, table[:, :2])]
        cost = table[:, 3] + self.values(table[:, :2], lies)
        order = np.lexsort((cost, table[:, 2]))
        numbers, first = np.unique(table[order, 2], return_index=True)
        for number, row in zip(numbers, order[first], strict=True):
            self.known[places[int(number)]] = (
                float(table[row, 0]),
                float(table[row, 1]),
                int(lies[row]),
                float(table[row, 3]),
                float(cost[row]),
            )

    def _options(self, kind: Ground, place: Point) -> tuple[relief.ReliefOption, ...]:
        hole, club = self.hole, self.model.club_length_m
        pin, bounds = hole.pin_hole, hole.in_bounds
        if kind is Ground.OUT:
            return (
                relief.fairway_edge_drops(
                    place,
                    pin,
                    fairway=self.fairway,
                    club_length=club,
                    forbidden=self.not_fairway,
                    in_bounds=bounds,
                ),
            )
        if kind is Ground.TREES:
            return relief.unplayable_drops(
                place, pin, club_length=club, forbidden=self.water, in_bounds=bounds
            )
        parts = self.shapes[kind]
        shape = parts[int(np.argmin(shapely.distance(parts, shapely.Point(place))))]
        if kind is Ground.SAND:
            return relief.bunker_unplayable_drops(
                place,
                pin,
                bunker=shape,
                club_length=club,
                forbidden=self.water,
                in_bounds=bounds,
            )
        return relief.penalty_area_drops(
            kind, place, pin, shape=shape, club_length=club, in_bounds=bounds
        )
