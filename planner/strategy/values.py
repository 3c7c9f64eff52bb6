"""Value fields of a hole and their form on the landing lattices.

A value field holds, for every lie, the expected cost from each place of the state lattice and of
the patch. Between state points a lie's values are smooth; the sharp edges come back through the
coverage fractions when values at rest are put together for the landing lattices.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Ground
from planner.strategy.grid import HoleGrid, Lattice
from planner.strategy.relief_values import GREEN_SLOT, PLAYED_LIES, TREES_SLOT, DropPoints
from planner.strategy.sweep_types import LandingFields
from planner.strategy.transition import TURF

Field = NDArray[np.floating]
_SAND_SLOT = [lie.name for lie in PLAYED_LIES].index("SAND")
_ROUGH_SLOT = 1
_LEAST_TURF = 1e-3
_TURF_SLOTS = {Ground.FAIRWAY: 0, Ground.ROUGH: 1, Ground.DEEP_ROUGH: 2}


@dataclass(eq=False)
class Values:
    """One additive quantity (strokes, or penalties) for every lie.

    ``state`` has shape ``(lies, *grid.state.shape)``, ``patch`` ``(lies, *grid.patch.shape)``;
    ``green_*`` are its fixed values on the green, cell means on base and patch.
    """

    state: Field
    patch: Field
    green_base: Field
    green_patch: Field

    def copy(self) -> Values:
        """Copy of the value arrays; the green, being fixed, is shared."""
        return Values(self.state.copy(), self.patch.copy(), self.green_base, self.green_patch)


@dataclass(frozen=True, eq=False)
class PointIndex:
    """Where the values of fixed points are found, with the lie's slot.

    ``cell`` are the four cells round each point, shape ``(n, 4)``, ``weight`` their shares. The
    value of the nearest cell would be off by a slope, and the best of many drops would find it.
    """

    slot: NDArray[np.intp]
    in_patch: NDArray[np.bool_]
    cell: NDArray[np.intp]
    weight: NDArray[np.float64]
    pin_distance: NDArray[np.float64]


def interpolate(coarse: Field, ratio: int) -> Field:
    """Values of all lies at ``ratio`` times finer cells, shape ``(lies, rows, columns)``.

    By the three-point quadratic, but linear in trees: there values jump from place to place,
    and the negative weights of a quadratic could keep sweeps from settling. Beyond the border
    the edge values are repeated.
    """
    if ratio == 1:
        return coarse.copy()
    fine = _interpolate(coarse, ratio, curved=True)
    fine[TREES_SLOT] = _interpolate(coarse[TREES_SLOT], ratio, curved=False)
    return fine


def _interpolate(coarse: Field, ratio: int, *, curved: bool) -> Field:
    result = coarse
    for axis in (-2, -1):
        moved = np.moveaxis(result, axis, -1)
        padded = np.concatenate((moved[..., :1], moved, moved[..., -1:]), axis=-1)
        at = (np.arange(ratio) + 0.5) / ratio - 0.5
        if curved:
            low, mid, high = 0.5 * at * (at - 1), 1 - at * at, 0.5 * at * (at + 1)
        else:
            low, mid, high = np.maximum(-at, 0), 1 - np.abs(at), np.maximum(at, 0)
        fine = (
            padded[..., :-2, None] * low
            + padded[..., 1:-1, None] * mid
            + padded[..., 2:, None] * high
        )
        fine = fine.reshape(*moved.shape[:-1], moved.shape[-1] * ratio)
        result = np.moveaxis(fine, -1, axis)
    return np.ascontiguousarray(result, dtype=coarse.dtype)


def block_mean(fine: Field, ratio: int) -> Field:
    """Mean of ``ratio`` x ``ratio`` cells on the last two axes."""
    rows, columns = fine.shape[-2:]
    shape = (*fine.shape[:-2], rows // ratio, ratio, columns // ratio, ratio)
    return np.asarray(fine.reshape(shape).mean(axis=(-3, -1)), dtype=fine.dtype)


def inner_mask(grid: HoleGrid, lattice: Lattice, pin: tuple[float, float]) -> NDArray[np.bool_]:
    """Cells of ``lattice`` whose centre lies in the inner part of the patch."""
    limit = grid.options.inner_half_width
    along = np.abs(lattice.along - pin[0]) < limit
    across = np.abs(lattice.across - pin[1]) < limit
    return np.logical_and.outer(along, across)


def index_points(
    grid: HoleGrid,
    pin: tuple[float, float],
    points_hole: NDArray[np.float64],
    slot: NDArray[np.intp],
) -> PointIndex:
    """Find the cells of fixed points [m], shape ``(n, 2)``."""
    limit = grid.options.inner_half_width
    offset = points_hole - np.asarray(pin)
    in_patch = np.abs(offset).max(axis=-1, initial=0.0) < limit
    cell = np.empty((len(points_hole), 4), dtype=np.intp)
    weight = np.empty((len(points_hole), 4))
    for lattice, chosen in ((grid.patch, in_patch), (grid.base, ~in_patch)):
        last = np.array(lattice.shape) - 1
        at = (points_hole[chosen] - np.asarray(lattice.start)) / lattice.cell - 0.5
        at = np.clip(at, 0, last)
        low = np.minimum(at.astype(np.intp), last - 1)
        part = at - low
        for corner, (down, right) in enumerate(((0, 0), (0, 1), (1, 0), (1, 1))):
            cell[chosen, corner] = (low[:, 0] + down) * lattice.shape[1] + low[:, 1] + right
            shares = np.where((down, right), part, 1.0 - part)
            weight[chosen, corner] = shares[:, 0] * shares[:, 1]
    return PointIndex(slot, in_patch, cell, weight, np.hypot(offset[:, 0], offset[:, 1]))


def point_values(
    index: PointIndex, base: Field, patch: Field, green: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Values of indexed points: ``base`` and ``patch`` are ``(lies, ...)``, ``green`` per point."""
    slot = np.minimum(index.slot, GREEN_SLOT - 1)
    n = len(slot)
    flat_base = base.reshape(base.shape[0], -1)
    flat_patch = patch.reshape(patch.shape[0], -1)
    found = np.empty(n)
    chosen = index.in_patch
    for flat, ours in ((flat_patch, chosen), (flat_base, ~chosen)):
        corners = flat[slot[ours, None], index.cell[ours]]
        found[ours] = (index.weight[ours] * corners).sum(axis=-1)
    return np.where(index.slot == GREEN_SLOT, green, found)


