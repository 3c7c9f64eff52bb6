"""The page as Streamlit's own test runner sees it, with a quick stand-in for the solver."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from types import ModuleType
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.ball.conditions import Conditions
from planner.demo_data import app_file, demo_folder
from planner.errors import SolveError
from planner.golfer.bag import CLUB_LIMIT
from planner.planning import hole_desk
from planner.strategy.solution import Cancelled


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.info, *page.warning]
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def widget(page: AppTest, kind: str, start: str) -> Any:
    return next(w for w in getattr(page, kind) if w.key and w.key.startswith(start))


def metrics(page: AppTest) -> dict[str, str]:
    return {metric.label: metric.value.replace("\u00a0", " ") for metric in page.metric}


def go(page: AppTest, url: str) -> AppTest:
    """Open a part of the page; the runner's own way knows only pages that are files."""
    page._page_hash = calc_hash(url)
    return page.run()


def wait_for(page: AppTest, is_there: Any) -> None:
    for _ in range(100):
        if is_there():
            return
        time.sleep(0.1)
        page.run()
    pytest.fail(f"the page never came to that; it says: {shown(page)}")


def test_first_screen_answers_without_any_input(page: AppTest) -> None:
    page.run()
    assert not page.exception
    assert page.selectbox(key="hole").value == "1"
    text = shown(page)
    assert "### Driver, carries 205 m" in text
    assert "Aim:" in text
    assert "Next best: 3 wood" in text
    assert set(metrics(page)) == {"Expected strokes", "Penalty strokes", "Usual leave"}


def test_cautions_and_attribution_are_on_every_page(page: AppTest) -> None:
    page.run()
    for url in ("", "round", "help"):
        go(page, url)
        assert not page.exception
        text = shown(page)
        assert "Rule 4.3a" in text
        assert "Lightning" in text
        assert "Map: Invented course, drawn for this project" in text


def test_next_and_previous_go_round_the_course(page: AppTest) -> None:
    page.run()
    page.button(key="next").click().run()
    assert page.selectbox(key="hole").value == "2"
    assert "Hole 2, The Larches" in shown(page)
    page.button(key="previous").click().run()
    page.button(key="previous").click().run()
    assert page.selectbox(key="hole").value == "18"


def test_another_club_and_another_aim_change_the_numbers(page: AppTest) -> None:
    page.run()
    first = metrics(page)
    widget(page, "selectbox", "club/").select_index(2).run()
    club = metrics(page)
    assert club != first
    assert "You try: 5 iron" in shown(page)
    widget(page, "slider", "offset/").set_value(30).run()
    aimed = metrics(page)
    assert float(aimed["Expected strokes"]) > float(club["Expected strokes"])
    assert "strokes against the best" in shown(page)


def test_another_hole_forgets_the_choice_of_the_last_one(page: AppTest) -> None:
    page.run()
    widget(page, "selectbox", "club/").select_index(2).run()
    widget(page, "slider", "offset/").set_value(30).run()
    page.button(key="next").click().run()
    assert widget(page, "selectbox", "club/").index == 0
    assert widget(page, "slider", "offset/").value == 0
    assert "You try" not in shown(page)


def test_the_shot_after_the_tee_shot(page: AppTest) -> None:
    page.run()
    tee = metrics(page)
    widget(page, "button_group", "place/").set_value("A").run()
    assert not page.exception
    assert metrics(page) != tee


def test_units_change_every_number_and_nothing_else(page: AppTest) -> None:
    page.run()
    metres = metrics(page)
    page.button_group(key="units").set_value("yards").run()
    yards = metrics(page)
    assert yards["Expected strokes"] == metres["Expected strokes"]
    in_metres = float(metres["Usual leave"].split()[0])
    assert yards["Usual leave"].endswith("yd")
    assert float(yards["Usual leave"].split()[0]) == pytest.approx(in_metres / 0.9144, abs=1.1)
    assert "224 yd" in shown(page)
    assert not re.search(r"\d m\b", shown(page))


