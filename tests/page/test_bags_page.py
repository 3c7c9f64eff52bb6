"""The page of bags, with use cases that answer at once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.demo_data import demo_bag, demo_folder
from planner.golfer.bag import read_bag
from planner.page import bags_page
from planner.planning.bag_bench import hit_labels

from . import bag_stand_in
from .serving import DESKTOP, PHONE, Visit, chromium, overflow, served
from .waiting import until

HERE = Path(__file__).resolve().parent
ODILE = read_bag(demo_bag("odile"))


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    found: list[Any] = []

    def choose(requests: Any, options: Any, **more: Any) -> Any:
        found.append((requests, options))
        return bag_stand_in.choose_clubs(requests, options, **more)

    def compare(requests: Any, bags: Any, **more: Any) -> Any:
        found.append((requests, bags))
        return bag_stand_in.compare_bags(requests, bags, **more)

    monkeypatch.setattr(bags_page, "choose_clubs", choose)
    monkeypatch.setattr(bags_page, "compare_bags", compare)
    bags_page.bag_jobs.clear()
    return found


@pytest.fixture
def bags(page: AppTest, asked: list[Any]) -> AppTest:
    page.query_params["bag"] = "Odile Marrow"
    page.run()
    page._page_hash = calc_hash("bags")
    page.run()
    assert not page.exception
    return page


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.error, *page.success, *page.info, *page.subheader]
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def metrics(page: AppTest) -> dict[str, str]:
    return {metric.label: metric.value for metric in page.metric}


def named(page: AppTest, start: str) -> Any:
    """The group of buttons whose key starts so."""
    return next(group for group in page.get("button_group") if str(group.key).startswith(start))


def saves(page: AppTest) -> set[str]:
    return {str(button.key) for button in page.get("download_button")}


def test_nothing_is_worked_out_before_it_is_asked_for(bags: AppTest, asked: list[Any]) -> None:
    assert asked == []
    assert any(button.key == "choose_start" for button in bags.button)
    # Bags that are the same are not compared.
    assert not any(button.key == "compare_start" for button in bags.button)
    assert "The bags are the same" in shown(bags)


def test_clubs_are_chosen(bags: AppTest, asked: list[Any]) -> None:
    bags.number_input(key="bags_years").set_value(5.0)
    bags.number_input(key="bags_limit").set_value(10).run()
    bags.button(key="choose_start").click()
    until(bags, lambda page: "Proof" in metrics(page))
    ((requests, options),) = asked
    assert len(requests) == 1
    assert options.candidates == hit_labels(requests[0].bag)
    assert (options.limit, options.use.years) == (10, 5.0)
    assert metrics(bags)["Proof"] == "none better"
    assert metrics(bags)["Saves on the present bag"] == "0.50"
    assert "Carry: Driver" in shown(bags)
    assert "stand in for each other" in shown(bags)
    assert [len(table.value) for table in bags.table] == [len(options.candidates), 2, 2]
    assert saves(bags) == {
        "save/clubs.csv", "save/money.csv", "save/changes.csv", "save/choice.json"
    }  # fmt: skip


def test_a_search_shows_bound_and_incumbent_and_can_be_ended(
    bags: AppTest, asked: list[Any]
) -> None:
    money = next(box for box in bags.number_input if str(box.key).startswith("bags_budget"))
    money.set_value(0.0).run()
    bags.button(key="choose_start").click()
    until(bags, lambda page: "Best so far" in metrics(page))
    assert metrics(bags)["Best so far"] == "86.250"
    assert metrics(bags)["Proven: none below"] == "86.125"
    assert metrics(bags)["Bags valued"] == "57"
    bags.button(key="choose_finish").click()
    until(bags, lambda page: "Proof" in metrics(page))
    assert metrics(bags)["Proof"] == "to 0.125 strokes"
    assert "Stopped before the proof was done" in shown(bags)
    # The rest of the search can be asked for.
    bags.button(key="choose_drop").click().run()
    assert any(button.key == "choose_start" for button in bags.button)


def test_a_search_can_be_thrown_away(bags: AppTest) -> None:
    money = next(box for box in bags.number_input if str(box.key).startswith("bags_budget"))
    money.set_value(0.0).run()
    bags.button(key="choose_start").click()
    until(bags, lambda page: "Best so far" in metrics(page))
    bags.button(key="choose_stop").click()
    until(bags, lambda page: any(button.key == "choose_start" for button in page.button))


def test_what_cannot_be_solved_is_said(bags: AppTest) -> None:
    named(bags, "bags_candidates").set_value(["Driver", "7 iron"]).run()
    bags.button(key="choose_start").click()
    until(bags, lambda page: bool(page.error))
    assert "hole 7: no shot can be played" in shown(bags)
    named(bags, "bags_candidates").set_value([]).run()
    assert "Choose some clubs" in shown(bags)


def test_bags_are_compared(bags: AppTest, asked: list[Any]) -> None:
    carried = [club.label for club in ODILE.clubs if club.carried]
    swapped = [label for label in carried if label != "3 wood"]
    named(bags, "bags_set/2").set_value([*swapped, "9 wood"]).run()
    assert "9 wood for 3 wood" in shown(bags)
    named(bags, "bags_number").set_value(3).run()
    named(bags, "bags_set/3").set_value(swapped).run()
    bags.button(key="compare_start").click()
    until(bags, lambda page: "save/bags.csv" in saves(page))
    ((_, compared),) = asked
    assert [bag.name for bag in compared] == [
        "Odile, as carried", "9 wood for 3 wood", "without 3 wood"
    ]  # fmt: skip
    assert "0.36 strokes a round better" in shown(bags)
    assert "no real difference" in shown(bags)
    assert saves(bags) == {"save/bags.csv", "save/bags.json"}


def test_another_golfers_clubs_are_tried(bags: AppTest, asked: list[Any]) -> None:
    lender = next(box for box in bags.selectbox if str(box.key).startswith("bags_lender"))
    lender.set_value("wren_halvard").run()
    assert not bags.exception
    bags.button(key="compare_start").click()
    until(bags, lambda page: "save/bags.csv" in saves(page))
    ((requests, compared),) = asked
    (first, second) = compared
    bag = requests[0].bag
    assert list(first.clubs) == [club.label for club in ODILE.clubs if club.carried]
    assert second.name == "clubs of Wren Halvard"
    came = [bag.club(label) for label in second.clubs if label not in first.clubs]
    assert came
    assert all(club.pattern is None and not club.carried for club in came)


def test_other_tees_courses_and_winds_are_rounds_too(bags: AppTest, asked: list[Any]) -> None:
    tees = next(box for box in bags.multiselect if str(box.key).startswith("bags_tees"))
    tees.set_value(["white"])
    named(bags, "bags_winds").set_value(["E, 6 m/s"])
    bags.run()
    courses = next(box for box in bags.multiselect if str(box.key).startswith("bags_courses"))
    assert set(courses.options) == {"Mossquern", "Pebblecote Short Course"} or courses.options
    courses.set_value([courses.options[0]] if courses.options[0] in _stems() else ["pebblecote"])
    bags.run()
    bags.button(key="choose_start").click()
    until(bags, lambda page: "Proof" in metrics(page))
    ((requests, _),) = asked
    assert len(requests) == 6
    assert {one.tee for one in requests[:4]} == {"red", "white"}
    assert {one.conditions.wind_speed for one in requests} == {0.0, 6.0}
    assert len({one.course.name for one in requests}) == 2


def _stems() -> set[str]:
    return {path.stem for path in demo_folder().iterdir()}


# -- in a browser -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a served page; the server is ended afterwards."""
    with served(tmp_path_factory.mktemp("bags"), HERE / "quick_app.py") as (url, _):
        yield url


