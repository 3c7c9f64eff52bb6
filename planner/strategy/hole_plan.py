"""Value and policy of one hole, from coarse lattices to fine ones."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.errors import SolveError
from planner.golfer.shot_outcome import ShotModel
from planner.strategy.grid import Lattice
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.hole_tables import HoleTables, TableOptions, build_tables
from planner.strategy.solution import HoleSolution, SolveOptions
from planner.strategy.values import interpolate


def coarse_options(options: TableOptions) -> TableOptions:
    """Table options of the exploring solve: cells and bearing steps twice as large."""
    return replace(
        options,
        grid=replace(options.grid, cell=2 * options.grid.cell, state_ratio=2),
        bearing_step=2 * options.bearing_step,
        patch_bearing_step=2 * options.patch_bearing_step,
    )


def solve_hole(
    tables: HoleTables,
    coarse_tables: HoleTables,
    model: ShotModel,
    options: SolveOptions | None = None,
    *,
    cancelled: threading.Event | None = None,
    report: Callable[[str], None] | None = None,
) -> tuple[HoleSolution, HoleSolver]:
    """Solve a hole; also returns the solver, which evaluators reuse.

    Parameters
    ----------
    tables, coarse_tables
        Tables of the hole, and those built with :func:`coarse_options`.
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
    explorer = HoleSolver(coarse_tables, model, opts)
    rough = [explorer.green()]
    explorer.explore(rough, cancelled)
    solver = HoleSolver(tables, model, opts, start=explorer)
    first = solver.green()
    first.state[:] = _resample(rough[0].state, coarse_tables.grid.state, tables.grid.state)
    first.patch[:] = _resample(rough[0].patch, coarse_tables.grid.patch, tables.grid.patch)
    values = [first]
    solver.builder.exchange(first)
    converged, residual, sweeps = solver.refine(values, cancelled=cancelled, report=report)
    if not np.isfinite(values[0].state).all():
        raise SolveError(
            f"hole {tables.hole.ref}: some places have no playable shot; "
            "the bag needs a club that may be played from every lie on the hole"
        )
    if opts.count_penalties:
        values = solver.count(first, cancelled=cancelled)
    solution = HoleSolution(
        tables=tables,
        model=model,
        options=opts,
        values=values[0],
        penalties=values[1] if opts.count_penalties else None,
        state_policy=solver.policies["state"],
        patch_policy=solver.policies["patch"],
        edge_values=tuple(solver.edge_values(values)),
        converged=converged,
        residual=residual,
        sweeps=sweeps,
    )
    return solution, solver


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


__all__ = ["build_tables", "coarse_options", "solve_hole"]
