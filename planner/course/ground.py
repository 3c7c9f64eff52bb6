"""The ground of the course, and the part of it that matters to one hole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.ops
from shapely.geometry.base import BaseGeometry

from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.hole import GroundArea, HoleFrame
from planner.course.lies import Ground
from planner.course.map_features import AreaShape, MapFeature, polygonal
from planner.course.tags import Drawn, number

ASSUMED_STREAM_HALF_WIDTH_M = 1.0
"""Half the width of a stream without a width tag [m]; assumed."""
ASSUMED_CROWN_RADIUS_M = 3.0
"""Radius of a single tree and half the width of a row of trees [m]; assumed."""
ASSUMED_BUNKER_AREA_M2 = 3000.0
"""Plain sand larger than this, or off the course, is a beach or waste ground [m2]; assumed."""
ASSUMED_DOUBLED_SHARE = 0.5
"""Plain water covered this much by a golf tag's water is the same water; assumed."""
ASSUMED_FAIRWAY_HALF_WIDTH_M = 15.0
"""Half the width of a fairway that is not drawn [m]; assumed (30 m wide, common practice)."""
ASSUMED_FAIRWAY_START_M = 90.0
"""Distance from the start of the line to a fairway that is not drawn [m]; assumed."""
ASSUMED_COLLAR_M = 4.0
"""Width of mown ground round the green of a par 3 without fairway [m]; assumed."""
ASSUMED_FAIRWAY_SHARE = 0.15
"""A fairway is the hole's if this share of its line passes over or close to it; assumed."""
ASSUMED_FAIRWAY_REACH_M = 15.0
"""'Close to' a fairway, for that share [m]; assumed."""
CORRIDOR_M = 120.0
"""Ground is kept this far to all sides of a hole's line, tees and green [m]; our choice."""

_TREE_QUADRANT_CORNERS = 3


@dataclass(frozen=True)
class GroundShape:
    """A piece of ground of the whole course [m]."""

    ground: Ground
    shape_proj: AreaShape
    feature_id: str
    name: str = ""
    from_golf_tag: bool = True
    is_single_tree: bool = False

    def part_in(self, corridor: BaseGeometry, frame: HoleFrame) -> GroundArea | None:
        """Cut out the part inside ``corridor`` [m], in the frame of a hole."""
        part = polygonal(shapely.intersection(self.shape_proj, corridor))
        if part is None:
            return None
        return GroundArea(self.ground, area_to_hole(part, frame), self.feature_id, self.name)


def area_to_hole(area: AreaShape, frame: HoleFrame) -> AreaShape:
    """Turn an area [m] into the frame of a hole, shells counter-clockwise there."""
    turned = shapely.orient_polygons(frame.geometry_to_hole(area))
    assert isinstance(turned, shapely.Polygon | shapely.MultiPolygon)
    return turned


def ground_shapes(
    features: Sequence[MapFeature], outline: AreaShape | None, log: FindingLog
) -> list[GroundShape]:
    """All drawn ground of the course, lines and trees given a width, doubled water merged."""
    shapes = []
    for feature in features:
        shape = _with_width(feature, log)
        if shape is None or feature.meaning.ground is None:
            continue
        if feature.meaning.assumption:
            log.assume("note", WHOLE_FILE, feature.meaning.assumption, "check the penalty colours")
        ground = feature.meaning.ground
        if ground is Ground.SAND and not feature.meaning.from_golf_tag:
            ground = _plain_sand(feature, shape, outline, log)
        shapes.append(
            GroundShape(
                ground,
                shape,
                feature.feature_id,
                feature.name,
                feature.meaning.from_golf_tag,
                feature.shape_proj.geom_type in ("Point", "MultiPoint"),
            )
        )
    return _merged_water(shapes)


def areas_of_hole(
    shapes: Sequence[GroundShape],
    index: shapely.STRtree,
    greens: Sequence[MapFeature],
    tees: Sequence[MapFeature],
    own: Sequence[GroundShape],
    corridor: BaseGeometry,
    frame: HoleFrame,
) -> list[GroundArea]:
    """Ground within :data:`CORRIDOR_M` of a hole, in the hole frame.

    Parameters
    ----------
    shapes, index
        Ground of the course, and the tree over its shapes.
    greens, tees
        All greens and tees of the course. Another hole's green is a wrong green, from which
        free relief must be taken (Rule 13.1f): it counts as fairway.
    own
        The hole's green, and its fairway if that had to be assumed.
    corridor
        The ground that matters [m].
    frame
        Frame of the hole.
    """
    own_ids = {shape.feature_id for shape in own}
    near = [shapes[int(place)] for place in np.sort(index.query(corridor, "intersects"))]
    near += [
        GroundShape(Ground.FAIRWAY, green.shape_proj, green.feature_id, green.name)
        for green in greens
        if green.is_area and green.feature_id not in own_ids
    ]
    near += [
        GroundShape(Ground.TEE, tee.shape_proj, tee.feature_id, tee.name)
        for tee in tees
        if tee.is_area
    ]
    trees = [shape.shape_proj for shape in near if shape.is_single_tree]
    near = [shape for shape in near if not shape.is_single_tree]
    if trees:
        crowns = polygonal(shapely.union_all(trees))
        if crowns is not None:
            near.append(GroundShape(Ground.TREES, crowns, "single trees"))
    near.extend(own)
    parts = (shape.part_in(corridor, frame) for shape in near)
    return [part for part in parts if part is not None]


