"""One call of the sweep kernel on a side of a solve, shared out over threads."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from planner.golfer.shot_outcome import ASSUMED_CANOPY_STOP_SHARE
from planner.strategy.solver_side import Side, deal
from planner.strategy.sweep import NO_SWING, sweep
from planner.strategy.sweep_types import (
    Actions,
    Followed,
    LandingFields,
    Quantities,
    nothing_followed,
)

__all__ = ["Best", "run_sweep"]

Best = tuple[NDArray[np.floating], NDArray[np.int16], NDArray[np.float32]]
"""Values ``(f, lies, rows, columns)``, swings and bearings ``(lies, rows, columns)``."""


def run_sweep(
    side: Side,
    fields: LandingFields,
    quantities: Quantities,
    *,
    actions: Actions | None = None,
    refine: bool = True,
    find: bool = False,
    followed: Followed | None = None,
    reference: NDArray[np.floating] | None = None,
    gap: float = -1.0,
    threads: int = 1,
) -> Best:
    """Sweep a side once; see :func:`planner.strategy.sweep.sweep`.

    Parameters
    ----------
    side, fields
        The side, and landing fields of its landing lattice.
    quantities
        What the fields count.
    actions
        The side's actions with other windows; its own if None.
    followed
        Policy whose costs are wanted, in place of the best action; NaN where it is not met.
    reference, gap
        With a gap of 0 or more, what is near-best is noted in ``side.near``.
    """
    kind = fields.rest.dtype
    tried = side.actions if actions is None else actions
    count = fields.rest.shape[0] - (1 if find else 0)
    shape = (tried.weight.shape[1], *side.target.shape)
    if reference is None:
        reference = np.zeros((1, 1, 1), dtype=kind)

    def task(share: NDArray[np.int64]) -> Best:
        value = np.full((count, *shape), np.inf if followed is None else np.nan, dtype=kind)
        swing = np.full(shape, NO_SWING, dtype=np.int16)
        bearing = np.zeros(shape, dtype=np.float32)
        sweep(
            share,
            tried,
            side.tables,
            side.geometry,
            fields,
            side.in_play,
            side.blocked,
            ASSUMED_CANOPY_STOP_SHARE,
            quantities,
            refine,
            find,
            followed is not None,
            nothing_followed() if followed is None else followed,
            value,
            swing,
            bearing,
            reference,
            gap,
            side.near,
        )
        return value, swing, bearing

    shares = [share for share in deal(tried, threads) if share.size]
    if not shares:
        return task(np.empty(0, dtype=np.int64))
    if len(shares) == 1:
        return task(shares[0])
    with ThreadPoolExecutor(len(shares)) as pool:
        (value, swing, bearing), *others = pool.map(task, shares)
    for other_value, other_swing, other_bearing in others:
        met = other_value[0] < value[0]
        better = met if followed is None else ~np.isnan(other_value[0])
        value[:, better] = other_value[:, better]
        swing[better] = other_swing[better]
        bearing[better] = other_bearing[better]
    return value, swing, bearing
