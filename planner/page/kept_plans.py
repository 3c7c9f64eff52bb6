"""Plans of rounds kept by name: whatever was chosen for one is chosen again when it is opened."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import streamlit as st

from planner.errors import PlannerError
from planner.page.access import owner
from planner.page.plain import plain
from planner.page.setup import Setup, choices_now, choose_again
from planner.planning.saved_work import delete_saved, keep_plan, kept_plans
from planner.report import words
from planner.report.cautions import CAUTIONS
from planner.report.plan_json import plan_as_json
from planner.store.location import locate
from planner.store.opening import open_store
from planner.store.records import MAX_NAME_CHARACTERS, SavedPlan
from planner.strategy.advice import RoundPlan

__all__ = ["keep_plan_button", "opened_plan", "plan_content", "read_plans_again", "show_kept_plans"]

_READ, _SAID, _OPENED = "kept_plans", "kept_plans_said", "kept_plan_opened"
CHOSEN = "page"
"""Where a plan's JSON has what was chosen on the page."""


def plan_content(plan: RoundPlan, setup: Setup) -> dict[str, Any]:
    """A plan as JSON values, with what was chosen for it."""
    return {**plan_as_json(plan), "cautions": list(CAUTIONS), CHOSEN: choices_now(setup)}


def keep_plan_button(plan: RoundPlan, setup: Setup) -> None:
    """Ask for a name and keep the plan under it."""
    usual = f"{plan.course}, {plan.tee} tees"[:MAX_NAME_CHARACTERS]
    with st.popover("Keep this plan"):
        name = st.text_input("Name", usual, max_chars=MAX_NAME_CHARACTERS, key="plan_name")
        st.button("Keep it", type="primary", key="plan_keep", on_click=_keep, args=(plan, setup))
        others = {one.name for one in _kept() if one.key != setup.key}
        if str(name).strip() in others:
            st.caption("There is a plan of this name; it is replaced, which can be undone.")


def opened_plan() -> bool:
    """Whether a kept plan was just opened, so that the round is planned without asking."""
    return bool(st.session_state.pop(_OPENED, False))


def show_kept_plans(setup: Setup) -> None:
    """List the plans that are kept, to be opened, saved as files or deleted."""
    if said := st.session_state.pop(_SAID, ""):
        st.info(plain(said))
    kept = {one.id: one for one in reversed(_kept())}
    if not kept:
        return
    st.subheader("Kept plans")
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        one = st.selectbox(
            "Plan",
            list(kept),
            format_func=lambda one: _line(kept[one]),
            key="kept_plan",
            filter_mode=None,
            width=380,
        )
        chosen = kept[one]
        st.button("Open this plan", key="plan_open", on_click=_open, args=(chosen,))
        st.download_button(
            "Save as JSON",
            chosen.text,
            f"{chosen.name}.json",
            "application/json",
            on_click="ignore",
            key="plan_file",
        )
        with st.popover("Delete"):
            st.markdown(f"Delete {plain(chosen.name)}? It can be taken back under Help and limits.")
            st.button("Yes, delete it", key="plan_delete", on_click=_delete, args=(chosen.id,))
    if any(same.key == setup.key for same in kept.values()):
        names = ", ".join(plain(same.name) for same in kept.values() if same.key == setup.key)
        st.caption(f"What is chosen now is kept as {names}.")


def read_plans_again() -> None:
    """Read the kept plans anew, since they were changed elsewhere."""
    st.session_state.pop(_READ, None)


def _line(one: SavedPlan) -> str:
    return f"{one.name} · {one.saved_at.astimezone():%d %b %Y}"


def _kept() -> list[SavedPlan]:
    found: list[SavedPlan] | None = st.session_state.get(_READ)
    if found is None:
        found = []
        try:
            location = locate()
            if location.file is None or location.file.exists():
                with open_store(location) as store:
                    found = kept_plans(store, owner=owner())
        except PlannerError as error:
            st.session_state[_SAID] = str(error)
        st.session_state[_READ] = found
    return found


def _keep(plan: RoundPlan, setup: Setup) -> None:
    name = str(st.session_state.get("plan_name") or "").strip()
    try:
        with open_store() as store:
            made = keep_plan(store, plan_content(plan, setup), name=name or None, owner=owner())
        st.toast(plain(f"Kept as {made.name}; it is listed below."))
    except PlannerError as error:
        st.session_state[_SAID] = str(error)
    read_plans_again()


def _delete(one: str) -> None:
    try:
        with open_store() as store:
            delete_saved(store, "plan", one, owner=owner())
    except PlannerError as error:
        st.session_state[_SAID] = str(error)
    read_plans_again()


def _open(one: SavedPlan) -> None:
    content = json.loads(one.text)
    chosen = content.get(CHOSEN) if isinstance(content, Mapping) else None
    if not isinstance(chosen, Mapping):
        st.session_state[_SAID] = (
            f"{one.name} was not made on this page, so what was chosen for it is not known. Its "
            "file can be saved."
        )
        return
    missing = choose_again(chosen)
    strokes = content.get("expected_strokes")
    then = f", {words.strokes(strokes)} strokes then" if isinstance(strokes, float) else ""
    said = f"Opened: {one.name}{then}."
    if missing:
        said += f" Not here any more: {', '.join(missing)}; the rest is as it was."
    st.session_state[_SAID] = said
    st.session_state[_OPENED] = not missing
