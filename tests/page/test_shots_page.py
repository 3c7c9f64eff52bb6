"""The page of own shots: a log by click or upload, columns, units, faults, use, undo, download."""

from __future__ import annotations

import re
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.demo_data import demo_bag, demo_folder
from planner.golfer.bag import bag_from_text, read_bag

TEXT = "text/csv"


@pytest.fixture
def shots(page: AppTest) -> AppTest:
    """The page of shots, opened; the runner's own way knows only pages that are files."""
    page.run()
    page._page_hash = calc_hash("shots")
    page.run()
    assert not page.exception
    return page


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.info, *page.warning]
    text = "\n".join(str(part.value) for part in parts)
    return text.replace("\\", "").replace("\u00a0", " ")


def table(page: AppTest) -> list[dict[str, str]]:
    rows = page.table[0].value.to_dict("records")
    return [
        {
            key: re.sub(r"\\(.)", r"\1", str(value)).replace("\u00a0", " ")
            for key, value in row.items()
        }
        for row in rows
    ]


def upload(page: AppTest, content: str | bytes, name: str = "my log.csv") -> AppTest:
    page.button_group(key="shot_log").set_value("own").run()
    data = content if isinstance(content, bytes) else content.encode()
    page.file_uploader(key="shots_upload").set_value((name, data, TEXT)).run()
    assert not page.exception
    return page


def widget(page: AppTest, kind: str, start: str, end: str = "") -> Any:
    return next(
        w for w in getattr(page, kind) if w.key and w.key.startswith(start) and w.key.endswith(end)
    )


def columns(page: AppTest) -> dict[str, Any]:
    return {w.key.rsplit("/", 1)[1]: w.value for w in page.selectbox if w.key.startswith("column/")}


def test_the_golfers_own_demo_log_is_there_at_once(shots: AppTest) -> None:
    text = shown(shots)
    assert "367 shots on 11 days, 2 rows left out" in text
    assert 'carry from "Carry m" in metres, offline from "Left / right"' in text
    assert 'line 151, Carry m: "?" is missing' in text
    rows = table(shots)
    assert rows[0]["Club"] == "**Driver** 89"
    assert re.match(
        r"\*\*152 m\*\* \(150 to 154\), ± 10\.\d m \(9\.\d to 12\.\d\)", rows[0]["Carry"]
    )
    few = [row["Club"] for row in rows if "few shots" in row["Club"]]
    assert few == ["**6 hybrid** 6 :orange-badge[few shots]"]
    assert "5 wood, rough: not written to the bag" in text


def test_another_demo_log_is_one_click_away_and_the_wrong_bag_is_said(shots: AppTest) -> None:
    shots.button_group(key="shot_log").set_value("bram_oskel").run()
    assert not shots.exception
    text = shown(shots)
    assert "259 shots on 9 days, 7 rows left out" in text
    assert "These are the shots of Bram Oskel, and the bag is that of Odile Marrow" in text
    assert '"4h": 19 shots left out; the bag has no such club' in text


def test_units_change_every_number(shots: AppTest) -> None:
    shots.button_group(key="units").set_value("yards").run()
    assert table(shots)[0]["Carry"].startswith("**166 yd** (164 to 169)")
    assert not re.search(r"\d m\b", " ".join(table(shots)[0].values()))
    assert "in yards" in shown(shots)


def test_a_left_handers_right_stays_right(shots: AppTest) -> None:
    shots.selectbox(key="bag").set_value("wren_halvard").run()
    shots.button_group(key="shot_log").set_value("wren_halvard").run()
    assert not shots.exception
    driver = table(shots)[0]
    assert driver["Offline"].startswith("**5 m right** (2 to 8 right)")


def test_use_undo_and_the_plan(shots: AppTest) -> None:
    assert shots.button(key="undo_patterns").disabled
    shots.button(key="use_patterns").click().run()
    assert not shots.exception
    assert shots.button(key="use_patterns").disabled
    text = shown(shots)
    assert "The plan uses measured patterns of Driver, 3 wood" in text
    assert "bag changed" in text
    (edits,) = shots.session_state["bag_edits"].values()
    ((_, file),) = edits
    bag = bag_from_text(file.content.decode(), source="x")
    driver = bag.club("Driver").pattern
    assert driver is not None
    assert driver.shots == 89
    # Fitting the same log again starts from the bag as it was: nothing is counted twice.
    first = table(shots)
    shots.button(key="undo_patterns").click().run()
    assert not shots.exception
    assert table(shots) == first
    assert shots.button(key="undo_patterns").disabled
    assert not shots.button(key="use_patterns").disabled
    assert "bag changed" not in shown(shots)


