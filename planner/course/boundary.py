"""Where a ball is in bounds on a hole: the course outline, less what is marked out of bounds.

An out-of-bounds line is drawn without a side. The outline is split by it, and the parts that
hold the hole's line, tees or green are in; so a boundary inside the course counts for the hole
that lies beside it, on whichever side that hole lies.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.map_features import AreaShape, MapFeature, polygonal

ASSUMED_EXTENSION_M = 50.0
"""A boundary line is drawn on by this much to meet the outline [m]; assumed."""
ASSUMED_STRIP_M = 60.0
"""Depth out of bounds behind a line that does not split the outline [m]; assumed."""
ASSUMED_PLAY_MARGIN_M = 30.0
"""Ground in bounds round a hole's line that leaves the outline [m]; assumed."""
ASSUMED_NO_OUTLINE_REACH_M = 1000.0
"""Without an outline, in bounds as far as this round the hole [m]; assumed."""

_TOUCH_M2 = 2.0


def course_outline(outlines: Sequence[MapFeature], log: FindingLog) -> AreaShape | None:
    """All outlines as one area [m], or None with a note."""
    shapes = [outline.shape_proj for outline in outlines if outline.is_area]
    if not shapes:
        log.assume(
            "note",
            WHOLE_FILE,
            "no course outline is drawn (leisure=golf_course as an area)",
            "nothing is out of bounds but what is marked so",
        )
        return None
    return polygonal(shapely.union_all(shapes))


def in_bounds_of(
    outline: AreaShape | None,
    marks: Sequence[MapFeature],
    play_proj: BaseGeometry,
    label: tuple[str, str],
    log: FindingLog,
) -> AreaShape | None:
    """Where a ball is in bounds on one hole [m], or None if the map shows no boundary.

    Parameters
    ----------
    outline
        The course's outline [m], or None.
    marks
        Features tagged ``golf=out_of_bounds``: areas and lines.
    play_proj
        Narrow area round the line of play, tees and pin: it is in bounds [m].
    label
        Id and ref of the hole, for the log.
    log
        Where assumptions go.
    """
    feature_id, ref = label
    if outline is None and not marks:
        return None
    region: BaseGeometry = outline or play_proj.buffer(ASSUMED_NO_OUTLINE_REACH_M)
    if not region.covers(play_proj):
        log.assume(
            "warning",
            feature_id,
            f"hole {ref} leaves the course outline",
            f"{ASSUMED_PLAY_MARGIN_M:.0f} m round its line taken as in bounds; check the outline",
        )
        region = shapely.union(region, play_proj.buffer(ASSUMED_PLAY_MARGIN_M))
    for mark in marks:
        if mark.is_area:
            region = shapely.difference(region, mark.shape_proj)
        else:
            for line in shapely.get_parts(shapely.line_merge(mark.shape_proj)):
                region = _without_far_side(region, line, play_proj, mark.feature_id, log)
    area = polygonal(region)
    if area is None or not area.intersects(play_proj):
        log.warning(
            feature_id,
            f"hole {ref} lies out of bounds altogether",
            "its marks are not used; check golf=out_of_bounds",
        )
        return outline
    return area


def _without_far_side(
    region: BaseGeometry,
    line: shapely.LineString,
    play: BaseGeometry,
    feature_id: str,
    log: FindingLog,
) -> BaseGeometry:
    """Cut off what lies beyond ``line`` as seen from the hole."""
    if not line.intersects(region):
        return region
    cut = _extended(line, region)
    kept: list[BaseGeometry] = []
    for part in shapely.get_parts(region):
        if not part.intersects(cut):
            kept.append(part)
            continue
        noded = shapely.union_all([part.boundary, cut])
        faces = [
            face
            for face in shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
            if part.contains(face.representative_point())
        ]
        if len(faces) < 2:
            return _without_strip(region, line, play, feature_id, log)
        for face in faces:
            if _holds(face, play):
                kept.append(face)
    if not any(_holds(face, play) for face in kept):
        return region
    return shapely.union_all(kept)


def _holds(face: BaseGeometry, play: BaseGeometry) -> bool:
    """Whether more than a touch of the hole lies in ``face``."""
    return float(shapely.intersection(face, play).area) > _TOUCH_M2


def _extended(line: shapely.LineString, region: BaseGeometry) -> shapely.LineString:
    """Draw the line on straight at every end that lies inside the region."""
    if line.is_closed:
        return line
    corners = shapely.get_coordinates(line)
    for _ in range(2):
        if region.contains(shapely.Point(corners[0])):
            step = corners[0] - corners[1]
            corners = np.vstack(
                (corners[0] + step / np.hypot(*step) * ASSUMED_EXTENSION_M, corners)
            )
        corners = corners[::-1]
    return shapely.LineString(corners)


def _without_strip(
    region: BaseGeometry,
    line: shapely.LineString,
    play: BaseGeometry,
    feature_id: str,
    log: FindingLog,
) -> BaseGeometry:
    sides = [
        shapely.make_valid(line.buffer(side * ASSUMED_STRIP_M, single_sided=True))
        for side in (1.0, -1.0)
    ]
    clear = [side for side in sides if not _holds(side, play)]
    if not clear:
        return region
    # Both sides may be clear of a far hole: out is the side away from it.
    away = max(clear, key=lambda side: side.centroid.distance(play))
    log.assume(
        "note",
        feature_id,
        "out-of-bounds line does not reach the course outline",
        f"a strip of {ASSUMED_STRIP_M:.0f} m beyond it, seen from each hole, is out of bounds",
    )
    kept = []
    for part in shapely.get_parts(region):
        pieces = list(shapely.get_parts(shapely.difference(part, away)))
        # Ground cut off behind the strip is out as well.
        kept += [piece for piece in pieces if _holds(piece, play)] or pieces
    return shapely.union_all(kept)
