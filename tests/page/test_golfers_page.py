"""The page of several golfers on one hole, as Streamlit's own test runner sees it."""

from __future__ import annotations

from typing import Any

from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.demo_data import demo_bag


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.info]
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def opened(page: AppTest) -> AppTest:
    page._page_hash = calc_hash("golfers")
    page.run()
    assert not page.exception
    return page


def rows(page: AppTest) -> list[dict[str, Any]]:
    return page.table[0].value.to_dict("records")


def test_three_golfers_without_any_input(page: AppTest) -> None:
    opened(page)
    assert [row["Golfer"].split("**")[1] for row in rows(page)] == [
        "Odile Marrow",
        "Bram Oskel",
        "Tobias Fennimark",
    ]
    # The stand-in's strokes depend on the tee alone.
    assert "yellow tees" in rows(page)[1]["Golfer"]
    assert rows(page)[0]["Strokes"] != rows(page)[1]["Strokes"]


def test_golfers_tees_and_hole_can_be_changed(page: AppTest) -> None:
    opened(page)
    before = rows(page)
    page.selectbox(key="golfer_3").set_value("nobody").run()
    assert rows(page) == before[:2]
    page.selectbox(key="golfer_2_tee/bram_oskel").set_value("red").run()
    assert rows(page)[1]["Strokes"] == before[0]["Strokes"]
    page.button(key="next").click().run()
    assert "Hole 2, The Larches" in shown(page)
    assert rows(page)[0]["Strokes"] != before[0]["Strokes"]
    page.selectbox(key="bag").set_value("bram_oskel").run()
    assert not page.exception
    names = [row["Golfer"].split("**")[1] for row in rows(page)]
    assert names[0] == "Bram Oskel"
    assert len(names) == len(set(names))


def test_an_address_holds_golfers_and_their_tees(page: AppTest) -> None:
    page.query_params["golfer_3"] = "nobody"
    page.query_params["golfer_2_tee/bram_oskel"] = "red"
    opened(page)
    assert page.selectbox(key="golfer_2_tee/bram_oskel").value == "red"
    (_, second) = rows(page)
    assert "Bram Oskel**, red tees" in second["Golfer"]


def test_own_bag_files(page: AppTest) -> None:
    opened(page)
    content = demo_bag("wren_halvard").read_bytes().replace(b"Wren Halvard", b"Pupil One")
    page.file_uploader(key="golfers_files").set_value(
        [("pupil.toml", content, "text/plain"), ("bad.toml", b"format = 9", "text/plain")]
    ).run()
    assert not page.exception
    assert "bad.toml" in shown(page)
    option = next(o for o in page.selectbox(key="golfer_2").options if "Pupil One" in o)
    page.selectbox(key="golfer_2").set_value(option).run()
    assert "Pupil One" in rows(page)[1]["Golfer"]
