"""Maps drawn or loaded on the page are there again on the next visit."""

from __future__ import annotations

from types import ModuleType
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.demo_data import app_file, demo_folder
from planner.errors import StoreError
from planner.page import kept_maps
from planner.page.map_edits import MapEdits


def visit(at: str = "map") -> AppTest:
    """Open the page as on another day: nothing is left of an earlier session."""
    page = AppTest.from_file(str(app_file()), default_timeout=60)
    page._page_hash = calc_hash(at)
    page.run()
    assert not page.exception
    return page


@pytest.fixture
def map_page(quick: ModuleType) -> AppTest:
    return visit()


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.info, *page.warning]
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def widget(page: AppTest, kind: str, start: str) -> Any:
    return next(w for w in getattr(page, kind) if w.key and w.key.startswith(start))


def edits(page: AppTest) -> MapEdits:
    (found,) = page.session_state["map_edits"].values()
    assert isinstance(found, MapEdits)
    return found


def delete_something(page: AppTest, index: int) -> None:
    widget(page, "button_group", "map_mode/").set_value("mend").run()
    widget(page, "selectbox", "map_chosen/").set_value(index).run()
    widget(page, "button", "map_delete/").click().run()
    assert not page.exception


def undo(page: AppTest) -> None:
    widget(page, "button", "map_undo/").click().run()
    assert not page.exception


def test_changes_and_the_way_back_outlive_a_visit(map_page: AppTest) -> None:
    before = len(edits(map_page).document.features)
    delete_something(map_page, 3)
    delete_something(map_page, 4)
    later = visit()
    assert len(edits(later).document.features) == before - 2
    assert widget(later, "button", "map_undo/").label == "Undo (2)"
    undo(later)
    assert len(edits(visit()).document.features) == before - 1
    undo(later)
    # Nothing is left of it: the map is the file again.
    last = visit()
    assert len(edits(last).document.features) == before
    assert "a map begun before" not in last.button_group(key="map_source").options


def test_a_map_that_is_planned_on_is_so_on_the_next_visit(map_page: AppTest) -> None:
    delete_something(map_page, 3)
    map_page.button(key="map_use").click().run()
    delete_something(map_page, 4)
    later = visit("hole")
    assert "map changed, see Map" in shown(later)
    edited = edits(later)
    assert edited.planned_on is not None
    assert len(edited.planned_on.features) == len(edited.document.features) + 1


def test_a_map_is_deleted_and_brought_back(map_page: AppTest) -> None:
    delete_something(map_page, 3)
    page = visit()
    page.button_group(key="map_source").set_value("a map begun before").run()
    assert widget(page, "button", "map_undo/").label == "Undo (1)"
    page.button(key="map_kept_delete").click().run()
    assert not page.exception
    assert widget(page, "button", "map_undo/").label == "Undo (0)"
    help_page = visit("help")
    help_page.button(key="kept_undo").click().run()
    assert "Undone: deleting draft" in shown(help_page)
    assert widget(visit(), "button", "map_undo/").label == "Undo (1)"


def test_a_new_map_is_reopened_and_planned_on(map_page: AppTest) -> None:
    map_page.button_group(key="map_source").set_value("a new map").run()
    map_page.text_input(key="new_name").set_value("Grasmoor").run()
    map_page.button(key="new_start").click().run()
    widget(map_page, "button_group", "map_mode/").set_value("draw").run()
    widget(map_page, "selectbox", "map_kind/").set_value("bunker").run()
    for lat, lon in ((46.1, -30.2), (46.1001, -30.2), (46.1, -30.1999)):
        widget(map_page, "number_input", "map_lat/").set_value(lat)
        widget(map_page, "number_input", "map_lon/").set_value(lon)
        widget(map_page, "button", "map_typed/").click().run()
    widget(map_page, "button", "map_finish/").click().run()
    page = visit()
    page.button_group(key="map_source").set_value("a map begun before").run()
    assert any("Grasmoor" in one for one in page.selectbox(key="map_kept").options)
    page.button(key="map_use").click().run()
    assert not page.exception
    assert "Grasmoor (kept)" in page.selectbox(key="course").options
    assert str(page.session_state["course"]).startswith("mine-")
    # It has no holes yet, and that is said.
    assert "cannot be used yet" in shown(page)


def test_a_loaded_map_is_kept_and_deleted(map_page: AppTest) -> None:
    content = (demo_folder() / "mossquern.osm").read_bytes()
    map_page.selectbox(key="course").set_value("own").run()
    map_page.file_uploader(key="map_upload").set_value(("common.osm", content, "text/xml")).run()
    map_page.button(key="map_keep").click().run()
    assert not map_page.exception
    kept = map_page.session_state["course"]
    page = visit("hole")
    page.selectbox(key="course").set_value(kept).run()
    assert not page.exception
    name = next(o for o in page.selectbox(key="course").options if o.endswith("(kept)"))
    assert name.removesuffix(" (kept)") in shown(page)
    page.button(key="course_delete").click().run()
    assert not page.exception
    assert name not in page.selectbox(key="course").options


def test_a_store_that_takes_nothing_is_said_and_nothing_is_lost(
    map_page: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise StoreError("the disk is full")

    monkeypatch.setattr(kept_maps, "keep_draft", full)
    before = len(edits(map_page).document.features)
    delete_something(map_page, 3)
    assert "the disk is full" in shown(map_page)
    assert len(edits(map_page).document.features) == before - 1
