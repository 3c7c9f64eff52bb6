"""Landing values: what a ball is worth on average at the moment it lands.

For one bearing and one run, from the values at rest and the tables of
:mod:`planner.strategy.transition`; and where balls land on sloping ground. Kernels only.
"""

from __future__ import annotations

import math

from numba import njit

from planner.numerics.gaussian_filter import shift_flat
from planner.strategy.transition import QUANTILES


@njit(cache=True, nogil=True)
def _first_from(cells, starts, bearing_index, cell):  # type: ignore[no-untyped-def]
    """First entry of a bearing's list, which is in order, at or after ``cell``."""
    low, high = starts[bearing_index], starts[bearing_index + 1]
    while low < high:
        middle = (low + high) // 2
        if cells[middle] < cell:
            low = middle + 1
        else:
            high = middle
    return low


@njit(cache=True, nogil=True, fastmath=True)
def _add_product(out, a, b):  # type: ignore[no-untyped-def]
    for k in range(out.shape[0]):
        out[k] += a[k] * b[k]


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
    total[start:stop] = fields.still[f, start:stop]
    first = _first_from(
        tables.penalty_cell, tables.penalty_start, bearing_index, row0 * geo.columns
    )
    last = _first_from(tables.penalty_cell, tables.penalty_start, bearing_index, row1 * geo.columns)
    for n in range(first, last):
        cell = tables.penalty_cell[n]
        i = cell // geo.columns
        at = geo.front + i * geo.stride + cell - i * geo.columns
        total[at] += fields.relief[cell] * fields.special[f, tables.penalty_place[n]]
    for s in range(4):
        first = geo.front + max(row0, fields.turf_rows[s, 0]) * geo.stride
        last = geo.front + min(row1, fields.turf_rows[s, 1]) * geo.stride
        if first >= last:
            continue
        target = shifted[s]
        if run[s] > 0.0:
            shift_flat(
                rest,
                target,
                first,
                last,
                geo.stride,
                run[s] * ca / geo.cell,
                run[s] * sa / geo.cell,
            )
        else:
            target[first:last] = rest[first:last]
        _add_product(total[first:last], fields.turf[s, first:last], target[first:last])
    for i in range(row0, row1):
        at = geo.front + i * geo.stride
        out[i] = total[at : at + geo.columns]
    longest = max(run[0], max(run[1], max(run[2], run[3])))
    if longest > 0.0:
        spacing = geo.cell / QUANTILES
        first = _first_from(tables.stop_cell, tables.stop_start, bearing_index, row0 * geo.columns)
        last = _first_from(tables.stop_cell, tables.stop_start, bearing_index, row1 * geo.columns)
        for n in range(first, last):
            cell = tables.stop_cell[n]
            i = cell // geo.columns
            j = cell - i * geo.columns
            at = geo.front + i * geo.stride + j
            value = fields.special[f, tables.stop_place[n]]
            for s in range(4):
                if run[s] <= 0.0 or fields.turf[s, at] <= 0:
                    continue
                stopped = 0.0
                for k in range(QUANTILES):
                    part = (run[s] - tables.stop_distance[n, k]) / spacing + 0.5
                    stopped += min(max(part, 0.0), 1.0)
                if stopped > 0.0:
                    share = fields.turf[s, at] * kind(stopped / QUANTILES)
                    out[i, j] += share * (value - shifted[s, at])
    if shadow > 0.0:
        first = _first_from(
            tables.shadow_cell, tables.shadow_start, bearing_index, row0 * geo.columns
        )
        last = _first_from(
            tables.shadow_cell, tables.shadow_start, bearing_index, row1 * geo.columns
        )
        for n in range(first, last):
            if tables.shadow_distance[n] > shadow:
                continue
            cell = tables.shadow_cell[n]
            i = cell // geo.columns
            j = cell - i * geo.columns
            value = fields.special[f, tables.shadow_place[n]]
            out[i, j] += kind(canopy_share) * (value - out[i, j])


@njit(cache=True, nogil=True)
def find_warp(row0, row1, bearing, cot, geo, row_at, col_at):  # type: ignore[no-untyped-def]
    """Where balls land that pass the height of the hole's start over each row (Swing, point 2).

    Fills landing row and column offset for every row of that height; returns the least range of
    landing rows.
    """
    ca, sa = math.cos(bearing), math.sin(bearing)
    rows = geo.rows
    k = cot * ca / geo.cell
    low, high = rows, 0
    z = 0
    for i in range(row0, row1):
        # Invert y = z + cot * height(z) * cos b, linear between rows.
        y = float(i)
        while z < rows - 2 and (z + 1) + k * geo.landing_height[z + 1] < y:
            z += 1
        while z > 0 and z + k * geo.landing_height[z] > y:
            z -= 1
        y0 = z + k * geo.landing_height[z]
        y1 = z + 1 + k * geo.landing_height[z + 1]
        t = (y - y0) / (y1 - y0) if y1 > y0 else 0.0
        if z + t < 0.0:
            height = geo.landing_height[0]
        elif z + t > rows - 1:
            height = geo.landing_height[rows - 1]
        else:
            height = geo.landing_height[z] + t * (geo.landing_height[z + 1] - geo.landing_height[z])
        row_at[i] = y - k * height
        col_at[i] = -cot * height * sa / geo.cell
        low = min(low, int(math.floor(row_at[i])) - 2)
        high = max(high, int(math.ceil(row_at[i])) + 3)
    return max(low, 0), min(high, rows)
