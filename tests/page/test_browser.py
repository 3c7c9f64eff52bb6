"""The page in a real browser, at phone and desktop width, light and dark."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from planner.report.palette import palette

from .serving import ANSWER, DESKTOP, DRAWING, PHONE, Visit, chromium, overflow, served

pytestmark = pytest.mark.browser

HERE = Path(__file__).resolve().parent


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a served page; the server is ended afterwards."""
    with served(tmp_path_factory.mktemp("page"), HERE / "quick_app.py") as (url, _):
        yield url


@pytest.fixture(scope="module")
def browser(address: str) -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.fixture(
    params=[(PHONE, "light"), (PHONE, "dark"), (DESKTOP, "light"), (DESKTOP, "dark")],
    ids=["phone-light", "phone-dark", "desktop-light", "desktop-dark"],
)
def visit(request: pytest.FixtureRequest, browser: Any) -> Iterator[Visit]:
    visit = Visit(browser, *request.param)
    yield visit
    visit.context.close()


@pytest.fixture
def phone(browser: Any) -> Iterator[Visit]:
    visit = Visit(browser, PHONE, "light")
    yield visit
    visit.context.close()


def brightness(tab: Any, selector: str) -> float:
    colour = tab.eval_on_selector(selector, "e => getComputedStyle(e).backgroundColor")
    return sum(int(part) for part in re.findall(r"\d+", colour)[:3]) / 3


def test_first_screen(visit: Visit, address: str) -> None:
    tab = visit.open(address)
    assert tab.locator('[data-testid="stException"]').count() == 0
    assert not visit.faults
    assert overflow(tab) <= 0
    # The answer is seen without scrolling.
    heading = tab.locator(ANSWER).first
    assert heading.bounding_box()["y"] < tab.viewport_size["height"] * 0.6
    assert visit.answer() == "Driver, carries 205 m"
    dark = tab.evaluate("() => matchMedia('(prefers-color-scheme: dark)').matches")
    assert (brightness(tab, ".stApp") < 60) is dark
    # The drawing follows.
    fills = tab.eval_on_selector_all(f"{DRAWING} path", "p => p.map(e => e.getAttribute('fill'))")
    assert palette(dark=dark)["fairway"].fill in fills
    assert palette(dark=not dark)["fairway"].fill not in fills
    outside = {url for url in visit.asked if url.startswith("http") and not url.startswith(address)}
    assert not outside


def test_the_drawing_has_equal_scale_and_words(phone: Visit, address: str) -> None:
    tab = phone.open(address)
    box = tab.locator(DRAWING).first.bounding_box()
    assert box["width"] == pytest.approx(350, abs=2)
    assert box["height"] == pytest.approx(600, abs=2)
    assert tab.locator('[aria-label^="Drawing of hole 1, par 4"]').count() == 1


def test_club_aim_and_hole(phone: Visit, address: str) -> None:
    tab = phone.open(address)
    first = phone.strokes()
    phone.choose("Try another club", "5 iron")
    club = phone.strokes()
    assert club != first
    assert phone.answer().startswith("You try: 5 iron")
    tab.get_by_role("slider", name=re.compile("Move the aim")).focus()
    for _ in range(25):
        tab.keyboard.press("ArrowRight")
    phone.settle()
    tab.wait_for_timeout(300)
    aimed = phone.strokes()
    assert float(aimed) > float(club)
    # The next hole starts from its own best shot; nothing of this one is left.
    tab.get_by_role("button", name="▶").click()
    tab.get_by_text("Hole 2, The Larches").wait_for()
    phone.settle()
    assert "You try" not in phone.answer()
    assert tab.get_by_text("Harbour Road").count() == 0
    assert tab.locator('[aria-label^="Drawing of hole 1,"]').count() == 0
    assert "hole=2" in tab.url
    # A reload, or the link sent to someone else, shows the same.
    again = phone.strokes()
    tab.reload()
    tab.get_by_text("Hole 2, The Larches").wait_for()
    phone.settle()
    assert phone.strokes() == again
    assert not phone.faults


def test_the_rarer_choices_fit_a_phone(phone: Visit, address: str) -> None:
    tab = phone.open(address)
    tab.locator('[data-testid="stExpandSidebarButton"]').tap()
    panel = tab.locator('[data-testid="stSidebarContent"]')
    assert not panel.get_by_text("Clubs to carry").is_visible()
    panel.get_by_text("More", exact=True).tap()
    panel.get_by_text("Clubs to carry").wait_for()
    panel.get_by_text("Local Rule E-5").tap()
    phone.settle()
    assert panel.evaluate("e => e.scrollWidth - e.clientWidth") <= 0
    assert overflow(tab) <= 0
    assert "e5=true" in tab.url
    assert tab.locator('[data-testid="stException"]').count() == 0
    assert not phone.faults


def test_course_and_units(browser: Any, address: str) -> None:
    visit = Visit(browser, DESKTOP, "light")
    tab = visit.open(f"{address}/?hole=4&units=yards")
    assert "yd" in visit.answer()
    visit.choose("Course", "Pebblecote")
    tab.get_by_text("Hole 4, Furze").wait_for()
    visit.settle()
    assert tab.get_by_text("Tarrowick").count() == 0
    assert tab.get_by_text("March Dyke").count() == 0
    assert "course=Pebblecote" in tab.url
    assert overflow(tab) <= 0
    visit.context.close()


