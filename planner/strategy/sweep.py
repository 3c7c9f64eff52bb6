"""One improvement sweep of the Bellman operator over all swings, bearings and lies.

For every place ``x`` with lie ``l`` of a target lattice::

    V(x, l) = min over (swing, bearing) of
              [1 + B v_B + (1 - B) ((1 - p)(1 + penalty price) + E)] / [1 - (1 - B)(1 - p)]

``E`` is the mass-weighted mean of the landing value in play, ``p`` the chance to stay in play
(a lost ball is replayed from ``x``: stroke and distance, its self-loop removed exactly), ``B``
the chance that a wood near ``x`` stops the ball and ``v_B`` the value there.

Landing values are built once for each swing and bearing on the landing lattice, then averaged
over the mixture of each lie (:mod:`planner.numerics.gaussian_filter`, which loses no mass), wide
components on coarser copies of the lattice. That is done for the bearings of the tables only; a
bearing between two of them reads both averages where its own mean ends, and takes them by their
nearness. What turns with the bearing is then the pattern and the run, and not where it lies. With
``refine`` the bearing between those tried is taken from the parabola through the three values
round a minimum.

Kernels are called from a few threads at once and release the GIL. ``fields`` may hold a further
quantities (such as penalties) that are averaged along and reported for the chosen action.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from planner.numerics.gaussian_filter import (
    CELL_VARIANCE,
    LOOK_UP_VARIANCE,
    MAX_TAPS,
    add_look_up,
    halve,
    normal_average,
)
from planner.strategy.best_action import keep_best, note_near, take_followed
from planner.strategy.landing import landing_value
from planner.strategy.reach import bearings_of, find_warp, reached_rows, tail_of
from planner.strategy.sweep_costs import take_costs

NO_SWING = -1


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
    swings,
    actions,
    tables,
    geo,
    fields,
    in_play,
    blocked,
    canopy_share,
    quantities,
    refine,
    find,
    follow,
    followed,
    best,
    best_swing,
    best_bearing,
    reference,
    gap,
    near,
):
    """Try ``swings`` at every bearing and keep what is better than ``best``.

    Parameters
    ----------
    swings
        Indices of the swings to try.
    in_play
        Chances to stay in play. With ``find`` true the last of ``fields`` is the indicator of
        being in play, and the chances are found from it and written.
    quantities
        What a stroke and a lost ball cost in each field.
    follow, followed
        With ``follow`` true nothing is compared: ``best`` gets the costs of the policy
        ``followed`` wherever its action is among those tried.
    best
        Least value so far, shape ``(f, l, target rows, target columns)``; first field decides.
    best_swing, best_bearing
        Action that gives it, shape ``(l, target rows, target columns)``.
    reference, gap, near
        ``near[s, l, b]`` becomes the least window that holds every place where the action costs
        at most ``reference + gap``; left alone if ``gap`` is negative.
    """
    averaged = fields.rest.shape[0]
    count = averaged - 1 if find else averaged
    lies = actions.weight.shape[1]
    components = actions.weight.shape[2]
    nodes = len(tables.bearings)
    m = len(actions.bearings)
    ratio = m // nodes
    slots = 2 * ratio + 1
    dtype = fields.rest.dtype
    rows, columns = geo.rows, geo.columns
    flat = np.zeros(fields.rest.shape[1], dtype)
    shifted = np.zeros((4, fields.rest.shape[1]), dtype)
    value0 = np.zeros((averaged, rows, columns), dtype)
    landed = np.zeros((rows, columns), dtype)
    value1 = np.zeros((averaged, rows // 2, columns // 2), dtype)
    value2 = np.zeros((averaged, rows // 4, columns // 4), dtype)
    mean0 = np.zeros((rows, columns), dtype)
    mean1 = np.zeros((rows // 2, columns // 2), dtype)
    mean2 = np.zeros((rows // 4, columns // 4), dtype)
    scratch = np.zeros(2 * (3 * rows + 8) * (2 * columns + 8), dtype)
    line = np.zeros(columns + 8, dtype)
    taps_row = np.zeros(MAX_TAPS)
    taps_col = np.zeros(MAX_TAPS)
    reach_rows = max(rows, geo.target_rows)
    row_at = np.zeros((2 * ratio - 1, reach_rows))
    col_at = np.zeros((2 * ratio - 1, reach_rows))
    cost = np.zeros((lies, slots, averaged, geo.target_rows, geo.target_columns), dtype)
    ring = np.zeros((lies, slots, 4), np.int32)
    for swing in swings:
        ring[:] = 0
        if gap >= 0.0:
            near[swing, :, :, 0] = 1 << 30
            near[swing, :, :, 1] = 0
            near[swing, :, :, 2] = 1 << 30
            near[swing, :, :, 3] = 0
        for node in range(nodes + 1):
            first, last = bearings_of(node, ratio, m)
            for b in range(node * ratio, last):
                _open(actions, swing, b, b % slots, ring, cost)
            row0, row1 = reached_rows(actions, geo, swing, first, last)
            if row0 < row1:
                middle = (node * ratio) % m
                wind = middle if actions.mean.shape[1] > 1 else 0
                bearing = actions.bearings[middle]
                ca, sa = math.cos(bearing), math.sin(bearing)
                fields_needed = count
                if find:
                    for lie in range(lies):
                        if actions.weight[swing, lie, 0] > 0:
                            for b in range(first, last):
                                if in_play.offset[swing, lie, b] >= 0:
                                    fields_needed = averaged
                land0, land1 = row0, row1
                if not geo.level:
                    land0, land1 = find_warp(
                        row0, row1, bearing, actions.cot_descent[swing], geo, row_at[0], col_at[0]
                    )
                for f in range(fields_needed):
                    landing_value(
                        f,
                        node % nodes,
                        bearing,
                        actions.run[swing, wind],
                        actions.shadow[swing],
                        canopy_share,
                        land0,
                        land1,
                        fields,
                        tables,
                        geo,
                        flat,
                        shifted,
                        value0[f] if geo.level else landed,
                    )
                    if not geo.level:
                        value0[f, row0:row1] = 0
                        add_look_up(
                            landed,
                            value0[f],
                            (row0, row1, 0, columns),
                            row_at[0],
                            col_at[0],
                            1.0,
                            1.0,
                            line,
                        )
                    if geo.levels > 1:
                        halve(value0[f], value1[f], row0 // 2, row1 // 2)
                    if geo.levels > 2:
                        halve(value1[f], value2[f], row0 // 4, row1 // 4)
                for lie in range(lies):
                    if actions.weight[swing, lie, 0] <= 0.0:
                        continue
                    wanted = False
                    of_lie = count
                    for b in range(first, last):
                        window = ring[lie, b % slots]
                        if window[0] < window[1]:
                            wanted = True
                            if find and in_play.offset[swing, lie, b] >= 0:
                                of_lie = averaged
                    if not wanted:
                        continue
                    for k in range(components):
                        weight = actions.weight[swing, lie, k]
                        if weight <= 0.0:
                            continue
                        aa = actions.covariance[swing, wind, lie, k, 0]
                        cc = actions.covariance[swing, wind, lie, k, 1]
                        ac = actions.covariance[swing, wind, lie, k, 2]
                        level = _level_of(aa, cc, ac, geo.cell, geo.level_ratio, geo.levels)
                        size = geo.cell * 2.0**level
                        s_rr = (aa * ca * ca + cc * sa * sa - 2 * ac * ca * sa) / size**2
                        s_cc = (aa * sa * sa + cc * ca * ca + 2 * ac * ca * sa) / size**2
                        s_rc = ((aa - cc) * ca * sa + ac * (ca * ca - sa * sa)) / size**2
                        known = CELL_VARIANCE + LOOK_UP_VARIANCE
                        if not geo.level:
                            known += LOOK_UP_VARIANCE / 4.0**level
                        extent = int(tail_of(k) * math.sqrt(s_cc)) + 4
                        stride = geo.target_cell / size
                        level_columns = columns >> level
                        r0, r1, c0, c1 = 1 << 30, 0, level_columns, 0
                        for b in range(first, last):
                            window = ring[lie, b % slots]
                            if window[0] >= window[1]:
                                continue
                            lo, hi, clo, chi = _ends(
                                actions,
                                geo,
                                swing,
                                lie,
                                k,
                                b,
                                ca,
                                sa,
                                size,
                                window,
                                row_at[b - first],
                                col_at[b - first],
                            )
                            r0 = min(r0, int(math.floor(lo)) - 2)
                            r1 = max(r1, int(math.ceil(hi)) + 3)
                            low = int(math.floor(clo + stride * window[2])) - extent
                            high = int(math.ceil(chi + stride * (window[3] - 1))) + extent + 1
                            c0 = min(c0, max(low, 0))
                            c1 = max(c1, min(high, level_columns))
                        if c1 - c0 < 1:
                            continue
                        for f in range(of_lie):
                            if level == 0:
                                source, mean = value0[f], mean0
                            elif level == 1:
                                source, mean = value1[f], mean1
                            else:
                                source, mean = value2[f], mean2
                            normal_average(
                                source[:, c0:c1],
                                row0 >> level,
                                row1 >> level,
                                mean[:, c0:c1],
                                r0,
                                r1,
                                s_rr,
                                s_cc,
                                s_rc,
                                known,
                                tail_of(k),
                                scratch,
                                taps_row,
                                taps_col,
                            )
                            for b in range(first, last):
                                window = ring[lie, b % slots]
                                if window[0] < window[1]:
                                    part = 1.0 - abs(b - node * ratio) / ratio
                                    add_look_up(
                                        mean,
                                        cost[lie, b % slots, f],
                                        window,
                                        row_at[b - first],
                                        col_at[b - first],
                                        stride,
                                        weight * part,
                                        line,
                                    )
            # These bearings have all they read; each gives the one before it both neighbours.
            if node == nodes:
                ring[:, m % slots] = 0
            for b in range(first, node * ratio + 1):
                if b < m:
                    take_costs(
                        actions,
                        geo,
                        fields,
                        in_play,
                        blocked,
                        quantities,
                        find,
                        follow,
                        count,
                        swing,
                        b,
                        ring[:, b % slots],
                        cost[:, b % slots],
                    )
                centre = b - 1
                if centre < 0:
                    continue
                here, before, after = centre % slots, (centre + slots - 1) % slots, b % slots
                for lie in range(lies):
                    window = ring[lie, here]
                    if actions.weight[swing, lie, 0] <= 0.0 or window[0] >= window[1]:
                        continue
                    if follow:
                        take_followed(
                            swing,
                            lie,
                            centre,
                            window,
                            cost[lie, before, :count],
                            cost[lie, here, :count],
                            cost[lie, after, :count],
                            ring[lie, before],
                            ring[lie, after],
                            followed,
                            best,
                        )
                        continue
                    if gap >= 0.0:
                        note_near(
                            cost[lie, before, 0],
                            cost[lie, here, 0],
                            cost[lie, after, 0],
                            ring[lie, before],
                            ring[lie, after],
                            reference[lie],
                            gap,
                            window,
                            centre,
                            near[swing, lie],
                        )
                    keep_best(
                        swing,
                        lie,
                        centre,
                        actions.bearings,
                        window,
                        refine,
                        cost[lie, before, :count],
                        cost[lie, here, :count],
                        cost[lie, after, :count],
                        ring[lie, before],
                        ring[lie, after],
                        best,
                        best_swing,
                        best_bearing,
                    )


@njit(cache=True, nogil=True)
def _open(actions, swing, b, slot, ring, cost):  # type: ignore[no-untyped-def]
    """Take a bearing's windows into a slot of the ring, with nothing averaged yet."""
    for lie in range(ring.shape[0]):
        window = actions.window[swing, lie, b]
        tried = actions.weight[swing, lie, 0] > 0.0
        if not tried or window[0] >= window[1] or window[2] >= window[3]:
            ring[lie, slot] = 0
            continue
        ring[lie, slot] = window
        for f in range(cost.shape[2]):
            for i in range(window[0], window[1]):
                cost[lie, slot, f, i, window[2] : window[3]] = 0


