"""Which rows of a landing lattice balls can land on. Kernels only."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

STOCK_TAIL, MISHIT_TAIL = 3.9, 3.3
"""Half widths of components in standard deviations: 1e-4 and 1e-3 of a component lie beyond."""


@njit(cache=True, nogil=True)
def tail_of(component):  # type: ignore[no-untyped-def]
    """Half width of a component in standard deviations."""
    return STOCK_TAIL if component == 0 else MISHIT_TAIL


@njit(cache=True, nogil=True)
def bearings_of(node, ratio, count):  # type: ignore[no-untyped-def]
    """Bearings that read the averages of one bearing of the tables, first and last + 1.

    Of ``count`` bearings round the circle every ``ratio``-th has tables; the bearing of the tables
    that closes the circle is asked for by the number after the last.
    """
    return max((node - 1) * ratio + 1, 0), min((node + 1) * ratio, count)


@njit(cache=True, nogil=True)
def reached_rows(actions, geo, swing, first, last):  # type: ignore[no-untyped-def]
    """Rows of landing values, in fours, that a swing can reach along some bearings in a row.

    First and last + 1; equal or crossed if the swing is tried along none of them.
    """
    row0, row1 = geo.rows, 0
    for b in range(first, last):
        low, high = _rows_of_bearing(actions, geo, swing, b)
        row0, row1 = min(row0, low), max(row1, high)
    return row0, row1


@njit(cache=True, nogil=True)
def _rows_of_bearing(actions, geo, swing, b):  # type: ignore[no-untyped-def]
    ca, sa = math.cos(actions.bearings[b]), math.sin(actions.bearings[b])
    w = b if actions.mean.shape[1] > 1 else 0
    row0, row1 = geo.rows, 0
    for lie in range(actions.weight.shape[1]):
        window = actions.window[swing, lie, b]
        if window[0] >= window[1] or window[2] >= window[3]:
            continue
        low_row, high_row = 1e9, -1e9
        for k in range(actions.weight.shape[2]):
            if actions.weight[swing, lie, k] <= 0.0:
                continue
            along = actions.mean[swing, w, lie, k, 0]
            across = actions.mean[swing, w, lie, k, 1]
            shift = along * ca - across * sa
            aa = actions.covariance[swing, w, lie, k, 0]
            cc = actions.covariance[swing, w, lie, k, 1]
            ac = actions.covariance[swing, w, lie, k, 2]
            spread = (tail_of(k) + 0.1) * math.sqrt(
                max(aa * ca * ca + cc * sa * sa - 2 * ac * ca * sa, 0.0)
            ) + 5.0 * geo.cell
            low_row = min(low_row, shift - spread)
            high_row = max(high_row, shift + spread)
        if low_row > high_row:
            continue
        first = geo.target_start_along + geo.target_cell * (window[0] + 0.5)
        last = geo.target_start_along + geo.target_cell * (window[1] - 0.5)
        if not geo.level:
            least = geo.target_height[window[0] : window[1]].min()
            most = geo.target_height[window[0] : window[1]].max()
            lift = actions.cot_descent[swing] * ca
            low_row += min(lift * least, lift * most)
            high_row += max(lift * least, lift * most)
        low = int(math.floor((first + low_row - geo.start_along) / geo.cell))
        high = int(math.ceil((last + high_row - geo.start_along) / geo.cell)) + 1
        row0 = min(row0, max(low // 4 * 4, 0))
        row1 = max(row1, min((high + 3) // 4 * 4, geo.rows))
    return row0, row1


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


@njit(cache=True, nogil=True)
def landed_rows(actions, geo, bearings):  # type: ignore[no-untyped-def]
    """Rows of the ground on which balls of any action land, first and last + 1, ``(n, 2)``.

    ``bearings`` are the ``n`` of the tables.
    """
    nodes, count = len(bearings), len(actions.bearings)
    found = np.zeros((nodes, 2), np.int64)
    found[:, 0] = geo.rows
    row_at = np.zeros(geo.rows)
    col_at = np.zeros(geo.rows)
    for node in range(nodes + 1):
        first, last = bearings_of(node, count // nodes, count)
        n = node % nodes
        for swing in range(actions.weight.shape[0]):
            row0, row1 = reached_rows(actions, geo, swing, first, last)
            if row0 >= row1:
                continue
            if not geo.level:
                row0, row1 = find_warp(
                    row0, row1, bearings[n], actions.cot_descent[swing], geo, row_at, col_at
                )
            found[n, 0] = min(found[n, 0], row0)
            found[n, 1] = max(found[n, 1], row1)
    return found
