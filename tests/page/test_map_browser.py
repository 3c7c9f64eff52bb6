"""Drawing a course by tapping, in a real browser: from nothing to a file that can be planned on."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import geopandas
import pytest

from planner.course.reading import check_map

from .serving import PHONE, Visit, chromium, overflow, served

pytestmark = pytest.mark.browser

HERE = Path(__file__).resolve().parent
MAP = '.tap-drawing[aria-label^="Drawing of the map"] svg'


@pytest.fixture(scope="module")
def phone(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visit]:
    with (
        served(tmp_path_factory.mktemp("map"), HERE / "quick_app.py") as (url, _),
        chromium() as browser,
    ):
        visit = Visit(browser, PHONE, "light")
        visit.tab.goto(f"{url}/map")
        visit.tab.wait_for_selector(MAP)
        visit.settle()
        yield visit
        visit.context.close()


def tap(visit: Visit, *places: tuple[float, float]) -> None:
    """Tap at shares of the drawing's width and height."""
    for right, down in places:
        drawing = visit.tab.locator(MAP).first
        size = drawing.bounding_box()
        drawing.tap(position={"x": right * size["width"], "y": down * size["height"]})
        visit.settle()


def press(visit: Visit, name: str) -> None:
    visit.tab.get_by_role("button", name=re.compile(name)).first.tap()
    visit.settle()


def draw(visit: Visit, kind: str, *places: tuple[float, float], **answers: str) -> None:
    visit.choose("Draw", kind)
    for label, text in answers.items():
        field = visit.tab.get_by_role("textbox", name=label, exact=True)
        field.fill(text)
        field.press("Enter")
        visit.settle()
    tap(visit, *places)
    press(visit, r"Finish \(")


def mode(visit: Visit, name: str) -> None:
    visit.tab.get_by_role("radio", name=name).or_(
        visit.tab.get_by_role("button", name=name, exact=True)
    ).first.tap()
    visit.settle()


def saved(visit: Visit, button: str, path: Path) -> Path:
    with visit.tab.expect_download() as download:
        visit.tab.get_by_role("button", name=button).tap()
    download.value.save_as(path)
    return path


def square(x: float, y: float, half: float) -> list[tuple[float, float]]:
    return [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]


def test_a_course_is_drawn_saved_and_read(phone: Visit, tmp_path: Path) -> None:
    tab = phone.tab
    tab.get_by_text("a new map").tap()
    phone.settle()
    press(phone, "Start a new map here")
    # 1500 m of boundary; a hole of some 400 m is easier to draw from nearer.
    tap(phone, (0.5, 0.5))
    mode(phone, "draws")
    draw(phone, "line of a hole", (0.5, 0.8), (0.5, 0.5), (0.55, 0.25), Hole="1", Par="4")
    draw(phone, "tee", *square(0.5, 0.8, 0.02), Tees="white")
    draw(phone, "green", *square(0.55, 0.25, 0.03))
    draw(phone, "red penalty area", *square(0.65, 0.45, 0.06))
    tap(phone, (0.1, 0.1))
    press(phone, "Last point away")
    mode(phone, "puts a pin")
    tap(phone, (0.56, 0.255))
    press(phone, "Check the map")
    tab.get_by_text("A plan can be made from this map: 1 holes").wait_for()
    assert overflow(tab) <= 0
    assert tab.locator('[data-testid="stException"]').count() == 0
    path = saved(phone, "Save as GeoJSON", tmp_path / "new.geojson")
    report = check_map(path)
    assert report.course is not None
    (hole,) = report.course.holes
    assert (hole.ref, hole.par) == ("1", 4)
    assert {area.ground.name for area in hole.areas} >= {"GREEN", "RED", "TEE"}
    content = json.loads(path.read_text())
    assert sum(f["properties"].get("golf") == "pin" for f in content["features"]) == 1
    frame = geopandas.read_file(
        saved(phone, "Save as GeoPackage", tmp_path / "new.gpkg"), layer="areas"
    )
    assert set(frame["read_as"]) >= {"green", "tee", "outline"}
    # Mending: the green is chosen by a tap, one of its corners moved, and all of it undone.
    mode(phone, "looks nearer")
    tap(phone, (0.55, 0.25), (0.5, 0.5))
    mode(phone, "mends")
    tap(phone, (0.42, 0.56))
    tab.get_by_text(re.compile("golf=green")).wait_for()
    tap(phone, (0.62, 0.62), (0.7, 0.7))
    moved = json.loads(saved(phone, "Save as GeoJSON", tmp_path / "moved.geojson").read_text())
    green = [
        next(f["geometry"] for f in c["features"] if f["properties"].get("golf") == "green")
        for c in (content, moved)
    ]
    assert green[0] != green[1]
    press(phone, r"Undo \(")
    back = json.loads(saved(phone, "Save as GeoJSON", tmp_path / "back.geojson").read_text())
    assert back == content
    assert not phone.faults


def test_another_course_leaves_nothing_of_the_last_one(phone: Visit) -> None:
    tab = phone.tab
    tab.get_by_text("the course chosen in the side panel").tap()
    phone.settle()
    assert "Tarrowick" in str(tab.locator(".tap-drawing").first.get_attribute("aria-label"))
    tab.locator('[data-testid="stExpandSidebarButton"]').tap()
    phone.choose("Course", "Pebblecote")
    label = str(tab.locator(".tap-drawing").first.get_attribute("aria-label"))
    assert "Pebblecote" in label
    assert tab.locator('[data-testid="stMain"]').get_by_text("Tarrowick").count() == 0
    assert overflow(tab) <= 0
    assert not phone.faults
