"""A ball anywhere on a hole, and an aim anywhere: places as golfers and taps give them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from planner.course.hole import Hole, Point
from planner.course.lies import Ground, Lie
from planner.planning.hole_desk import HoleDesk
from planner.report.hole_layers import Layers
from planner.report.view import View
from planner.strategy.advice import HolePlan, Shot
from planner.strategy.grid import label_points
from planner.strategy.hazard_carries import HazardCarry, carries_from, longest_carry
from planner.strategy.landing_cloud import landing_cloud
from planner.strategy.value_field import lie_of

__all__ = [
    "BallPlace",
    "aim_moved_by",
    "ball_place",
    "hazards_near",
    "hole_layers",
    "place_beside_line",
    "within_map",
]

BEYOND_M = 150.0
"""A ball farther than this from the hole's line is not on this hole any more [m]."""
WIDEST_TURN = math.radians(75.0)
HAZARDS = 5
SHOWN_SHOTS, SEED = 100, 20230101


@dataclass(frozen=True)
class BallPlace:
    """Where a ball lies.

    Parameters
    ----------
    position_hole
        Place [m].
    ground
        What the map shows there.
    lie
        The lie on it; None where a ball is lifted, putted or out.
    to_go_m, right_m
        Way left along the hole's line and distance beside it, + right [m].
    to_pin_m
        Straight distance to the pin [m].
    """

    position_hole: Point
    ground: Ground
    lie: Lie | None
    to_go_m: float
    right_m: float
    to_pin_m: float


def ball_place(hole: Hole, position_hole: Point) -> BallPlace:
    """Describe a place."""
    line = hole.line_hole
    at = line.project(shapely.Point(position_hole))
    foot, along = _foot(hole, at)
    away = np.asarray(position_hole) - foot
    ground = Ground(int(label_points(hole, np.array([position_hole], dtype=float))[0]))
    return BallPlace(
        position_hole,
        ground,
        lie_of(ground),
        float(line.length - at),
        float(along[0] * away[1] - along[1] * away[0]),
        math.dist(position_hole, hole.pin_hole),
    )


def place_beside_line(hole: Hole, to_go_m: float, right_m: float) -> Point:
    """Place by the way left along the hole's line [m] and the distance to its right [m]."""
    at = hole.line_hole.length - to_go_m
    foot, along = _foot(hole, at)
    # Before the tee and beyond the pin the line goes straight on.
    foot = foot + along * (min(at, 0.0) + max(at - hole.line_hole.length, 0.0))
    return (float(foot[0] - right_m * along[1]), float(foot[1] + right_m * along[0]))


def within_map(hole: Hole, position_hole: Point) -> bool:
    """Whether a ball there can be thought of as on this hole."""
    return bool(hole.line_hole.distance(shapely.Point(position_hole)) <= BEYOND_M)


def aim_moved_by(shot: Shot, target_hole: Point) -> float:
    """How far right [m] a shot's aim moves when its line is to go through ``target_hole``.

    Not farther than a turn of 75 degrees takes it.
    """
    if shot.aim is None:
        return 0.0
    way = np.subtract(target_hole, shot.position_hole)
    turn = math.remainder(math.atan2(way[1], way[0]) - shot.aim.bearing, math.tau)
    turn = min(max(turn, -WIDEST_TURN), WIDEST_TURN)
    return math.dist(shot.aim.point_hole, shot.position_hole) * math.tan(turn)


def hazards_near(plan: HolePlan, shot: Shot) -> tuple[HazardCarry, ...]:
    """Sand and penalty areas along a shot's aim, nearest first."""
    return carries_from(plan.hole, shot, longest_m=longest_carry(plan), count=HAZARDS)


def hole_layers(desk: HoleDesk, shot: Shot, view: View, *, contours: bool, shots: bool) -> Layers:
    """Layers of a drawing that shows ``view``."""
    box = (view.bottom, view.left, view.top, view.right)
    cloud = None
    if shots and shot.pattern is not None:
        cloud = landing_cloud(shot.pattern, SHOWN_SHOTS, rng=np.random.default_rng(SEED))
    return Layers(desk.value_field(box) if contours else None, cloud)


def _foot(hole: Hole, at: float) -> tuple[np.ndarray, np.ndarray]:
    """Point of the hole's line and its direction there."""
    line = hole.line_hole
    at = min(max(at, 0.0), line.length)
    ahead = np.asarray(line.interpolate(min(at + 0.5, line.length)).coords[0])
    behind = np.asarray(line.interpolate(max(at - 0.5, 0.0)).coords[0])
    along = (ahead - behind) / max(float(np.hypot(*(ahead - behind))), 1e-9)
    return np.asarray(line.interpolate(at).coords[0]), along
