"""Mass of a shot pattern over what the lines of a hole make of it; see :mod:`.exposure`."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from planner.strategy.ground_lines import MOST_CUTS, cut_line, height_at, insert_cut, label_line

_REACH_SD = 7.0
"""Deviations within which a component is integrated; 3e-12 of it lies outside."""
_WIDEST = 0.6
"""Widest piece of the integral, in deviations."""
_RULES = (1, 2, 3, 5)
_RULE_LIMITS = (0.0015, 0.04, 0.2)
"""Widths up to which each rule but the last serves; the error is below 1e-9 for all together."""
_ROUGH_LIMITS = (0.3, 1.0, math.inf)
"""The same where pieces are cut at corners only; the error is below 1e-3."""
_X = np.zeros((4, 5))
_W = np.zeros((4, 5))
for _row, _count in enumerate(_RULES):
    _X[_row, :_count], _W[_row, :_count] = np.polynomial.legendre.leggauss(_count)
_NODES = np.array(_RULES)


@njit(cache=True, nogil=True)
def wood_lengths(edges, owner, sign, base, tree, along, across, bearings, reach):  # type: ignore[no-untyped-def]
    """Length of wood within ``reach`` [m] of a point, along each bearing [m], shape ``(m,)``."""
    at = np.empty(MOST_CUTS)
    what = np.empty(MOST_CUTS, np.int64)
    turn = np.empty(MOST_CUTS, np.int64)
    start = np.empty(MOST_CUTS + 2)
    label = np.empty(MOST_CUTS + 2, np.int64)
    covers = np.empty(len(base), np.int64)
    wood = np.zeros(len(bearings))
    for b in range(len(bearings)):
        ca, sa = math.cos(bearings[b]), math.sin(bearings[b])
        cuts = cut_line(along, across, ca, sa, edges, owner, sign, at, what, turn)
        stretches = label_line(cuts, at, what, turn, base, covers, start, label)
        for i in range(stretches):
            if label[i] == tree:
                wood[b] += max(min(start[i + 1], reach) - max(start[i], 0.0), 0.0)
    return wood


@njit(cache=True, nogil=True)
def normal_below(x):  # type: ignore[no-untyped-def]
    """Share of a normal distribution below ``x`` deviations."""
    if x < -8.0:
        return 0.0
    if x > 8.0:
        return 1.0
    return 0.5 * math.erfc(-x * 0.7071067811865476)


@njit(cache=True, nogil=True)
def level_way(t, c, from_along, ca, sa, cot, known_along, known_height, own_height):  # type: ignore[no-untyped-def]
    """Way to where a ball that lands at ``t`` passes the height of its start.

    Ground that the descent line has met before cannot be landed on, hence the running maximum.
    """
    if cot == 0.0 or math.isinf(t):
        return t
    a = from_along + t * ca - c * sa
    way = t + cot * (height_at(a, known_along, known_height) - own_height)
    if abs(ca) > 1e-9:
        for k in range(len(known_along)):
            corner = (known_along[k] - from_along + c * sa) / ca
            if corner < t:
                way = max(way, corner + cot * (known_height[k] - own_height))
    return way


@njit(cache=True, nogil=True)
def _stretch_masses(  # type: ignore[no-untyped-def]
    stretches,
    start,
    label,
    turf,
    tree,
    lost,
    runs,
    shadow,
    canopy_share,
    c,
    density,
    mean,
    sd,
    from_along,
    ca,
    sa,
    cot,
    known_along,
    known_height,
    own_height,
    rest,
    carry,
):
    """Add the masses on one line, times ``density`` of each component, to ``rest``, ``carry``."""
    components = len(density)
    before = np.zeros(components)
    canopy = 0.0
    wood_end = -math.inf
    for i in range(stretches):
        kind = label[i]
        if i > 0 and label[i - 1] == tree:
            wood_end = start[i]
        covered = -math.inf
        if kind != tree and kind != lost and shadow > 0.0:
            covered = wood_end + shadow
        run = 0.0
        stop = stretches
        if turf[kind] >= 0:
            run = runs[turf[kind]]
            stop = i + 1
            while stop < stretches and turf[label[stop]] >= 0:
                stop += 1
        x = start[i]
        k = i
        while x < start[i + 1]:
            # The ball rests in stretch k until the run crosses its end.
            while k < stop and start[k + 1] - run <= x:
                k += 1
            end = start[i + 1]
            if k < stop:
                end = min(end, start[k + 1] - run)
            if covered > x:
                end = min(end, covered)
            way = level_way(end, c, from_along, ca, sa, cot, known_along, known_height, own_height)
            mass = 0.0
            for m in range(components):
                if density[m] <= 0.0:
                    continue
                below = 1.0 if math.isinf(way) else normal_below((way - mean[m]) / sd[m])
                mass += density[m] * (below - before[m])
                before[m] = below
            if mass != 0.0:
                if covered > x:
                    canopy += canopy_share * mass
                    rest[tree] += canopy_share * mass
                    mass *= 1.0 - canopy_share
                carry[kind] += mass
                rest[label[k]] += mass
            x = end
    return canopy


@njit(cache=True, nogil=True)
def _crossings(low, high, ids, t0, c0, t1, c1, apart, t_low, t_high, out):  # type: ignore[no-untyped-def]
    """Append where two edges are one of the distances ``apart`` from each other."""
    found = 0
    for i in range(len(ids)):
        a = ids[i]
        slope_a = (t1[a] - t0[a]) / (c1[a] - c0[a])
        for j in range(len(ids)):
            b = ids[j]
            if i == j:
                continue
            slope_b = (t1[b] - t0[b]) / (c1[b] - c0[b])
            bottom = max(low, min(c0[a], c1[a]), min(c0[b], c1[b]))
            top = min(high, max(c0[a], c1[a]), max(c0[b], c1[b]))
            if bottom >= top:
                continue
            gap0 = t0[a] - t0[b] + slope_a * (bottom - c0[a]) - slope_b * (bottom - c0[b])
            gap1 = t0[a] - t0[b] + slope_a * (top - c0[a]) - slope_b * (top - c0[b])
            for d in apart:
                if (gap0 - d) * (gap1 - d) < 0.0:
                    at = bottom + (top - bottom) * (gap0 - d) / (gap0 - gap1)
                    t = t0[b] + slope_b * (at - c0[b])
                    if t_low < t < t_high and found < len(out):
                        out[found] = at
                        found += 1
    return found


@njit(cache=True, nogil=True)
def integrate(  # type: ignore[no-untyped-def]
    edges,
    owner,
    sign,
    base,
    turf,
    tree,
    lost,
    from_along,
    from_across,
    ca,
    sa,
    weights,
    means,
    covariances,
    runs,
    shadow,
    cot,
    known_along,
    known_height,
    canopy_share,
    exact,
    rest,
    carry,
):
    """Fill ``rest`` and ``carry`` by class; return the mass that the canopy stops.

    Unless ``exact``, what happens where edges are a run or a shadow apart is smoothed over.
    """
    components = len(weights)
    own_height = height_at(from_along, known_along, known_height)
    sd_across = np.sqrt(covariances[:, 1, 1])
    tilt = covariances[:, 0, 1] / covariances[:, 1, 1]
    sd_line = np.sqrt(np.maximum(covariances[:, 0, 0] - tilt * covariances[:, 0, 1], 1e-12))
    sd_along = np.sqrt(covariances[:, 0, 0])
    used = weights > 0.0
    c_low = np.min((means[:, 1] - _REACH_SD * sd_across)[used])
    c_high = np.max((means[:, 1] + _REACH_SD * sd_across)[used])
    rise = 0.0
    if len(known_height):
        rise = cot * np.max(np.abs(known_height - own_height))
    longest = np.max(runs)
    t_low = np.min((means[:, 0] - _REACH_SD * sd_along)[used]) - rise - shadow
    t_high = np.max((means[:, 0] + _REACH_SD * sd_along)[used]) + rise + longest
    # Edges in the frame of the line: distance along it, distance to its right.
    count = edges.shape[0]
    extra = len(known_along) if abs(ca) > 1e-9 else 0
    t0, c0 = np.empty(count + extra), np.empty(count + extra)
    t1, c1 = np.empty(count + extra), np.empty(count + extra)
    kept = np.empty(count + extra, np.int64)
    corners = np.empty(2 * (count + len(known_along)) + 2)
    corners[0], corners[1] = c_low, c_high
    marked = 2
    live = 0
    for e in range(count):
        da, dc = edges[e, 0] - from_along, edges[e, 1] - from_across
        a0, b0 = da * ca + dc * sa, dc * ca - da * sa
        da, dc = edges[e, 2] - from_along, edges[e, 3] - from_across
        a1, b1 = da * ca + dc * sa, dc * ca - da * sa
        if min(a0, a1) > t_high or max(b0, b1) <= c_low or min(b0, b1) >= c_high:
            continue
        t0[live], c0[live], t1[live], c1[live] = a0, b0, a1, b1
        kept[live] = e
        if t_low <= a0 <= t_high and c_low < b0 < c_high:
            corners[marked] = b0
            marked += 1
        if t_low <= a1 <= t_high and c_low < b1 < c_high:
            corners[marked] = b1
            marked += 1
        if b0 != b1:
            live += 1
    solid = live
    for k in range(len(known_along)):
        if extra:
            t0[live] = (known_along[k] - from_along + c_low * sa) / ca
            t1[live] = (known_along[k] - from_along + c_high * sa) / ca
            c0[live], c1[live] = c_low, c_high
            live += 1
        else:
            at_corner = (from_along - known_along[k]) / sa
            if c_low < at_corner < c_high:
                corners[marked] = at_corner
                marked += 1
    corners = np.sort(corners[:marked])
    apart = np.empty(10)
    apart[0] = 0.0
    distances = 1
    for k in range(4):
        for d in (runs[k], runs[k] + shadow):
            if d > 0.0:
                apart[distances] = d
                distances += 1
    if shadow > 0.0:
        apart[distances] = shadow
        distances += 1
    apart = np.unique(apart[:distances])
    kinks = np.empty(4096)
    near = np.empty(live, np.int64)
    cross = np.empty(live, np.int64)
    at = np.empty(live)
    what = np.empty(live, np.int64)
    turn = np.empty(live, np.int64)
    start = np.empty(live + 2)
    label = np.empty(live + 2, np.int64)
    covers = np.empty(len(base), np.int64)
    density = np.empty(components)
    mean = np.empty(components)
    canopy = 0.0
    for n in range(marked - 1):
        low, high = corners[n], corners[n + 1]
        if high - low < 1e-12:
            continue
        slab, inside = 0, 0
        for e in range(live):
            if min(c0[e], c1[e]) < high and max(c0[e], c1[e]) > low:
                near[slab] = e
                slab += 1
                # Left of the window an edge only counts for what covers the line's beginning.
                if max(t0[e], t1[e]) >= t_low and min(t0[e], t1[e]) <= t_high:
                    cross[inside] = e
                    inside += 1
        found = 0
        if exact:
            found = _crossings(
                low, high, cross[:inside], t0, c0, t1, c1, apart, t_low, t_high, kinks
            )
        bounds = np.empty(found + 2)
        bounds[0], bounds[found + 1] = low, high
        bounds[1 : found + 1] = np.sort(kinks[:found])
        for piece in range(found + 1):
            bottom, top = bounds[piece], bounds[piece + 1]
            if top - bottom < 1e-12:
                continue
            narrow, steep, nearest = math.inf, 0.0, math.inf
            for m in range(components):
                if not used[m]:
                    continue
                far = max(bottom - means[m, 1], means[m, 1] - top, 0.0)
                if far < _REACH_SD * sd_across[m]:
                    narrow = min(narrow, sd_across[m])
                    nearest = min(nearest, sd_line[m])
                    steep = max(steep, abs(tilt[m]))
            if math.isinf(narrow):
                continue
            slide = steep * (top - bottom)
            for e in cross[:inside]:
                slope = (t1[e] - t0[e]) / (c1[e] - c0[e])
                first = t0[e] + slope * (bottom - c0[e])
                last = t0[e] + slope * (top - c0[e])
                first = min(max(first, t_low), t_high)
                last = min(max(last, t_low), t_high)
                slide = max(slide, abs(last - first))
            scale = max((top - bottom) / narrow, slide / nearest)
            parts = max(1, int(math.ceil(scale / _WIDEST)))
            rule = 0
            limits = _RULE_LIMITS if exact else _ROUGH_LIMITS
            while rule < 3 and scale > limits[rule]:
                rule += 1
            half = 0.5 * (top - bottom) / parts
            for part in range(parts):
                middle = bottom + half * (2 * part + 1)
                for node in range(_NODES[rule]):
                    c = middle + half * _X[rule, node]
                    for m in range(components):
                        z = (c - means[m, 1]) / sd_across[m]
                        density[m] = 0.0
                        if used[m] and abs(z) <= _REACH_SD:
                            density[m] = (
                                weights[m]
                                * half
                                * _W[rule, node]
                                * math.exp(-0.5 * z * z)
                                / (sd_across[m] * 2.5066282746310002)
                            )
                        mean[m] = means[m, 0] + tilt[m] * (c - means[m, 1])
                    cuts = 0
                    for e in near[:slab]:
                        if e >= solid or (c0[e] <= c) == (c1[e] <= c):
                            continue
                        t = t0[e] + (t1[e] - t0[e]) * (c - c0[e]) / (c1[e] - c0[e])
                        begins = sign[kept[e]] if c1[e] < c0[e] else -sign[kept[e]]
                        insert_cut(cuts, t, owner[kept[e]], begins, at, what, turn)
                        cuts += 1
                    stretches = label_line(cuts, at, what, turn, base, covers, start, label)
                    canopy += _stretch_masses(
                        stretches,
                        start,
                        label,
                        turf,
                        tree,
                        lost,
                        runs,
                        shadow,
                        canopy_share,
                        c,
                        density,
                        mean,
                        sd_line,
                        from_along,
                        ca,
                        sa,
                        cot,
                        known_along,
                        known_height,
                        own_height,
                        rest,
                        carry,
                    )
    return canopy
