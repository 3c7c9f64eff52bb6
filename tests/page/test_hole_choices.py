"""Ball, club, aim and comparison on the hole's page, by ordinary inputs and by its address."""

from __future__ import annotations

from types import ModuleType
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from planner.demo_data import app_file
from planner.page.tap_drawing import _place
from planner.report.legend import legend


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.info, *page.warning]
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def widget(page: AppTest, kind: str, start: str) -> Any:
    return next(w for w in getattr(page, kind) if w.key and w.key.startswith(start))


def strokes(page: AppTest) -> float:
    return float(next(m.value for m in page.metric if m.label == "Expected strokes"))


def at_ball(page: AppTest) -> AppTest:
    page.run()
    widget(page, "button_group", "place/").set_value("ball").run()
    assert not page.exception
    return page


def opened(**address: str) -> AppTest:
    page = AppTest.from_file(str(app_file()), default_timeout=60)
    for name, value in address.items():
        page.query_params[name] = value
    return page.run()


def address_of(page: AppTest) -> dict[str, str]:
    return {
        key: value if isinstance(value, str) else value[0]
        for key, value in page.query_params.items()
    }


def test_a_ball_by_numbers(page: AppTest) -> None:
    at_ball(page)
    assert "Your ball:" in shown(page)
    to_go = widget(page, "number_input", "to_go/")
    to_go.set_value(270).run()
    far = strokes(page)
    to_go.set_value(240).run()
    assert strokes(page) < far
    assert "Every choice from there" in [s.value for s in page.subheader]
    widget(page, "selectbox", "lie/").set_value("sand").run()
    assert "Your ball: sand" in shown(page)
    widget(page, "selectbox", "lie/").set_value("as on the map").run()
    assert "Your ball: sand" not in shown(page)
    assert not page.exception


def test_a_ball_where_none_is_played_from(page: AppTest) -> None:
    at_ball(page)
    widget(page, "number_input", "to_go/").set_value(4)
    widget(page, "number_input", "right/").set_value(0).run()
    assert "putts to be expected" in shown(page)
    assert not page.metric
    widget(page, "number_input", "right/").set_value(400).run()
    assert "too far from this hole" in shown(page)
    assert not page.metric


def test_units_do_not_move_the_ball(page: AppTest) -> None:
    at_ball(page)
    before = strokes(page)
    metres = widget(page, "number_input", "to_go/").value
    page.button_group(key="units").set_value("yards").run()
    assert strokes(page) == before
    yards = widget(page, "number_input", "to_go/").value
    assert yards == pytest.approx(metres / 0.9144, abs=1.0)


def test_small_steps_of_the_aim_say_their_price(page: AppTest) -> None:
    page.run()
    widget(page, "slider", "offset/").set_value(30).run()
    before = strokes(page)
    right = widget(page, "button", "right/")
    assert right.label.startswith("5 m right: +")
    said = float(right.label.rpartition(" ")[2])
    right.click().run()
    assert widget(page, "slider", "offset/").value == 35
    assert strokes(page) - before == pytest.approx(said, abs=0.03)
    assert address_of(page)["aim_right"] == "35.0"
    widget(page, "slider", "offset/").set_value(5).run()
    widget(page, "button", "left/").click().run()
    assert "aim_right" not in page.query_params


def test_an_address_holds_ball_club_and_aim(quick: ModuleType) -> None:
    page = opened(**{"from": "ball", "ball": "150,8,deep_rough", "club": "9 iron"})
    assert not page.exception
    assert "Your ball: deep rough" in shown(page)
    assert "You try: 9 iron" in shown(page) or "9 iron, carries" in shown(page)
    again = opened(**address_of(page))
    assert shown(again) == shown(page)
    aimed = opened(aim_right="12.0")
    assert widget(aimed, "slider", "offset/").value == 12
    # They belong to the hole they were sent with.
    aimed.button(key="next").click().run()
    assert widget(aimed, "slider", "offset/").value == 0
    assert "aim_right" not in aimed.query_params


@pytest.mark.parametrize(
    "address",
    [
        {"from": "ball", "ball": "nan,inf"},
        {"from": "ball", "ball": "1e9,0"},
        {"from": "ball", "ball": "<script>,,,"},
        {"from": "Z", "club": "<b>", "aim_right": "1e999"},
        {"aim_right": "left"},
    ],
)
def test_addresses_that_mean_nothing(quick: ModuleType, address: dict[str, str]) -> None:
    page = opened(**address)
    assert not page.exception
    assert page.metric


def test_side_by_side_with_a_club_and_a_bag(page: AppTest) -> None:
    page.run()
    assert page.selectbox(key="compare_with").value == "nothing"
    count = len(page.metric)
    page.selectbox(key="compare_with").set_value("club/3 wood").run()
    assert len(page.metric) == count + 6
    assert "3 wood: 0" in shown(page)
    assert "strokes more" in shown(page)
    page.selectbox(key="compare_with").set_value("bag/bram_oskel").run()
    assert not page.exception
    assert "A tie" in shown(page)
    # Own files, good and bad.
    page.selectbox(key="compare_with").set_value("own").run()
    upload = page.file_uploader(key="compare_bag")
    upload.set_value(("bad.toml", b"format = 9", "text/plain")).run()
    assert not page.exception
    assert "bad.toml" in shown(page)


def test_what_is_compared_with_may_go_away(page: AppTest) -> None:
    page.run()
    page.selectbox(key="compare_with").set_value("club/3 wood").run()
    widget(page, "selectbox", "club/").select_index(1).run()
    assert not page.exception
    page.selectbox(key="compare_with").set_value("bag/bram_oskel").run()
    page.selectbox(key="bag").set_value("bram_oskel").run()
    assert not page.exception


def test_taps_that_no_drawing_of_ours_sends() -> None:
    drawing = legend()

    class State:
        def __init__(self, tap: object) -> None:
            self.tap = tap

    good = {"x": 1.0, "y": 2.0, "dragged": True, "about": "here"}
    assert _place(State(good), "here", drawing) == ((1.0, 2.0), True)
    for wrong in (
        None,
        "text",
        {**good, "about": "elsewhere"},
        {**good, "x": float("nan")},
        {**good, "x": None},
        {**good, "y": "2"},
        {**good, "y": 1e9},
        {},
    ):
        assert _place(State(wrong), "here", drawing) is None
    assert _place(object(), "here", drawing) is None


def test_an_address_holds_layers_and_what_is_shown(page: AppTest) -> None:
    page.query_params["layers"] = ["expected strokes"]
    page.query_params["focus"] = "green"
    page.run()
    assert not page.exception
    assert page.button_group(key="layers").value == ["contours"]
    assert page.button_group(key="focus").value == "green"
