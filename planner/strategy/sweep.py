"""One improvement sweep of the Bellman operator over all swings, bearings and lies.

For every place ``x`` with lie ``l`` of a target lattice::

    V(x, l) = min over (swing, bearing) of
              [1 + B v_B + (1 - B) ((1 - p)(1 + penalty price) + E)] / [1 - (1 - B)(1 - p)]

``E`` is the mass-weighted mean of the landing value in play, ``p`` the chance to stay in play
(a lost ball is replayed from ``x``: stroke and distance, its self-loop removed exactly), ``B``
the chance that a wood near ``x`` stops the ball and ``v_B`` the value there.

Landing values are built once for each swing and bearing on the landing lattice, then averaged
over the mixture of each lie (:mod:`planner.numerics.gaussian_filter`), wide components on
coarser copies of the lattice. With ``refine`` the bearing between lattice bearings is taken
from the parabola through the three values round a minimum.

Kernels are called from a few threads at once and release the GIL. ``fields`` may hold a second
quantity (expected penalties) that is averaged along and reported for the chosen action.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.numerics.gaussian_filter import (
    CELL_VARIANCE,
    LOOK_UP_VARIANCE,
    MAX_TAPS,
    add_look_up,
    halve,
    normal_average,
    shift_flat,
)
from planner.strategy.transition import QUANTILES

IntArray = NDArray[np.int32]
F64 = NDArray[np.float64]

NO_SWING = -1
STOCK_TAIL, MISHIT_TAIL = 3.9, 3.3
"""Half widths of components in standard deviations: 1e-4 and 1e-3 of a component lie beyond."""
_LEAST_IN_PLAY = 0.05
_REFINE_GAIN = 0.05
_CERTAIN = 1.0 - 1e-7


class Actions(NamedTuple):
    """Swings in arrays: ``s`` swings, ``l`` lies, ``k`` components, ``b`` bearings.

    ``mean`` [m] (s, l, k, 2); ``covariance`` [m2] (s, l, k, 3) as along, across, both;
    ``weight`` (s, l, k), all zero where a swing is not allowed; ``run`` [m] (s, 4) by turf;
    ``cot_descent`` and ``shadow`` [m] (s,); ``shift`` [m] (s, b, 2) by wind;
    ``window`` (s, l, b, 4) first and last + 1 row and column of the target lattice from which
    it is tried; empty windows are skipped.
    """

    mean: F64
    covariance: F64
    weight: F64
    run: F64
    cot_descent: F64
    shadow: F64
    shift: F64
    window: IntArray


class Geometry(NamedTuple):
    """Landing lattice, target lattice and heights.

    ``stride`` and ``front`` describe the flat layout of landing fields: values a row, and
    values before the first row. Heights [m] are by row of each lattice.
    """

    start_along: float
    start_across: float
    cell: float
    rows: int
    columns: int
    stride: int
    front: int
    target_start_along: float
    target_start_across: float
    target_cell: float
    target_rows: int
    target_columns: int
    level: bool
    landing_height: F64
    target_height: F64
    level_ratio: float
    levels: int


class LandingFields(NamedTuple):
    """Values at rest on the landing lattice, flat layout; ``f`` fields.

    ``rest`` (f, n): value of a ball that ends on turf in the cell.
    ``still`` (f, n): value in sand and trees, times their share of the cell.
    ``turf`` (4, n): shares of the running grounds; ``turf_rows`` (4, 2): first and
    last + 1 row that has any. ``special`` (f, m): see transition.
    ``relief`` (cells,): share of each landing cell from which relief is taken.
    """

    rest: NDArray[np.floating]
    still: NDArray[np.floating]
    turf: NDArray[np.floating]
    turf_rows: IntArray
    special: NDArray[np.floating]
    relief: NDArray[np.floating]


class InPlay(NamedTuple):
    """Chance to stay in play for each swing, lie and bearing, over its window.

    ``offset`` (s, l, b) points into ``share``; -1 means certain. ``window`` (s, l, b, 4) is
    that of the actions when the shares were found; later windows lie within it.
    """

    window: IntArray
    offset: NDArray[np.int64]
    share: NDArray[np.floating]


class Blocked(NamedTuple):
    """CSR list by ``swing * bearings + bearing``: target cell, stop chance, place."""

    start: NDArray[np.int64]
    cell: IntArray
    chance: NDArray[np.floating]
    place: IntArray


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
    f, bearing_index, bearing, run, shadow, canopy_share, row0, row1, fields, tables, geo,
    total, shifted, out
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
                rest, target, first, last, geo.stride, run[s] * ca / geo.cell, run[s] * sa / geo.cell
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
def _find_warp(row0, row1, bearing, cot, geo, row_at, col_at):  # type: ignore[no-untyped-def]
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
            height = geo.landing_height[z] + t * (
                geo.landing_height[z + 1] - geo.landing_height[z]
            )
        row_at[i] = y - k * height
        col_at[i] = -cot * height * sa / geo.cell
        low = min(low, int(math.floor(row_at[i])) - 2)
        high = max(high, int(math.ceil(row_at[i])) + 3)
    return max(low, 0), min(high, rows)


@njit(cache=True, nogil=True)
def _tail(component):  # type: ignore[no-untyped-def]
    return STOCK_TAIL if component == 0 else MISHIT_TAIL


@njit(cache=True, nogil=True)
def _level_of(aa, cc, ac, cell, ratio, levels):  # type: ignore[no-untyped-def]
    mean = 0.5 * (aa + cc)
    least = math.sqrt(max(mean - math.sqrt(0.25 * (aa - cc) ** 2 + ac * ac), 0.0))
    level = 0
    while level + 1 < levels and least >= ratio * cell * 2.0 ** (level + 1):
        level += 1
    return level


@njit(cache=True, nogil=True)
def sweep(  # type: ignore[no-untyped-def]
    swings, actions, tables, geo, fields, in_play, blocked, canopy_share, penalty_price, refine,
    store, best, best_swing, best_bearing, reference, gap, near
):
    """Try ``swings`` at every bearing and keep what is better than ``best``.

    Parameters
    ----------
    swings
        Indices of the swings to try.
    in_play
        Chances to stay in play. With ``store`` true ``fields`` must hold the indicator of being
        in play, and the chances are written instead of improving ``best``.
    penalty_price
        Extra cost of a penalty stroke (0 for fewest strokes).
    best
        Least value so far, shape ``(f, l, target rows, target columns)``; first field decides.
    best_swing, best_bearing
        Action that gives it, shape ``(l, target rows, target columns)``.
    reference, gap, near
        ``near[s, l, b]`` becomes the least window that holds every place where the action costs
        at most ``reference + gap``; left alone if ``gap`` is negative.
    """
    count = fields.rest.shape[0]
    lies = actions.weight.shape[1]
    components = actions.weight.shape[2]
    bearings = tables.bearings
    m = len(bearings)
    dtype = fields.rest.dtype
    rows, columns = geo.rows, geo.columns
    flat = np.zeros(fields.rest.shape[1], dtype)
    shifted = np.zeros((4, fields.rest.shape[1]), dtype)
    value0 = np.zeros((count, rows, columns), dtype)
    landed = np.zeros((rows, columns), dtype)
    value1 = np.zeros((count, rows // 2, columns // 2), dtype)
    value2 = np.zeros((count, rows // 4, columns // 4), dtype)
    mean0 = np.zeros((rows, columns), dtype)
    mean1 = np.zeros((rows // 2, columns // 2), dtype)
    mean2 = np.zeros((rows // 4, columns // 4), dtype)
    scratch = np.zeros(2 * (3 * rows + 8) * (2 * columns + 8), dtype)
    line = np.zeros(columns + 8, dtype)
    taps_row = np.zeros(MAX_TAPS)
    taps_col = np.zeros(MAX_TAPS)
    reach_rows = max(rows, geo.target_rows)
    row_at = np.zeros(reach_rows)
    col_at = np.zeros(reach_rows)
    total = np.zeros((count, geo.target_rows, geo.target_columns), dtype)
    cost = np.zeros((lies, 3, count, geo.target_rows, geo.target_columns), dtype)
    ring = np.zeros((lies, 3, 4), np.int32)
    for swing in swings:
        ring[:] = 0
        for b in range(m + 1):
            tried = False
            slot = b % 3
            row0, row1 = rows, 0
            if b < m:
                bearing = bearings[b]
                ca, sa = math.cos(bearing), math.sin(bearing)
                # Rows of landing values that any lie and component can reach.
                for lie in range(lies):
                    window = actions.window[swing, lie, b]
                    if window[0] >= window[1] or window[2] >= window[3]:
                        continue
                    low_row, high_row = 1e9, -1e9
                    for k in range(components):
                        if actions.weight[swing, lie, k] <= 0.0:
                            continue
                        along = actions.mean[swing, lie, k, 0] + actions.shift[swing, b, 0]
                        across = actions.mean[swing, lie, k, 1] + actions.shift[swing, b, 1]
                        shift = along * ca - across * sa
                        aa = actions.covariance[swing, lie, k, 0]
                        cc = actions.covariance[swing, lie, k, 1]
                        ac = actions.covariance[swing, lie, k, 2]
                        spread = (_tail(k) + 0.1) * math.sqrt(
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
                    row1 = max(row1, min((high + 3) // 4 * 4, rows))
                tried = row0 < row1
            if tried:
                land0, land1 = row0, row1
                if not geo.level:
                    land0, land1 = _find_warp(
                        row0, row1, bearing, actions.cot_descent[swing], geo, row_at, col_at
                    )
                for f in range(count):
                    landing_value(
                        f, b, bearing, actions.run[swing], actions.shadow[swing], canopy_share,
                        land0, land1, fields, tables, geo, flat, shifted,
                        value0[f] if geo.level else landed
                    )
                    if not geo.level:
                        value0[f, row0:row1] = 0
                        add_look_up(
                            landed, value0[f], (row0, row1, 0, columns), row_at, col_at, 1.0, 1.0,
                            line
                        )
                    if geo.levels > 1:
                        halve(value0[f], value1[f], row0 // 2, row1 // 2)
                    if geo.levels > 2:
                        halve(value1[f], value2[f], row0 // 4, row1 // 4)
                for lie in range(lies):
                    window = actions.window[swing, lie, b]
                    if actions.weight[swing, lie, 0] <= 0.0:
                        continue
                    if window[0] >= window[1] or window[2] >= window[3]:
                        ring[lie, slot] = 0
                        continue
                    ring[lie, slot] = window
                    for f in range(count):
                        for i in range(window[0], window[1]):
                            total[f, i, window[2] : window[3]] = 0
                    for k in range(components):
                        weight = actions.weight[swing, lie, k]
                        if weight <= 0.0:
                            continue
                        aa = actions.covariance[swing, lie, k, 0]
                        cc = actions.covariance[swing, lie, k, 1]
                        ac = actions.covariance[swing, lie, k, 2]
                        level = _level_of(aa, cc, ac, geo.cell, geo.level_ratio, geo.levels)
                        size = geo.cell * 2.0**level
                        s_rr = (aa * ca * ca + cc * sa * sa - 2 * ac * ca * sa) / size**2
                        s_cc = (aa * sa * sa + cc * ca * ca + 2 * ac * ca * sa) / size**2
                        s_rc = ((aa - cc) * ca * sa + ac * (ca * ca - sa * sa)) / size**2
                        along = actions.mean[swing, lie, k, 0] + actions.shift[swing, b, 0]
                        across = actions.mean[swing, lie, k, 1] + actions.shift[swing, b, 1]
                        known = CELL_VARIANCE + LOOK_UP_VARIANCE
                        if not geo.level:
                            known += LOOK_UP_VARIANCE / 4.0**level
                        shift_row = along * ca - across * sa
                        shift_col = along * sa + across * ca
                        lo, hi = 1e9, -1e9
                        clo, chi = 1e9, -1e9
                        stride = geo.target_cell / size
                        for i in range(window[0], window[1]):
                            lift = 0.0
                            if not geo.level:
                                lift = actions.cot_descent[swing] * geo.target_height[i]
                            row_at[i] = (
                                geo.target_start_along + geo.target_cell * (i + 0.5)
                                + shift_row + lift * ca - geo.start_along
                            ) / size - 0.5
                            col_at[i] = (
                                geo.target_start_across + geo.target_cell * 0.5
                                + shift_col + lift * sa - geo.start_across
                            ) / size - 0.5
                            lo = min(lo, row_at[i])
                            hi = max(hi, row_at[i])
                            clo = min(clo, col_at[i])
                            chi = max(chi, col_at[i])
                        extent = int(_tail(k) * math.sqrt(s_cc)) + 4
                        c0 = int(math.floor(clo + stride * window[2])) - extent
                        c1 = int(math.ceil(chi + stride * (window[3] - 1))) + extent + 1
                        level_columns = columns >> level
                        c0 = min(max(c0, 0), level_columns)
                        c1 = min(max(c1, 0), level_columns)
                        r0 = int(math.floor(lo)) - 2
                        r1 = int(math.ceil(hi)) + 3
                        if c1 - c0 < 1:
                            continue
                        for f in range(count):
                            if level == 0:
                                source, mean = value0[f], mean0
                            elif level == 1:
                                source, mean = value1[f], mean1
                            else:
                                source, mean = value2[f], mean2
                            normal_average(
                                source[:, c0:c1], row0 >> level, row1 >> level, mean[:, c0:c1],
                                r0, r1, s_rr, s_cc, s_rc, known, _tail(k), scratch, taps_row, taps_col
                            )
                            add_look_up(
                                mean, total[f], window, row_at, col_at, stride, weight, line
                            )
                    offset = in_play.offset[swing, lie, b]
                    held = in_play.window[swing, lie, b]
                    width = held[3] - held[2]
                    if store:
                        if offset < 0:
                            continue
                        least = 1.0
                        for i in range(window[0], window[1]):
                            for j in range(window[2], window[3]):
                                p = min(total[0, i, j], 1.0)
                                least = min(least, p)
                                in_play.share[
                                    offset + (i - window[0]) * width + j - window[2]
                                ] = p
                        if least >= _CERTAIN:
                            in_play.offset[swing, lie, b] = -1
                        continue
                    current = cost[lie, slot]
                    for i in range(window[0], window[1]):
                        if offset < 0:
                            for f in range(count):
                                # Strokes count one; the companion counts nothing by itself.
                                add = dtype.type(1.0 if f == 0 else 0.0)
                                to = current[f, i, window[2] : window[3]]
                                of = total[f, i, window[2] : window[3]]
                                for j in range(to.shape[0]):
                                    to[j] = add + of[j]
                        else:
                            at = offset + (i - held[0]) * width + window[2] - held[2]
                            for j in range(window[3] - window[2]):
                                p = in_play.share[at + j]
                                c = j + window[2]
                                if p < _LEAST_IN_PLAY:
                                    current[0, i, c] = np.inf
                                    continue
                                lost = 1.0 - p
                                current[0, i, c] = (
                                    1.0 + lost * (1.0 + penalty_price) + total[0, i, c]
                                ) / p
                                if count > 1:
                                    current[1, i, c] = (lost + total[1, i, c]) / p
                    entry = swing * m + b
                    for n in range(blocked.start[entry], blocked.start[entry + 1]):
                        i = blocked.cell[n] // geo.target_columns
                        j = blocked.cell[n] - i * geo.target_columns
                        if i < window[0] or i >= window[1] or j < window[2] or j >= window[3]:
                            continue
                        p = 1.0
                        if offset >= 0:
                            p = in_play.share[offset + (i - held[0]) * width + j - held[2]]
                        stop = blocked.chance[n]
                        stays = 1.0 - (1.0 - stop) * (1.0 - p)
                        if stays < _LEAST_IN_PLAY:
                            current[0, i, j] = np.inf
                            continue
                        current[0, i, j] = (
                            1.0
                            + stop * fields.special[0, blocked.place[n]]
                            + (1.0 - stop) * ((1.0 - p) * (1.0 + penalty_price) + total[0, i, j])
                        ) / stays
                        if count > 1:
                            current[1, i, j] = (
                                stop * fields.special[1, blocked.place[n]]
                                + (1.0 - stop) * (1.0 - p + total[1, i, j])
                            ) / stays
            if store:
                continue
            if not tried:
                for lie in range(lies):
                    ring[lie, slot] = 0
            # The bearing before this one now has both neighbours.
            centre = b - 1
            if centre < 0:
                continue
            for lie in range(lies):
                window = ring[lie, centre % 3]
                if actions.weight[swing, lie, 0] <= 0.0 or window[0] >= window[1]:
                    continue
                if gap >= 0.0:
                    _note_near(
                        cost[lie, centre % 3, 0], reference[lie], gap, window,
                        near[swing, lie, centre]
                    )
                _keep_best(
                    swing, lie, centre, bearings, window, refine,
                    cost[lie, (centre + 2) % 3], cost[lie, centre % 3], cost[lie, (centre + 1) % 3],
                    ring[lie, (centre + 2) % 3], ring[lie, (centre + 1) % 3], best, best_swing, best_bearing
                )


@njit(cache=True, nogil=True)
def _note_near(cost, reference, gap, window, near):  # type: ignore[no-untyped-def]
    r0, r1, c0, c1 = window[1], window[0], window[3], window[2]
    for i in range(window[0], window[1]):
        for j in range(window[2], window[3]):
            if cost[i, j] <= reference[i, j] + gap:
                r0 = min(r0, i)
                r1 = max(r1, i + 1)
                c0 = min(c0, j)
                c1 = max(c1, j + 1)
    near[0], near[1], near[2], near[3] = r0, r1, c0, c1


@njit(cache=True, nogil=True)
def _keep_best(  # type: ignore[no-untyped-def]
    swing, lie, centre, bearings, window, refine, before, here, after, window_before,
    window_after, best, best_swing, best_bearing
):
    step = bearings[1] - bearings[0] if len(bearings) > 1 else 0.0
    count = best.shape[0]
    for i in range(window[0], window[1]):
        between = (
            refine
            and window_before[0] <= i < window_before[1]
            and window_after[0] <= i < window_after[1]
        )
        low = max(window_before[2], window_after[2])
        high = min(window_before[3], window_after[3])
        for j in range(window[2], window[3]):
            value = here[0, i, j]
            known = best[0, lie, i, j]
            if value > known + _REFINE_GAIN:
                continue
            turn = 0.0
            if between and low <= j < high:
                a = before[0, i, j]
                c = after[0, i, j]
                bend = a - 2.0 * value + c
                if value <= a and value <= c and bend > 1e-9 and bend < 1e9:
                    slope = 0.5 * (c - a)
                    turn = -slope / bend
                    value = value + 0.5 * slope * turn
            if value < known:
                best[0, lie, i, j] = value
                for f in range(1, count):
                    best[f, lie, i, j] = here[f, i, j]
                best_swing[lie, i, j] = swing
                best_bearing[lie, i, j] = bearings[centre] + turn * step
