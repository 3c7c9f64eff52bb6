"""What a shot from any place is worth, given the value of the hole.

A place is a target lattice of one cell, so the arithmetic is that of the sweep. The ball may
lie anywhere and on anything, also on a tee; a shot may go along any bearing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.course.hole import Point
from planner.course.lies import Lie
from planner.golfer.shot_outcome import ASSUMED_CANOPY_STOP_SHARE, SwingStyle
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.place_side import place_side, uses_patch
from planner.strategy.solution import HoleSolution
from planner.strategy.sweep import sweep
from planner.strategy.sweep_types import nothing_followed, strokes_and_penalties

_EMPTY_NEAR = np.zeros((1, 1, 1, 4), np.int32)


@dataclass(frozen=True)
class ShotValue:
    """Expected cost of a swing along a bearing [rad], and expected penalties (NaN if uncounted)."""

    swing: int
    bearing: float
    value: float
    penalties: float


class ShotEvaluator:
    """Evaluates shots on one solved hole.

    Parameters
    ----------
    solution
        Solved hole.
    solver
        The solver that made it, or any of the same tables and model.
    """

    def __init__(self, solution: HoleSolution, solver: HoleSolver) -> None:
        self.solution = solution
        self._builder = solver.builder
        self._kind = solver.kind
        values = [solution.values]
        if solution.penalties is not None:
            values.append(solution.penalties)
        self._fields = solver.landing_fields(values, list(solution.edge_values), in_play=True)

    def best_by_swing(
        self, position_hole: Point, lie: Lie, swings: Sequence[int] | None = None
    ) -> list[ShotValue]:
        """Best bearing of every swing allowed from a place, least cost first.

        Swings that would end off the map, or that can hardly stay in play, are left out.
        """
        model = self.solution.model
        tables = self.solution.tables
        chosen = range(len(model.swings)) if swings is None else swings
        allowed = [i for i in chosen if lie in model.swings[i].patterns]
        near = math.dist(position_hole, tables.pin) <= tables.grid.options.inner_half_width
        found: list[ShotValue] = []
        for patch in (True, False):
            ours = [i for i in allowed if uses_patch(tables, model, i, position_hole) == patch]
            if near and not patch:
                ours = [i for i in ours if model.swings[i].style is not SwingStyle.PARTIAL]
            found += self._evaluate(ours, position_hole, lie, patch=patch)
        return sorted(found, key=lambda shot: shot.value)

    def value_of(
        self, position_hole: Point, lie: Lie, swing: int, bearing: float
    ) -> ShotValue | None:
        """Cost of one swing along exactly ``bearing`` [rad]; None if it cannot stay in play."""
        tables = self.solution.tables
        patch = uses_patch(tables, self.solution.model, swing, position_hole)
        found = self._evaluate([swing], position_hole, lie, patch=patch, bearing=bearing)
        return found[0] if found else None

    def _evaluate(
        self,
        swings: list[int],
        position_hole: Point,
        lie: Lie,
        *,
        patch: bool,
        bearing: float | None = None,
    ) -> list[ShotValue]:
        if not swings:
            return []
        solution = self.solution
        tables = solution.tables
        model = solution.model
        place = place_side(
            tables,
            model,
            self._builder,
            position_hole,
            lie,
            swings,
            patch=patch,
            level_ratio=solution.options.level_ratio,
            bearing=bearing,
        )
        fields = self._fields[1 if patch else 0]
        count = fields.rest.shape[0] - 1
        price = solution.options.penalty_price
        quantities = strokes_and_penalties(count, price, self._kind)
        found = []
        for i, number in enumerate(swings):
            value = np.full((count, 1, 1, 1), np.inf, dtype=self._kind)
            least = np.full((1, 1, 1), -1, dtype=np.int16)
            way = np.zeros((1, 1, 1), dtype=np.float32)
            sweep(
                np.array([i], dtype=np.int64),
                place.actions,
                place.tables,
                place.geometry,
                fields,
                place.in_play,
                place.blocked,
                ASSUMED_CANOPY_STOP_SHARE,
                quantities,
                bearing is None,
                True,
                False,
                nothing_followed(),
                value,
                least,
                way,
                np.zeros((1, 1, 1), dtype=self._kind),
                -1.0,
                _EMPTY_NEAR,
            )
            if np.isfinite(value[0, 0, 0, 0]):
                found.append(
                    ShotValue(
                        number,
                        float(way[0, 0, 0]),
                        float(value[0, 0, 0, 0]),
                        float(value[1, 0, 0, 0]) if count > 1 else math.nan,
                    )
                )
        return found
