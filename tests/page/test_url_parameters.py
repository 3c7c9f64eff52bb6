"""Whatever stands in the page's address, the page is shown or says what is missing."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from streamlit.testing.v1 import AppTest

from planner.demo_data import app_file

NAMES = st.one_of(
    st.sampled_from(
        [
            *("course", "bag", "tee", "hole", "units", "aim", "give_up", "wind", "wind_mph"),
            *("wind_mps", "celsius", "turf", "rival", "clubs", "altitude", "e5", "page"),
        ]
    ),
    st.text(min_size=1, max_size=8),
)
VALUES = st.one_of(
    st.sampled_from(
        [
            *("", "own", "My own map …", "My own bag …", "yards", "penalties", "Pebblecote"),
            *("nan", "inf", "-1", "1e400", "9" * 400, "0x10", "½", "../../etc/passwd"),
            *("<script>alert(1)</script>", "=1+1", "\x00", "\u202e", "é" * 300, "NW", "true"),
        ]
    ),
    st.text(max_size=20),
    st.integers().map(str),
    st.floats().map(str),
)
PARAMETERS = st.dictionaries(
    NAMES, st.one_of(VALUES, st.lists(VALUES, min_size=1, max_size=3)), min_size=1, max_size=8
)


@pytest.mark.usefixtures("quick")
def test_any_parameters() -> None:
    shown = 0

    @given(parameters=PARAMETERS)
    @settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
    def check(parameters: dict[str, Any]) -> None:
        nonlocal shown
        page = AppTest.from_file(str(app_file()), default_timeout=60)
        for name, value in parameters.items():
            page.query_params[name] = value
        page.run()
        assert not page.exception, parameters
        assert page.metric or page.info or page.error, "neither an answer nor what is missing"
        shown += bool(page.metric)

    check()
    assert shown > 0
