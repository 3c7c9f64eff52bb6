"""Side panel's rarer choices: altitude, greens, Local Rule E-5 and the clubs to carry."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from planner.golfer.bag import CLUB_LIMIT, Bag
from planner.page.address import opened_with, put_in_address
from planner.units import M_PER_FT, DistanceUnit

__all__ = ["MoreOptions", "choose_clubs", "read_more"]

E5_HELP = (
    "Only if your club has put it in force: a ball lost or out of bounds may then be dropped near "
    "the fairway for two penalty strokes, instead of stroke and distance."
)
GREEN_SPEED_HELP = (
    "How far a ball rolls from the standard ramp on a level green. It changes how far balls run "
    "on the greens; the number of putts is taken from your putting alone."
)
ALTITUDE_HELP = "Height of the course above the sea. Thin air lets the ball carry farther."


@dataclass(frozen=True)
class MoreOptions:
    """The rarer choices; ``clubs`` is None where the clubs carried are those of the bag file."""

    altitude_m: float = 0.0
    green_speed_ft: float = 9.0
    local_rule_e5: bool = False
    clubs: tuple[str, ...] | None = None


def read_more(unit: DistanceUnit, bag: Bag | None, bag_digest: str) -> MoreOptions:
    """Show the choices, closed at first; clubs are chosen for each bag anew."""
    with st.expander("More"):
        altitude_m = _altitude(unit)
        green_speed_ft = st.slider(
            "Speed of the greens, ft",
            5.0,
            14.0,
            9.0,
            0.5,
            format="%.1f",
            key="green_speed",
            bind="query-params",
            help=GREEN_SPEED_HELP,
        )
        e5 = st.checkbox("Local Rule E-5", key="e5", bind="query-params", help=E5_HELP)
        clubs = None if bag is None else _clubs(bag, bag_digest)
    return MoreOptions(altitude_m, float(green_speed_ft), e5, clubs)


def _altitude(unit: DistanceUnit) -> float:
    if unit is DistanceUnit.YARDS:
        feet = st.slider(
            "Altitude, ft",
            0,
            10000,
            0,
            250,
            key="altitude_ft",
            bind="query-params",
            help=ALTITUDE_HELP,
        )
        return feet * M_PER_FT
    metres = st.slider(
        "Altitude, m", 0, 3000, 0, 50, key="altitude_m", bind="query-params", help=ALTITUDE_HELP
    )
    return float(metres)


def choose_clubs(bag: Bag | None, digest: str, clubs: object) -> None:
    """Carry the clubs named, as far as the bag has them; those of its file if none are."""
    st.session_state.pop(_key(digest), None)
    labels = () if bag is None else tuple(club.label for club in bag.clubs)
    if isinstance(clubs, list | tuple):
        found = [label for label in labels if label in clubs][:CLUB_LIMIT]
        if found:
            st.session_state[_key(digest)] = found


def _key(digest: str) -> str:
    return f"clubs/{digest}"


def _clubs(bag: Bag, digest: str) -> tuple[str, ...] | None:
    """Chosen clubs in the order of the bag; None for those carried anyway.

    They stand in the address by their places in the bag, such as ``1-2-5``.
    """
    labels = [club.label for club in bag.clubs]
    carried = tuple(club.label for club in bag.clubs if club.carried)
    if _key(digest) not in st.session_state:
        places = opened_with("clubs", digest).split("-")
        choose_clubs(bag, digest, [labels[int(n) - 1] for n in places if _is_place(n, labels)])
        st.session_state.setdefault(_key(digest), list(carried))
    chosen = st.multiselect(
        "Clubs to carry",
        labels,
        format_func=lambda label: label if label in carried else f"{label} (candidate)",
        key=_key(digest),
        max_selections=CLUB_LIMIT,
        help=f"At most {CLUB_LIMIT}, the putter among them (Rule 4.1b): take one out to try "
        "another. Putting is always counted, whether or not a putter is chosen.",
    )
    clubs = tuple(label for label in labels if label in chosen)
    st.caption(f"{len(clubs)} of at most {CLUB_LIMIT} clubs")
    is_usual = clubs == carried
    places = [str(number) for number, label in enumerate(labels, start=1) if label in clubs]
    put_in_address("clubs", "" if is_usual else "-".join(places))
    return None if is_usual else clubs


def _is_place(text: str, labels: list[str]) -> bool:
    return text.isascii() and text.isdigit() and 1 <= int(text) <= len(labels)
