"""Reading a solved hole at any point: what it is worth there and what to play."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from planner.course.lies import Lie
from planner.golfer.shot_outcome import ShotModel
from planner.strategy.grid import Lattice
from planner.strategy.relief_values import GREEN_SLOT, PLAYED_LIES
from planner.strategy.solution import UNPLAYABLE, HoleSolution, Policy
from planner.strategy.sweep import NO_SWING
from planner.strategy.values import FieldBuilder, index_points, point_values

FloatArray = NDArray[np.float64]
_NO_VALUE = 99.0
"""Value of a place off the map, or with a lie the hole does not have [strokes]: never chosen."""
_ROUGH_SLOT = PLAYED_LIES.index(Lie.ROUGH)
_SLOT_OF_LIE = np.full(len(Lie), -1)
for _slot, _lie in enumerate(PLAYED_LIES):
    _SLOT_OF_LIE[_lie] = _slot
_SLOT_OF_LIE[Lie.GREEN] = GREEN_SLOT
_SLOT_OF_LIE[Lie.TEE] = 0


@dataclass(frozen=True)
class TeeShot:
    """Swing, bearing [rad] and expected strokes of the shot from the tee."""

    swing: int
    bearing: float
    value: float


class PolicyReader:
    """Value and policy of a solved hole at points.

    Between lattice points the action of the nearest one is taken, aimed at the same target.

    Parameters
    ----------
    solution
        Solved hole.
    builder
        Field builder of the solve.
    tee
        Shot to play from the tee.
    """

    def __init__(self, solution: HoleSolution, builder: FieldBuilder, tee: TeeShot) -> None:
        self._solution = solution
        self._builder = builder
        self._tee = tee
        self._base = builder.base_values(solution.values)
        self._carries = mean_carries(solution.model)
        self._policies = [
            (policy.lattice, *filled(policy, solution.model))
            for policy in (solution.patch_policy, solution.state_policy)
        ]
        self._on_patch = (solution.patch_policy.swing != NO_SWING).any(axis=(1, 2))

    def with_tee(self, tee: TeeShot) -> PolicyReader:
        """The same hole begun with another tee shot, of this or another tee."""
        return PolicyReader(self._solution, self._builder, tee)

    def value_at(self, points_hole: FloatArray, lies: NDArray[np.integer]) -> FloatArray:
        """Expected strokes at points [m], shape ``(n, 2)``, with values of ``Lie``, ``(n,)``."""
        solution = self._solution
        index = index_points(
            solution.tables.grid, solution.tables.pin, points_hole, _SLOT_OF_LIE[lies]
        )
        putts = solution.model.expected_putts(index.pin_distance)
        found = point_values(index, self._base, solution.values.patch, putts)
        known = solution.tables.grid.base.contains(points_hole) & np.isin(
            lies, [Lie.GREEN, Lie.TEE, *solution.tables.present]
        )
        found = np.where(known, found, _NO_VALUE)
        return np.where(lies == Lie.TEE, self._tee.value, found)

    def lattice_for(self, box_hole: tuple[float, float, float, float]) -> Lattice:
        """Finest lattice with values all over a box: least along, across, most along, across."""
        grid, pin = self._solution.tables.grid, self._solution.tables.pin
        half = grid.options.inner_half_width
        away = np.abs(np.subtract(np.reshape(box_hole, (2, 2)), pin))
        return grid.patch if float(away.max()) < half else grid.base

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
        offset = np.abs(points_hole - np.asarray(self._solution.tables.pin)).max(axis=1)
        inner = offset < self._solution.tables.grid.options.inner_half_width
        inner &= lies != Lie.TREES
        # A sliver of some ground may lie between the places of the patch.
        inner &= self._on_patch[slots_of(lies)]
        for policy, chosen in zip(self._policies, (inner, ~inner), strict=True):
            lattice, swings, bearings = policy
            ours = np.flatnonzero(chosen & ~on_tee)
            if ours.size == 0:
                continue
            slot = _SLOT_OF_LIE[lies[ours]]
            row, column = lattice.index(points_hole[ours])
            row = np.clip(row, 0, lattice.shape[0] - 1)
            column = np.clip(column, 0, lattice.shape[1] - 1)
            action = swings[slot, row, column]
            aim = bearings[slot, row, column].astype(float)
            carry = self._carries[np.maximum(action, 0), slot]
            centre = np.column_stack((lattice.along[row], lattice.across[column]))
            target = centre + carry[:, None] * np.column_stack((np.cos(aim), np.sin(aim)))
            way = target - points_hole[ours]
            swing[ours] = action
            bearing[ours] = np.arctan2(way[:, 1], way[:, 0])
        return swing, bearing


def slots_of(lies: NDArray[np.integer]) -> NDArray[np.intp]:
    """Slot of each value of ``Lie`` in solver arrays; a tee counts as fairway."""
    return np.asarray(_SLOT_OF_LIE[lies])


def mean_carries(model: ShotModel) -> FloatArray:
    """Mean carry of the stock shot of each swing from each played lie [m], at least one."""
    carries = np.ones((len(model.swings), len(PLAYED_LIES)))
    for i, swing in enumerate(model.swings):
        for j, lie in enumerate(PLAYED_LIES):
            if lie in swing.patterns:
                carries[i, j] = max(float(swing.patterns[lie].means[0, 0]), 1.0)
    return carries


def filled(policy: Policy, model: ShotModel) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    """Policy arrays where places without an action take that of the nearest place with one.

    A lie that occurs only where no action was looked for, far from the line of play, is played
    as rough, with the club of the nearest carry that it allows.
    """
    swing = policy.swing.astype(np.intp)
    bearing = policy.bearing.copy()
    # Rough first: it occurs everywhere.
    for slot in sorted(range(swing.shape[0]), key=lambda one: one != _ROUGH_SLOT):
        known = (swing[slot] >= 0) | (swing[slot] == UNPLAYABLE)
        if not known.any() and slot != _ROUGH_SLOT:
            swing[slot] = _allowed_like(model, PLAYED_LIES[slot])[swing[_ROUGH_SLOT]]
            bearing[slot] = bearing[_ROUGH_SLOT]
        if known.all() or not known.any():
            continue
        rows, columns = distance_transform_edt(~known, return_distances=False, return_indices=True)
        swing[slot] = swing[slot][rows, columns]
        bearing[slot] = bearing[slot][rows, columns]
    return swing, bearing


def _allowed_like(model: ShotModel, lie: Lie) -> NDArray[np.intp]:
    """For each swing, with no swing last, that of the nearest carry which a lie allows."""
    allowed = [i for i, swing in enumerate(model.swings) if lie in swing.patterns]
    found = np.full(len(model.swings) + 1, NO_SWING, dtype=np.intp)
    for i, swing in enumerate(model.swings):
        if allowed:
            carry = swing.carry_m
            found[i] = min(allowed, key=lambda one: abs(model.swings[one].carry_m - carry))
    return found
