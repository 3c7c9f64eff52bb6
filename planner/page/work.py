"""The threads on which the page computes, shared fairly by everybody who uses it."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, wait
from typing import Any, TypeVar

import streamlit as st

from planner.page.access import turn_name
from planner.planning.fair_pool import FairPool

__all__ = ["computing", "in_turn", "result_when_done"]

POLL_S = 0.25
Result = TypeVar("Result")


@st.cache_resource(show_spinner=False)
def computing() -> FairPool:
    """Threads of the whole server."""
    return FairPool()


def in_turn(call: Callable[..., Result], /, *arguments: Any) -> Result:
    """Call something short on the shared threads, in the turn of whoever is there.

    Reading a large file keeps a core busy for seconds: so do as many at once as there are threads,
    however many tabs one person has.

    Raises
    ------
    BusyError
        Too much is waiting.
    """
    future: Future[Result] = computing().submit(turn_name(), call, *arguments)
    return future.result()


def result_when_done(future: Future[Result]) -> Result:
    """Wait for a result and say how many are before; raises what the work raised.

    What is written meanwhile ends this run of the script when its visitor has gone on or away.
    """
    wait([future], POLL_S)
    if not future.done():
        place = st.empty()
        while not future.done():
            place.caption(_words(computing().ahead(future)))
            wait([future], POLL_S)
        place.empty()
    return future.result()


def _words(ahead: int | None) -> str:
    if not ahead:
        return "Computing." if ahead is None else "Next to be computed."
    return f"Waiting for {'another calculation' if ahead == 1 else f'{ahead} others'}."
