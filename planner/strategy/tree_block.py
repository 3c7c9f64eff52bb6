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

_SIGMAS = 2.5


class StartBlock(NamedTuple):
    """Stop chances by ground distance flown low.

    ``stop`` has shape ``(distances, bearings, cells)``: the chance that a ball sent exactly
    along the bearing is stopped within the distance. ``place`` has shape
    ``(bearings, cells)``: where it then lies (see the special vector), -1 if no wood is near.
    """

    distances: NDArray[np.float64]
    stop: NDArray[np.float32]
    place: NDArray[np.int32]
    any_wood: bool


@njit(cache=True, nogil=True)
def wood_crossed(along, across, ca, sa, distances, crossed, g):  # type: ignore[no-untyped-def]
    """Fill ``crossed`` with the wood on the way [m] up to each distance; return first entry."""
    rows, columns = g.labels.shape
    reach = distances[-1]
    step = g.label_cell
    t = 0.0
    wood = 0.0
    entry = -1.0
    crossed[:] = 0.0
    k = 0
    while t < reach:
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
            wood += step
            t += step
        else:
            t += max(distance - step, step)
    while k < len(distances):
        crossed[k] = wood
        k += 1
    return entry


@njit(cache=True, nogil=True)
def _fill(points, bearings, distances, free_path, stop, place, g):  # type: ignore[no-untyped-def]
    rows, columns = g.labels.shape
    crossed = np.zeros(len(distances))
    found = False
    for c in range(points.shape[0]):
        i = int(math.floor((points[c, 0] - g.start_along) / g.label_cell))
        j = int(math.floor((points[c, 1] - g.start_across) / g.label_cell))
        if i < 0 or j < 0 or i >= rows or j >= columns:
            continue
        if g.tree_distance[i, j] > distances[-1]:
            continue
        for b in range(len(bearings)):
            ca, sa = math.cos(bearings[b]), math.sin(bearings[b])
            entry = wood_crossed(points[c, 0], points[c, 1], ca, sa, distances, crossed, g)
            if entry < 0.0:
                continue
            found = True
            total = crossed[-1]
            for d in range(len(distances)):
                stop[d, b, c] = 1.0 - math.exp(-crossed[d] / free_path)
            rest = entry + 0.5 * min(total, free_path)
            a = points[c, 0] + rest * ca
            x = points[c, 1] + rest * sa
            n = g.base_rows * g.base_columns
            bi = int(math.floor((a - g.base_start_along) / g.base_cell))
            bj = int(math.floor((x - g.base_start_across) / g.base_cell))
            bi = min(max(bi, 0), g.base_rows - 1)
            bj = min(max(bj, 0), g.base_columns - 1)
            place[b, c] = n + bi * g.base_columns + bj
    return found


def start_block(
    lattice: Lattice,
    geometry: RayGeometry,
    bearings: NDArray[np.float64],
    *,
    reach: float,
    steps: int = 12,
) -> StartBlock:
    """March from every cell centre of ``lattice`` along every bearing up to ``reach`` [m]."""
    distances = np.linspace(reach / steps, reach, steps)
    cells = lattice.shape[0] * lattice.shape[1]
    if not np.isfinite(geometry.tree_distance).any():
        return StartBlock(
            distances, np.zeros((steps, 1, 1), np.float32), np.zeros((1, 1), np.int32), False
        )
    stop = np.zeros((steps, len(bearings), cells), np.float32)
    place = np.full((len(bearings), cells), -1, np.int32)
    found = _fill(
        lattice.centres().reshape(-1, 2),
        np.asarray(bearings, dtype=float),
        distances,
        ASSUMED_TREE_FREE_PATH_M,
        stop,
        place,
        geometry,
    )
    return StartBlock(distances, stop, place, bool(found))


def direction_weights(start_sd: float, step: float) -> NDArray[np.float64]:
    """Weights of neighbouring bearings for a start direction with deviation ``start_sd`` [rad].

    The vector is centred, of odd length, and adds up to one; ``step`` is the bearing step.
    """
    half = max(1, math.ceil(_SIGMAS * start_sd / step))
    offsets = np.arange(-half, half + 1) * step
    weights = np.exp(-0.5 * (offsets / max(start_sd, 1e-6)) ** 2)
    return np.asarray(weights / weights.sum())
