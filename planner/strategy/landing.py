"""Landing values: what a ball is worth on average at the moment it lands.

For one bearing and one run, from the values at rest and the tables of
:mod:`planner.strategy.transition`. Kernels only.
"""

from __future__ import annotations

import math

from numba import njit

from planner.numerics.gaussian_filter import add_shifted
from planner.strategy.transition import QUANTILES

_TILE = 1024
"""Cells put together at a time, so that they stay in the first-level cache."""


@njit(cache=True, nogil=True)
def first_from(cells, low, high, cell):  # type: ignore[no-untyped-def]
    """First of ``cells[low:high]``, which are in order, at or after ``cell``."""
    while low < high:
        middle = (low + high) // 2
        if cells[middle] < cell:
            low = middle + 1
        else:
            high = middle
    return low


@njit(cache=True, nogil=True)
def landing_value(  # type: ignore[no-untyped-def]
    f,
    bearing_index,
    bearing,
    run,
    shadow,
    canopy_share,
    row0,
    row1,
    fields,
    tables,
    geo,
    total,
    shifted,
    out,
):
    """Write the landing value of one bearing and run to rows of ``out`` (compact layout)."""
    kind = out.dtype.type
    ca, sa = math.cos(bearing), math.sin(bearing)
    rest = fields.rest[f]
    start = geo.front + row0 * geo.stride
    stop = geo.front + row1 * geo.stride
    still = fields.still[f]
    columns, stride, front = geo.columns, geo.stride, geo.front
    tile = start
    while tile < stop:
        end = min(tile + _TILE, stop)
        for k in range(tile, end):
            total[k] = still[k]
        for s in range(4):
            first = max(tile, front + fields.turf_rows[s, 0] * stride)
            last = min(end, front + fields.turf_rows[s, 1] * stride)
            if first < last:
                add_shifted(
                    rest,
                    fields.turf[s],
                    shifted[s],
                    total,
                    first,
                    last,
                    stride,
                    run[s] * ca / geo.cell,
                    run[s] * sa / geo.cell,
                )
        tile = end
    low, high = tables.penalty_start[bearing_index], tables.penalty_start[bearing_index + 1]
    first = first_from(tables.penalty_cell, low, high, row0 * columns)
    last = first_from(tables.penalty_cell, low, high, row1 * columns)
    for n in range(first, last):
        cell = tables.penalty_cell[n]
        i = cell // columns
        at = front + i * stride + cell - i * columns
        total[at] += fields.relief[cell] * fields.special[f, tables.penalty_place[n]]
    spacing = geo.cell / QUANTILES
    longest = max(run[0], max(run[1], max(run[2], run[3]))) + 0.5 * spacing
    if longest > 0.5 * spacing:
        low, high = tables.stop_start[bearing_index], tables.stop_start[bearing_index + 1]
        first = first_from(tables.stop_cell, low, high, row0 * columns)
        last = first_from(tables.stop_cell, low, high, row1 * columns)
        for n in range(first, last):
            nearest = tables.stop_distance[n, 0]
            if nearest >= longest:
                continue
            cell = tables.stop_cell[n]
            i = cell // columns
            at = front + i * stride + cell - i * columns
            for s in range(4):
                if run[s] + 0.5 * spacing <= nearest or fields.turf[s, at] <= 0 or run[s] <= 0.0:
                    continue
                stopped = 0.0
                worth = 0.0
                for k in range(QUANTILES):
                    part = (run[s] - tables.stop_distance[n, k]) / spacing + 0.5
                    part = min(max(part, 0.0), 1.0)
                    stopped += part
                    worth += part * fields.special[f, tables.stop_place[n, k]]
                share = fields.turf[s, at] / kind(QUANTILES)
                total[at] += share * (kind(worth) - kind(stopped) * shifted[s, at])
    if shadow > 0.0:
        low, high = tables.shadow_start[bearing_index], tables.shadow_start[bearing_index + 1]
        first = first_from(tables.shadow_cell, low, high, row0 * columns)
        last = first_from(tables.shadow_cell, low, high, row1 * columns)
        for n in range(first, last):
            # A cell at the end of the shadow lies in it with a part.
            part = (shadow - tables.shadow_distance[n]) / geo.cell + 0.5
            if part <= 0.0:
                continue
            cell = tables.shadow_cell[n]
            i = cell // columns
            at = front + i * stride + cell - i * columns
            value = fields.special[f, tables.shadow_place[n]]
            total[at] += kind(canopy_share * min(part, 1.0)) * (value - total[at])
    for i in range(row0, row1):
        at = front + i * stride
        for j in range(columns):
            out[i, j] = total[at + j]
