"""What the best shot with each club costs from everywhere on a solved hole.

A solve keeps only the best action of a place. Here every club is swept over the solved values by
itself, once, with every sensible bearing open to it: its cost less the best club's is what the
club's absence of rivals would cost there, before the values change.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.strategy.grid import Lattice
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.solution import HoleSolution
from planner.strategy.solver_side import build_side
from planner.strategy.sweep import NO_SWING
from planner.strategy.sweep_run import run_sweep
from planner.strategy.sweep_types import strokes_and_penalties

__all__ = ["ClubCosts", "club_costs"]


@dataclass(frozen=True, eq=False)
class ClubCosts:
    """Best shot of each of ``c`` clubs on one lattice; ``l`` lies in the order ``PLAYED_LIES``.

    Parameters
    ----------
    lattice
        Where the balls lie.
    cost
        Expected strokes with the club's best shot, shape ``(c, l, rows, columns)``; infinite
        where it has none.
    swing, bearing
        That shot: index into the model's swings (negative if none) and aim [rad], same shape.
    """

    lattice: Lattice
    cost: NDArray[np.float32]
    swing: NDArray[np.int16]
    bearing: NDArray[np.float32]


def club_costs(
    solution: HoleSolution, solver: HoleSolver, clubs: tuple[str, ...]
) -> tuple[ClubCosts, ClubCosts]:
    """Costs of ``clubs`` on the patch and on the state lattice of a solved hole.

    Each lattice has them where the solver uses it, see
    :func:`planner.strategy.values.inner_mask`; elsewhere they are worth little.

    Parameters
    ----------
    clubs
        Labels; clubs the model has no swing with cost an infinity.
    """
    return (
        _side_costs("patch", solution, solver, clubs),
        _side_costs("state", solution, solver, clubs),
    )


def _side_costs(
    name: str, solution: HoleSolution, solver: HoleSolver, clubs: tuple[str, ...]
) -> ClubCosts:
    values, model, tables = solution.values, solution.model, solution.tables
    # The solver has closed its own sides to all but near-best actions.
    side = build_side(name, tables, model, solver.options, solver.builder, solver.threads)
    edges, _ = solver.edge_values(values)
    fields = solver.landing_fields([values], [edges], in_play=True)[0 if side.is_state else 1]
    counts = strokes_and_penalties(1, solver.options.penalty_price, solver.kind)
    shape = (side.actions.weight.shape[1], *side.target.shape)
    cost = np.full((len(clubs), *shape), np.inf, dtype=np.float32)
    swing = np.full((len(clubs), *shape), NO_SWING, dtype=np.int16)
    bearing = np.zeros((len(clubs), *shape), dtype=np.float32)
    number = np.array([*side.swings, NO_SWING], dtype=np.int16)
    owner = np.array([model.swings[i].club for i in side.swings])
    for i, club in enumerate(clubs):
        if not (owner == club).any():
            continue
        window = side.actions.window.copy()
        window[owner != club] = 0
        (value, chosen, aim) = run_sweep(
            side,
            fields,
            counts,
            actions=side.actions._replace(window=window),
            refine=solver.options.refine,
            find=True,
            threads=solver.threads,
        )
        cost[i], bearing[i] = value[0], aim
        swing[i] = np.where(chosen >= 0, number[np.maximum(chosen, -1)], NO_SWING)
    return ClubCosts(side.target, cost, swing, bearing)
