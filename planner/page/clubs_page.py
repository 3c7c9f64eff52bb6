"""The clubs of the bag: patterns, gapping, gaps and overlaps, and the count."""

from __future__ import annotations

import streamlit as st

from planner.golfer.bag import Bag
from planner.golfer.bag_overview import BagOverview, ClubView, bag_overview
from planner.golfer.club_fits import ClubFit
from planner.page.own_shots import OwnShots, is_in_use, own_shots
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.page.tables import clubs_table
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
from planner.report.fit_words import FEW_SHOTS_SAID
from planner.report.palette import Palette, palette

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
        _pattern(setup, view, colours)
    st.table(clubs_table(club_rows(overview, unit)), border="horizontal", hide_index=True)
    st.caption(
        "Beside the carry: where its mean lies with nine chances in ten. Outcarried: share of "
        "stock shots with the next shorter club that outcarry one with this. A shaft changes "
        "nothing here unless it changes speed or delivery: hit the club and measure."
    )


def _pattern(setup: Setup, view: ClubView, colours: Palette) -> None:
    """One club: its shots if there are any, the pattern, and what would be usual."""
    bag, original = setup.request.bag, setup.bag_file
    with st.spinner("Fitting"):
        logs = () if original is None else own_shots(original, bag)
    label = view.club.label
    source, found = next(
        ((log.source, log.fits[label]) for log in logs if label in log.fits), ("", None)
    )
    in_use = found is None or is_in_use(view, found, bag)
    st.altair_chart(
        pattern_chart(view, setup.unit, colours, found=found, in_use=in_use),
        width="content",
        theme=None,
        key="club_pattern_chart",
        alt=pattern_alt(view, setup.unit, found=found),
    )
    if found is None:
        st.markdown(plain(_no_shots(label, logs, bag)))
    else:
        st.markdown(plain(_drawn(found, source)))
    lines = "Solid: nine of ten solid shots; dashed: of each kind of mishit. "
    if found is not None:
        lines = f"Dots: solid shots; crosses: mishits; squares: fit no shot with this club. {lines}"
    usual = "Dotted: what would be usual for your handicap and your other clubs."
    thin = (
        ""
        if in_use
        else " Thin: nine of ten solid shots as the plan has them now; put the pattern of these "
        "shots in use under Shots."
    )
    st.caption(f"{lines}{usual}{thin}")
    for log in logs:
        if log.problems:
            st.caption(plain(f"{log.source} cannot be used: {'; '.join(log.problems)}"))


def _drawn(found: ClubFit, source: str) -> str:
    count = found.fit.shots
    few = f" ({FEW_SHOTS_SAID})" if found.few else ""
    return f"{count} {'shot' if count == 1 else 'shots'}{few} from {source}."


def _no_shots(label: str, logs: tuple[OwnShots, ...], bag: Bag) -> str:
    """Why no shots are drawn, and what to do."""
    usable = [log.source for log in logs if not log.problems]
    if usable:
        return f"No shots are drawn: {label} has none in {' or '.join(usable)}."
    if bag.shot_log is not None:
        return (
            f"No shots are drawn: {bag.shot_log.file}, which the bag names, is not at hand. "
            "Load it under Shots."
        )
    return "No shots are drawn: this bag has no shot log. Load one under Shots."
