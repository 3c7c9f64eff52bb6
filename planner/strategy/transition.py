"""What happens between landing and rest, as tables over a lattice for each bearing.

For one bearing ``b`` and one landing cell ``c`` the tables say

* how far the ball may run before sand, trees, a penalty area or the boundary stops it, and the
  *place* where it is stopped;
* whether a wood stands behind the landing point, and how far back;
* for the part of the cell inside a penalty area, the edge point last crossed.

A *place* is an index into one vector of special values::

    [0, n)          value of sand at base cell
    [n, 2 n)        value of trees at base cell
    [2 n, 2 n + e)  best relief at an edge sample, penalty included
    2 n + e         out of bounds or off the map: zero, and not in play

Edge samples lie round penalty areas and, where Local Rule E-5 is in force, along the boundary;
``edge_of_label`` names the nearest one for every raster cell from which relief is taken.

All tables depend on the hole only, so one solve, or many bags, share them.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.course.lies import Ground
from planner.strategy.grid import GroundRaster, Lattice

TURF = (Ground.FAIRWAY, Ground.ROUGH, Ground.DEEP_ROUGH, Ground.GREEN)
"""Grounds on which a ball runs, in the order of the run tables (tees count as fairway)."""

QUANTILES = 4
"""Distances kept of a cell: where 1/8, 3/8, 5/8 and 7/8 of its running balls are stopped."""

LANES = 4
"""Lines through a cell along which balls are followed to what stops them."""

IntArray = NDArray[np.int32]
Float32Array = NDArray[np.float32]

_SAND, _TREES, _OUT = int(Ground.SAND), int(Ground.TREES), int(Ground.OUT)


class LandingTables(NamedTuple):
    """Tables of one lattice for ``m`` bearings; rows of CSR lists by bearing.

    ``stop_distance`` and ``stop_place`` have ``QUANTILES`` columns. ``*_start`` has length
    ``m + 1``; ``*_cell`` is a flat cell of the landing lattice and ``*_place`` an index of the
    special vector (module docstring).
    """

    bearings: NDArray[np.float64]
    stop_start: IntArray
    stop_cell: IntArray
    stop_distance: Float32Array
    stop_place: IntArray
    shadow_start: IntArray
    shadow_cell: IntArray
    shadow_distance: Float32Array
    shadow_place: IntArray
    penalty_start: IntArray
    penalty_cell: IntArray
    penalty_place: IntArray


class RayGeometry(NamedTuple):
    """Rasters that rays are marched on, with the base lattice that places refer to.

    ``edge_of_label`` is the nearest edge sample where relief is taken, else -1.
    """

    labels: NDArray[np.int8]
    stop_distance: Float32Array
    tree_distance: Float32Array
    edge_of_label: IntArray
    start_along: float
    start_across: float
    label_cell: float
    base_start_along: float
    base_start_across: float
    base_cell: float
    base_rows: int
    base_columns: int
    edges: int


def ray_geometry(
    raster: GroundRaster, base: Lattice, edge_of_label: IntArray, edges: int
) -> RayGeometry:
    """Bundle a raster for the marching kernels."""
    return RayGeometry(
        raster.labels,
        raster.stop_distance.astype(np.float32),
        raster.tree_distance.astype(np.float32),
        edge_of_label,
        raster.lattice.start[0],
        raster.lattice.start[1],
        raster.lattice.cell,
        base.start[0],
        base.start[1],
        base.cell,
        base.shape[0],
        base.shape[1],
        edges,
    )


@njit(cache=True, nogil=True)
def place_at(along, across, ground, row, column, g):  # type: ignore[no-untyped-def]
    """Index of the special vector for a ball stopped at a point on ``ground``."""
    n = g.base_rows * g.base_columns
    edge = g.edge_of_label[row, column]
    if edge >= 0:
        return 2 * n + edge
    if ground != _SAND and ground != _TREES:
        return 2 * n + g.edges
    i = int(math.floor((along - g.base_start_along) / g.base_cell))
    j = int(math.floor((across - g.base_start_across) / g.base_cell))
    i = min(max(i, 0), g.base_rows - 1)
    j = min(max(j, 0), g.base_columns - 1)
    cell = i * g.base_columns + j
    return cell if ground == _SAND else n + cell


@njit(cache=True, nogil=True)
def _stops_along(  # type: ignore[no-untyped-def]
    along, across, ca, sa, cell, reach, distances, places, parts, g
):
    """Fill where and at what distances given shares of a cell's running balls are stopped.

    Balls run along ``LANES`` lines through a cell as wide and as long as the lattice's, aligned
    with the bearing. Those that start between two pieces of stopping ground and meet the second
    one are stopped at distances spread evenly over the length of the gap, so that neither a
    narrow ditch nor the lattice is seen where balls would not meet it. ``parts`` is scratch.

    Returns whether any is stopped.
    """
    rows, columns = g.labels.shape
    half = 0.5 * cell
    i = int(math.floor((along - g.start_along) / g.label_cell))
    j = int(math.floor((across - g.start_across) / g.label_cell))
    if i < 0 or j < 0 or i >= rows or j >= columns:
        return False
    if g.stop_distance[i, j] > reach + 1.5 * cell:
        return False
    count = 0
    running = 0.0
    soonest, latest = math.inf, 0.0
    farthest = reach + half
    short = 0.5 * g.label_cell
    for lane in range(LANES):
        aside = cell * ((lane + 0.5) / LANES - 0.5)
        a0 = along - aside * sa
        c0 = across + aside * ca
        t = -half
        free = -half
        stopped = False
        while t <= farthest:
            a = a0 + t * ca
            c = c0 + t * sa
            i = int(math.floor((a - g.start_along) / g.label_cell))
            j = int(math.floor((c - g.start_across) / g.label_cell))
            if i < 0 or j < 0 or i >= rows or j >= columns:
                break
            clear = g.stop_distance[i, j]
            if clear > 0.0:
                if stopped:
                    if t >= half:
                        break
                    free = t
                    stopped = False
                t += max(clear - g.label_cell, short)
                continue
            if not stopped:
                stopped = True
                last = min(t, half)
                if last > free and count < len(parts):
                    parts[count, 0] = max(t - last, 0.0)
                    parts[count, 1] = t - free
                    parts[count, 2] = last - free
                    parts[count, 3] = a
                    parts[count, 4] = c
                    parts[count, 5] = 0.0
                    running += last - free
                    soonest = min(soonest, parts[count, 0])
                    latest = max(latest, parts[count, 1])
                    count += 1
                if t >= half:
                    break
            t += short
        if not stopped and free < half:
            running += half - free
    if count == 0 or soonest > reach:
        return False
    for k in range(QUANTILES):
        distances[k] = reach + cell
        places[k] = 0
    t = soonest
    step = 0.25 * cell
    farthest = min(farthest, latest)
    before = 0.0
    k = 0
    while t < farthest and k < QUANTILES:
        t += step
        stopped_share = 0.0
        for n in range(count):
            stopped_share += parts[n, 2] * _passed(t, parts, n)
        stopped_share /= running
        while k < QUANTILES and stopped_share >= (k + 0.5) / QUANTILES - 1e-6:
            part = ((k + 0.5) / QUANTILES - before) / max(stopped_share - before, 1e-9)
            distances[k] = max(t - step * (1.0 - min(max(part, 0.0), 1.0)), 0.0)
            # Each piece of ground stops its part of the balls: that which is owed most is next.
            chosen = 0
            most = -math.inf
            for n in range(count):
                owed = parts[n, 2] / running * (_passed(t, parts, n) * QUANTILES) - parts[n, 5]
                if owed > most:
                    most = owed
                    chosen = n
            parts[chosen, 5] += 1.0
            a, c = parts[chosen, 3], parts[chosen, 4]
            i = int(math.floor((a - g.start_along) / g.label_cell))
            j = int(math.floor((c - g.start_across) / g.label_cell))
            places[k] = place_at(a, c, g.labels[i, j], i, j, g)
            k += 1
        before = stopped_share
    return k > 0


@njit(cache=True, nogil=True, inline="always")
def _passed(t, parts, n):  # type: ignore[no-untyped-def]
    """Share of a piece's balls that it has stopped within a distance."""
    if t >= parts[n, 1]:
        return 1.0
    return max(t - parts[n, 0], 0.0) / parts[n, 2]


