"""Every page in a real browser at both widths: no fault, nothing too wide, nothing stale."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from .serving import DESKTOP, PHONE, Visit, chromium, overflow, served

pytestmark = pytest.mark.browser

HERE = Path(__file__).resolve().parent
LINKS = '[data-testid="stMain"] [data-testid="stPageLink"] a'
MAIN = '[data-testid="stMain"]'


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(tmp_path_factory.mktemp("every"), HERE / "quick_app.py") as (url, _):
        yield url


@pytest.fixture(scope="module")
def browser(address: str) -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.fixture(params=[(PHONE, "dark"), (DESKTOP, "light")], ids=["phone", "desktop"])
def visit(request: pytest.FixtureRequest, browser: Any, address: str) -> Iterator[Visit]:
    visit = Visit(browser, *request.param)
    visit.open(address)
    yield visit
    visit.context.close()


def pages(visit: Visit) -> list[str]:
    return [str(text).strip() for text in visit.tab.locator(LINKS).all_inner_texts()]


def go(visit: Visit, title: str) -> None:
    link = visit.tab.locator(LINKS, has_text=re.compile(f"^{re.escape(title)}$")).first
    link.click()
    visit.tab.wait_for_timeout(400)
    visit.settle()


def check(visit: Visit, title: str) -> None:
    tab = visit.tab
    # The foot of the page comes last.
    tab.locator(MAIN).get_by_text("Before you play").wait_for()
    assert tab.locator('[data-testid="stException"]').count() == 0, title
    assert overflow(tab) <= 0, title
    assert not visit.faults, title
    # Whatever can be pressed has a name to be read out.
    nameless = tab.eval_on_selector_all(
        f"{MAIN} button, {MAIN} a, {MAIN} input",
        """found => found.filter(e => e.checkVisibility() && e.tabIndex >= 0 && !(
            e.textContent.trim() || e.ariaLabel || e.title || e.placeholder
            || e.labels?.length || e.getAttribute('aria-labelledby')
            || e.closest('label') || e.querySelector('[aria-label], [title], img[alt]')
        )).map(e => e.outerHTML.slice(0, 120))""",
    )
    assert nameless == [], title


def test_every_page(visit: Visit, address: str) -> None:
    titles = pages(visit)
    assert {"Hole by hole", "Round", "Golfers", "Map", "Help and limits"} <= set(titles)
    for title in titles:
        go(visit, title)
        check(visit, title)
    outside = {url for url in visit.asked if url.startswith("http") and not url.startswith(address)}
    assert not outside


@pytest.mark.slow
def test_another_course_and_units_reach_every_page(visit: Visit) -> None:
    tab = visit.tab
    titles = pages(visit)
    if visit.touch:
        tab.locator('[data-testid="stExpandSidebarButton"]').tap()
    visit.choose("Course", "Pebblecote")
    tab.locator('[data-testid="stSidebarContent"]').get_by_text("yards", exact=True).click()
    visit.settle()
    if visit.touch:
        tab.locator('[data-testid="stSidebarCollapseButton"] button').tap()
    for title in titles:
        go(visit, title)
        check(visit, title)
        said = tab.locator(MAIN).inner_text().replace("\u00a0", " ")
        assert "Tarrowick" not in said, title
        assert "course=Pebblecote" in tab.url, title
        assert "units=yards" in tab.url, title
        # Of distances that are shown none is in metres.
        assert not re.search(r"\b\d+ m\b", said), title


@pytest.mark.slow
def test_keyboard_alone_reaches_the_controls(browser: Any, address: str) -> None:
    visit = Visit(browser, DESKTOP, "light")
    tab = visit.open(address)
    seen = set()
    for _ in range(70):
        tab.keyboard.press("Tab")
        seen.add(
            tab.evaluate(
                "() => { const e = document.activeElement; return (e.getAttribute('aria-label')"
                " || e.innerText || e.getAttribute('role') || e.tagName).trim().slice(0, 40); }"
            )
        )
    said = " | ".join(sorted(str(one) for one in seen))
    for wanted in ("Round", "Map", "◀", "▶", "tee", "Try another club", "5 m left", "5 m right"):
        assert wanted in said, said
    visit.context.close()


def test_downloads_open(browser: Any, address: str, tmp_path: Path) -> None:
    visit = Visit(browser, PHONE, "light")
    tab = visit.open(address)

    def saved(name: str) -> bytes:
        with tab.expect_download() as download:
            tab.get_by_role("button", name=name).tap()
        path = tmp_path / "file"
        download.value.save_as(path)
        return path.read_bytes()

    go(visit, "Golfers")
    (sheet,) = pypdfium2.PdfDocument(io.BytesIO(saved("Same hole, these golfers")))
    assert sheet.get_width() > sheet.get_height()
    go(visit, "Round")
    tab.get_by_role("button", name="Plan the round").tap()
    tab.get_by_role("button", name="Save the plan as JSON").wait_for()
    visit.settle()
    for name, count in (("booklet to fold", 5), ("larger print", 20), ("Coach's sheet", 1)):
        assert len(pypdfium2.PdfDocument(io.BytesIO(saved(name)))) >= count
    assert saved("Save the plan as JSON").lstrip().startswith(b"{")
    check(visit, "Round")
    visit.context.close()
