"""Value and policy of one hole.

The hole is an undiscounted stochastic shortest path::

    V(x) = min over a of  1 + E[ penalty(Z) + V(next(x, a, Z)) ],   V(holed) = 0

solved by repeated improvement sweeps (:mod:`planner.strategy.sweep`) on two lattices in turn:
short swings on the patch round the pin, all others on the state lattice. A solve starts on
cells twice as large, whose values it interpolates. Sweeps stop when two in a row differ by
less than ``tolerance`` everywhere a ball is likely to be; the largest difference of the last
full sweep is the ``residual``. With every policy that ends the hole in ``n`` expected strokes
the value is then within about ``n * residual`` of the fixed point.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import binary_dilation

from planner.course.hole import Hole
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import ASSUMED_CANOPY_STOP_SHARE, ShotModel
from planner.strategy.actions import (
    action_arrays,
    blocked_starts,
    long_swings,
    set_windows,
    short_swings,
)
from planner.strategy.grid import Lattice
from planner.strategy.hole_tables import HoleTables, Unplayable
from planner.strategy.relief_values import PLAYED_LIES
from planner.strategy.solution import UNPLAYABLE, Cancelled, Policy, SolveOptions
from planner.strategy.sweep import (
    NO_SWING,
    Actions,
    Blocked,
    Geometry,
    InPlay,
    LandingFields,
    sweep,
)
from planner.strategy.transition import LandingTables
from planner.strategy.tree_block import StartBlock
from planner.strategy.values import (
    FieldBuilder,
    Values,
    block_mean,
    edge_costs,
    point_values,
)

SHORT_LONGEST_M = 42.0
"""Longest carry of a partial swing solved on the patch [m]."""
LONG_SHORTEST_M = 28.0
"""Shortest carry of a partial swing solved on the state lattice [m]; the overlap is meant."""
PATCH_TARGET_M = 15.0
"""Radius round the pin at which short swings are aimed [m]."""
PARTIAL_TARGET_M = 25.0
"""The same for partial swings on the state lattice [m]."""
MATTERS_M = 50.0
"""Distance from the line of play within which values are refined [m].

