"""What a solve needs of a hole and not of a golfer: lattices, tables, relief, green values.

Built once for a hole, it serves every bag, wind and objective.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Hole, Tee
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import ShotModel, Swing, SwingStyle
from planner.strategy.bearing_tables import BearingTables
from planner.strategy.grid import GridOptions, HoleGrid, Lattice, build_grid
from planner.strategy.relief_values import (
    PLAYED_LIES,
    DropPoints,
    EdgeRelief,
    edge_relief,
    unplayable_relief,
)
from planner.strategy.transition import TURF, RayGeometry, ray_geometry
from planner.strategy.tree_block import StartBlock, start_block
from planner.strategy.values import PointIndex, block_mean, index_points

RUN_STEP_M = 5.0
"""Tables provide for runs up to a multiple of this [m], so that bags can share them."""
LONGEST_SHADOW_M = 40.0
LONGEST_CLIMB_M, CLIMB_STEP_M = 120.0, 10.0
PATCH_CLIMB_M = 48.0


Runs = tuple[float, float, float, float]
"""Runs on each kind of turf [m], in the order of ``TURF``."""


@dataclass(frozen=True)
class TableOptions:
    """Steps and rules of the tables.

    Parameters
    ----------
    grid
        Lattice sizes.
    bearing_step, patch_bearing_step
        Spacing of bearings for long and short swings [rad].
    bearing_ratio, patch_bearing_ratio
        One in so many bearings has tables and averages of its own; those between read two.
    club_length
        Club-length of the Rules [m]: the longest club but the putter.
    local_rule_e5
        Whether Model Local Rule E-5 is in force.
    longest_runs, patch_longest_runs
        Longest run of any swing on each kind of turf (``TURF``), and of one solved on the
        patch [m]; see :func:`longest_runs`.
    longest_climb
        Longest way that a ball flies low enough for woods to stop it [m]; see
        :func:`longest_climb`.
    threads
        Threads used.
    """

    grid: GridOptions = field(default_factory=GridOptions)
    bearing_step: float = math.radians(4.0)
    patch_bearing_step: float = math.radians(6.0)
    bearing_ratio: int = 2
    patch_bearing_ratio: int = 3
    club_length: float = 1.143
    local_rule_e5: bool = False
    longest_runs: Runs = (60.0, 30.0, 20.0, 60.0)
    patch_longest_runs: Runs = (30.0, 15.0, 10.0, 30.0)
    longest_climb: float = 120.0
    threads: int = 2


@dataclass(frozen=True, eq=False)
class Unplayable:
    """Relief from trees or sand for states of one lattice: flat cells and their drops."""

    slot: int
    cell: NDArray[np.intp]
    drops: DropPoints
    index: PointIndex


@dataclass(frozen=True, eq=False)
class HoleTables:
    """Tables of one hole; see the module docstring."""

    hole: Hole
    options: TableOptions
    grid: HoleGrid
    edges: EdgeRelief
    edge_index: PointIndex
    base_rays: RayGeometry
    patch_rays: RayGeometry
    base: BearingTables
    patch: BearingTables
    base_relief: NDArray[np.float64]
    patch_relief: NDArray[np.float64]
    state_block: StartBlock
    patch_block: StartBlock
    state_unplayable: tuple[Unplayable, ...]
    patch_unplayable: tuple[Unplayable, ...]
    green_base: NDArray[np.float64]
    green_patch: NDArray[np.float64]
    present: tuple[Lie, ...]

    @property
    def pin(self) -> tuple[float, float]:
        """Place of the pin [m]."""
        return self.hole.pin_hole


def longest_runs(model: ShotModel, *, patch_carry: float) -> tuple[Runs, Runs]:
    """Longest runs of a model's swings, and of partial ones up to ``patch_carry`` [m].

    Both by kind of turf (``TURF``) and rounded up to whole steps of ``RUN_STEP_M``.
    """

    def up(swings: list[Swing], lie: Lie) -> float:
        longest = max([0.0] + [swing.longest_run_on(lie) for swing in swings])
        return RUN_STEP_M * max(1, math.ceil(longest / RUN_STEP_M))

    short = [
        swing
        for swing in model.swings
        if swing.style is SwingStyle.PARTIAL and swing.carry_m <= patch_carry
    ]
    fairway, rough, deep_rough, green = (
        (up(list(model.swings), ground.lie), up(short, ground.lie)) for ground in TURF
    )
    every, near = zip(fairway, rough, deep_rough, green, strict=True)
    return every, near


def longest_climb(model: ShotModel) -> float:
    """Longest way of a model's swings that woods may stop [m], in steps of ``CLIMB_STEP_M``."""
    longest = max(min(swing.climb_m, swing.carry_m) for swing in model.swings)
    return min(CLIMB_STEP_M * math.ceil(longest / CLIMB_STEP_M), LONGEST_CLIMB_M)


def circle(step: float, ratio: int = 1) -> NDArray[np.float64]:
    """Bearings [rad] all round, about ``step`` apart, symmetrical about the line of the hole.

    Their number is a multiple of ``ratio``.
    """
    count = ratio * round(2 * math.pi / (step * ratio))
    return np.asarray(-math.pi + 2 * math.pi / count * np.arange(count))


