"""Which part of the map is seen: a hole or the whole course, nearer, farther and to the side."""

from __future__ import annotations

import streamlit as st

from planner.page.address import opened_with, put_in_address
from planner.page.map_edits import MapEdits
from planner.report.map_drawing import map_view
from planner.report.view import View

__all__ = ["look_at", "show_window", "window"]

Box = tuple[float, float, float, float]

WHOLE = "whole course"
PHONE_PX, DESK_PX = 350, 560
STEPS = {"\\+": ("nearer", 0.6), "\u2212": ("farther", 1 / 0.6)}
PANS = {"←": ("west", -1, 0), "→": ("east", 1, 0), "↑": ("north", 0, 1), "↓": ("south", 0, -1)}
LEAST_M, MOST_M = 15.0, 20_000.0
FARTHEST_M = 100_000.0
"""Of a side of the window from the middle of the map [m]."""
PAN_SHARE = 0.4


def show_window(edits: MapEdits, scope: str) -> View:
    """Controls of the window, and the window."""
    holes = edits.sheet.holes()
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        st.selectbox(
            "Go to",
            [WHOLE, *holes],
            format_func=lambda ref: ref if ref == WHOLE else f"hole {ref}",
            key=f"map_go/{scope}",
            on_change=_go,
            args=(edits, scope),
            filter_mode=None,
            width=150,
        )
        for sign, (words, factor) in STEPS.items():
            st.button(
                sign,
                key=f"map_{words}/{scope}",
                help=words,
                on_click=_zoom,
                args=(edits, scope, factor),
            )
        for sign, (words, right, up) in PANS.items():
            st.button(
                sign,
                key=f"map_{words}/{scope}",
                help=f"to the {words}",
                on_click=_pan,
                args=(edits, scope, right, up),
            )
    box = window(edits, scope)
    is_usual = box == edits.sheet.bounds()
    put_in_address("window", "" if is_usual else ",".join(f"{side:.0f}" for side in box))
    return map_view(box, _width_px())


def window(edits: MapEdits, scope: str) -> Box:
    """What is looked at [m]: west, south, east, north."""
    box: Box | None = st.session_state.get(_key(scope))
    return box or _read(opened_with("window", scope)) or edits.sheet.bounds()


def _read(text: str) -> Box | None:
    """Window in an address [m]; None where it is none that can be looked at."""
    try:
        west, south, east, north = (float(side) for side in text.split(","))
    except ValueError:
        return None
    # Comparisons with what is no number are false.
    is_seen = LEAST_M <= east - west <= MOST_M and LEAST_M <= north - south <= MOST_M
    is_near = all(abs(side) <= FARTHEST_M for side in (west, south, east, north))
    return (west, south, east, north) if is_seen and is_near else None


def look_at(edits: MapEdits, scope: str, x: float, y: float, factor: float) -> None:
    """Put a place [m] in the middle and make the window ``factor`` times as wide."""
    west, south, east, north = window(edits, scope)
    width = min(max((east - west) * factor, LEAST_M), MOST_M)
    height = min(max((north - south) * factor, LEAST_M), MOST_M)
    st.session_state[_key(scope)] = (
        x - width / 2,
        y - height / 2,
        x + width / 2,
        y + height / 2,
    )


def _go(edits: MapEdits, scope: str) -> None:
    ref = st.session_state[f"map_go/{scope}"]
    box = edits.sheet.bounds() if ref == WHOLE else edits.sheet.holes().get(ref)
    if box is not None:
        st.session_state[_key(scope)] = box


def _zoom(edits: MapEdits, scope: str, factor: float) -> None:
    west, south, east, north = window(edits, scope)
    look_at(edits, scope, (west + east) / 2, (south + north) / 2, factor)


def _pan(edits: MapEdits, scope: str, right: int, up: int) -> None:
    west, south, east, north = window(edits, scope)
    side = PAN_SHARE * (east - west)
    look_at(edits, scope, (west + east) / 2 + right * side, (south + north) / 2 + up * side, 1.0)


def _key(scope: str) -> str:
    return f"map_window/{scope}"


def _width_px() -> int:
    """Narrow on telephones; a drawing that is too wide is shrunk by the browser anyway."""
    agent = st.context.headers.get("User-Agent", "")
    return PHONE_PX if "Mobi" in agent else DESK_PX
