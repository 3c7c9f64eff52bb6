"""An aim point as a golfer would say it: by what he sees, without numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from planner.course.hole import Hole, Point
from planner.course.lies import Ground

CLOSE_M = 4.0
"""How far beside a landmark an aim may be and still be called by it [m]."""
OWN_FAIRWAY_M = 35.0
"""A stretch of fairway farther than this from the line of play belongs to another hole [m]."""
_NOUN = {
    Ground.SAND: "bunker",
    Ground.YELLOW: "water",
    Ground.RED: "water",
    Ground.TREES: "wood",
}
_FACTOR_BEYOND = 1.6
"""Landmarks farther than this many aim distances are not spoken of."""


@dataclass(frozen=True)
class _Landmark:
    words: str
    miss: float


def aim_words(hole: Hole, ball_hole: Point, aim_hole: Point) -> str:
    """Name an aim point seen from the ball.

    The pin, the green's middle or edges, edges of bunkers, water and woods near the line are
    used if the line passes within ``CLOSE_M`` of them; else the place on the fairway.
    """
    ball = np.asarray(ball_hole, dtype=float)
    way = np.asarray(aim_hole, dtype=float) - ball
    distance = float(np.hypot(*way))
    if distance < 1e-6:
        return "where the ball lies"
    unit = way / distance
    side = np.array([-unit[1], unit[0]])

    def offset(point: np.ndarray) -> tuple[float, float]:
        away = np.asarray(point, dtype=float) - ball
        return float(away @ unit), float(away @ side)

    pin_along, pin_side = offset(np.asarray(hole.pin_hole))
    marks: list[_Landmark] = []
    if 0.5 * distance < pin_along < _FACTOR_BEYOND * distance:
        marks.append(_Landmark("the pin", abs(pin_side)))
    green = shapely.union_all([a.shape_hole for a in hole.areas_of(Ground.GREEN)])
    if not green.is_empty and pin_along < _FACTOR_BEYOND * distance:
        left, right = _edges(green, offset)
        middle = offset(np.array([green.centroid.x, green.centroid.y]))
        if middle[0] > 0.5 * distance:
            marks += [
                _Landmark("the middle of the green", abs(middle[1]) + 0.5),
                _Landmark("the left edge of the green", abs(left) + 0.5),
                _Landmark("the right edge of the green", abs(right) + 0.5),
            ]
    place = _on_fairway(hole, ball, unit, side, distance)
    if place is not None:
        marks.append(place)
    marks += _hazards(hole, offset, distance)
    best = min(marks, key=lambda mark: mark.miss, default=None)
    if best is not None and best.miss <= CLOSE_M:
        return best.words
    if abs(pin_side) <= CLOSE_M:
        return "straight at the pin"
    return "right of the line to the pin" if pin_side < 0 else "left of the line to the pin"


def _edges(shape: shapely.Geometry, offset) -> tuple[float, float]:  # type: ignore[no-untyped-def]
    """Least and greatest distance to the right of the line [m]."""
    sides = [offset(point)[1] for point in shapely.get_coordinates(shape)]
    return min(sides), max(sides)


def _on_fairway(
    hole: Hole, ball: np.ndarray, unit: np.ndarray, side: np.ndarray, distance: float
) -> _Landmark | None:
    fairway = shapely.union_all([a.shape_hole for a in hole.areas_of(Ground.FAIRWAY)])
    if fairway.is_empty:
        return None
    aim = ball + distance * unit
    across = shapely.LineString((aim - 80.0 * side, aim + 80.0 * side))
    pieces = [
        piece
        for piece in shapely.get_parts(across.intersection(fairway))
        if piece.length > 4.0 and piece.distance(hole.line_hole) < OWN_FAIRWAY_M
    ]
    if not pieces:
        return None
    here = min(pieces, key=lambda piece: piece.distance(shapely.Point(aim)))
    ends = sorted((shapely.get_coordinates(here) - aim) @ side)
    low, high = ends[0], ends[-1]
    which = ""
    if len(pieces) > 1:
        middles = sorted(float((np.asarray(p.centroid.coords[0]) - aim) @ side) for p in pieces)
        mine = 0.5 * (low + high)
        which = "left " if mine < np.mean(middles) else "right "
    name = f"{which}fairway"
    width = high - low
    part = -low / width
    if part < -0.15 or part > 1.15:
        return None
    if part < 0.12:
        return _Landmark(f"the left edge of the {name}", 1.5)
    if part < 0.38:
        return _Landmark(f"the left half of the {name}", 1.5)
    if part <= 0.62:
        return _Landmark(f"the middle of the {name}", 1.5)
    if part <= 0.88:
        return _Landmark(f"the right half of the {name}", 1.5)
    return _Landmark(f"the right edge of the {name}", 1.5)


def _hazards(hole: Hole, offset, distance: float) -> list[_Landmark]:  # type: ignore[no-untyped-def]
    found: list[_Landmark] = []
    for ground, noun in _NOUN.items():
        parts = [p for a in hole.areas_of(ground) for p in shapely.get_parts(a.shape_hole)]
        seen = []
        for part in parts:
            along, beside = offset(np.array([part.centroid.x, part.centroid.y]))
            if 0.6 * distance < along < _FACTOR_BEYOND * distance and abs(beside) < 45.0:
                seen.append((along, beside, part))
        for along, beside, part in seen:
            left, right = _edges(part, offset)
            name = f"the {_which(along, beside, seen)}{noun}"
            found.append(_Landmark(f"the left edge of {name}", abs(left)))
            found.append(_Landmark(f"the right edge of {name}", abs(right)))
    return found


def _which(along: float, beside: float, seen: list[tuple[float, float, shapely.Polygon]]) -> str:
    """Tell one of several apart: left or right, then near or far."""
    if len(seen) == 1:
        return ""
    side = "left" if beside < 0 else "right"
    same = [other for other in seen if (other[1] < 0) == (beside < 0)]
    if len(same) == 1:
        return f"{side} "
    order = sorted(same, key=lambda other: other[0])
    rank = [other[0] for other in order].index(along)
    if rank == 0:
        return f"nearest {side} "
    if rank == len(order) - 1:
        return f"farthest {side} "
    return f"{side} " if math.isfinite(along) else ""
