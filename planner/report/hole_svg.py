"""A drawn hole as a stand-alone SVG file: no browser needed."""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from planner.report.drawing import LOOKS, Drawing, Label
from planner.report.palette import LIGHT, Palette, Style
from planner.report.view import View

__all__ = ["hole_svg"]

FONT = "DejaVu Sans, Verdana, sans-serif"


def hole_svg(drawing: Drawing, colours: Palette = LIGHT) -> str:
    """Write a drawing as SVG text with a title and a description for screen readers."""
    view = drawing.view
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{view.width_px}" '
        f'height="{view.height_px}" viewBox="0 0 {view.width_px} {view.height_px}">',
        f"<title>{escape(drawing.title)}</title>",
        f"<desc>{escape(drawing.alt)}</desc>",
    ]
    for shape in drawing.shapes:
        path = _path(shape.geometry, view)
        if path:
            tip = f"<title>{escape(shape.words)}</title>" if shape.words else ""
            style = _style(colours[shape.role])
            parts.append(f"<path d={quoteattr(path)} {style}>{tip}</path>")
    parts += [_text(label, view, colours) for label in drawing.labels]
    return "\n".join([*parts, "</svg>", ""])


def _path(geometry: BaseGeometry, view: View) -> str:
    return "".join(_strokes(geometry, view))


def _strokes(geometry: BaseGeometry, view: View) -> Iterator[str]:
    for part in shapely.get_parts(shapely.get_parts(geometry)):
        if isinstance(part, shapely.Polygon):
            for ring in (part.exterior, *part.interiors):
                yield _line(ring, view) + "Z"
        elif isinstance(part, shapely.LineString):
            yield _line(part, view)


def _line(line: BaseGeometry, view: View) -> str:
    pixels = [view.to_px(x, y) for x, y in np.asarray(line.coords)]
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in pixels)


def _style(style: Style) -> str:
    said = [f'fill="{style.fill or "none"}"', 'fill-rule="evenodd"']
    if style.fill and style.fill_opacity < 1:
        said.append(f'fill-opacity="{style.fill_opacity:g}"')
    if style.stroke:
        said.append(f'stroke="{style.stroke}" stroke-width="{style.stroke_width:g}"')
        said.append('stroke-linecap="round" stroke-linejoin="round"')
    if style.dash:
        said.append('stroke-dasharray="' + " ".join(f"{d:g}" for d in style.dash) + '"')
    if style.opacity < 1:
        said.append(f'opacity="{style.opacity:g}"')
    return " ".join(said)


def _text(label: Label, view: View, colours: Palette) -> str:
    x, y = view.to_px(*label.at)
    look = LOOKS[label.look]
    anchor = {"left": "start", "center": "middle", "right": "end"}[look.align]
    weight = ' font-weight="bold"' if look.bold else ""
    return (
        f'<text x="{x + look.dx:.1f}" y="{y + look.dy:.1f}" dominant-baseline="central" '
        f'text-anchor="{anchor}" font-family="{FONT}" font-size="{look.size:g}"{weight} '
        f'fill="{colours.ink}" stroke="{colours.halo}" stroke-width="3" '
        f'stroke-linejoin="round" paint-order="stroke">{escape(label.text)}</text>'
    )
