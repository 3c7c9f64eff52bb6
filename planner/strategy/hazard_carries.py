"""How far sand and penalty areas near a shot are: to reach and to carry them, by geometry alone."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.course.hole import Hole
from planner.course.lies import Ground
from planner.strategy.advice import HolePlan, Shot

__all__ = ["HazardCarry", "carries_from", "longest_carry"]

SPREADS = 3.0
"""Hazards within this many standard deviations beside the aim line are near a shot."""
LEAST_HALF_WIDTH_M = 10.0
"""Nor is anything left out that is this close beside the aim line [m]."""
BEYOND_PIN_M = 25.0
"""What lies farther behind the pin is not spoken of [m]."""
ASSUMED_SIDE_SPREAD = 0.08
"""Standard deviation to the side as a share of the carry, where a shot has no pattern: about
that of a middle handicap's driver (common practice)."""
BAND_HALF_WIDTH_M = 5.0
"""What lies this close beside the aim line has to be carried to play along it [m]."""
SLIVER_M = 2.0
"""Hazards less deep than this where they are near the line are not told [m]."""
_HAZARDS = (Ground.SAND, Ground.YELLOW, Ground.RED)
_BALL = shapely.Point(0.0, 0.0)


@dataclass(frozen=True)
class HazardCarry:
    """One hazard seen from the ball along the aim line.

    Parameters
    ----------
    ground
        Sand, yellow or red penalty area.
    side
        -1 left of the aim line, +1 right of it, 0 across it.
    reach_m, carry_m
        Straight distances from the ball to its nearest and to its farthest point near the line
        [m]. Across the line they are taken in a band along it, to where the hazard first ends.
        ``carry_m`` is infinite if it is beyond the longest carry.
    """

    ground: Ground
    side: int
    reach_m: float
    carry_m: float


def longest_carry(plan: HolePlan) -> float:
    """Longest mean carry from the tee [m] of the clubs the plan compares."""
    return max(shot.carry_m for shot in (plan.best, *plan.others))


def carries_from(
    hole: Hole, shot: Shot, *, longest_m: float, count: int = 4
) -> tuple[HazardCarry, ...]:
    """Hazards near a shot's aim line, nearest to the ball first.

    Each connected area is one hazard. The ``count`` of them that are closest to where the shot
    lands are kept. Woods and out of bounds are not among them: they are not carried by length.

    Parameters
    ----------
    hole, shot
        The shot's ball and aim; without an aim there is nothing to say.
    longest_m
        The longest carry a golfer has [m]: what is first reached beyond it is left out, and
        what ends beyond it cannot be carried.
    """
    if shot.aim is None:
        return ()
    ball = np.asarray(shot.position_hole, dtype=float)
    forward = np.array([math.cos(shot.aim.bearing), math.sin(shot.aim.bearing)])
    turn = np.column_stack((forward, [-forward[1], forward[0]]))
    to_pin = math.dist(shot.position_hole, hole.pin_hole)
    limit = min(longest_m, to_pin + BEYOND_PIN_M)
    near = _corridor(2.0 * longest_m, _side_spread(shot, turn))
    landing = shapely.Point(shot.carry_m, 0.0)
    found: list[tuple[float, HazardCarry]] = []
    for ground in _HAZARDS:
        whole = shapely.union_all([area.shape_hole for area in hole.areas_of(ground)])
        for part in shapely.get_parts(whole):
            seen = shapely.transform(part, lambda points: (points - ball) @ turn)
            seen = shapely.intersection(seen, near)
            if seen.is_empty or seen.distance(_BALL) > limit:
                continue
            hazard = _hazard(ground, seen, longest_m)
            if hazard.carry_m - hazard.reach_m >= SLIVER_M:
                found.append((seen.distance(landing), hazard))
    kept = sorted(found, key=lambda one: one[0])[:count]
    return tuple(sorted((hazard for _, hazard in kept), key=lambda one: one.reach_m))


def _hazard(ground: Ground, seen: shapely.Geometry, longest_m: float) -> HazardCarry:
    """Hazard of an area in the frame of the shot, first coordinate along the aim line."""
    _, left, _, right = seen.bounds
    side = -1 if right <= 0.0 else 1 if left >= 0.0 else 0
    if side == 0:
        ahead = shapely.get_parts(seen.intersection(_band(longest_m)))
        if len(ahead):
            seen = min(ahead, key=lambda piece: float(piece.distance(_BALL)))
    far = float(np.hypot(*shapely.get_coordinates(seen).T).max())
    near = float(seen.distance(_BALL))
    return HazardCarry(ground, side, near, far if far <= longest_m else math.inf)


def _band(longest_m: float) -> shapely.Polygon:
    return shapely.box(0.0, -BAND_HALF_WIDTH_M, 2.0 * longest_m, BAND_HALF_WIDTH_M)


def _side_spread(shot: Shot, turn: NDArray[np.float64]) -> float:
    """Standard deviation to the side of the stock shot, as a share of its carry."""
    if shot.pattern is None or shot.carry_m <= 0.0:
        return ASSUMED_SIDE_SPREAD
    covariance = turn.T @ shot.pattern.covariances_hole[0] @ turn
    return math.sqrt(float(covariance[1, 1])) / shot.carry_m


def _corridor(length: float, spread: float) -> shapely.Polygon:
    end = max(SPREADS * spread * length, LEAST_HALF_WIDTH_M)
    start = LEAST_HALF_WIDTH_M
    return shapely.Polygon([(0.0, -start), (length, -end), (length, end), (0.0, start)])
