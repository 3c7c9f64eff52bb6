"""Means of many quantities after one shot, from any place: one action, all of them at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Point
from planner.course.lies import Lie
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.place_side import place_side, uses_patch
from planner.strategy.sweep_run import run_sweep
from planner.strategy.sweep_types import Quantities
from planner.strategy.values import Values

__all__ = ["ActionMeans"]

FloatArray = NDArray[np.float64]
_ROUNDING = 1e-6
"""A chance to lose the ball that is smaller is rounding."""


class ActionMeans:
    """Means of ``n`` quantities after one shot.

    Parameters
    ----------
    solver
        Solver of the hole.
    values
        Each quantity at every place.
    edges
        Each quantity after the relief at every edge sample.
    """

    def __init__(
        self, solver: HoleSolver, values: Sequence[Values], edges: Sequence[FloatArray]
    ) -> None:
        self._solver = solver
        self._count = len(values) + 1
        self._fields = solver.landing_fields(list(values), list(edges), in_play=True)

    def after(
        self, position_hole: Point, lie: Lie, swing: int, bearing: float
    ) -> tuple[FloatArray, float]:
        """Means over the balls in play, shape ``(n,)``, and the chance that the ball is lost.

        Means are weighted by the chance to be in play: a quantity that is one everywhere has the
        mean one less the second result.

        Parameters
        ----------
        position_hole, lie
            Where the ball is [m], and on what.
        swing, bearing
            Swing of the model that the lie allows, and where it is aimed [rad].
        """
        solver = self._solver
        tables = solver.tables
        patch = uses_patch(tables, solver.model, swing, position_hole)
        side = place_side(
            tables,
            solver.model,
            solver.builder,
            position_hole,
            lie,
            [swing],
            patch=patch,
            level_ratio=solver.options.level_ratio,
            bearing=bearing,
        )
        nothing = np.zeros(self._count)
        again = np.zeros((self._count, 1, 1, 1), dtype=solver.kind)
        found, _, _ = run_sweep(
            side,
            self._fields[1 if patch else 0],
            Quantities(nothing, nothing, again),
            refine=False,
        )
        means = found[:, 0, 0, 0].astype(float)
        if not np.isfinite(means).all():
            # It ends off the map.
            return np.zeros(self._count - 1), 1.0
        lost = 1.0 - float(means[-1])
        return means[:-1], lost if lost > _ROUNDING else 0.0
