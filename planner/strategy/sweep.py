"""One improvement sweep of the Bellman operator over all swings, bearings and lies.

For every place ``x`` with lie ``l`` of a target lattice::

    V(x, l) = min over (swing, bearing) of
              [1 + B v_B + (1 - B) ((1 - p)(1 + penalty price) + E)] / [1 - (1 - B)(1 - p)]

``E`` is the mass-weighted mean of the landing value in play, ``p`` the chance to stay in play
(a lost ball is replayed from ``x``: stroke and distance, its self-loop removed exactly), ``B``
the chance that a wood near ``x`` stops the ball and ``v_B`` the value there.

Landing values are built once for each swing and bearing on the landing lattice, then averaged
over the mixture of each lie (:mod:`planner.numerics.gaussian_filter`, which loses no mass), wide
components on coarser copies of the lattice. With ``refine`` the bearing between lattice bearings
is taken from the parabola through the three values round a minimum.

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
from planner.strategy.reach import find_warp, reached_rows, tail_of
from planner.strategy.relief_values import TREES_SLOT

NO_SWING = -1
_LEAST_IN_PLAY = 0.05
_CERTAIN = 1.0 - 1e-7


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
    bearings = tables.bearings
    m = len(bearings)
    dtype = fields.rest.dtype
    replayed = quantities.again.shape[0] == 0
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
    row_at = np.zeros(reach_rows)
    col_at = np.zeros(reach_rows)
    total = np.zeros((averaged, geo.target_rows, geo.target_columns), dtype)
    cost = np.zeros((lies, 3, count, geo.target_rows, geo.target_columns), dtype)
    ring = np.zeros((lies, 3, 4), np.int32)
    for swing in swings:
        ring[:] = 0
        if gap >= 0.0:
            near[swing, :, :, 0] = 1 << 30
            near[swing, :, :, 1] = 0
            near[swing, :, :, 2] = 1 << 30
            near[swing, :, :, 3] = 0
        for b in range(m + 1):
            tried = False
            slot = b % 3
            wind = b if actions.mean.shape[1] > 1 else 0
            row0, row1 = rows, 0
            if b < m:
                bearing = bearings[b]
                ca, sa = math.cos(bearing), math.sin(bearing)
                row0, row1 = reached_rows(actions, geo, swing, b, bearing)
                tried = row0 < row1
            if tried:
                if not follow:
                    for n in range(blocked.start[swing * m + b], blocked.start[swing * m + b + 1]):
                        blocked.stays[n] = 0.0
                fields_needed = count
                if find:
                    for lie in range(lies):
                        if in_play.offset[swing, lie, b] >= 0 and actions.weight[swing, lie, 0] > 0:
                            fields_needed = averaged
                land0, land1 = row0, row1
                if not geo.level:
                    land0, land1 = find_warp(
                        row0, row1, bearing, actions.cot_descent[swing], geo, row_at, col_at
                    )
                for f in range(fields_needed):
                    landing_value(
                        f,
                        b,
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
                            row_at,
                            col_at,
                            1.0,
                            1.0,
                            line,
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
                    offset = in_play.offset[swing, lie, b]
                    fields_needed = averaged if find and offset >= 0 else count
                    for f in range(fields_needed):
                        for i in range(window[0], window[1]):
                            total[f, i, window[2] : window[3]] = 0
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
                        along = actions.mean[swing, wind, lie, k, 0]
                        across = actions.mean[swing, wind, lie, k, 1]
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
                                geo.target_start_along
                                + geo.target_cell * (i + 0.5)
                                + shift_row
                                + lift * ca
                                - geo.start_along
                            ) / size - 0.5
                            col_at[i] = (
                                geo.target_start_across
                                + geo.target_cell * 0.5
                                + shift_col
                                + lift * sa
                                - geo.start_across
                            ) / size - 0.5
                            lo = min(lo, row_at[i])
                            hi = max(hi, row_at[i])
                            clo = min(clo, col_at[i])
                            chi = max(chi, col_at[i])
                        extent = int(tail_of(k) * math.sqrt(s_cc)) + 4
                        c0 = int(math.floor(clo + stride * window[2])) - extent
                        c1 = int(math.ceil(chi + stride * (window[3] - 1))) + extent + 1
                        level_columns = columns >> level
                        c0 = min(max(c0, 0), level_columns)
                        c1 = min(max(c1, 0), level_columns)
                        r0 = int(math.floor(lo)) - 2
                        r1 = int(math.ceil(hi)) + 3
                        if c1 - c0 < 1:
                            continue
                        for f in range(fields_needed):
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
                            add_look_up(
                                mean, total[f], window, row_at, col_at, stride, weight, line
                            )
                    held = in_play.window[swing, lie, b]
                    width = held[3] - held[2]
                    if find and offset >= 0:
                        least = 1.0
                        for i in range(window[0], window[1]):
                            for j in range(window[2], window[3]):
                                p = min(total[count, i, j], 1.0)
                                least = min(least, p)
                                at = offset + (i - held[0]) * width + j - held[2]
                                in_play.share[at] = p
                        if least >= _CERTAIN:
                            in_play.offset[swing, lie, b] = -1
                            offset = -1
                    current = cost[lie, slot]
                    for i in range(window[0], window[1]):
                        if offset < 0:
                            for f in range(count):
                                add = dtype.type(quantities.stroke[f])
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
                                for f in range(count):
                                    cost_here = quantities.stroke[f] + total[f, i, c]
                                    if replayed:
                                        current[f, i, c] = (
                                            cost_here + (1.0 - p) * quantities.lost[f]
                                        ) / p
                                    else:
                                        again = quantities.again[f, lie, i, c]
                                        current[f, i, c] = cost_here + (1.0 - p) * again
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
                        for f in range(count):
                            lost = quantities.lost[f]
                            if not replayed:
                                lost = quantities.again[f, lie, i, j]
                            passed = quantities.stroke[f] + (1.0 - stop) * (
                                (1.0 - p) * lost + total[f, i, j]
                            )
                            value = passed + stop * fields.special[f, blocked.place[n]]
                            current[f, i, j] = value / stays if replayed else value
                            if f == 0 and lie == TREES_SLOT and not follow:
                                blocked.passed[n] = passed
                                blocked.stays[n] = stays
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
                if follow:
                    take_followed(
                        swing,
                        lie,
                        centre,
                        window,
                        cost[lie, (centre + 2) % 3],
                        cost[lie, centre % 3],
                        cost[lie, (centre + 1) % 3],
                        ring[lie, (centre + 2) % 3],
                        ring[lie, (centre + 1) % 3],
                        followed,
                        best,
                    )
                    continue
                if gap >= 0.0:
                    note_near(
                        cost[lie, (centre + 2) % 3, 0],
                        cost[lie, centre % 3, 0],
                        cost[lie, (centre + 1) % 3, 0],
                        ring[lie, (centre + 2) % 3],
                        ring[lie, (centre + 1) % 3],
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
                    bearings,
                    window,
                    refine,
                    cost[lie, (centre + 2) % 3],
                    cost[lie, centre % 3],
                    cost[lie, (centre + 1) % 3],
                    ring[lie, (centre + 2) % 3],
                    ring[lie, (centre + 1) % 3],
                    best,
                    best_swing,
                    best_bearing,
                )