def test_an_address_gives_the_same_as_choosing(page: AppTest) -> None:
    page.run()
    page.selectbox(key="course").set_value("pebblecote").run()
    page.selectbox(key="bag").set_value("wren_halvard").run()
    page.selectbox(key="hole").set_value("4").run()
    page.button_group(key="units").set_value("yards").run()
    text = shown(page)
    again = AppTest.from_file(str(app_file()), default_timeout=60)
    # The tees are those that are usual for the bag: an address leaves them out.
    for name, value in {
        "course": "Pebblecote Short Course",
        "bag": "Wren Halvard",
        "hole": "4",
        "units": "yards",
    }.items():
        again.query_params[name] = value
    again.run()
    assert shown(again) == text
    assert "Wren Halvard" in text
    assert "Hole 4" in text


def test_an_unknown_address_shows_the_default(page: AppTest) -> None:
    page.query_params["hole"] = "99"
    page.query_params["course"] = "Nowhere"
    page.query_params["tee"] = "plaid"
    page.run()
    assert not page.exception
    assert page.selectbox(key="hole").value == "1"


def test_another_course_leaves_nothing_of_the_last_one(page: AppTest) -> None:
    page.run()
    page.selectbox(key="hole").set_value("17").run()
    assert "Old Trenches" in shown(page)
    page.selectbox(key="course").set_value("pebblecote").run()
    assert not page.exception
    text = shown(page)
    assert "Pebblecote" in text
    assert "Tarrowick" not in text
    assert page.selectbox(key="hole").value in [str(i) for i in range(1, 10)]


def test_a_demo_golfer_goes_to_his_own_tees(page: AppTest) -> None:
    page.run()
    page.selectbox(key="bag").set_value("bram_oskel").run()
    assert page.selectbox(key="tee").value == "yellow"
    assert "yellow tees" in shown(page)


def test_wind_reaches_the_plan(page: AppTest, quick: ModuleType, monkeypatch: Any) -> None:
    asked: list[Any] = []

    def open_hole(request: Any, ref: str, **options: Any) -> Any:
        asked.append(request)
        return quick.open_hole(request, ref, **options)

    monkeypatch.setattr("planner.page.solving.open_hole", open_hole)
    page.run()
    page.selectbox(key="wind").set_value("SW").run()
    page.slider(key="wind_mps").set_value(7).run()
    page.slider(key="celsius").set_value(22).run()
    conditions = asked[-1].conditions
    assert conditions.wind_from == pytest.approx(3.926990817)
    assert conditions.wind_speed == 7.0
    assert conditions.temperature_c == 22.0
    assert "wind 7 m/s from SW" in shown(page)
    solved = len(asked)
    page.slider(key="celsius").set_value(15).run()
    page.slider(key="celsius").set_value(22).run()
    assert len(asked) == solved, "the same question must not be solved twice"


def test_the_rarer_choices_reach_the_plan(
    page: AppTest, quick: ModuleType, monkeypatch: Any
) -> None:
    asked: list[Any] = []

    def open_hole(request: Any, ref: str, **options: Any) -> Any:
        asked.append(request)
        return quick.open_hole(request, ref, **options)

    monkeypatch.setattr("planner.page.solving.open_hole", open_hole)
    page.run()
    usual = asked[-1]
    assert usual.clubs is None
    assert usual.conditions == Conditions()
    assert not usual.local_rule_e5
    page.slider(key="altitude_m").set_value(1500).run()
    page.slider(key="green_speed").set_value(11.5).run()
    page.checkbox(key="e5").check().run()
    request = asked[-1]
    assert request.conditions == Conditions(altitude_m=1500.0, green_speed_ft=11.5)
    assert request.local_rule_e5
    text = shown(page)
    assert "1500 m above the sea" in text
    assert "Local Rule E-5" in text