class FieldBuilder:
    """Turns values into landing fields; holds what does not change between sweeps.

    Parameters
    ----------
    grid
        Lattices and coverage.
    pin
        Place of the pin [m].
    relief_base, relief_patch
        Share of each landing cell from which relief is taken.
    reach
        Longest run [m]; it sets the margin of zeros.
    kind
        Floating type of the fields.
    """

    def __init__(
        self,
        grid: HoleGrid,
        pin: tuple[float, float],
        relief_base: NDArray[np.float64],
        relief_patch: NDArray[np.float64],
        *,
        reach: float,
        kind: type[np.floating],
    ) -> None:
        self.grid = grid
        self.kind = kind
        self.inner_state = self._inner(grid.state, pin)
        self.inner_patch = self._inner(grid.patch, pin)
        self._base = _Layout(grid.base, grid.coverage, relief_base, reach, kind)
        self._patch = _Layout(grid.patch, grid.patch_coverage, relief_patch, reach, kind)
        coarse = [
            slice(s.start // grid.options.state_ratio, s.stop // grid.options.state_ratio)
            for s in grid.patch_window
        ]
        self._state_window = (coarse[0], coarse[1])

    def _inner(self, lattice: Lattice, pin: tuple[float, float]) -> NDArray[np.bool_]:
        """Where each lie is solved on the patch; trees, left by long swings only, never are."""
        mask = inner_mask(self.grid, lattice, pin)
        return np.array([mask & (slot != TREES_SLOT) for slot in range(len(PLAYED_LIES))])

    def base_layout(self) -> tuple[int, int]:
        """Stride and front of the flat layout of base fields."""
        return self._base.stride, self._base.front

    def patch_layout(self) -> tuple[int, int]:
        """Stride and front of the flat layout of patch fields."""
        return self._patch.stride, self._patch.front

    def exchange(self, values: Values) -> None:
        """Carry inner values to the state lattice and outer ones to the patch, in place."""
        ratio = self.grid.options.state_ratio * self.grid.patch_ratio
        rows, columns = self._state_window
        middle = ratio // 2
        patch = values.patch
        if ratio % 2:
            centre = patch[:, middle::ratio, middle::ratio]
        else:
            centre = 0.25 * (
                patch[:, middle - 1 :: ratio, middle - 1 :: ratio]
                + patch[:, middle::ratio, middle - 1 :: ratio]
                + patch[:, middle - 1 :: ratio, middle::ratio]
                + patch[:, middle::ratio, middle::ratio]
            )
        window = values.state[:, rows, columns]
        inner = self.inner_state[:, rows, columns]
        window[inner] = centre[inner]
        wide_rows = slice(max(rows.start - 1, 0), rows.stop + 1)
        wide_columns = slice(max(columns.start - 1, 0), columns.stop + 1)
        fine = interpolate(values.state[:, wide_rows, wide_columns], ratio)
        top = (rows.start - wide_rows.start) * ratio
        left = (columns.start - wide_columns.start) * ratio
        fine = fine[:, top : top + patch.shape[1], left : left + patch.shape[2]]
        outer = ~self.inner_patch
        patch[outer] = fine[outer]

    def base_values(self, values: Values) -> Field:
        """Values of every lie on the base lattice, shape ``(lies, *base.shape)``."""
        base = interpolate(values.state, self.grid.options.state_ratio)
        rows, columns = self.grid.patch_window
        base[:, rows, columns] = block_mean(values.patch, self.grid.patch_ratio)
        return base

    def landing_fields(
        self,
        values: list[Values],
        edge_values: list[NDArray[np.float64]],
        bases: list[Field] | None = None,
    ) -> tuple[LandingFields, LandingFields]:
        """Fields for the base lattice and the patch.

        ``edge_values`` holds, for each quantity, the cost of the best relief at every edge
        sample with its penalty; ``bases`` the :meth:`base_values` of each, where known.
        """
        base_rest, base_still, patch_rest, patch_still, special = [], [], [], [], []
        rows, columns = self.grid.patch_window
        ratio = self.grid.patch_ratio
        known = bases or [self.base_values(value) for value in values]
        for value, edges, base in zip(values, edge_values, known, strict=True):
            turf, still = _assemble(base, value.green_base, self.grid.coverage)
            turf_patch, still_patch = _assemble(
                value.patch, value.green_patch, self.grid.patch_coverage
            )
            turf[rows, columns] = block_mean(turf_patch, ratio)
            still[rows, columns] = block_mean(still_patch, ratio)
            rest = _on_turf(turf, self._base.turf_share, base[_ROUGH_SLOT])
            rest_patch = _on_turf(turf_patch, self._patch.turf_share, value.patch[_ROUGH_SLOT])
            base_rest.append(self._base.lay(rest))
            base_still.append(self._base.lay(still))
            patch_rest.append(self._patch.lay(rest_patch))
            patch_still.append(self._patch.lay(still_patch))
            special.append(
                np.concatenate((base[_SAND_SLOT].ravel(), base[TREES_SLOT].ravel(), edges, [0.0]))
            )
        specials = np.array(special, dtype=self.kind)
        return (
            LandingFields(
                np.array(base_rest),
                np.array(base_still),
                self._base.turf,
                self._base.turf_rows,
                specials,
                self._base.relief,
            ),
            LandingFields(
                np.array(patch_rest),
                np.array(patch_still),
                self._patch.turf,
                self._patch.turf_rows,
                specials,
                self._patch.relief,
            ),
        )


class _Layout:
    """Flat layout of one landing lattice: rows end to end with zeros between and around."""

    def __init__(
        self,
        lattice: Lattice,
        coverage: NDArray[np.float64],
        relief: NDArray[np.float64],
        reach: float,
        kind: type[np.floating],
    ) -> None:
        margin = int(reach / lattice.cell) + 4
        self.rows, self.columns = lattice.shape
        self.stride = self.columns + margin
        self.front = margin * self.stride + margin
        self.size = self.front + (self.rows + margin) * self.stride + margin
        self.kind = kind
        turf = coverage[list(TURF)].copy()
        turf[0] += coverage[Ground.TEE]
        self.turf = np.array([self.lay(share) for share in turf])
        self.turf_share = turf.sum(axis=0)
        self.turf_rows = np.zeros((len(TURF), 2), dtype=np.int32)
        for i, share in enumerate(turf):
            rows = np.flatnonzero(share.any(axis=1))
            if rows.size:
                self.turf_rows[i] = rows[0], rows[-1] + 1
        self.relief = np.asarray(relief.ravel(), dtype=kind)

    def lay(self, field: Field) -> Field:
        flat = np.zeros(self.size, dtype=self.kind)
        body = flat[self.front : self.front + self.rows * self.stride]
        body.reshape(self.rows, self.stride)[:, : self.columns] = field
        return flat


def _assemble(values: Field, green: Field, coverage: NDArray[np.float64]) -> tuple[Field, Field]:
    """Value on turf times its share, and value on sand and in trees times theirs."""
    still = coverage[Ground.SAND] * values[_SAND_SLOT] + coverage[Ground.TREES] * values[TREES_SLOT]
    turf = coverage[Ground.GREEN] * green + coverage[Ground.TEE] * values[0]
    for ground, slot in _TURF_SLOTS.items():
        turf = turf + coverage[ground] * values[slot]
    return turf, still


def _on_turf(turf: Field, share: NDArray[np.float64], rough: Field) -> Field:
    """Value of a ball that ends on turf in each cell; rough where the cell has no turf."""
    return np.where(share > _LEAST_TURF, turf / np.maximum(share, _LEAST_TURF), rough)


def edge_costs(
    drops: DropPoints, at_points: NDArray[np.float64], penalty_price: float
) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Least cost at every edge sample, penalty included, and the drop that has it."""
    return drops.best(at_points + drops.strokes * (1.0 + penalty_price))
