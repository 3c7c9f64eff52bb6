"""A small hole as an explicit decision problem, solved by linear programming."""

import dataclasses
import math
from collections.abc import Iterator

import numpy as np
import pytest
import shapely
from scipy.optimize import linprog
from scipy.sparse import csr_array, vstack

from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import ASSUMED_CANOPY_STOP_SHARE
from planner.golfer.shot_pattern import ShotPattern, normal_covariance
from planner.strategy.grid import GridOptions
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.hole_tables import TableOptions, build_tables
from planner.strategy.relief_values import PLAYED_LIES
from planner.strategy.solution import SolveOptions
from planner.strategy.sweep import sweep
from planner.strategy.sweep_types import Quantities, nothing_followed
from planner.strategy.values import Values, point_values

from .builders import box_hole, model_of, partial_swings, stock, swing

TABLES = TableOptions(
    grid=GridOptions(
        cell=12.0, patch_half_width=48.0, inner_half_width=36.0, margin=48.0, beyond=48.0
    ),
    bearing_step=math.radians(8.0),
    patch_bearing_step=math.radians(15.0),
    longest_runs=(10.0, 10.0, 10.0, 10.0),
    patch_longest_runs=(10.0, 10.0, 10.0, 10.0),
    threads=1,
)
HOLE = box_hole(
    130.0,
    (Ground.FAIRWAY, shapely.box(20, -18, 110, 22)),
    (Ground.GREEN, shapely.box(112, -16, 146, 18)),
    (Ground.SAND, shapely.box(90, -40, 124, -17)),
    in_bounds=shapely.box(-40, -60, 190, 34),
)
GOLFER = model_of(
    swing(
        "Driver",
        90.0,
        ShotPattern(
            [0.85, 0.15],
            [[90.0, 4.0], [55.0, 12.0]],
            [normal_covariance((9.0, 14.0), -0.3), normal_covariance((15.0, 15.0), 0.0)],
            ("stock", "short"),
        ),
        lies=(Lie.TEE, Lie.FAIRWAY, Lie.ROUGH),
        run_m={Lie.FAIRWAY: 8.0, Lie.ROUGH: 3.0},
    ),
    swing("Iron", 60.0, stock(60.0, sd=(7.0, 9.0)), run_m={Lie.FAIRWAY: 5.0}),
    *partial_swings(12.0, 26.0, 40.0, sd=0.15),
    putts=None,
)
SOLVE = SolveOptions(
    tables=TABLES, tolerance=1e-9, max_sweeps=1, refine=False, double_precision=True
)


class Explicit:
    """Costs and transitions of every action of a solver, found by probing it with unit values.

    The unknowns are the values that a sweep improves: those of the inner patch and of the state
    lattice outside it. All others follow from them by interpolation.
    """

    def __init__(self, solver: HoleSolver) -> None:
        self.solver = solver
        self.present = np.isin(PLAYED_LIES, solver.tables.present)
        guess = solver.green()
        # Corners of the map from which nothing brings the ball nearer keep the first guess.
        reached = [
            np.isfinite(solver._improve(side, guess, -1.0)[0][0][0]) & self.present[:, None, None]
            for side in (solver.state_side, solver.patch_side)
        ]
        self.free_state = ~solver.builder.inner_state & reached[0]
        self.free_patch = solver.builder.inner_patch & reached[1]
        self.states = int(self.free_state.sum())
        self.size = self.states + int(self.free_patch.sum())

    def values(self, vector: np.ndarray, *, fixed: bool) -> Values:
        values = self.solver.green()
        values.state[~self.present] = 0
        values.patch[~self.present] = 0
        if not fixed:
            values.state[:] = 0
            values.patch[:] = 0
        values.state[self.free_state] = vector[: self.states]
        values.patch[self.free_patch] = vector[self.states :]
        if not fixed:
            values.green_base = np.zeros_like(values.green_base)
            values.green_patch = np.zeros_like(values.green_patch)
        self.solver.builder.exchange(values)
        return values

    def vector(self, values: Values) -> np.ndarray:
        return np.concatenate((values.state[self.free_state], values.patch[self.free_patch]))

    def units(self) -> list[Values]:
        eye = np.eye(self.size)
        return [self.values(row, fixed=False) for row in eye]

    def actions(self) -> Iterator[tuple[np.ndarray, np.ndarray, csr_array]]:
        """For each swing and bearing: unknowns it is tried at, costs there, transitions."""
        solver = self.solver
        none = np.zeros(len(solver.tables.edges.edges_hole))
        assert none.size == 0
        zero = self.values(np.zeros(self.size), fixed=True)
        # The first probe decides; the others are carried along with it.
        probes = [zero, *self.units()]
        ones = solver.landing_fields([], [], in_play=True)
        for side, part, free in (
            (solver.state_side, 0, self.free_state),
            (solver.patch_side, 1, self.free_patch),
        ):
            fields = solver.builder.landing_fields(probes, [none] * len(probes))[part]
            number = np.full(free.shape, -1)
            number[free] = np.arange(free.sum()) + (self.states if part else 0)
            every = side.actions.window.copy()
            # Told that every ball stays in play, a sweep leaves the plain means.
            sure = side.in_play._replace(offset=np.full_like(side.in_play.offset, -1))

            def means(of, count, s, side=side, free=free, sure=sure):
                value = np.full((count, *free.shape), np.inf)
                # One stroke for the probe that decides, none for those carried along.
                stroke = np.eye(1, count)[0]
                counts = Quantities(stroke, np.zeros(count), np.empty((0, 0, 0, 0)))
                sweep(
                    np.array([s]), side.actions, side.tables, side.geometry, of, sure,
                    side.blocked, ASSUMED_CANOPY_STOP_SHARE, counts, False, False, False,
                    nothing_followed(), value, np.full(free.shape, -1, np.int16),
                    np.zeros(free.shape, np.float32),
                    np.zeros((1, 1, 1)), -1.0, side.near,
                )  # fmt: skip
                value[0] -= 1.0
                return value

            for s in range(len(side.swings)):
                for b in range(len(side.actions.bearings)):
                    side.actions.window[:] = 0
                    side.actions.window[s, :, b] = every[s, :, b]
                    total = means(fields, len(probes), s)
                    stays = np.minimum(means(ones[part], 1, s)[0], 1.0)
                    tried = np.isfinite(total[0]) & free & (stays >= 0.05)
                    if tried.any():
                        p = stays[tried]
                        cost = (1.0 + (1.0 - p) + total[0][tried]) / p
                        yield number[tried], cost, csr_array((total[1:, tried] / p).T)
            side.actions.window[:] = every
            yield from self._unplayable(number, free, part, zero, probes[1:])

    def _unplayable(self, number, free, part, zero, units):
        """Declaring a ball unplayable, a drop at a time."""
        solver = self.solver
        tables = solver.tables
        for one in tables.patch_unplayable if part else tables.state_unplayable:
            putts = GOLFER.expected_putts(one.index.pin_distance)

            def at_drops(values, green, index=one.index):
                base = solver.builder.base_values(values)
                return point_values(index, base, values.patch, green)

            cost = at_drops(zero, putts) + one.drops.strokes
            moves = np.array([at_drops(unit, np.zeros_like(putts)) for unit in units]).T
            owner = np.repeat(one.cell, np.diff(one.drops.start))
            found = number[one.slot].reshape(-1)[owner]
            ours = found >= 0
            if ours.any():
                yield found[ours], cost[ours], csr_array(moves[ours])


