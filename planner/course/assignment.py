"""Which green, pin and tees belong to which hole, by geometry alone.

The map has no link from a hole to its areas. A line's end says which green is meant; a tee
belongs to the hole near whose first part it lies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
import shapely.ops
from shapely.geometry.base import BaseGeometry

from planner.course.findings import FindingLog
from planner.course.map_features import AreaShape, MapFeature
from planner.course.refs import CardHole

ASSUMED_GREEN_REACH_M = 40.0
"""A green this far from a line's end may be the hole's [m]; assumed."""
ASSUMED_GREEN_RADIUS_M = 12.0
"""Radius of a green that is not drawn [m]; assumed (452 m2)."""
ASSUMED_PIN_MARGIN_M = 2.0
"""A line that ends closer than this to the green's edge does not mean the pin [m]; assumed."""
ASSUMED_TEE_REACH_M = 60.0
"""A tee belongs to a hole whose first part passes this close [m]; assumed."""
ASSUMED_TEE_SHARE = 0.4
"""Forward tees lie beside this first part of the line; assumed."""
ASSUMED_REF_REACH_M = 200.0
"""A tee or green with the hole's own ref is believed up to this distance [m]; assumed."""


@dataclass(frozen=True)
class GreenPlace:
    """Green and pin of a hole [m]; ``source`` says where the pin is from."""

    shape_proj: AreaShape
    pin_proj: shapely.Point
    feature: MapFeature | None
    source: str


def green_of(
    hole: CardHole,
    greens: Sequence[MapFeature],
    pins: Sequence[MapFeature],
    log: FindingLog,
) -> GreenPlace:
    """Green at the end of the hole's line, and the pin on it."""
    end = shapely.Point(hole.drawn.line_proj.coords[-1])
    feature = _nearest_green(hole, end, greens)
    if feature is None:
        nearest = min((end.distance(g.shape_proj) for g in greens), default=None)
        where = "there is no green" if nearest is None else f"the nearest is {nearest:.0f} m off"
        pin, source = end, "line's end"
    elif not feature.is_area:
        where = "the green is only a point"
        pin, source = feature.shape_proj.centroid, "point drawn as the green"
    else:
        return _pin_on(feature, end, pins)
    log.assume(
        "warning",
        hole.drawn.feature_id,
        f"hole {hole.ref}: no green at the line's end ({where})",
        f"a round green of {ASSUMED_GREEN_RADIUS_M:.0f} m radius round the {source}",
    )
    return GreenPlace(pin.buffer(ASSUMED_GREEN_RADIUS_M), pin, feature, source)


def tees_by_hole(
    holes: Sequence[CardHole], tees: Sequence[MapFeature], practice: Sequence[MapFeature]
) -> list[list[MapFeature]]:
    """Tees of each hole, in map order; tees of practice grounds belong to none."""
    found: list[list[MapFeature]] = [[] for _ in holes]
    places = _frame(
        [tee.shape_proj.centroid for tee in tees],
        tee=list(range(len(tees))),
        ref=[tee.tags.get("ref", "") for tee in tees],
    )
    numbers = list(range(len(holes)))
    lines = _frame([_teeing_line(hole) for hole in holes], hole=numbers)
    refs = [hole.drawn.feature.tags.get("ref", "") for hole in holes]
    starts = _frame([_start(hole) for hole in holes], hole=numbers, ref=refs)
    grounds = _frame([area.shape_proj for area in practice if area.is_area])

    beside = places.sjoin(lines, predicate="dwithin", distance=ASSUMED_TEE_REACH_M)
    # A tee with the hole's own ref beats every other.
    named = places[places["ref"] != ""].sjoin(
        starts, predicate="dwithin", distance=ASSUMED_REF_REACH_M, on_attribute="ref"
    )
    on_practice = set(places.sjoin(grounds, predicate="within")["tee"])
    best: dict[int, tuple[bool, float, int]] = {}
    for pairs, has_own_ref in ((beside, False), (named, True)):
        for tee, hole in zip(pairs["tee"], pairs["hole"], strict=True):
            fit = (not has_own_ref, _misfit(places.geometry[tee], holes[hole]), hole)
            best[tee] = min(best.get(tee, fit), fit)
    for tee in sorted(best):
        if tee not in on_practice and not _is_marked_practice(tees[tee]):
            found[best[tee][-1]].append(tees[tee])
    return found


def _nearest_green(
    hole: CardHole, end: shapely.Point, greens: Sequence[MapFeature]
) -> MapFeature | None:
    best, best_cost = None, ASSUMED_GREEN_REACH_M
    for green in greens:
        distance = end.distance(green.shape_proj)
        ref = green.tags.get("ref", "")
        if ref and ref != hole.drawn.feature.tags.get("ref"):
            # A green that says it is another hole's must be reached exactly.
            distance += ASSUMED_GREEN_REACH_M / 2
        if distance <= best_cost and (best is None or distance < best_cost):
            best, best_cost = green, distance
    return best


def _pin_on(green: MapFeature, end: shapely.Point, pins: Sequence[MapFeature]) -> GreenPlace:
    shape = green.shape_proj
    on_it = [p.shape_proj.centroid for p in pins if shapely.intersects(shape, p.shape_proj)]
    if on_it:
        return GreenPlace(shape, min(on_it, key=end.distance), green, "golf=pin")
    if shapely.intersects(shape, end) and shape.boundary.distance(end) >= ASSUMED_PIN_MARGIN_M:
        return GreenPlace(shape, end, green, "line's end on the green")
    # Of a green in parts, the part where the line ends.
    part = min(shapely.get_parts(shape), key=end.distance)
    middle = part.centroid
    if not shapely.intersects(part, middle):
        middle = part.representative_point()
    return GreenPlace(shape, middle, green, "middle of the green")


def _teeing_line(hole: CardHole) -> shapely.LineString:
    """First part of the line, drawn back behind its start by the reach of a tee."""
    line = hole.drawn.line_proj
    first = shapely.get_coordinates(shapely.get_parts(line)[0])
    step = first[0] - first[1]
    behind = first[0] + step / np.hypot(*step) * ASSUMED_TEE_REACH_M
    forward = shapely.ops.substring(line, 0.0, ASSUMED_TEE_SHARE, normalized=True)
    return shapely.LineString(np.vstack((behind, shapely.get_coordinates(forward))))


def _start(hole: CardHole) -> shapely.Point:
    return shapely.Point(hole.drawn.line_proj.coords[0])


def _misfit(middle: shapely.Point, hole: CardHole) -> float:
    """How badly a tee fits a hole [m]: aside counts in full, ahead or behind a quarter."""
    return float(_teeing_line(hole).distance(middle) + _start(hole).distance(middle) / 4)


def _is_marked_practice(tee: MapFeature) -> bool:
    return tee.tags.get("practice", "no") != "no" or tee.tags.get("access") == "practice"


def _frame(shapes: Sequence[BaseGeometry], **columns: Sequence[int] | Sequence[str]) -> Any:
    """Table of shapes in metres; the library is slow to load, so only reading a map loads it."""
    from geopandas import GeoDataFrame

    return GeoDataFrame(columns, geometry=list(shapes))
