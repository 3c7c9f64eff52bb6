"""A page or panel before any file format: where every text, line, bar and drawing stands."""

from __future__ import annotations

from dataclasses import dataclass

from planner.report.print_drawing import PrintDrawing
from planner.report.typesetting import Box, TextLine

__all__ = ["Panel", "PlacedDrawing", "Stroke"]


@dataclass(frozen=True)
class Stroke:
    """A straight line [pt]."""

    x0: float
    y0: float
    x1: float
    y1: float
    width: float = 0.5
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, eq=False)
class PlacedDrawing:
    """A drawing with its lower left corner at (x, y) and a frame round it."""

    drawing: PrintDrawing
    x: float
    y: float

    @property
    def box(self) -> Box:
        """Rectangle it covers."""
        return Box(self.x, self.y, self.x + self.drawing.width, self.y + self.drawing.height)


@dataclass(frozen=True, eq=False)
class Panel:
    """Everything on one page of the card, or on the sheet.

    ``content`` is the rectangle that no text leaves.
    """

    name: str
    width: float
    height: float
    content: Box
    lines: tuple[TextLine, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    drawings: tuple[PlacedDrawing, ...] = ()

    def texts(self) -> tuple[TextLine, ...]:
        """Every text of the panel in its own coordinates, those of the drawings included."""
        inside = [
            TextLine(
                label.text,
                label.x + placed.x,
                label.y + placed.y,
                label.size,
                label.bold,
                label.over_drawing,
            )
            for placed in self.drawings
            for label in placed.drawing.labels
        ]
        return (*self.lines, *inside)
