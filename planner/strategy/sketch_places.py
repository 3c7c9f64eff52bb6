"""Numbers for the places of a sketch: lattice cells with a lie, and edges of penalty areas."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from planner.course.lies import Ground, Lie
from planner.strategy.ground_lines import GroundPartition
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.relief_values import GREEN_SLOT, PLAYED_LIES, TREES_SLOT, DropPoints
from planner.strategy.solution import HoleSolution

__all__ = ["HOLED", "RELIEF_SLOT", "Drop", "SketchPlaces"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
Drop = tuple[float, int]
"""Cost of a drop, penalty included, and the place it leads to."""

HOLED = -1
"""Where a shot leads that ends on the green."""
RELIEF_SLOT = -1
"""Stands for a lie where a ball is taken out of a penalty area."""
_TEE_KEY = -1
_SLOT_OF_GROUND = np.array(
    [GREEN_SLOT if g.lie is Lie.GREEN else PLAYED_LIES.index(g.lie) for g in Ground]
)


class SketchPlaces:
    """Places as they are found; number 0 is the tee.

    Parameters
    ----------
    solution, solver
        The solved hole and its solver.
    partition
        Ground of the hole.
    tee_hole
        Where it is started [m].
    merge
        Patch cells taken for one place, along and across.
    most_drops, near
        Most drops to choose among, and how much more than the best they may cost [strokes].
    """

    def __init__(
        self,
        solution: HoleSolution,
        solver: HoleSolver,
        partition: GroundPartition,
        tee_hole: tuple[float, float],
        *,
        merge: int,
        most_drops: int,
        near: float,
    ) -> None:
        tables = solution.tables
        self._partition = partition
        self._grid = tables.grid
        self._pin = np.asarray(tables.pin)
        self._merge, self._most_drops, self._near = merge, most_drops, near
        edges = tables.edges
        self._edges = edges
        self._edge_costs = solver.cost_at(solution.values, tables.edge_index) + edges.drops.strokes
        self._edge_trees = {
            ground: (chosen, cKDTree(edges.edges_hole[chosen]))
            for ground in (Ground.YELLOW, Ground.RED, Ground.OUT)
            if (chosen := np.flatnonzero(edges.grounds == int(ground))).size
        }
        self._unplayable = [
            {
                one.slot: (
                    one.drops,
                    solver.cost_at(solution.values, one.index) + one.drops.strokes,
                    dict(zip(one.cell.tolist(), range(len(one.cell)), strict=True)),
                )
                for one in solver.unplayable_of(side)
            }
            for side in (solver.patch_side, solver.state_side)
        ]
        self._number: dict[int, int] = {}
        self._key: list[int] = []
        self._point: list[FloatArray] = []
        self._slot: list[int] = []
        self._chance: list[float] = []
        self._add(_TEE_KEY, np.asarray(tee_hole), 0)
        self._chance[0] = 1.0

    def __len__(self) -> int:
        """Number of places found."""
        return len(self._point)

    @property
    def points(self) -> FloatArray:
        """Where each place is: its first ball [m], shape ``(n, 2)``."""
        return np.array(self._point)

    @property
    def slots(self) -> IntArray:
        """Lie of each place, an index into ``PLAYED_LIES`` or ``RELIEF_SLOT``."""
        return np.array(self._slot)

    @property
    def chances(self) -> FloatArray:
        """Chance of coming by each place, as far as it was passed on."""
        return np.array(self._chance)

    def arrive(self, numbers: IntArray, chances: FloatArray) -> None:
        """Pass chances on to places; what is ``HOLED`` is passed over."""
        known = numbers >= 0
        arriving = np.zeros(len(self._chance))
        np.add.at(arriving, numbers[known], chances[known])
        for i in np.flatnonzero(arriving):
            self._chance[i] += float(arriving[i])

    def reorder(self, order: IntArray) -> IntArray:
        """Renumber so that place ``order[i]`` becomes ``i``; returns the new number of each."""
        to = np.empty(len(order), dtype=np.int64)
        to[order] = np.arange(len(order))
        self._key = [self._key[i] for i in order]
        self._point = [self._point[i] for i in order]
        self._slot = [self._slot[i] for i in order]
        self._chance = [self._chance[i] for i in order]
        self._number = {key: int(to[i]) for key, i in self._number.items()}
        return to

    def inner(self, points: FloatArray, slots: IntArray) -> NDArray[np.bool_]:
        """Which places are solved on the patch."""
        offset = np.abs(points - self._pin).max(axis=1, initial=0.0)
        near = offset < self._grid.options.inner_half_width
        return np.asarray(near & (slots != TREES_SLOT))

    def after(
        self, rest: FloatArray, ended: IntArray, crossing: FloatArray, own: IntArray
    ) -> IntArray:
        """Places from which the next shots are played.

        Parameters
        ----------
        rest, ended, crossing
            As :class:`planner.strategy.shot_draws.DrawnShots` has them.
        own
            Places the balls were played from, where lost ones are played again.
        """
        ground = self._partition.grounds[ended]
        lost = ended == self._partition.lost_class
        found = own.copy()
        dry = ~np.isin(ground, (Ground.YELLOW, Ground.RED, Ground.OUT)) & ~lost
        found[dry] = self.numbers(rest[dry], _SLOT_OF_GROUND[ground[dry]])
        for kind, (edges, tree) in self._edge_trees.items():
            ours = np.flatnonzero((ground == kind) & ~lost)
            if ours.size:
                found[ours] = self._relief_numbers(edges[tree.query(crossing[ours])[1]])
        return found

    def numbers(self, points: FloatArray, slots: IntArray) -> IntArray:
        """Numbers of the places at points [m] with lies; new places get new numbers."""
        found = np.full(len(points), HOLED, dtype=np.int64)
        off = np.flatnonzero(slots != GREEN_SLOT)
        if off.size == 0:
            return found
        points, slots = points[off], slots[off]
        inner = self.inner(points, slots)
        key = np.empty(len(points), dtype=np.int64)
        grid = self._grid
        for side, lattice, merge, chosen in (
            (0, grid.patch, self._merge, inner),
            (1, grid.state, 1, ~inner),
        ):
            row, column = lattice.index(points[chosen])
            cell = (row // merge) * (lattice.shape[1] + 1) + column // merge
            key[chosen] = (cell * len(PLAYED_LIES) + slots[chosen]) * 2 + side
        unique, first, back = np.unique(key, return_index=True, return_inverse=True)
        numbers = np.array(
            [
                self._numbered(int(one), points[at], int(slots[at]))
                for one, at in zip(unique, first, strict=True)
            ],
            dtype=np.int64,
        )
        found[off] = numbers[back.reshape(-1)]
        return found

    def relief(self, number: int) -> list[Drop]:
        """Drops for a ball in a penalty area, best first."""
        return self._drops(self._edges.drops, self._edge_costs, -2 - self._key[number])

    def unplayable(self, side: int, slot: int, cell: int) -> list[Drop]:
        """Drops for a ball declared unplayable in a cell of the patch (0) or the states (1)."""
        if slot not in self._unplayable[side]:
            return []
        drops, cost, index = self._unplayable[side][slot]
        return self._drops(drops, cost, index[cell]) if cell in index else []

    def _drops(self, drops: DropPoints, cost: FloatArray, which: int) -> list[Drop]:
        """Best drops that lead to different places."""
        span = slice(drops.start[which], drops.start[which + 1])
        order = np.argsort(cost[span], kind="stable")
        order = order[cost[span][order] <= cost[span][order[0]] + self._near]
        numbers = self.numbers(drops.points_hole[span][order], drops.slot[span][order])
        _, first = np.unique(numbers, return_index=True)
        first = np.sort(first)[: self._most_drops]
        return [(float(cost[span][order[i]]), int(numbers[i])) for i in first]

    def _relief_numbers(self, edges: IntArray) -> IntArray:
        """Numbers of the places where balls are taken out over edge samples."""
        known, back = np.unique(edges, return_inverse=True)
        # Keys of other places are not negative, but for the tee's.
        numbers = np.array(
            [
                self._numbered(-2 - int(edge), self._edges.edges_hole[edge], RELIEF_SLOT)
                for edge in known
            ],
            dtype=np.int64,
        )
        return np.asarray(numbers[back.reshape(-1)])

    def _numbered(self, key: int, point: FloatArray, slot: int) -> int:
        known = self._number.get(key)
        return self._add(key, point, slot) if known is None else known

    def _add(self, key: int, point: FloatArray, slot: int) -> int:
        self._number[key] = len(self._point)
        self._key.append(key)
        self._point.append(point)
        self._slot.append(slot)
        self._chance.append(0.0)
        return len(self._point) - 1
