"""What a shot costs when its resting place is known: the look-up both simulations share."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from planner.benchmark.solved_hole import SolvedHole
from planner.course.lies import Ground

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

_LIE_OF_GROUND = np.array([ground.lie for ground in Ground], dtype=np.int64)


@dataclass(frozen=True)
class Estimate:
    """Expected strokes of an action from draws.

    Parameters
    ----------
    value
        The estimate, stroke and distance resolved: a ball out of bounds is played again.
    spread
        Standard deviation that one draw has in it.
    samples
        Number of draws.
    """

    value: float
    spread: float
    samples: int

    @property
    def standard_error(self) -> float:
        """Standard error of ``value``."""
        return self.spread / math.sqrt(self.samples)


class Worth(Protocol):
    """Expected strokes after a ball came to rest."""

    def costs(self, rest_hole: FloatArray, ground: IntArray, crossing: FloatArray) -> FloatArray:
        """Expected strokes still to play, penalty included; 1 for a ball out of bounds.

        Parameters
        ----------
        rest_hole, ground
            Resting places [m], shape ``(n, 2)``, and the ground there, values of ``Ground``.
        crossing
            Where a ball in a penalty area last crossed its edge [m], shape ``(n, 2)``.
        """


class RestingWorth:
    """Expected strokes after a ball came to rest, read from a solved hole.

    The values are those of the solver, so that what remains between it and a simulation is
    how each averages them.
    """

    def __init__(self, solved: SolvedHole) -> None:
        tables = solved.solution.tables
        self._value_at = solved.adviser.policy.value_at
        self._relief = solved.solution.edge_values[0]
        self._edges = cKDTree(tables.edges.edges_hole) if len(self._relief) else None

    def costs(self, rest_hole: FloatArray, ground: IntArray, crossing: FloatArray) -> FloatArray:
        """Values and reliefs of the nearest places of the solver's lattices; see :class:`Worth`."""
        found = np.ones(len(rest_hole))
        wet = np.isin(ground, (Ground.YELLOW, Ground.RED))
        if wet.any():
            if self._edges is None:
                raise ValueError("a ball came to rest in a penalty area, but the hole has none")
            _, nearest = self._edges.query(crossing[wet])
            found[wet] = self._relief[nearest]
        played = ~wet & (ground != Ground.OUT)
        if played.any():
            lies = _LIE_OF_GROUND[ground[played]]
            found[played] = self._value_at(rest_hole[played], lies)
        return found


def estimate(
    worth: Worth, rest_hole: FloatArray, ground: IntArray, crossing: FloatArray
) -> Estimate:
    """Expected strokes of the shot whose draws these are; arguments as for :class:`Worth`."""
    return replayed_mean(worth.costs(rest_hole, ground, crossing), ground == Ground.OUT)


def replayed_mean(costs: FloatArray, out: NDArray[np.bool_]) -> Estimate:
    """Mean of ``1 + costs`` where balls ``out`` are played again from the same place.

    With the share q out, Q = 1 + mean(costs) + q Q; the spread is that of the ratio
    (delta method).

    Raises
    ------
    ValueError
        Every ball is out.
    """
    stays = float(1.0 - out.mean())
    if stays <= 0.0:
        raise ValueError("every draw is out of bounds; the action has no value")
    value = (1.0 + float(costs.mean())) / stays
    one = 1.0 + costs - value * (1.0 - out)
    return Estimate(value, float(one.std(ddof=1)) / stays, len(costs))
