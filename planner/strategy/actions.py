"""Swings of a shot model as arrays for the sweep, with the places from which each is tried."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.course.hole import Hole
from planner.course.lies import Lie
from planner.golfer.shot_outcome import ShotModel, Swing, SwingStyle
from planner.strategy.grid import Lattice
from planner.strategy.relief_values import PLAYED_LIES
from planner.strategy.sweep_types import Actions, Blocked
from planner.strategy.transition import RayGeometry
from planner.strategy.tree_block import (
    UNKNOWN,
    StartBlock,
    direction_weights,
    find_stops,
    resting_place,
)

MAX_COMPONENTS = 4
FULL_SHARE = 1.5
"""Full swings up to this share of the longest short swing may be played on the patch, too."""
_TURF_LIES = (Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.GREEN)
_FULL_ANGLE = math.radians(45.0)
_PUNCH_ANGLE = math.radians(150.0)

Float64 = NDArray[np.float64]


def short_swings(model: ShotModel, *, longest: float) -> list[int]:
    """Swings solved on the patch: partial up to ``longest`` [m], full to ``FULL_SHARE`` of more."""
    return [
        i
        for i, swing in enumerate(model.swings)
        if (swing.style is SwingStyle.PARTIAL and swing.carry_m <= longest)
        or (swing.style is SwingStyle.FULL and swing.carry_m <= FULL_SHARE * longest)
    ]


def long_swings(model: ShotModel, *, shortest: float) -> list[int]:
    """All other swings, with the partial ones that carry more than ``shortest`` [m]."""
    return [
        i
        for i, swing in enumerate(model.swings)
        if swing.style is not SwingStyle.PARTIAL or swing.carry_m > shortest
    ]


def action_arrays(
    swings: Sequence[Swing],
    hole: Hole,
    bearings: Float64,
    *,
    wind_from: float | None,
    lies: Sequence[Lie] = PLAYED_LIES,
    present: Sequence[Lie] = tuple(Lie),
) -> Actions:
    """Arrays of ``swings``; windows are left empty for the caller to fill.

    Parameters
    ----------
    lies
        Lies of the value arrays, in order.
    present
        Lies that occur on the hole; others get no weight.
    """
    s, n, k = len(swings), len(lies), MAX_COMPONENTS
    winds = np.zeros(1) if wind_from is None else wind_from - hole.frame.azimuth - bearings
    mean = np.zeros((s, len(winds), n, k, 2))
    covariance = np.zeros((s, len(winds), n, k, 3))
    weight = np.zeros((s, n, k))
    run = np.zeros((s, len(winds), 4))
    for i, swing in enumerate(swings):
        for j, lie in enumerate(lies):
            pattern = swing.patterns.get(lie)
            if pattern is None or lie not in present:
                continue
            parts = len(pattern.weights)
            if parts > k:
                raise ValueError(f"a shot pattern may have at most {k} components, got {parts}")
            for part in range(parts):
                moved, matrix = swing.blown(pattern.means[part], winds)
                spread = matrix @ pattern.covariances[part] @ matrix.swapaxes(1, 2)
                mean[i, :, j, part] = moved
                covariance[i, :, j, part, 0] = spread[:, 0, 0]
                covariance[i, :, j, part, 1] = spread[:, 1, 1]
                covariance[i, :, j, part, 2] = spread[:, 0, 1]
            weight[i, j, :parts] = pattern.weights
        run[i] = swing.runs(_TURF_LIES, winds)
    return Actions(
        np.asarray(bearings, dtype=float),
        mean,
        covariance,
        weight,
        run,
        np.array([1.0 / math.tan(swing.descent) for swing in swings]),
        np.array([swing.canopy_shadow_m for swing in swings]),
        np.zeros((s, n, len(bearings), 4), np.int32),
    )


@njit(cache=True, nogil=True)
def _window(  # type: ignore[no-untyped-def]
    along,
    across,
    pin_along,
    pin_across,
    forward,
    sideways,
    bearing,
    angle,
    slack,
    target_radius,
    inner,
    box,
    allowed,
):
    ca, sa = math.cos(bearing), math.sin(bearing)
    move_along = forward * ca - sideways * sa
    move_across = forward * sa + sideways * ca
    cos_angle = math.cos(angle)
    r0, r1, c0, c1 = len(along), 0, len(across), 0
    for i in range(len(along)):
        to_along = pin_along - along[i]
        left_along = to_along - move_along
        end_along = along[i] + move_along
        if end_along < box[0] or end_along > box[1]:
            continue
        for j in range(len(across)):
            to_across = pin_across - across[j]
            if not allowed[i, j]:
                continue
            if max(abs(to_along), abs(to_across)) < inner:
                continue
            distance = math.sqrt(to_along * to_along + to_across * to_across)
            if ca * to_along + sa * to_across < cos_angle * distance:
                continue
            end_across = across[j] + move_across
            if end_across < box[2] or end_across > box[3]:
                continue
            left = math.sqrt(left_along**2 + (to_across - move_across) ** 2)
            if left > distance + slack:
                continue
            if target_radius > 0.0 and left > max(target_radius, 0.3 * distance):
                continue
            r0 = min(r0, i)
            r1 = max(r1, i + 1)
            c0 = min(c0, j)
            c1 = max(c1, j + 1)
    return r0, r1, c0, c1


def set_windows(
    actions: Actions,
    swings: Sequence[Swing],
    target: Lattice,
    landing: Lattice,
    bearings: Float64,
    pin: tuple[float, float],
    *,
    allowed: NDArray[np.bool_],
    punch_allowed: NDArray[np.bool_],
    inner: float,
    target_radius: float,
    lie_box: NDArray[np.intp],
    near_pin: bool,
) -> None:
    """Fill ``actions.window`` with the box of places from which each swing makes sense.

    With ``near_pin`` full swings, too, must end as near the pin as partial ones. Otherwise a
    full swing is tried within 45 degrees of the pin where it brings the ball nearer; a
    partial swing where it ends within ``target_radius`` [m] of the pin (or 0.3 of the
    distance); a punch-out anywhere but backwards. Places within ``inner`` [m] of the pin (on
    both axes) are left out but for punch-outs, and those outside the box of rows and columns in
    which a lie occurs, ``lie_box`` of shape ``(lies, 4)``.
    """
    box = np.array(
        [
            landing.start[0],
            landing.start[0] + landing.cell * landing.shape[0],
            landing.start[1],
            landing.start[1] + landing.cell * landing.shape[1],
        ]
    )
    lies = actions.weight[:, :, 0] > 0
    first = np.argmax(lies, axis=1)
    stock = actions.mean[np.arange(len(swings)), :, first, 0]
    move = np.broadcast_to(stock, (len(swings), len(bearings), 2)).copy()
    punch = np.array([swing.style is SwingStyle.PUNCH for swing in swings])
    partial = np.array([swing.style is SwingStyle.PARTIAL for swing in swings])
    _windows(
        actions.window,
        lies,
        move,
        punch,
        partial,
        target.along,
        target.across,
        np.asarray(pin, dtype=float),
        bearings,
        target_radius,
        inner,
        box,
        allowed,
        punch_allowed,
        np.asarray(lie_box, dtype=np.int64),
        near_pin,
    )


@njit(cache=True, nogil=True)
def _windows(  # type: ignore[no-untyped-def]
    window,
    lies,
    move,
    punch,
    partial,
    along,
    across,
    pin,
    bearings,
    target_radius,
    inner,
    box,
    allowed,
    punch_allowed,
    lie_box,
    near_pin,
):
    for s in range(window.shape[0]):
        for b in range(len(bearings)):
            if punch[s]:
                found = _window(
                    along,
                    across,
                    pin[0],
                    pin[1],
                    move[s, b, 0],
                    move[s, b, 1],
                    bearings[b],
                    _PUNCH_ANGLE,
                    1e9,
                    0.0,
                    -1.0,
                    box,
                    punch_allowed,
                )
            else:
                found = _window(
                    along,
                    across,
                    pin[0],
                    pin[1],
                    move[s, b, 0],
                    move[s, b, 1],
                    bearings[b],
                    _FULL_ANGLE,
                    0.0,
                    target_radius if partial[s] or near_pin else 0.0,
                    inner,
                    box,
                    allowed,
                )
            for lie in range(lies.shape[1]):
                if lies[s, lie]:
                    window[s, lie, b, 0] = max(found[0], lie_box[lie, 0])
                    window[s, lie, b, 1] = min(found[1], lie_box[lie, 1])
                    window[s, lie, b, 2] = max(found[2], lie_box[lie, 2])
                    window[s, lie, b, 3] = min(found[3], lie_box[lie, 3])


@njit(cache=True, nogil=True)
def _blocked_of(  # type: ignore[no-untyped-def]
    windows,
    wanted,
    columns,
    b,
    flight,
    weights,
    scale,
    block,
    g,
    crossed,
    cell_out,
    chance_out,
    place_out,
):
    half = len(weights) // 2
    m = len(block.bearings)
    steps = len(block.distances)
    step = block.distances[0]
    at = min(max(flight / step, 1.0), float(steps))
    low = int(at) - 1
    high = min(low + 1, steps - 1)
    part = at - int(at)
    farthest = block.distances[high]
    cosines = np.empty(len(weights))
    sines = np.empty(len(weights))
    for k in range(len(weights)):
        bearing = block.bearings[(b + k - half) % m]
        cosines[k] = math.cos(bearing)
        sines[k] = math.sin(bearing)
    found = 0
    r0, r1, c0, c1 = 1 << 30, 0, 1 << 30, 0
    for lie in range(windows.shape[0]):
        w = windows[lie]
        if w[0] < w[1] and w[2] < w[3]:
            r0 = min(r0, w[0])
            r1 = max(r1, w[1])
            c0 = min(c0, w[2])
            c1 = max(c1, w[3])
    for i in range(r0, r1):
        for j in range(c0, c1):
            cell = i * columns + j
            if block.clear[cell] > flight or not wanted[cell]:
                continue
            chance = 0.0
            nearest = 1000
            from_bearing = -1
            turned = 0
            own = 0.0
            for k in range(-half, half + 1):
                n = (b + k) % m
                if block.entry[cell, n] == UNKNOWN:
                    find_stops(block, n, cell, crossed, g)
                entry = block.entry[cell, n]
                if entry < 0.0 or entry >= farthest:
                    continue
                stop = (1.0 - part) * block.stop[cell, n, low] + part * block.stop[cell, n, high]
                chance += scale * weights[k + half] * stop
                if abs(k) < nearest and stop > 0.0:
                    nearest = abs(k)
                    from_bearing = n
                    turned = k + half
                    own = stop
            if chance > 1e-4:
                cell_out[found] = cell
                chance_out[found] = chance
                place_out[found] = resting_place(
                    block, from_bearing, cell, own, cosines[turned], sines[turned], g
                )
                found += 1
    return found


def blocked_starts(
    actions: Actions,
    swings: Sequence[Swing],
    block: StartBlock,
    geometry: RayGeometry,
    target: Lattice,
    bearings: Float64,
    kind: type[np.floating],
    *,
    wanted: NDArray[np.bool_] | None = None,
) -> Blocked:
    """Chance that a wood stops each swing near its start, from every place of its window.

    ``block`` is of evenly spaced bearings, among which every one of ``bearings`` must be.
    ``wanted`` are the places that are asked for, shape of ``target``; all of them if it is None.
    """
    m = len(bearings)
    fan = block.bearings
    centres = [int(np.argmin(np.abs(fan - bearing))) for bearing in bearings]
    start = np.zeros(len(swings) * m + 1, np.int64)
    if not block.any_wood:
        return _joined(start, [], kind)
    cells = target.shape[0] * target.shape[1]
    asked = np.ones(cells, dtype=bool) if wanted is None else wanted.ravel()
    cell = np.empty(cells, np.int32)
    chance = np.empty(cells, kind)
    place = np.empty(cells, np.int32)
    crossed = np.empty(len(block.distances))
    parts: list[tuple[NDArray[np.generic], ...]] = []
    step = float(fan[1] - fan[0])
    window = actions.window
    open_ = (window[..., 0] < window[..., 1]) & (window[..., 2] < window[..., 3])
    held = np.any(open_, axis=1, keepdims=False)
    for i, swing in enumerate(swings):
        flight = min(swing.climb_m, swing.carry_m, float(block.distances[-1]))
        scale = min(flight / float(block.distances[0]), 1.0)
        weights = direction_weights(swing.start_sd, step)
        for b in range(m):
            found = 0
            if held[i][b]:
                found = _blocked_of(
                    window[i, :, b],
                    asked,
                    target.shape[1],
                    centres[b],
                    flight,
                    weights,
                    scale,
                    block,
                    geometry,
                    crossed,
                    cell,
                    chance,
                    place,
                )
            start[i * m + b + 1] = start[i * m + b] + found
            if found:
                parts.append((cell[:found].copy(), chance[:found].copy(), place[:found].copy()))
    return _joined(start, parts, kind)


def _joined(
    start: NDArray[np.int64],
    parts: list[tuple[NDArray[np.generic], ...]],
    kind: type[np.floating],
) -> Blocked:
    empty = (np.empty(0, np.int32), np.empty(0, kind), np.empty(0, np.int32))
    cell, chance, place = (np.concatenate(column) for column in zip(empty, *parts, strict=True))
    blank = np.zeros(len(cell), kind)
    return Blocked(start, cell, chance, place, blank, blank.copy())
