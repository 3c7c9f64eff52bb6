"""Showing long work: a bar while it runs, its fault if it failed, or its result."""

from __future__ import annotations

from typing import Any

import streamlit as st

from planner.errors import PlannerError
from planner.page.access import owner
from planner.page.background import Jobs, Work
from planner.page.plain import plain
from planner.strategy.solution import Cancelled

__all__ = ["result_of"]

POLL = "0.5s"


def result_of(jobs: Jobs, key: str, work: Work, *, start: str, name: str) -> Any | None:
    """Result of the job of ``key``; None while there is none, and then what can be done is shown.

    Parameters
    ----------
    start
        Words on the button that starts it.
    name
        Prefix of the widgets' keys.
    """
    # Nobody finds or stops the work of another.
    key = f"{owner()}/{key}"
    job = jobs.find(key)
    if job is None:
        st.button(start, type="primary", key=f"{name}_start", on_click=jobs.start, args=(key, work))
        return None
    if not job.ended:
        _bar(jobs, key, name)
        return None
    fault = job.future.exception() if job.future.done() else Cancelled()
    if fault is None:
        return job.future.result()
    if isinstance(fault, PlannerError):
        st.error(plain(str(fault)))
        st.button("Try again", key=f"{name}_again", on_click=jobs.stop, args=(key,))
        return None
    # Stopped by newer work, or a fault of the program: the same job must not fail for ever.
    jobs.stop(key)
    if not isinstance(fault, Cancelled):
        raise fault
    st.rerun()


@st.fragment(run_every=POLL)
def _bar(jobs: Jobs, key: str, name: str) -> None:
    job = jobs.find(key)
    if job is None or job.ended:
        st.rerun()
    progress = job.progress
    share = progress.done / max(progress.total, 1)
    text = f"{progress.done} of {progress.total} · {plain(progress.text)}"
    st.progress(min(share, 1.0), text=text)
    st.caption("A reload does not stop this; other pages can be used meanwhile.")
    st.button("Stop", key=f"{name}_stop", on_click=jobs.stop, args=(key,))
