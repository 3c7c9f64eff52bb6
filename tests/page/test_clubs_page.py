"""The page of clubs: count, overlaps, charts, table."""

from __future__ import annotations

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash


@pytest.fixture
def clubs(page: AppTest) -> AppTest:
    page.run()
    page._page_hash = calc_hash("clubs")
    page.run()
    assert not page.exception
    return page


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.warning]
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def test_count_gapping_and_every_club_are_shown(clubs):
    said = shown(clubs)
    assert "Rule 4.1b" in said
    assert "do one job" in said or "No two neighbours" in said
    names = clubs.selectbox(key="clubs_shown").options
    table = clubs.table[0].value.to_dict("records")
    assert [row["Club"].replace("\\", "") for row in table] == names
    assert {"Carry", "90 %", "Spread", "Mishits", "Pattern", "Outcarried"} <= set(table[0])
    assert len(clubs.get("vega_lite_chart")) == 2


def test_another_club_and_the_candidates_may_be_looked_at(clubs):
    before = clubs.selectbox(key="clubs_shown").options
    clubs.selectbox(key="clubs_shown").set_value(before[-1]).run()
    clubs.toggle(key="clubs_candidates").set_value(True).run()
    assert not clubs.exception
    assert len(clubs.selectbox(key="clubs_shown").options) > len(before)
