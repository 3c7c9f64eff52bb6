"""One of the two lattices of a solve with everything a sweep over it needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import binary_dilation

from planner.course.hole import Hole
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import ShotModel
from planner.strategy.actions import (
    action_arrays,
    blocked_starts,
    long_swings,
    set_windows,
    short_swings,
)
from planner.strategy.grid import HoleGrid, Lattice
from planner.strategy.hole_tables import HoleTables
from planner.strategy.reach import landed_rows
from planner.strategy.relief_values import PLAYED_LIES
from planner.strategy.solution import SolveOptions
from planner.strategy.sweep_types import Actions, Blocked, Geometry, InPlay
from planner.strategy.transition import LandingTables
from planner.strategy.values import FieldBuilder, block_mean

SHORT_LONGEST_M = 42.0
"""Longest carry of a partial swing solved on the patch [m]."""
LONG_SHORTEST_M = 28.0
"""Shortest carry of a partial swing solved on the state lattice [m]; the overlap is meant."""
PATCH_TARGET_M = 15.0
"""Radius round the pin at which short swings are aimed [m]."""
PARTIAL_TARGET_M = 25.0
"""The same for partial swings on the state lattice [m]."""
MATTERS_M = 55.0
"""Distance from the line of play within which values are refined [m].

Farther out, where few balls end, those of the exploring lattices are kept."""
HANDED_ON_BORDER = 0.5
"""Coarse cells by which windows grow when they are handed to a finer lattice."""
BORDER_CELLS = 2
"""Cells beyond those in which a lie occurs whose values interpolation may need."""
BASE_LEVELS, PATCH_LEVELS = 3, 2
"""Copies of a landing lattice on which components are averaged, each twice as coarse."""


@dataclass(eq=False)
class Side:
    """One of the two lattices with everything a sweep over it needs.

    ``near`` is what the last noting sweep found (see :func:`planner.strategy.sweep.sweep`),
    ``occurs`` where each lie occurs, ``matters`` where values are refined, ``followed`` the
    places whose values sweeps still improve: elsewhere near-best actions may be missing. The
    first sweep finds the chances to stay in play, ``in_play_known`` from then on.
    """

    name: str
    swings: list[int]
    actions: Actions
    tables: LandingTables
    geometry: Geometry
    blocked: Blocked
    in_play: InPlay
    target: Lattice
    near: NDArray[np.int32]
    occurs: NDArray[np.bool_]
    matters: NDArray[np.bool_]
    followed: NDArray[np.bool_]
    in_play_known: bool = False

    @property
    def is_state(self) -> bool:
        """Whether this is the state lattice rather than the patch."""
        return self.name == "state"

    def wanted(self) -> NDArray[np.bool_]:
        """Places that matter and where a lie occurs, or near enough for interpolation."""
        return _wanted(self.occurs, self.matters)


def geometry_of(
    hole: Hole,
    landing: Lattice,
    target: Lattice,
    layout: tuple[int, int],
    *,
    level_ratio: float,
    levels: int,
) -> Geometry:
    """Bundle two lattices for the sweep."""
    # Heights against the green's: where most balls land, the rows of a warped field are then those
    # of the ground, and none lies beyond the end of a small lattice.
    datum = float(hole.elevation(hole.pin_hole[0]))
    landing_height = hole.elevation(landing.along) - datum
    target_height = hole.elevation(target.along) - datum
    return Geometry(
        landing.start[0],
        landing.start[1],
        landing.cell,
        landing.shape[0],
        landing.shape[1],
        layout[0],
        layout[1],
        target.start[0],
        target.start[1],
        target.cell,
        target.shape[0],
        target.shape[1],
        bool(hole.elevation.is_level),
        landing_height,
        target_height,
        level_ratio,
        levels,
    )


def empty_in_play(actions: Actions, kind: type[np.floating]) -> InPlay:
    """Storage for the chances to stay in play over every window."""
    window = actions.window.astype(np.int64)
    sizes = np.maximum(window[..., 1] - window[..., 0], 0) * np.maximum(
        window[..., 3] - window[..., 2], 0
    )
    ends = np.cumsum(sizes.ravel())
    offset = (ends - sizes.ravel()).reshape(sizes.shape)
    return InPlay(
        window.astype(np.int32), offset, np.ones(int(ends[-1]) if ends.size else 0, dtype=kind)
    )


def build_side(
    name: str,
    tables: HoleTables,
    model: ShotModel,
    options: SolveOptions,
    builder: FieldBuilder,
    threads: int,
    *,
    start: Side | None = None,
) -> Side:
    """Build the ``"state"`` or the ``"patch"`` side of a solve.

    It is open to the actions near-best on the coarser side ``start``, or to every sensible one.
    """
    coarse = name == "state"
    grid = tables.grid
    kind = builder.kind
    if coarse:
        swings = long_swings(model, shortest=LONG_SHORTEST_M)
        landing, target, held, block = grid.base, grid.state, tables.base, tables.state_block
        rays, levels, target_radius = tables.base_rays, BASE_LEVELS, PARTIAL_TARGET_M
        layout = builder.base_layout()
    else:
        swings = short_swings(model, longest=SHORT_LONGEST_M)
        landing, target, held, block = grid.patch, grid.patch, tables.patch, tables.patch_block
        rays, levels, target_radius = tables.patch_rays, PATCH_LEVELS, PATCH_TARGET_M
        layout = builder.patch_layout()
    hole = tables.hole
    chosen = [model.swings[i] for i in swings]
    actions = action_arrays(
        chosen, hole, held.tried, wind_from=model.wind_from, present=tables.present
    )
    if start is not None:
        _near_windows(actions, target, start)
    else:
        set_windows(
            actions,
            chosen,
            target,
            landing,
            held.tried,
            tables.pin,
            allowed=np.ones(target.shape, dtype=bool),
            punch_allowed=_near_trees(tables.grid, target),
            inner=tables.grid.options.inner_half_width - 2 * target.cell if coarse else -1.0,
            target_radius=target_radius,
            lie_box=_lie_boxes(tables.grid, coarse),
            near_pin=not coarse,
        )
    occurs = _occurs(tables.grid, coarse)
    matters = _matters(tables.hole, target, everywhere=grid.options.state_ratio > 1)
    followed = np.ones((len(PLAYED_LIES), *target.shape), dtype=bool)
    if start is not None:
        followed = _wanted(occurs, matters)
    blocked = blocked_starts(
        actions,
        chosen,
        block,
        rays,
        target,
        held.tried,
        kind,
        wanted=np.asarray(followed.any(axis=0)),
    )
    geometry = geometry_of(
        hole, landing, target, layout, level_ratio=options.level_ratio, levels=levels
    )
    landings = held.of_rows(landed_rows(actions, geometry, held.bearings), threads=threads)
    in_play = empty_in_play(actions, kind)
    return Side(
        name,
        swings,
        actions,
        landings,
        geometry,
        blocked,
        in_play,
        target,
        np.zeros_like(actions.window),
        occurs,
        matters,
        followed,
    )


def _wanted(occurs: NDArray[np.bool_], matters: NDArray[np.bool_]) -> NDArray[np.bool_]:
    near = binary_dilation(
        occurs, structure=np.ones((1, 3, 3), dtype=bool), iterations=BORDER_CELLS
    )
    return np.asarray(matters & near)


def _near_windows(actions: Actions, fine: Lattice, other: Side) -> None:
    """Open the windows of actions where they are near-best on a coarser side, somewhat wider."""
    window = actions.window
    coarse, known = other.target, other.actions.bearings
    step = known[1] - known[0]
    allowed = actions.weight[:, :, 0] > 0
    for b, bearing in enumerate(actions.bearings):
        turned = np.abs(np.mod(known - bearing + np.pi, 2 * np.pi) - np.pi)
        close = other.near[:, :, turned < 1.01 * step]
        empty = (close[..., 0] >= close[..., 1]) | (close[..., 2] >= close[..., 3])
        for axis, size in ((0, fine.shape[0]), (1, fine.shape[1])):
            low = np.where(empty, 1 << 20, close[..., 2 * axis]).min(axis=-1)
            high = np.where(empty, -(1 << 20), close[..., 2 * axis + 1]).max(axis=-1)
            first = coarse.start[axis] + coarse.cell * (low - HANDED_ON_BORDER) - fine.start[axis]
            last = coarse.start[axis] + coarse.cell * (high + HANDED_ON_BORDER) - fine.start[axis]
            start = np.clip(np.floor(first / fine.cell + 0.5), 0, size).astype(np.int32)
            stop = np.clip(np.floor(last / fine.cell + 0.5), 0, size).astype(np.int32)
            window[:, :, b, 2 * axis] = np.where(allowed, start, 0)
            window[:, :, b, 2 * axis + 1] = np.where(allowed, stop, 0)


def deal(actions: Actions, threads: int) -> list[NDArray[np.int64]]:
    """Deal swings to threads so that each gets about the same work."""
    window = actions.window.astype(np.int64)
    open_rows = np.maximum(window[..., 1] - window[..., 0], 0)
    work = (open_rows + 20) * (open_rows > 0)
    cost = work.sum(axis=(1, 2)) + 30 * (open_rows > 0).any(axis=1).sum(axis=1)
    hands: list[list[int]] = [[] for _ in range(threads)]
    loads = [0] * threads
    for swing in np.argsort(-cost, kind="stable"):
        if cost[swing] == 0:
            continue
        lightest = loads.index(min(loads))
        hands[lightest].append(int(swing))
        loads[lightest] += int(cost[swing])
    return [np.array(hand, dtype=np.int64) for hand in hands]


def _lie_boxes(grid: HoleGrid, coarse: bool) -> NDArray[np.intp]:
    """Rows and columns of the target lattice in which each lie occurs, with a border."""
    coverage = grid.coverage if coarse else grid.patch_coverage
    ratio = grid.options.state_ratio if coarse else 1
    boxes = np.zeros((len(PLAYED_LIES), 4), dtype=np.intp)
    for slot, lie in enumerate(PLAYED_LIES):
        grounds = [g for g in Ground if g.lie is lie]
        rows, columns = np.nonzero(coverage[grounds].sum(axis=0) > 0)
        if lie is Lie.ROUGH:
            boxes[slot] = (0, coverage.shape[1] // ratio, 0, coverage.shape[2] // ratio)
        elif rows.size:
            border = 2 if coarse else 6
            boxes[slot] = (
                rows.min() // ratio - border,
                rows.max() // ratio + 1 + border,
                columns.min() // ratio - border,
                columns.max() // ratio + 1 + border,
            )
    return boxes


def _occurs(grid: HoleGrid, coarse: bool) -> NDArray[np.bool_]:
    """Whether each lie occurs in or beside each target cell, ``(lies, rows, columns)``."""
    coverage = grid.coverage if coarse else grid.patch_coverage
    found = np.array(
        [
            coverage[[g for g in Ground if g.lie is lie and g is not Ground.OUT]].sum(axis=0)
            for lie in PLAYED_LIES
        ]
    )
    if coarse:
        found = block_mean(found, grid.options.state_ratio)
    return np.asarray(found > 0)


def _matters(hole: Hole, target: Lattice, *, everywhere: bool) -> NDArray[np.bool_]:
    """Places near enough to the line of play to be solved on fine lattices."""
    if everywhere:
        return np.ones(target.shape, dtype=bool)
    line = hole.line_hole
    tees = [shapely.Point(tee.position_hole) for tee in hole.tees]
    near = shapely.union_all([line, *tees]).buffer(MATTERS_M)
    shapely.prepare(near)
    centres = target.centres()
    return np.asarray(shapely.contains_xy(near, centres[..., 0], centres[..., 1]))


def _near_trees(grid: HoleGrid, target: Lattice) -> NDArray[np.bool_]:
    rows, columns = grid.raster.lattice.index(target.centres())
    distance = grid.raster.tree_distance
    near: NDArray[np.bool_] = (
        distance[
            np.clip(rows, 0, distance.shape[0] - 1),
            np.clip(columns, 0, distance.shape[1] - 1),
        ]
        <= 1.5 * target.cell
    )
    return near
