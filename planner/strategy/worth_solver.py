"""Best play of one hole for any worth of its score: strokes in hand as part of the state.

With ``s`` strokes in hand at a place ``x`` the best that can be had is::

    U(x, s) = max over a of  E[ U(next(x, a, Z), s - 1 - penalty(Z)) ],   U(holed, s) = W(s)

Every stroke takes one at least, so ``U(., s)`` hangs on fewer strokes in hand only: one sweep for
each number, from the lowest up, and no fixed point to iterate to. A lost ball leads back to the
same place with two fewer, an unplayable one to its drop with one fewer. All starts of a hole come
out of one pass; only the numbers that can matter are swept, below them the plan goes on.

Sweeps minimise, so the kernels see ``-U``. Where nothing is at stake any more, fewer strokes
decide: each counts ``TIE_WORTH`` of the stakes, which is taken off again.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Point
from planner.course.lies import Lie
from planner.strategy.action_means import ActionMeans
from planner.strategy.hole_solver import HoleSolver, check_cancelled
from planner.strategy.hole_tables import HoleTables
from planner.strategy.place_side import place_side
from planner.strategy.policy import TeeShot
from planner.strategy.policy_evaluation import PolicyEvaluation
from planner.strategy.relief_values import PLAYED_LIES, DropPoints
from planner.strategy.score_distribution import ScoreDistribution, distribution
from planner.strategy.score_worth import ScoreWorth
from planner.strategy.solution import UNPLAYABLE, HoleSolution, Policy
from planner.strategy.solver_side import Side
from planner.strategy.sweep import NO_SWING
from planner.strategy.sweep_run import run_sweep
from planner.strategy.sweep_types import LandingFields, Quantities, strokes_and_penalties
from planner.strategy.values import Field, PointIndex, Values, point_values

__all__ = ["GAP", "HoleWorth", "Level", "WorthSolver", "narrowed"]

FloatArray = NDArray[np.float64]
T = TypeVar("T")

GAP = 0.3
"""Actions whose expected strokes lie this far above the fewest are tried [strokes]; wider gaps
change no chance by 1e-4."""
TIE_WORTH = 2e-5
"""Share of the stakes that a stroke counts where nothing else tells two choices apart."""
_BELOW = 3
"""Most strokes that one swing can cost, penalties included (Model Local Rule E-5)."""
_MOST_SWEEPS = 12
_FIELDS = ("state", "patch", "green_base", "green_patch")


def narrowed(
    levels: Sequence[HoleTables],
    solution: HoleSolution,
    *,
    gap: float = GAP,
    cancelled: threading.Event | None = None,
) -> tuple[HoleSolver, HoleSolution]:
    """A solver open to every action within ``gap`` [strokes] of the best, and what it solves.

    The solution is that of fewest strokes among these actions, so that playing for something else
    is compared with the same choice. It can be better than one on coarse cells, whose narrower
    choice may lack an action.

    Parameters
    ----------
    levels
        Tables of the hole from fine to coarse, the first those of ``solution``.
    """
    start: HoleSolver | None = None
    if len(levels) > 1:
        start = HoleSolver(levels[1], solution.model, solution.options)
        # Values of finer cells do not quite fit the coarse ones; one sweep settles them.
        start.keep_within(_on_coarser(solution.values, levels, start), gap, before=1)
    solver = HoleSolver(levels[0], solution.model, solution.options, start=start)
    values = solution.values.copy()
    solver.keep_within(values, gap)
    residual, _ = solver.settle(values, most=_MOST_SWEEPS, cancelled=cancelled)
    settled = replace(
        solution,
        values=values,
        penalties=None,
        state_policy=solver.policies["state"],
        patch_policy=solver.policies["patch"],
        edge_values=(solver.edge_values(values)[0],),
        converged=residual <= solution.options.tolerance,
        residual=residual,
    )
    return solver, settled


def _on_coarser(values: Values, levels: Sequence[HoleTables], coarse: HoleSolver) -> Values:
    """Values at the centres of coarser cells."""
    fine, grid = levels[0].grid, levels[1].grid
    found = coarse.green()
    for new, old, of, on in (
        (found.state, values.state, fine.state, grid.state),
        (found.patch, values.patch, fine.patch, grid.patch),
    ):
        rows, columns = of.index(on.centres())
        rows = np.clip(rows, 0, of.shape[0] - 1)
        columns = np.clip(columns, 0, of.shape[1] - 1)
        new[:] = old[:, rows, columns]
    coarse.builder.exchange(found)
    return found


@dataclass(frozen=True, eq=False)
class Level:
    """Best play with some number of strokes in hand.

    Parameters
    ----------
    cost
        Minus the worth from every place, the share of ties included.
    edges
        The same after the relief at every edge sample, for balls struck at this level.
    state_policy, patch_policy
        What to play where.
    tee
        Choice from the tee; its value is minus the worth, the share of ties included.
    """

    cost: Values
    edges: FloatArray
    state_policy: Policy
    patch_policy: Policy
    tee: TeeShot


class HoleWorth:
    """Best play of a hole for a worth of its score; made by :meth:`WorthSolver.solve`.

    Parameters
    ----------
    solver
        What solved it.
    worth
        What it was played for.
    levels
        Play by strokes in hand.
    """

    def __init__(self, solver: WorthSolver, worth: ScoreWorth, levels: dict[int, Level]) -> None:
        self.solver = solver
        self.worth = worth
        self.levels = levels
        self._means: ActionMeans | None = None

    @property
    def first(self) -> int:
        """Fewest strokes in hand that were followed."""
        return min(self.levels)

    @property
    def last(self) -> int:
        """Most strokes in hand that were followed."""
        return max(self.levels)

    def play_at(self, position_hole: Point, lie: Lie, in_hand: int) -> tuple[int, float]:
        """Swing and bearing [rad] played from a place off the green.

        The swing may be ``UNPLAYABLE``; it is ``NO_SWING`` where nothing is known.
        """
        level = self.levels[in_hand]
        policy, at = self.solver.cell(level.patch_policy, level.state_policy, position_hole, lie)
        return int(policy.swing[at]), float(policy.bearing[at])

    def tee_shot(self, in_hand: int) -> TeeShot:
        """Best shot from the tee; its value is the worth of the hole."""
        tee = self.levels[in_hand].tee
        left = self.solver.tee_shot.value
        return TeeShot(tee.swing, tee.bearing, self._without_ties(-tee.value, in_hand, left))

    def after_shot(
        self, position_hole: Point, lie: Lie, swing: int, bearing: float, *, left: float
    ) -> dict[int, float]:
        """Worth of one shot and best play after it, by strokes in hand before the shot.

        Parameters
        ----------
        position_hole, lie
            Where the ball is [m], and on what.
        swing, bearing
            What is played.
        left
            Expected strokes from there.
        """
        solver = self.solver
        if self._means is None:
            self._means = ActionMeans(
                solver.solver,
                [solver.cost_below(self, s) for s in self.levels],
                [level.edges for level in self.levels.values()],
            )
        means, lost = self._means.after(position_hole, lie, swing, bearing)
        found = {}
        for s, mean in zip(self.levels, means.tolist(), strict=True):
            again = solver.lost_cost(self, position_hole, lie, s) if lost > 0.0 else 0.0
            found[s] = self._without_ties(-(mean + lost * again), s, left)
        return found

    def _without_ties(self, worth: float, in_hand: int, left: float) -> float:
        tie = TIE_WORTH * self.worth.range * (in_hand - left - self.worth.first)
        return float(np.clip(worth - tie, self.worth.worth[0], self.worth.worth[-1]))


class WorthSolver:
    """Plays one solved hole for any worth of its score.

    Parameters
    ----------
    solver
        The hole's solver, open to all that may matter.
    solution
        The hole as it solves it for fewest strokes; see :func:`narrowed`.
    tee
        Where it is started [m].
    tee_shot
        The plan's shot from there.
    tee_swings
        Swings worth trying from there.
    most
        Strokes up to which the plan's score is followed.
    gap
        As for :func:`narrowed`, for the tee shot.
    """

    def __init__(
        self,
        solver: HoleSolver,
        solution: HoleSolution,
        tee: Point,
        tee_shot: TeeShot,
        tee_swings: Sequence[int],
        *,
        most: int,
        gap: float = GAP,
        cancelled: threading.Event | None = None,
    ) -> None:
        self.solver = solver
        self.solution = solution
        self.tee = tee
        self.tee_shot = tee_shot
        self._plan = PolicyEvaluation(solver, solution.values)
        self._within = self._plan.holed_within(most, cancelled=cancelled)
        self._stacked = [
            np.stack([getattr(one, name) for one in self._within[1:]]) for name in _FIELDS
        ]
        self._putts: dict[int, FloatArray] = {}
        self._tee_side = self._open_tee(tee_swings, gap)
        self.score = self._plan_score()

    @property
    def most(self) -> int:
        """Strokes up to which the plan's score is followed."""
        return len(self._within) - 1

    # -- the plan's own play -----------------------------------------------------------------

    def _open_tee(self, swings: Sequence[int], gap: float) -> Side:
        """The tee as a side, narrowed to shots within ``gap`` of the plan's."""
        solver, solution = self.solver, self.solution
        tables = solver.tables
        side = place_side(
            tables,
            solver.model,
            solver.builder,
            self.tee,
            Lie.TEE,
            [i for i in swings if Lie.TEE in solver.model.swings[i].patterns],
            patch=False,
            level_ratio=solver.options.level_ratio,
        )
        edges, _ = solver.edge_values(solution.values)
        fields, _ = solver.landing_fields([solution.values], [edges], in_play=True)
        run_sweep(
            side,
            fields,
            strokes_and_penalties(1, solver.options.penalty_price, solver.kind),
            refine=solver.options.refine,
            find=True,
            reference=np.full((1, 1, 1), self.tee_shot.value, dtype=solver.kind),
            gap=gap,
            threads=solver.threads,
        )
        near = side.near
        side.actions.window[near[..., 0] >= near[..., 1]] = 0
        return side

    def _plan_score(self) -> ScoreDistribution:
        """Chances of the hole's score as planned."""
        means = ActionMeans(
            self.solver,
            self._within[:-1],
            [self._plan.relief_within(self._within, k) for k in range(self.most)],
        )
        shot = self.tee_shot
        after, lost = means.after(self.tee, Lie.TEE, shot.swing, shot.bearing)
        within = np.zeros(self.most + 1)
        for k in range(1, self.most + 1):
            within[k] = after[k - 1] + lost * within[max(k - 2, 0)]
        # Interpolation may overshoot by its own error.
        within = np.maximum.accumulate(np.clip(within, 0.0, 1.0))
        return distribution(np.diff(within), first=1)

    def _weights(self, worth: ScoreWorth, in_hand: int) -> tuple[FloatArray, float]:
        """What the chance of 1, 2, ... strokes or fewer counts, and a score that has none."""
        cost = _cost(worth, in_hand - np.arange(1, self.most + 2))
        return cost[:-1] - cost[1:], float(cost[-1])

    def _plan_cost(self, worth: ScoreWorth, in_hand: int) -> Values:
        """Minus the worth of going on as planned, from every place."""
        rise, rest = self._weights(worth, in_hand)
        return Values(
            *((rest + np.tensordot(rise, one, axes=1)).astype(one.dtype) for one in self._stacked)
        )

    def _plan_tee(self, worth: ScoreWorth, in_hand: int) -> float:
        score = self.score
        cost = _cost(worth, in_hand - score.scores) @ score.chances
        return float(cost + score.remainder * _cost(worth, in_hand - score.remainder_from))

    # -- best play ----------------------------------------------------------------------------

    def solve(
        self,
        worth: ScoreWorth,
        *,
        first: int,
        last: int,
        cancelled: threading.Event | None = None,
    ) -> HoleWorth:
        """Best play with ``first`` to ``last`` strokes in hand, on the tee or after it.

        With fewer than ``first`` the hole is gone on with as planned.
        """
        pass_ = _Pass(self, worth, first)
        found: dict[int, Level] = {}
        for s in range(first, last + 1):
            check_cancelled(cancelled)
            found[s] = pass_.level(s)
        return HoleWorth(self, worth, found)

    def cost_below(self, found: HoleWorth, in_hand: int) -> Values:
        """Minus the worth from every place with one stroke fewer in hand."""
        level = found.levels.get(in_hand - 1)
        return self._plan_cost(found.worth, in_hand - 1) if level is None else level.cost

    def lost_cost(self, found: HoleWorth, position_hole: Point, lie: Lie, in_hand: int) -> float:
        """Minus the worth after a lost ball, back at a place with two strokes fewer in hand."""
        level = found.levels.get(in_hand - 2)
        if lie is Lie.TEE:
            return self._plan_tee(found.worth, in_hand - 2) if level is None else level.tee.value
        cost = self._plan_cost(found.worth, in_hand - 2) if level is None else level.cost
        field, at = self.cell(cost.patch, cost.state, position_hole, lie)
        return float(field[at])

    def cell(
        self, patch: T, state: T, position_hole: Point, lie: Lie
    ) -> tuple[T, tuple[int, int, int]]:
        """Which of two lattices' things holds for a place off the green, and its cell there."""
        grid = self.solver.tables.grid
        offset = np.abs(np.subtract(position_hole, self.solver.tables.pin)).max()
        inner = offset < grid.options.inner_half_width and lie is not Lie.TREES
        lattice = grid.patch if inner else grid.state
        row, column = lattice.index(np.asarray(position_hole))
        row = np.clip(row, 0, lattice.shape[0] - 1)
        column = np.clip(column, 0, lattice.shape[1] - 1)
        return (patch if inner else state), (PLAYED_LIES.index(lie), int(row), int(column))

    def planned_at(self, position_hole: Point, lie: Lie) -> tuple[int, float]:
        """The plan's swing (or ``UNPLAYABLE``) and bearing [rad] from a place off the green."""
        solution = self.solution
        policy, at = self.cell(solution.patch_policy, solution.state_policy, position_hole, lie)
        return int(policy.swing[at]), float(policy.bearing[at])

    def putts_at(self, index: PointIndex) -> FloatArray:
        """Chance to need at most 1, 2, ... putts at fixed points, ``(most, n)``."""
        if id(index) not in self._putts:
            self._putts[id(index)] = np.array(
                [
                    self.solver.model.putts_within(index.pin_distance, k)
                    for k in range(1, self.most + 1)
                ]
            )
        return self._putts[id(index)]


