"""The clubs of the bag: patterns, gapping, gaps and overlaps, and the count."""

from __future__ import annotations

import streamlit as st

from planner.golfer.bag import Bag
from planner.golfer.bag_overview import BagOverview, bag_overview
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.report.clubs_chart import (
    club_rows,
    count_said,
    gapping_alt,
    gapping_chart,
    gaps_said,
    overlaps_said,
    pattern_alt,
    pattern_chart,
)
from planner.report.palette import palette

__all__ = ["show_clubs"]


@st.cache_resource(max_entries=32, show_spinner=False)
def _overview(key: str, candidates: bool, _bag: Bag) -> BagOverview:
    return bag_overview(_bag, candidates=candidates)


def show_clubs(setup: Setup) -> None:
    """Page of the bag's clubs."""
    bag, unit = setup.request.bag, setup.unit
    has_candidates = any(not club.carried for club in bag.clubs)
    candidates = has_candidates and st.toggle(
        "Candidates too", key="clubs_candidates", persist_state="session"
    )
    overview = _overview(repr(bag), bool(candidates), bag)
    colours = palette(dark=st.context.theme.type == "dark")
    said = count_said(overview)
    (st.warning if overview.carried > overview.limit else st.markdown)(plain(said))
    lines = [*overlaps_said(overview), *gaps_said(overview, unit)]
    if lines:
        st.markdown("\n".join(f"- {plain(line)}" for line in lines))
    else:
        st.markdown("No two neighbours do one job, and no distance is left open.")
    left, right = st.columns([400, 560], gap="medium")
    with left:
        st.altair_chart(
            gapping_chart(overview, unit, colours),
            width="content",
            theme=None,
            key="gapping_chart",
            alt=gapping_alt(overview, unit),
        )
        st.caption(
            "Wide bars: nine of ten stock shots. Narrow bars: what is known of the mean carry. "
            "Diamonds: predicted clubs."
        )
    with right:
        labels = [view.club.label for view in overview.clubs]
        chosen = st.selectbox(
            "Club", labels, key="clubs_shown", filter_mode=None, persist_state="session"
        )
        view = next((one for one in overview.clubs if one.club.label == chosen), overview.clubs[0])
        st.altair_chart(
            pattern_chart(view, unit, colours),
            width="content",
            theme=None,
            key="club_pattern_chart",
            alt=pattern_alt(view, unit),
        )
        st.caption(
            "Solid: nine of ten solid shots; dashed: of each kind of mishit. Dotted: what would be "
            "usual for your handicap and your other clubs. Shots themselves are drawn under Shots."
        )
    table = [{name: plain(cell) for name, cell in row.items()} for row in club_rows(overview, unit)]
    st.table(table, border="horizontal", hide_index=True)
    st.caption(
        "90 %: interval of the mean carry. Outcarried: share of stock shots with the next shorter "
        "club that outcarry one with this. A shaft changes nothing here unless it changes speed or "
        "delivery: hit the club and measure."
    )