def build_tables(
    hole: Hole, options: TableOptions | None = None, *, finer: HoleTables | None = None
) -> HoleTables:
    """Build all tables of a hole; those of finer lattices, if any, save work."""
    opts = options or TableOptions()
    grid = build_grid(hole, opts.grid)
    if finer is None:
        edges = edge_relief(
            hole, grid, club_length=opts.club_length, local_rule_e5=opts.local_rule_e5
        )
    else:
        edges = finer.edges.on(grid)
    count = len(edges.edges_hole)
    base_rays = ray_geometry(grid.raster, grid.base, edges.edge_of_label, count)
    patch_rays = ray_geometry(grid.patch_raster, grid.base, edges.edge_of_patch_label, count)
    bearings = circle(opts.bearing_step, opts.bearing_ratio)
    patch_bearings = circle(opts.patch_bearing_step, opts.patch_bearing_ratio)
    base_relief = _relief_share(grid.base, edges.edge_of_label)
    patch_relief = _relief_share(grid.patch, edges.edge_of_patch_label)
    # Where both lattices lie, both must see the same shares, or mass would be lost.
    rows, columns = grid.patch_window
    base_relief[rows, columns] = block_mean(patch_relief, grid.patch_ratio)
    base = BearingTables(
        grid.base,
        grid.coverage,
        base_relief,
        base_rays,
        bearings,
        ratio=opts.bearing_ratio,
        reach=opts.longest_runs,
        shadow_reach=LONGEST_SHADOW_M,
    )
    patch = BearingTables(
        grid.patch,
        grid.patch_coverage,
        patch_relief,
        patch_rays,
        patch_bearings,
        ratio=opts.patch_bearing_ratio,
        reach=opts.patch_longest_runs,
        shadow_reach=LONGEST_SHADOW_M,
    )
    ours = [lie for lie in PLAYED_LIES if lie is Lie.ROUGH or _occurs(grid, lie)]
    pin = hole.pin_hole
    return HoleTables(
        hole=hole,
        options=opts,
        grid=grid,
        edges=edges,
        edge_index=index_points(grid, pin, edges.drops.points_hole, edges.drops.slot),
        base_rays=base_rays,
        patch_rays=patch_rays,
        base=base,
        patch=patch,
        base_relief=base_relief,
        patch_relief=patch_relief,
        state_block=start_block(grid.state, base_rays, bearings, reach=opts.longest_climb),
        patch_block=start_block(
            grid.patch, patch_rays, patch_bearings, reach=min(PATCH_CLIMB_M, opts.longest_climb)
        ),
        state_unplayable=_unplayable(
            hole, grid, grid.state, grid.coverage, grid.options.state_ratio, opts
        ),
        patch_unplayable=_unplayable(hole, grid, grid.patch, grid.patch_coverage, 1, opts),
        green_base=_pin_distance(grid.base, pin, 1),
        green_patch=_pin_distance(grid.patch, pin, 3),
        present=tuple(ours),
    )


def tee_lattice(tee: Tee) -> Lattice:
    """A lattice of one cell whose centre is the tee."""
    along, across = tee.position_hole
    return Lattice((along - 0.5, across - 0.5), 1.0, (1, 1))


def _occurs(grid: HoleGrid, lie: Lie) -> bool:
    grounds = [
        ground
        for ground in Ground
        if ground.lie is lie and not ground.is_penalty_area and ground is not Ground.OUT
    ]
    return bool(
        (grid.coverage[grounds].sum(axis=0) > 0).any()
        or (grid.patch_coverage[grounds].sum(axis=0) > 0).any()
    )


def _relief_share(lattice: Lattice, edge_of_label: NDArray[np.int32]) -> NDArray[np.float64]:
    n = edge_of_label.shape[0] // lattice.shape[0]
    blocks = (edge_of_label >= 0).reshape(lattice.shape[0], n, lattice.shape[1], n)
    return np.asarray(blocks.mean(axis=(1, 3)))


def _pin_distance(lattice: Lattice, pin: tuple[float, float], parts: int) -> NDArray[np.float64]:
    """Distance to the pin [m] of ``parts`` x ``parts`` points of each cell, last axis."""
    offset = (np.arange(parts) + 0.5) / parts - 0.5
    centres = lattice.centres() - np.asarray(pin)
    da, dc = np.meshgrid(offset, offset, indexing="ij")
    along = centres[..., 0, None] + lattice.cell * da.ravel()
    across = centres[..., 1, None] + lattice.cell * dc.ravel()
    return np.asarray(np.hypot(along, across))


def _unplayable(
    hole: Hole,
    grid: HoleGrid,
    lattice: Lattice,
    coverage: NDArray[np.float64],
    ratio: int,
    options: TableOptions,
) -> tuple[Unplayable, ...]:
    found = []
    for lie, ground in ((Lie.TREES, Ground.TREES), (Lie.SAND, Ground.SAND)):
        share = coverage[ground]
        share = share.reshape(share.shape[0] // ratio, ratio, share.shape[1] // ratio, ratio).max(
            axis=(1, 3)
        )
        rows, columns = np.nonzero(share > 0)
        if rows.size == 0:
            continue
        points = lattice.centres()[rows, columns]
        drops, index = unplayable_relief(hole, grid, points, lie, club_length=options.club_length)
        found.append(
            Unplayable(
                PLAYED_LIES.index(lie),
                (rows * lattice.shape[1] + columns)[index],
                drops,
                index_points(grid, hole.pin_hole, drops.points_hole, drops.slot),
            )
        )
    return tuple(found)
