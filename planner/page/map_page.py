"""The course's map: what it lacks, and drawing or mending it by tapping; nothing leaves here."""

from __future__ import annotations

from functools import partial

import streamlit as st

from planner.errors import CourseMapError
from planner.page.inputs import InputFile
from planner.page.kept_maps import delete_draft, keep_map, maps_being_drawn, say_map_fault
from planner.page.map_edits import MapEdits, edits_of, forget_edits, kept_edits, new_map
from planner.page.map_tools import MODES, show_tools, tapped
from planner.page.map_window import show_window
from planner.page.plain import plain
from planner.page.setup import chosen_course
from planner.page.tap_drawing import tap_drawing
from planner.planning.map_work import HoleGap, check_document, empty_map, gaps_of, map_bytes
from planner.report.map_drawing import draw_map
from planner.report.palette import palette

__all__ = ["show_map"]

GEOJSON, GEOPACKAGE = "application/geo+json", "application/geopackage+sqlite3"
MOST_NOTES = 200
_USED = "map_used"
YES, NO = "yes", "**missing**"
CHOSEN, NEW, KEPT = "the course chosen in the side panel", "a new map", "a map begun before"


def show_map() -> None:
    """Page of the map."""
    original = chosen_course()
    say_map_fault()
    sources = [CHOSEN, NEW, *([KEPT] if maps_being_drawn() else [])]
    source = st.segmented_control(
        "Work on", sources, default=CHOSEN, required=True, key="map_source"
    )
    if source == KEPT:
        draft = _choose_kept()
        edits = None if draft is None else _reopened(draft)
        scope = f"kept/{draft}"
    elif source == NEW or original is None:
        edits, scope = (_new(), "new") if source == NEW else (_opened(None), "new")
    else:
        edits, scope = _opened(original), original.digest
    if edits is not None:
        _work(edits, scope, original=original)


def _choose_kept() -> str | None:
    """Choice among the maps that were begun, with deleting one."""
    kept = maps_being_drawn()
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        draft = st.selectbox(
            "Begun before",
            list(kept)[::-1],
            format_func=lambda one: (
                f"{kept[one].name}, {kept[one].saved_at.astimezone():%d %b %Y, %H:%M}"
            ),
            key="map_kept",
            filter_mode=None,
            width=300,
        )
        with st.popover("Delete"):
            st.markdown("Delete this map with its changes? It can be taken back under Help.")
            st.button("Yes, delete it", key="map_kept_delete", on_click=_delete_kept, args=(draft,))
    return draft


def _delete_kept(draft: str) -> None:
    if delete_draft(draft):
        forget_edits(draft)


def _reopened(draft: str) -> MapEdits | None:
    try:
        return kept_edits(draft)
    except CourseMapError as error:
        st.error(plain(str(error)))
        return None


def _opened(original: InputFile | None) -> MapEdits | None:
    if original is None:
        st.info("Choose a course in the side panel, upload your own map there, or start a new map.")
        return None
    try:
        return edits_of(original)
    except CourseMapError as error:
        st.error(f"This file cannot be drawn: {plain(str(error))}")
        return None


def _new() -> MapEdits | None:
    edits = new_map(None)
    with st.expander("Where is the course?", expanded=edits is None):
        st.text_input("Name of the course", "My course", max_chars=80, key="new_name")
        with st.container(horizontal=True):
            st.number_input("Latitude", -85.0, 85.0, 46.1, format="%.5f", key="new_lat", width=160)
            st.number_input(
                "Longitude", -180.0, 180.0, -30.2, format="%.5f", key="new_lon", width=160
            )
        st.caption("A telephone's compass shows both; stand anywhere on the course.")
        st.button("Start a new map here", key="new_start", on_click=_start)
    return edits


def _start() -> None:
    name, lon, lat = (st.session_state[f"new_{key}"] for key in ("name", "lon", "lat"))
    new_map(empty_map(str(name), float(lon or 0.0), float(lat or 0.0)))


