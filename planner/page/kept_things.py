"""Whatever is kept of whoever is there: counted, taken back, taken along, erased for good."""

from __future__ import annotations

import tempfile
from collections import Counter
from pathlib import Path

import streamlit as st

from planner.errors import PlannerError
from planner.page.access import owner
from planner.page.kept_bags import read_again
from planner.page.kept_maps import read_maps_again
from planner.page.kept_plans import read_plans_again
from planner.page.map_edits import forget_edits
from planner.page.plain import plain
from planner.planning.saved_work import export_to, list_saved, undo_last, undoable
from planner.store.erasing import erase_owner
from planner.store.location import locate
from planner.store.opening import open_store

__all__ = ["show_kept"]

_SAID = "kept_said"


def show_kept() -> None:
    """List what is kept, with what can be done about all of it."""
    st.subheader("What is kept of you")
    if said := st.session_state.pop(_SAID, ""):
        st.info(plain(said))
    try:
        location = locate()
        if location.file is not None and not location.file.exists():
            st.markdown("Nothing. Bags, shots and rounds that you save here stay on this computer.")
            return
        with open_store(location) as store:
            counts = Counter(one.kind for one in list_saved(store, owner=owner()))
            steps = undoable(store, owner=owner())
    except PlannerError as error:
        st.error(plain(str(error)))
        return
    listed = ", ".join(f"{kind}: {number}" for kind, number in sorted(counts.items()))
    st.markdown(plain(listed or "Nothing."))
    with st.container(horizontal=True, gap="small"):
        if steps:
            st.button(f"Undo {plain(steps[0].what)}", key="kept_undo", on_click=_undo)
        if counts:
            st.download_button(
                "Take everything along (zip)",
                _exported,
                "planner.zip",
                "application/zip",
                on_click="ignore",
                key="kept_export",
            )
        if counts or steps:
            with st.popover("Erase everything"):
                st.markdown("For good, deleted things too. Exports and backups stay.")
                st.button("Yes, erase it", key="kept_erase", on_click=_erase)


def _exported() -> bytes:
    with tempfile.TemporaryDirectory() as folder, open_store() as store:
        path = Path(folder) / "planner.zip"
        export_to(store, path, owner=owner())
        return path.read_bytes()


def _undo() -> None:
    try:
        with open_store() as store:
            entry = undo_last(store, owner=owner())
        st.session_state[_SAID] = f"Undone: {entry.what}."
    except PlannerError as error:
        st.session_state[_SAID] = str(error)
    _read_all_again()


def _erase() -> None:
    try:
        with open_store() as store:
            erase_owner(store, owner=owner())
        st.session_state[_SAID] = "Erased."
    except PlannerError as error:
        st.session_state[_SAID] = str(error)
    for chosen in ("bag", "course"):
        st.session_state.pop(chosen, None)
    _read_all_again()


def _read_all_again() -> None:
    read_again()
    read_maps_again()
    read_plans_again()
    forget_edits()
