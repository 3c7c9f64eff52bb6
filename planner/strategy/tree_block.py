"""Chance that a wood stops a ball near its start, for every place and bearing."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.golfer.shot_outcome import ASSUMED_TREE_FREE_PATH_M
from planner.strategy.grid import Lattice
from planner.strategy.transition import RayGeometry

NO_WOOD, UNKNOWN = -1.0, -2.0
"""Entries of a way without wood, and of one not yet looked at."""
_SIGMAS = 2.5
_STEP_LABELS = 2
"""Raster cells looked at together on a way through a wood."""
_MOST_WOOD_M = 5 * ASSUMED_TREE_FREE_PATH_M
"""Wood behind which nothing comes out [m]."""


class StartBlock(NamedTuple):
    """Stop chances by ground distance flown low, filled in as they are asked for.

    ``stop`` has shape ``(cells, bearings, distances)``: the chance that a ball sent exactly
    along the bearing is stopped within the distance. ``entry`` [m] has shape
    ``(cells, bearings)``: way to the first wood, ``NO_WOOD`` or ``UNKNOWN``. ``clear`` [m] is the
    distance of each cell's centre, ``points``, from the nearest wood.
    """

    distances: NDArray[np.float64]
    bearings: NDArray[np.float64]
    points: NDArray[np.float64]
    clear: NDArray[np.float32]
    stop: NDArray[np.float32]
    entry: NDArray[np.float32]
    any_wood: bool


@njit(cache=True, nogil=True, inline="always")
def wood_crossed(along, across, ca, sa, distances, crossed, g):  # type: ignore[no-untyped-def]
    """Fill ``crossed`` with the wood on the way [m] up to each distance; return first entry."""
    rows, columns = g.labels.shape
    reach = distances[-1]
    step = _STEP_LABELS * g.label_cell
    t = 0.0
    wood = 0.0
    entry = -1.0
    crossed[:] = 0.0
    k = 0
    while t < reach and wood < _MOST_WOOD_M:
        while k < len(distances) and distances[k] <= t:
            crossed[k] = wood
            k += 1
        a = along + t * ca
        c = across + t * sa
        i = int(math.floor((a - g.start_along) / g.label_cell))
        j = int(math.floor((c - g.start_across) / g.label_cell))
        if i < 0 or j < 0 or i >= rows or j >= columns:
            break
        distance = g.tree_distance[i, j]
        if distance <= 0.0:
            if entry < 0.0:
                entry = t
            while k < len(distances) and distances[k] <= t + step:
                crossed[k] = wood + distances[k] - t
                k += 1
            wood += step
            t += step
        else:
            t += max(distance - 0.5 * g.label_cell, 0.5 * g.label_cell)
    while k < len(distances):
        crossed[k] = wood
        k += 1
    return entry


@njit(cache=True, nogil=True, inline="always")
def find_stops(block, b, cell, crossed, g):  # type: ignore[no-untyped-def]
    """March from a cell along a bearing and write ``stop`` and ``entry`` of both."""
    bearing = block.bearings[b]
    entry = wood_crossed(
        block.points[cell, 0],
        block.points[cell, 1],
        math.cos(bearing),
        math.sin(bearing),
        block.distances,
        crossed,
        g,
    )
    if entry < 0.0:
        block.entry[cell, b] = NO_WOOD
        return
    for d in range(len(crossed)):
        block.stop[cell, b, d] = 1.0 - math.exp(-crossed[d] / ASSUMED_TREE_FREE_PATH_M)
    block.entry[cell, b] = entry


@njit(cache=True, nogil=True, inline="always")
def resting_place(block, b, cell, chance, ca, sa, g):  # type: ignore[no-untyped-def]
    """Where a ball lies that is stopped with ``chance`` on its low flight (special vector).

    ``ca``, ``sa`` are the cosine and the sine of bearing ``b``. Half the wood the ball meets
    within its low flight lies behind it, half a free path at most.
    """
    wood = -math.log(max(1.0 - chance, 1e-9)) * ASSUMED_TREE_FREE_PATH_M
    way = block.entry[cell, b] + 0.5 * min(wood, ASSUMED_TREE_FREE_PATH_M)
    along = block.points[cell, 0] + way * ca
    across = block.points[cell, 1] + way * sa
    i = int(math.floor((along - g.base_start_along) / g.base_cell))
    j = int(math.floor((across - g.base_start_across) / g.base_cell))
    i = min(max(i, 0), g.base_rows - 1)
    j = min(max(j, 0), g.base_columns - 1)
    return g.base_rows * g.base_columns + i * g.base_columns + j


def start_block(
    lattice: Lattice,
    geometry: RayGeometry,
    bearings: NDArray[np.float64],
    *,
    reach: float,
    steps: int = 12,
) -> StartBlock:
    """Room for the chances from every cell centre of ``lattice`` along ``bearings``.

    Chances are found for low flights up to ``reach`` [m].
    """
    distances = np.linspace(reach / steps, reach, steps)
    points = lattice.centres().reshape(-1, 2)
    rows, columns = (
        np.floor((points - (geometry.start_along, geometry.start_across)) / geometry.label_cell)
        .astype(np.intp)
        .T
    )
    shape = geometry.labels.shape
    inside = (rows >= 0) & (columns >= 0) & (rows < shape[0]) & (columns < shape[1])
    clear = np.full(len(points), np.inf, np.float32)
    clear[inside] = geometry.tree_distance[rows[inside], columns[inside]]
    any_wood = bool((clear <= reach).any())
    size = (len(points), len(bearings)) if any_wood else (1, 1)
    return StartBlock(
        distances,
        np.asarray(bearings, dtype=float),
        points,
        clear,
        np.zeros((*size, steps), np.float32),
        np.full(size, UNKNOWN, np.float32),
        any_wood,
    )


def direction_weights(start_sd: float, step: float) -> NDArray[np.float64]:
    """Weights of neighbouring bearings for a start direction with deviation ``start_sd`` [rad].

    The vector is centred, of odd length, and adds up to one; ``step`` is the bearing step.
    """
    half = max(1, math.ceil(_SIGMAS * start_sd / step))
    offsets = np.arange(-half, half + 1) * step
    weights = np.exp(-0.5 * (offsets / max(start_sd, 1e-6)) ** 2)
    return np.asarray(weights / weights.sum())


@njit(cache=True, nogil=True)
def settle_stopped(  # type: ignore[no-untyped-def]
    entries, blocked, special, first, base_columns, ratio, columns, moved, rounds, tolerance
):
    """Carry changes of values in trees on from place to place until they are small.

    A ball that a wood stops lies in trees again, so news passes through a wood one place a
    sweep. Everything else about these starts is held as the last sweep found it.

    Parameters
    ----------
    entries
        Entries of ``blocked`` of balls in trees.
    special, first
        Values of places before that sweep, and the place of the first base cell in trees.
    base_columns, ratio, columns
        Columns of the base lattice, base cells along a target cell, columns of the target.
    moved
        Change of each target cell's value in the sweep, flat; gets that of all rounds [strokes].
    """
    n = len(moved)
    own = moved.copy()
    before = np.full(n, np.inf)
    now = np.empty(n)
    for e in entries:
        value = blocked.passed[e] + blocked.chance[e] * special[blocked.place[e]]
        before[blocked.cell[e]] = min(before[blocked.cell[e]], value / blocked.stays[e])
    for _ in range(rounds):
        now[:] = np.inf
        for e in entries:
            base = blocked.place[e] - first
            row = base // base_columns
            cell = row // ratio * columns + (base - row * base_columns) // ratio
            value = blocked.passed[e] + blocked.chance[e] * (
                special[blocked.place[e]] + moved[cell]
            )
            now[blocked.cell[e]] = min(now[blocked.cell[e]], value / blocked.stays[e])
        change = 0.0
        for c in range(n):
            if math.isfinite(before[c]):
                found = own[c] + now[c] - before[c]
                change = max(change, abs(found - moved[c]))
                moved[c] = found
        if change < tolerance:
            break
