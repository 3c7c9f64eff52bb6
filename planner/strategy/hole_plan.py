"""Value and policy of one hole, from coarse lattices to fine ones."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Hole
from planner.errors import SolveError
from planner.golfer.shot_outcome import ShotModel
from planner.strategy.grid import Lattice
from planner.strategy.hole_solver import Gaps, HoleSolver
from planner.strategy.hole_tables import HoleTables, TableOptions, build_tables
from planner.strategy.policy_evaluation import MOST_SWEEPS, PolicyEvaluation
from planner.strategy.solution import HoleSolution, Policy, SolveOptions
from planner.strategy.sweep import NO_SWING
from planner.strategy.values import Values, interpolate

__all__ = ["build_levels", "coarse_options", "preview_options", "solve_hole"]

FloatArray = NDArray[np.float64]

COARSE_LABELS = 3
"""Points along a coarse cell at which the ground is looked at."""
PREVIEW_CELL_M, PREVIEW_PATCH_RATIO = 6.0, 2
"""Base cells of a first look [m], and patch cells along one."""
COARSEST_CELL_M = 12.5
"""Lattices are made coarser, twice at a time, up to this cell [m]."""
GAPS = (Gaps(0.25, 0.1, 0.08), Gaps(0.5, 0.3, 0.1))
"""How closely the next coarser level is explored, and all that are coarser than it."""
PENALTY_TOLERANCE = 0.03
"""Largest change of a place's expected penalties at which their count has settled [strokes]."""
FINE_STROKES = 2
"""Strokes whose penalties are counted on the finest lattices; those of later ones are as coarser
lattices have them. The rest of a hole after two strokes has few, and those well known: the count
from the tee is within 0.0005 of the settled one."""


def coarse_options(options: TableOptions) -> TableOptions:
    """Table options of the exploring solve: cells and bearing steps twice as large."""
    return replace(
        options,
        grid=replace(options.grid, cell=2 * options.grid.cell, state_ratio=2, labels=COARSE_LABELS),
        bearing_step=2 * options.bearing_step,
        patch_bearing_step=2 * options.patch_bearing_step,
    )


def preview_options(options: TableOptions) -> TableOptions:
    """Table options of a first look: those of an exploring solve, but for its cells."""
    found = coarse_options(options)
    cells = replace(found.grid, cell=PREVIEW_CELL_M, patch_ratio=PREVIEW_PATCH_RATIO)
    return replace(found, grid=cells)


def build_levels(hole: Hole, options: TableOptions) -> tuple[HoleTables, ...]:
    """Tables of a hole with ``options``, then of ever coarser ones, for :func:`solve_hole`."""
    levels = [build_tables(hole, options)]
    while 2 * levels[-1].options.grid.cell <= COARSEST_CELL_M:
        finer = levels[-1]
        levels.append(build_tables(hole, coarse_options(finer.options), finer=finer))
    return tuple(levels)


def solve_hole(
    levels: Sequence[HoleTables],
    model: ShotModel,
    options: SolveOptions | None = None,
    *,
    cancelled: threading.Event | None = None,
    report: Callable[[str], None] | None = None,
) -> tuple[HoleSolution, HoleSolver]:
    """Solve a hole; also returns the solver, which evaluators reuse.

    Parameters
    ----------
    levels
        Tables of the hole from fine to coarse, as :func:`build_levels` gives them.
    model
        Swings, putting and wind of the golfer.
    options
        Objective and tolerances.
    cancelled
        Set by another thread to stop; raises ``Cancelled``.
    report
        Called with a line after each sweep.

    Raises
    ------
    SolveError
        Some place on the hole has no playable shot.
    """
    opts = options or SolveOptions()
    tables = levels[0]
    solver: HoleSolver | None = None
    found: Values | None = None
    for number in range(len(levels) - 1, 0, -1):
        solver = HoleSolver(levels[number], model, opts, start=solver)
        found = _handed_on(found, levels[number + 1 :], solver)
        solver.explore(found, GAPS[min(number, len(GAPS)) - 1], cancelled)
    coarse, rough = solver, found
    solver = HoleSolver(tables, model, opts, start=coarse)
    first = _handed_on(rough, levels[1:], solver)
    converged, residual, sweeps = solver.refine(first, cancelled=cancelled, report=report)
    if not np.isfinite(first.state).all():
        raise SolveError(
            f"hole {tables.hole.ref}: some places have no playable shot; "
            "the bag needs a club that may be played from every lie on the hole"
        )
    edges, _ = solver.edge_values(first)
    penalties: Values | None = None
    edge_penalties: FloatArray | None = None
    if opts.count_penalties:
        policy = PolicyEvaluation(solver, first)
        start = _rough_penalties(coarse, rough, levels[1:], solver, cancelled)
        penalties = policy.additive(
            stroke=0.0,
            penalty=1.0,
            start=start,
            tolerance=PENALTY_TOLERANCE,
            most=MOST_SWEEPS if start is None else FINE_STROKES,
            cancelled=cancelled,
        )
        edge_penalties = policy.edge_penalties(penalties)
    solution = HoleSolution(
        tables=tables,
        model=model,
        options=opts,
        values=first,
        penalties=penalties,
        state_policy=_with_far_places(solver, coarse),
        patch_policy=solver.policies["patch"],
        edge_values=(edges,) if edge_penalties is None else (edges, edge_penalties),
        converged=converged,
        residual=residual,
        sweeps=sweeps,
    )
    return solution, solver


