"""A new golfer without any file: from a few answers to a plan."""

from __future__ import annotations

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.demo_data import app_file, demo_folder


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.info]
    return "\n".join(str(part.value) for part in parts).replace("\\", "")


def test_a_bag_from_a_few_answers(page: AppTest) -> None:
    page.run()
    page.selectbox(key="bag").set_value("own").run()
    assert not page.exception
    assert "answer the few questions" in shown(page)
    page.text_input(key="own_name").set_value("New <b>Member</b>")
    page.number_input(key="own_index").set_value(27.5)
    page.checkbox(key="own_left").check()
    page.number_input(key="own_carry/Driver/metres").set_value(170)
    page.button(key="own_make").click().run()
    assert not page.exception
    text = shown(page)
    assert "New <b>Member</b>, index 27.5, left-handed" in text
    assert page.metric
    # It is kept: a later visit can choose it, and it stands beside the next golfer's.
    choice = page.selectbox(key="bag").value
    page.selectbox(key="bag").set_value("own").run()
    page.text_input(key="own_name").set_value("Pupil")
    page.button(key="own_make").click().run()
    assert not page.exception
    assert "Pupil, index" in shown(page)
    later = AppTest.from_file(str(app_file()), default_timeout=60).run()
    for name in ("Pupil", "New <b>Member</b>"):
        assert any(name in one for one in later.selectbox(key="bag").options)
    later.selectbox(key="bag").set_value(choice).run()
    assert "New <b>Member</b>, index 27.5, left-handed" in shown(later)


def test_a_kept_bag_is_deleted_when_asked_twice(page: AppTest) -> None:
    page.run()
    before = list(page.selectbox(key="bag").options)
    page.selectbox(key="bag").set_value("own").run()
    page.text_input(key="own_name").set_value("Pupil").run()
    page.button(key="own_make").click().run()
    assert len(page.selectbox(key="bag").options) == len(before) + 1
    page.button(key="bag_delete").click().run()
    assert not page.exception
    assert list(page.selectbox(key="bag").options) == before
    later = AppTest.from_file(str(app_file()), default_timeout=60).run()
    assert list(later.selectbox(key="bag").options) == before


def test_an_uploaded_bag_can_be_kept(page: AppTest) -> None:
    page.run()
    page.selectbox(key="bag").set_value("own").run()
    content = (demo_folder() / "bags" / "bram_oskel.toml").read_bytes()
    page.file_uploader(key="bag_upload").set_value(("mine.toml", content, "")).run()
    page.button(key="bag_keep").click().run()
    assert not page.exception
    assert page.selectbox(key="bag").value.startswith("mine-")
    assert "Bram Oskel" in shown(page)


def test_a_bag_that_cannot_be_kept_is_used_and_said(
    page: AppTest, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("PLANNER_STORE", str(tmp_path / "file" / "store.sqlite"))
    page.run()
    page.selectbox(key="bag").set_value("own").run()
    page.text_input(key="own_name").set_value("Pupil").run()
    page.button(key="own_make").click().run()
    assert not page.exception
    assert any("Your bags" in str(one.value) for one in page.warning)
    assert "Pupil, index" in shown(page)


def on_help(page: AppTest) -> AppTest:
    page._page_hash = calc_hash("help")
    page.run()
    assert not page.exception
    return page


def test_what_is_kept_is_taken_back_and_erased(page: AppTest, tmp_path: Path) -> None:
    assert "Nothing." in shown(on_help(page))
    page.selectbox(key="bag").set_value("own").run()
    page.text_input(key="own_name").set_value("Zacharias Pupil").run()
    page.button(key="own_make").click().run()
    assert "bag: 1" in shown(on_help(page))
    options = list(page.selectbox(key="bag").options)
    page.button(key="bag_delete").click().run()
    assert "bag: 1" not in shown(on_help(page))
    page.button(key="kept_undo").click().run()
    assert "Undone" in shown(page)
    assert list(page.selectbox(key="bag").options) == options
    assert "bag: 1" in shown(page)
    store = tmp_path / "store" / "store.sqlite"
    assert b"Zacharias" in _bytes(store)
    page.button(key="kept_erase").click().run()
    assert not page.exception
    assert "Erased." in shown(page)
    assert len(page.selectbox(key="bag").options) == len(options) - 1
    assert b"Zacharias" not in _bytes(store)


def _bytes(store: Path) -> bytes:
    return b"".join(one.read_bytes() for one in store.parent.glob(store.name + "*"))
