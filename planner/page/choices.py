"""What is chosen in the side panel, as values that can be kept and chosen again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import streamlit as st

__all__ = ["choices_of", "choose", "put_choices_in_address"]

_SET = "choices_set"

PLAIN = (
    "course",
    "bag",
    "tee",
    "units",
    "aim",
    "give_up",
    "wind",
    "wind_mph",
    "wind_mps",
    "celsius",
    "turf",
    "green_speed",
    "e5",
    "altitude_ft",
    "altitude_m",
)
"""Keys of the side panel's choices."""
NUMBERS: dict[str, tuple[float, float]] = {
    "give_up": (0.0, 0.5),
    "wind_mph": (1, 35),
    "wind_mps": (1, 15),
    "celsius": (-5, 40),
    "green_speed": (5.0, 14.0),
    "altitude_ft": (0, 10000),
    "altitude_m": (0, 3000),
}
WHOLE = {"wind_mph", "wind_mps", "celsius", "altitude_ft", "altitude_m"}
"""Numbers whose sliders take no fractions."""


def choices_of(state: Mapping[str, Any]) -> dict[str, Any]:
    """Everything chosen now, by the key of its widget."""
    return {key: state[key] for key in PLAIN if state.get(key) is not None}


def choose(kept: Mapping[str, Any], allowed: Mapping[str, Callable[[str], bool]]) -> None:
    """Set every widget to what is kept and it takes; those of which nothing is kept go back.

    ``kept`` comes from a file that may be anybody's: whatever a widget would refuse is left out.
    """
    st.session_state[_SET] = True
    for key in PLAIN:
        value = kept.get(key)
        if key in NUMBERS:
            low, high = NUMBERS[key]
            is_number = isinstance(value, int | float) and not isinstance(value, bool)
            if is_number and low <= float(value) <= high:  # type: ignore[arg-type]
                st.session_state[key] = int(value) if key in WHOLE else float(value)  # type: ignore[arg-type]
        elif key == "e5":
            st.session_state[key] = value is True
        elif isinstance(value, str) and allowed[key](value):
            st.session_state[key] = value


def put_choices_in_address() -> None:
    """Have what was set by the program stand in the address as if it had been chosen by hand.

    Streamlit writes a value there that the program sets on a widget which was shown before; so it
    is set once more on the next run. All of them are: what is written replaces the whole address.
    """
    for key in PLAIN if st.session_state.pop(_SET, False) else ():
        if key in st.session_state:
            st.session_state[key] = st.session_state[key]