def _handed_on(found: Values | None, coarser: Sequence[HoleTables], solver: HoleSolver) -> Values:
    """Values to start a solver from: those of the next coarser level, ``found``, if any."""
    first = solver.green()
    if found is not None:
        coarse, fine = coarser[0].grid, solver.tables.grid
        first.state[:] = _resample(found.state, coarse.state, fine.state)
        first.patch[:] = _resample(found.patch, coarse.patch, fine.patch)
        solver.builder.exchange(first)
    return first


def _with_far_places(solver: HoleSolver, coarse: HoleSolver | None) -> Policy:
    """The policy of the state lattice, with that of the next coarser level where it was not swept.

    There, far from the line of play, hardly any action was tried, and few balls come; but what
    they play counts when the plan is followed.
    """
    fine = solver.policies["state"]
    if coarse is None:
        return fine
    rough = coarse.policies["state"]
    row, column = rough.lattice.index(fine.lattice.centres())
    row = np.clip(row, 0, rough.lattice.shape[0] - 1)
    column = np.clip(column, 0, rough.lattice.shape[1] - 1)
    known = coarse.state_side.followed[:, row, column]
    swing, bearing = rough.swing[:, row, column], rough.bearing[:, row, column]
    taken = ~solver.state_side.followed & known & (swing != NO_SWING)
    return Policy(
        fine.lattice,
        np.where(taken, swing, fine.swing),
        np.where(taken, bearing, fine.bearing),
    )


def _rough_penalties(
    coarse: HoleSolver | None,
    found: Values | None,
    coarser: Sequence[HoleTables],
    solver: HoleSolver,
    cancelled: threading.Event | None,
) -> Values | None:
    """Expected penalties under the next coarser level's policy, for ``solver`` to start from."""
    if coarse is None or found is None:
        return None
    rough = PolicyEvaluation(coarse, found).additive(
        stroke=0.0, penalty=1.0, tolerance=PENALTY_TOLERANCE, cancelled=cancelled
    )
    start = solver.zero()
    start.state[:] = _resample(rough.state, coarser[0].grid.state, solver.tables.grid.state)
    start.patch[:] = _resample(rough.patch, coarser[0].grid.patch, solver.tables.grid.patch)
    return start


def _resample(
    field_values: NDArray[np.floating], old: Lattice, new: Lattice
) -> NDArray[np.floating]:
    """Values of ``old`` on the finer ``new``; both have a lattice line through the pin."""
    fine = interpolate(field_values, round(old.cell / new.cell))
    row = round((new.start[0] - old.start[0]) / new.cell)
    column = round((new.start[1] - old.start[1]) / new.cell)
    rows = np.clip(np.arange(new.shape[0]) + row, 0, fine.shape[1] - 1)
    columns = np.clip(np.arange(new.shape[1]) + column, 0, fine.shape[2] - 1)
    return np.asarray(fine[:, rows[:, None], columns[None, :]])
