"""Bags kept in the store of whoever is there, to be chosen again on this visit and the next.

They are read once in a visit; whatever this page saves or deletes is noted as well.
"""

from __future__ import annotations

import streamlit as st

from planner.errors import PlannerError
from planner.page.access import owner
from planner.page.inputs import InputFile, bag_of, demo_bags, uploaded_file
from planner.page.plain import plain
from planner.planning.saved_work import delete_saved, keep_bag, kept_bags
from planner.store.location import locate
from planner.store.opening import open_store

__all__ = [
    "bags_at_hand",
    "forget_button",
    "golfer_of",
    "is_kept",
    "keep",
    "kept",
    "read_again",
    "say_fault",
]

_READ, _FAULT = "kept_bags", "kept_bags_fault"
_PREFIX = "mine-"
"""Of the choice of a kept bag, before its id in the store."""


def kept() -> dict[str, InputFile]:
    """Kept bags by the name of their choice, oldest first."""
    found: dict[str, InputFile] | None = st.session_state.get(_READ)
    if found is None:
        try:
            found = _read()
        except PlannerError as error:
            found = {}
            st.session_state[_FAULT] = str(error)
        st.session_state[_READ] = found
    return found


def bags_at_hand() -> dict[str, InputFile]:
    """Bags of the demo, then those that are kept, by the name of their choice."""
    demo = {stem: uploaded_file(path.name, path.read_bytes()) for stem, path in demo_bags().items()}
    return demo | kept()


def golfer_of(choice: str, file: InputFile) -> str:
    """What a bag is called in a list: its golfer, of a kept one its name, which tells him too."""
    bag = bag_of(file).bag
    if bag is None:
        return file.name
    golfer = bag.golfer.name or bag.name
    if not is_kept(choice):
        return golfer
    return bag.name if golfer in bag.name else f"{golfer}: {bag.name}"


def is_kept(choice: str) -> bool:
    """Whether a choice is that of a kept bag."""
    return choice.startswith(_PREFIX)


def keep(file: InputFile) -> str | None:
    """Keep a bag; the name of its choice, None if it cannot be kept, which is then said."""
    try:
        with open_store() as store:
            made = keep_bag(store, file.content.decode(), source=file.name, owner=owner())
        st.session_state[_READ] = _read()
    except (PlannerError, UnicodeDecodeError) as error:
        st.session_state[_FAULT] = str(error)
        return None
    return _PREFIX + made.id


def forget_button(choice: str, file: InputFile) -> None:
    """Save a kept bag as a file, or delete it, which is asked first."""
    with st.container(horizontal=True, gap="small"):
        st.download_button("Save as a file", file.content, file.name, on_click="ignore")
        with st.popover("Delete"):
            st.markdown(
                f"Delete {plain(golfer_of(choice, file))}? It can be taken back under Help and "
                "limits."
            )
            st.button("Yes, delete it", key="bag_delete", on_click=_forget, args=(choice,))


def read_again() -> None:
    """Read the kept bags anew, since they were changed elsewhere."""
    st.session_state.pop(_READ, None)


def say_fault() -> None:
    """Say what could not be kept or deleted, once."""
    if fault := st.session_state.pop(_FAULT, ""):
        st.warning(plain(f"Your bags: {fault}"))


def _forget(choice: str) -> None:
    try:
        with open_store() as store:
            delete_saved(store, "bag", choice.removeprefix(_PREFIX), owner=owner())
        read_again()
    except PlannerError as error:
        st.session_state[_FAULT] = str(error)
        return
    st.session_state["bag"] = next(iter(demo_bags()))


def _read() -> dict[str, InputFile]:
    location = locate()
    if location.file is not None and not location.file.exists():
        return {}
    with open_store(location) as store:
        return {
            _PREFIX + one.id: uploaded_file(f"{one.name}.toml", one.text.encode())
            for one in kept_bags(store, owner=owner())
        }