@njit(cache=True, nogil=True, inline="always")
def tree_behind(along, across, ca, sa, reach, g):  # type: ignore[no-untyped-def]
    """Distance back along the bearing to the nearest tree and its place."""
    t = 0.0
    step_min = 0.5 * g.label_cell
    rows, columns = g.labels.shape
    while t <= reach:
        a = along - t * ca
        c = across - t * sa
        i = int(math.floor((a - g.start_along) / g.label_cell))
        j = int(math.floor((c - g.start_across) / g.label_cell))
        if i < 0 or j < 0 or i >= rows or j >= columns:
            return reach + 1.0, -1
        distance = g.tree_distance[i, j]
        if distance <= 0.0:
            return t, place_at(a, c, _TREES, i, j, g)
        t += max(distance - g.label_cell, step_min)
    return reach + 1.0, -1


@njit(cache=True, nogil=True, inline="always")
def edge_crossed(along, across, ca, sa, g):  # type: ignore[no-untyped-def]
    """Place of the edge last crossed by a ball that came along the bearing to its relief area."""
    rows, columns = g.labels.shape
    last_i, last_j = -1, -1
    kind = -1
    a, c = along, across
    for _ in range(4 * (rows + columns)):
        i = int(math.floor((a - g.start_along) / g.label_cell))
        j = int(math.floor((c - g.start_across) / g.label_cell))
        if i < 0 or j < 0 or i >= rows or j >= columns:
            break
        if g.edge_of_label[i, j] < 0 or (kind >= 0 and g.labels[i, j] != kind):
            break
        kind = g.labels[i, j]
        last_i, last_j = i, j
        a -= 0.5 * g.label_cell * ca
        c -= 0.5 * g.label_cell * sa
    if last_i < 0:
        return -1
    return place_at(a, c, kind, last_i, last_j, g)