class _Pass:
    """Levels of one hole for one worth, from the lowest up."""

    def __init__(self, owner: WorthSolver, worth: ScoreWorth, first: int) -> None:
        self._owner = owner
        self._worth = worth
        self._cost: dict[int, Values] = {}
        self._base: dict[int, Field] = {}
        self._tee: dict[int, float] = {}
        for s in range(first - _BELOW, first):
            self._keep(s, owner._plan_cost(worth, s), owner._plan_tee(worth, s))

    def _keep(self, s: int, cost: Values, tee: float) -> None:
        self._cost[s] = cost
        self._base[s] = self._owner.solver.builder.base_values(cost)
        self._tee[s] = tee

    def level(self, s: int) -> Level:
        """Sweep the hole with ``s`` strokes in hand; all lower ones are known."""
        owner, worth = self._owner, self._worth
        solver = owner.solver
        tables = solver.tables
        below = self._cost[s - 1]
        edges = self._relief(tables.edges.drops, tables.edge_index, s - 1)
        fields = solver.landing_fields([below], [edges], in_play=False, bases=[self._base[s - 1]])
        # Places that are not swept, all of them remote, go on as planned.
        cost = owner._plan_cost(worth, s)
        best_possible = float(_cost(worth, np.array(s - 1)))
        policies = {}
        for side in solver.sides:
            value, swing, bearing = self._sweep(
                side, fields[0 if side.is_state else 1], self._lost(s, state=side.is_state)
            )
            for unplayable in solver.unplayable_of(side):
                if len(unplayable.cell):
                    relief = self._relief(unplayable.drops, unplayable.index, s)
                    flat = value[unplayable.slot].reshape(-1)
                    better = relief < flat[unplayable.cell]
                    cells = unplayable.cell[better]
                    flat[cells] = relief[better]
                    swing[unplayable.slot].reshape(-1)[cells] = UNPLAYABLE
            builder = solver.builder
            ours = ~builder.inner_state if side.is_state else builder.inner_patch
            held = cost.state if side.is_state else cost.patch
            known = ours & side.followed & np.isfinite(value)
            # Interpolation may overshoot the best that can be had.
            held[known] = np.maximum(value[known], best_possible)
            policies[side.name] = Policy(side.target, swing, bearing)
        solver.builder.exchange(cost)
        tee = self._tee_shot(fields[0], s)
        self._keep(s, cost, tee.value)
        return Level(cost, edges, policies["state"], policies["patch"], tee)

    def _sweep(
        self, side: Side, fields: LandingFields, lost: NDArray[np.floating]
    ) -> tuple[NDArray[np.floating], NDArray[np.int16], NDArray[np.float32]]:
        """Least cost from every place of a side, with the model's swing and bearing."""
        solver = self._owner.solver
        value, swing, bearing = run_sweep(
            side,
            fields,
            Quantities(np.zeros(1), np.zeros(1), lost[None]),
            refine=solver.options.refine,
            threads=solver.threads,
        )
        numbers = np.array([*side.swings, NO_SWING], dtype=np.int16)
        return value[0], numbers[swing], bearing

    def _lost(self, s: int, *, state: bool) -> NDArray[np.floating]:
        """Cost after a lost ball at every place of a side."""
        cost = self._cost[s - 2]
        return cost.state if state else cost.patch

    def _tee_shot(self, fields: LandingFields, s: int) -> TeeShot:
        lost = np.full((1, 1, 1), self._tee[s - 2], dtype=self._owner.solver.kind)
        value, swing, bearing = self._sweep(self._owner._tee_side, fields, lost)
        return TeeShot(int(swing[0, 0, 0]), float(bearing[0, 0, 0]), float(value[0, 0, 0]))

    def _relief(self, drops: DropPoints, index: PointIndex, s: int) -> FloatArray:
        """Least cost of relief from every situation, ``s`` strokes in hand before its penalty."""
        cost = np.empty(len(drops.strokes))
        for strokes in np.unique(drops.strokes):
            chosen = drops.strokes == strokes
            cost[chosen] = self._at(index, s - int(strokes))[chosen]
        return drops.best(cost)[0]

    def _at(self, index: PointIndex, s: int) -> FloatArray:
        """Cost at fixed points with ``s`` strokes in hand."""
        rise, rest = self._owner._weights(self._worth, s)
        green = rest + rise @ self._owner.putts_at(index)
        return point_values(index, self._base[s], self._cost[s].patch, green)


def _cost(worth: ScoreWorth, in_hand: NDArray[np.integer] | int) -> FloatArray:
    """Minus the worth of strokes in hand, ties broken by their number."""
    tie = TIE_WORTH * worth.range * (np.asarray(in_hand) - worth.first)
    return np.asarray(-(worth.at(in_hand) + tie))
