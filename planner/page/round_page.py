"""The whole round: planned in the background, then every hole in one table with totals."""

from __future__ import annotations

import json

import streamlit as st

from planner.errors import PlannerError
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.page.solving import RoundJob, round_jobs
from planner.page.tables import round_table, tee_shot_lines
from planner.report import words
from planner.report.cautions import CAUTIONS
from planner.report.plan_json import plan_as_json
from planner.strategy.advice import RoundPlan

__all__ = ["show_round"]

POLL = "0.5s"


def show_round(setup: Setup) -> None:
    """Page of the round."""
    job = round_jobs().find(setup.key)
    if job is None:
        holes = len(setup.request.course.holes)
        st.markdown(f"Plan all {holes} holes with this bag in these conditions.")
        st.button(
            "Plan the round", type="primary", key="plan_round", on_click=_start, args=(setup,)
        )
    elif not job.future.done():
        _waiting(setup.key)
    else:
        _result(job, setup)


def _start(setup: Setup) -> None:
    round_jobs().start(setup.key, setup.request)


def _cancel(key: str) -> None:
    round_jobs().forget(key)


@st.fragment(run_every=POLL)
def _waiting(key: str) -> None:
    """Progress of a running job; reruns the page once it has ended."""
    job = round_jobs().find(key)
    if job is None or job.future.done():
        st.rerun()
    progress = job.progress
    share = progress.done / max(progress.total, 1)
    text = f"{progress.done} of {progress.total} holes · {plain(progress.text)}"
    st.progress(min(share, 1.0), text=text)
    st.caption("You can look at single holes meanwhile; a reload does not stop the planning.")
    st.button("Stop", key="stop_round", on_click=_cancel, args=(key,))


def _result(job: RoundJob, setup: Setup) -> None:
    fault = job.future.exception()
    if isinstance(fault, PlannerError):
        st.error(f"The round cannot be planned: {plain(str(fault))}")
        st.button("Try again", key="again", on_click=_cancel, args=(setup.key,))
        return
    if fault is not None:
        # A fault of the program: the same job must not fail for ever.
        round_jobs().forget(setup.key)
    _table(job.future.result(), setup)


def _table(plan: RoundPlan, setup: Setup) -> None:
    with st.container(horizontal=True, gap="large"):
        st.metric("Par", plan.par, width="content")
        st.metric("Expected strokes", words.strokes(plan.expected_strokes), width="content")
        st.metric("Penalty strokes", words.strokes(plan.expected_penalties), width="content")
    st.table(round_table(plan.holes, setup.unit), border="horizontal", hide_index=True)
    with st.expander("Where to aim from every tee"):
        st.markdown(tee_shot_lines(plan.holes, setup.unit))
    content = {**plan_as_json(plan), "cautions": list(CAUTIONS)}
    st.download_button(
        "Save the plan as JSON",
        json.dumps(content, indent=2, ensure_ascii=False),
        f"{setup.map_report.course.name if setup.map_report.course else 'plan'}.json",
        "application/json",
        on_click="ignore",
    )
    if plan.notes:
        with st.expander(f"What was assumed ({len(plan.notes)})"):
            st.markdown("\n".join(f"- {plain(note)}" for note in plan.notes))
