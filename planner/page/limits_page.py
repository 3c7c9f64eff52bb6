"""What the plan knows and does not know, and how the map and the bag were read."""

from __future__ import annotations

import streamlit as st

from planner.page.kept_things import show_kept
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.report import words
from planner.report.hole_svg import hole_svg
from planner.report.legend import legend
from planner.report.palette import palette

__all__ = ["show_limits"]

READING = """
- **Expected strokes** is the average over many plays of the hole with your own shot pattern,
  your mishits included. It is no promise for one round.
- **A tie** means that two choices are less than 0.01 strokes apart. Play the one you like.
- **Costs** says how many strokes a choice loses against the best one.
- The two **ellipses** hold five and nine of ten solid shots where they land; dashed ones are
  your mishits. The arrow is the run on a fairway.
- The **line of play** is the hole's line as the mapper drew it; aims are given beside it.
"""

LEFT_OUT = """
- The pin is where the map has it, mostly the middle of the green; ask for the day's place.
- Gusts, rain, slopes across the line, uneven lies and how you feel today.
- Wind is taken as the same at every height and everywhere on the hole.
- Trees are taken as one height; low branches and gaps are not known.
- Spreads and mishits that the bag file does not give come from the handicap index.
"""


def show_limits(setup: Setup | None) -> None:
    """Page of help, limits and assumptions."""
    st.subheader("How to read a plan")
    st.markdown(READING)
    key = legend()
    colours = palette(dark=st.context.theme.type == "dark")
    st.image(hole_svg(key, colours), width=key.view.width_px)
    st.subheader("What is left out")
    st.markdown(f"{LEFT_OUT}- {plain(words.PREDICTED_CLUBS)}")
    show_kept()
    if setup is None:
        return
    st.subheader("How your map and bag were read")
    findings = [f for f in setup.map_report.findings if f.severity != "error"]
    _list("Map", [f"{finding.severity}: {finding}" for finding in findings])
    _list("Bag", list(setup.request.bag.findings))


def _list(title: str, lines: list[str]) -> None:
    with st.expander(f"{title}: {len(lines) or 'no'} remarks"):
        st.markdown("\n".join(f"- {plain(line)}" for line in lines) or "Nothing to remark.")
