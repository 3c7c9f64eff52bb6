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
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Hole, Tee
from planner.course.lies import Lie
from planner.errors import SolveError
from planner.golfer.shot_outcome import ASSUMED_CANOPY_STOP_SHARE, ShotModel, Swing
from planner.strategy.actions import (
    action_arrays,
    blocked_starts,
    long_swings,
    set_windows,
    short_swings,
)
from planner.strategy.grid import Lattice
from planner.strategy.hole_tables import HoleTables, TableOptions, Unplayable, build_tables, tee_lattice
from planner.strategy.relief_values import PLAYED_LIES
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
    edge_costs,
    index_points,
    interpolate,
    point_values,
)

UNPLAYABLE = -2
"""Policy entry: declare the ball unplayable and take the best relief."""
SHORT_LONGEST_M = 42.0
"""Longest carry of a partial swing solved on the patch [m]."""
LONG_SHORTEST_M = 28.0
"""Shortest carry of a partial swing solved on the state lattice [m]; the overlap is meant."""
PATCH_TARGET_M = 15.0
"""Radius round the pin at which short swings are aimed [m]."""
PARTIAL_TARGET_M = 25.0


class Cancelled(Exception):  # noqa: N818 - a signal, not an error
    """The caller asked a solve to stop."""


@dataclass(frozen=True)
class SolveOptions:
    """How a hole is solved.

    Parameters
    ----------
    tables
        Lattices, bearings and rules.
    tolerance
        Largest change of a value between sweeps at which a solve stops [strokes].
    max_sweeps
        Sweeps of the state lattice after which a solve stops unconverged.
    level_ratio
        Least standard deviation of a component, in cells, for a coarser landing lattice.
    refine
        Whether bearings between lattice bearings are tried (parabola).
    penalty_price
        Extra cost of a penalty stroke [strokes]; 0 is fewest strokes.
    count_penalties
        Whether expected penalties are carried along.
    double_precision
        Whether fields are kept in float64 rather than float32.
    """

    tables: TableOptions = field(default_factory=TableOptions)
    tolerance: float = 1e-3
    max_sweeps: int = 40
    level_ratio: float = 1.1
    refine: bool = True
    penalty_price: float = 0.0
    count_penalties: bool = False
    double_precision: bool = False
    start_coarse: bool = True


