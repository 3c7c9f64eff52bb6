"""Mass of shots pushed to where they come to rest, off any landing lattice. Kernels only.

Each shot's mixture is cut into strips along its aim line, each strip into short pieces. The mass
of a piece is a difference of normal distribution functions, and what becomes of it is found on
its line, cut by the polygons themselves: the canopy behind it, the slope it lands on, its run and
what stops that. Mass at rest is gathered in small cells, each with its lie and its centre of mass,
so that a cell stands for a place where such balls really lie.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from planner.strategy.exposure_kernel import level_way, normal_below
from planner.strategy.ground_lines import MOST_CUTS, cut_line, height_at, insert_cut, label_line

__all__ = ["GREEN", "LOST", "PENALTY", "push_shots"]

GREEN, PENALTY, LOST = -1, -2, -3
"""What a class of ground does to a ball, besides the slots of lies: putting, relief, lost."""
_REACH_SD = 4.2
"""Deviations within which mass is cut up; what lies beyond goes with the last piece."""
_START_REACH_SD = 4.0
_LEAST = 1e-9
"""Share of a shot that is too small to be followed."""
_NARROWEST_M = 0.02
_STRIP_STEP, _PIECE_STEP = 0.7548776662466927, 0.5698402909980532
"""Where in a strip and in a piece its mass lies goes round evenly, so that neither the spread of
a shot nor the side of an edge on which it ends is biased: powers of the root of x^3 = x + 1."""


@njit(cache=True, nogil=True)
def _next_width(at, means, sds, used, fine):  # type: ignore[no-untyped-def]
    """Width of the next piece: a share of the narrowest component that lies there."""
    narrow = math.inf
    gap = math.inf
    for k in range(len(means)):
        if not used[k]:
            continue
        reach = _REACH_SD * sds[k]
        if at < means[k] - reach - 1e-9:
            gap = min(gap, means[k] - reach - at)
        elif at < means[k] + reach:
            narrow = min(narrow, sds[k])
    if math.isinf(narrow):
        return gap if not math.isinf(gap) else 1.0
    return min(max(fine * narrow, _NARROWEST_M), gap) if fine * narrow < gap else gap


@njit(cache=True, nogil=True, inline="always")
def _density(at, weights, means, sds):  # type: ignore[no-untyped-def]
    """Density of a mixture, but for a factor; none far from all components."""
    found = 0.0
    for k in range(len(weights)):
        if weights[k] > 0.0:
            z = (at - means[k]) / sds[k]
            if abs(z) < 6.0:
                found += weights[k] / sds[k] * math.exp(-0.5 * z * z)
    return found


@njit(cache=True, nogil=True, inline="always")
def _share_before(low, high, share):  # type: ignore[no-untyped-def]
    """Where in a piece a share of its mass lies before; densities at its ends, straight between."""
    if abs(high - low) <= 1e-6 * (high + low):
        return share
    root = math.sqrt(low * low + share * (high * high - low * low))
    return (root - low) / (high - low)


@njit(cache=True, nogil=True, inline="always")
def _put_green(along, across, mass, pin_along, pin_across, nodes, green):  # type: ignore[no-untyped-def]
    """Share mass on the green between the two distances beside its own."""
    distance = math.hypot(along - pin_along, across - pin_across)
    last = len(nodes) - 1
    if distance >= nodes[last]:
        green[last] += mass
        return
    k = 0
    while k + 1 < last and nodes[k + 1] <= distance:
        k += 1
    part = min(max((distance - nodes[k]) / (nodes[k + 1] - nodes[k]), 0.0), 1.0)
    green[k] += mass * (1.0 - part)
    green[k + 1] += mass * part


@njit(cache=True, nogil=True, inline="always")
def _put_lie(along, across, mass, slot, start_along, start_across, cell, held):  # type: ignore[no-untyped-def]
    rows, columns = held.shape[1], held.shape[2]
    i = int(math.floor((along - start_along) / cell))
    j = int(math.floor((across - start_across) / cell))
    if i < 0 or j < 0 or i >= rows or j >= columns:
        return False
    held[slot, i, j, 0] += mass
    held[slot, i, j, 1] += mass * along
    held[slot, i, j, 2] += mass * across
    return True


@njit(cache=True, nogil=True, inline="always")
def _nearest_edge(along, across, ground, edge_points, edge_grounds):  # type: ignore[no-untyped-def]
    """Edge sample nearest to a point, of a kind of ground; -1 if there is none."""
    found = -1
    least = math.inf
    for e in range(len(edge_points)):
        if edge_grounds[e] != ground:
            continue
        away = (edge_points[e, 0] - along) ** 2 + (edge_points[e, 1] - across) ** 2
        if away < least:
            least = away
            found = e
    return found


@njit(cache=True, nogil=True)
def push_shots(  # type: ignore[no-untyped-def]
    numbers, points, mass, bearings, weights, means, covariances, runs, low, shadow, cot, start_sd,
    fineness, free_path, canopy_share, edges, owner, sign, base, turf, grounds, kinds, tree,
    known_along, known_height, wooded, start_along, start_across, cell, pin, nodes, edge_points,
    edge_grounds, held, green, at_edge, lost
):  # fmt: skip
    """Push the mass of ``n`` shots to rest, and add it up.

    Parameters
    ----------
    numbers
        Numbers that tell the shots apart, ``(n,)``.
    points, mass, bearings
        Where balls lie [m], shape ``(n, 2)``, how much mass there is, and its aim [rad].
    weights, means, covariances
        Mixture of each shot in the frame of its aim: ``(n, k)``, ``(n, k, 2)`` [m], ``(n, k, 3)``
        [m²], the last as along, across, both.
    runs, low, shadow, cot, start_sd
        Run on each turf [m], ``(n, 4)``; way flown low and low part of the descent [m];
        cotangent of the descent; deviation of the start direction [rad].
    fineness
        Width of a piece in deviations, ``(n,)``.
    kinds
        Slot of the lie of each class of ground, or ``GREEN``, ``PENALTY``, ``LOST``.
    wooded
        Whether there is a wood within the low way of each ball.
    nodes
        Distances to the pin at which mass on the green is held [m], in order.
    held, green, at_edge, lost
        Added to: mass with its first moments by slot and cell, ``(lies, rows, columns, 3)``; by
        node; by edge sample; and, for each shot, the mass that is lost.
    """
    at = np.empty(MOST_CUTS)
    what = np.empty(MOST_CUTS, np.int64)
    turn = np.empty(MOST_CUTS, np.int64)
    start = np.empty(MOST_CUTS + 2)
    label = np.empty(MOST_CUTS + 2, np.int64)
    wood_end = np.empty(MOST_CUTS + 2)
    covers = np.empty(len(base), np.int64)
    count = len(edges)
    t0, c0 = np.empty(count), np.empty(count)
    t1, c1 = np.empty(count), np.empty(count)
    kept = np.empty(count, np.int64)
    components = weights.shape[1]
    sd_across = np.empty(components)
    sd_line = np.empty(components)
    tilt = np.empty(components)
    part = np.empty(components)
    mean = np.empty(components)
    below = np.empty(components)
    used = np.empty(components, np.bool_)
    tree_slot = kinds[tree] if tree >= 0 else 0
    for n in range(len(points)):
        # Each shot begins elsewhere, whatever shots are pushed beside it.
        strip_at = numbers[n] * _PIECE_STEP % 1.0
        piece_at = numbers[n] * _STRIP_STEP % 1.0
        along, across = points[n, 0], points[n, 1]
        own_height = height_at(along, known_along, known_height)
        fine = fineness[n]
        passed = 1.0
        if wooded[n] and tree >= 0 and low[n] > 0.0:
            step = max(fine, 0.1)
            half = int(math.ceil(_START_REACH_SD / step))
            total = 0.0
            for k in range(-half, half + 1):
                total += math.exp(-0.5 * (k * step) ** 2)
            for k in range(-half, half + 1):
                share = math.exp(-0.5 * (k * step) ** 2) / total
                turned = bearings[n] + k * step * start_sd[n]
                ca, sa = math.cos(turned), math.sin(turned)
                cuts = cut_line(along, across, ca, sa, edges, owner, sign, at, what, turn)
                stretches = label_line(cuts, at, what, turn, base, covers, start, label)
                wood, entry = 0.0, -1.0
                for i in range(stretches):
                    if label[i] == tree and start[i + 1] > 0.0 and start[i] < low[n]:
                        if entry < 0.0:
                            entry = max(start[i], 0.0)
                        wood += min(start[i + 1], low[n]) - max(start[i], 0.0)
                if wood <= 0.0:
                    continue
                stopped = share * (1.0 - math.exp(-wood / free_path))
                passed -= stopped
                way = entry + 0.5 * min(wood, free_path)
                if not _put_lie(
                    along + way * ca, across + way * sa, mass[n] * stopped, tree_slot,
                    start_along, start_across, cell, held,
                ):  # fmt: skip
                    lost[n] += mass[n] * stopped
        passed = max(passed, 0.0)
        ca, sa = math.cos(bearings[n]), math.sin(bearings[n])
        c_low, c_high = math.inf, -math.inf
        t_low, t_high = math.inf, -math.inf
        for k in range(components):
            used[k] = weights[n, k] > 0.0
            if not used[k]:
                sd_across[k], sd_line[k], tilt[k] = 1.0, 1.0, 0.0
                continue
            sd_across[k] = math.sqrt(covariances[n, k, 1])
            tilt[k] = covariances[n, k, 2] / covariances[n, k, 1]
            own = covariances[n, k, 0] - tilt[k] * covariances[n, k, 2]
            sd_line[k] = math.sqrt(max(own, 1e-12))
            c_low = min(c_low, means[n, k, 1] - _REACH_SD * sd_across[k])
            c_high = max(c_high, means[n, k, 1] + _REACH_SD * sd_across[k])
            wide = _REACH_SD * math.sqrt(covariances[n, k, 0])
            t_low = min(t_low, means[n, k, 0] - wide)
            t_high = max(t_high, means[n, k, 0] + wide)
        rise_most = 0.0
        for k in range(len(known_height)):
            rise_most = max(rise_most, cot[n] * abs(known_height[k] - own_height))
        t_low -= rise_most
        t_high += rise_most
        farthest = t_high
        for k in range(4):
            farthest = max(farthest, t_high + runs[n, k])
        live = 0
        for e in range(count):
            da, dc = edges[e, 0] - along, edges[e, 1] - across
            first = dc * ca - da * sa
            t_first = da * ca + dc * sa
            da, dc = edges[e, 2] - along, edges[e, 3] - across
            last = dc * ca - da * sa
            t_last = da * ca + dc * sa
            if max(first, last) <= c_low or min(first, last) >= c_high or first == last:
                continue
            if min(t_first, t_last) > farthest:
                continue
            t0[live], c0[live], t1[live], c1[live] = t_first, first, t_last, last
            kept[live] = e
            live += 1
        left = c_low
        thin = _density(left, weights[n], means[n, :, 1], sd_across)
        while left < c_high:
            right = left + _next_width(left, means[n, :, 1], sd_across, used, fine)
            whole = 0.0
            for k in range(components):
                part[k] = 0.0
                if used[k]:
                    low_tail = 0.0
                    if left > c_low:
                        low_tail = normal_below((left - means[n, k, 1]) / sd_across[k])
                    high_tail = 1.0
                    if right < c_high:
                        high_tail = normal_below((right - means[n, k, 1]) / sd_across[k])
                    part[k] = weights[n, k] * (high_tail - low_tail)
                    whole += part[k]
            strip_at = (strip_at + _STRIP_STEP) % 1.0
            dense = _density(right, weights[n], means[n, :, 1], sd_across)
            c = left + _share_before(thin, dense, strip_at) * (right - left)
            thin = dense
            left = right
            if whole <= _LEAST:
                continue
            for k in range(components):
                mean[k] = means[n, k, 0] + tilt[k] * (c - means[n, k, 1])
            cuts = 0
            for e in range(live):
                if (c0[e] <= c) == (c1[e] <= c):
                    continue
                t = t0[e] + (t1[e] - t0[e]) * (c - c0[e]) / (c1[e] - c0[e])
                begins = sign[kept[e]] if c1[e] < c0[e] else -sign[kept[e]]
                insert_cut(cuts, t, owner[kept[e]], begins, at, what, turn)
                cuts += 1
            stretches = label_line(cuts, at, what, turn, base, covers, start, label)
            ended = -math.inf
            for i in range(stretches):
                wood_end[i] = ended
                if label[i] == tree:
                    ended = start[i + 1]
            t_from, t_to = math.inf, -math.inf
            for k in range(components):
                below[k] = 0.0
                if part[k] > 0.0:
                    t_from = min(t_from, mean[k] - _REACH_SD * sd_line[k] - rise_most)
                    t_to = max(t_to, mean[k] + _REACH_SD * sd_line[k] + rise_most)
            t = t_from
            way = level_way(t, c, along, ca, sa, cot[n], known_along, known_height, own_height)
            i = 0
            sparse = _density(way, part, mean, sd_line)
            while t < t_to:
                step = _next_width(way, mean, sd_line, used, fine)
                last = t
                t += step
                way = level_way(t, c, along, ca, sa, cot[n], known_along, known_height, own_height)
                before = sparse
                sparse = _density(way, part, mean, sd_line)
                amount = 0.0
                for k in range(components):
                    if part[k] <= 0.0:
                        continue
                    now = 1.0 if t >= t_to else normal_below((way - mean[k]) / sd_line[k])
                    amount += part[k] * (now - below[k])
                    below[k] = now
                if amount <= _LEAST * whole:
                    continue
                amount *= mass[n] * passed
                piece_at = (piece_at + _PIECE_STEP) % 1.0
                landing = last + _share_before(before, sparse, piece_at) * (t - last)
                while i + 1 < stretches and start[i + 1] <= landing:
                    i += 1
                kind = kinds[label[i]]
                if (
                    shadow[n] > 0.0
                    and label[i] != tree
                    and kind != LOST
                    and landing - wood_end[i] < shadow[n]
                ):
                    caught = canopy_share * amount
                    back = wood_end[i] - 1e-6
                    if not _put_lie(
                        along + back * ca - c * sa, across + back * sa + c * ca, caught,
                        tree_slot, start_along, start_across, cell, held,
                    ):  # fmt: skip
                        lost[n] += caught
                    amount -= caught
                j = i
                rest = landing
                if turf[label[i]] >= 0:
                    rest = landing + runs[n, turf[label[i]]]
                    while j + 1 < stretches and start[j + 1] <= rest and turf[label[j]] >= 0:
                        j += 1
                    if turf[label[j]] < 0:
                        rest = start[j]
                kind = kinds[label[j]]
                if kind == LOST:
                    lost[n] += amount
                    continue
                rest_along = along + rest * ca - c * sa
                rest_across = across + rest * sa + c * ca
                if kind == GREEN:
                    _put_green(rest_along, rest_across, amount, pin[0], pin[1], nodes, green)
                elif kind == PENALTY:
                    k = j
                    while k > 0 and grounds[label[k - 1]] == grounds[label[k]]:
                        k -= 1
                    entry = rest if math.isinf(start[k]) else start[k]
                    e = _nearest_edge(
                        along + entry * ca - c * sa, across + entry * sa + c * ca,
                        grounds[label[j]], edge_points, edge_grounds,
                    )  # fmt: skip
                    if e < 0:
                        lost[n] += amount
                    else:
                        at_edge[e] += amount
                elif not _put_lie(
                    rest_along, rest_across, amount, kind, start_along, start_across, cell, held
                ):
                    lost[n] += amount
