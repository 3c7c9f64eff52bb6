"""Black and white styles for paper: every ground has its own grey and its own marks.

Greys are far apart and no ground leans on grey alone, so that a weak printer, bright sun or a
photocopy leave them distinguishable. Widths and dashes in points.
"""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

import shapely
from shapely.geometry.base import BaseGeometry

from planner.course.lies import Ground
from planner.report.drawing import Shape
from planner.report.ground_marks import dots, hatching, ticks
from planner.report.palette import Style

__all__ = ["PRINT_GROUNDS", "PRINT_STYLES", "printed_ground"]

BLACK, WHITE = "#000000", "#ffffff"

PRINT_STYLES = MappingProxyType(
    {
        "rough": Style("#d9d9d9"),
        "deep rough": Style("#d9d9d9", stroke="#555555", stroke_width=0.3),
        "deep rough marks": Style(stroke=BLACK, stroke_width=0.6),
        "trees": Style("#8c8c8c", stroke="#404040", stroke_width=0.4),
        "trees marks": Style(stroke="#262626", stroke_width=2.4),
        "fairway": Style(WHITE, stroke="#555555", stroke_width=0.4),
        "tee": Style("#5e5e5e", stroke=BLACK, stroke_width=0.6),
        "yellow": Style(WHITE, stroke=BLACK, stroke_width=1.3, dash=(3.0, 2.0)),
        "red": Style(WHITE, stroke=BLACK, stroke_width=1.3),
        "water marks": Style(stroke=BLACK, stroke_width=0.6),
        "sand": Style(WHITE, stroke=BLACK, stroke_width=0.5),
        "sand marks": Style(stroke=BLACK, stroke_width=0.9),
        "green": Style("#a8a8a8", stroke=BLACK, stroke_width=1.2),
        "out of bounds": Style(WHITE),
        "out of bounds marks": Style(stroke="#404040", stroke_width=0.5),
        "boundary": Style(stroke=BLACK, stroke_width=1.0, dash=(6.0, 2.0, 1.5, 2.0)),
        "line of play": Style(stroke=BLACK, stroke_width=0.7, dash=(0.7, 2.6)),
        "distance": Style(stroke=BLACK, stroke_width=0.5),
        "halo": Style(stroke=WHITE, stroke_width=2.6),
        "pattern 90": Style(stroke=BLACK, stroke_width=1.0, dash=(3.0, 1.6)),
        "aim line": Style(stroke=BLACK, stroke_width=0.9),
        "aim point": Style(WHITE, stroke=BLACK, stroke_width=1.2),
        "ball": Style(BLACK, stroke=WHITE, stroke_width=0.8),
        "pin": Style(stroke=BLACK, stroke_width=1.2),
        "pin flag": Style(BLACK, stroke=WHITE, stroke_width=0.4),
        "next place": Style(BLACK, stroke=WHITE, stroke_width=0.9),
    }
)
"""How each role of a drawing is painted on paper."""

PRINT_GROUNDS = MappingProxyType(
    {
        Ground.FAIRWAY: "fairway",
        Ground.ROUGH: "rough",
        Ground.DEEP_ROUGH: "deep rough",
        Ground.TREES: "trees",
        Ground.SAND: "sand",
        Ground.GREEN: "green",
        Ground.TEE: "tee",
        Ground.YELLOW: "yellow",
        Ground.RED: "red",
        Ground.OUT: "out of bounds",
    }
)
"""Role of each ground, in the order of the key."""


def printed_ground(ground: Ground, area: BaseGeometry, *, point: float) -> Iterator[Shape]:
    """Area of one ground with the marks inside it; ``point`` is the length of 1 pt in its frame."""
    role = PRINT_GROUNDS[ground]
    yield Shape(role, area, role)
    inner = shapely.buffer(area, -0.8 * point)
    if ground is Ground.TREES:
        yield Shape("trees marks", dots(inner, spacing=5.0 * point), role)
    elif ground is Ground.DEEP_ROUGH:
        yield Shape("deep rough marks", ticks(inner, spacing=4.5 * point), role)
    elif ground is Ground.SAND:
        yield Shape("sand marks", dots(inner, spacing=1.8 * point), role)
    elif ground.is_penalty_area:
        # Off the edge, so that a broken outline is seen to be broken.
        inner = shapely.buffer(area, -1.5 * point)
        yield Shape("water marks", _level_lines(inner, spacing=1.8 * point), role)
    elif ground is Ground.OUT:
        yield Shape("out of bounds marks", hatching(area, spacing=6.0 * point), role)


def _level_lines(area: BaseGeometry, *, spacing: float) -> BaseGeometry:
    """Unbroken level lines, clipped to the area; anchored at zero."""
    if area.is_empty:
        return shapely.MultiLineString()
    left, bottom, right, top = area.bounds
    first, last = int(bottom // spacing), int(top // spacing) + 1
    lines = [[(left, n * spacing), (right, n * spacing)] for n in range(first, last + 1)]
    return shapely.intersection(shapely.MultiLineString(lines), area)
