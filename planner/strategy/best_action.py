"""Choosing among actions: the best so far, between lattice bearings, and which come near it.

Kernels only.
"""

from __future__ import annotations

import math

from numba import njit

_REFINE_GAIN = 0.05
"""No parabola saves more than this [strokes]; what costs more beyond the best is passed over."""
_WIDEST_TURN = 0.75
"""Bearing steps from the middle one at which the least point of a parabola is believed."""


@njit(cache=True, nogil=True)
def _turn_and_gain(before, here, after):  # type: ignore[no-untyped-def]
    """Least point of the parabola through three neighbours: steps aside, and what it saves.

    It may lie nearer a neighbour than the middle, so that nothing jumps when two bearings are
    equally good and only one of them has both neighbours.
    """
    bend = before - 2.0 * here + after
    if 1e-9 < bend < 1e9 and here <= min(before, after) + _REFINE_GAIN:
        slope = 0.5 * (after - before)
        if abs(slope) <= _WIDEST_TURN * bend:
            return -slope / bend, min(0.5 * slope * slope / bend, _REFINE_GAIN)
    return 0.0, 0.0


@njit(cache=True, nogil=True)
def note_near(  # type: ignore[no-untyped-def]
    before, here, after, window_before, window_after, reference, gap, window, centre, near
):
    """Widen ``near`` of a bearing and its two neighbours by places where it is near-best.

    The neighbours belong to it, because the parabola needs them.
    """
    r0, r1, c0, c1 = 1 << 30, 0, 1 << 30, 0
    for i in range(window[0], window[1]):
        between = (
            window_before[0] <= i < window_before[1] and window_after[0] <= i < window_after[1]
        )
        low = max(window_before[2], window_after[2])
        high = min(window_before[3], window_after[3])
        for j in range(window[2], window[3]):
            value = here[i, j]
            limit = reference[i, j] + gap
            if value > limit + _REFINE_GAIN:
                continue
            if between and low <= j < high:
                value -= _turn_and_gain(before[i, j], value, after[i, j])[1]
            if value <= limit:
                r0 = min(r0, i)
                r1 = max(r1, i + 1)
                c0 = min(c0, j)
                c1 = max(c1, j + 1)
    if r0 >= r1:
        return
    count = near.shape[0]
    for k in range(centre - 1, centre + 2):
        box = near[k % count]
        box[0] = min(box[0], r0)
        box[1] = max(box[1], r1)
        box[2] = min(box[2], c0)
        box[3] = max(box[3], c1)


@njit(cache=True, nogil=True)
def keep_best(  # type: ignore[no-untyped-def]
    swing,
    lie,
    centre,
    bearings,
    window,
    refine,
    before,
    here,
    after,
    window_before,
    window_after,
    best,
    best_swing,
    best_bearing,
):
    """Keep a bearing's action wherever it beats ``best``, turned to the least point between."""
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
                turn, gain = _turn_and_gain(before[0, i, j], value, after[0, i, j])
                value -= gain
            if value < known:
                best[0, lie, i, j] = value
                for f in range(1, count):
                    best[f, lie, i, j] = here[f, i, j]
                best_swing[lie, i, j] = swing
                best_bearing[lie, i, j] = bearings[centre] + turn * step


@njit(cache=True, nogil=True)
def take_followed(  # type: ignore[no-untyped-def]
    swing,
    lie,
    centre,
    window,
    before,
    here,
    after,
    window_before,
    window_after,
    followed,
    found,
):
    """Write the costs of a policy's actions near one bearing, on the parabola between bearings."""
    count = found.shape[0]
    for i in range(window[0], window[1]):
        between = (
            window_before[0] <= i < window_before[1] and window_after[0] <= i < window_after[1]
        )
        low = max(window_before[2], window_after[2])
        high = min(window_before[3], window_after[3])
        for j in range(window[2], window[3]):
            if followed.swing[lie, i, j] != swing or followed.centre[lie, i, j] != centre:
                continue
            turn = followed.turn[lie, i, j] if between and low <= j < high else 0.0
            for f in range(count):
                value = here[f, i, j]
                if turn != 0.0:
                    left, right = before[f, i, j], after[f, i, j]
                    bent = value + 0.5 * turn * (right - left)
                    bent += 0.5 * turn * turn * (right - 2.0 * value + left)
                    # Beside a bearing that hardly stays in play there is no parabola.
                    if math.isfinite(bent):
                        value = bent
                found[f, lie, i, j] = value
