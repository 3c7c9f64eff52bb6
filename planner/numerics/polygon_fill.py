"""Points of a lattice inside a polygon, a row at a time."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numba import njit
from numpy.typing import NDArray

__all__ = ["fill_polygon"]


def fill_polygon(
    field: NDArray[np.int8],
    polygon: shapely.Polygon,
    value: int,
    *,
    start: tuple[float, float],
    cell: float,
) -> None:
    """Write ``value`` to every cell whose centre lies in a polygon, holes left out.

    Parameters
    ----------
    field
        Values of a square lattice, shape ``(rows, columns)``; x runs along rows' numbers, y along
        columns'. Changed in place.
    polygon
        In the units of ``start``.
    start, cell
        Low corner (x, y) of the lattice, and side of a cell. Centres on the outline itself count
        as outside, but for those on a side along y that the polygon lies above.
    """
    rings = shapely.get_rings(polygon)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    edges = np.hstack((points[:-1], points[1:]))[same]
    _fill(field, np.ascontiguousarray(edges), value, start[0], start[1], cell)


@njit(cache=True, nogil=True)
def _fill(field, edges, value, start_x, start_y, cell):  # type: ignore[no-untyped-def]
    rows, columns = field.shape
    # Where each edge crosses the centre lines of rows, by row.
    count = np.zeros(rows + 1, np.int64)
    spans = np.empty((len(edges), 2), np.int64)
    for e in range(len(edges)):
        low, high = min(edges[e, 0], edges[e, 2]), max(edges[e, 0], edges[e, 2])
        # Centres x with low <= x < high.
        spans[e, 0] = max(int(math.ceil((low - start_x) / cell - 0.5)), 0)
        spans[e, 1] = min(int(math.ceil((high - start_x) / cell - 0.5)), rows)
        for i in range(spans[e, 0], spans[e, 1]):
            count[i + 1] += 1
    first = np.cumsum(count)
    used = np.zeros(rows, np.int64)
    crossing = np.empty(first[rows])
    for e in range(len(edges)):
        x0, y0, x1, y1 = edges[e]
        for i in range(spans[e, 0], spans[e, 1]):
            x = start_x + cell * (i + 0.5)
            crossing[first[i] + used[i]] = y0 + (y1 - y0) * ((x - x0) / (x1 - x0))
            used[i] += 1
    for i in range(rows):
        at = np.sort(crossing[first[i] : first[i] + used[i]])
        for k in range(0, len(at) - 1, 2):
            # Centres y with at[k] < y < at[k + 1].
            begin = max(int(math.floor((at[k] - start_y) / cell - 0.5)) + 1, 0)
            end = min(int(math.ceil((at[k + 1] - start_y) / cell - 0.5)), columns)
            for j in range(begin, end):
                field[i, j] = value
