"""A plain hole: what published averages are compared on.

Straight and level, a fairway all the way, rough beside it, a round green with a bunker on either
side, the pin near one edge as on a day of play; no trees, no water, no boundary. Long enough that
every distance can be read off its line of play.
"""

from __future__ import annotations

import math

import shapely

from planner.course.hole import GroundArea, Hole, HoleFrame, Tee
from planner.course.lies import Ground
from planner.units import M_PER_YD

__all__ = ["plain_hole"]

LENGTH_M = 580 * M_PER_YD
ASSUMED_FAIRWAY_WIDTH_M = 30 * M_PER_YD
"""Width of the fairway [m]; tour players then hit two in three, as published (65 %, Broadie
2018)."""
ASSUMED_GREEN_RADIUS_M = 13.0
"""Radius of the green [m]: 530 m2, 5700 square feet, the size of many greens (common practice)."""
ASSUMED_PIN_FROM_EDGE_M = 4.0
"""From the pin to the nearest edge of the green [m], about five paces (common practice)."""
ASSUMED_APRON_M = 3.0
"""Width of the mown ring round the green [m]."""
ASSUMED_BUNKER_RADIUS_M, ASSUMED_BUNKER_GAP_M = 5.0, 2.0
"""Radius of the two bunkers, and from the green's edge to their nearest point [m]."""
ASSUMED_BUNKER_SHORT = 0.3
"""How far short of the middle of the green the bunkers lie, in radii of the green."""
_APPROACH_HALF_WIDTH_M = 6.0
_BEHIND_TEE_M = 20.0
_SMOOTH_M = 0.05
"""How far simplified outlines may stray [m]."""


def plain_hole() -> Hole:
    """The hole, its pin on the right of the green at (``LENGTH_M``, 0)."""
    radius, half = ASSUMED_GREEN_RADIUS_M, ASSUMED_FAIRWAY_WIDTH_M / 2
    middle = (LENGTH_M, ASSUMED_PIN_FROM_EDGE_M - radius)
    green = shapely.Point(middle).buffer(radius, quad_segs=16)
    before_green = shapely.box(
        LENGTH_M - radius - 5.0,
        middle[1] - _APPROACH_HALF_WIDTH_M,
        LENGTH_M - 5.0,
        middle[1] + _APPROACH_HALF_WIDTH_M,
    )
    fairway = shapely.union_all(
        [
            shapely.box(-_BEHIND_TEE_M, -half, LENGTH_M - radius - 1.0, half),
            before_green,
            green.buffer(ASSUMED_APRON_M),
        ]
    )
    beside = radius + ASSUMED_BUNKER_GAP_M + ASSUMED_BUNKER_RADIUS_M
    bunkers = [
        shapely.Point(LENGTH_M - ASSUMED_BUNKER_SHORT * radius, middle[1] + side * beside).buffer(
            ASSUMED_BUNKER_RADIUS_M, quad_segs=8
        )
        for side in (-1.0, 1.0)
    ]
    areas = [
        GroundArea(Ground.FAIRWAY, fairway.simplify(_SMOOTH_M)),
        GroundArea(Ground.GREEN, green),
        *(GroundArea(Ground.SAND, bunker) for bunker in bunkers),
    ]
    return Hole(
        ref="plain",
        par=5,
        stroke_index=None,
        line_hole=shapely.LineString([(0.0, 0.0), (LENGTH_M, 0.0)]),
        tees=(Tee("plain", (0.0, 0.0)),),
        pin_hole=(LENGTH_M, 0.0),
        areas=tuple(areas),
        in_bounds=None,
        frame=HoleFrame((0.0, 0.0), math.radians(0.0)),
    )
