"""The page of clubs: count, overlaps, charts, table."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from streamlit.dataframe_util import convert_arrow_bytes_to_pandas_df
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.demo_data import demo_bag, demo_folder
from planner.golfer.bag import read_bag
from planner.golfer.shot_log_reading import read_shot_log
from planner.planning.pattern_fitting import fit_shots
from planner.planning.saved_work import save_file
from planner.store.location import STORE_VARIABLE
from planner.store.opening import open_store

BAG = """
[golfer]
name = "Mara Quill"
handicap_index = 20.0
[[club]]
label = "Driver"
kind = "driver"
loft_deg = 11.0
[[club]]
label = "7 iron"
kind = "iron"
loft_deg = 33.0
[club.pattern]
carry = 125.0
[[club]]
label = "Putter"
kind = "putter"
"""
LOG = "Club;Carry (m);Side (m)\n7 iron;124;2\n7 iron;121;-4\n7 iron;126;1\n7 iron;40;-1\n"


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
    said = [row["Club"].replace("\\", "") for row in table]
    assert [one.split("**")[1] for one in said] == names
    assert all(" · " in one for one in said)
    assert {"Carry", "Spread", "Mishits", "Outcarried"} <= set(table[0])
    assert len(clubs.get("vega_lite_chart")) == 2


def test_another_club_and_the_candidates_may_be_looked_at(clubs):
    before = clubs.selectbox(key="clubs_shown").options
    clubs.selectbox(key="clubs_shown").set_value(before[-1]).run()
    clubs.toggle(key="clubs_candidates").set_value(True).run()
    assert not clubs.exception
    assert len(clubs.selectbox(key="clubs_shown").options) > len(before)


@pytest.fixture
def where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "store.sqlite"
    monkeypatch.setenv(STORE_VARIABLE, str(path))
    return path


@pytest.fixture
def own(where: Path, page: AppTest) -> AppTest:
    """A bag of one's own with two clubs, and no shots anywhere."""
    page.run()
    page.selectbox(key="bag").set_value("own").run()
    page.file_uploader(key="bag_upload").set_value(("mine.toml", BAG.encode(), "")).run()
    return at(page, "clubs")


def at(page: AppTest, address: str) -> AppTest:
    page._page_hash = calc_hash(address)
    page.run()
    assert not page.exception
    return page


def drawn(page: AppTest) -> tuple[dict[str, Any], dict[str, list[dict[str, Any]]]]:
    """Layers of the club's chart by the role or the data they draw, and its rows."""
    sent = page.get("vega_lite_chart")[1].proto
    chart = json.loads(sent.spec)
    layers = {}
    for layer in chart["layer"]:
        (role,) = [step["filter"]["equal"] for step in layer.get("transform", [])] or ["shots"]
        layers[role] = layer
    rows = {
        one.name: convert_arrow_bytes_to_pandas_df(one.data.data).to_dict("records")
        for one in sent.datasets
    }
    return layers, rows


def solid_and_bad(rows: list[dict[str, Any]]) -> tuple[int, int]:
    kinds = Counter(row["kind"] for row in rows)
    return kinds["solid"], kinds["mishit"]


def test_shots_ellipse_mishits_and_what_is_usual_are_drawn_together(where, page):
    page.run()
    at(page, "clubs").selectbox(key="clubs_shown").set_value("Driver").run()
    layers, rows = drawn(page)
    assert list(layers) == ["line of play", "mishit", "pattern 90", "distance", "shots"]
    assert {row["role"] for row in rows["outlines"]} == set(layers) - {"shots"}
    bag, path = read_bag(demo_bag("odile")), demo_folder() / "shots" / "odile_marrow.csv"
    found = next(
        one
        for one in fit_shots(read_shot_log(path), bag=bag).fits.for_bag()
        if one.club.label == "Driver"
    )
    solid = int((found.fit.responsibilities.argmax(1) == 0).sum())
    assert len(rows["shots"]) == len(found.points_m) == 89
    assert solid_and_bad(rows["shots"]) == (solid, 89 - solid)
    assert 0 < solid < 89
    carries = sorted(row["y"] for row in rows["shots"])
    assert carries == pytest.approx(sorted(found.points_m[:, 0]), abs=0.06)
    scales = [layers["shots"]["encoding"][name]["scale"] for name in ("shape", "color")]
    for scale in scales:
        assert len(set(scale["range"])) == len(scale["domain"]) == 3
    axes = [layers["shots"]["encoding"][name]["scale"]["domain"] for name in "xy"]
    for row in (*rows["shots"], *rows["outlines"]):
        assert axes[0][0] < row["x"] < axes[0][1]
        assert axes[1][0] < row["y"] < axes[1][1]
    assert "89 shots from odile_marrow.csv" in shown(page)
    assert "crosses: mishits" in shown(page)


