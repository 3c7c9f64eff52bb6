"""From the averages of one bearing to what its shots cost: strokes, lost balls, woods.

Kernels only; the formula is that of :mod:`planner.strategy.sweep`.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from planner.strategy.landing import first_from
from planner.strategy.relief_values import TREES_SLOT

_LEAST_IN_PLAY = 0.05
_CERTAIN = 1.0 - 1e-7


@njit(cache=True, nogil=True)
def take_costs(  # type: ignore[no-untyped-def]
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
    ring,
    cost,
):
    """Turn the averages of one bearing into costs, in place.

    ``ring`` (l, 4) holds the window of each lie, ``cost`` (l, f, target rows, target columns) the
    averages; with ``find`` the last of ``f`` is the chance to stay in play, which is kept.
    """
    replayed = quantities.again.shape[0] == 0
    kind = cost.dtype.type
    columns = geo.target_columns
    entry = swing * len(actions.bearings) + b
    begin, end = blocked.start[entry], blocked.start[entry + 1]
    if not follow:
        for n in range(begin, end):
            blocked.stays[n] = 0.0
    for lie in range(cost.shape[0]):
        window = ring[lie]
        if window[0] >= window[1]:
            continue
        current = cost[lie]
        offset = in_play.offset[swing, lie, b]
        held = in_play.window[swing, lie, b]
        width = held[3] - held[2]
        if find and offset >= 0:
            least = kind(1.0)
            for i in range(window[0], window[1]):
                at = offset + (i - held[0]) * width - held[2]
                found = current[count, i, window[2] : window[3]]
                least = min(
                    least, _note_share(found, in_play.share[at + window[2] : at + window[3]])
                )
            if least >= _CERTAIN:
                in_play.offset[swing, lie, b] = -1
                offset = -1
        # Cells are in order: those of the window's rows stand together.
        low = first_from(blocked.cell, begin, end, window[0] * columns)
        high = first_from(blocked.cell, low, end, window[1] * columns)
        stopped = np.empty((count, high - low))
        stopped[0] = np.nan
        i = window[0]
        for n in range(low, high):
            while blocked.cell[n] >= (i + 1) * columns:
                i += 1
            j = blocked.cell[n] - i * columns
            if j < window[2] or j >= window[3]:
                continue
            p = 1.0
            if offset >= 0:
                p = in_play.share[offset + (i - held[0]) * width + j - held[2]]
            stop = blocked.chance[n]
            stays = 1.0 - (1.0 - stop) * (1.0 - p)
            if stays < _LEAST_IN_PLAY:
                stopped[:, n - low] = np.inf
                continue
            for f in range(count):
                lost = quantities.lost[f]
                if not replayed:
                    lost = quantities.again[f, lie, i, j]
                passed = quantities.stroke[f] + (1.0 - stop) * ((1.0 - p) * lost + current[f, i, j])
                value = passed + stop * fields.special[f, blocked.place[n]]
                stopped[f, n - low] = value / stays if replayed else value
                if f == 0 and lie == TREES_SLOT and not follow:
                    blocked.passed[n] = passed
                    blocked.stays[n] = stays
        for f in range(count):
            stroke = kind(quantities.stroke[f])
            for i in range(window[0], window[1]):
                to = current[f, i, window[2] : window[3]]
                if offset < 0:
                    for j in range(to.shape[0]):
                        to[j] += stroke
                    continue
                at = offset + (i - held[0]) * width - held[2]
                share = in_play.share[at + window[2] : at + window[3]]
                if replayed:
                    _replay_lost(to, share, stroke, kind(quantities.lost[f]))
                else:
                    again = quantities.again[f, lie, i, window[2] : window[3]]
                    _count_lost(to, share, stroke, again)
        i = window[0]
        for n in range(low, high):
            if not math.isnan(stopped[0, n - low]):
                while blocked.cell[n] >= (i + 1) * columns:
                    i += 1
                for f in range(count):
                    current[f, i, blocked.cell[n] - i * columns] = stopped[f, n - low]


@njit(cache=True, nogil=True)
def _note_share(found, share):  # type: ignore[no-untyped-def]
    """Keep chances to stay in play, which rounding may lift over one; return the least."""
    one = share.dtype.type(1.0)
    least = one
    for j in range(found.shape[0]):
        share[j] = min(found[j], one)
        least = min(least, share[j])
    return least


@njit(cache=True, nogil=True)
def _replay_lost(value, share, stroke, lost):  # type: ignore[no-untyped-def]
    """Turn averages of a row into costs, lost balls being replayed until one is in play."""
    kind = value.dtype.type
    one, least, never = kind(1.0), kind(_LEAST_IN_PLAY), kind(np.inf)
    for j in range(value.shape[0]):
        p = share[j]
        cost = (stroke + value[j] + (one - p) * lost) / max(p, least)
        value[j] = cost if p >= least else never


@njit(cache=True, nogil=True)
def _count_lost(value, share, stroke, again):  # type: ignore[no-untyped-def]
    """Turn averages of a row into costs, ``again`` being what follows a lost ball."""
    kind = value.dtype.type
    one, least, never = kind(1.0), kind(_LEAST_IN_PLAY), kind(np.inf)
    for j in range(value.shape[0]):
        p = share[j]
        cost = stroke + value[j] + (one - p) * again[j]
        value[j] = cost if p >= least else never