def test_clubs_to_carry(page: AppTest, quick: ModuleType, monkeypatch: Any) -> None:
    asked: list[Any] = []

    def open_hole(request: Any, ref: str, **options: Any) -> Any:
        asked.append(request)
        return quick.open_hole(request, ref, **options)

    monkeypatch.setattr("planner.page.solving.open_hole", open_hole)
    page.run()
    bag = asked[-1].bag
    clubs = widget(page, "multiselect", "clubs/")
    carried = [club.label for club in bag.carried()]
    assert clubs.value == carried
    assert clubs.proto.max_selections == CLUB_LIMIT
    assert f"{len(carried)} of at most {CLUB_LIMIT} clubs" in shown(page)
    # In the order of the bag, however they were picked.
    clubs.unselect("3 wood").select("9 wood").run()
    chosen = asked[-1].clubs
    assert set(chosen) == {*carried, "9 wood"} - {"3 wood"}
    assert list(chosen) == [club.label for club in bag.clubs if club.label in chosen]
    assert f"{len(carried)} clubs chosen" in shown(page)
    # Back again is the same question as at first.
    solved = len(asked)
    widget(page, "multiselect", "clubs/").unselect("9 wood").select("3 wood").run()
    assert len(asked) == solved
    # Another golfer's clubs are his own.
    page.selectbox(key="bag").set_value("bram_oskel").run()
    assert asked[-1].clubs is None
    assert not page.exception


def test_a_bag_without_clubs_to_hit_is_said(page: AppTest, monkeypatch: Any) -> None:
    page.run()
    # The real one this time: it refuses before it solves anything.
    monkeypatch.setattr("planner.page.solving.open_hole", hole_desk.open_hole)
    for chosen in (["Putter"], []):
        widget(page, "multiselect", "clubs/").set_value(chosen).run()
        assert not page.exception
        assert "no club but a putter" in shown(page)
        assert not page.metric


def test_an_own_map_and_bag(page: AppTest) -> None:
    page.run()
    page.selectbox(key="course").set_value("own").run()
    assert "Upload your map" in shown(page)
    assert not page.metric
    content = (demo_folder() / "mossquern.osm").read_bytes()
    page.file_uploader(key="map_upload").set_value(("common.osm", content, "text/xml")).run()
    assert not page.exception
    assert "Mossquern" in shown(page)
    page.selectbox(key="bag").set_value("own").run()
    assert "Upload your bag" in shown(page)
    bag = (demo_folder() / "bags" / "tobias_fennimark.toml").read_bytes()
    page.file_uploader(key="bag_upload").set_value(("mine.toml", bag, "text/plain")).run()
    assert not page.exception
    assert "Tobias Fennimark" in shown(page)
    assert page.metric


def test_a_bad_map_says_what_to_mend(page: AppTest) -> None:
    page.run()
    page.selectbox(key="course").set_value("own").run()
    for content in (b"", b"not a map", b'{"type": "FeatureCollection", "features": []}', b"<osm"):
        upload = page.file_uploader(key="map_upload")
        upload.set_value(("club <b>map</b>.geojson", content, "application/json")).run()
        assert not page.exception
        assert "cannot be used yet" in shown(page)
        assert "/tmp" not in shown(page)
        assert not page.metric


def test_a_bad_bag_lists_every_problem(page: AppTest) -> None:
    page.run()
    page.selectbox(key="bag").set_value("own").run()
    content = b"""
format = 1
[[club]]
label = "Driver"
kind = "drver"
loft_deg = 10
[[club]]
kind = "iron"
loft_deg = 900
"""
    upload = page.file_uploader(key="bag_upload")
    upload.set_value(("mine.toml", content, "text/plain")).run()
    assert not page.exception
    text = shown(page)
    assert "mine.toml" in text
    assert "drver" in text
    assert "label" in text
    assert "900" in text


def test_a_hole_that_cannot_be_solved_is_said(page: AppTest, monkeypatch: Any) -> None:
    def open_hole(*_: Any, **__: Any) -> Any:
        raise SolveError("hole 1: some places have no playable shot")

    monkeypatch.setattr("planner.page.solving.open_hole", open_hole)
    page.run()
    assert not page.exception
    assert "no playable shot" in shown(page)
    assert not page.metric