def test_a_club_without_shots_says_so(where, page):
    page.run()
    at(page, "clubs").toggle(key="clubs_candidates").set_value(True).run()
    page.selectbox(key="clubs_shown").set_value("6 iron").run()
    layers, rows = drawn(page)
    assert "shots" not in layers
    assert set(rows) == {"outlines"}
    assert "No shots are drawn: 6 iron has none in odile_marrow.csv." in shown(page)


def test_patterns_put_in_use_are_no_longer_drawn_twice(where, page):
    page.run()
    at(page, "shots").button(key="use_patterns").click().run()
    at(page, "clubs")
    for label in ("Driver", "3 wood", "Sand wedge"):
        page.selectbox(key="clubs_shown").set_value(label).run()
        layers, _ = drawn(page)
        assert list(layers) == ["line of play", "mishit", "pattern 90", "shots"]
    assert "Thin:" not in shown(page)


def test_a_log_given_under_shots_is_drawn_for_the_rest_of_the_visit(own):
    assert "this bag has no shot log. Load one under Shots" in shown(own)
    at(own, "shots")
    own.button_group(key="shot_log").set_value("own").run()
    own.file_uploader(key="shots_upload").set_value(("log.csv", LOG.encode(), "")).run()
    at(own, "clubs").selectbox(key="clubs_shown").set_value("7 iron").run()
    assert "4 shots (few shots) from log.csv" in shown(own)
    layers, rows = drawn(own)
    assert "shots" in layers
    assert sorted(row["y"] for row in rows["shots"]) == [40.0, 121.0, 124.0, 126.0]
    assert solid_and_bad(rows["shots"]) == (3, 1)
    own.selectbox(key="clubs_shown").set_value("Driver").run()
    assert "Driver has none in log.csv" in shown(own)


def test_anothers_demo_log_is_not_taken_for_the_golfers_own(own):
    at(own, "shots")
    own.button_group(key="shot_log").set_value("bram_oskel").run()
    assert own.table
    assert "this bag has no shot log" in shown(at(own, "clubs"))


def test_saved_shots_are_drawn_and_those_the_bag_names_first(where, page, tmp_path):
    other = LOG + "7 iron;119;3\n"
    with open_store(where) as store:
        for name, text in (("practice", LOG), ("later", other)):
            path = tmp_path / f"{name}.csv"
            path.write_text(text)
            save_file(store, path, golfer="Mara Quill")
    page.run()
    page.selectbox(key="bag").set_value("own").run()
    for head, said in (("", "5 shots"), ('[shot_log]\nfile = "practice.csv"\n', "4 shots")):
        content = f"{head}{BAG}".encode()
        page.file_uploader(key="bag_upload").set_value(("mine.toml", content, "")).run()
        at(page, "clubs").selectbox(key="clubs_shown").set_value("7 iron").run()
        assert f"{said} (few shots) from saved shots" in shown(page)
        assert len(drawn(page)[1]["shots"]) == int(said[0])


def test_a_log_that_is_named_but_not_at_hand_is_said(where, page):
    page.run()
    page.selectbox(key="bag").set_value("own").run()
    content = f'[shot_log]\nfile = "practice.csv"\n{BAG}'.encode()
    page.file_uploader(key="bag_upload").set_value(("mine.toml", content, "")).run()
    assert "practice.csv, which the bag names, is not at hand" in shown(at(page, "clubs"))
    assert not where.exists()
