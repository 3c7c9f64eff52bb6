"""The lattices on which a hole is solved, and how much of each cell is which ground.

Three lattices share one origin and have a lattice line through the pin, so that a mirrored
hole gives the mirrored lattice:

* the *base* lattice (cell ``h``) holds landing values over the whole hole;
* the *state* lattice (cells of one or more ``h``) holds the value of every lie over the whole
  hole; between its points values are smooth because every lie has a field of its own;
* the *patch* (cell ``h / ratio``) round the pin holds both, for the short game.

Sharp edges live in the coverage fractions, which are counted on a finer raster of labels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numba import njit
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from planner.course.hole import FloatArray, Hole
from planner.course.lies import Ground
from planner.numerics.polygon_fill import fill_polygon


@dataclass(frozen=True)
class GridOptions:
    """Sizes of the lattices.

    Parameters
    ----------
    cell
        Side of a base cell ``h`` [m].
    patch_ratio
        How many patch cells fit a base cell.
    state_ratio
        How many base cells fit a state cell along one side: 1, 2 or 4.
    patch_half_width, inner_half_width
        Least half widths [m] of the patch and of its inner part, whose states are solved on the
        patch; the rest of the patch catches short shots that miss.
    margin
        Width of map kept on each side of the line of play [m]; a ball beyond it is lost.
    behind, beyond
        Length of map kept behind the rearmost tee and beyond the pin [m].
    labels
        Points along a cell at which the ground is looked at.
    """

    cell: float = 4.0
    patch_ratio: int = 3
    state_ratio: int = 1
    patch_half_width: float = 48.0
    inner_half_width: float = 36.0
    margin: float = 84.0
    behind: float = 30.0
    beyond: float = 66.0
    labels: int = 5


@dataclass(frozen=True, eq=False)
class Lattice:
    """A square lattice of cells in the hole frame.

    ``row`` runs along the hole, ``column`` across it. ``start`` is the low corner [m].
    """

    start: tuple[float, float]
    cell: float
    shape: tuple[int, int]

    @property
    def along(self) -> FloatArray:
        """``along`` of the cell centres [m], shape ``(rows,)``."""
        return np.asarray(self.start[0] + self.cell * (np.arange(self.shape[0]) + 0.5))

    @property
    def across(self) -> FloatArray:
        """``across`` of the cell centres [m], shape ``(columns,)``."""
        return np.asarray(self.start[1] + self.cell * (np.arange(self.shape[1]) + 0.5))

    def centres(self) -> FloatArray:
        """Centres (along, across) [m], shape ``(rows, columns, 2)``."""
        return np.stack(np.meshgrid(self.along, self.across, indexing="ij"), axis=-1)

    def index(self, points_hole: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Row and column of the cells that hold the points, not clipped."""
        scaled = np.floor((points_hole - np.asarray(self.start)) / self.cell).astype(np.intp)
        return scaled[..., 0], scaled[..., 1]

    def contains(self, points_hole: FloatArray) -> NDArray[np.bool_]:
        """Whether each point lies on the lattice."""
        row, column = self.index(points_hole)
        return (row >= 0) & (row < self.shape[0]) & (column >= 0) & (column < self.shape[1])


@dataclass(frozen=True, eq=False)
class GroundRaster:
    """Ground labels on a lattice: ``labels`` of shape ``lattice.shape``, values of Ground.

    ``stop_distance`` is the distance [m] from each cell to the nearest ground that stops a
    running ball (sand, trees, penalty area, out of bounds); zero on it.
    """

    lattice: Lattice
    labels: NDArray[np.int8]
    stop_distance: FloatArray
    tree_distance: FloatArray


@dataclass(frozen=True, eq=False)
class HoleGrid:
    """All lattices of one hole with their coverage.

    ``coverage`` and ``patch_coverage`` have shape ``(len(Ground), rows, columns)`` and add up
    to one in each cell.
    """

    options: GridOptions
    base: Lattice
    state: Lattice
    patch: Lattice
    raster: GroundRaster
    patch_raster: GroundRaster
    coverage: FloatArray
    patch_coverage: FloatArray
    patch_window: tuple[slice, slice]

    @property
    def patch_ratio(self) -> int:
        """Patch cells along a base cell."""
        return self.options.patch_ratio


