"""A served page and a browser, for tests that need the real ones."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = next(
    (
        path
        for name in ("chromium", "chromium-browser", "google-chrome")
        if (path := shutil.which(name))
    ),
    None,
)
DRAWING = '.tap-drawing[aria-label^="Drawing of hole"] svg'


PHONE, DESKTOP = (390, 844), (1280, 900)
WAIT_MS = 60_000
ANSWER = '[data-testid="stMain"] h3'


def free_port() -> int:
    """Port of this computer on which nobody listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def served(
    folder: Path, script: Path, environment: Mapping[str, str] | None = None
) -> Iterator[tuple[str, Path]]:
    """Address of a served page and the file of what it logs; it is ended afterwards."""
    port = free_port()
    command = [sys.executable, "-m", "streamlit", "run", str(script), "--server.headless=true"]
    command += ["--server.address=127.0.0.1", f"--server.port={port}"]
    command += ["--server.fileWatcherType=none"]
    # What is kept on one page is nobody else's.
    told = {"PLANNER_STORE": str(folder / "store.sqlite"), **(environment or {})}
    with running(folder, command, told, port) as log:
        yield f"http://127.0.0.1:{port}", log


@contextmanager
def running(
    folder: Path, command: Sequence[str], environment: Mapping[str, str], port: int
) -> Iterator[Path]:
    """Server that ``command`` starts; file of what it logs."""
    log = folder / "server.log"
    with log.open("w") as out:
        server = subprocess.Popen(
            command, cwd=ROOT, stdout=out, stderr=out, env={**os.environ, **environment}
        )
        try:
            end = time.monotonic() + 90
            while not _healthy(port):
                if server.poll() is not None or time.monotonic() > end:
                    pytest.fail(f"the page did not start:\n{log.read_text()}")
                time.sleep(0.1)
            yield log
        finally:
            server.terminate()
            try:
                server.wait(10)
            except subprocess.TimeoutExpired:
                server.kill()


def _healthy(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health", timeout=1):
            return True
    except (urllib.error.URLError, OSError):
        return False


@contextmanager
def chromium(*more: str) -> Iterator[Any]:
    """Browser, with ``more`` arguments; the test is skipped where there is none."""
    if CHROMIUM is None:
        pytest.skip("no Chromium on the path: install it to run the browser tests")
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as playwright:
        try:
            browser = playwright.chromium.launch(
                executable_path=CHROMIUM,
                args=["--no-sandbox", "--disable-dev-shm-usage", *more],
            )
        except api.Error as error:
            pytest.skip(f"Chromium cannot be started: {error}")
        yield browser
        browser.close()


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
        self.tab.wait_for_timeout(300)
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


def overflow(tab: Any) -> float:
    return float(
        tab.evaluate(
            "() => Math.max(document.documentElement.scrollWidth,"
            " document.querySelector('[data-testid=\"stMain\"]').scrollWidth)"
            " - document.documentElement.clientWidth"
        )
    )
