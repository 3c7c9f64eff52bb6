"""The plain way to evaluate an action: draw shots with numpy, ask shapely where they end.

Written as one would without a solver in mind, the whole shot model in vectorised calls, each
polygon prepared. Nothing of the solver or of the package's own simulation is used.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from planner.benchmark.resting_worth import Estimate, Worth, estimate
from planner.course.hole import Hole, Point
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import (
    ASSUMED_CANOPY_STOP_SHARE,
    ASSUMED_TREE_FREE_PATH_M,
    ShotModel,
    Swing,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

STOPS = (Ground.SAND, Ground.TREES, Ground.YELLOW, Ground.RED)
"""Ground drawn on the map that stops a running ball."""
_BEYOND_M = 400.0
"""How far off the map ground is still out of bounds, and how far back an edge is looked for [m]."""
_NUDGE_M = 1e-6
_DESCENT_STEPS = 8
"""Steps of a fixed point that shrinks by slope over descent, seldom more than a tenth."""


class PlainMonteCarlo:
    """Evaluates actions on one hole by drawing shots.

    Parameters
    ----------
    hole, model
        The hole and the golfer.
    map_box
        A ball outside it is lost.
    worth
        Look-up of what resting places are worth.

    Slopes must be less steep than the descent of every swing by a good deal.
    """

    def __init__(
        self, hole: Hole, model: ShotModel, *, map_box: shapely.Polygon, worth: Worth
    ) -> None:
        self.hole = hole
        self.model = model
        self.worth = worth
        inside = map_box if hole.in_bounds is None else map_box.intersection(hole.in_bounds)
        self._out = map_box.buffer(_BEYOND_M).difference(inside)
        self._painted = {
            ground: shapely.union_all([area.shape_hole for area in hole.areas_of(ground)])
            for ground in Ground
            if hole.areas_of(ground)
        }
        self._painted[Ground.OUT] = self._out
        seen: dict[Ground, BaseGeometry] = {}
        covered: BaseGeometry = shapely.Polygon()
        for ground in sorted(self._painted, reverse=True):
            seen[ground] = self._painted[ground].difference(covered)
            covered = covered.union(self._painted[ground])
        self._woods = seen.get(Ground.TREES, shapely.Polygon())
        self._stops = shapely.union_all([seen[g] for g in (*STOPS, Ground.OUT) if g in seen])
        self._edges = {g: seen[g].boundary for g in (Ground.YELLOW, Ground.RED) if g in seen}
        for shape in (*self._painted.values(), self._woods, self._stops, *self._edges.values()):
            shapely.prepare(shape)

    def value(
        self,
        position_hole: Point,
        lie: Lie,
        swing: int,
        bearing: float,
        *,
        samples: int,
        rng: np.random.Generator,
    ) -> Estimate:
        """Expected strokes of a swing (index) from a place [m] along ``bearing`` [rad]."""
        place = np.asarray(position_hole, dtype=float)
        one = self.model.swings[swing]
        ahead = np.array([math.cos(bearing), math.sin(bearing)])
        rest = self._landings(place, lie, one, bearing, samples, rng)
        ground = self.ground_at(rest)
        moving = self._come_down_through_woods(rest, ground, one, ahead, rng)
        self._run(rest, ground, moving, one, bearing)
        self._meet_woods_at_start(rest, ground, place, one, bearing, rng)
        return estimate(self.worth, rest, ground, self._crossings(rest, ground, ahead))

    def ground_at(self, points_hole: FloatArray) -> IntArray:
        """Ground under points [m], shape ``(n, 2)``: the last painted polygon that holds each."""
        found = np.full(len(points_hole), Ground.ROUGH, dtype=np.int64)
        for ground in sorted(self._painted):
            inside = shapely.contains_xy(self._painted[ground], *points_hole.T)
            found[inside] = ground
        return found

    def _landings(
        self,
        place: FloatArray,
        lie: Lie,
        swing: Swing,
        bearing: float,
        samples: int,
        rng: np.random.Generator,
    ) -> FloatArray:
        pattern = swing.patterns[lie]
        part = rng.choice(len(pattern.weights), size=samples, p=pattern.weights)
        factors = np.linalg.cholesky(pattern.covariances)
        normal = rng.standard_normal((samples, 2))
        wind = np.full(samples, self._wind(bearing))
        carry, stretch = swing.blown(pattern.means[part], wind)
        carry += np.einsum("nij,njk,nk->ni", stretch, factors[part], normal)
        cos, sin = math.cos(bearing), math.sin(bearing)
        turn = np.array([[cos, sin], [-sin, cos]])
        height = self.hole.elevation
        if height.is_level:
            return np.asarray(place + carry @ turn)
        # Drawn is where the ball passes the height of its start; it lands on the descent line.
        passes = carry[:, 0].copy()
        landed = place + carry @ turn
        for _ in range(_DESCENT_STEPS):
            above = height(landed[:, 0]) - height(place[0])
            carry[:, 0] = passes - above / math.tan(swing.descent)
            landed = place + carry @ turn
        return np.asarray(landed)

    def _come_down_through_woods(
        self,
        rest: FloatArray,
        ground: IntArray,
        swing: Swing,
        ahead: FloatArray,
        rng: np.random.Generator,
    ) -> BoolArray:
        """Stop in the canopy what comes down through it; return what may still run."""
        moving = np.ones(len(rest), dtype=bool)
        if swing.canopy_shadow_m <= 0.0 or self._woods.is_empty:
            return moving
        may = (ground != Ground.TREES) & (rng.random(len(rest)) < ASSUMED_CANOPY_STOP_SHARE)
        who = np.flatnonzero(may)
        distance = self._first_hit(rest[who], -swing.canopy_shadow_m * ahead, self._woods)
        hit = np.isfinite(distance)
        caught = who[hit]
        rest[caught] -= distance[hit, None] * ahead
        ground[caught] = Ground.TREES
        moving[caught] = False
        return moving

    def _wind(self, bearing: float) -> float:
        """Where the wind comes from against a bearing [rad]; anything in still air."""
        wind_from = self.model.wind_from
        return 0.0 if wind_from is None else wind_from - self.hole.frame.azimuth - bearing

    def _run(
        self, rest: FloatArray, ground: IntArray, moving: BoolArray, swing: Swing, bearing: float
    ) -> None:
        ahead = np.array([math.cos(bearing), math.sin(bearing)])
        runs = np.zeros(len(Ground))
        for kind in Ground:
            if kind not in (*STOPS, Ground.OUT):
                runs[kind] = swing.runs((kind.lie,), self._wind(bearing))[0, 0]
        who = np.flatnonzero(moving & (runs[ground] > 0.0))
        length = runs[ground[who]]
        way = np.minimum(length, self._first_hit(rest[who], length[:, None] * ahead, self._stops))
        rest[who] += way[:, None] * ahead
        ground[who] = self.ground_at(rest[who] + _NUDGE_M * ahead)

    def _meet_woods_at_start(
        self,
        rest: FloatArray,
        ground: IntArray,
        place: FloatArray,
        swing: Swing,
        bearing: float,
        rng: np.random.Generator,
    ) -> None:
        low = min(swing.climb_m, swing.carry_m)
        if low <= 0.0 or shapely.distance(self._woods, shapely.Point(place)) > low:
            return
        angle = bearing + swing.start_sd * rng.standard_normal(len(rest))
        way = np.column_stack((np.cos(angle), np.sin(angle)))
        starts = np.tile(place, (len(rest), 1))
        wood = shapely.intersection(_lines(starts, low * way), self._woods)
        crossed = shapely.length(wood)
        stopped = rng.random(len(rest)) < 1.0 - np.exp(-crossed / ASSUMED_TREE_FREE_PATH_M)
        entry = shapely.distance(wood[stopped], shapely.Point(place))
        deep = entry + 0.5 * np.minimum(crossed[stopped], ASSUMED_TREE_FREE_PATH_M)
        rest[stopped] = place + deep[:, None] * way[stopped]
        ground[stopped] = Ground.TREES

    def _crossings(self, rest: FloatArray, ground: IntArray, ahead: FloatArray) -> FloatArray:
        found = rest.copy()
        for kind, edge in self._edges.items():
            who = np.flatnonzero(ground == kind)
            distance = self._first_hit(rest[who], -_BEYOND_M * ahead, edge)
            back = np.where(np.isfinite(distance), distance, 0.0)
            found[who] -= back[:, None] * ahead
        return found

    @staticmethod
    def _first_hit(starts: FloatArray, way: FloatArray, shape: BaseGeometry) -> FloatArray:
        """Distance [m] from each start along ``way`` to the first point in a shape, else inf."""
        if len(starts) == 0:
            return np.empty(0)
        lines = _lines(starts, np.broadcast_to(way, starts.shape))
        found = np.full(len(starts), np.inf)
        touch = shapely.intersects(shape, lines)
        met = shapely.intersection(lines[touch], shape)
        found[touch] = shapely.distance(met, shapely.points(starts[touch]))
        return found


def _lines(starts: FloatArray, way: FloatArray) -> NDArray[np.object_]:
    return np.asarray(shapely.linestrings(np.stack((starts, starts + way), axis=1)))
