"""Where one shot comes to rest, and how likely each kind of ground is: no lattice, no draws.

The shot model moves a ball along its aim line only, once the carry is drawn: canopy, slope,
run and what stops it all lie on the line through the landing point. On such a line the ground
is a list of stretches, every outcome is a set of landing intervals, and an interval's mass is a
difference of normal distribution functions. Across the lines the mass is a smooth function
between the corners of the polygons, the places where two edges are a run or a shadow apart, and
the heights that are known; between these it is integrated by Gauss-Legendre rules. What is met
first on the run is therefore exact. Masses are within about 1e-9 (checked in the tests against
closed forms and :mod:`planner.numerics.polygon_probability`); where ground rises or falls more
steeply than the ball, within about 1e-5.

The share stopped by a wood near the start is an average over the start direction, by the
trapezoidal rule, of exact lengths of wood.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Hole, Point
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import (
    ASSUMED_CANOPY_STOP_SHARE,
    ASSUMED_TREE_FREE_PATH_M,
    ShotModel,
    Swing,
)
from planner.strategy.exposure_kernel import integrate, wood_lengths
from planner.strategy.ground_lines import TURF_LIES, GroundPartition, ground_partition

__all__ = [
    "GroundPartition",
    "OutcomeShares",
    "PenaltyAreaShare",
    "ground_partition",
    "outcome_shares",
    "start_block_share",
]

FloatArray = NDArray[np.float64]

_START_REACH_SD, _START_STEP_SD = 5.0, 0.05


@dataclass(frozen=True)
class PenaltyAreaShare:
    """Share of all shots that end in one penalty area; ``carry`` is the part that lands in it."""

    ground: Ground
    feature_id: str
    name: str
    carry: float
    rest: float


@dataclass(frozen=True)
class OutcomeShares:
    """Where a shot comes to rest, as shares of all shots.

    ``fairway`` to ``out_of_bounds`` add up to one, to about 1e-11: what is missing lies beyond
    seven deviations. Trees take in balls stopped by a wood.

    Parameters
    ----------
    yellow, red
        Penalty areas, by colour.
    out_of_bounds
        Out of bounds, with ``lost``, the part beyond the map.
    mishit
        Share of mishits, wherever they end.
    blocked, canopy
        Parts of ``trees`` that a wood stopped near the start, and that a canopy stopped.
    carry_penalty
        Share that lands in a penalty area, rather than running into one.
    areas
        Every penalty area of the hole.
    """

    fairway: float
    rough: float
    deep_rough: float
    sand: float
    trees: float
    green: float
    yellow: float
    red: float
    out_of_bounds: float
    mishit: float
    blocked: float
    canopy: float
    carry_penalty: float
    lost: float
    areas: tuple[PenaltyAreaShare, ...] = ()

    @property
    def penalty(self) -> float:
        """Share at rest in a penalty area of either colour."""
        return self.yellow + self.red

    @property
    def total(self) -> float:
        """Sum of the shares of all grounds, one but for rounding."""
        return (
            self.fairway
            + self.rough
            + self.deep_rough
            + self.sand
            + self.trees
            + self.green
            + self.penalty
            + self.out_of_bounds
        )


def outcome_shares(
    partition: GroundPartition,
    hole: Hole,
    model: ShotModel,
    swing: Swing,
    lie: Lie,
    position_hole: Point,
    bearing: float,
    *,
    exact: bool = True,
) -> OutcomeShares:
    """Outcome shares of one shot.

    Parameters
    ----------
    partition
        Ground of the hole, from :func:`ground_partition`.
    hole
        The same hole, for its heights and its place against the wind.
    model
        Gives the wind only.
    swing, lie
        The swing and what the ball lies on.
    position_hole
        Where the ball lies [m].
    bearing
        Aim, from the hole's axis, positive to the right [rad].
    exact
        Whether shares are within 1e-9; otherwise within 1e-3, a few times faster.

    Raises
    ------
    ValueError
        The swing is not allowed from that lie.
    """
    pattern = swing.patterns.get(lie)
    if pattern is None:
        raise ValueError(f"{swing.label} is not played from {lie.words}; choose another swing")
    wind = 0.0 if model.wind_from is None else model.wind_from - hole.frame.azimuth - bearing
    blown = [swing.blown(mean, wind) for mean in pattern.means]
    means = np.array([mean[0] for mean, _ in blown])
    stretch = np.array([matrix[0] for _, matrix in blown])
    level = hole.elevation.is_level
    count = len(partition.classes)
    rest = np.zeros(count)
    carry = np.zeros(count)
    canopy = integrate(
        partition.edges_hole,
        partition.edge_class,
        partition.edge_sign,
        partition.base,
        partition.turf,
        partition.tree_class,
        partition.lost_class,
        position_hole[0],
        position_hole[1],
        math.cos(bearing),
        math.sin(bearing),
        pattern.weights,
        means,
        stretch @ pattern.covariances @ stretch.swapaxes(1, 2),
        swing.runs(TURF_LIES, wind)[0],
        swing.canopy_shadow_m,
        0.0 if level else 1.0 / math.tan(swing.descent),
        np.empty(0) if level else np.array(hole.elevation.along),
        np.empty(0) if level else np.array(hole.elevation.height),
        ASSUMED_CANOPY_STOP_SHARE,
        exact,
        rest,
        carry,
    )
    if not exact:
        total = float(rest.sum())
        rest /= total
        carry /= total
    blocked = start_block_share(partition, swing, position_hole, bearing)
    rest *= 1.0 - blocked
    carry *= 1.0 - blocked
    if partition.tree_class >= 0:
        rest[partition.tree_class] += blocked
    grounds = partition.grounds
    share = np.bincount(grounds, rest, minlength=len(Ground))
    return OutcomeShares(
        fairway=float(share[Ground.FAIRWAY] + share[Ground.TEE]),
        rough=float(share[Ground.ROUGH]),
        deep_rough=float(share[Ground.DEEP_ROUGH]),
        sand=float(share[Ground.SAND]),
        trees=float(share[Ground.TREES]),
        green=float(share[Ground.GREEN]),
        yellow=float(share[Ground.YELLOW]),
        red=float(share[Ground.RED]),
        out_of_bounds=float(share[Ground.OUT]),
        mishit=pattern.mishit_share,
        blocked=blocked,
        canopy=float(canopy) * (1.0 - blocked),
        carry_penalty=float(carry[np.isin(grounds, (Ground.YELLOW, Ground.RED))].sum()),
        lost=float(rest[partition.lost_class]) if partition.lost_class >= 0 else 0.0,
        areas=tuple(
            PenaltyAreaShare(
                item.ground, item.feature_id, item.name, float(carry[k]), float(rest[k])
            )
            for k, item in enumerate(partition.classes)
            if item.ground.is_penalty_area
        ),
    )


def start_block_share(
    partition: GroundPartition, swing: Swing, position_hole: Point, bearing: float
) -> float:
    """Share of shots that a wood near the ball stops, over all start directions."""
    reach = min(swing.climb_m, swing.carry_m)
    if partition.tree_class < 0 or reach <= 0.0:
        return 0.0
    steps = np.arange(-_START_REACH_SD, _START_REACH_SD + 1e-9, _START_STEP_SD)
    weights = np.exp(-0.5 * steps**2)
    wood = wood_lengths(
        partition.edges_hole,
        partition.edge_class,
        partition.edge_sign,
        partition.base,
        partition.tree_class,
        position_hole[0],
        position_hole[1],
        bearing + steps * swing.start_sd,
        reach,
    )
    stopped = -np.expm1(-wood / ASSUMED_TREE_FREE_PATH_M)
    return float(weights @ stopped / weights.sum())
