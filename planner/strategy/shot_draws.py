"""Draws of single shots: the four steps of the shot model for many balls, one at a time.

Nothing here knows a lattice: each ball's line is cut by the polygons themselves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.course.hole import Hole
from planner.course.lies import Lie
from planner.golfer.shot_outcome import (
    ASSUMED_CANOPY_STOP_SHARE,
    ASSUMED_TREE_FREE_PATH_M,
    ShotModel,
)
from planner.strategy.ground_lines import (
    MOST_CUTS,
    TURF_LIES,
    GroundPartition,
    cut_line,
    height_at,
    label_line,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class DrawnShots:
    """Where ``n`` shots came to rest.

    Parameters
    ----------
    rest_hole
        Resting places [m], shape ``(n, 2)``.
    ground_class
        Class of the ground there, index into the partition's ``classes``; a ball that a wood
        stopped is in trees.
    crossing_hole
        Where each path, taken back along the aim, last entered the ground it ended on [m].
        Where the aim's line is all on that ground, the straight path from the ball is taken,
        and where that fails too the resting place.
    """

    rest_hole: FloatArray
    ground_class: IntArray
    crossing_hole: FloatArray


class ShotDraws:
    """Draws shots of one golfer on one hole.

    Parameters
    ----------
    partition, hole
        Ground of the hole, and the hole for its heights and its place against the wind.
    model
        Swings and wind.
    """

    def __init__(self, partition: GroundPartition, hole: Hole, model: ShotModel) -> None:
        self.partition = partition
        self.model = model
        self.azimuth = hole.frame.azimuth
        level = hole.elevation.is_level
        self._along = np.empty(0) if level else np.array(hole.elevation.along)
        self._height = np.empty(0) if level else np.array(hole.elevation.height)
        swings = model.swings
        shape = (len(swings), len(Lie))
        most = max(len(p.weights) for swing in swings for p in swing.patterns.values())
        self.allowed = np.zeros(shape, dtype=bool)
        self._shares = np.ones((*shape, most))
        self._means = np.zeros((*shape, most, 2))
        self._factors = np.zeros((*shape, most, 2, 2))
        for i, swing in enumerate(swings):
            for lie, pattern in swing.patterns.items():
                k = len(pattern.weights)
                self.allowed[i, lie] = True
                self._shares[i, lie, :k] = np.cumsum(pattern.weights)
                self._shares[i, lie, k - 1 :] = 1.0
                self._means[i, lie, :k] = pattern.means
                self._factors[i, lie, :k] = np.linalg.cholesky(pattern.covariances)
        self._runs = np.array([swing.runs(TURF_LIES, 0.0)[0] for swing in swings])
        self._shadow = np.array([swing.canopy_shadow_m for swing in swings])
        self._low = np.array([min(swing.climb_m, swing.carry_m) for swing in swings])
        self._cot = np.array([0.0 if level else 1.0 / math.tan(s.descent) for s in swings])
        self._start_sd = np.array([swing.start_sd for swing in swings])
        if partition.lost_class >= 0:
            corners = partition.edges_hole[partition.edge_class == partition.lost_class]
            corners = corners.reshape(-1, 2)
            self._map_low, self._map_high = corners.min(axis=0), corners.max(axis=0)

    def draw(
        self,
        points_hole: FloatArray,
        lies: IntArray,
        swings: IntArray,
        bearings: FloatArray,
        *,
        rng: np.random.Generator,
    ) -> DrawnShots:
        """Draw one shot for every ball.

        Parameters
        ----------
        points_hole, lies
            Where the balls lie [m], shape ``(n, 2)``, and on what, values of ``Lie``.
        swings, bearings
            Index into the model's swings, and aim [rad], shape ``(n,)``.

        Raises
        ------
        ValueError
            A swing is not allowed from its lie.
        """
        wrong = np.flatnonzero(~self.allowed[swings, lies])
        if wrong.size:
            swing, lie = self.model.swings[swings[wrong[0]]], Lie(int(lies[wrong[0]]))
            raise ValueError(f"{swing.label} is not played from {lie.words}; choose another swing")
        n = len(points_hole)
        normal = rng.standard_normal((n, 3))
        uniform = rng.random((n, 3))
        part = (uniform[:, :1] >= self._shares[swings, lies]).sum(axis=1)
        carry = self._means[swings, lies, part]
        off = np.einsum("nij,nj->ni", self._factors[swings, lies, part], normal[:, :2])
        runs = self._runs[swings]
        if self.model.wind_from is not None:
            for i in np.unique(swings):
                ours, swing = swings == i, self.model.swings[i]
                wind = self.model.wind_from - self.azimuth - bearings[ours]
                carry[ours], stretch = swing.blown(carry[ours], wind)
                off[ours] = np.einsum("nij,nj->ni", stretch, off[ours])
                runs[ours] = swing.runs(TURF_LIES, wind)
        carry = carry + off
        rest = np.empty((n, 2))
        crossing = np.empty((n, 2))
        ended = np.empty(n, dtype=np.int64)
        ground = self.partition
        _fly(
            points_hole,
            bearings,
            bearings + self._start_sd[swings] * normal[:, 2],
            carry,
            uniform[:, 1:],
            self._low[swings],
            self._shadow[swings],
            self._cot[swings],
            runs,
            ASSUMED_TREE_FREE_PATH_M,
            ASSUMED_CANOPY_STOP_SHARE,
            ground.edges_hole,
            ground.edge_class,
            ground.edge_sign,
            ground.base,
            ground.turf,
            ground.grounds,
            ground.tree_class,
            ground.lost_class,
            self._along,
            self._height,
            rest,
            ended,
            crossing,
        )
        if ground.lost_class >= 0:
            # A wood beyond the map may have stopped the ball: it is lost all the same.
            low, high = self._map_low, self._map_high
            ended[((rest < low) | (rest > high)).any(axis=1)] = ground.lost_class
        return DrawnShots(rest, ended, crossing)


@njit(cache=True, nogil=True)
def _landing(way, across, along, ca, sa, cot, known_along, known_height):  # type: ignore[no-untyped-def]
    """Distance along the line at which the descent line first meets the ground.

    ``way`` is where the ball passes the height of its start, ``across`` the offset of its line.
    """
    own = height_at(along, known_along, known_height)
    foot = along - across * sa
    n = len(known_along)
    if n == 0:
        return way
    if abs(ca) < 1e-9:
        return way - cot * (height_at(foot, known_along, known_height) - own)
    last_t, last_w = -math.inf, -math.inf
    for step in range(n):
        k = step if ca > 0.0 else n - 1 - step
        t = (known_along[k] - foot) / ca
        w = t + cot * (known_height[k] - own)
        if way <= w:
            if step == 0:
                return t - (w - way)
            return last_t + (t - last_t) * (way - last_w) / (w - last_w)
        last_t, last_w = t, w
    return last_t + way - last_w


@njit(cache=True, nogil=True)
def _fly(  # type: ignore[no-untyped-def]
    points, bearings, starts, carry, chance, low, shadow, cot, runs, free_path, canopy_share,
    edges, owner, sign, base, turf, grounds, tree, lost, known_along, known_height,
    rest, ended, crossing
):  # fmt: skip
    at = np.empty(MOST_CUTS)
    what = np.empty(MOST_CUTS, np.int64)
    turn = np.empty(MOST_CUTS, np.int64)
    start = np.empty(MOST_CUTS + 2)
    label = np.empty(MOST_CUTS + 2, np.int64)
    covers = np.empty(len(base), np.int64)
    for n in range(len(points)):
        along, across = points[n, 0], points[n, 1]
        if tree >= 0 and low[n] > 0.0:
            ca, sa = math.cos(starts[n]), math.sin(starts[n])
            cuts = cut_line(along, across, ca, sa, edges, owner, sign, at, what, turn)
            count = label_line(cuts, at, what, turn, base, covers, start, label)
            wood, entry = 0.0, -1.0
            for i in range(count):
                if label[i] == tree and start[i + 1] > 0.0 and start[i] < low[n]:
                    if entry < 0.0:
                        entry = max(start[i], 0.0)
                    wood += min(start[i + 1], low[n]) - max(start[i], 0.0)
            if chance[n, 0] < 1.0 - math.exp(-wood / free_path):
                way = entry + 0.5 * min(wood, free_path)
                rest[n, 0], rest[n, 1] = along + way * ca, across + way * sa
                crossing[n] = rest[n]
                ended[n] = tree
                continue
        ca, sa = math.cos(bearings[n]), math.sin(bearings[n])
        side = carry[n, 1]
        t = _landing(carry[n, 0], side, along, ca, sa, cot[n], known_along, known_height)
        foot_along, foot_across = along - side * sa, across + side * ca
        cuts = cut_line(foot_along, foot_across, ca, sa, edges, owner, sign, at, what, turn)
        count = label_line(cuts, at, what, turn, base, covers, start, label)
        i = 0
        while i + 1 < count and start[i + 1] <= t:
            i += 1
        kind = label[i]
        if kind != tree and kind != lost and shadow[n] > 0.0:
            k = i - 1
            while k >= 0 and label[k] != tree:
                k -= 1
            if k >= 0 and t - start[k + 1] < shadow[n] and chance[n, 1] < canopy_share:
                t = start[k + 1]
                i = k
        if turf[label[i]] >= 0:
            reach = t + runs[n, turf[label[i]]]
            while i + 1 < count and start[i + 1] <= reach and turf[label[i]] >= 0:
                i += 1
            t = reach if turf[label[i]] >= 0 else start[i]
        rest[n, 0], rest[n, 1] = foot_along + t * ca, foot_across + t * sa
        ended[n] = label[i]
        i = _entry(i, label, grounds, lost)
        if math.isinf(start[i]):
            # The aim's line is all on this ground, as beside a boundary: take the ball's own.
            way_along, way_across = rest[n, 0] - along, rest[n, 1] - across
            t = math.hypot(way_along, way_across)
            if t <= 0.0:
                crossing[n] = rest[n]
                continue
            ca, sa = way_along / t, way_across / t
            foot_along, foot_across = along, across
            cuts = cut_line(along, across, ca, sa, edges, owner, sign, at, what, turn)
            count = label_line(cuts, at, what, turn, base, covers, start, label)
            i = 0
            while i + 1 < count and start[i + 1] <= t:
                i += 1
            i = _entry(i, label, grounds, lost)
        if math.isinf(start[i]):
            crossing[n] = rest[n]
        else:
            crossing[n, 0] = foot_along + start[i] * ca
            crossing[n, 1] = foot_across + start[i] * sa


@njit(cache=True, nogil=True)
def _entry(i, label, grounds, lost):  # type: ignore[no-untyped-def]
    """First stretch of the unbroken row of stretches on the same ground that ends with ``i``."""
    ground = grounds[label[i]]
    while i > 0 and grounds[label[i - 1]] == ground and label[i - 1] != lost:
        i -= 1
    return i
