"""What a tap on the map does: look nearer, draw, mend, or put a pin; and the same by typing."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import streamlit as st

from planner.course.hole import Point
from planner.course.map_document import (
    MapDocument,
    added,
    removed,
    reshaped,
    retagged,
    with_corner_added,
    without_corner,
)
from planner.course.map_kinds import DRAWN_KINDS, asked_of, tags_for
from planner.errors import PlannerError
from planner.page.map_edits import MapEdits
from planner.page.map_window import look_at
from planner.page.plain import plain
from planner.planning.map_work import corner_near, moved_to, place_pin
from planner.report.map_drawing import MapMarks
from planner.report.view import View

__all__ = ["MODES", "show_tools", "tapped"]

LOOK, DRAW, MEND, PIN = "look", "draw", "mend", "pin"
MODES = {LOOK: "looks nearer", DRAW: "draws", MEND: "mends", PIN: "puts a pin"}
CORNER, ADD, ALL = "corner", "add", "all"
MENDS = {CORNER: "moves a corner", ADD: "adds one", ALL: "moves all of it"}
REACH_PX = 14.0
NEARER = 0.5
NOTHING = -1


def show_tools(edits: MapEdits, mode: str, scope: str) -> MapMarks:
    """Controls of a mode; returns what is to be marked on the map."""
    if mode == DRAW:
        return _draw_tools(edits, scope)
    if mode == MEND:
        return _mend_tools(edits, scope)
    if mode == PIN:
        _pin_tools(edits, scope)
    else:
        st.caption("Tap a place to see it nearer; the buttons above the map take you elsewhere.")
    return MapMarks()


def tapped(edits: MapEdits, mode: str, scope: str, view: View, place: Point, dragged: bool) -> None:
    """A tap on the map at a place [m]; called before the page is run again."""
    if mode == DRAW:
        _points(scope).append(place)
    elif mode == PIN:
        ref = st.session_state.get(f"map_pin_hole/{scope}")
        if ref is not None:
            _change(edits, lambda: place_pin(edits.document, edits.sheet, ref, place))
    elif mode == MEND:
        _mend(edits, scope, view, place)
    else:
        look_at(edits, scope, *place, NEARER)


# -- drawing -------------------------------------------------------------------------------------


def _draw_tools(edits: MapEdits, scope: str) -> MapMarks:
    name = st.selectbox("Draw", list(DRAWN_KINDS), key=f"map_kind/{scope}", filter_mode=None)
    kind = DRAWN_KINDS[str(name)]
    points = _points(scope)
    st.caption(kind.how)
    with st.container(horizontal=True, gap="small"):
        for key, label in kind.asks:
            st.text_input(label, max_chars=60, key=_answer(scope, kind.name, key), width=120)
    with st.container(horizontal=True, gap="small"):
        st.button(
            f"Finish ({len(points)} points)",
            type="primary",
            key=f"map_finish/{scope}",
            on_click=_finish,
            args=(edits, scope, kind.name),
            disabled=not points,
        )
        st.button(
            "Last point away",
            key=f"map_back/{scope}",
            on_click=_drop_last,
            args=(scope,),
            disabled=not points,
        )
        st.button("Give up", key=f"map_clear/{scope}", on_click=points.clear, disabled=not points)
    _typed_place(edits, scope, "Add this point", partial(_add_typed, edits, scope))
    return MapMarks(points_proj=tuple(points), closes=kind.drawn_as == "area")


def _finish(edits: MapEdits, scope: str, name: str) -> None:
    kind = DRAWN_KINDS[name]
    answers = {
        key: str(st.session_state.get(_answer(scope, name, key)) or "") for key, _ in kind.asks
    }
    points = edits.sheet.to_lonlat(_points(scope))
    done = _change(
        edits, lambda: added(edits.document, kind.drawn_as, points, tags_for(kind, answers))
    )
    if done:
        _points(scope).clear()


def _add_typed(edits: MapEdits, scope: str, lon: float, lat: float) -> None:
    x, y = edits.sheet.to_sheet([(lon, lat)])[0]
    _points(scope).append((float(x), float(y)))


def _drop_last(scope: str) -> None:
    points = _points(scope)
    if points:
        points.pop()


# -- mending -------------------------------------------------------------------------------------


def _mend_tools(edits: MapEdits, scope: str) -> MapMarks:
    key = f"map_chosen/{scope}"
    names = {item.index: item.words for item in edits.sheet.items}
    if st.session_state.get(key, NOTHING) not in names:
        st.session_state[key] = NOTHING
    chosen = st.selectbox(
        "What is mended",
        [NOTHING, *names],
        format_func=lambda index: (
            "tap something, or choose it here" if index == NOTHING else f"{names[index]} · {index}"
        ),
        key=key,
        on_change=_forget_corner,
        args=(scope,),
    )
    if chosen == NOTHING:
        return MapMarks()
    index = int(chosen)
    corners = edits.document.corners(index)
    st.segmented_control(
        "The next tap",
        list(MENDS),
        default=CORNER,
        required=True,
        format_func=MENDS.__getitem__,
        key=f"map_mend/{scope}",
        help="To move a corner tap it first, then where it belongs.",
    )
    corner = _corner(scope, len(corners))
    with st.container(horizontal=True, gap="small"):
        st.button(
            "Delete it", key=f"map_delete/{scope}", on_click=_delete, args=(edits, scope, index)
        )
        st.button(
            "Delete the corner",
            key=f"map_less/{scope}",
            on_click=_delete_corner,
            args=(edits, scope, index),
            disabled=corner is None,
        )
    with st.expander("By typing"):
        st.selectbox(
            "Corner",
            [None, *range(len(corners))],
            format_func=lambda i: "none" if i is None else str(i + 1),
            key=f"map_corner/{scope}",
        )
        if corner is not None:
            _typed_place(
                edits,
                f"{scope}/{index}/{corner}",
                "Move the corner there",
                partial(_move_typed, edits, scope, index),
                at=(float(corners[corner][0]), float(corners[corner][1])),
            )
    _tag_form(edits, scope, index)
    return MapMarks(index, edits.sheet.to_sheet(corners), corner)


def _tag_form(edits: MapEdits, scope: str, index: int) -> None:
    tags = edits.document.features[index].tags
    asked = asked_of(tags)
    # With every change the form begins anew from what the map says.
    stem = f"map_tag/{scope}/{index}/{edits.steps}"

    def keep() -> None:
        answers = {key: str(st.session_state[f"{stem}/{key}"] or "") for key, _ in asked}
        edits.change(retagged(edits.document, index, {**tags, **answers}))

    with st.form(stem, border=False):
        with st.container(horizontal=True, gap="small"):
            for key, label in asked:
                st.text_input(
                    label, tags.get(key, ""), max_chars=60, width=120, key=f"{stem}/{key}"
                )
        st.form_submit_button("Keep these", on_click=keep)
    others = ", ".join(f"{key}={value}" for key, value in tags.items())
    st.caption(plain(f"Tags: {others[:400]}"))


def _mend(edits: MapEdits, scope: str, view: View, place: Point) -> None:
    """Pick a thing, pick one of its corners, move, or add."""
    reach = REACH_PX / view.scale
    key = f"map_chosen/{scope}"
    index = int(st.session_state.get(key, NOTHING))
    does = st.session_state.get(f"map_mend/{scope}", CORNER)
    lon, lat = (float(v) for v in edits.sheet.to_lonlat([place])[0])
    if index != NOTHING and edits.sheet.item(index) is not None:
        if does == ADD:
            _change(edits, lambda: with_corner_added(edits.document, index, (lon, lat)))
            return
        if does == ALL:
            _change(edits, lambda: moved_to(edits.document, edits.sheet, index, place))
            st.session_state[f"map_mend/{scope}"] = CORNER
            return
        corners = edits.document.corners(index)
        near = corner_near(edits.sheet.to_sheet(corners), place, reach)
        if near is not None:
            st.session_state[f"map_corner/{scope}"] = near
            return
        corner = _corner(scope, len(corners))
        if corner is not None:
            _move_typed(edits, scope, index, lon, lat)
            return
    item = edits.sheet.at(place, reach)
    st.session_state[key] = NOTHING if item is None else item.index
    _forget_corner(scope)


def _move_typed(edits: MapEdits, scope: str, index: int, lon: float, lat: float) -> None:
    corners = edits.document.corners(index)
    corner = _corner(scope, len(corners))
    if corner is not None:
        corners[corner] = (lon, lat)
        _change(edits, lambda: reshaped(edits.document, index, corners))
        _forget_corner(scope)


def _delete(edits: MapEdits, scope: str, index: int) -> None:
    edits.change(removed(edits.document, index))
    st.session_state[f"map_chosen/{scope}"] = NOTHING
    _forget_corner(scope)


def _delete_corner(edits: MapEdits, scope: str, index: int) -> None:
    corner = st.session_state.get(f"map_corner/{scope}")
    if corner is not None:
        _change(edits, lambda: without_corner(edits.document, index, int(corner)))
        _forget_corner(scope)


def _corner(scope: str, count: int) -> int | None:
    corner = st.session_state.get(f"map_corner/{scope}")
    if corner is None or corner >= count:
        st.session_state[f"map_corner/{scope}"] = None
        return None
    return int(corner)


def _forget_corner(scope: str) -> None:
    st.session_state[f"map_corner/{scope}"] = None


# -- pins and typing -----------------------------------------------------------------------------


def _pin_tools(edits: MapEdits, scope: str) -> None:
    holes = list(edits.sheet.holes())
    if not holes:
        st.info("Draw the holes' lines first, each with its number.")
        return
    ref = st.selectbox("Pin of hole", holes, key=f"map_pin_hole/{scope}", filter_mode=None)
    st.caption(
        "Go to the hole, then tap its green where the pin stands; a pin that was there goes away."
    )
    _typed_place(edits, f"{scope}/pin", "Put the pin there", partial(_pin_typed, edits, str(ref)))


def _pin_typed(edits: MapEdits, ref: str, lon: float, lat: float) -> None:
    x, y = (float(v) for v in edits.sheet.to_sheet([(lon, lat)])[0])
    _change(edits, lambda: place_pin(edits.document, edits.sheet, ref, (x, y)))


def _typed_place(
    edits: MapEdits,
    scope: str,
    label: str,
    act: Callable[[float, float], None],
    *,
    at: tuple[float, float] | None = None,
) -> None:
    """Latitude and longitude as numbers, for those who do not tap."""
    lon, lat = at or edits.centre
    keys = f"map_lon/{scope}", f"map_lat/{scope}"

    def typed() -> None:
        # What was typed last may come together with the button.
        act(*(float(st.session_state[key] or 0.0) for key in keys))

    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        st.number_input("Latitude", -90.0, 90.0, lat, 0.0001, "%.6f", key=keys[1], width=150)
        st.number_input("Longitude", -180.0, 180.0, lon, 0.0001, "%.6f", key=keys[0], width=150)
        st.button(label, key=f"map_typed/{scope}", on_click=typed)


def _change(edits: MapEdits, make: Callable[[], MapDocument]) -> bool:
    """Go on with what ``make`` makes; where it cannot, that is said on the next run."""
    try:
        edits.change(make())
    except PlannerError as error:
        st.session_state["map_said"] = str(error)
        return False
    return True


def _points(scope: str) -> list[Point]:
    points: list[Point] = st.session_state.setdefault(f"map_points/{scope}", [])
    return points


def _answer(scope: str, kind: str, key: str) -> str:
    return f"map_answer/{scope}/{kind}/{key}"
