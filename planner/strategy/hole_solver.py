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
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.golfer.shot_outcome import ShotModel
from planner.numerics.fixed_point import Mixing
from planner.strategy.grid import Lattice
from planner.strategy.hole_tables import HoleTables, Unplayable
from planner.strategy.relief_values import PLAYED_LIES, TREES_SLOT
from planner.strategy.solution import UNPLAYABLE, Cancelled, Policy, SolveOptions
from planner.strategy.solver_side import Side, build_side
from planner.strategy.sweep import NO_SWING
from planner.strategy.sweep_run import Best, run_sweep
from planner.strategy.sweep_types import LandingFields, strokes_and_penalties
from planner.strategy.tree_block import settle_stopped
from planner.strategy.values import (
    Field,
    FieldBuilder,
    PointIndex,
    Values,
    edge_costs,
    point_values,
)

NEAR_GAPS = (0.2, 0.1, 0.05)
"""Actions that cost this much more than the best are followed on the finest lattices [strokes]:
while values are those of coarser lattices, and after each of the next sweeps."""
RISEN = 0.8
"""Share of a gap by which a value may rise before what is near-best is noted anew."""
TREE_ROUNDS = 20
"""Most rounds in which changes are carried on through woods after a sweep."""
FIRST_SWEEPS, EXPLORE_SWEEPS = 2, 12
"""Sweeps of a lattice before the first narrowing, and most exploring sweeps after it."""
SETTLED = 0.3
"""Share of the tolerance below which the patch waits for the rest."""
MIXED = 4
"""Earlier sweeps that the next values are mixed from."""


class Gaps(NamedTuple):
    """How closely a coarse lattice is explored [strokes].

    Actions within ``follow`` of the best are followed, those within ``hand_on`` handed to finer
    lattices; exploring ends when no value changes by ``tolerance``.
    """

    follow: float
    hand_on: float
    tolerance: float