@st.fragment
def _work(edits: MapEdits, scope: str, *, original: InputFile | None) -> None:
    """Drawing, tools, findings and files; only this is drawn again after a tap."""
    colours = palette(dark=st.context.theme.type == "dark")
    mode = st.segmented_control(
        "A tap",
        list(MODES),
        default="look",
        required=True,
        format_func=MODES.__getitem__,
        key=f"map_mode/{scope}",
    )
    left, right = st.columns([580, 430], gap="medium")
    with right:
        marks = show_tools(edits, str(mode), scope)
    with left:
        view = show_window(edits, scope)
        drawing = draw_map(edits.sheet, view, marks, title=edits.document.name)
        tap_drawing(
            drawing,
            colours,
            key="map_drawing",
            on_tap=partial(tapped, edits, str(mode), scope, view),
            about=f"{scope}/{mode}/{edits.steps}",
        )
        st.caption("North is at the top. Bold numbers: holes, at their lines from tee to pin.")
    with st.container(horizontal=True):
        st.button(
            f"Undo ({edits.steps})",
            key=f"map_undo/{scope}",
            on_click=edits.undo,
            disabled=not edits.steps,
        )
        if said := st.session_state.pop("map_said", None):
            st.warning(plain(said))
    _check(edits)
    _save(edits, original)


def _check(edits: MapEdits) -> None:
    st.subheader("What the map has and lacks")
    gaps = gaps_of(edits.sheet)
    rows = [
        {
            "Hole": f"**{plain(gap.ref)}**",
            "Par": YES if gap.par else NO,
            "Tee": YES if gap.tee else NO,
            "Fairway": YES if gap.fairway else "none",
            "Green": YES if gap.green else NO,
            "Pin": YES if gap.pin else "middle of the green",
        }
        for gap in gaps
    ]
    if rows:
        with st.expander(f"Hole by hole: {_lacking(gaps)}"):
            st.table(rows, border="horizontal", hide_index=True)
    else:
        st.info("No hole has a line with a number yet: draw one from tee to pin.")
    key = f"map_report/{id(edits.document)}"
    st.button("Check the map", key="map_check", on_click=_run_check, args=(edits, key))
    report = st.session_state.get(key)
    if report is None:
        return
    errors = [f for f in report.findings if f.severity == "error"]
    if report.course is not None:
        count = len(report.course.holes)
        st.success(f"A plan can be made from this map: {count} holes.")
    else:
        st.error(f"No plan can be made from this map yet; to mend: {len(errors)}.")
    for severity, open_first in (("error", True), ("warning", True), ("note", False)):
        found = [f for f in report.findings if f.severity == severity][:MOST_NOTES]
        if found:
            with st.expander(f"{severity.title()}s: {len(found)}", expanded=open_first):
                st.markdown("\n".join(f"- {plain(str(f))}" for f in found))


def _lacking(gaps: tuple[HoleGap, ...]) -> str:
    lacking = [gap.ref for gap in gaps if not (gap.par and gap.tee and gap.green)]
    return f"something is missing on {', '.join(lacking)}" if lacking else "nothing is missing"


def _run_check(edits: MapEdits, key: str) -> None:
    st.session_state[key] = check_document(edits.document)


def _save(edits: MapEdits, original: InputFile | None) -> None:
    st.subheader("Save")
    with st.container(horizontal=True):
        for label, ending, kind in (
            ("Save as GeoJSON", ".geojson", GEOJSON),
            ("Save as GeoPackage", ".gpkg", GEOPACKAGE),
        ):
            st.download_button(
                label,
                partial(map_bytes, edits.document, ending),
                edits.file_name(ending),
                kind,
                on_click="ignore",
                key=f"map_save/{ending}",
            )
        is_chosen = original is not None and edits.source == original.digest
        st.button(
            "Plan on this map",
            type="primary",
            key="map_use",
            disabled=is_chosen and not edits.steps,
            on_click=_plan_on,
            args=(edits, is_chosen),
        )
        # Buttons of a fragment draw only that again, and the plan stands above it.
        if st.session_state.pop(_USED, False):
            st.rerun()
    st.caption(
        "Every change is kept at once and is here again on the next visit. The file holds what "
        "was drawn, with the public map's golf tags, and can be chosen as a map of your own. "
        "Nothing is sent anywhere."
    )


def _plan_on(edits: MapEdits, is_chosen: bool) -> None:
    """Plan on the map: instead of the chosen file it began from, or as a course of one's own."""
    if is_chosen:
        edits.use()
    else:
        choice = keep_map(edits.document.name, edits.file())
        if choice is None:
            return
        st.session_state["course"] = choice
    st.session_state[_USED] = True