Farther out, where few balls end, those of the exploring lattices are kept."""
EXPLORE_GAP = 0.25
KEEP_GAP = 0.08
NARROW_GAP = 0.03
SETTLED = 0.3
FIRST_PATCH_SWEEPS = 2
BORDER_CELLS = 2
"""Cells beyond those in which a lie occurs whose values interpolation may need."""
EXPLORE_SWEEPS = 12
EXPLORE_TOLERANCE = 0.01


@dataclass(eq=False)
class _Side:
    """One of the two lattices with everything a sweep over it needs."""

    name: str
    swings: list[int]
    actions: Actions
    tables: LandingTables
    geometry: Geometry
    blocked: Blocked
    in_play: InPlay
    target: Lattice
    shares: list[NDArray[np.int64]]
    near: NDArray[np.int32]
    occurs: NDArray[np.bool_]
    matters: NDArray[np.bool_]

    @property
    def is_state(self) -> bool:
        """Whether this is the state lattice rather than the patch."""
        return self.name == "state"


def _check(cancelled: threading.Event | None) -> None:
    if cancelled is not None and cancelled.is_set():
        raise Cancelled


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
    datum = float(hole.elevation(0.0))
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
    return InPlay(window.astype(np.int32), offset, np.ones(int(ends[-1]) if ends.size else 0, dtype=kind))


def _narrow(side: _Side, other: _Side) -> NDArray[np.bool_]:
    """Cut the windows of a side to those near-best on a coarser one, one coarse cell wider.

    Returns which actions were certain to stay in play there, shape of ``in_play.offset``.
    """
    certain = np.zeros(side.in_play.offset.shape, dtype=bool)
    fine, coarse = side.target, other.target
    bearings, known = side.tables.bearings, other.tables.bearings
    step = known[1] - known[0]
    window = side.actions.window
    for b, bearing in enumerate(bearings):
        turned = np.abs(np.mod(known - bearing + np.pi, 2 * np.pi) - np.pi)
        close = other.near[:, :, turned < 1.01 * step]
        certain[:, :, b] = (other.in_play.offset[:, :, turned < 1.01 * step] < 0).all(axis=-1)
        empty = (close[..., 0] >= close[..., 1]) | (close[..., 2] >= close[..., 3])
        for axis, size in ((0, fine.shape[0]), (1, fine.shape[1])):
            low = np.where(empty, 1 << 20, close[..., 2 * axis]).min(axis=-1)
            high = np.where(empty, -(1 << 20), close[..., 2 * axis + 1]).max(axis=-1)
            first = coarse.start[axis] + coarse.cell * (low - 1) - fine.start[axis]
            last = coarse.start[axis] + coarse.cell * (high + 1) - fine.start[axis]
            start = np.clip(np.floor(first / fine.cell + 0.5), 0, size).astype(np.int32)
            stop = np.clip(np.floor(last / fine.cell + 0.5), 0, size).astype(np.int32)
            window[:, :, b, 2 * axis] = np.maximum(window[:, :, b, 2 * axis], start)
            window[:, :, b, 2 * axis + 1] = np.minimum(window[:, :, b, 2 * axis + 1], stop)
    return certain


class HoleSolver:
    """Solves one hole for one shot model; keeps what later solves of the pair can share.

    Parameters
    ----------
    tables
        Tables of the hole.
    model
        Swings, putting and wind of the golfer.
    options
        ``options.tables`` must be those the tables were built with.
    """

    def __init__(
        self,
        tables: HoleTables,
        model: ShotModel,
        options: SolveOptions | None = None,
        *,
        start: HoleSolver | None = None,
    ) -> None:
        self.tables = tables
        self.model = model
        self.options = options or SolveOptions(tables=tables.options)
        self.kind: type[np.floating] = (
            np.float64 if self.options.double_precision else np.float32
        )
        grid = tables.grid
        reach = max(
            [0.0] + [run for swing in model.swings for run in swing.run_m.values()]
        )
        self.builder = FieldBuilder(
            grid,
            tables.pin,
            tables.base_relief,
            tables.patch_relief,
            reach=reach,
            kind=self.kind,
        )
        self.threads = max(1, tables.options.threads)
        self.policies: dict[str, Policy] = {}
        self._base = self._side(
            "state", long_swings(model, shortest=LONG_SHORTEST_M), grid.base, grid.state,
            tables.base, tables.state_block, self.builder.base_layout(), 3, PARTIAL_TARGET_M,
            start._base if start else None,
        )
        self._patch = self._side(
            "patch", short_swings(model, longest=SHORT_LONGEST_M), grid.patch, grid.patch,
            tables.patch, tables.patch_block, self.builder.patch_layout(), 2, PATCH_TARGET_M,
            start._patch if start else None,
        )

    # -- building ---------------------------------------------------------------------------

    def _side(
        self,
        name: str,
        swings: list[int],
        landing: Lattice,
        target: Lattice,
        tables: LandingTables,
        block: StartBlock,
        layout: tuple[int, int],
        levels: int,
        target_radius: float,
        start: _Side | None,
    ) -> _Side:
        hole = self.tables.hole
        chosen = [self.model.swings[i] for i in swings]
        actions = action_arrays(
            chosen, hole, tables.bearings, wind_from=self.model.wind_from,
            present=self.tables.present,
        )
        everywhere = np.ones(target.shape, dtype=bool)
        coarse = name == "state"
        inner = self.tables.grid.options.inner_half_width - 2 * target.cell if coarse else -1.0
        set_windows(
            actions, chosen, target, landing, tables.bearings, self.tables.pin,
            allowed=everywhere, punch_allowed=self._near_trees(target), inner=inner,
            target_radius=target_radius, lie_box=self._lie_boxes(coarse),
        )
        blocked = blocked_starts(actions, chosen, block, target, tables.bearings, self.kind)
        geometry = geometry_of(
            hole, landing, target, layout, level_ratio=self.options.level_ratio, levels=levels
        )
        side = _Side(
            name, swings, actions, tables, geometry, blocked,
            empty_in_play(actions, self.kind), target, self._shares(actions),
            np.zeros_like(actions.window), self._occurs(coarse),
            self._matters(target),
        )
        certain = None
        if start is not None:
            certain = _narrow(side, start)
            side.shares = self._shares(actions)
        self._find_in_play(side, certain)
        return side

    def _find_in_play(self, side: _Side, certain: NDArray[np.bool_] | None) -> None:
        side.in_play = empty_in_play(side.actions, self.kind)
        if certain is not None:
            side.in_play.offset[certain] = -1
        fields = self.in_play_fields()[0 if side.is_state else 1]
        self._run(side, fields, store=True, best=None)

    def _lie_boxes(self, coarse: bool) -> NDArray[np.intp]:
        """Rows and columns of the target lattice in which each lie occurs, with a border."""
        grid = self.tables.grid
        coverage = grid.coverage if coarse else grid.patch_coverage
        ratio = 2 if coarse else 1
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

    def _occurs(self, coarse: bool) -> NDArray[np.bool_]:
        """Whether each lie occurs in or beside each target cell, ``(lies, rows, columns)``."""
        grid = self.tables.grid
        coverage = grid.coverage if coarse else grid.patch_coverage
        found = np.array(
            [
                coverage[[g for g in Ground if g.lie is lie and g is not Ground.OUT]].sum(axis=0)
                for lie in PLAYED_LIES
            ]
        )
        if coarse:
            found = block_mean(found, 2)
        return np.asarray(found > 0)

    def _matters(self, target: Lattice) -> NDArray[np.bool_]:
        """Places near enough to the line of play to be solved on fine lattices."""
        line = self.tables.hole.line_hole
        tees = [shapely.Point(tee.position_hole) for tee in self.tables.hole.tees]
        near = shapely.union_all([line, *tees]).buffer(MATTERS_M)
        shapely.prepare(near)
        centres = target.centres()
        return np.asarray(shapely.contains_xy(near, centres[..., 0], centres[..., 1]))

    def _near_trees(self, target: Lattice) -> NDArray[np.bool_]:
        rows, columns = self.tables.grid.raster.lattice.index(target.centres())
        distance = self.tables.grid.raster.tree_distance
        near: NDArray[np.bool_] = (
            distance[
                np.clip(rows, 0, distance.shape[0] - 1),
                np.clip(columns, 0, distance.shape[1] - 1),
            ]
            <= 1.5 * target.cell
        )
        return near

    def _shares(self, actions: Actions) -> list[NDArray[np.int64]]:
        """Deal swings to threads so that each gets about the same work."""
        window = actions.window.astype(np.int64)
        open_rows = np.maximum(window[..., 1] - window[..., 0], 0)
        work = (open_rows + 20) * (open_rows > 0)
        cost = work.sum(axis=(1, 2)) + 30 * (open_rows > 0).any(axis=1).sum(axis=1)
        hands: list[list[int]] = [[] for _ in range(self.threads)]
        loads = [0] * self.threads
        for swing in np.argsort(-cost, kind="stable"):
            if cost[swing] == 0:
                continue
            lightest = loads.index(min(loads))
            hands[lightest].append(int(swing))
            loads[lightest] += int(cost[swing])
        return [np.array(hand, dtype=np.int64) for hand in hands]

    def in_play_fields(self) -> tuple[LandingFields, LandingFields]:
        grid = self.tables.grid
        ones = Values(
            np.ones((len(PLAYED_LIES), *grid.state.shape), self.kind),
            np.ones((len(PLAYED_LIES), *grid.patch.shape), self.kind),
            np.ones(grid.base.shape, self.kind),
            np.ones(grid.patch.shape, self.kind),
        )
        return self.builder.landing_fields([ones], [np.ones(len(self.tables.edges.edges_hole))])

    def green(self) -> Values:
        """Values with the green filled in and everything else at a first guess."""
        tables = self.tables
        grid = tables.grid
        base = self.model.expected_putts(tables.green_base).mean(axis=-1)
        patch = self.model.expected_putts(tables.green_patch).mean(axis=-1)
        carries = [swing.carry_m for swing in self.model.swings]
        longest = max(carries)
        slots = np.array([0.0, 0.2, 0.5, 0.3, 0.9])[:, None, None]

        def guess(lattice: Lattice) -> NDArray[np.floating]:
            offset = lattice.centres() - np.asarray(tables.pin)
            distance = np.hypot(offset[..., 0], offset[..., 1])
            return np.asarray(2.5 + 1.4 * distance / longest + slots, dtype=self.kind)

        return Values(
            guess(grid.state),
            guess(grid.patch),
            np.asarray(base, dtype=self.kind),
            np.asarray(patch, dtype=self.kind),
        )

    def zero(self) -> Values:
        grid = self.tables.grid
        return Values(
            np.zeros((len(PLAYED_LIES), *grid.state.shape), self.kind),
            np.zeros((len(PLAYED_LIES), *grid.patch.shape), self.kind),
            np.zeros(grid.base.shape, self.kind),
            np.zeros(grid.patch.shape, self.kind),
        )

    # -- sweeping ---------------------------------------------------------------------------

    def edge_values(
        self, values: list[Values]
    ) -> list[NDArray[np.float64]]:
        """Cost of the best relief at every edge sample, for each quantity."""
        tables = self.tables
        drops = tables.edges.drops
        green = self.model.expected_putts(tables.edge_index.pin_distance)
        base = self.builder.base_values(values[0])
        cost = point_values(tables.edge_index, base, values[0].patch, green)
        least, chosen = edge_costs(drops, cost, self.options.penalty_price)
        found = [least]
        for extra in values[1:]:
            at = point_values(
                tables.edge_index, self.builder.base_values(extra), extra.patch,
                np.zeros_like(green),
            )
            found.append((at + drops.strokes)[chosen])
        return found

    def _run(
        self,
        side: _Side,
        fields: LandingFields,
        *,
        store: bool,
        best: tuple[NDArray[np.floating], NDArray[np.int16], NDArray[np.float32]] | None,
        reference: NDArray[np.floating] | None = None,
        gap: float = -1.0,
    ) -> None:
        count = fields.rest.shape[0]
        lies = len(PLAYED_LIES)
        shape = side.target.shape
        if reference is None:
            reference = np.zeros((1, 1, 1), dtype=self.kind)

        def task(share: NDArray[np.int64]) -> tuple[NDArray[np.generic], ...]:
            value = np.full((count, lies, *shape), np.inf, dtype=self.kind)
            swing = np.full((lies, *shape), NO_SWING, dtype=np.int16)
            bearing = np.zeros((lies, *shape), dtype=np.float32)
            sweep(
                share, side.actions, side.tables, side.geometry, fields, side.in_play,
                side.blocked, ASSUMED_CANOPY_STOP_SHARE, self.options.penalty_price,
                self.options.refine, store, value, swing, bearing, reference, gap, side.near,
            )
            return value, swing, bearing

        shares = [share for share in side.shares if share.size]
        if len(shares) > 1:
            with ThreadPoolExecutor(len(shares)) as pool:
                results = list(pool.map(task, shares))
        else:
            results = [task(share) for share in shares]
        if best is None:
            return
        value, swing, bearing = best
        for other_value, other_swing, other_bearing in results:
            better = other_value[0] < value[0]
            for f in range(count):
                value[f][better] = other_value[f][better]
            swing[better] = other_swing[better]
            bearing[better] = other_bearing[better]

    def _improve(
        self, side: _Side, values: list[Values], gap: float
    ) -> tuple[NDArray[np.floating], NDArray[np.int16], NDArray[np.float32]]:
        fields = self.builder.landing_fields(values, self.edge_values(values))
        count = len(values)
        lies = len(PLAYED_LIES)
        shape = side.target.shape
        value = np.full((count, lies, *shape), np.inf, dtype=self.kind)
        swing = np.full((lies, *shape), NO_SWING, dtype=np.int16)
        bearing = np.zeros((lies, *shape), dtype=np.float32)
        best = (value, swing, bearing)
        known = values[0].state if side.is_state else values[0].patch
        if gap >= 0.0:
            wanted = side.matters & binary_dilation(
                side.occurs, structure=np.ones((1, 3, 3), dtype=bool), iterations=BORDER_CELLS
            )
            known = np.where(wanted, known, -np.inf).astype(self.kind)
        self._run(
            side, fields[0 if side.is_state else 1], store=False, best=best,
            reference=known, gap=gap,
        )
        rows = (
            self.tables.state_unplayable
            if side.is_state
            else self.tables.patch_unplayable
        )
        for unplayable in rows:
            if not side.is_state and PLAYED_LIES[unplayable.slot] is Lie.TREES:
                continue
            self._declare_unplayable(unplayable, values, best)
        index = np.array([*side.swings, NO_SWING], dtype=np.int16)
        swing[swing >= 0] = index[swing[swing >= 0]]
        return best

    def _declare_unplayable(
        self,
        unplayable: Unplayable,
        values: list[Values],
        best: tuple[NDArray[np.floating], NDArray[np.int16], NDArray[np.float32]],
    ) -> None:
        if len(unplayable.cell) == 0:
            return
        value, swing, _ = best
        drops = unplayable.drops
        green = self.model.expected_putts(unplayable.index.pin_distance)
        base = self.builder.base_values(values[0])
        cost = point_values(unplayable.index, base, values[0].patch, green)
        least, chosen = edge_costs(drops, cost, self.options.penalty_price)
        flat = value[0, unplayable.slot].reshape(-1)
        better = least < flat[unplayable.cell]
        cells = unplayable.cell[better]
        flat[cells] = least[better]
        swing[unplayable.slot].reshape(-1)[cells] = UNPLAYABLE
        for f, extra in enumerate(values[1:], start=1):
            at = point_values(
                unplayable.index, self.builder.base_values(extra), extra.patch,
                np.zeros_like(green),
            )
            value[f, unplayable.slot].reshape(-1)[cells] = (at + drops.strokes)[chosen][better]

    # -- solving ----------------------------------------------------------------------------

    def explore(self, values: list[Values], cancelled: threading.Event | None) -> None:
        """Solve roughly and note which actions come near the best where; for coarse lattices.

        After two full sweeps of a lattice only actions within ``EXPLORE_GAP`` strokes of the best
        are followed, at the end those within ``KEEP_GAP`` are noted for :class:`HoleSolver`
        on finer lattices to start from.
        """
        for _ in range(2):
            self._sweep(self._patch, values)
        self._sweep(self._patch, values, gap=EXPLORE_GAP)
        self._keep_near(self._patch)
        self._sweep(self._base, values)
        _check(cancelled)
        self._sweep(self._base, values)
        self._sweep(self._base, values, gap=EXPLORE_GAP)
        self._keep_near(self._base)
        for _ in range(EXPLORE_SWEEPS):
            _check(cancelled)
            self._sweep(self._patch, values)
            change = self._sweep(self._base, values)
            if change < EXPLORE_TOLERANCE:
                break
        self._sweep(self._patch, values, gap=KEEP_GAP)
        self._sweep(self._base, values, gap=KEEP_GAP)

    def _keep_near(self, side: _Side) -> None:
        """Narrow a side to the actions it has just noted as near-best."""
        window = side.actions.window
        near = side.near
        for axis in (0, 2):
            window[..., axis] = np.maximum(window[..., axis], near[..., axis] - 1)
            window[..., axis + 1] = np.minimum(window[..., axis + 1], near[..., axis + 1] + 1)
        empty = (near[..., 0] >= near[..., 1]) | (near[..., 2] >= near[..., 3])
        window[empty] = 0
        side.shares = self._shares(side.actions)

    def refine(
        self,
        values: list[Values],
        *,
        cancelled: threading.Event | None = None,
        report: Callable[[str], None] | None = None,
    ) -> tuple[bool, float, int]:
        """Sweep both lattices in turn until nothing changes by more than the tolerance.

        ``values`` are improved in place. Returns whether they converged, the residual
        [strokes] and the number of sweeps.
        """
        tolerance = self.options.tolerance
        patch = state = math.inf
        sweeps = 0
        # The short game hangs on the green, the long game on the short: near things first.
        for _ in range(FIRST_PATCH_SWEEPS):
            patch = self._sweep(self._patch, values)
        while sweeps < self.options.max_sweeps and max(patch, state) > tolerance:
            _check(cancelled)
            gap = NARROW_GAP if sweeps == 1 else -1.0
            # A settled patch waits until the rest has settled, too.
            if patch > SETTLED * tolerance or gap >= 0 or state <= tolerance:
                patch = self._sweep(self._patch, values, gap)
            state = self._sweep(self._base, values, gap)
            if gap >= 0:
                self._keep_near(self._patch)
                self._keep_near(self._base)
            sweeps += 1
            if state <= tolerance and patch <= SETTLED * tolerance:
                patch = self._sweep(self._patch, values)
            if report is not None:
                report(f"sweep {sweeps}: largest change {max(patch, state):.5f}")
        residual = max(patch, state)
        return residual <= self.options.tolerance, residual, sweeps

    def _sweep(self, side: _Side, values: list[Values], gap: float = -1.0) -> float:
        """Improve one side in place; return the largest change where the lie occurs."""
        best, swing, bearing = self._improve(side, values, gap)
        ours = ~self.builder.inner_state if side.is_state else self.builder.inner_patch
        change = 0.0
        for slot, lie in enumerate(PLAYED_LIES):
            held = [value.state if side.is_state else value.patch for value in values]
            if lie not in self.tables.present:
                for array in held:
                    array[slot] = 0
                continue
            usable = ours[slot] & np.isfinite(best[0, slot])
            seen = usable & side.occurs[slot] & side.matters
            if seen.any():
                moved = np.abs(best[0, slot][seen] - held[0][slot][seen])
                change = max(change, float(moved.max()))
            for f, array in enumerate(held):
                array[slot][usable] = best[f, slot][usable]
        for value in values:
            self.builder.exchange(value)
        self.policies[side.name] = Policy(side.target, swing, bearing)
        return change
