"""Expected strokes of a solved hole over a part of it, as a lattice of points for drawing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_dilation

from planner.course.hole import Hole
from planner.course.lies import Ground, Lie
from planner.strategy.grid import label_points
from planner.strategy.policy import PolicyReader

__all__ = ["ValueField", "lie_of", "value_field", "values_at"]

FloatArray = NDArray[np.float64]
MOST_POINTS = 180
"""Of one side of the lattice; more cannot be told apart on a phone."""
TURF = (Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.GREEN)
"""Lies on which values change smoothly from place to place."""
_LIE_OF_GROUND = np.array([int(ground.lie) for ground in Ground])


@dataclass(frozen=True, eq=False)
class ValueField:
    """Expected strokes to hole out at ``n`` by ``m`` points of the hole frame.

    Values jump where the lie changes, so each of ``k`` lies has a sheet of its own.

    Parameters
    ----------
    along, across
        Places of the lattice [m], shapes ``(n,)`` and ``(m,)``.
    strokes
        From a ball at rest, shape ``(k, n, m)``; NaN where the ground, and that of every
        neighbour, has another lie.
    """

    along: FloatArray
    across: FloatArray
    strokes: FloatArray


def value_field(
    policy: PolicyReader, hole: Hole, box_hole: tuple[float, float, float, float]
) -> ValueField:
    """Values on turf inside ``box_hole``: least along and across, most along and across [m].

    The lattice is the one that values are held on, or every so many points of it.
    """
    low_along, low_across, high_along, high_across = box_hole
    lattice = policy.lattice_for(box_hole)
    along = _within(lattice.along, low_along, high_along)
    across = _within(lattice.across, low_across, high_across)
    points = np.stack(np.meshgrid(along, across, indexing="ij"), axis=-1)
    ground = label_points(hole, points)
    playable = ~np.isin(ground, [Ground.YELLOW, Ground.RED, Ground.OUT])
    lies = np.where(playable, _LIE_OF_GROUND[ground], -1)
    sheets = []
    for lie in TURF:
        ours = lies == lie
        if not ours.any():
            continue
        values = policy.value_at(points.reshape(-1, 2), np.full(ours.size, int(lie)))
        near = binary_dilation(ours) & playable
        sheets.append(np.where(near, values.reshape(ours.shape), np.nan))
    return ValueField(along, across, np.reshape(sheets, (len(sheets), *lies.shape)))


def _within(places: FloatArray, low: float, high: float) -> FloatArray:
    chosen = places[(places >= low) & (places <= high)]
    return chosen[:: max(1, -(-len(chosen) // MOST_POINTS))]


def values_at(policy: PolicyReader, hole: Hole, points_hole: FloatArray) -> FloatArray:
    """Expected strokes at points [m], shape ``(..., 2)``, as the ground there lets a ball lie.

    NaN in penalty areas and out of bounds, where no ball is played from.
    """
    ground = label_points(hole, points_hole)
    lies = _LIE_OF_GROUND[ground]
    flat = policy.value_at(points_hole.reshape(-1, 2), lies.ravel())
    nowhere = np.isin(ground, [Ground.YELLOW, Ground.RED, Ground.OUT])
    return np.where(nowhere, np.nan, flat.reshape(ground.shape))


def lie_of(ground: Ground) -> Lie | None:
    """Lie of a ball played from a ground; None where it is lifted or putted."""
    if ground.is_penalty_area or ground in (Ground.OUT, Ground.GREEN):
        return None
    return ground.lie
