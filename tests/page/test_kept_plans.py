"""Plans kept by name, opened on another day, and addresses that are shared."""

from __future__ import annotations

import json
from types import ModuleType
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.demo_data import app_file
from planner.page import kept_plans as part
from planner.page import solving
from planner.page.choices import NUMBERS
from planner.planning.saved_work import kept_plans
from planner.store.opening import open_store


def visit(at: str = "round", **address: str) -> AppTest:
    page = AppTest.from_file(str(app_file()), default_timeout=60)
    page.query_params.update(address)
    if at != "hole":
        page._page_hash = calc_hash(at)
    page.run()
    assert not page.exception
    return page


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.info, *page.warning]
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def planned(page: AppTest) -> AppTest:
    page.button(key="plan_round").click().run()
    (job,) = solving.round_jobs()._jobs.values()
    job.future.result(60)
    page.run()
    assert not page.exception
    return page


@pytest.fixture
def content(quick: ModuleType, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    def as_json(plan: Any) -> dict[str, Any]:
        return {
            "format": 1,
            "key": "0123456789abcdef",
            "course": plan.course,
            "golfer": plan.golfer,
            "tee": plan.tee,
            "expected_strokes": 88.5,
            "holes": [],
        }

    monkeypatch.setattr(part, "plan_as_json", as_json)
    return quick


CHANGED = {
    "tee": "yellow",
    "units": "yards",
    "wind": "SW",
    "wind_mph": 21,
    "celsius": 4,
    "turf": "firm",
    "aim": "penalties",
    "give_up": 0.25,
    "green_speed": 11.5,
    "e5": True,
    "altitude_ft": 1500,
}


def change(page: AppTest) -> None:
    page.selectbox(key="bag").set_value("bram_oskel").run()
    for key, value in CHANGED.items():
        page.session_state[key] = value
        page.run()
    clubs = next(one for one in page.multiselect if str(one.key).startswith("clubs/"))
    clubs.set_value(clubs.value[:-2]).run()
    assert not page.exception


def chosen(page: AppTest) -> dict[str, Any]:
    clubs = next(one for one in page.multiselect if str(one.key).startswith("clubs/"))
    state = page.session_state
    found = {key: state[key] for key in CHANGED if key in state}
    return {**found, "bag": page.session_state["bag"], "clubs": clubs.value}


def test_a_plan_is_kept_by_name_and_opened_on_another_day(content: ModuleType) -> None:
    page = visit()
    change(page)
    before = chosen(page)
    assert before | CHANGED == before
    planned(page)
    page.text_input(key="plan_name").set_value("Saturday")
    page.button(key="plan_keep").click().run()
    assert any("Kept as Saturday" in one.value for one in page.toast)
    solving.round_jobs.clear()
    later = visit()
    assert chosen(later) != before
    assert any("Saturday" in one for one in later.selectbox(key="kept_plan").options)
    later.button(key="plan_open").click().run()
    assert not later.exception
    assert "Opened: Saturday, 88.50 strokes then" in shown(later)
    assert chosen(later) == before
    # It is planned again without asking.
    assert len(solving.round_jobs()._jobs) == 1
    later.button(key="plan_delete").click().run()
    assert not later.exception
    with open_store() as store:
        assert kept_plans(store) == []
    visit("help").button(key="kept_undo").click().run()
    with open_store() as store:
        assert [one.name for one in kept_plans(store)] == ["Saturday"]


def test_what_is_not_here_any_more_is_said(content: ModuleType) -> None:
    page = planned(visit())
    page.button(key="plan_keep").click().run()
    with open_store() as store, store.writing() as work:
        row = work.connection.exec_driver_sql("SELECT text FROM plan").scalar_one()
        kept = json.loads(row)
        kept["page"] |= {"bag": "mine-gone", "celsius": 900, "wind": ["x"], "tee": "no such"}
        text = json.dumps(kept)
        work.connection.exec_driver_sql("UPDATE plan SET text = ?", (text,))
    later = visit()
    later.button(key="plan_open").click().run()
    assert not later.exception
    assert "Not here any more: the bag" in shown(later)


def test_a_plan_of_the_command_line_is_not_opened(content: ModuleType) -> None:
    page = planned(visit())
    page.button(key="plan_keep").click().run()
    with open_store() as store, store.writing() as work:
        work.connection.exec_driver_sql("UPDATE plan SET text = '[]'")
    later = visit()
    later.button(key="plan_open").click().run()
    assert not later.exception
    assert "was not made on this page" in shown(later)


def test_an_address_gives_somebody_else_the_same_choices(content: ModuleType) -> None:
    page = visit("hole")
    change(page)
    # The browser writes what is bound; the clubs are written here.
    address = {key: str(value) for key, value in CHANGED.items()} | {"bag": "Bram Oskel"}
    address["clubs"] = "".join(page.query_params["clubs"])
    assert chosen(visit("hole", **address)) == chosen(page)
    for odd in ("99", "0", "x", "1--", "\u00b2"):
        assert "clubs chosen" not in shown(visit("hole", clubs=odd)) or odd == "1--"


def test_limits_are_those_of_the_widgets(content: ModuleType) -> None:
    page = visit("hole")
    change(page)
    metric = visit("hole", wind="SW")
    for key, limits in NUMBERS.items():
        slider = (metric if key in ("wind_mps", "altitude_m") else page).slider(key=key)
        assert (slider.min, slider.max) == limits
