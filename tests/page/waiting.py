"""Waiting for work in the background of a page."""

from __future__ import annotations

import time
from collections.abc import Callable

from streamlit.testing.v1 import AppTest

MOST_RUNS, PAUSE_S = 60, 0.05


def until(page: AppTest, there: Callable[[AppTest], bool]) -> AppTest:
    """Run the page again until work in the background has ended."""
    for _ in range(MOST_RUNS):
        page.run()
        assert not page.exception
        if there(page):
            return page
        time.sleep(PAUSE_S)
    raise AssertionError(f"the work did not end: {[str(one.value) for one in page.markdown]}")