@njit(cache=True, nogil=True)
def edge_of_cell(along, across, ca, sa, cell, per_cell, g):  # type: ignore[no-untyped-def]
    """Place of the edge last crossed by the balls that land in a cell, -1 if there is none.

    It is that of the point nearest to the middle of the cell's part that is in a relief area. A
    share seen on a finer raster may have no label in the cell: then points beside it count.
    """
    rows, columns = g.labels.shape
    for ring in range(3):
        wide = (1.0 + 0.8 * ring) * cell / per_cell
        middle_a, middle_c = 0.0, 0.0
        count = 0
        for again in range(2):
            best_a, best_c = 0.0, 0.0
            nearest = math.inf
            for k in range(per_cell * per_cell):
                a = along + wide * (k // per_cell + 0.5 - 0.5 * per_cell)
                c = across + wide * (k % per_cell + 0.5 - 0.5 * per_cell)
                i = int(math.floor((a - g.start_along) / g.label_cell))
                j = int(math.floor((c - g.start_across) / g.label_cell))
                if i < 0 or j < 0 or i >= rows or j >= columns or g.edge_of_label[i, j] < 0:
                    continue
                if again == 0:
                    middle_a += a
                    middle_c += c
                    count += 1
                    continue
                apart = (a - middle_a / count) ** 2 + (c - middle_c / count) ** 2
                if apart < nearest:
                    nearest = apart
                    best_a, best_c = a, c
            if count == 0:
                break
        if count > 0:
            return edge_crossed(best_a, best_c, ca, sa, g)
    return -1


@njit(cache=True, nogil=True)
def tables_of_bearing(  # type: ignore[no-untyped-def]
    bearing,
    start_along,
    start_across,
    cell,
    first_row,
    last_row,
    columns,
    per_cell,
    reach,
    shadow_reach,
    relief_share,
    g,
):
    """Tables of one bearing for some rows; ``reach`` is the longest run from each cell [m]."""
    ca, sa = math.cos(bearing), math.sin(bearing)
    n = max(last_row - first_row, 0) * columns
    stop_cell = np.empty(n, np.int32)
    stop_distance = np.empty((n, QUANTILES), np.float32)
    distances = np.empty(QUANTILES, np.float32)
    parts = np.empty((4 * LANES, 6))
    places = np.empty(QUANTILES, np.int32)
    stop_place = np.empty((n, QUANTILES), np.int32)
    stops = 0
    shadow_cell = np.empty(n, np.int32)
    shadow_distance = np.empty(n, np.float32)
    shadow_place = np.empty(n, np.int32)
    shadows = 0
    penalty_cell = np.empty(n, np.int32)
    penalty_place = np.empty(n, np.int32)
    penalties = 0
    label_rows, label_columns = g.labels.shape
    for i in range(first_row, last_row):
        centre_along = start_along + cell * (i + 0.5)
        for j in range(columns):
            centre_across = start_across + cell * (j + 0.5)
            li = int(math.floor((centre_along - g.start_along) / g.label_cell))
            lj = int(math.floor((centre_across - g.start_across) / g.label_cell))
            if li < 0 or lj < 0 or li >= label_rows or lj >= label_columns:
                continue
            flat = i * columns + j
            if reach[i, j] > 0.0 and _stops_along(
                centre_along,
                centre_across,
                ca,
                sa,
                cell,
                reach[i, j],
                distances,
                places,
                parts,
                g,
            ):
                stop_distance[stops] = distances
                stop_cell[stops] = flat
                stop_place[stops] = places
                stops += 1
            if 0.0 < g.tree_distance[li, lj] <= shadow_reach:
                distance, at = tree_behind(centre_along, centre_across, ca, sa, shadow_reach, g)
                if at >= 0:
                    shadow_cell[shadows] = flat
                    shadow_distance[shadows] = distance
                    shadow_place[shadows] = at
                    shadows += 1
            if relief_share[i, j] > 0.0:
                at = edge_of_cell(centre_along, centre_across, ca, sa, cell, per_cell, g)
                if at >= 0:
                    penalty_cell[penalties] = flat
                    penalty_place[penalties] = at
                    penalties += 1
    return (
        stop_cell[:stops].copy(),
        stop_distance[:stops].copy(),
        stop_place[:stops].copy(),
        shadow_cell[:shadows].copy(),
        shadow_distance[:shadows].copy(),
        shadow_place[:shadows].copy(),
        penalty_cell[:penalties].copy(),
        penalty_place[:penalties].copy(),
    )