def test_names_of_a_map_are_never_markup(page: AppTest) -> None:
    page.run()
    raw = "\n".join(str(part.value) for part in page.markdown)
    assert "the \\*" in raw
    assert "half \\[of\\]" in raw


def test_the_round_is_planned_in_the_background(page: AppTest) -> None:
    go(page, "round")
    assert not page.exception
    page.button(key="plan_round").click().run()
    wait_for(page, lambda: page.table and len(page.table[0].value) == 18 + 3)
    assert not page.exception
    rows = page.table[0].value
    total = sum(float(cell) for cell in rows["Strokes"] if "*" not in cell)
    assert float(rows["Strokes"].iloc[-1].strip("*")) == pytest.approx(total, abs=0.1)
    assert metrics(page)["Par"] == "72"


def test_the_chances_of_the_total_follow_target_and_form(page: AppTest) -> None:
    go(page, "round")
    page.button(key="plan_round").click().run()
    wait_for(page, lambda: "Breaks 100" in metrics(page))
    # Every hole: birdie 5 %, par 35 %, bogey 40 %, double 15 %, worse 5 %.
    text = "\n".join(str(part.value) for part in page.markdown).replace("\\", "")
    assert "86.4 strokes on average, 14.4 over par 72." in text
    assert "birdie or better 0.9, par 6.3, bogey 7.2, double 2.7, worse 0.9" in text
    page.number_input(key="score_target").set_value(86).run()
    even = metrics(page)["86 or better, the target"]
    assert 45 <= int(even.split()[0]) <= 60
    page.number_input(key="score_target").set_value(80).run()
    rare = metrics(page)["80 or better, the target"]
    page.slider(key="score_form").set_value(4.0).run()
    assert not page.exception
    often = metrics(page)["80 or better, the target"]
    assert int(often.split()[0]) > int(rare.split()[0]), "form makes far totals likelier"


@pytest.fixture
def slow(quick: ModuleType, monkeypatch: Any) -> Iterator[threading.Event]:
    """Let the round stand still after its first three holes until the event is set."""
    go = threading.Event()

    def plan_round(request: Any, *, finished: Any, cancelled: Any, **options: Any) -> Any:
        refs = ["3", "1", "2"]
        for ref in refs:
            finished(quick.StandInDesk(request, ref).plan)
        while not go.wait(0.02):
            if cancelled.is_set():
                raise Cancelled
        return quick.plan_round(request, **options)

    monkeypatch.setattr("planner.page.solving.plan_round", plan_round)
    yield go
    go.set()


def test_solved_holes_are_shown_and_outlive_a_stop(page: AppTest, slow: threading.Event) -> None:
    go(page, "round")
    page.button(key="plan_round").click().run()
    wait_for(page, lambda: page.table)
    for _ in range(2):
        assert not page.exception
        text = shown(page)
        assert "Partial plan: 3 of 18 holes" in text
        rows = page.table[0].value
        assert [cell.split("**")[1] for cell in rows["Hole"][:3]] == ["1", "2", "3"]
        assert rows["Hole"].iloc[-1].startswith("**So far par 12")
        total = sum(float(cell) for cell in rows["Strokes"] if "*" not in cell)
        assert float(rows["Strokes"].iloc[-1].strip("*")) == pytest.approx(total, abs=0.02)
        if any(button.key == "stop_round" for button in page.button):
            page.button(key="stop_round").click().run()
    assert "Stopped with 3 of 18 holes solved" in shown(page)
    slow.set()
    page.button(key="plan_round").click().run()
    wait_for(page, lambda: page.table and len(page.table[0].value) == 18 + 3)
    assert "Partial" not in shown(page)


def test_help_names_what_was_assumed(page: AppTest) -> None:
    go(page, "help")
    assert not page.exception
    text = shown(page)
    assert "What is left out" in " ".join(str(part.value) for part in page.subheader)
    assert "dist tags" in text
