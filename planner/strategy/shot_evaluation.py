"""What a shot from any place is worth, given the value of the hole.

A place is a target lattice of one cell, so the arithmetic is that of the sweep. The ball may
lie anywhere and on anything, also on a tee; a shot may go along any bearing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Point
from planner.course.lies import Lie
from planner.golfer.shot_outcome import ASSUMED_CANOPY_STOP_SHARE, SwingStyle
from planner.strategy.actions import action_arrays, blocked_starts
from planner.strategy.grid import Lattice
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.solution import HoleSolution
from planner.strategy.solver_side import SHORT_LONGEST_M, empty_in_play, geometry_of
from planner.strategy.sweep import sweep
from planner.strategy.sweep_types import nothing_followed, strokes_and_penalties
from planner.strategy.transition import LandingTables
from planner.strategy.tree_block import start_block

_WIDEST = math.radians(60.0)
_WIDEST_PUNCH = math.radians(150.0)
_FAN = np.radians(0.75) * np.arange(-40, 41)
"""Start directions looked at round a single bearing [rad]."""
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
            ours = [i for i in allowed if self._uses_patch(i, position_hole) == patch]
            if near and not patch:
                ours = [i for i in ours if model.swings[i].style is not SwingStyle.PARTIAL]
            side = self._landing_tables(patch=patch)
            found += self._evaluate(ours, position_hole, lie, side, patch=patch, refine=True)
        return sorted(found, key=lambda shot: shot.value)

    def value_of(
        self, position_hole: Point, lie: Lie, swing: int, bearing: float
    ) -> ShotValue | None:
        """Cost of one swing along exactly ``bearing`` [rad]; None if it cannot stay in play."""
        tables = self.solution.tables
        patch = self._uses_patch(swing, position_hole)
        side = (tables.patch if patch else tables.base).along(bearing)
        found = self._evaluate(
            [swing], position_hole, lie, side, patch=patch, refine=False, narrow=False
        )
        return found[0] if found else None

    def _landing_tables(self, *, patch: bool) -> LandingTables:
        tables = self.solution.tables
        held = tables.patch if patch else tables.base
        return held.whole(threads=tables.options.threads)

    def _uses_patch(self, swing: int, position_hole: Point) -> bool:
        """Whether a short swing from here lands well inside the patch."""
        one = self.solution.model.swings[swing]
        if one.style is not SwingStyle.PARTIAL or one.carry_m > SHORT_LONGEST_M:
            return False
        grid = self.solution.tables.grid
        half = 0.5 * grid.patch.cell * grid.patch.shape[0]
        offset = np.abs(np.subtract(position_hole, self.solution.tables.pin)).max()
        return bool(offset < half - 4.0 and (offset < 0.6 * half or one.carry_m > 0.5 * offset))

    def _evaluate(
        self,
        swings: list[int],
        position_hole: Point,
        lie: Lie,
        side: LandingTables,
        *,
        patch: bool,
        refine: bool,
        narrow: bool = True,
    ) -> list[ShotValue]:
        if not swings:
            return []
        solution = self.solution
        tables = solution.tables
        model = solution.model
        landing = tables.grid.patch if patch else tables.grid.base
        target = Lattice((position_hole[0] - 0.5, position_hole[1] - 0.5), 1.0, (1, 1))
        chosen = [model.swings[i] for i in swings]
        actions = action_arrays(
            chosen,
            tables.hole,
            side.bearings,
            wind_from=model.wind_from,
            lies=(lie,),
        )
        to_pin = math.atan2(tables.pin[1] - position_hole[1], tables.pin[0] - position_hole[0])
        turned = np.abs(np.mod(side.bearings - to_pin + np.pi, 2 * np.pi) - np.pi)
        for i, swing in enumerate(chosen):
            widest = _WIDEST_PUNCH if swing.style is SwingStyle.PUNCH else _WIDEST
            ends = np.asarray(position_hole) + self._mean_end(
                actions.mean[i, :, 0, 0], side.bearings
            )
            fits = landing.contains(ends) & ((turned <= widest) | (not narrow))
            actions.window[i, 0, fits] = (0, 1, 0, 1)
        bearings = side.bearings
        fan = bearings if len(bearings) > 1 else float(bearings[0]) + _FAN
        block = start_block(target, tables.base_rays, fan, reach=tables.options.longest_climb)
        blocked = blocked_starts(
            actions, chosen, block, tables.base_rays, target, bearings, self._kind
        )
        layout = self._builder.patch_layout() if patch else self._builder.base_layout()
        geometry = geometry_of(
            tables.hole,
            landing,
            target,
            layout,
            level_ratio=solution.options.level_ratio,
            levels=2 if patch else 3,
        )
        in_play = empty_in_play(actions, self._kind)
        fields = self._fields[1 if patch else 0]
        count = fields.rest.shape[0] - 1
        price = solution.options.penalty_price
        quantities = strokes_and_penalties(count, price, self._kind)
        found = []
        for i, number in enumerate(swings):
            value = np.full((count, 1, 1, 1), np.inf, dtype=self._kind)
            least = np.full((1, 1, 1), -1, dtype=np.int16)
            bearing = np.zeros((1, 1, 1), dtype=np.float32)
            sweep(
                np.array([i], dtype=np.int64),
                actions,
                side,
                geometry,
                fields,
                in_play,
                blocked,
                ASSUMED_CANOPY_STOP_SHARE,
                quantities,
                refine,
                True,
                False,
                nothing_followed(),
                value,
                least,
                bearing,
                np.zeros((1, 1, 1), dtype=self._kind),
                -1.0,
                _EMPTY_NEAR,
            )
            if np.isfinite(value[0, 0, 0, 0]):
                found.append(
                    ShotValue(
                        number,
                        float(bearing[0, 0, 0]),
                        float(value[0, 0, 0, 0]),
                        float(value[1, 0, 0, 0]) if count > 1 else math.nan,
                    )
                )
        return found

    @staticmethod
    def _mean_end(mean: NDArray[np.float64], bearings: NDArray[np.float64]) -> NDArray[np.float64]:
        cos, sin = np.cos(bearings), np.sin(bearings)
        along, across = mean.T
        return np.column_stack((along * cos - across * sin, along * sin + across * cos))
