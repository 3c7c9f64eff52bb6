"""The page in a real browser, at phone and desktop width, light and dark."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from planner.report.palette import palette

pytestmark = pytest.mark.browser

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
CHROMIUM = next(
    (
        path
        for name in ("chromium", "chromium-browser", "google-chrome")
        if (path := shutil.which(name))
    ),
    None,
)
PHONE, DESKTOP = (390, 844), (1280, 900)
WAIT_MS = 15_000
ANSWER = '[data-testid="stMain"] h3'
DRAWING = '[data-testid="stVegaLiteChart"][aria-label^="Drawing of hole"] svg'


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a served page; the server is ended afterwards."""
    if CHROMIUM is None:
        pytest.skip("no Chromium on the path: install it to run the browser tests")
    pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    log = tmp_path_factory.mktemp("page") / "server.log"
    command = [sys.executable, "-m", "streamlit", "run", str(HERE / "quick_app.py")]
    command += ["--server.headless=true", "--server.address=127.0.0.1", f"--server.port={port}"]
    command += ["--server.fileWatcherType=none"]
    with log.open("w") as out:
        server = subprocess.Popen(command, cwd=ROOT, stdout=out, stderr=out, env={**os.environ})
        try:
            url = f"http://127.0.0.1:{port}"
            _wait_until_healthy(url, server, log)
            yield url
        finally:
            server.terminate()
            server.wait(10)


def _wait_until_healthy(url: str, server: subprocess.Popen[Any], log: Path) -> None:
    end = time.monotonic() + 30
    while time.monotonic() < end:
        if server.poll() is not None:
            break
        try:
            with urllib.request.urlopen(f"{url}/_stcore/health", timeout=1):
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)
    pytest.fail(f"the page did not start:\n{log.read_text()}")


@pytest.fixture(scope="module")
def browser(address: str) -> Iterator[Any]:
    from playwright.sync_api import Error, sync_playwright

    with sync_playwright() as playwright:
        try:
            found = playwright.chromium.launch(
                executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage"]
            )
        except Error as error:
            pytest.skip(f"Chromium cannot be started: {error}")
        yield found
        found.close()


class Visit:
    """One visit: the tab, what it asked the network for, and what went wrong in it."""

    def __init__(self, browser: Any, size: tuple[int, int], scheme: str) -> None:
        phone = self.touch = size == PHONE
        self.context = browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            device_scale_factor=2 if phone else 1,
            is_mobile=phone,
            has_touch=phone,
            color_scheme=scheme,
        )
        self.context.set_default_timeout(WAIT_MS)
        self.tab = self.context.new_page()
        self.asked: list[str] = []
        self.faults: list[str] = []
        self.tab.on("request", lambda request: self.asked.append(request.url))
        self.tab.on("pageerror", lambda fault: self.faults.append(str(fault)))

    def open(self, url: str) -> Any:
        self.tab.goto(url)
        self.tab.wait_for_selector(DRAWING)
        self.settle()
        return self.tab

    def settle(self) -> None:
        """Wait until the server has answered the last change."""
        self.tab.wait_for_timeout(150)
        self.tab.wait_for_function(
            "() => !document.querySelector('[data-testid=\"stStatusWidget\"]')"
            " && document.querySelector('.stApp').dataset.testScriptState !== 'running'"
        )
        self.tab.wait_for_timeout(150)

    def choose(self, label: str, option: str) -> None:
        """Choose in a list as a finger or a mouse does."""
        box = self.tab.locator('[data-testid="stSelectbox"]', has_text=label)
        field = box.get_by_role("combobox")
        if self.touch:
            field.tap()
        else:
            field.click()
        self.tab.get_by_role("option", name=option).click()
        self.settle()

    def strokes(self) -> str:
        metric = self.tab.locator('[data-testid="stMetric"]', has_text="Expected strokes")
        return str(metric.locator('[data-testid="stMetricValue"]').inner_text()).strip()

    def answer(self) -> str:
        return str(self.tab.locator(ANSWER).first.inner_text()).replace("\u00a0", " ")


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


def overflow(tab: Any) -> float:
    return float(
        tab.evaluate(
            "() => Math.max(document.documentElement.scrollWidth,"
            " document.querySelector('[data-testid=\"stMain\"]').scrollWidth)"
            " - document.documentElement.clientWidth"
        )
    )


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