def check_cancelled(cancelled: threading.Event | None) -> None:
    """Stop if another thread asked for it; raises ``Cancelled``."""
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
        reach = max([0.0] + [s.longest_run_on(lie) for s in model.swings for lie in s.run_m])
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
        self._putts: dict[int, NDArray[np.float64]] = {}
        self._started = start is not None
        # Between cells values are interpolated: news carried from cell to cell would go astray.
        self._settles = grid.options.state_ratio == 1
        self._present = np.array([lie in tables.present for lie in PLAYED_LIES])
        self.state_side: Side = self._side("state", start.state_side if start else None)
        self.patch_side: Side = self._side("patch", start.patch_side if start else None)

    @property
    def sides(self) -> tuple[Side, Side]:
        """Both sides, the patch first."""
        return self.patch_side, self.state_side

    # -- building ---------------------------------------------------------------------------

    def _side(self, name: str, start: Side | None) -> Side:
        return build_side(
            name, self.tables, self.model, self.options, self.builder, self.threads, start=start
        )

    def landing_fields(
        self,
        values: list[Values],
        edge_values: list[NDArray[np.float64]],
        *,
        in_play: bool,
        bases: list[Field] | None = None,
    ) -> tuple[LandingFields, LandingFields]:
        """Fields of quantities for the base lattice and the patch.

        With ``in_play`` the indicator of being in play comes last.
        """
        if not in_play:
            return self.builder.landing_fields(values, edge_values, bases)
        grid = self.tables.grid
        ones = Values(
            np.ones((len(PLAYED_LIES), *grid.state.shape), self.kind),
            np.ones((len(PLAYED_LIES), *grid.patch.shape), self.kind),
            np.ones(grid.base.shape, self.kind),
            np.ones(grid.patch.shape, self.kind),
        )
        if bases is not None:
            bases = [*bases, np.ones((len(PLAYED_LIES), *grid.base.shape), self.kind)]
        edge_ones = np.ones(len(self.tables.edges.edges_hole))
        return self.builder.landing_fields([*values, ones], [*edge_values, edge_ones], bases)

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

    def putts_within(self, most: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Chance to need at most ``most`` putts, cell means on the base lattice and the patch."""
        base = self.model.putts_within(self.tables.green_base, most).mean(axis=-1)
        patch = self.model.putts_within(self.tables.green_patch, most).mean(axis=-1)
        return base, patch

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

    def edge_values(
        self, values: Values, base: Field | None = None
    ) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
        """Cost of the best relief at every edge sample, and the drop that has it."""
        tables = self.tables
        cost = self.cost_at(values, tables.edge_index, base)
        return edge_costs(tables.edges.drops, cost, self.options.penalty_price)

    def cost_at(
        self, values: Values, index: PointIndex, base: Field | None = None
    ) -> NDArray[np.float64]:
        """Values of a quantity at fixed points; on the green the expected putts.

        ``base`` are its base values, where they are known already.
        """
        if len(index.slot) == 0:
            return np.empty(0)
        known = self.builder.base_values(values) if base is None else base
        return point_values(index, known, values.patch, self._putts_at(index))

    def _putts_at(self, index: PointIndex) -> NDArray[np.float64]:
        if id(index) not in self._putts:
            self._putts[id(index)] = self.model.expected_putts(index.pin_distance)
        return self._putts[id(index)]

    def unplayable_of(self, side: Side) -> tuple[Unplayable, ...]:
        """Relief for balls declared unplayable on a side."""
        if side.is_state:
            return self.tables.state_unplayable
        return tuple(
            one for one in self.tables.patch_unplayable if PLAYED_LIES[one.slot] is not Lie.TREES
        )

    def _improve(self, side: Side, values: Values, gap: float) -> tuple[Best, NDArray[np.floating]]:
        """Best action from every place of a side, and the special values it was found with."""
        find = not side.in_play_known
        base = self.builder.base_values(values)
        edges, _ = self.edge_values(values, base)
        fields = self.landing_fields([values], [edges], in_play=find, bases=[base])
        ours = fields[0 if side.is_state else 1]
        known = values.state if side.is_state else values.patch
        if gap >= 0.0:
            known = np.where(side.wanted(), known, -np.inf).astype(self.kind)
        best = run_sweep(
            side,
            ours,
            strokes_and_penalties(1, self.options.penalty_price, self.kind),
            refine=self.options.refine,
            find=find,
            reference=known,
            gap=gap,
            threads=self.threads,
        )
        side.in_play_known = True
        if gap >= 0.0:
            self._note_risen(side, ours, known, best[0][0], gap)
        for unplayable in self.unplayable_of(side):
            self._declare_unplayable(unplayable, values, base, best)
        swing = best[1]
        index = np.array([*side.swings, NO_SWING], dtype=np.int16)
        swing[swing >= 0] = index[swing[swing >= 0]]
        return best, ours.special[0]

    def _note_risen(
        self,
        side: Side,
        fields: LandingFields,
        known: NDArray[np.floating],
        found: NDArray[np.floating],
        gap: float,
    ) -> None:
        """Note what is near-best, too, where values have just risen by nearly ``gap`` or more.

        There the best action itself may cost more than ``known`` and the gap: without it a place
        would keep too low a value for good.
        """
        ours = ~self.builder.inner_state if side.is_state else self.builder.inner_patch
        sought = ours & self._present[:, None, None] & np.isfinite(known)
        risen = sought & np.isfinite(found) & (found > known + RISEN * gap)
        if not risen.any():
            return
        noted = side.near.copy()
        window = side.actions.window.copy()
        for lie, places in enumerate(risen):
            rows, columns = np.nonzero(places)
            if rows.size == 0:
                window[:, lie] = 0
                continue
            for axis, place in ((0, rows), (2, columns)):
                window[:, lie, :, axis] = np.maximum(window[:, lie, :, axis], place.min())
                window[:, lie, :, axis + 1] = np.minimum(
                    window[:, lie, :, axis + 1], place.max() + 1
                )
        window[(window[..., 0] >= window[..., 1]) | (window[..., 2] >= window[..., 3])] = 0
        side.near[..., 0::2] = 1 << 30
        side.near[..., 1::2] = 0
        passed, stays = side.blocked.passed.copy(), side.blocked.stays.copy()
        run_sweep(
            side,
            fields,
            strokes_and_penalties(1, self.options.penalty_price, self.kind),
            actions=side.actions._replace(window=window),
            refine=self.options.refine,
            reference=np.where(risen, found, -np.inf).astype(self.kind),
            gap=gap,
            threads=self.threads,
        )
        side.blocked.passed[:], side.blocked.stays[:] = passed, stays
        side.near[..., 0::2] = np.minimum(side.near[..., 0::2], noted[..., 0::2])
        side.near[..., 1::2] = np.maximum(side.near[..., 1::2], noted[..., 1::2])

    def _settle_trees(
        self,
        side: Side,
        value: NDArray[np.floating],
        before: NDArray[np.floating],
        special: NDArray[np.floating],
        usable: NDArray[np.bool_],
    ) -> None:
        """Carry the change of usable values in trees on through the woods, in place."""
        moved = (value - before).astype(float).ravel()
        base = self.tables.grid.base
        settle_stopped(
            np.flatnonzero((side.blocked.stays > 0) & usable.ravel()[side.blocked.cell]),
            side.blocked,
            special,
            base.shape[0] * base.shape[1],
            base.shape[1],
            self.tables.grid.options.state_ratio,
            side.target.shape[1],
            moved,
            TREE_ROUNDS,
            0.1 * self.options.tolerance,
        )
        value[:] = before + moved.reshape(before.shape)

    def _declare_unplayable(
        self, unplayable: Unplayable, values: Values, base: Field, best: Best
    ) -> None:
        if len(unplayable.cell) == 0:
            return
        value, swing, _ = best
        cost = self.cost_at(values, unplayable.index, base)
        least, _ = edge_costs(unplayable.drops, cost, self.options.penalty_price)
        flat = value[0, unplayable.slot].reshape(-1)
        better = least < flat[unplayable.cell]
        cells = unplayable.cell[better]
        flat[cells] = least[better]
        swing[unplayable.slot].reshape(-1)[cells] = UNPLAYABLE

    # -- solving ----------------------------------------------------------------------------

    def explore(self, values: Values, gaps: Gaps, cancelled: threading.Event | None) -> None:
        """Solve roughly and note which actions come near the best where; for coarse lattices.

        A solver that starts from nothing first sweeps until values have spread from the pin.
        """
        for side in self.sides:
            for _ in range(0 if self._started else FIRST_SWEEPS):
                self._sweep(side, values)
            self._sweep(side, values, gap=gaps.follow)
            self._keep_near(side)
            check_cancelled(cancelled)
        patch = math.inf
        for _ in range(EXPLORE_SWEEPS):
            if patch > SETTLED * gaps.tolerance:
                patch = self._sweep(self.patch_side, values, gap=gaps.hand_on)
            change = self._sweep(self.state_side, values, gap=gaps.hand_on)
            check_cancelled(cancelled)
            if change < gaps.tolerance:
                break

    def keep_within(self, values: Values, gap: float, *, before: int = 0) -> None:
        """Narrow both sides to the actions that cost at most ``gap`` [strokes] above the best.

        ``values`` are those at which sweeps have settled, or nearly; they are swept in place,
        ``before`` times before actions are compared with them.
        """
        for side in self.sides:
            for _ in range(before):
                self._sweep(side, values)
            self._sweep(side, values, gap=gap)
            self._keep_near(side)

    def settle(
        self, values: Values, *, most: int, cancelled: threading.Event | None = None
    ) -> tuple[float, int]:
        """Sweep both sides as they are until nothing changes by more than the tolerance.

        ``values`` are improved in place, by ``most`` sweeps at most. Returns the residual
        [strokes] and the number of sweeps.
        """
        residual, sweeps = math.inf, 0
        while sweeps < most and residual > self.options.tolerance:
            check_cancelled(cancelled)
            residual = max(self._sweep(side, values) for side in self.sides)
            sweeps += 1
        return residual, sweeps

    def _keep_near(self, side: Side) -> None:
        """Narrow a side to the actions it has just noted as near-best."""
        window = side.actions.window
        near = side.near
        for axis in (0, 2):
            window[..., axis] = np.maximum(window[..., axis], near[..., axis])
            window[..., axis + 1] = np.minimum(window[..., axis + 1], near[..., axis + 1])
        empty = (near[..., 0] >= near[..., 1]) | (near[..., 2] >= near[..., 3])
        window[empty] = 0
        side.followed = side.wanted()

    def refine(
        self,
        values: Values,
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
        mixing = Mixing(MIXED)
        ours = self.state_side.followed & self._present[:, None, None] & ~self.builder.inner_state
        # The short game hangs on the green, the long game on the short: near things first.
        for side in self.sides:
            self._sweep(side, values, NEAR_GAPS[0])
            self._keep_near(side)
        while sweeps < self.options.max_sweeps and max(patch, state) > tolerance:
            check_cancelled(cancelled)
            gap = NEAR_GAPS[sweeps + 1] if sweeps + 1 < len(NEAR_GAPS) else -1.0
            # A settled patch waits until the rest has settled, too.
            if patch > SETTLED * tolerance or gap >= 0 or state <= tolerance:
                patch = self._sweep(self.patch_side, values, gap)
            before = values.state[ours].astype(float)
            state = self._sweep(self.state_side, values, gap)
            if gap >= 0:
                for side in self.sides:
                    self._keep_near(side)
            elif state > tolerance:
                # Pockets that balls hardly leave settle slowly; and interpolation has small
                # negative weights, so that sweeps may end in a cycle of two. Mixing mends both.
                after = values.state[ours].astype(float)
                values.state[ours] = mixing.next_point(before, after)
                self.builder.exchange(values)
            sweeps += 1
            if state <= tolerance and patch <= SETTLED * tolerance:
                patch = self._sweep(self.patch_side, values)
            if report is not None:
                report(f"sweep {sweeps}: largest change {max(patch, state):.5f}")
        residual = max(patch, state)
        return residual <= self.options.tolerance, residual, sweeps

    def _sweep(self, side: Side, values: Values, gap: float = -1.0) -> float:
        """Improve one side in place; return the largest change where the lie occurs."""
        ours = ~self.builder.inner_state if side.is_state else self.builder.inner_patch
        held = values.state if side.is_state else values.patch
        held[~self._present] = 0
        (best, swing, bearing), special = self._improve(side, values, gap)
        usable = ours & side.followed & np.isfinite(best[0]) & self._present[:, None, None]
        seen = usable & side.occurs & side.matters
        change = float(np.abs(best[0] - held)[seen].max(initial=0.0))
        before = held[TREES_SLOT].copy()
        held[usable] = best[0][usable]
        if self._settles and side.is_state and side.blocked.cell.size:
            # What is declared unplayable does not hang on the places beside it.
            played = usable[TREES_SLOT] & (swing[TREES_SLOT] != UNPLAYABLE)
            self._settle_trees(side, held[TREES_SLOT], before, special, played)
        self.builder.exchange(values)
        self.policies[side.name] = Policy(side.target, swing, bearing)
        return change
