"""Hole features to directed lines of play, however they were drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.map_features import MapFeature, polygonal

ASSUMED_END_REACH_M = 60.0
"""Beyond this a green or tee has nothing to do with the end of a line [m]; assumed."""
ASSUMED_REVERSAL_GAIN_M = 30.0
"""A line is turned round if that brings its ends this much closer to tee and green [m]; assumed."""
ASSUMED_SAME_LINE_M = 10.0
"""Two lines of one ref that stay this close are one hole drawn twice [m]; assumed."""


@dataclass(frozen=True)
class DrawnHole:
    """A hole feature with its line of play from tee to green [m]."""

    feature: MapFeature
    line_proj: shapely.LineString

    @property
    def feature_id(self) -> str:
        """The map's id of the hole."""
        return self.feature.feature_id


def drawn_holes(
    holes: Sequence[MapFeature],
    greens: Sequence[MapFeature],
    tees: Sequence[MapFeature],
    log: FindingLog,
) -> list[DrawnHole]:
    """Lines of play of all hole features that have one, in map order."""
    lines: list[DrawnHole] = []
    for hole in holes:
        line = _line_of(hole, greens, tees, log)
        if line is None:
            continue
        drawn = DrawnHole(hole, _directed(line, hole, greens, tees, log))
        twin = _twin(drawn, lines)
        if twin is not None:
            log.warning(
                hole.feature_id,
                f"the same hole as {twin.feature_id}, drawn twice",
                f"left out; {twin.feature_id} is used",
            )
            continue
        lines.append(drawn)
    if not lines:
        problem = (
            "none of its hole features can be used" if holes else "no hole is drawn (golf=hole)"
        )
        log.error(
            WHOLE_FILE,
            problem,
            "draw for every hole a line from tee to green with golf=hole, ref and par"
            + (f"; {len(greens)} greens and {len(tees)} tees are there" if greens else ""),
        )
    return lines


def _line_of(
    hole: MapFeature,
    greens: Sequence[MapFeature],
    tees: Sequence[MapFeature],
    log: FindingLog,
) -> shapely.LineString | None:
    shape = hole.shape_proj
    if shape.geom_type == "Point":
        log.warning(
            hole.feature_id,
            "hole drawn as a point",
            "hole left out; draw a line from tee to green",
        )
        return None
    if shape.geom_type == "MultiLineString":
        shape = _joined(shape, hole, log)
    if hole.is_area or shape.is_closed:
        return _line_through_area(shape, hole, greens, tees, log)
    return shape


def _joined(shape: BaseGeometry, hole: MapFeature, log: FindingLog) -> shapely.LineString:
    merged = shapely.line_merge(shape)
    parts = sorted(shapely.get_parts(merged), key=lambda part: part.length)
    if len(parts) > 1:
        log.warning(
            hole.feature_id, f"hole line in {len(parts)} pieces", "its longest piece is used"
        )
    return parts[-1]


def _line_through_area(
    shape: BaseGeometry,
    hole: MapFeature,
    greens: Sequence[MapFeature],
    tees: Sequence[MapFeature],
    log: FindingLog,
) -> shapely.LineString | None:
    """Straight line from the farthest tee to the green inside a hole drawn as an area."""
    corners = shapely.get_coordinates(shape)
    area = shape if hole.is_area else polygonal(shapely.make_valid(shapely.Polygon(corners)))
    problem = "hole drawn as an area, not a line"
    if area is not None:
        inside = [g for g in greens if shapely.intersects(area, g.shape_proj)]
        starts = [t.shape_proj.centroid for t in tees if shapely.intersects(area, t.shape_proj)]
        # A point drawn as a green has no area: it still beats none.
        inside.sort(key=lambda g: g.shape_proj.intersection(area).area)
        end = inside[-1].shape_proj.centroid if inside else None
        if end is not None:
            start = max(starts or shapely.points(corners), key=end.distance)
        elif starts:
            start = starts[0]
            end = max(shapely.points(corners), key=start.distance)
        if end is not None and start.distance(end) >= 1.0:
            log.assume(
                "warning",
                hole.feature_id,
                problem,
                "played on the straight line from its "
                f"{'farthest tee' if starts else 'farthest corner'} to its "
                f"{'green' if inside else 'far end'}; draw a line if it bends",
            )
            return shapely.LineString((start, end))
    log.warning(
        hole.feature_id,
        f"{problem}, with neither green nor tee inside",
        "hole left out; draw a line from tee to green",
    )
    return None


def _directed(
    line: shapely.LineString,
    hole: MapFeature,
    greens: Sequence[MapFeature],
    tees: Sequence[MapFeature],
    log: FindingLog,
) -> shapely.LineString:
    """Turn the line round if that fits greens and tees clearly better."""
    first, last = (shapely.Point(corner) for corner in np.array(line.coords)[[0, -1], :2])
    green_first, green_last = _distance(first, greens), _distance(last, greens)
    tee_first, tee_last = _distance(first, tees), _distance(last, tees)
    starts_on_tee_only = tee_first <= 5.0 and green_first > 2.0
    forward, backward = tee_first + green_last, tee_last + green_first
    if starts_on_tee_only or backward + ASSUMED_REVERSAL_GAIN_M >= forward:
        return line
    log.assume("warning", hole.feature_id, "line is drawn from green to tee", "turned round")
    return shapely.reverse(line)


def _distance(point: shapely.Point, features: Sequence[MapFeature]) -> float:
    if not features:
        return ASSUMED_END_REACH_M
    nearest = shapely.distance(point, [feature.shape_proj for feature in features]).min()
    return min(float(nearest), ASSUMED_END_REACH_M)


def _twin(drawn: DrawnHole, others: Sequence[DrawnHole]) -> DrawnHole | None:
    ref = drawn.feature.tags.get("ref")
    for other in others:
        if other.feature.tags.get("ref") != ref:
            continue
        if shapely.hausdorff_distance(drawn.line_proj, other.line_proj) <= ASSUMED_SAME_LINE_M:
            return other
    return None
