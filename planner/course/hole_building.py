"""Features in metres to a course of holes, each in its own frame."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.course.assignment import GreenPlace, green_of, tees_by_hole
from planner.course.boundary import course_outline, in_bounds_of
from planner.course.elevation import profile_of
from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.ground import (
    CORRIDOR_M,
    GroundShape,
    area_to_hole,
    areas_of_hole,
    assumed_fairway,
    ground_shapes,
)
from planner.course.hole import Course, Hole, HoleFrame, Point, Tee, playing_length
from planner.course.hole_lines import drawn_holes
from planner.course.lies import Ground
from planner.course.map_features import AreaShape, MapFeature, of_kind
from planner.course.refs import (
    CardHole,
    card_holes,
    par_of,
    report_repeated_indices,
    stroke_index_of,
)
from planner.course.tags import Kind
from planner.course.tees import PlacedTee, dist_unit, report_gaps, tees_of

FloatArray = NDArray[np.float64]

PLAUSIBLE_LENGTH_M = (40.0, 700.0)
"""Lengths of holes outside this range are reported [m]; common practice."""
_PLAY_HALF_WIDTH_M = 1.0


@dataclass(frozen=True)
class _Site:
    """What all holes of a map share."""

    greens: Sequence[MapFeature]
    tees: Sequence[MapFeature]
    pins: Sequence[MapFeature]
    marks: Sequence[MapFeature]
    outline: AreaShape | None
    ground: Sequence[GroundShape]
    index: shapely.STRtree
    heights_proj: FloatArray
    dist_unit: float | None


def course_of(
    features: Sequence[MapFeature],
    heights_proj: FloatArray,
    crs_proj: str,
    attribution: str,
    log: FindingLog,
) -> Course | None:
    """Build every hole; None, with an error in the log, if there is none."""
    greens, tees = of_kind(features, Kind.GREEN), of_kind(features, Kind.TEE)
    outlines = of_kind(features, Kind.OUTLINE)
    drawn = drawn_holes(of_kind(features, Kind.HOLE), greens, tees, log)
    if not drawn:
        return None
    cards = card_holes(drawn, outlines, log)
    outline = course_outline(outlines, log)
    ground = ground_shapes(of_kind(features, Kind.GROUND), outline, log)
    site = _Site(
        greens=greens,
        tees=tees,
        pins=of_kind(features, Kind.PIN),
        marks=of_kind(features, Kind.OUT_OF_BOUNDS),
        outline=outline,
        ground=ground,
        index=shapely.STRtree([shape.shape_proj for shape in ground]),
        heights_proj=heights_proj,
        dist_unit=dist_unit(cards, log),
    )
    holes = []
    placed_tees: dict[str, tuple[PlacedTee, ...]] = {}
    pin_sources: dict[str, list[str]] = defaultdict(list)
    assigned = tees_by_hole(cards, tees, of_kind(features, Kind.PRACTICE))
    for card, own_tees in zip(cards, assigned, strict=True):
        green = green_of(card, greens, site.pins, log)
        pin_sources[green.source].append(card.ref)
        line = _line_to_pin(card.drawn.line_proj, green.pin_proj)
        placed = tees_of(card, line, own_tees, site.dist_unit, log)
        placed_tees[card.ref] = placed
        holes.append(_hole(card, line, green, placed, site, log))
    report_gaps(placed_tees, log)
    indices = [(card, hole.stroke_index) for card, hole in zip(cards, holes, strict=True)]
    report_repeated_indices(indices, log)
    for source, refs in pin_sources.items():
        listed = ", ".join(refs)
        log.note(WHOLE_FILE, f"pin of hole {listed}", f"placed at the {source}")
    return Course(
        name=next((outline.name for outline in _largest_first(outlines) if outline.name), ""),
        holes=tuple(holes),
        crs_proj=crs_proj,
        attribution=attribution,
        assumptions=tuple(dict.fromkeys(log.assumptions)),
    )


def _hole(
    card: CardHole,
    line: shapely.LineString,
    green: GreenPlace,
    placed: Sequence[PlacedTee],
    site: _Site,
    log: FindingLog,
) -> Hole:
    label = (card.drawn.feature_id, card.ref)
    frame = _frame(line)
    line_hole = frame.geometry_to_hole(line)
    assert isinstance(line_hole, shapely.LineString)
    tees = tuple(Tee(tee.name, _point(frame.to_hole([tee.place_proj])[0])) for tee in placed)
    length = playing_length(line, placed[0].place_proj)
    if not PLAUSIBLE_LENGTH_M[0] <= length <= PLAUSIBLE_LENGTH_M[1]:
        log.warning(label[0], f"hole {card.ref} is {length:.0f} m long", "kept; check its line")
    par = par_of(card, length, log)
    own = [
        GroundShape(
            Ground.GREEN,
            green.shape_proj,
            green.feature.feature_id if green.feature else "assumed green",
            green.feature.name if green.feature else "",
        )
    ]
    fairway = assumed_fairway(site.ground, line, green.shape_proj, par, label, log)
    if fairway is not None:
        own.append(fairway)
    places = shapely.multipoints([tee.place_proj for tee in placed])
    play = shapely.union(line.buffer(_PLAY_HALF_WIDTH_M), places.buffer(_PLAY_HALF_WIDTH_M))
    played = shapely.union(play, green.shape_proj)
    areas = areas_of_hole(
        site.ground, site.index, site.greens, site.tees, own, played.buffer(CORRIDOR_M), frame
    )
    in_bounds = in_bounds_of(site.outline, site.marks, play, label, log)
    return Hole(
        ref=card.ref,
        par=par,
        stroke_index=stroke_index_of(card, log),
        line_hole=line_hole,
        tees=tees,
        pin_hole=_point(line_hole.coords[-1]),
        areas=tuple(areas),
        in_bounds=None if in_bounds is None else area_to_hole(in_bounds, frame),
        frame=frame,
        elevation=profile_of(site.heights_proj, played, frame, tees[0].position_hole),
        name=card.name,
    )


def _line_to_pin(line: shapely.LineString, pin: shapely.Point) -> shapely.LineString:
    """Move the last corner of the line to the pin."""
    corners = shapely.get_coordinates(line)
    if np.hypot(*(corners[0] - (pin.x, pin.y))) < 1.0:
        return line
    corners[-1] = (pin.x, pin.y)
    # A corner past the pin, or on it, is no bend any more.
    while len(corners) > 2 and np.hypot(*(corners[-2] - corners[-1])) < 1.0:
        corners = np.delete(corners, -2, axis=0)
    return shapely.LineString(corners)


def _frame(line: shapely.LineString) -> HoleFrame:
    start, pin = shapely.get_coordinates(line)[[0, -1]]
    east, north = pin - start
    return HoleFrame(_point(start), math.atan2(east, north))


def _point(coordinates: Sequence[float] | FloatArray) -> Point:
    return (float(coordinates[0]), float(coordinates[1]))


def _largest_first(outlines: Sequence[MapFeature]) -> list[MapFeature]:
    return sorted(outlines, key=lambda outline: -outline.shape_proj.area)