@njit(cache=True, nogil=True)
def _ends(  # type: ignore[no-untyped-def]
    actions, geo, swing, lie, k, b, ca, sa, size, window, row_at, col_at
):
    """Where a component's mean ends along bearing ``b``, in cells of ``size``, row by row.

    Fills both offsets for the rows of ``window`` and returns the least and the greatest of each.
    Heights count along the bearing of the tables, ``(ca, sa)``. So does the run there: the ends
    are moved so that a ball that runs as far as on a fairway or a green comes to rest where it
    should.
    """
    wind = b if actions.mean.shape[1] > 1 else 0
    run = 0.5 * (actions.run[swing, wind, 0] + actions.run[swing, wind, 3])
    cos, sin = math.cos(actions.bearings[b]), math.sin(actions.bearings[b])
    along = actions.mean[swing, wind, lie, k, 0]
    across = actions.mean[swing, wind, lie, k, 1]
    shift_row = along * cos - across * sin + run * (cos - ca)
    shift_col = along * sin + across * cos + run * (sin - sa)
    lo, hi, clo, chi = 1e9, -1e9, 1e9, -1e9
    for i in range(window[0], window[1]):
        lift = 0.0
        if not geo.level:
            lift = actions.cot_descent[swing] * geo.target_height[i]
        row = geo.target_start_along + geo.target_cell * (i + 0.5) + shift_row + lift * ca
        col = geo.target_start_across + geo.target_cell * 0.5 + shift_col + lift * sa
        row_at[i] = (row - geo.start_along) / size - 0.5
        col_at[i] = (col - geo.start_across) / size - 0.5
        lo = min(lo, row_at[i])
        hi = max(hi, row_at[i])
        clo = min(clo, col_at[i])
        chi = max(chi, col_at[i])
    return lo, hi, clo, chi
