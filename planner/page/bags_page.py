"""Bags: which clubs to carry, what each is worth, what money buys; and bags side by side."""

from __future__ import annotations

import hashlib
import json
import math
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import streamlit as st

from planner.page.background import Jobs
from planner.page.bag_questions import ask_bags, ask_choice, ask_rounds
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.page.waiting import drop_button, result_of
from planner.planning.bag_choosing import choose_clubs
from planner.planning.bag_comparison import compare_bags
from planner.planning.progress import Progress, SearchProgress
from planner.planning.request import PlanRequest, request_key
from planner.report import bag_csv, bag_rows, bag_text
from planner.report import bag_figures as figures
from planner.report.bag_json import advice_as_json, comparison_as_json
from planner.report.palette import Palette, palette
from planner.strategy.bag_results import BagAdvice, BagComparison, BagDifference

__all__ = ["show_bags"]

KEPT = 8
CSV = "text/csv"


@st.cache_resource(show_spinner=False)
def bag_jobs() -> Jobs:
    """Jobs of all sessions; a reload finds its own again."""
    return Jobs(KEPT)


def show_bags(setup: Setup) -> None:
    """Page of bags."""
    rounds = ask_rounds(setup)
    choose, compare = st.tabs(["Choose the clubs", "Compare bags"])
    with choose:
        _choose(setup, rounds)
    with compare:
        _compare(setup, rounds)


def _key(rounds: Sequence[PlanRequest], *parts: object) -> str:
    """Name of a piece of work by all it depends on."""
    text = repr(([request_key(one) for one in rounds], *parts))
    return hashlib.sha256(text.encode()).hexdigest()[:24]


# -- choosing ---------------------------------------------------------------------------------


def _choose(setup: Setup, rounds: Sequence[PlanRequest]) -> None:
    st.markdown(
        "Which clubs of the bag file, candidates included, score lowest: proven by branch and "
        "bound. Every hole is first solved with all of them, which takes a minute or so."
    )
    asked = ask_choice(setup)
    if asked is None:
        return
    options, fine = asked
    rounds = [replace(one, preview=not fine) for one in rounds]
    key = "choose/" + _key(rounds, options)

    def work(report: Callable[[Progress], None], cancelled: threading.Event) -> BagAdvice:
        return choose_clubs(rounds, options, progress=report, cancelled=cancelled)

    advice = result_of(
        bag_jobs(),
        key,
        work,
        start="Choose the clubs",
        name="choose",
        finish="Enough: keep the best so far",
        show=_live,
    )
    if advice is None:
        return
    _advice(advice, setup)
    if not advice.proven:
        drop_button(bag_jobs(), key, "Search to the end", name="choose")


def _live(progress: Progress) -> None:
    """Best bag so far and what is proven, while the search runs."""
    if not isinstance(progress, SearchProgress):
        return
    with st.container(horizontal=True, gap="large"):
        st.metric("Best so far", f"{progress.value:.3f}", width="content")
        st.metric("Proven: none below", f"{progress.bound:.3f}", width="content")
        st.metric("Bags valued", progress.evaluations, width="content")
    st.caption(plain(", ".join(progress.best)))


