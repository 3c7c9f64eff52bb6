"""What to play between the places of a lattice: the solved policy with one step of look-ahead.

The solve knows the best action at the centres of cells. A ball lies anywhere, and the action of
the nearest centre is not quite right for it: beside the border between two choices it is the
wrong one, and a short swing is too long or too short by half a cell. So the actions of the four
centres round the ball are compared at the ball's own place. What each of them costs there is read
between the same four centres: every action is followed once from its own cell and from the eight
round it, aimed at the same target.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.strategy.grid import Lattice
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.policy import TeeShot, filled, mean_carries, slots_of
from planner.strategy.policy_evaluation import as_followed
from planner.strategy.relief_values import PLAYED_LIES
from planner.strategy.solution import UNPLAYABLE, HoleSolution, Policy
from planner.strategy.solver_side import Side
from planner.strategy.sweep import NO_SWING
from planner.strategy.sweep_run import run_sweep
from planner.strategy.sweep_types import LandingFields, strokes_and_penalties
from planner.strategy.values import edge_costs

__all__ = ["LookAhead"]

FloatArray = NDArray[np.float64]
T = TypeVar("T", bound=np.generic)
_AROUND = tuple((i, j) for i in (-1, 0, 1) for j in (-1, 0, 1))
_CORNERS = ((0, 0), (0, 1), (1, 0), (1, 1))


@dataclass(frozen=True, eq=False)
class _Lattice:
    """Policy on one lattice, and what it costs from neighbouring cells.

    ``swing`` and ``target_hole`` (along, across) [m] have shape ``(lies, rows, columns)`` and
    ``(lies, rows, columns, 2)``; ``cost[(i, j)]`` is that of the action ``i`` rows and ``j``
    columns on, played from each cell, infinite where it is not known.
    """

    lattice: Lattice
    swing: NDArray[np.intp]
    target_hole: FloatArray
    cost: dict[tuple[int, int], NDArray[np.floating]]


class LookAhead:
    """Decides what to play from any place of a solved hole.

    Parameters
    ----------
    solution, solver
        A solved hole, and the solver that solved it.
    tee
        Shot to play from the tee.
    """

    def __init__(self, solution: HoleSolution, solver: HoleSolver, tee: TeeShot) -> None:
        self._solution = solution
        self._tee = tee
        self._carries = mean_carries(solution.model)
        edges, _ = solver.edge_values(solution.values)
        fields = solver.landing_fields([solution.values], [edges], in_play=False)
        patch, state = solver.sides
        self._patch = self._known(solver, patch, solution.patch_policy, fields[1])
        self._on_patch = (solution.patch_policy.swing != NO_SWING).any(axis=(1, 2))
        self._state = self._known(solver, state, solution.state_policy, fields[0])

    def decide(
        self,
        points_hole: FloatArray,
        lies: NDArray[np.integer],
        on_tee: NDArray[np.bool_],
    ) -> tuple[NDArray[np.intp], FloatArray]:
        """Swing index (or ``UNPLAYABLE``) and bearing [rad] for balls not on the green."""
        n = len(points_hole)
        swing = np.full(n, self._tee.swing, dtype=np.intp)
        bearing = np.full(n, self._tee.bearing)
        tables = self._solution.tables
        offset = np.abs(points_hole - np.asarray(tables.pin)).max(axis=1)
        inner = (offset < tables.grid.options.inner_half_width) & (lies != Lie.TREES)
        # A sliver of some ground may lie between the places of the patch.
        inner &= self._on_patch[slots_of(lies)]
        for known, chosen in ((self._patch, inner), (self._state, ~inner)):
            ours = np.flatnonzero(chosen & ~on_tee)
            if ours.size:
                swing[ours], bearing[ours] = self._best(known, points_hole[ours], lies[ours])
        return swing, bearing

    def _best(
        self, known: _Lattice, points: FloatArray, lies: NDArray[np.integer]
    ) -> tuple[NDArray[np.intp], FloatArray]:
        lattice = known.lattice
        slot = slots_of(lies)
        at = (points - np.asarray(lattice.start)) / lattice.cell - 0.5
        rows, columns = lattice.shape
        first = np.floor(at).astype(np.intp)
        first[:, 0] = np.clip(first[:, 0], 0, rows - 2)
        first[:, 1] = np.clip(first[:, 1], 0, columns - 2)
        part = np.clip(at - first, 0.0, 1.0)
        weight = [np.abs(1 - i - part[:, 0]) * np.abs(1 - j - part[:, 1]) for i, j in _CORNERS]
        cost = np.empty((len(_CORNERS), len(points)))
        for a, (i, j) in enumerate(_CORNERS):
            cost[a] = 0.0
            for w, (k, m) in zip(weight, _CORNERS, strict=True):
                there = known.cost[i - k, j - m][slot, first[:, 0] + k, first[:, 1] + m]
                cost[a] += w * np.where(w > 0.0, there, 0.0)
        # Where the costs of its own action are not all known, the nearest centre decides.
        nearest = np.argmax(weight, axis=0)
        own = np.take_along_axis(cost, nearest[None], axis=0)[0]
        read = np.isfinite(own)
        best = np.where(read, np.argmin(cost, axis=0), nearest)
        corner = first + np.array(_CORNERS)[best]
        chosen = known.swing[slot, corner[:, 0], corner[:, 1]]
        way = known.target_hole[slot, corner[:, 0], corner[:, 1]] - points
        return chosen, np.arctan2(way[:, 1], way[:, 0])

    def _known(
        self, solver: HoleSolver, side: Side, policy: Policy, fields: LandingFields
    ) -> _Lattice:
        swing, bearing = filled(policy, self._solution.model)
        slots = np.arange(len(PLAYED_LIES))[:, None, None]
        carry = self._carries[np.maximum(swing, 0), slots]
        centres = policy.lattice.centres()
        away = np.stack((np.cos(bearing), np.sin(bearing)), axis=-1)
        target = centres + carry[..., None] * away
        lifted = self._relief(solver, side)
        cost = {}
        for i, j in _AROUND:
            there = _from(swing, i, j)
            way = _from(target, i, j) - centres
            moved = Policy(
                policy.lattice,
                there.astype(np.int16),
                np.arctan2(way[..., 1], way[..., 0]).astype(np.float32),
            )
            followed, actions = as_followed(side, moved)
            found, _, _ = run_sweep(
                side,
                fields,
                strokes_and_penalties(1, solver.options.penalty_price, solver.kind),
                actions=actions,
                followed=followed,
                threads=solver.threads,
            )
            played = np.where(np.isnan(found[0]), np.inf, found[0])
            cost[i, j] = np.where(there == UNPLAYABLE, lifted, played)
        return _Lattice(policy.lattice, swing, target, cost)

    def _relief(self, solver: HoleSolver, side: Side) -> NDArray[np.floating]:
        """Cost of declaring the ball unplayable, infinite where it cannot be."""
        found = np.full((len(PLAYED_LIES), *side.target.shape), np.inf)
        for unplayable in solver.unplayable_of(side):
            if len(unplayable.cell):
                cost = solver.cost_at(self._solution.values, unplayable.index)
                least, _ = edge_costs(unplayable.drops, cost, solver.options.penalty_price)
                found[unplayable.slot].reshape(-1)[unplayable.cell] = least
        return found


def _from(field: NDArray[T], rows: int, columns: int) -> NDArray[T]:
    """Entries so many rows and columns on, for each cell; the border's beyond the border."""
    i = np.clip(np.arange(field.shape[1]) + rows, 0, field.shape[1] - 1)
    j = np.clip(np.arange(field.shape[2]) + columns, 0, field.shape[2] - 1)
    return np.asarray(field[:, i[:, None], j[None, :]])
