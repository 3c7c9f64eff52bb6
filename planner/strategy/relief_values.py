"""Where relief leads, as point sets whose values can be looked up in every sweep.

The Rules give points (:mod:`planner.course.relief`); the solver takes the best. Points are
found once for a hole: for samples of every edge, and for every state in trees or sand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from planner.course import relief
from planner.course.hole import FloatArray, Hole
from planner.course.lies import Ground, Lie
from planner.strategy.grid import GroundRaster, HoleGrid, label_points

PLAYED_LIES = (Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.SAND, Lie.TREES)
"""Lies with a value field, in the order of the solver's arrays."""
TREES_SLOT = PLAYED_LIES.index(Lie.TREES)
GREEN_SLOT = len(PLAYED_LIES)
"""Slot of a point on the green, whose value is that of putting."""
_SLOT_OF_GROUND = np.array(
    [
        -1
        if ground.is_penalty_area or ground is Ground.OUT
        else GREEN_SLOT
        if ground.lie is Lie.GREEN
        else PLAYED_LIES.index(ground.lie)
        for ground in Ground
    ]
)
_UNPLAYABLE_LATERAL = 10
_UNPLAYABLE_STEP_M = 4.0
_UNPLAYABLE_REACH_M = 80.0


@dataclass(frozen=True, eq=False)
class DropPoints:
    """Candidate drops of ``n`` situations, in rows of a CSR list.

    Parameters
    ----------
    start
        Row starts, shape ``(n + 1,)``; every situation has at least one candidate.
    points_hole
        Places [m], shape ``(c, 2)``.
    slot
        Lie of each place: index into ``PLAYED_LIES`` or ``GREEN_SLOT``.
    strokes
        Penalty strokes of each candidate.
    """

    start: NDArray[np.intp]
    points_hole: FloatArray
    slot: NDArray[np.intp]
    strokes: FloatArray

    def best(self, cost: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
        """Least ``cost`` of each situation, shape ``(n,)``, and the candidate that has it."""
        if len(self.start) == 1:
            return np.empty(0), np.empty(0, dtype=np.intp)
        least = np.minimum.reduceat(cost, self.start[:-1])
        owner = np.repeat(np.arange(len(least)), np.diff(self.start))
        hits = np.flatnonzero(cost == least[owner])
        _, first = np.unique(owner[hits], return_index=True)
        return least, hits[first]


@dataclass(frozen=True, eq=False)
class EdgeRelief:
    """Edge samples [m], shape ``(e, 2)``, with the ground inside each and its drops.

    ``edge_of_label`` and ``edge_of_patch_label`` give the nearest sample for every raster cell
    in a relief area, -1 elsewhere.
    """

    edges_hole: FloatArray
    grounds: NDArray[np.intp]
    drops: DropPoints
    edge_of_label: NDArray[np.int32]
    edge_of_patch_label: NDArray[np.int32]

    def on(self, grid: HoleGrid) -> EdgeRelief:
        """The same samples and drops on the rasters of another grid of the hole."""
        return EdgeRelief(
            self.edges_hole,
            self.grounds,
            self.drops,
            _nearest_edge(grid.raster, self.edges_hole, self.grounds),
            _nearest_edge(grid.patch_raster, self.edges_hole, self.grounds),
        )


def edge_relief(
    hole: Hole, grid: HoleGrid, *, club_length: float, local_rule_e5: bool = False
) -> EdgeRelief:
    """Sample the edges of penalty areas (and the boundary, for Local Rule E-5).

    Samples from which no drop is possible are left out; if an area has none at all, its cells
    get no sample and a ball there is replayed under stroke and distance.
    """
    map_box = shapely.box(
        *grid.base.start,
        grid.base.start[0] + grid.base.cell * grid.base.shape[0],
        grid.base.start[1] + grid.base.cell * grid.base.shape[1],
    )
    found: list[tuple[FloatArray, Ground, FloatArray, FloatArray]] = []

    def keep(edge: FloatArray, ground: Ground, options: list[relief.ReliefOption]) -> None:
        points = np.vstack([option.points_hole for option in options])
        strokes = np.concatenate(
            [np.full(len(option.points_hole), float(option.strokes)) for option in options]
        )
        found.append((edge, ground, points, strokes))

    for ground in (Ground.YELLOW, Ground.RED):
        shape = shapely.union_all([area.shape_hole for area in hole.areas_of(ground)])
        for part in shapely.get_parts(shape):
            for edge in _samples(shapely.boundary(part), grid.base.cell, map_box):
                keep(
                    edge,
                    ground,
                    list(
                        relief.penalty_area_drops(
                            ground,
                            (edge[0], edge[1]),
                            hole.pin_hole,
                            shape=part,
                            club_length=club_length,
                            in_bounds=hole.in_bounds,
                        )
                    ),
                )
    if local_rule_e5 and hole.in_bounds is not None:
        fairway = shapely.union_all([a.shape_hole for a in hole.areas_of(Ground.FAIRWAY)])
        forbidden = shapely.union_all(
            [
                a.shape_hole
                for a in hole.areas_of(Ground.YELLOW, Ground.RED, Ground.SAND, Ground.GREEN)
            ]
        )
        for edge in _samples(shapely.boundary(hole.in_bounds), 2 * grid.base.cell, map_box):
            keep(
                edge,
                Ground.OUT,
                [
                    relief.fairway_edge_drops(
                        (edge[0], edge[1]),
                        hole.pin_hole,
                        fairway=fairway,
                        club_length=club_length,
                        forbidden=forbidden,
                        in_bounds=hole.in_bounds,
                    )
                ],
            )
    every = np.vstack([np.empty((0, 2)), *(points for _, _, points, _ in found)])
    # Off the map nothing has a value.
    slot_of = np.where(grid.base.contains(every), _SLOT_OF_GROUND[label_points(hole, every)], -1)
    slots = np.split(
        slot_of,
        np.cumsum([len(points) for _, _, points, _ in found])[:-1],
    )
    edges: list[FloatArray] = []
    grounds: list[Ground] = []
    rows: list[tuple[FloatArray, FloatArray, NDArray[np.intp]]] = []
    for (edge, ground, points, strokes), slot in zip(found, slots, strict=bool(found)):
        good = slot >= 0
        if good.any():
            edges.append(edge)
            grounds.append(ground)
            rows.append((points[good], strokes[good], slot[good]))
    edges_hole = np.array(edges, dtype=float).reshape(-1, 2)
    kinds = np.array(grounds, dtype=int)
    return EdgeRelief(
        edges_hole,
        kinds,
        _join(rows),
        _nearest_edge(grid.raster, edges_hole, kinds),
        _nearest_edge(grid.patch_raster, edges_hole, kinds),
    )


def unplayable_relief(
    hole: Hole, grid: HoleGrid, points_hole: FloatArray, lie: Lie, *, club_length: float
) -> tuple[DropPoints, NDArray[np.intp]]:
    """Drops for balls declared unplayable at ``points_hole`` [m], shape ``(n, 2)``.

    In trees one stroke, back on the line or lateral (19.2b, c); in sand two strokes, back on
    the line outside the sand (19.3b). Returns the drops and the indices of the points that
    have any. The geometry is that of :mod:`planner.course.relief`, for many points at once.
    """
    pin = np.asarray(hole.pin_hole)
    away = points_hole - pin
    distance = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-9)
    unit = away / distance[:, None]
    back = np.arange(_UNPLAYABLE_STEP_M, _UNPLAYABLE_REACH_M + 1e-9, _UNPLAYABLE_STEP_M)
    candidates = points_hole[:, None, :] + back[None, :, None] * unit[:, None, :]
    if lie is Lie.TREES:
        size = relief.LATERAL_CLUB_LENGTHS * club_length
        widest = np.arccos(np.clip(-size / (2 * distance), -1.0, 1.0))
        turn = widest[:, None] * np.linspace(-1, 1, _UNPLAYABLE_LATERAL) * (1 - 1e-9)
        heading = np.arctan2(unit[:, 1], unit[:, 0])[:, None] + turn
        lateral = points_hole[:, None, :] + size * np.stack(
            (np.cos(heading), np.sin(heading)), axis=-1
        )
        candidates = np.concatenate((lateral, candidates), axis=1)
    slot = _SLOT_OF_GROUND[label_points(hole, candidates)]
    good = (slot >= 0) & grid.base.contains(candidates)
    if lie is Lie.SAND:
        good &= slot != PLAYED_LIES.index(Lie.SAND)
    strokes = 2.0 if lie is Lie.SAND else 1.0
    index = np.flatnonzero(good.any(axis=1))
    rows = [
        (candidates[i][good[i]], np.full(good[i].sum(), strokes), slot[i][good[i]]) for i in index
    ]
    return _join(rows), index


