"""A drawing that can be tapped, clicked and, at its handle, dragged; places come in metres.

Pictures of a chart library tell only which of their own marks was hit, and not all of them on a
first touch. This component puts the drawing's SVG on the page and sends the place itself. Its
few lines of script ship with the package; nothing is fetched from elsewhere. Whatever it does can
be done with ordinary inputs beside it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import streamlit as st

from planner.course.hole import Point
from planner.report.drawing import Drawing
from planner.report.hole_svg import hole_svg
from planner.report.palette import Palette

__all__ = ["still_drawing", "tap_drawing"]

HTML = '<div class="tap-drawing" role="img"></div>'
CSS = """
.tap-drawing { line-height: 0; }
.tap-drawing svg { max-width: 100%; height: auto; cursor: crosshair; touch-action: manipulation;
  -webkit-tap-highlight-color: transparent; }
.tap-drawing text { user-select: none; pointer-events: none; }
.handle .grip { fill: transparent; cursor: grab; touch-action: none; }
.handle .way { stroke: var(--st-primary-color); stroke-width: 2; stroke-dasharray: 5 3;
  pointer-events: none; }
"""

OnTap = Callable[[Point, bool], None]
"""Told a place (x, y) in the frame of the drawing [m], and whether it was dragged to."""


def tap_drawing(
    drawing: Drawing,
    colours: Palette,
    *,
    key: str,
    on_tap: OnTap,
    about: str = "",
    handle: Point | None = None,
    start: Point | None = None,
) -> None:
    """Show a drawing.

    Parameters
    ----------
    key
        Of the widget.
    on_tap
        Called before the page is run again; places outside the drawing never come.
    about
        What is drawn. A tap that was on its way when something else came is forgotten.
    handle, start
        What can be dragged, and where the line to it begins, in the frame of the drawing [m].
    """
    view = drawing.view

    def tapped() -> None:
        place = _place(st.session_state[key], about, drawing)
        if place is not None:
            on_tap(*place)

    data = {
        "svg": hole_svg(drawing, colours),
        "alt": drawing.alt,
        "view": [view.left, view.top, view.scale],
        "about": about,
        "handle": None if handle is None else view.to_px(*handle),
        "ball": view.to_px(*(start or (0.0, 0.0))),
    }
    component = st.components.v2.component("tap_drawing", html=HTML, css=CSS, js=_script())
    component(data=data, key=key, on_tap_change=tapped, height="content")


def _place(state: Any, about: str, drawing: Drawing) -> tuple[Point, bool] | None:
    """Read what the browser sent; None for what no drawing of ours sends."""
    tap = getattr(state, "tap", None)
    if tap is None or not hasattr(tap, "get") or tap.get("about") != about:
        return None
    x, y = tap.get("x"), tap.get("y")
    if not all(isinstance(v, int | float) and math.isfinite(v) for v in (x, y)):
        return None
    view = drawing.view
    if not (view.left <= x <= view.right and view.bottom <= y <= view.top):
        return None
    return (float(x), float(y)), bool(tap.get("dragged"))


@cache
def _script() -> str:
    return Path(__file__).with_suffix(".js").read_text(encoding="utf-8")


def still_drawing(drawing: Drawing, colours: Palette) -> None:
    """Show a drawing that is only looked at."""
    st.image(hole_svg(drawing, colours), width=drawing.view.width_px, alt=drawing.alt)