def build_grid(hole: Hole, options: GridOptions | None = None) -> HoleGrid:
    """Lay the lattices over a hole and count the ground in each cell."""
    opts = options or GridOptions()
    coarse = 4.0 * opts.cell
    pin_along, pin_across = hole.pin_hole
    points = np.vstack(
        [np.asarray(hole.line_hole.coords)[:, :2], [tee.position_hole for tee in hole.tees]]
    )
    before = pin_along - points[:, 0].min() + opts.behind
    after = points[:, 0].max() - pin_along + opts.beyond
    left = pin_across - points[:, 1].min() + opts.margin
    right = points[:, 1].max() - pin_across + opts.margin
    n_before, n_after, n_left, n_right = (
        math.ceil(width / coarse - 1e-9) for width in (before, after, left, right)
    )
    start = (pin_along - n_before * coarse, pin_across - n_left * coarse)
    rows, columns = 4 * (n_before + n_after), 4 * (n_left + n_right)
    base = Lattice(start, opts.cell, (rows, columns))
    side = opts.state_ratio
    state = Lattice(start, side * opts.cell, (rows // side, columns // side))
    patch_cells = 4 * math.ceil(opts.patch_half_width / coarse - 1e-9)
    row0, col0 = 4 * n_before - patch_cells, 4 * n_left - patch_cells
    window = (slice(row0, row0 + 2 * patch_cells), slice(col0, col0 + 2 * patch_cells))
    patch = Lattice(
        (start[0] + row0 * opts.cell, start[1] + col0 * opts.cell),
        opts.cell / opts.patch_ratio,
        (2 * patch_cells * opts.patch_ratio,) * 2,
    )
    raster, patch_raster = (_raster(hole, cells, opts.labels) for cells in (base, patch))
    coverage = _coverage(raster.labels, opts.labels)
    patch_coverage = _coverage(patch_raster.labels, opts.labels)
    ratio = opts.patch_ratio
    blocks = patch_coverage.reshape(len(Ground), 2 * patch_cells, ratio, 2 * patch_cells, ratio)
    coverage[:, window[0], window[1]] = blocks.mean(axis=(2, 4))
    return HoleGrid(
        options=opts,
        base=base,
        state=state,
        patch=patch,
        raster=raster,
        patch_raster=patch_raster,
        coverage=coverage,
        patch_coverage=patch_coverage,
        patch_window=window,
    )


def label_points(hole: Hole, points_hole: FloatArray) -> NDArray[np.int8]:
    """Ground under each point, exact against the polygons; shape of ``points`` less one axis.

    Later kinds of :class:`Ground` cover earlier ones; what nothing covers is rough.
    """
    shape = points_hole.shape[:-1]
    flat = points_hole.reshape(-1, 2)
    labels = np.full(len(flat), Ground.ROUGH, dtype=np.int8)
    for area in sorted(hole.areas, key=lambda area: area.ground):
        _paint(labels, flat, area.shape_hole, area.ground)
    if hole.in_bounds is not None:
        inside = np.zeros(len(flat), dtype=np.int8)
        _paint(inside, flat, hole.in_bounds, 1)
        labels[inside == 0] = Ground.OUT
    return labels.reshape(shape)


def _paint(
    labels: NDArray[np.int8],
    points: FloatArray,
    shape: shapely.Polygon | shapely.MultiPolygon,
    value: int,
) -> None:
    for part in shapely.get_parts(shape):
        low_a, low_c, high_a, high_c = part.bounds
        near = np.flatnonzero(
            (points[:, 0] >= low_a)
            & (points[:, 0] <= high_a)
            & (points[:, 1] >= low_c)
            & (points[:, 1] <= high_c)
        )
        if near.size:
            shapely.prepare(part)
            inside = shapely.contains_xy(part, points[near, 0], points[near, 1])
            labels[near[inside]] = value


def _paint_raster(
    labels: NDArray[np.int8],
    lattice: Lattice,
    shape: shapely.Polygon | shapely.MultiPolygon,
    value: int,
) -> None:
    for part in shapely.get_parts(shape):
        fill_polygon(labels, part, value, start=lattice.start, cell=lattice.cell)


def _raster(hole: Hole, cells: Lattice, n: int) -> GroundRaster:
    fine = Lattice(
        cells.start,
        cells.cell / n,
        (cells.shape[0] * n, cells.shape[1] * n),
    )
    labels = np.full(fine.shape, Ground.ROUGH, dtype=np.int8)
    for area in sorted(hole.areas, key=lambda area: area.ground):
        _paint_raster(labels, fine, area.shape_hole, area.ground)
    if hole.in_bounds is not None:
        inside = np.zeros(fine.shape, dtype=np.int8)
        _paint_raster(inside, fine, hole.in_bounds, 1)
        labels[inside == 0] = Ground.OUT
    stops = np.isin(labels, [Ground.SAND, Ground.TREES, Ground.YELLOW, Ground.RED, Ground.OUT])
    return GroundRaster(
        fine,
        labels,
        _distance_to(stops, fine.cell),
        _distance_to(labels == Ground.TREES, fine.cell),
    )


def _distance_to(mask: NDArray[np.bool_], cell: float) -> FloatArray:
    if not mask.any():
        return np.full(mask.shape, np.inf)
    return np.asarray(distance_transform_edt(~mask, sampling=cell), dtype=float)


def _coverage(labels: NDArray[np.int8], n: int) -> FloatArray:
    share = np.zeros((len(Ground), labels.shape[0] // n, labels.shape[1] // n))
    _count(labels, n, share)
    return share / (n * n)


@njit(cache=True, nogil=True)
def _count(labels, n, share):  # type: ignore[no-untyped-def]
    for i in range(share.shape[1] * n):
        for j in range(share.shape[2] * n):
            share[labels[i, j], i // n, j // n] += 1.0