@dataclass(frozen=True, eq=False)
class Policy:
    """Best action on one lattice.

    ``swing`` is an index into the model's swings, ``UNPLAYABLE`` or ``NO_SWING``; ``bearing``
    [rad]. Both have shape ``(lies, rows, columns)`` for ``PLAYED_LIES``.
    """

    lattice: Lattice
    swing: NDArray[np.int16]
    bearing: NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class HoleSolution:
    """Value and policy of a hole for one shot model and objective.

    ``values`` holds expected cost; ``penalties`` the expected penalty strokes of the policy
    where they were counted. ``converged`` says whether ``residual`` [strokes], the largest
    change in the last sweep over places that matter, fell to the tolerance.
    """

    tables: HoleTables
    model: ShotModel
    options: SolveOptions
    values: Values
    penalties: Values | None
    state_policy: Policy
    patch_policy: Policy
    edge_values: tuple[NDArray[np.float64], ...]
    converged: bool
    residual: float
    sweeps: int

    @property
    def hole(self) -> Hole:
        """The hole."""
        return self.tables.hole


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
    shape: tuple[int, int]
    shares: list[NDArray[np.int64]]


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
    size = np.maximum(window[..., 1] - window[..., 0], 0) * np.maximum(
        window[..., 3] - window[..., 2], 0
    )
    allowed = actions.weight[:, :, 0] > 0
    sizes = allowed[:, :, None] * size[:, None, :]
    ends = np.cumsum(sizes.ravel())
    offset = (ends - sizes.ravel()).reshape(sizes.shape)
    return InPlay(offset, np.ones(int(ends[-1]) if ends.size else 0, dtype=kind))


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
        self, tables: HoleTables, model: ShotModel, options: SolveOptions | None = None
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
        self._base = self._side(
            "state", long_swings(model, shortest=LONG_SHORTEST_M), grid.base, grid.state,
            tables.base, tables.state_block, self.builder.base_layout(), 3, PARTIAL_TARGET_M,
        )
        self._patch = self._side(
            "patch", short_swings(model, longest=SHORT_LONGEST_M), grid.patch, grid.patch,
            tables.patch, tables.patch_block, self.builder.patch_layout(), 2, PATCH_TARGET_M,
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
            target_radius=target_radius,
        )
        blocked = blocked_starts(actions, chosen, block, target, tables.bearings, self.kind)
        geometry = geometry_of(
            hole, landing, target, layout, level_ratio=self.options.level_ratio, levels=levels
        )
        side = _Side(
            name, swings, actions, tables, geometry, blocked,
            empty_in_play(actions, self.kind), target.shape, self._shares(actions),
        )
        fields = self._in_play_fields()[0 if coarse else 1]
        self._run(side, fields, store=True, best=None)
        return side

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
        work = (np.maximum(window[..., 1] - window[..., 0], 0) + 20) * (
            window[..., 1] > window[..., 0]
        )
        cost = work.sum(axis=1) * (actions.weight[:, :, 0] > 0).sum(axis=1)
        hands: list[list[int]] = [[] for _ in range(self.threads)]
        loads = [0] * self.threads
        for swing in np.argsort(-cost):
            lightest = loads.index(min(loads))
            hands[lightest].append(int(swing))
            loads[lightest] += int(cost[swing])
        return [np.array(hand, dtype=np.int64) for hand in hands]

    def _in_play_fields(self) -> tuple[LandingFields, LandingFields]:
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

    def _zero(self) -> Values:
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
        refine: bool | None = None,
    ) -> None:
        count = fields.rest.shape[0]
        lies = len(PLAYED_LIES)
        refine = self.options.refine if refine is None else refine

        def task(share: NDArray[np.int64]) -> tuple[NDArray[np.generic], ...]:
            value = np.full((count, lies, *side.shape), np.inf, dtype=self.kind)
            swing = np.full((lies, *side.shape), NO_SWING, dtype=np.int16)
            bearing = np.zeros((lies, *side.shape), dtype=np.float32)
            sweep(
                share, side.actions, side.tables, side.geometry, fields, side.in_play,
                side.blocked, ASSUMED_CANOPY_STOP_SHARE, self.options.penalty_price, refine,
                store, value, swing, bearing,
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
        self, side: _Side, values: list[Values]
    ) -> tuple[NDArray[np.floating], NDArray[np.int16], NDArray[np.float32]]:
        fields = self.builder.landing_fields(values, self.edge_values(values))
        count = len(values)
        lies = len(PLAYED_LIES)
        value = np.full((count, lies, *side.shape), np.inf, dtype=self.kind)
        swing = np.full((lies, *side.shape), NO_SWING, dtype=np.int16)
        bearing = np.zeros((lies, *side.shape), dtype=np.float32)
        best = (value, swing, bearing)
        self._run(side, fields[0 if side.name == "state" else 1], store=False, best=best)
        rows = (
            self.tables.state_unplayable
            if side.name == "state"
            else self.tables.patch_unplayable
        )
        for unplayable in rows:
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

    def solve(
        self,
        *,
        start: list[Values] | None = None,
        cancelled: threading.Event | None = None,
        report: Callable[[str], None] | None = None,
    ) -> HoleSolution:
        """Solve the hole.

        Parameters
        ----------
        start
            Values to start from (of any near solve on the same lattices).
        cancelled
            Set by another thread to stop; raises :class:`Cancelled`.
        report
            Called with a line after each sweep.
        """
        opts = self.options
        quantities = 2 if opts.count_penalties else 1
        if start is not None:
            values = [value.copy() for value in start[:quantities]]
            fresh = self.green()
            values[0].green_base, values[0].green_patch = fresh.green_base, fresh.green_patch
        else:
            values = [self._first_values(cancelled)]
        while len(values) < quantities:
            values.append(self._zero())
        for value in values:
            self.builder.exchange(value)
        residual, sweeps = math.inf, 0
        policies: dict[str, Policy] = {}
        while sweeps < opts.max_sweeps:
            if cancelled is not None and cancelled.is_set():
                raise Cancelled
            change_patch = self._sweep_patch(values, policies)
            change_state = self._sweep_state(values, policies)
            sweeps += 1
            residual = max(change_patch, change_state)
            if report is not None:
                report(f"sweep {sweeps}: largest change {residual:.5f}")
            if residual <= opts.tolerance:
                break
        if not np.isfinite(values[0].state).all():
            raise SolveError(
                f"hole {self.tables.hole.ref}: some places have no playable shot; "
                "the bag needs a club that may be played from every lie on the hole"
            )
        return HoleSolution(
            tables=self.tables,
            model=self.model,
            options=opts,
            values=values[0],
            penalties=values[1] if quantities > 1 else None,
            state_policy=policies["state"],
            patch_policy=policies["patch"],
            edge_values=tuple(self.edge_values(values)),
            converged=residual <= opts.tolerance,
            residual=residual,
            sweeps=sweeps,
        )

    def _sweep_patch(self, values: list[Values], policies: dict[str, Policy]) -> float:
        best, swing, bearing = self._improve(self._patch, values)
        inner = self.builder.inner_patch
        change = 0.0
        for slot, lie in enumerate(PLAYED_LIES):
            if lie not in self.tables.present:
                values[0].patch[slot] = 0
                continue
            usable = inner & np.isfinite(best[0, slot])
            old = values[0].patch[slot][usable]
            new = best[0, slot][usable]
            if old.size:
                change = max(change, float(np.abs(new - old).max()))
            for f, value in enumerate(values):
                value.patch[slot][usable] = best[f, slot][usable]
        self._short_state(values)
        policies["patch"] = Policy(self.tables.grid.patch, swing, bearing)
        return change

    def _short_state(self, values: list[Values]) -> None:
        for value in values:
            self.builder.exchange(value)

    def _sweep_state(self, values: list[Values], policies: dict[str, Policy]) -> float:
        best, swing, bearing = self._improve(self._base, values)
        outer = ~self.builder.inner_state
        change = 0.0
        for slot, lie in enumerate(PLAYED_LIES):
            if lie not in self.tables.present:
                values[0].state[slot] = 0
                continue
            usable = outer & np.isfinite(best[0, slot])
            missing = outer & ~usable
            old = values[0].state[slot][usable]
            new = best[0, slot][usable]
            if old.size:
                change = max(change, float(np.abs(new - old).max()))
            for f, value in enumerate(values):
                value.state[slot][usable] = best[f, slot][usable]
            if missing.any() and usable.any():
                values[0].state[slot][missing] = new.max() + 1.0
        for value in values:
            self.builder.exchange(value)
        policies["state"] = Policy(self.tables.grid.state, swing, bearing)
        return change

    def _first_values(self, cancelled: threading.Event | None) -> Values:
        opts = self.options
        values = self.green()
        if not opts.start_coarse:
            return values
        grid_opts = opts.tables.grid
        coarse_tables = replace(
            opts.tables,
            grid=replace(grid_opts, cell=2 * grid_opts.cell),
            bearing_step=2 * opts.tables.bearing_step,
            patch_bearing_step=2 * opts.tables.patch_bearing_step,
        )
        coarse = HoleSolver(
            build_tables(self.tables.hole, coarse_tables),
            self.model,
            replace(
                opts,
                tables=coarse_tables,
                start_coarse=False,
                count_penalties=False,
                tolerance=max(opts.tolerance, 3e-3),
            ),
        ).solve(cancelled=cancelled)
        values.state[:] = _resample(coarse.values.state, coarse.tables.grid.state, self.tables.grid.state)
        values.patch[:] = _resample(coarse.values.patch, coarse.tables.grid.patch, self.tables.grid.patch)
        return values


def _resample(field_values: NDArray[np.floating], old: Lattice, new: Lattice) -> NDArray[np.floating]:
    """Values of ``old`` (twice the cell) on ``new``; lattices share the pin as a corner."""
    fine = interpolate(field_values, 2)
    row = round((new.start[0] - old.start[0]) / new.cell)
    column = round((new.start[1] - old.start[1]) / new.cell)
    rows = np.clip(np.arange(new.shape[0]) + row, 0, fine.shape[1] - 1)
    columns = np.clip(np.arange(new.shape[1]) + column, 0, fine.shape[2] - 1)
    return np.asarray(fine[:, rows[:, None], columns[None, :]])


def solve_tee(solution: HoleSolution, tee: Tee) -> TeeSolution:
    """Value and best shot from a tee, and the value of every swing there."""
    raise NotImplementedError


@dataclass(frozen=True, eq=False)
class TeeSolution:
    pass


_ = (Swing, Lie, index_points)