def test_round_and_help(phone: Visit, address: str) -> None:
    tab = phone.open(f"{address}/?units=yards&hole=3")
    tab.get_by_role("link", name="Round", exact=True).click()
    tab.get_by_role("button", name="Plan the round").click()
    tab.get_by_role("button", name="Save the plan as JSON").wait_for()
    phone.settle()
    assert tab.locator('[data-testid="stTable"] tbody tr').count() == 21
    assert overflow(tab) <= 0
    assert "yd" in tab.locator('[data-testid="stTable"]').inner_text()
    tab.get_by_role("link", name="Help and limits").click()
    tab.get_by_role("heading", name="What is left out").wait_for()
    assert overflow(tab) <= 0
    tab.get_by_role("link", name="Hole by hole").click()
    tab.get_by_text("Hole 3, Gannet").wait_for()
    assert tab.locator('[data-testid="stException"]').count() == 0
    assert not phone.faults


def tap(visit: Visit, right: float, down: float) -> None:
    """Tap or click at a share of the drawing's width and height."""
    box = visit.tab.locator(DRAWING).first
    size = box.bounding_box()
    place = {"x": right * size["width"], "y": down * size["height"]}
    if visit.touch:
        box.tap(position=place)
    else:
        box.click(position=place)
    visit.settle()


def aim_right(tab: Any) -> float:
    """Metres by which the address says the aim was moved."""
    found = re.search(r"aim_right=(-?[0-9.]+)", tab.url)
    return float(found[1]) if found else 0.0


def test_a_tap_moves_the_aim(phone: Visit, address: str) -> None:
    tab = phone.open(address)
    best = phone.strokes()
    tap(phone, 0.8, 0.3)
    phone.tab.get_by_text("You try: Driver").wait_for()
    assert float(phone.strokes()) > float(best)
    right = aim_right(tab)
    assert right > 5
    # What five metres cost is said before they are moved, and they can be.
    nudge = tab.get_by_role("button", name=re.compile("5 m left"))
    assert ": -" in nudge.inner_text()
    nudge.tap()
    phone.settle()
    assert aim_right(tab) == right - 5
    assert not phone.faults


def test_a_ball_anywhere_by_tap_by_numbers_and_by_link(phone: Visit, address: str) -> None:
    tab = phone.open(address)
    tab.get_by_text("puts the ball").tap()
    phone.settle()
    tee = phone.strokes()
    tap(phone, 0.5, 0.75)
    tab.get_by_text(re.compile("Your ball:")).wait_for()
    tapped = phone.strokes()
    assert tapped != tee
    tab.get_by_role("heading", name="Every choice from there").wait_for()
    numbers = tab.get_by_role("spinbutton")
    to_go = float(numbers.first.input_value())
    numbers.first.fill(str(round(to_go - 40)))
    numbers.first.press("Enter")
    phone.settle()
    assert float(phone.strokes()) < float(tapped)
    tab.locator('[data-testid="stSelectbox"]', has_text="Lie").get_by_role("combobox").tap()
    tab.get_by_role("option", name="sand", exact=True).click()
    phone.settle()
    tab.get_by_text(re.compile("Your ball: sand")).wait_for()
    assert overflow(tab) <= 0
    # The link shows the same ball to somebody else.
    again = phone.strokes()
    other = Visit(tab.context.browser, DESKTOP, "light")
    other.open(tab.url)
    other.tab.get_by_text(re.compile("Your ball: sand")).wait_for()
    assert other.strokes() == again
    assert not other.faults
    other.context.close()
    # Another hole knows nothing of it.
    tab.get_by_role("button", name="▶").click()
    tab.get_by_text("Hole 2, The Larches").wait_for()
    phone.settle()
    assert tab.get_by_text(re.compile("Your ball:")).count() == 0
    assert "ball=" not in tab.url
    assert not phone.faults


def test_the_aim_is_dragged(browser: Any, address: str) -> None:
    visit = Visit(browser, DESKTOP, "dark")
    tab = visit.open(address)
    grip = tab.locator(".handle .grip").bounding_box()
    x, y = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2
    tab.mouse.move(x, y)
    tab.mouse.down()
    tab.mouse.move(x - 20, y)
    tab.mouse.move(x - 60, y + 5)
    tab.mouse.up()
    tab.get_by_text("You try: Driver").wait_for()
    visit.settle()
    assert aim_right(tab) < -5
    assert not visit.faults
    visit.context.close()


def test_layers_and_side_by_side(phone: Visit, address: str) -> None:
    tab = phone.open(address)
    shapes = tab.locator(f"{DRAWING} path").count()
    tab.get_by_role("button", name="expected strokes", exact=True).tap()
    phone.settle()
    with_lines = tab.locator(f"{DRAWING} path").count()
    assert with_lines > shapes
    tab.get_by_role("button", name="100 shots").tap()
    phone.settle()
    assert tab.locator(f"{DRAWING} path").count() > with_lines
    phone.choose("Compare with", "3 wood")
    tab.get_by_text(re.compile("3 wood: .* strokes more")).wait_for()
    phone.choose("Compare with", "Bram Oskel")
    tab.get_by_text(re.compile("tie|strokes (more|fewer)")).last.wait_for()
    assert overflow(tab) <= 0
    assert tab.locator('[data-testid="stException"]').count() == 0
    assert not phone.faults