def _samples(line: shapely.Geometry, step: float, box: shapely.Polygon) -> FloatArray:
    points = [np.empty((0, 2))]
    for part in shapely.get_parts(line):
        count = max(4, math.ceil(part.length / step))
        at = (np.arange(count) + 0.5) / count * part.length
        points.append(shapely.get_coordinates(shapely.line_interpolate_point(part, at)))
    found = np.vstack(points)
    return np.asarray(found[shapely.contains_xy(box, found[:, 0], found[:, 1])])


def _join(rows: list[tuple[FloatArray, FloatArray, NDArray[np.intp]]]) -> DropPoints:
    if not rows:
        return DropPoints(np.zeros(1, np.intp), np.empty((0, 2)), np.empty(0, int), np.empty(0))
    points, strokes, slots = (np.concatenate(column) for column in zip(*rows, strict=True))
    start = np.concatenate(([0], np.cumsum([len(row[0]) for row in rows])))
    return DropPoints(start, points, slots, strokes)


def _nearest_edge(
    raster: GroundRaster, edges_hole: FloatArray, kinds: NDArray[np.intp]
) -> NDArray[np.int32]:
    nearest = np.full(raster.labels.shape, -1, dtype=np.int32)
    for kind in np.unique(kinds):
        rows, columns = np.nonzero(raster.labels == kind)
        if rows.size == 0:
            continue
        ours = np.flatnonzero(kinds == kind)
        points = np.asarray(raster.lattice.start) + raster.lattice.cell * (
            np.column_stack((rows, columns)) + 0.5
        )
        _, found = cKDTree(edges_hole[ours]).query(points)
        nearest[rows, columns] = ours[found]
    return nearest
