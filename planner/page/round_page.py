"""The whole round: planned in the background, then every hole in one table with totals."""

from __future__ import annotations

import json

import streamlit as st

from planner.errors import BusyError, PlannerError
from planner.page.access import turn_name
from planner.page.kept_plans import (
    keep_plan_button,
    opened_plan,
    plan_content,
    show_kept_plans,
)
from planner.page.paper_buttons import paper_buttons
from planner.page.plain import plain
from planner.page.score_part import score_part
from planner.page.setup import Setup
from planner.page.solving import RoundJob, round_jobs, round_key
from planner.page.tables import round_table, tee_shot_lines
from planner.report import words
from planner.strategy.advice import RoundPlan
from planner.strategy.solution import Cancelled

__all__ = ["show_round"]

POLL = "0.5s"
_BUSY = "round_busy"


def show_round(setup: Setup) -> None:
    """Page of the round."""
    job = round_jobs().find(round_key(setup))
    if job is None and opened_plan():
        _start(setup)
        job = round_jobs().find(round_key(setup))
    if job is None:
        st.markdown(f"Plan all {_hole_count(setup)} holes with this bag in these conditions.")
        _start_button(setup)
    elif not job.future.done() and not job.cancelled.is_set():
        _waiting(setup)
    else:
        _ended(job, setup)
    show_kept_plans(setup)


def _hole_count(setup: Setup) -> int:
    return len(setup.request.course.holes)


def _start_button(setup: Setup) -> None:
    if busy := st.session_state.pop(_BUSY, None):
        st.warning(plain(f"Not started: {busy}"))
    st.button("Plan the round", type="primary", key="plan_round", on_click=_start, args=(setup,))


def _start(setup: Setup) -> None:
    try:
        round_jobs().start(round_key(setup), setup.request, turn_name())
    except BusyError as error:
        st.session_state[_BUSY] = str(error)


def _stop(key: str) -> None:
    round_jobs().stop(key)


def _forget(key: str) -> None:
    round_jobs().forget(key)


@st.fragment(run_every=POLL)
def _waiting(setup: Setup) -> None:
    """Progress of a running job and its solved holes; reruns the page once it has ended."""
    job = round_jobs().find(round_key(setup))
    if job is None or job.future.done() or job.cancelled.is_set():
        st.rerun()
    progress = job.progress
    share = progress.done / max(progress.total, 1)
    text = f"{progress.done} of {progress.total} holes · {plain(progress.text)}"
    st.progress(min(share, 1.0), text=text)
    st.caption("You can look at single holes meanwhile; a reload does not stop the planning.")
    st.button("Stop", key="stop_round", on_click=_stop, args=(round_key(setup),))
    _partial(job, setup)


def _ended(job: RoundJob, setup: Setup) -> None:
    fault = job.future.exception() if job.future.done() else Cancelled()
    if fault is None:
        _whole(job.future.result(), setup)
    elif isinstance(fault, Cancelled):
        st.info(
            f"Stopped with {len(job.solved)} of {_hole_count(setup)} holes solved. Planning again "
            "starts from the first hole."
        )
        _start_button(setup)
        _partial(job, setup)
    elif isinstance(fault, PlannerError):
        st.error(f"The round cannot be planned: {plain(str(fault))}")
        st.button("Try again", key="again", on_click=_forget, args=(round_key(setup),))
        _partial(job, setup)
    else:
        # A fault of the program: the same job must not fail for ever.
        round_jobs().forget(round_key(setup))
        raise fault


def _partial(job: RoundJob, setup: Setup) -> None:
    """Holes solved so far, in the order in which they are played."""
    if not job.solved:
        return
    order = {hole.ref: number for number, hole in enumerate(setup.request.course.holes)}
    plans = sorted(job.solved, key=lambda plan: order[plan.hole.ref])
    st.markdown(
        f"**Partial plan: {len(plans)} of {_hole_count(setup)} holes.** Totals are over these only."
    )
    st.table(round_table(plans, setup.unit, partial=True), border="horizontal", hide_index=True)
    with st.expander("Where to aim from every tee"):
        st.markdown(tee_shot_lines(plans, setup.unit))


def _whole(plan: RoundPlan, setup: Setup) -> None:
    with st.container(horizontal=True, gap="large"):
        st.metric("Par", plan.par, width="content")
        st.metric("Expected strokes", words.strokes(plan.expected_strokes), width="content")
        st.metric("Penalty strokes", words.strokes(plan.expected_penalties), width="content")
    st.table(round_table(plan.holes, setup.unit), border="horizontal", hide_index=True)
    with st.expander("Where to aim from every tee"):
        st.markdown(tee_shot_lines(plan.holes, setup.unit))
    st.subheader("To take along")
    paper_buttons(plan, setup.unit)
    with st.container(horizontal=True, gap="small"):
        keep_plan_button(plan, setup)
        st.download_button(
            "Save the plan as JSON",
            json.dumps(plan_content(plan, setup), indent=2, ensure_ascii=False),
            f"{setup.map_report.course.name if setup.map_report.course else 'plan'}.json",
            "application/json",
            on_click="ignore",
        )
    if plan.scores:
        score_part(plan)
    if plan.notes:
        with st.expander(f"What was assumed ({len(plan.notes)})"):
            st.markdown("\n".join(f"- {plain(note)}" for note in plan.notes))
