"""Target: the best chance of a total as you stand, or of points."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import streamlit as st

from planner.page.background import Jobs
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.page.waiting import result_of
from planner.planning.progress import Progress
from planner.planning.target import maximum_plan, points_plan, target_plan
from planner.report import target_words as words
from planner.report.palette import palette
from planner.report.target_figures import standings_alt, standings_chart
from planner.report.target_json import form_as_json, target_as_json
from planner.report.target_text import PREVIEW_SAID, STAND_SAID
from planner.strategy.target_results import FormPlan, TargetHole, TargetPlan
from planner.units import DistanceUnit

__all__ = ["show_target"]

KEPT = 8
FORMS = {"target": "a total", "stableford": "Stableford points", "maximum": "a maximum score"}
USUAL_OVER_PAR = 3


@st.cache_resource(show_spinner=False)
def target_jobs() -> Jobs:
    """Jobs of all sessions; a reload finds its own again."""
    return Jobs(KEPT)


def show_target(setup: Setup) -> None:
    """Page of playing for a target."""
    st.markdown(
        "Fewest strokes on average is not the best chance of a total: behind, some risks pay; "
        "ahead, the safe side does. Choose the holes you still have to play and the strokes you "
        "may take."
    )
    course = setup.request.course
    refs = [hole.ref for hole in course.holes]
    with st.container(horizontal=True):
        form = st.selectbox(
            "Play for",
            list(FORMS),
            format_func=FORMS.__getitem__,
            key="play_for",
            bind="query-params",
            filter_mode=None,
            width=200,
        )
        first = st.selectbox("From hole", refs, key="from_hole", filter_mode=None, width=120)
        left = course.holes[refs.index(str(first)) :]
        par = sum(hole.par for hole in left)
        number = 0
        if form == "target":
            # Another first hole is another usual target.
            usual = par + round(setup.request.bag.golfer.handicap_index * len(left) / 18)
            number = st.number_input(
                "Target or fewer", len(left), 300, usual, 1, key=f"total/{first}", width=150
            )
        elif form == "maximum":
            number = st.number_input(
                "Counts at most, over par", 1, 10, USUAL_OVER_PAR, 1, key="over_par", width=190
            )
    holes = tuple(hole.ref for hole in left)
    request = replace(setup.request, aim_for="strokes", preview=True, holes=holes)

    def work(
        report: Callable[[Progress], None], cancelled: threading.Event
    ) -> TargetPlan | FormPlan:
        if form == "stableford":
            return points_plan(request, progress=report, cancelled=cancelled)
        if form == "maximum":
            return maximum_plan(request, int(number), progress=report, cancelled=cancelled)
        return target_plan(request, int(number), progress=report, cancelled=cancelled)

    found = result_of(
        target_jobs(),
        f"{setup.key}/target/{form}/{first}/{number}",
        work,
        start="Work it out",
        name="target",
    )
    if isinstance(found, TargetPlan):
        _target(found, setup.unit)
        _save(target_as_json(found))
    elif isinstance(found, FormPlan):
        _form(found, setup.unit)
        _save(form_as_json(found))


def _target(plan: TargetPlan, unit: DistanceUnit) -> None:
    with st.container(horizontal=True, gap="large"):
        st.metric("Fewest strokes", words.chance(plan.chance_planned), width="content")
        st.metric("For the target", words.chance(plan.chance), width="content")
        st.metric("Gain", words.gain(plan.gain), width="content")
    for line in words.target_said(plan):
        st.markdown(plain(line))
    found = words.differences(plan, unit)
    st.subheader("What to play differently")
    if found:
        st.table(_rows(found, unit), border="horizontal", hide_index=True)
        st.caption(plain(STAND_SAID))
    else:
        st.markdown("Nothing is worth playing differently.")
    open_holes = [hole for hole in plan.holes if len(hole.standings) > 1]
    if open_holes:
        _standings(open_holes)
    _notes(plan.notes, words.ACCURACY_SAID, preview=plan.preview)


def _standings(holes: Sequence[TargetHole]) -> None:
    st.subheader("As you stand on a tee")
    by_ref = {hole.ref: hole for hole in holes}
    ref = st.selectbox("Hole", list(by_ref), key="standings_hole", filter_mode=None, width=120)
    hole = by_ref[str(ref)]
    st.altair_chart(
        standings_chart(hole, palette(dark=st.context.theme.type == "dark")),
        width="content",
        theme=None,
        key="standings_chart",
        alt=standings_alt(hole),
    )
    st.caption(
        "Line: best play, points filled where it is not the plan. Dashed: fewest strokes. Bars: "
        "how often you stand so."
    )


def _rows(found: Sequence[words.Difference], unit: DistanceUnit) -> list[dict[str, str]]:
    return [
        {
            "Hole": f"**{plain(one.hole)}**, {one.left} to play",
            "You stand": one.stand,
            "From": plain(one.where),
            "Play": _choice(one.best, unit, words.apart(one.best, one.planned, unit)),
            "Not": _choice(one.planned, unit),
        }
        for one in found
    ]


def _choice(choice: words.Choice, unit: DistanceUnit, apart: str = "") -> str:
    aim = words.aim_of(choice)
    swing = plain(words.swing_of(choice, unit))
    return f"**{swing}**{': ' + plain(aim) if aim else ''}{apart} ({words.chance(choice.worth)})"


def _form(plan: FormPlan, unit: DistanceUnit) -> None:
    st.markdown(plain(words.form_said(plan)))
    sign = -1.0 if plan.unit == "strokes" else 1.0
    rows = [
        {
            "Hole": f"**{plain(hole.ref)}**, par {hole.par}",
            "Fewest strokes": f"{sign * hole.worth_planned:.2f}",
            f"For {plan.unit}": f"{sign * hole.worth:.2f}",
            "On the tee": plain(words.swing_of(hole.best if hole.differs else hole.planned, unit)),
            "Not": plain(words.swing_of(hole.planned, unit)) if hole.differs else "",
        }
        for hole in plan.holes
    ]
    st.table(rows, border="horizontal", hide_index=True)
    _notes(plan.notes, preview=plan.preview)


def _notes(notes: Sequence[str], *more: str, preview: bool) -> None:
    said = [*more, *notes, *([PREVIEW_SAID.split(" --fine")[0]] if preview else [])]
    st.caption("  \n".join(plain(line) for line in said))


def _save(content: dict[str, Any]) -> None:
    st.download_button(
        "Save as JSON",
        json.dumps(content, indent=2, ensure_ascii=False),
        "target.json",
        "application/json",
        key="save_target",
        on_click="ignore",
    )