def assumed_fairway(
    shapes: Sequence[GroundShape],
    line_proj: shapely.LineString,
    green_proj: AreaShape,
    par: int,
    label: tuple[str, str],
    log: FindingLog,
) -> GroundShape | None:
    """Fairway of a hole where the map has none, or None if it has one."""
    fairways = [s.shape_proj for s in shapes if s.ground is Ground.FAIRWAY]
    if fairways:
        reach = shapely.union_all(
            [f.buffer(ASSUMED_FAIRWAY_REACH_M) for f in fairways if f.distance(line_proj) < 20]
        )
        covered = shapely.intersection(line_proj, reach).length
        if covered >= ASSUMED_FAIRWAY_SHARE * line_proj.length:
            return None
    feature_id, ref = label
    if par <= 3:
        mown: BaseGeometry = green_proj.buffer(ASSUMED_COLLAR_M)
        text = f"a collar of {ASSUMED_COLLAR_M:.0f} m round the green"
    else:
        start = min(ASSUMED_FAIRWAY_START_M, line_proj.length / 2)
        played = shapely.ops.substring(line_proj, start, line_proj.length)
        mown = played.buffer(ASSUMED_FAIRWAY_HALF_WIDTH_M)
        text = (
            f"one {2 * ASSUMED_FAIRWAY_HALF_WIDTH_M:.0f} m wide along the line from "
            f"{start:.0f} m after its start"
        )
    grown_over = [
        s.shape_proj
        for s in shapes
        if s.ground in (Ground.TREES, Ground.DEEP_ROUGH) and s.shape_proj.intersects(mown)
    ]
    if grown_over:
        mown = shapely.difference(mown, shapely.union_all(grown_over))
    log.assume(
        "note" if par <= 3 else "warning", feature_id, f"hole {ref}: no fairway is drawn", text
    )
    area = polygonal(mown)
    return None if area is None else GroundShape(Ground.FAIRWAY, area, "assumed fairway")


def _with_width(feature: MapFeature, log: FindingLog) -> AreaShape | None:
    if feature.is_area:
        return polygonal(feature.shape_proj)
    width = number(feature.tags.get("width"), metres=True)
    if feature.meaning.drawn is Drawn.TREES:
        crown = number(feature.tags.get("diameter_crown"), metres=True)
        radius = crown / 2 if crown and crown > 0 else ASSUMED_CROWN_RADIUS_M
        return polygonal(feature.shape_proj.buffer(radius, quad_segs=_TREE_QUADRANT_CORNERS))
    if width is None or width <= 0:
        log.assume(
            "note",
            WHOLE_FILE,
            "streams drawn as lines without a width",
            f"{2 * ASSUMED_STREAM_HALF_WIDTH_M:.0f} m wide",
        )
        width = 2 * ASSUMED_STREAM_HALF_WIDTH_M
    return polygonal(feature.shape_proj.buffer(width / 2, quad_segs=4))


def _plain_sand(
    feature: MapFeature, shape: AreaShape, outline: AreaShape | None, log: FindingLog
) -> Ground:
    inside = outline is None or shapely.intersection(shape, outline).area > 0.5 * shape.area
    if inside and shape.area <= ASSUMED_BUNKER_AREA_M2:
        log.assume("note", WHOLE_FILE, "sand without a golf tag (natural=sand)", "read as bunkers")
        return Ground.SAND
    log.assume(
        "note",
        feature.feature_id,
        f"{shape.area:.0f} m2 of sand without a golf tag" + ("" if inside else ", off the course"),
        "read as a beach or waste ground: general area, deep rough",
    )
    return Ground.DEEP_ROUGH


def _merged_water(shapes: Sequence[GroundShape]) -> list[GroundShape]:
    """Water drawn twice becomes one area, with the colour of the golf tag."""
    marked = [s for s in shapes if s.ground.is_penalty_area and s.from_golf_tag]
    merged = {id(shape): shape for shape in shapes}
    for shape in shapes:
        if not shape.ground.is_penalty_area or shape.from_golf_tag:
            continue
        rest: BaseGeometry | None = shape.shape_proj
        for golf in marked:
            if rest is None or not rest.intersects(golf.shape_proj):
                continue
            common = shapely.intersection(rest, golf.shape_proj).area
            if common >= ASSUMED_DOUBLED_SHARE * rest.area:
                grown = polygonal(shapely.union(merged[id(golf)].shape_proj, rest))
                merged[id(golf)] = replace(merged[id(golf)], shape_proj=grown or golf.shape_proj)
                rest = None
            else:
                rest = polygonal(shapely.difference(rest, golf.shape_proj))
        if rest is None:
            del merged[id(shape)]
        else:
            merged[id(shape)] = replace(shape, shape_proj=rest)
    return list(merged.values())