def _advice(advice: BagAdvice, setup: Setup) -> None:
    colours = palette(dark=st.context.theme.type == "dark")
    with st.container(horizontal=True, gap="large"):
        best = advice.best
        value = best.searched if math.isnan(best.fine) else best.fine
        st.metric("Expected score", f"{value:.2f}", width="content")
        if not math.isnan(advice.saved):
            st.metric("Saves on the present bag", f"{advice.saved:.2f}", width="content")
        st.metric(
            "Proof",
            "none better" if advice.proven else f"to {advice.gap:.3f} strokes",
            width="content",
        )
    for line in bag_text.choice_said(advice):
        st.markdown(plain(line))
    st.subheader("What each club is worth")
    _chart(figures.worth_chart(advice.worths, colours), figures.worth_alt(advice.worths), "worths")
    st.caption("Bars: strokes a round lost without the club. Marks: its share.")
    _table(bag_rows.worth_short_rows(advice, setup.unit))
    st.caption(plain(bag_text.SHARE_SAID.format(least=advice.least)))
    for line in bag_text.pairs_said(advice):
        st.markdown(plain(line))
    if advice.frontier:
        st.subheader("Strokes for money")
        _chart(figures.frontier_chart(advice, colours), figures.frontier_alt(advice), "frontier")
        _table(bag_rows.frontier_rows(advice))
    if advice.money:
        st.subheader("Equipment or technique")
        _table(bag_rows.money_short_rows(advice))
        st.caption(plain(bag_text.MONEY_SAID))
    for line in (*bag_text.certificate_said(advice), *advice.notes):
        st.caption(plain(line))
    with st.container(horizontal=True):
        _save("Clubs (CSV)", bag_csv.clubs_csv(advice), "clubs.csv", CSV)
        if advice.frontier:
            _save("Strokes for money (CSV)", bag_csv.frontier_csv(advice), "money.csv", CSV)
        if advice.money:
            _save("Changes (CSV)", bag_csv.changes_csv(advice), "changes.csv", CSV)
        _save_json("Choice (JSON)", advice_as_json(advice), "choice.json")


# -- comparing --------------------------------------------------------------------------------


def _compare(setup: Setup, rounds: Sequence[PlanRequest]) -> None:
    st.markdown(
        "Two or more bags over the same holes: what they score, where they differ, which shots "
        "make it, and whether that is more than what is not known of the clubs."
    )
    whole, bags = ask_bags(setup)
    rounds = [replace(one, bag=whole) for one in rounds]
    if len(bags) < 2:
        st.info("The bags are the same: put a club in or take one out.")
        return
    st.markdown(plain("Compare: " + "; ".join(bag.name for bag in bags)))

    def work(report: Callable[[Progress], None], cancelled: threading.Event) -> BagComparison:
        return compare_bags(rounds, bags, progress=report, cancelled=cancelled)

    result = result_of(
        bag_jobs(),
        "compare/" + _key(rounds, bags),
        work,
        start="Compare the bags",
        name="compare",
    )
    if result is not None:
        _comparison(result, setup)


def _comparison(result: BagComparison, setup: Setup) -> None:
    colours = palette(dark=st.context.theme.type == "dark")
    _table(bag_rows.score_rows(result))
    st.caption(plain(bag_text.SCORES_SAID))
    for number, one in enumerate(result.differences):
        st.subheader(plain(f"{one.second} against {one.first}"))
        (st.success if one.real else st.info)(plain(bag_text.difference_said(one)))
        _difference_charts(one, colours, number)
        _table(bag_rows.difference_rows(one, setup.unit))
    for note in result.notes:
        st.caption(plain(note))
    with st.container(horizontal=True):
        _save("Holes (CSV)", bag_csv.holes_csv(result), "bags.csv", CSV)
        _save_json("Comparison (JSON)", comparison_as_json(result), "bags.json")


def _difference_charts(one: BagDifference, colours: Palette, number: int) -> None:
    rounds = figures.rounds_in(one)
    for which in rounds:
        if len(rounds) > 1:
            st.markdown(f"**{plain(which)}**")
        _chart(
            figures.difference_chart(one, which, colours),
            figures.difference_alt(one, which),
            f"difference/{number}/{which}",
        )
    st.caption("Bars below zero: the second bag is better. Lines: one deviation either way.")


# -- bricks -----------------------------------------------------------------------------------


def _chart(chart: Any, alt: str, name: str) -> None:
    st.altair_chart(chart, width="content", theme=None, key=f"bags/{name}", alt=alt)


def _table(rows: bag_rows.Rows) -> None:
    headings, cells = rows
    st.table(
        [dict(zip(headings, map(plain, row), strict=True)) for row in cells],
        border="horizontal",
        hide_index=True,
    )


def _save(label: str, content: str, name: str, kind: str) -> None:
    st.download_button(label, content, name, kind, key=f"save/{name}", on_click="ignore")


def _save_json(label: str, content: dict[str, Any], name: str) -> None:
    text = json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)
    _save(label, text, name, "application/json")
