"""Practice: where strokes go, what to practise, and the road to a target."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import streamlit as st

from planner.golfer.practice_abilities import ABILITIES, ASSUMED_HOURS
from planner.golfer.reference_golfer import reference_index
from planner.page.background import Jobs
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.page.waiting import result_of
from planner.planning.practice import practice_plan
from planner.planning.progress import Progress
from planner.planning.stroke_accounts import stroke_accounts
from planner.report import practice_text as text
from planner.report.palette import palette
from planner.report.practice_figures import gains_chart, split_chart, steps_chart, total_alt
from planner.report.practice_json import practice_as_json
from planner.report.words import percent
from planner.strategy.practice_results import Goal, PracticePlan, PracticeRoad, StrokeAccounts

__all__ = ["show_practice"]

KEPT = 128
"""Results of all sessions; each is small."""
NOBODY = "nobody"
RIVALS = (NOBODY, "tour", "scratch", "5", "10", "15", "20")
USUAL_WEEKS = 26


@st.cache_resource(show_spinner=False)
def practice_jobs() -> Jobs:
    """Jobs of all sessions; a reload finds its own again."""
    return Jobs(KEPT)


def show_practice(setup: Setup) -> None:
    """Page of strokes lost and practice."""
    st.markdown(
        "Every hole is solved again with one thing put right at a time: what your mishits, your "
        "spread, your short game and your putting cost, and what practising each would save."
    )
    # What is worked out here must not hang on the aim: parts of a score are of fewest strokes.
    request = replace(setup.request, aim_for="strokes", preview=True)
    lost, road = st.tabs(["Where strokes go", "What to practise"])
    with lost:
        rival = _rival()

        def split(report: Callable[[Progress], None], cancelled: threading.Event) -> StrokeAccounts:
            index = None if rival == NOBODY else reference_index(rival)
            return stroke_accounts(
                request, reference=index, unit=setup.unit, progress=report, cancelled=cancelled
            )

        accounts = result_of(
            practice_jobs(),
            f"{setup.key}/split/{rival}/{setup.unit.value}",
            split,
            start="Take my score apart",
            name="split",
        )
        if accounts is not None:
            _accounts(accounts)
    with road:
        goal, hours = _goal(setup)

        def work(report: Callable[[Progress], None], cancelled: threading.Event) -> PracticePlan:
            return practice_plan(
                request, goal=goal, hours=hours, progress=report, cancelled=cancelled
            )

        plan = result_of(
            practice_jobs(),
            f"{setup.key}/practice/{goal}/{sorted(hours.items())}",
            work,
            start="Work out what to practise",
            name="practice",
        )
        if plan is not None:
            _plan(plan, accounts)


def _rival() -> str:
    chosen = st.selectbox(
        "Compare with",
        RIVALS,
        format_func=_rival_words,
        key="rival",
        bind="query-params",
        filter_mode=None,
    )
    return str(chosen)


def _rival_words(rival: str) -> str:
    if rival == NOBODY:
        return "nobody"
    if rival.isdigit():
        return f"a golfer of index {rival}"
    return "a tour player" if rival == "tour" else "a scratch golfer"


def _goal(setup: Setup) -> tuple[Goal | None, dict[str, float]]:
    par = sum(hole.par for hole in setup.request.course.holes)
    usual = par + round(setup.request.bag.golfer.handicap_index)
    wanted = st.toggle("I have a target score", True, key="has_target")
    goal = None
    if wanted:
        with st.container(horizontal=True):
            target = st.number_input("Target or better", 18, 300, usual, 1, key="target", width=150)
            chance = st.slider("Chance wanted, %", 5, 95, 50, 5, key="chance", width=240)
        with st.container(horizontal=True):
            by = st.date_input(
                "By",
                date.today() + timedelta(weeks=USUAL_WEEKS),
                min_value=date.today() + timedelta(days=1),
                key="by",
                width=150,
            )
            hours = st.slider("Practice, hours a week", 1, 20, 4, key="hours_a_week", width=240)
        if isinstance(by, date):
            goal = Goal(int(target), chance / 100.0, by, float(hours))
    own: dict[str, float] = {}
    with st.expander("Hours that a step takes"):
        st.caption(
            "Assumptions: no study tells them. Put in what you or your coach think; 0 leaves one "
            "out."
        )
        for one in ABILITIES:
            usual_hours = ASSUMED_HOURS[one.key]
            value = st.number_input(
                f"{one.name} ({one.step})", 0.0, 500.0, usual_hours, 5.0, key=f"step/{one.key}"
            )
            if value != usual_hours:
                own[one.key] = float(value)
    return goal, own


def _accounts(accounts: StrokeAccounts) -> None:
    colours = palette(dark=st.context.theme.type == "dark")
    split = accounts.split
    with st.container(horizontal=True, gap="large"):
        st.metric("Expected score", f"{split.whole:.1f}", width="content")
        st.metric("Penalty strokes", f"{accounts.penalties:.2f}", width="content")
    st.altair_chart(
        split_chart(split, colours),
        width="content",
        theme=None,
        key="split_chart",
        alt=total_alt("Strokes lost to", [(part.name, part.share) for part in split.parts]),
    )
    st.caption("Bars: share of each cause. Lines: from what it costs last to what it costs alone.")
    for line in (*text.split_said(split, exact=accounts.exact), text.PENALTIES_SAID):
        st.markdown(plain(line))
    rival = accounts.reference
    if rival is None:
        return
    st.subheader(plain(f"Against {rival.name}, who expects {rival.reference:.1f}"))
    for title, gains in (
        ("By distance to the pin", rival.by_distance),
        ("By club", rival.by_club),
    ):
        st.markdown(f"**{title}**")
        st.altair_chart(
            gains_chart(gains, colours),
            width="content",
            theme=None,
            key=f"gains/{title}",
            alt=total_alt(title, [(gain.name, gain.gained) for gain in gains]),
        )
    st.caption(plain(f"{text.REFERENCE_FORMULA} Sum: {text.signed(rival.total)}."))


def _plan(plan: PracticePlan, accounts: StrokeAccounts | None) -> None:
    colours = palette(dark=st.context.theme.type == "dark")
    if plan.road is not None:
        _road(plan.road)
    st.subheader("What a step of each is worth")
    st.altair_chart(
        steps_chart(plan.steps, colours),
        width="content",
        theme=None,
        key="steps_chart",
        alt=total_alt(
            "Strokes saved in ten hours",
            [(step.name, step.strokes_in_ten_hours) for step in plan.steps],
        ),
    )
    st.table(_steps(plan), border="horizontal", hide_index=True)
    if not plan.own_hours:
        st.caption("Hours are assumptions; put your own in above.")
    content: dict[str, Any] = practice_as_json(plan, accounts)
    st.download_button(
        "Save as JSON",
        json.dumps(content, indent=2, ensure_ascii=False),
        "practice.json",
        "application/json",
        key="save_practice",
        on_click="ignore",
    )


def _steps(plan: PracticePlan) -> Sequence[dict[str, str]]:
    return [
        {
            "Practise": f"**{plain(step.name)}** {plain(step.unit)}",
            "Saves": f"{step.strokes:.2f}",
            "Hours": f"{step.hours:.0f}",
        }
        for step in plan.steps
    ]


def _road(road: PracticeRoad) -> None:
    st.subheader(f"The road to {road.goal.target}")
    with st.container(horizontal=True, gap="large"):
        st.metric("Chance now", percent(road.chance_now), width="content")
        st.metric("Chance then", percent(road.chance_then), width="content")
        st.metric("Hours", f"{road.hours_needed:.0f}", width="content")
    said = " ".join(text.road_said(road))
    (st.success if road.reached else st.warning)(plain(said))
    if road.stages:
        lines = [
            f"{i}. **{plain(stage.name)}**, {stage.steps} "
            f"{'step' if stage.steps == 1 else 'steps'} ({plain(stage.step)}): "
            f"{stage.hours:.0f} hours"
            for i, stage in enumerate(road.stages, start=1)
        ]
        st.markdown("\n".join(lines))
    st.caption(plain(text.search_said(road)))