def linear_program(rows: np.ndarray, costs: np.ndarray, moves: csr_array, size: int) -> np.ndarray:
    """Greatest values with ``v(x) <= cost + move @ v`` for every action.

    Actions that bind nowhere are left out and only taken in when the solution breaks them.
    """
    own = csr_array((np.ones(len(rows)), (np.arange(len(rows)), rows)), shape=(len(rows), size))
    matrix = (own - moves).tocsr()
    guess = np.full(size, 5.0)
    backup = costs + moves @ guess
    least = np.full(size, np.inf)
    np.minimum.at(least, rows, backup)
    used = backup <= least[rows] + 0.3
    while True:
        found = linprog(
            -np.ones(size), A_ub=matrix[used], b_ub=costs[used], bounds=(0, 50), method="highs",
            options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
        )  # fmt: skip
        assert found.status == 0, found.message
        broken = (matrix @ found.x > costs + 1e-9) & ~used
        if not broken.any():
            return found.x
        used |= broken


@pytest.fixture(scope="module")
def problem():
    solver = HoleSolver(build_tables(HOLE, TABLES), GOLFER, SOLVE)
    explicit = Explicit(solver)
    rows, costs, moves = zip(*explicit.actions(), strict=True)
    return explicit, np.concatenate(rows), np.concatenate(costs), vstack(moves).tocsr()


@pytest.fixture(scope="module")
def swept(problem):
    """Fixed point of sweeps over every action."""
    solver = problem[0].solver
    values = solver.green()
    solver.builder.exchange(values)
    for _ in range(200):
        if max([solver._sweep(side, values) for side in solver.sides]) < SOLVE.tolerance:
            return values
    raise AssertionError("sweeps did not settle")


def test_actions_reach_every_place(problem):
    explicit, rows, _, _ = problem
    assert set(rows) == set(range(explicit.size))
    assert len(rows) > 8 * explicit.size


def test_the_explicit_operator_is_that_of_a_sweep(problem):
    explicit, rows, costs, moves = problem
    rng = np.random.default_rng(7)
    guess = 3.0 + rng.random(explicit.size)
    expected = np.full(explicit.size, np.inf)
    np.minimum.at(expected, rows, costs + moves @ guess)
    solver = explicit.solver
    for side, ours in (
        (solver.patch_side, slice(explicit.states, None)),
        (solver.state_side, slice(None, explicit.states)),
    ):
        values = explicit.values(guess, fixed=True)
        solver._sweep(side, values)
        np.testing.assert_allclose(explicit.vector(values)[ours], expected[ours], atol=1e-12)


def test_linear_programming_gives_the_same_values(problem, swept):
    explicit, rows, costs, moves = problem
    optimal = linear_program(rows, costs, moves, explicit.size)
    np.testing.assert_allclose(explicit.vector(swept), optimal, atol=1e-6)


def test_following_near_best_actions_only_loses_little(problem, swept):
    # A plan's solve follows only actions that came near the best on coarser lattices.
    options = dataclasses.replace(SOLVE, max_sweeps=100, tolerance=1e-6, count_penalties=False)
    solution, solver = solve_hole(build_levels(HOLE, TABLES), GOLFER, options)
    assert solution.converged
    assert solution.residual <= 1e-6
    for side, found, best in (
        (solver.state_side, solution.values.state, swept.state),
        (solver.patch_side, solution.values.patch, swept.patch),
    ):
        loss = (found - best)[side.wanted() & side.occurs]
        # Corners that nothing reaches keep the coarse lattices' values here, a guess there.
        assert loss.min() > -4e-3
        assert loss.max() < 1e-3
