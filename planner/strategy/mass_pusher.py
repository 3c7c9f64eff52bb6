"""Shots of a golfer from many places at once, their mass pushed to where it comes to rest."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import (
    ASSUMED_CANOPY_STOP_SHARE,
    ASSUMED_TREE_FREE_PATH_M,
    ShotModel,
)
from planner.strategy.grid import GroundRaster
from planner.strategy.ground_lines import TURF_LIES, GroundClass, GroundPartition
from planner.strategy.hole_tables import HoleTables
from planner.strategy.relief_values import GREEN_SLOT, PLAYED_LIES
from planner.strategy.shot_mass import GREEN, LOST, PENALTY, push_shots

__all__ = ["CELL_M", "Landed", "ShotPusher"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

CELL_M = 2.0
"""Cells in which mass at rest is gathered [m]."""


@dataclass(eq=False)
class Landed:
    """Mass at rest after some shots.

    ``held`` is mass with its first moments by slot and cell, ``(lies, rows, columns, 3)``;
    ``green`` that on the green by node, ``edges`` that which takes relief by edge sample.
    """

    held: FloatArray
    green: FloatArray
    edges: FloatArray

    def add(self, other: Landed, share: float = 1.0) -> None:
        """Add a share of other mass."""
        self.held += share * other.held
        self.green += share * other.green
        self.edges += share * other.edges


class ShotPusher:
    """Pushes mass of shots of one golfer on one hole.

    Parameters
    ----------
    tables, partition
        Tables of the hole, and its ground with the edge of its map.
    model
        Swings, putting and wind of the golfer.
    threads
        Threads used.
    """

    def __init__(
        self,
        tables: HoleTables,
        partition: GroundPartition,
        model: ShotModel,
        *,
        threads: int = 1,
    ) -> None:
        self.hole = tables.hole
        self.tables = tables
        self.partition = partition
        self.model = model
        self.threads = threads
        base = self.tables.grid.base
        self.start = base.start
        self.shape = tuple(math.ceil(count * base.cell / CELL_M - 1e-9) for count in base.shape)
        self.nodes = np.asarray(self.model.putts_distance_m, dtype=float)
        edges = self.tables.edges
        relief = {Ground(int(kind)) for kind in edges.grounds}
        self.kinds = np.array([_kind_of(item, relief) for item in partition.classes])
        self.edge_points = edges.edges_hole
        self.edge_grounds = edges.grounds.astype(np.int64)
        level = self.hole.elevation.is_level
        self.known = (
            (np.empty(0), np.empty(0))
            if level
            else (np.array(self.hole.elevation.along), np.array(self.hole.elevation.height))
        )
        self.level = level

    def nothing(self) -> Landed:
        """No mass at all."""
        return Landed(
            np.zeros((len(PLAYED_LIES), *self.shape, 3)),
            np.zeros(len(self.nodes)),
            np.zeros(len(self.edge_points)),
        )

    def push(
        self,
        points: FloatArray,
        lies: IntArray,
        mass: FloatArray,
        swing: IntArray,
        bearing: FloatArray,
        fine: FloatArray,
    ) -> tuple[Landed, FloatArray]:
        """Mass at rest after shots, and the mass of each that is lost, shape ``(n,)``.

        Parameters
        ----------
        points, lies, mass
            Where balls lie [m], ``(n, 2)``, on what (values of ``Lie``), and how much mass.
        swing, bearing
            What is played from there: index of the swing, and its aim [rad].
        fine
            Width of the pieces into which each shot is cut, in deviations.
        """
        model, partition = self.model, self.partition
        parts = max(len(one.weights) for q in model.swings for one in q.patterns.values())
        n = len(mass)
        weights = np.zeros((n, parts))
        means = np.zeros((n, parts, 2))
        spread = np.zeros((n, parts, 3))
        runs = np.zeros((n, len(TURF_LIES)))
        for i in np.unique(swing):
            one = model.swings[i]
            ours = np.flatnonzero(swing == i)
            wind = (
                np.zeros(len(ours))
                if model.wind_from is None
                else model.wind_from - self.hole.frame.azimuth - bearing[ours]
            )
            runs[ours] = one.runs(TURF_LIES, wind)
            for lie in np.unique(lies[ours]):
                pattern = one.patterns[Lie(int(lie))]
                who = np.flatnonzero(lies[ours] == lie)
                weights[ours[who], : len(pattern.weights)] = pattern.weights
                for k in range(len(pattern.weights)):
                    moved, matrix = one.blown(pattern.means[k], wind[who])
                    found = matrix @ pattern.covariances[k] @ matrix.swapaxes(1, 2)
                    means[ours[who], k] = moved
                    spread[ours[who], k] = np.column_stack(
                        (found[:, 0, 0], found[:, 1, 1], found[:, 0, 1])
                    )
        swings = [model.swings[i] for i in swing]
        low = np.array([min(one.climb_m, one.carry_m) for one in swings])
        shadow = np.array([one.canopy_shadow_m for one in swings])
        cot = np.array([0.0 if self.level else 1.0 / math.tan(one.descent) for one in swings])
        start_sd = np.array([one.start_sd for one in swings])
        wooded = _clear_of_woods(self.tables.grid.raster, points) <= low + 1.0
        lost = np.zeros(n)

        def pushed(who: IntArray) -> Landed:
            landed = self.nothing()
            gone = np.zeros(len(who))
            push_shots(
                who,
                points[who],
                mass[who],
                bearing[who],
                weights[who],
                means[who],
                spread[who],
                runs[who],
                low[who],
                shadow[who],
                cot[who],
                start_sd[who],
                fine[who],
                ASSUMED_TREE_FREE_PATH_M,
                ASSUMED_CANOPY_STOP_SHARE,
                partition.edges_hole,
                partition.edge_class,
                partition.edge_sign,
                partition.base,
                partition.turf,
                partition.grounds,
                self.kinds,
                partition.tree_class,
                self.known[0],
                self.known[1],
                wooded[who],
                self.start[0],
                self.start[1],
                CELL_M,
                np.asarray(self.hole.pin_hole),
                self.nodes,
                self.edge_points,
                self.edge_grounds,
                landed.held,
                landed.green,
                landed.edges,
                gone,
            )
            lost[who] = gone
            return landed

        threads = min(self.threads, n)
        if threads < 2:
            return pushed(np.arange(n)), lost
        with ThreadPoolExecutor(threads) as pool:
            total, *others = pool.map(pushed, [np.arange(k, n, threads) for k in range(threads)])
        for other in others:
            total.add(other)
        return total, lost

    def put(
        self, landed: Landed, points: FloatArray, slots: NDArray[np.intp], mass: FloatArray
    ) -> None:
        """Add mass at points."""
        green = slots == GREEN_SLOT
        if green.any():
            away = points[green] - np.asarray(self.hole.pin_hole)
            distance = np.hypot(away[:, 0], away[:, 1])
            node = np.clip(np.searchsorted(self.nodes, distance) - 1, 0, len(self.nodes) - 2)
            width = self.nodes[node + 1] - self.nodes[node]
            part = np.clip((distance - self.nodes[node]) / width, 0.0, 1.0)
            np.add.at(landed.green, node, mass[green] * (1.0 - part))
            np.add.at(landed.green, node + 1, mass[green] * part)
        rest = ~green
        at = np.floor((points[rest] - np.asarray(self.start)) / CELL_M).astype(np.intp)
        at = np.clip(at, 0, np.array(self.shape) - 1)
        each = np.column_stack((mass[rest], mass[rest, None] * points[rest]))
        np.add.at(landed.held, (slots[rest], at[:, 0], at[:, 1]), each)


def _kind_of(item: GroundClass, relief: set[Ground]) -> int:
    """What a class of ground does to a ball; ``relief`` are the grounds with places to drop."""
    ground = item.ground
    if ground.is_penalty_area or ground is Ground.OUT:
        return LOST if item.lost or ground not in relief else PENALTY
    return GREEN if ground.lie is Lie.GREEN else PLAYED_LIES.index(ground.lie)


def _clear_of_woods(raster: GroundRaster, points: FloatArray) -> FloatArray:
    """Distance of points from the nearest wood [m], within a cell of the raster."""
    row, column = raster.lattice.index(points)
    shape = raster.tree_distance.shape
    return np.asarray(
        raster.tree_distance[np.clip(row, 0, shape[0] - 1), np.clip(column, 0, shape[1] - 1)]
    )
