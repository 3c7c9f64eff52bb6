"""Maps kept in the store of whoever is there: those to plan on, and those being drawn.

They are read once in a visit; whatever this page saves or deletes is noted as well.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import streamlit as st

from planner.errors import PlannerError
from planner.page.access import owner
from planner.page.inputs import InputFile, uploaded_file
from planner.page.plain import plain
from planner.planning.map_drafts import DrawnMap, drop_kept_draft, keep_draft, kept_drafts
from planner.planning.saved_work import delete_saved, keep_course, kept_courses
from planner.store.location import locate
from planner.store.opening import Store, open_store
from planner.store.records import SavedDraft

__all__ = [
    "delete_draft",
    "delete_map",
    "drop_drawn",
    "is_kept_map",
    "keep_drawn",
    "keep_map",
    "maps_at_hand",
    "maps_being_drawn",
    "read_maps_again",
    "say_map_fault",
]

Kept = TypeVar("Kept")
_MAPS, _DRAFTS, _FAULT = "kept_maps", "kept_drafts", "kept_maps_fault"
_PREFIX = "mine-"
"""Of the choice of a kept map, before its id in the store."""


def maps_at_hand() -> dict[str, tuple[str, InputFile]]:
    """Name and file of every kept map by its choice, oldest first."""

    def read(store: Store) -> dict[str, tuple[str, InputFile]]:
        return {
            _PREFIX + one.id: (one.name, uploaded_file(one.file_name, source))
            for one, source in kept_courses(store, owner=owner())
        }

    return _read_once(_MAPS, read)


def maps_being_drawn() -> dict[str, SavedDraft]:
    """Every map being drawn by its id, the one changed longest ago first."""

    def read(store: Store) -> dict[str, SavedDraft]:
        return {one.id: one for one in kept_drafts(store, owner=owner())}

    return _read_once(_DRAFTS, read)


def is_kept_map(choice: str) -> bool:
    """Whether a choice is that of a kept map."""
    return choice.startswith(_PREFIX)


def keep_map(name: str, file: InputFile) -> str | None:
    """Keep a map to plan on; its choice, None if it cannot be kept, which is then said."""
    try:
        with open_store() as store:
            made = keep_course(store, file.content, name=name, file_name=file.name, owner=owner())
    except PlannerError as error:
        st.session_state[_FAULT] = str(error)
        return None
    st.session_state.pop(_MAPS, None)
    return _PREFIX + made.id


def delete_map(choice: str) -> bool:
    """Delete a kept map so that it can be taken back; whether that went well."""
    return _delete("course", choice.removeprefix(_PREFIX))


def keep_drawn(one: str | None, drawn: DrawnMap, source: str | None) -> str | None:
    """Keep a map being drawn; its id, None if it cannot be kept, which is then said."""
    there = maps_being_drawn()
    try:
        with open_store() as store:
            made = keep_draft(store, one, drawn, source=source, owner=owner())
    except PlannerError as error:
        st.session_state[_FAULT] = str(error)
        return one
    if one is not None:
        there.pop(one, None)
    there[made.id] = made
    return made.id


def drop_drawn(one: str | None) -> str | None:
    """Remove a map whose changes were all taken back; its id where that cannot be done."""
    if one is None:
        return None
    try:
        with open_store() as store:
            drop_kept_draft(store, one, owner=owner())
    except PlannerError as error:
        st.session_state[_FAULT] = str(error)
        return one
    maps_being_drawn().pop(one, None)
    return None


def delete_draft(one: str) -> bool:
    """Delete a map being drawn so that it can be taken back; whether that went well."""
    return _delete("draft", one)


def read_maps_again() -> None:
    """Read what is kept anew, since it was changed elsewhere."""
    for key in (_MAPS, _DRAFTS):
        st.session_state.pop(key, None)


def say_map_fault() -> None:
    """Say what could not be kept or deleted, once."""
    if fault := st.session_state.pop(_FAULT, ""):
        st.warning(plain(f"Your maps: {fault}"))


def _read_once(key: str, read: Callable[[Store], dict[str, Kept]]) -> dict[str, Kept]:
    found: dict[str, Kept] | None = st.session_state.get(key)
    if found is None:
        found = {}
        try:
            location = locate()
            if location.file is None or location.file.exists():
                with open_store(location) as store:
                    found = read(store)
        except PlannerError as error:
            st.session_state[_FAULT] = str(error)
        st.session_state[key] = found
    return found


def _delete(kind: str, one: str) -> bool:
    try:
        with open_store() as store:
            delete_saved(store, kind, one, owner=owner())
    except PlannerError as error:
        st.session_state[_FAULT] = str(error)
        return False
    read_maps_again()
    return True
