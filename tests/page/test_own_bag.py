"""A new golfer without any file: from a few answers to a plan."""

from __future__ import annotations

from streamlit.testing.v1 import AppTest


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
    # It stays while other pages and bags are looked at.
    page.selectbox(key="bag").set_value("bram_oskel").run()
    page.selectbox(key="bag").set_value("own").run()
    assert "New <b>Member</b>" in shown(page)
