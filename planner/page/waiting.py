"""Showing long work: a bar while it runs, its fault if it failed, or its result."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from planner.errors import PlannerError
from planner.page.access import owner
from planner.page.background import Jobs, Work
from planner.page.plain import plain
from planner.planning.progress import Progress
from planner.strategy.solution import Cancelled

__all__ = ["drop_button", "result_of"]

POLL = "0.5s"


def result_of(
    jobs: Jobs,
    key: str,
    work: Work,
    *,
    start: str,
    name: str,
    finish: str = "",
    show: Callable[[Progress], None] | None = None,
) -> Any | None:
    """Result of the job of ``key``; None while there is none, and then what can be done is shown.

    Parameters
    ----------
    start
        Words on the button that starts it.
    name
        Prefix of the widgets' keys.
    finish
        Words on a button that ends the work with the best so far; none without them.
    show
        Shows more of the progress than the bar does.
    """
    # Nobody finds or stops the work of another.
    key = f"{owner()}/{key}"
    job = jobs.find(key)
    if job is None:
        st.button(start, type="primary", key=f"{name}_start", on_click=jobs.start, args=(key, work))
        return None
    if not job.ended:
        _bar(jobs, key, name, finish, show)
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
def _bar(
    jobs: Jobs, key: str, name: str, finish: str, show: Callable[[Progress], None] | None
) -> None:
    job = jobs.find(key)
    if job is None or job.ended:
        st.rerun()
    progress = job.progress
    share = progress.done / max(progress.total, 1)
    text = plain(progress.text)
    if progress.total:
        text = f"{progress.done} of {progress.total} · {text}"
    if job.finishing:
        text = "finishing with what was found"
    st.progress(min(share, 1.0), text=text)
    if show is not None:
        show(progress)
    st.caption("A reload does not stop this; other pages can be used meanwhile.")
    with st.container(horizontal=True):
        if finish:
            st.button(
                finish,
                key=f"{name}_finish",
                disabled=job.finishing,
                on_click=jobs.finish,
                args=(key,),
            )
        st.button("Stop", key=f"{name}_stop", on_click=jobs.stop, args=(key,))


def drop_button(jobs: Jobs, key: str, label: str, *, name: str) -> None:
    """Button that forgets the result of ``key``, so that it can be worked out anew."""
    st.button(label, key=f"{name}_drop", on_click=jobs.stop, args=(f"{owner()}/{key}",))
