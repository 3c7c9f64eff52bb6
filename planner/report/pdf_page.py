"""Panels and sheets painted into a PDF: the only place that knows the file format.

The same content gives the same bytes: no date and no random number is written. Both cuts of the
typeface are embedded.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any

import shapely
from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject
from shapely.geometry.base import BaseGeometry

from planner.report.imposition import Sheet
from planner.report.palette import Style
from planner.report.panel import Panel, PlacedDrawing, Stroke
from planner.report.print_fonts import face, printable
from planner.report.print_palette import BLACK, PRINT_STYLES, WHITE
from planner.report.typesetting import TextLine
from planner.report.view import View

__all__ = ["pdf_of_panels", "pdf_of_sheets"]

ROUND = 1
"""Line caps and joins."""
PAPER_EDGE = 0.8
"""White paper round a text over a drawing [pt]."""


def pdf_of_panels(panels: Sequence[Panel], *, title: str) -> bytes:
    """Write each panel as a page of its own size."""
    canvas, file = _started(title)
    for panel in panels:
        canvas.setPageSize((panel.width, panel.height))
        _paint_panel(canvas, panel)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def pdf_of_sheets(sheets: Sequence[Sheet], *, title: str) -> bytes:
    """Write each side of a sheet as a page, to be printed on both sides at its true size."""
    canvas, file = _started(title)
    canvas.setViewerPreference("Duplex", "DuplexFlipLongEdge")
    for sheet in sheets:
        canvas.setPageSize((sheet.width, sheet.height))
        for panel, x, y in sheet.panels:
            canvas.saveState()
            canvas.translate(x, y)
            _paint_panel(canvas, panel)
            canvas.restoreState()
        for stroke in sheet.strokes:
            _paint_stroke(canvas, stroke)
        for line in sheet.lines:
            _paint_text(canvas, line)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _started(title: str) -> tuple[Canvas, BytesIO]:
    file = BytesIO()
    # The initial font stands in the file: without this it would be one that is not embedded.
    first: Any = face(False)
    canvas = Canvas(file, pageCompression=1, invariant=1, lang="en", initialFontName=first)
    canvas.setTitle(printable(title))
    canvas.setAuthor("planner")
    canvas.setSubject("Course strategy made before play")
    canvas.setCreator("planner")
    # A card that is shrunk to fit is no card of that size.
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    return canvas, file


def _paint_panel(canvas: Canvas, panel: Panel) -> None:
    for placed in panel.drawings:
        _paint_drawing(canvas, placed)
    for stroke in panel.strokes:
        _paint_stroke(canvas, stroke)
    for line in panel.texts():
        _paint_text(canvas, line)


def _paint_drawing(canvas: Canvas, placed: PlacedDrawing) -> None:
    drawing = placed.drawing
    canvas.saveState()
    canvas.translate(placed.x, placed.y)
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(0, 0, drawing.width, drawing.height)
    canvas.clipPath(window, stroke=0, fill=0)
    for shape in drawing.shapes:
        _paint_shape(canvas, shape.geometry, PRINT_STYLES[shape.role], drawing.view)
    canvas.restoreState()
    canvas.setStrokeColor(HexColor(BLACK))
    canvas.setLineWidth(0.5)
    canvas.rect(0, 0, drawing.width, drawing.height, stroke=1, fill=0)
    canvas.restoreState()


def _paint_shape(canvas: Canvas, geometry: BaseGeometry, style: Style, view: View) -> None:
    path = canvas.beginPath()
    areas = False
    for part in shapely.get_parts(shapely.get_parts(geometry)):
        if isinstance(part, shapely.Polygon):
            areas = True
            for ring in (part.exterior, *part.interiors):
                _trace(path, ring, view)
                path.close()
        elif isinstance(part, shapely.LineString):
            _trace(path, part, view)
    canvas.setLineCap(ROUND)
    canvas.setLineJoin(ROUND)
    if style.fill:
        canvas.setFillColor(HexColor(style.fill))
    if style.stroke:
        canvas.setStrokeColor(HexColor(style.stroke))
        canvas.setLineWidth(style.stroke_width)
        canvas.setDash(list(style.dash))
    # A canvas fills by the even-odd rule, so inner rings stay open whichever way they run.
    canvas.drawPath(path, stroke=int(bool(style.stroke)), fill=int(bool(style.fill) and areas))


def _trace(path: PDFPathObject, line: BaseGeometry, view: View) -> None:
    """Add one line to a path, in points."""
    points = (shapely.get_coordinates(line) - (view.left, view.bottom)) * view.scale
    first, *rest = points.tolist()
    path.moveTo(*first)
    for point in rest:
        path.lineTo(*point)


def _paint_stroke(canvas: Canvas, stroke: Stroke) -> None:
    canvas.setStrokeColor(HexColor(BLACK))
    canvas.setLineWidth(stroke.width)
    canvas.setLineCap(0)
    canvas.setDash(list(stroke.dash))
    canvas.line(stroke.x0, stroke.y0, stroke.x1, stroke.y1)


def _paint_text(canvas: Canvas, line: TextLine) -> None:
    if line.over_drawing:
        box = line.box
        canvas.setFillColor(HexColor(WHITE))
        canvas.roundRect(
            box.left - PAPER_EDGE,
            box.bottom + 0.06 * line.size,
            box.width + 2 * PAPER_EDGE,
            box.height,
            1.5,
            stroke=0,
            fill=1,
        )
    canvas.setFillColor(HexColor(BLACK))
    canvas.setFont(face(line.bold), line.size)
    canvas.drawString(line.x, line.y, line.text)
