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

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.golfer.shot_outcome import ASSUMED_CANOPY_STOP_SHARE, ShotModel
from planner.strategy.grid import Lattice
from planner.strategy.hole_tables import HoleTables, Unplayable
from planner.strategy.relief_values import PLAYED_LIES
from planner.strategy.solution import UNPLAYABLE, Cancelled, Policy, SolveOptions
from planner.strategy.solver_side import Side, build_side, deal, empty_in_play, narrow
from planner.strategy.sweep import NO_SWING, sweep
from planner.strategy.sweep_types import LandingFields
from planner.strategy.values import (
    FieldBuilder,
    Values,
    edge_costs,
    point_values,
)

EXPLORE_GAP, KEEP_GAP, NARROW_GAP = 0.18, 0.05, 0.02
"""Actions that cost this much more than the best are followed while exploring, handed to finer
lattices, and followed on those [strokes]."""
GREEDY_GAP = 0.004
"""The same while a second quantity is counted along the policy [strokes]."""
EXPLORE_SWEEPS, EXPLORE_TOLERANCE = 12, 0.01
"""Most exploring sweeps, and the change at which exploring ends [strokes]."""
SETTLED = 0.3
"""Share of the tolerance below which the patch waits for the rest."""
FIRST_PATCH_SWEEPS = 2
FULL_STEPS = 9
"""Sweeps after which only half of each change is taken."""
COUNT_SWEEPS, COUNT_TOLERANCE = 10, 2e-3
"""Most sweeps that count a second quantity, and the change at which it is settled."""


def _check(cancelled: threading.Event | None) -> None:
    if cancelled is not None and cancelled.is_set():
        raise Cancelled


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
        self.kind: type[np.floating] = np.float64 if self.options.double_precision else np.float32
        grid = tables.grid
        reach = max([0.0] + [run for swing in model.swings for run in swing.run_m.values()])
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
        self._base: Side = self._side("state", start._base if start else None)
        self._patch: Side = self._side("patch", start._patch if start else None)

    # -- building ---------------------------------------------------------------------------

    def _side(self, name: str, start: Side | None) -> Side:
        side = build_side(name, self.tables, self.model, self.options, self.builder, self.threads)
        certain = None
        if start is not None:
            certain = narrow(side, start)
            side.shares = deal(side.actions, self.threads)
        self._find_in_play(side, certain)
        return side

    def _find_in_play(self, side: Side, certain: NDArray[np.bool_] | None) -> None:
        side.in_play = empty_in_play(side.actions, self.kind)
        if certain is not None:
            side.in_play.offset[certain] = -1
        fields = self.in_play_fields()[0 if side.is_state else 1]
        self._run(side, fields, store=True, best=None)

    def in_play_fields(self) -> tuple[LandingFields, LandingFields]:
        """Fields of the indicator of being in play, for the base lattice and the patch."""
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
        """Values that are zero everywhere, to count a second quantity from."""
        grid = self.tables.grid
        return Values(
            np.zeros((len(PLAYED_LIES), *grid.state.shape), self.kind),
            np.zeros((len(PLAYED_LIES), *grid.patch.shape), self.kind),
            np.zeros(grid.base.shape, self.kind),
            np.zeros(grid.patch.shape, self.kind),
        )

    # -- sweeping ---------------------------------------------------------------------------

    def edge_values(self, values: list[Values]) -> list[NDArray[np.float64]]:
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
                tables.edge_index,
                self.builder.base_values(extra),
                extra.patch,
                np.zeros_like(green),
            )
            found.append((at + drops.strokes)[chosen])
        return found

    def _run(
        self,
        side: Side,
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
                share,
                side.actions,
                side.tables,
                side.geometry,
                fields,
                side.in_play,
                side.blocked,
                ASSUMED_CANOPY_STOP_SHARE,
                self.options.penalty_price,
                self.options.refine,
                store,
                value,
                swing,
                bearing,
                reference,
                gap,
                side.near,
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
        self, side: Side, values: list[Values], gap: float
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
            known = np.where(side.wanted(), known, -np.inf).astype(self.kind)
        self._run(
            side,
            fields[0 if side.is_state else 1],
            store=False,
            best=best,
            reference=known,
            gap=gap,
        )
        rows = self.tables.state_unplayable if side.is_state else self.tables.patch_unplayable
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
                unplayable.index,
                self.builder.base_values(extra),
                extra.patch,
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

    def _keep_near(self, side: Side) -> None:
        """Narrow a side to the actions it has just noted as near-best."""
        window = side.actions.window
        near = side.near
        for axis in (0, 2):
            window[..., axis] = np.maximum(window[..., axis], near[..., axis])
            window[..., axis + 1] = np.minimum(window[..., axis + 1], near[..., axis + 1])
        empty = (near[..., 0] >= near[..., 1]) | (near[..., 2] >= near[..., 3])
        window[empty] = 0
        side.shares = deal(side.actions, self.threads)
        side.followed = side.wanted()

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
            # Interpolation has small negative weights, so that sweeps may end in a cycle of
            # two; half steps break it.
            step = 1.0 if sweeps < FULL_STEPS else 0.5
            if patch > SETTLED * tolerance or gap >= 0 or state <= tolerance:
                patch = self._sweep(self._patch, values, gap, step=step)
            state = self._sweep(self._base, values, gap, step=step)
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

    def count(self, values: Values, *, cancelled: threading.Event | None = None) -> list[Values]:
        """Count expected penalties along the policy that ``values`` imply; returns both.

        Only actions within ``GREEDY_GAP`` of the best are followed, so this comes last.
        """
        for side in (self._patch, self._base):
            self._sweep(side, [values], GREEDY_GAP)
            self._keep_near(side)
        both = [values, self.zero()]
        self._sweep(self._patch, both)
        for _ in range(COUNT_SWEEPS):
            _check(cancelled)
            before = both[1].state.copy()
            self._sweep(self._base, both)
            if float(np.abs(both[1].state - before).max()) < COUNT_TOLERANCE:
                break
        self._sweep(self._patch, both)
        return both

    def _sweep(
        self, side: Side, values: list[Values], gap: float = -1.0, *, step: float = 1.0
    ) -> float:
        """Improve one side in place; return the largest change where the lie occurs.

        ``step`` is the share of the change that is taken.
        """
        best, swing, bearing = self._improve(side, values, gap)
        ours = ~self.builder.inner_state if side.is_state else self.builder.inner_patch
        change = 0.0
        for slot, lie in enumerate(PLAYED_LIES):
            held = [value.state if side.is_state else value.patch for value in values]
            if lie not in self.tables.present:
                for array in held:
                    array[slot] = 0
                continue
            usable = ours[slot] & side.followed[slot] & np.isfinite(best[0, slot])
            seen = usable & side.occurs[slot] & side.matters
            if seen.any():
                moved = np.abs(best[0, slot][seen] - held[0][slot][seen])
                change = max(change, float(moved.max()))
            for f, array in enumerate(held):
                held_values = array[slot][usable]
                array[slot][usable] = held_values + step * (best[f, slot][usable] - held_values)
        for value in values:
            self.builder.exchange(value)
        self.policies[side.name] = Policy(side.target, swing, bearing)
        return change
