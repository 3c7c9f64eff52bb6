"""The page as a whole: its parts, what is shown on all of them, and their addresses."""

from __future__ import annotations

import streamlit as st

from planner.errors import BusyError
from planner.page.access import admitted
from planner.page.bags_page import show_bags
from planner.page.clubs_page import show_clubs
from planner.page.golfers_page import show_golfers
from planner.page.hole_page import show_hole
from planner.page.icon import page_icon
from planner.page.limits_page import show_limits
from planner.page.log_page import show_log
from planner.page.map_page import show_map
from planner.page.plain import plain
from planner.page.practice_page import show_practice
from planner.page.round_page import show_round
from planner.page.setup import Setup, read_setup
from planner.page.shots_page import show_shots
from planner.page.target_page import show_target
from planner.report.cautions import CAUTIONS

__all__ = ["run"]

TIGHTER = """
.stMainBlockContainer { padding-top: 4.2rem; padding-bottom: 3rem; }
[data-testid="stHeaderActionElements"] { display: none; }
@media (max-width: 640px) {
  .st-key-pages { row-gap: 0.1rem; }
  [data-testid="stTable"] :is(th, td) { padding: 0.35rem 0.3rem; font-size: 0.82rem; }
}
@media (min-width: 800px) { .stMainBlockContainer { padding-left: 3rem; padding-right: 3rem; } }
"""
"""Less empty space at the edges, so that the answer is on the first screen of a phone; and no links
beside headings, which are too small for a finger and stand in the way of the Tab key."""

DARK_ON_PINK = '[data-testid="stBaseButton-primary"] { color: #171b1f; }'
"""In the dark theme, whose first colour is too light for white words."""


def run() -> None:
    """Show the page; called again by every change."""
    st.set_page_config(
        page_title="Course plan",
        page_icon=page_icon(),
        layout="wide",
        initial_sidebar_state="auto",
        menu_items={"about": "Course strategy for golf: from a map and a bag to a plan."},
    )
    if admitted() is None:
        return
    setup: Setup | None = None

    def hole() -> None:
        if setup is not None:
            show_hole(setup)

    def whole_round() -> None:
        if setup is not None:
            show_round(setup)

    def golfers() -> None:
        if setup is not None:
            show_golfers(setup)

    def shots() -> None:
        if setup is not None:
            show_shots(setup)

    def clubs() -> None:
        if setup is not None:
            show_clubs(setup)

    def bags() -> None:
        if setup is not None:
            show_bags(setup)

    def target() -> None:
        if setup is not None:
            show_target(setup)

    def practice() -> None:
        if setup is not None:
            show_practice(setup)

    def log() -> None:
        if setup is not None:
            show_log(setup)

    def limits() -> None:
        show_limits(setup)

    pages = [
        st.Page(hole, title="Hole by hole", url_path="hole", default=True),
        st.Page(whole_round, title="Round", url_path="round"),
        st.Page(golfers, title="Golfers", url_path="golfers"),
        st.Page(shots, title="Shots", url_path="shots"),
        st.Page(clubs, title="Clubs", url_path="clubs"),
        st.Page(bags, title="Bags", url_path="bags"),
        st.Page(target, title="Target", url_path="target"),
        st.Page(practice, title="Practice", url_path="practice"),
        st.Page(log, title="After the round", url_path="log"),
        st.Page(show_map, title="Map", url_path="map"),
        st.Page(limits, title="Help and limits", url_path="help"),
    ]
    dark = DARK_ON_PINK if st.context.theme.type == "dark" else ""
    st.html(f"<style>{TIGHTER}{dark}</style>")
    chosen = st.navigation(pages, position="hidden")
    with st.container(horizontal=True, gap="small", key="pages"):
        for page in pages:
            st.page_link(page)
    try:
        setup = read_setup()
        if setup is not None:
            st.caption(f"{plain(setup.summary)} · change it in the side panel (»)")
        chosen.run()
    except BusyError as error:
        st.warning(plain(str(error)))
    _footer(setup)


def _footer(setup: Setup | None) -> None:
    st.divider()
    st.markdown("**Before you play**  \n" + "  \n".join(plain(line) for line in CAUTIONS))
    course = None if setup is None else setup.map_report.course
    if course is not None and course.attribution:
        st.caption(f"Map: {plain(course.attribution)}")
