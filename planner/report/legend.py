"""Key to the drawing: one sample of each ground and mark, as SVG in the drawing's own styles."""

from __future__ import annotations

import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from planner.course.lies import Ground
from planner.report.drawing import Drawing, Label, Shape
from planner.report.hole_drawing import ground_shapes
from planner.report.view import View

__all__ = ["legend"]

COLUMNS, COLUMN, ROW = 2, 172.0, 24.0
SAMPLE_WIDTH, SAMPLE_HEIGHT = 30.0, 16.0
GROUNDS = (
    (Ground.FAIRWAY, "fairway"),
    (Ground.ROUGH, "rough"),
    (Ground.DEEP_ROUGH, "deep rough"),
    (Ground.TREES, "trees"),
    (Ground.SAND, "sand"),
    (Ground.GREEN, "green"),
    (Ground.TEE, "tee"),
    (Ground.OUT, "out of bounds"),
    (Ground.YELLOW, "yellow penalty area"),
    (Ground.RED, "red penalty area"),
)
MARKS = (
    ("pattern 50", "5 of 10 solid shots land"),
    ("pattern 90", "9 of 10 solid shots land"),
    ("mishit", "half of a kind of mishit"),
    ("run", "run on a fairway"),
    ("aim line", "aim line"),
    ("line of play", "line of play"),
)


def legend() -> Drawing:
    """Draw the key; one metre of its frame is one pixel."""
    rows = -(-(len(GROUNDS) + len(MARKS)) // COLUMNS)
    view = View(0.0, 0.0, COLUMNS * COLUMN, rows * ROW, 1.0)
    shapes: list[Shape] = []
    labels: list[Label] = []
    samples: list[tuple[Ground | str, str]] = [*GROUNDS, *MARKS]
    for i, (what, text) in enumerate(samples):
        left = (i % COLUMNS) * COLUMN + 2
        bottom = view.top - (i // COLUMNS + 1) * ROW + (ROW - SAMPLE_HEIGHT) / 2
        box = shapely.box(left, bottom, left + SAMPLE_WIDTH, bottom + SAMPLE_HEIGHT)
        if isinstance(what, Ground):
            shapes += ground_shapes(what, box, view, text)
        else:
            shapes.append(Shape(what, _sample(what, box), text))
        labels.append(
            Label(text, (left + SAMPLE_WIDTH + 4, bottom + SAMPLE_HEIGHT / 2), "distance")
        )
    alt = "Key to the drawing: " + ", ".join(text for _, text in (*GROUNDS, *MARKS))
    return Drawing(view, tuple(shapes), tuple(labels), "Key to the drawing", alt)


def _sample(role: str, box: shapely.Polygon) -> BaseGeometry:
    if role.startswith("pattern") or role == "mishit":
        middle = box.centroid
        return shapely.affinity.scale(middle.buffer(SAMPLE_HEIGHT / 2), 1.6, 1.0)
    left, bottom, right, top = box.bounds
    y = (bottom + top) / 2
    line = [(left, y), (right, y)]
    if role != "run":
        return shapely.LineString(line)
    heads = [[(right - 6, y + side), (right, y)] for side in (4, -4)]
    return shapely.MultiLineString([line, *heads])
