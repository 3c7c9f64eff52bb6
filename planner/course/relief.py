"""Where a ball may be dropped under the Rules of Golf 2023, as geometry in the hole frame.

Every function gives points, never a choice: which drop is best is a matter of strokes, not of
rules. Stroke and distance (Rules 14.6, 17.1d(1), 18.1, 18.2b, 19.2a) needs only the previous
spot, which the caller has.

A ball that touches an area's edge is in it, so points on the edge of ``forbidden`` are left
out. Points are at least :data:`EDGE_MARGIN_M` away from the edges they were computed from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.hole import Point
from planner.course.lies import Ground

FloatArray = NDArray[np.float64]

EDGE_MARGIN_M = 0.05
"""Distance kept from an edge that a drop must be outside of [m]; about two ball radii."""
LATERAL_CLUB_LENGTHS = 2.0
"""Size of the relief area of lateral relief (Rules 17.1d(3) and 19.2c) in club-lengths."""
ASSUMED_LINE_STEP_M = 5.0
"""Spacing of the points offered on a line back from the hole [m]; assumed."""
ASSUMED_LINE_REACH_M = 120.0
"""How far back from the reference a drop on the line is looked for [m]; assumed.

The Rules set no limit (17.1d(2)); farther back is seldom of use."""
ASSUMED_LATERAL_COUNT = 10
"""Number of points tried in a lateral relief area; assumed."""


@dataclass(frozen=True, eq=False)
class ReliefOption:
    """One way to take relief.

    Parameters
    ----------
    rule
        Number of the rule, for instance ``"17.1d(2)"``.
    strokes
        Penalty strokes.
    points_hole
        Places where the ball may be dropped [m], shape ``(n, 2)``; may be empty.
    """

    rule: str
    strokes: int
    points_hole: FloatArray


def crossing_point(shape: BaseGeometry, start: Point, landing: Point) -> Point:
    """Point where the straight path from ``start`` to ``landing`` last crossed into ``shape``.

    Parameters
    ----------
    shape
        Penalty area, or the out-of-bounds side, with an area.
    start, landing
        Where the ball was played and where it came to rest [m].

    Returns
    -------
    Point on the edge of ``shape`` [m]; ``start`` if the whole path is inside, and the nearest
    point of the edge to ``landing`` if the path does not enter the shape.
    """
    path = shapely.LineString((start, landing))
    if path.length > 0:
        inside = [
            np.linalg.norm(shapely.get_coordinates(piece) - start, axis=1).min()
            for piece in shapely.get_parts(shapely.intersection(path, shape))
            if piece.length > 0
        ]
        if inside:
            share = float(max(inside)) / path.length
            return (
                start[0] + share * (landing[0] - start[0]),
                start[1] + share * (landing[1] - start[1]),
            )
    elif shapely.intersects_xy(shape, *start):
        return start
    edge = shapely.boundary(shape)
    if edge.is_empty:
        raise ValueError("shape has no edge: it must be a polygon or multipolygon")
    nearest = edge.interpolate(edge.project(shapely.Point(landing)))
    if edge.geom_type != "LineString":
        nearest = shapely.shortest_line(edge, shapely.Point(landing)).interpolate(0.0)
    return (nearest.x, nearest.y)


def back_on_line_points(
    crossing: Point,
    pin: Point,
    *,
    forbidden: BaseGeometry | None = None,
    in_bounds: BaseGeometry | None = None,
    step: float = ASSUMED_LINE_STEP_M,
    reach: float = ASSUMED_LINE_REACH_M,
) -> FloatArray:
    """Points on the line straight back from the hole through ``crossing`` (17.1d(2), 19.2b).

    Parameters
    ----------
    crossing
        Where the ball last crossed the edge, or for an unplayable ball its own spot [m].
    pin
        The hole [m].
    forbidden
        Area in which no drop is allowed: the same penalty area.
    in_bounds
        Where a ball is in bounds; None if the map shows no boundary.
    step, reach
        Spacing and greatest distance behind ``crossing`` [m].

    Returns
    -------
    Points [m], shape ``(n, 2)``, nearest first: in every allowed stretch of the line its near
    end and then every ``step``. Empty if ``crossing`` is the hole.
    """
    ray = _ray_back(crossing, pin, reach)
    if ray is None:
        return np.empty((0, 2))
    allowed: BaseGeometry = ray
    if in_bounds is not None:
        allowed = shapely.intersection(allowed, in_bounds)
    if forbidden is not None and not forbidden.is_empty:
        allowed = shapely.difference(allowed, forbidden)
    points = _spread_on_line(allowed, ray, step)
    return _allowed(points, forbidden, in_bounds)


def lateral_points(
    reference: Point,
    pin: Point,
    *,
    club_length: float,
    forbidden: BaseGeometry | None = None,
    in_bounds: BaseGeometry | None = None,
    count: int = ASSUMED_LATERAL_COUNT,
) -> FloatArray:
    """Points within two club-lengths, not nearer the hole than ``reference`` (17.1d(3), 19.2c).

    Parameters
    ----------
    reference
        Where the ball last crossed the edge, or for an unplayable ball its own spot [m].
    pin
        The hole [m].
    club_length
        Length of the longest club but the putter [m] (Definition of club-length).
    forbidden, in_bounds
        As for :func:`back_on_line_points`.
    count
        Number of points tried: three fifths on the far arc of the relief area, the rest on the
        arc half-way out.

    Returns
    -------
    Allowed points [m], shape ``(n, 2)`` with ``n <= count``.
    """
    size = LATERAL_CLUB_LENGTHS * club_length
    away = np.subtract(reference, pin)
    distance = float(np.hypot(*away))
    heading = math.atan2(away[1], away[0])
    outer = max(1, math.ceil(0.6 * count))
    points = []
    for radius, number in ((size, outer), (size / 2, count - outer)):
        # |reference + radius * u - pin| >= distance  <=>  cos(angle) >= -radius / (2 distance)
        widest = math.pi if radius >= 2 * distance else math.acos(-radius / (2 * distance))
        angle = heading + np.linspace(-widest, widest, number) * (1 - 1e-9)
        points.append(reference + radius * np.column_stack((np.cos(angle), np.sin(angle))))
    found = np.vstack(points)
    nearer = np.hypot(*(found - pin).T) < distance - 1e-9
    return _allowed(found[~nearer], forbidden, in_bounds)


def penalty_area_drops(
    ground: Ground,
    crossing: Point,
    pin: Point,
    *,
    shape: BaseGeometry,
    club_length: float,
    in_bounds: BaseGeometry | None = None,
    step: float = ASSUMED_LINE_STEP_M,
    reach: float = ASSUMED_LINE_REACH_M,
    count: int = ASSUMED_LATERAL_COUNT,
) -> tuple[ReliefOption, ...]:
    """Relief from a penalty area, one stroke (17.1d): back on the line, red also lateral.

    Parameters
    ----------
    ground
        ``Ground.YELLOW`` or ``Ground.RED``.
    crossing
        Where the ball last crossed the edge of the area [m].
    pin
        The hole [m].
    shape
        The penalty area.
    club_length, in_bounds, step, reach, count
        As for :func:`back_on_line_points` and :func:`lateral_points`.
    """
    if not ground.is_penalty_area:
        raise ValueError(f"{ground.name} is not a penalty area: Rule 17 does not apply")
    line = back_on_line_points(
        crossing, pin, forbidden=shape, in_bounds=in_bounds, step=step, reach=reach
    )
    options = [ReliefOption("17.1d(2)", 1, line)]
    if ground is Ground.RED:
        lateral = lateral_points(
            crossing,
            pin,
            club_length=club_length,
            forbidden=shape,
            in_bounds=in_bounds,
            count=count,
        )
        options.append(ReliefOption("17.1d(3)", 1, lateral))
    return tuple(options)


def unplayable_drops(
    ball: Point,
    pin: Point,
    *,
    club_length: float,
    forbidden: BaseGeometry | None = None,
    in_bounds: BaseGeometry | None = None,
    step: float = ASSUMED_LINE_STEP_M,
    reach: float = ASSUMED_LINE_REACH_M,
    count: int = ASSUMED_LATERAL_COUNT,
) -> tuple[ReliefOption, ...]:
    """Relief from an unplayable lie in the general area, one stroke (19.2b, 19.2c).

    The Rules forbid no area of the course here; ``forbidden`` is what the caller does not want
    to drop in, for instance water. Not for a ball in a penalty area, where Rule 19 gives none.
    """
    line = back_on_line_points(
        ball, pin, forbidden=forbidden, in_bounds=in_bounds, step=step, reach=reach
    )
    lateral = lateral_points(
        ball, pin, club_length=club_length, forbidden=forbidden, in_bounds=in_bounds, count=count
    )
    return (ReliefOption("19.2b", 1, line), ReliefOption("19.2c", 1, lateral))


def bunker_unplayable_drops(
    ball: Point,
    pin: Point,
    *,
    bunker: BaseGeometry,
    club_length: float,
    forbidden: BaseGeometry | None = None,
    in_bounds: BaseGeometry | None = None,
    step: float = ASSUMED_LINE_STEP_M,
    reach: float = ASSUMED_LINE_REACH_M,
    count: int = ASSUMED_LATERAL_COUNT,
) -> tuple[ReliefOption, ...]:
    """Relief from an unplayable lie in a bunker (19.3).

    In the bunker on the line or lateral for one stroke (19.3a), on the line outside it for two
    (19.3b). ``forbidden`` as for :func:`unplayable_drops`.
    """
    sand = bunker if in_bounds is None else shapely.intersection(bunker, in_bounds)
    if forbidden is not None and not forbidden.is_empty:
        sand = shapely.difference(sand, forbidden)
        outside = shapely.union(bunker, forbidden)
    else:
        outside = bunker
    # A bunker is small: a finer step inside it, or the line would give one point only.
    inside_step = min(step, club_length)
    in_line = back_on_line_points(ball, pin, in_bounds=sand, step=inside_step, reach=reach)
    in_lateral = lateral_points(ball, pin, club_length=club_length, in_bounds=sand, count=count)
    out_line = back_on_line_points(
        ball, pin, forbidden=outside, in_bounds=in_bounds, step=step, reach=reach
    )
    return (
        ReliefOption("19.3a(2)", 1, in_line),
        ReliefOption("19.3a(3)", 1, in_lateral),
        ReliefOption("19.3b", 2, out_line),
    )


def fairway_edge_drops(
    reference: Point,
    pin: Point,
    *,
    fairway: BaseGeometry,
    club_length: float,
    forbidden: BaseGeometry | None = None,
    in_bounds: BaseGeometry | None = None,
    count: int = 3,
) -> ReliefOption:
    """Relief at the fairway's edge for a ball lost or out of bounds: Model Local Rule E-5.

    Two penalty strokes. The fairway reference point is the point of the fairway nearest to
    ``reference`` that is not nearer the hole; the relief area reaches two club-lengths past it
    on the fairway side of its line from the hole. It also takes in the rough back to the
    reference; only points on the fairway are offered.

    Parameters
    ----------
    reference
        Where the ball last crossed the boundary, or is estimated to be lost [m].
    pin
        The hole [m].
    fairway
        Fairway of the hole, without greens, bunkers and penalty areas.
    club_length
        Length of the longest club but the putter [m].
    forbidden
        Penalty areas, bunkers and greens: the drop must be in the general area.
    in_bounds
        Where a ball is in bounds; None if the map shows no boundary.
    count
        Number of points tried across the two club-lengths.

    Returns
    -------
    Option with at most ``count`` points; empty if no fairway is far enough from the hole.
    """
    distance = math.dist(reference, pin)
    # A polygon drawn round the circle, so that nothing left over is nearer the hole.
    quarter = 64
    radius = distance / math.cos(math.pi / (4 * quarter))
    nearer = shapely.Point(pin).buffer(radius, quad_segs=quarter)
    far_enough = fairway if distance == 0 else shapely.difference(fairway, nearer)
    if forbidden is not None and not forbidden.is_empty:
        far_enough = shapely.difference(far_enough, forbidden)
    if far_enough.is_empty:
        return ReliefOption("E-5", 2, np.empty((0, 2)))
    link = shapely.shortest_line(far_enough, shapely.Point(reference))
    edge = shapely.get_coordinates(link)[0]
    along = (edge - pin) / max(float(np.hypot(*(edge - pin))), 1e-12)
    aside = np.array([-along[1], along[0]])
    # The fairway side is away from the ball's own line to the hole.
    if float(np.dot(np.subtract(reference, edge), aside)) > 0:
        aside = -aside
    past = np.linspace(EDGE_MARGIN_M, LATERAL_CLUB_LENGTHS * club_length, count)
    points = edge + past[:, None] * aside
    return ReliefOption("E-5", 2, _allowed(points, forbidden, in_bounds, within=fairway))


def _ray_back(through: Point, pin: Point, reach: float) -> shapely.LineString | None:
    away = np.subtract(through, pin)
    distance = float(np.hypot(*away))
    if distance == 0 or reach <= 0:
        return None
    return shapely.LineString((through, through + away / distance * reach))


def _spread_on_line(allowed: BaseGeometry, ray: shapely.LineString, step: float) -> FloatArray:
    """Points on every stretch of ``allowed``: its near end, then every ``step``."""
    start, end = shapely.get_coordinates(ray)
    unit = (end - start) / ray.length
    places: list[FloatArray] = []
    for stretch in shapely.get_parts(allowed):
        if stretch.length <= 2 * EDGE_MARGIN_M:
            continue
        along = (shapely.get_coordinates(stretch) - start) @ unit
        places.append(np.arange(along.min() + EDGE_MARGIN_M, along.max() - EDGE_MARGIN_M, step))
    if not places:
        return np.empty((0, 2))
    return np.asarray(start + np.sort(np.concatenate(places))[:, None] * unit)


def _allowed(
    points: FloatArray,
    forbidden: BaseGeometry | None,
    in_bounds: BaseGeometry | None,
    *,
    within: BaseGeometry | None = None,
) -> FloatArray:
    """Keep the points outside ``forbidden`` and inside both other shapes."""
    keep = np.ones(len(points), dtype=bool)
    along, across = points.T
    if forbidden is not None and not forbidden.is_empty:
        shapely.prepare(forbidden)
        keep &= ~shapely.intersects_xy(forbidden, along, across)
    for shape in (in_bounds, within):
        if shape is not None:
            shapely.prepare(shape)
            keep &= shapely.intersects_xy(shape, along, across)
    return points[keep]
