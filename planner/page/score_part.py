"""The chances of a planned round's score, as part of the page of the round."""

from __future__ import annotations

import streamlit as st

from planner.errors import OptionError
from planner.page.plain import plain
from planner.planning.round_plan import score_of_plan
from planner.report.palette import palette
from planner.report.score_figures import cumulative_chart, hole_results_chart, score_chart
from planner.report.score_text import chances_said, results_said, total_said
from planner.report.words import percent
from planner.strategy.advice import RoundPlan

__all__ = ["score_part"]

USUAL_TARGETS = range(9, 300)
MOST_FORM = 5.0


def score_part(plan: RoundPlan) -> None:
    """Target and form to choose, then the chances of the total and of every hole's results."""
    st.subheader("What it comes to")
    with st.container(horizontal=True):
        target = st.number_input(
            "Target or better",
            USUAL_TARGETS.start,
            USUAL_TARGETS.stop,
            round(plan.expected_strokes),
            1,
            key="score_target",
            width=150,
        )
        form = st.slider(
            "Form from day to day, strokes",
            0.0,
            MOST_FORM,
            0.0,
            0.5,
            key="score_form",
            width=240,
            help="How far a whole round moves on good and bad days: one standard deviation. With "
            "0 the holes have nothing to do with one another.",
        )
    try:
        score = score_of_plan(plan, target=int(target), form_sd=float(form))
    except OptionError as error:
        st.warning(plain(str(error)))
        return
    colours = palette(dark=st.context.theme.type == "dark")
    chances = chances_said(score)
    with st.container(horizontal=True, gap="large"):
        for name, chance in chances:
            st.metric(plain(name), percent(chance), width="content")
    for line in total_said(score):
        st.markdown(plain(line))
    said = ", ".join(f"{name} {percent(chance)}" for name, chance in chances)
    with st.container(horizontal=True, gap="medium"):
        for name, chart, alt in (
            ("total", score_chart(score, colours), f"Chances of every total: {said}"),
            (
                "cumulative",
                cumulative_chart(score, colours),
                f"Chance of a total or better: {said}",
            ),
            (
                "holes",
                hole_results_chart(score, colours),
                f"Results of every hole, expected in the round: {results_said(score)}",
            ),
        ):
            st.altair_chart(chart, width="content", theme=None, key=f"score/{name}", alt=alt)
    st.caption(
        "Exact chances under the plan, nothing is drawn by lot. On par 4s and 5s a fairway counts "
        "as hit if the first tee shot ends on it; a green if the ball is there in two under par."
    )
