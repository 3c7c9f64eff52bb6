"""The page of the map, as Streamlit's own test runner sees it: everything by typing."""

from __future__ import annotations

from typing import Any

from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.demo_data import app_file, demo_folder
from planner.page.map_edits import MapEdits


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.info, *page.warning, *page.success]
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def widget(page: AppTest, kind: str, start: str) -> Any:
    return next(w for w in getattr(page, kind) if w.key and w.key.startswith(start))


def opened(page: AppTest) -> AppTest:
    page._page_hash = calc_hash("map")
    page.run()
    assert not page.exception
    return page


def window(page: AppTest) -> str:
    found = page.query_params.get("window", "")
    return found if isinstance(found, str) else "".join(found)


def edits(page: AppTest) -> MapEdits:
    (found,) = page.session_state["map_edits"].values()
    return found


def type_point(page: AppTest, lat: float, lon: float) -> None:
    widget(page, "number_input", "map_lat/").set_value(lat)
    widget(page, "number_input", "map_lon/").set_value(lon)
    widget(page, "button", "map_typed/").click().run()
    assert not page.exception


def test_the_map_of_the_course_and_what_it_lacks(page: AppTest) -> None:
    opened(page)
    assert "nothing is missing" in " ".join(e.label for e in page.expander)
    page.button(key="map_check").click().run()
    assert "A plan can be made from this map: 18 holes" in shown(page)
    page.selectbox(key="course").set_value("mossquern").run()
    assert "something is missing" in " ".join(e.label for e in page.expander)
    assert "18 holes" not in shown(page)


def test_an_address_holds_the_window(page: AppTest) -> None:
    opened(page)
    assert not window(page)
    widget(page, "selectbox", "map_go/").set_value("7").run()
    there = window(page)
    widget(page, "button", "map_nearer/").click().run()
    nearer = window(page)
    assert nearer
    assert nearer != there
    for text, wanted in ((nearer, nearer), ("nan,0,1,1", ""), ("1e999,0,5,5", ""), ("a", "")):
        other = AppTest.from_file(str(app_file()), default_timeout=60)
        other.query_params["window"] = text
        opened(other)
        assert window(other) == wanted


def test_drawing_by_typing_undoing_and_planning_on_it(page: AppTest) -> None:
    opened(page)
    before = len(edits(page).document.features)
    widget(page, "button_group", "map_mode/").set_value("draw").run()
    widget(page, "selectbox", "map_kind/").set_value("bunker").run()
    widget(page, "button", "map_finish/")
    lon, lat = edits(page).centre
    for step in ((0.0, 0.0), (0.0001, 0.0)):
        type_point(page, lat + step[0], lon + step[1])
    widget(page, "button", "map_finish/").click().run()
    assert "needs 3 different points" in shown(page)
    type_point(page, lat, lon + 0.0001)
    widget(page, "button", "map_finish/").click().run()
    assert len(edits(page).document.features) == before + 1
    assert edits(page).document.features[-1].tags["golf"] == "bunker"
    page.button(key="map_use").click().run()
    assert "map changed, see Map" in shown(page)
    widget(page, "button", "map_undo/").click().run()
    assert len(edits(page).document.features) == before


def test_mending_by_choosing_and_typing(page: AppTest) -> None:
    opened(page)
    widget(page, "button_group", "map_mode/").set_value("mend").run()
    document = edits(page).document
    index = next(i for i, f in enumerate(document.features) if f.tags.get("golf") == "hole")
    widget(page, "selectbox", "map_chosen/").set_value(index).run()
    assert "golf=hole" in shown(page)
    widget(page, "selectbox", "map_corner/").set_value(0).run()
    lon, lat = document.corners(index)[0]
    type_point(page, float(lat) + 0.0002, float(lon))
    moved = edits(page).document.corners(index)
    assert abs(moved[0][1] - lat - 0.0002) < 1e-6
    par = next(t for t in page.text_input if t.label == "Par")
    par.set_value("5")
    next(b for b in page.button if b.label == "Keep these").click().run()
    assert not page.exception
    assert edits(page).document.features[index].tags["par"] == "5"
    widget(page, "button", "map_delete/").click().run()
    assert len(edits(page).document.features) == len(document.features) - 1


def test_a_pin_by_typing(page: AppTest) -> None:
    opened(page)
    widget(page, "button_group", "map_mode/").set_value("pin").run()
    type_point(page, 46.2, -30.1)
    assert "not on the green of hole 1" in shown(page)
    hole = next(f for f in edits(page).document.features if f.tags.get("ref") == "1")
    lon, lat = hole.geometry_lonlat.coords[-1][:2]
    type_point(page, lat + 0.00002, lon)
    pins = [f for f in edits(page).document.features if f.tags.get("golf") == "pin"]
    assert pins[-1].tags["ref"] == "1"


def test_a_new_map_and_a_file_that_is_none(page: AppTest) -> None:
    opened(page)
    page.button_group(key="map_source").set_value("a new map").run()
    assert not page.exception
    page.button(key="new_start").click().run()
    assert "No hole has a line with a number yet" in shown(page)
    page.button(key="map_check").click().run()
    assert "No plan can be made from this map yet" in shown(page)
    page.button_group(key="map_source").set_value("the course chosen in the side panel").run()
    page.selectbox(key="course").set_value("own").run()
    assert "upload your own map" in shown(page)
    page.file_uploader(key="map_upload").set_value(("x.geojson", b"[]", "application/json")).run()
    assert "This file cannot be drawn" in shown(page)
    content = (demo_folder() / "mossquern.osm").read_bytes()
    page.file_uploader(key="map_upload").set_value(("common.osm", content, "text/xml")).run()
    assert not page.exception
    assert "Hole by hole" in " ".join(e.label for e in page.expander)
