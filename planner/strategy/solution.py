"""Results of a solve and how it is asked for."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Hole
from planner.golfer.shot_outcome import ShotModel
from planner.strategy.grid import Lattice
from planner.strategy.hole_tables import HoleTables, TableOptions
from planner.strategy.values import Values

UNPLAYABLE = -2
"""Policy entry: declare the ball unplayable and take the best relief."""


class Cancelled(Exception):  # noqa: N818 - a signal, not an error
    """The caller asked a solve to stop."""


@dataclass(frozen=True)
class SolveOptions:
    """How a hole is solved.

    Parameters
    ----------
    tables
        Lattices, bearings and rules.
    tolerance
        Largest change of a value between sweeps at which a solve stops [strokes].
    max_sweeps
        Sweeps of the state lattice after which a solve stops unconverged.
    level_ratio
        Least standard deviation of a component, in cells, for a coarser landing lattice.
    refine
        Whether bearings between lattice bearings are tried (parabola).
    penalty_price
        Extra cost of a penalty stroke [strokes]; 0 is fewest strokes.
    count_penalties
        Whether expected penalties are carried along.
    double_precision
        Whether fields are kept in float64 rather than float32.
    """

    tables: TableOptions = field(default_factory=TableOptions)
    tolerance: float = 2e-3
    max_sweeps: int = 40
    level_ratio: float = 1.2
    refine: bool = True
    penalty_price: float = 0.0
    count_penalties: bool = True
    double_precision: bool = False


@dataclass(frozen=True, eq=False)
class Policy:
    """Best action on one lattice.

    ``swing`` is an index into the model's swings, ``UNPLAYABLE`` or ``NO_SWING``; ``bearing``
    [rad]. Both have shape ``(lies, rows, columns)`` for ``PLAYED_LIES``.
    """

    lattice: Lattice
    swing: NDArray[np.int16]
    bearing: NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class HoleSolution:
    """Value and policy of a hole for one shot model and objective.

    ``values`` holds expected cost; ``penalties`` the expected penalty strokes of the policy
    where they were counted. ``converged`` says whether ``residual`` [strokes], the largest
    change in the last sweep over places that matter, fell to the tolerance.
    """

    tables: HoleTables
    model: ShotModel
    options: SolveOptions
    values: Values
    penalties: Values | None
    state_policy: Policy
    patch_policy: Policy
    edge_values: tuple[NDArray[np.float64], ...]
    converged: bool
    residual: float
    sweeps: int

    @property
    def hole(self) -> Hole:
        """The hole."""
        return self.tables.hole
