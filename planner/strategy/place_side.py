"""One place with one lie as a side of a sweep: a target lattice of a single cell.

The ball may lie anywhere and on anything, also on a tee, and be played along any bearing, with
the arithmetic of the sweep.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Point
from planner.course.lies import Lie
from planner.golfer.shot_outcome import ShotModel, SwingStyle
from planner.strategy.actions import action_arrays, blocked_starts
from planner.strategy.grid import Lattice
from planner.strategy.hole_tables import HoleTables
from planner.strategy.reach import landed_rows
from planner.strategy.solver_side import (
    BASE_LEVELS,
    PATCH_LEVELS,
    SHORT_LONGEST_M,
    Side,
    empty_in_play,
    geometry_of,
)
from planner.strategy.tree_block import start_block
from planner.strategy.values import FieldBuilder

__all__ = ["place_side", "uses_patch"]

_WIDEST = math.radians(60.0)
_WIDEST_PUNCH = math.radians(150.0)
_FAN = np.radians(0.75) * np.arange(-40, 41)
"""Start directions looked at round a single bearing [rad]."""


def uses_patch(tables: HoleTables, model: ShotModel, swing: int, position_hole: Point) -> bool:
    """Whether a short swing from here lands well inside the patch."""
    one = model.swings[swing]
    if one.style is not SwingStyle.PARTIAL or one.carry_m > SHORT_LONGEST_M:
        return False
    half = 0.5 * tables.grid.patch.cell * tables.grid.patch.shape[0]
    offset = np.abs(np.subtract(position_hole, tables.pin)).max()
    return bool(offset < half - 4.0 and (offset < 0.6 * half or one.carry_m > 0.5 * offset))


def place_side(
    tables: HoleTables,
    model: ShotModel,
    builder: FieldBuilder,
    position_hole: Point,
    lie: Lie,
    swings: Sequence[int],
    *,
    patch: bool,
    level_ratio: float,
    bearing: float | None = None,
) -> Side:
    """Everything a sweep needs to try ``swings`` from one place.

    Parameters
    ----------
    position_hole, lie
        Where the ball is [m], and on what.
    swings
        Indices of swings of the model that the lie allows.
    patch
        Whether balls land on the patch.
    level_ratio
        As in :class:`planner.strategy.solution.SolveOptions`.
    bearing
        The one bearing to try [rad]; else all of the tables that are not too far from the pin's.
    """
    held = tables.patch if patch else tables.base
    landing = held.lattice
    target = Lattice((position_hole[0] - 0.5, position_hole[1] - 0.5), 1.0, (1, 1))
    chosen = [model.swings[i] for i in swings]
    bearings = held.tried if bearing is None else np.array([bearing])
    actions = action_arrays(chosen, tables.hole, bearings, wind_from=model.wind_from, lies=(lie,))
    to_pin = math.atan2(tables.pin[1] - position_hole[1], tables.pin[0] - position_hole[0])
    turned = np.abs(np.mod(bearings - to_pin + np.pi, 2 * np.pi) - np.pi)
    for i, swing in enumerate(chosen):
        widest = _WIDEST_PUNCH if swing.style is SwingStyle.PUNCH else _WIDEST
        ends = np.asarray(position_hole) + _mean_end(actions.mean[i, :, 0, 0], bearings)
        fits = landing.contains(ends) & ((turned <= widest) | (bearing is not None))
        actions.window[i, 0, fits] = (0, 1, 0, 1)
    fan = bearings if bearing is None else bearing + _FAN
    block = start_block(target, tables.base_rays, fan, reach=tables.options.longest_climb)
    geometry = geometry_of(
        tables.hole,
        landing,
        target,
        builder.patch_layout() if patch else builder.base_layout(),
        level_ratio=level_ratio,
        levels=PATCH_LEVELS if patch else BASE_LEVELS,
    )
    of_tables = held.bearings if bearing is None else bearings
    rows = landed_rows(actions, geometry, of_tables)
    if bearing is None:
        landings = held.of_rows(rows, threads=tables.options.threads)
    else:
        landings = held.along(bearing, rows[0])
    here: NDArray[np.bool_] = np.ones((1, 1, 1), dtype=bool)
    return Side(
        "patch" if patch else "state",
        list(swings),
        actions,
        landings,
        geometry,
        blocked_starts(actions, chosen, block, tables.base_rays, target, bearings, builder.kind),
        empty_in_play(actions, builder.kind),
        target,
        np.zeros_like(actions.window),
        here,
        here[0],
        here,
    )


def _mean_end(mean: NDArray[np.float64], bearings: NDArray[np.float64]) -> NDArray[np.float64]:
    cos, sin = np.cos(bearings), np.sin(bearings)
    along, across = mean.T
    return np.column_stack((along * cos - across * sin, along * sin + across * cos))