def test_the_plan_asks_with_the_patterns_in_use(
    shots: AppTest, quick: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[Any] = []

    def open_hole(request: Any, ref: str, **options: Any) -> Any:
        asked.append(request)
        return quick.open_hole(request, ref, **options)

    monkeypatch.setattr("planner.page.solving.open_hole", open_hole)
    shots.button(key="use_patterns").click().run()
    shots._page_hash = calc_hash("")
    shots.run()
    assert not shots.exception
    pattern = asked[-1].bag.club("Driver").pattern
    assert pattern.shots == 89
    assert pattern != read_bag(demo_bag("odile")).club("Driver").pattern


def test_two_logs_one_after_the_other_both_count(shots: AppTest) -> None:
    shots.button(key="use_patterns").click().run()
    upload(shots, "Club;Carry (m);Side (m)\n9 wood;118;2\n9 wood;115;-4\n9 wood;40;1\n")
    shots.button(key="use_patterns").click().run()
    (edits,) = shots.session_state["bag_edits"].values()
    bag = bag_from_text(edits[-1][1].content.decode(), source="x")
    driver, wood = bag.club("Driver").pattern, bag.club("9 wood").pattern
    assert driver is not None
    assert wood is not None
    assert (driver.shots, wood.shots) == (89, 3)
    shots.button(key="undo_patterns").click().run()
    assert len(edits) == 1


def test_nothing_is_changed_by_looking(shots: AppTest) -> None:
    upload(shots, "Club;Carry (m);Side (m)\n7 iron;100;2\n7 iron;x;-4\n")
    assert "1 shot, 1 row left out" in shown(shots)
    assert all(not edits for edits in shots.session_state["bag_edits"].values())


def test_an_unknown_unit_is_asked_for(shots: AppTest) -> None:
    upload(shots, "Club;Carry;Side\n7 iron;100;2\n7 iron;98;-4\n")
    text = shown(shots)
    assert "does not say in which unit “Carry” and “Side” are given" in text
    assert not shots.table
    widget(shots, "button_group", "shots_unit/").set_value("yards").run()
    assert not shots.exception
    assert table(shots)[0]["Carry"].startswith("**9")
    assert "2 shots" in shown(shots)


def test_columns_are_guessed_and_can_be_put_right(shots: AppTest) -> None:
    upload(shots, "Stick;Distance (m);Total (m);Side (m)\n7 iron;100;105;2\n7 iron;98;99;-4\n")
    assert "Choose the column of carry above" in shown(shots)
    assert columns(shots) == {
        "club": None,
        "carry": None,
        "offline": 3,
        "total": 2,
        "lie": None,
        "outcome": None,
        "date": None,
    }
    widget(shots, "selectbox", "column/", "/carry").set_value(1).run()
    assert "Which one was hit?" in "\n".join(w.label for w in shots.selectbox)
    widget(shots, "selectbox", "column/", "/club").set_value(0).run()
    assert not shots.exception
    assert table(shots)[0]["Club"].startswith("**7 iron** 2")


def test_a_log_without_clubs_asks_which(shots: AppTest) -> None:
    upload(shots, "Carry (m);Side (m)\n100;2\n98;-4\n")
    assert not shots.table
    widget(shots, "selectbox", "shots_club/").set_value("8 iron").run()
    assert table(shots)[0]["Club"].startswith("**8 iron** 2")


def test_the_same_shots_in_any_spreadsheets_words(shots: AppTest) -> None:
    upload(shots, "Club,Carry (m),Side (m)\n7 iron,100.5,2.5\n7 iron,98,-4\n")
    first = table(shots)
    text = "\ufeffSide (m)\tSchläger\tCarry (m)\r\n2,5 R\t7i\t100,5\r\n4 links\t7 IRON\t98\r\n"
    upload(shots, text.encode("utf-16-le"), "other.txt")
    assert table(shots) == first


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04", "is a spreadsheet workbook"),
        ("Club;Carry (m);Side (m)\n7i;x;1\n", "no shot can be used"),
        ("Club;Carry (m);Side (m)\nstick;100;1\n", "no shot belongs to a club"),
        ("7i;100;1\n8i;90;2\n", "numbers where the headings should be"),
    ],
)
def test_what_cannot_be_used_is_said_with_its_reason(
    shots: AppTest, content: str | bytes, words: str
) -> None:
    upload(shots, content)
    assert words in shown(shots)
    assert len(shots.error) == 1
    assert not shots.table


def test_text_of_a_log_is_no_markup(shots: AppTest) -> None:
    name = "[x](http://example.org) **b**"
    upload(shots, f"Club;Carry (m);Side (m)\n7 iron;100;1\n{name};90;2\n7 iron;<b>9</b>;2\n")
    raw = "\n".join(str(part.value) for part in shots.markdown)
    assert "[x](" not in raw
    assert "<b>" not in raw
    assert name in shown(shots)


def test_without_a_log_the_page_says_what_to_bring(shots: AppTest) -> None:
    shots.button_group(key="shot_log").set_value("own").run()
    assert "at least carry and offline" in shown(shots)
    assert not shots.table


def test_another_club_is_drawn(shots: AppTest) -> None:
    def drawn() -> str:
        (chart,) = shots.get("vega_lite_chart")
        return str(chart.proto.alt or chart.proto)

    assert "Driver: 89 shots seen from above" in drawn()
    widget(shots, "selectbox", "shots_shown/").set_value(2).run()
    assert not shots.exception
    assert "5 wood: 34 shots seen from above" in drawn()


def test_demo_logs_are_found_beside_the_demo_bags() -> None:
    stems = {path.stem for path in (demo_folder() / "shots").glob("*.csv")}
    assert stems == {path.stem for path in (demo_folder() / "bags").glob("*.toml")}
