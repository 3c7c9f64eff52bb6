"""A bag of one's own without a file: a few questions, an answer to save and play with."""

from __future__ import annotations

import streamlit as st

from planner.golfer.bag import CLUB_LIMIT
from planner.golfer.bag_starting import NAMED_CLUBS, USUAL_CLUBS, starting_bag
from planner.page.inputs import InputFile, uploaded_file
from planner.page.kept_bags import keep
from planner.units import DistanceUnit

__all__ = ["made_bag"]

_KEY = "own_bag"
FILE = "my bag.toml"
ASKED = ("Driver", "7 iron")
"""Clubs whose carry golfers know."""
FARTHEST = 350


def made_bag() -> InputFile | None:
    """Show the questions; returns the bag made last if it could not be kept."""
    unit = DistanceUnit(st.session_state.get("units") or DistanceUnit.METRES.value)
    made: InputFile | None = st.session_state.get(_KEY)
    with st.expander("No file? Answer a few questions", expanded=made is None):
        st.text_input("Your name", max_chars=40, key="own_name", persist_state="session")
        st.number_input(
            "Handicap index (plus: below zero)",
            -10.0,
            54.0,
            18.0,
            0.1,
            "%.1f",
            key="own_index",
            persist_state="session",
        )
        st.checkbox("Left-handed", key="own_left", persist_state="session")
        st.multiselect(
            "Your clubs, besides the putter",
            NAMED_CLUBS,
            USUAL_CLUBS,
            key="own_clubs",
            max_selections=CLUB_LIMIT - 1,
            persist_state="session",
        )
        for club in ASKED:
            st.number_input(
                f"{club} carries, {unit.symbol} (0: not known)",
                0,
                FARTHEST,
                0,
                1,
                key=_carry(club, unit),
                persist_state="session",
            )
        st.button("Make my bag", type="primary", key="own_make", on_click=_make, args=(unit,))
        st.caption(
            "The rest is taken from golfers of that handicap. Measure your shots (page Shots) to "
            "make it yours."
        )
    if made is not None:
        st.download_button("Save this bag (TOML)", made.content, FILE, on_click="ignore")
    return made


def _make(unit: DistanceUnit) -> None:
    state = st.session_state
    carries = {
        club: unit.to_metres(float(state[_carry(club, unit)]))
        for club in ASKED
        if state.get(_carry(club, unit)) and club in state["own_clubs"]
    }
    text = starting_bag(
        str(state["own_name"] or "").strip() or "You",
        float(state["own_index"] or 0.0),
        list(state["own_clubs"]),
        left_handed=bool(state["own_left"]),
        carries_m=carries,
        unit=unit,
    )
    made = uploaded_file(FILE, text.encode())
    state[_KEY] = made
    # Kept it outlives this visit, and the next golfer's bag stands beside it.
    choice = keep(made)
    if choice is not None:
        state["bag"] = choice
        del state[_KEY]


def _carry(club: str, unit: DistanceUnit) -> str:
    return f"own_carry/{club}/{unit.value}"