@pytest.fixture(scope="module")
def browser(address: str) -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.mark.browser
@pytest.mark.parametrize(
    ("size", "scheme", "bag", "club"),
    [(PHONE, "light", "Odile+Marrow", "Lob wedge"), (DESKTOP, "dark", "Bram+Oskel", "Gap wedge")],
    ids=["phone", "desktop"],
)
def test_bags_in_a_browser(
    browser: Any, address: str, size: tuple[int, int], scheme: str, bag: str, club: str
) -> None:
    """Each visit has a bag of its own: results of the one before would be found again."""
    visit = Visit(browser, size, scheme)
    visit.context.set_default_timeout(60_000)
    tab = visit.open(f"{address}/?bag={bag}")
    tab.get_by_role("link", name="Bags", exact=True).click()
    tab.get_by_role("button", name="Choose the clubs").wait_for()
    visit.settle()
    tab.get_by_role("button", name="Choose the clubs").click()
    tab.get_by_role("button", name="Choice (JSON)").wait_for()
    visit.settle()
    assert overflow(tab) <= 0
    charts = tab.locator(
        '[data-testid="stVegaLiteChart"] svg, [data-testid="stVegaLiteChart"] canvas'
    )
    charts.nth(1).wait_for()
    for i in range(charts.count()):
        box = charts.nth(i).bounding_box()
        assert box is None or box["width"] <= size[0]
    assert tab.locator('[aria-label^="Strokes saved for money"]').count() == 1
    with tab.expect_download() as download:
        tab.get_by_role("button", name="Clubs (CSV)").click()
    lines = Path(download.value.path()).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("club,carried,missed")
    assert lines[1].startswith("Driver,yes,0.1")
    tab.get_by_role("tab", name="Compare bags").click()
    tab.get_by_role("button", name=club).last.click()
    visit.settle()
    tab.get_by_role("button", name="Compare the bags").click()
    tab.get_by_role("button", name="Holes (CSV)").wait_for()
    visit.settle()
    assert overflow(tab) <= 0
    assert tab.get_by_text(f"with {club}").first.is_visible()
    assert tab.locator('[data-testid="stException"]').count() == 0
    assert not visit.faults
    visit.context.close()
