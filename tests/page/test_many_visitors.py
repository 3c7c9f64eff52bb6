"""Many people on one public page at once: real browsers through a proxy that logs them in.

Each has a bag of his own, uploaded, and a hole of his own; what he sees, what he changes and what
he saves must be his, and the right numbers.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from typer.testing import CliRunner

from planner.cli import page_command
from planner.cli.app import app
from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_bag_names, demo_folder
from planner.golfer.bag import bag_from_text, read_bag
from planner.page.access import header_access, header_visitor
from planner.planning.hole_desk import open_hole
from planner.planning.request import PlanRequest
from planner.report import words
from planner.store.golfers import golfers
from planner.store.opening import open_store
from planner.store.rounds import rounds

from .naming_proxy import HEADER, naming_proxy
from .serving import DESKTOP, Visit, chromium, free_port, running
from .session import session

HERE = Path(__file__).resolve().parent
FEW, MANY = 3, 20
COURSES = {"tarrowick": "Tarrowick", "pebblecote": "Pebblecote Short Course"}


@dataclass
class Guest:
    """Somebody with a bag, a hole and a tab of his own."""

    number: int
    bag_text: str
    ref: str
    visit: Visit

    @property
    def name(self) -> str:
        return f"Guest {self.number}"

    @property
    def club(self) -> str:
        return f"Club of guest {self.number}"

    @property
    def tab(self) -> Any:
        return self.visit.tab


def bag_text(number: int) -> str:
    """Bag like a demo golfer's, with another name, index and carry, and a club nobody else has."""
    text = demo_bag("odile_marrow").read_text(encoding="utf-8")
    text = text.replace('name = "Odile Marrow"', f'name = "Guest {number}"', 1)
    text = re.sub(r"handicap_index = [\d.]+", f"handicap_index = {5 + number}.0", text, count=1)
    text = re.sub(r"carry = 151\.0", f"carry = {150 + 4 * number}.0", text, count=1)
    return text.replace('"Driver"', f'"Club of guest {number}"')


def name_of(number: int) -> str:
    return f"guest{number}@golf.invalid"


@contextmanager
def public_page(
    folder: Path, script: Path | None, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[int, Path]]:
    """Port and log of what ``planner page --public`` starts, or of ``script`` served like it."""
    port = free_port()
    told: dict[str, Any] = {}

    def note(command: list[str], *, env: dict[str, str], check: bool) -> Any:
        told.update(command=command, env=env)
        return type("Done", (), {"returncode": 0})

    monkeypatch.setattr(page_command.subprocess, "run", note)
    options = ["--public", "--user-header", HEADER, "--trusted-proxy", "127.0.0.1"]
    done = CliRunner().invoke(app, ["page", f"--port={port}", *options])
    assert done.exit_code == 0, done.output
    monkeypatch.undo()
    command: list[str] = told["command"]
    assert command[0] == sys.executable
    if script is not None:
        command[command.index("run") + 1] = str(script)
    environment = {
        **told["env"],
        "PLANNER_STORE": str(folder / "store.sqlite"),
        "XDG_CACHE_HOME": str(folder / "cache"),
    }
    with running(folder, command, environment, port) as log:
        yield port, log


def sees(guest: Guest, strokes: str) -> None:
    """What stands on the page is this guest's and right."""
    tab = guest.tab
    side = tab.locator('[data-testid="stSidebar"]').inner_text()
    assert f"You are {name_of(guest.number)}." in side
    main = tab.locator('[data-testid="stMain"]').inner_text()
    assert f"{guest.name}, index {5 + guest.number}," in main or (
        f"{guest.name}, index {5 + guest.number} " in main
    )
    assert f"Hole {guest.ref}" in main
    assert guest.visit.strokes() == strokes
    others = set(re.findall(r"(?:Guest|Club of guest) (\d+)", main)) - {str(guest.number)}
    assert not others, f"guest {guest.number} sees what is of {others}"
    assert tab.locator('[data-testid="stException"]').count() == 0
    assert not guest.visit.faults


def all_see(guests: Sequence[Guest], answer: Callable[[Guest], str]) -> None:
    for guest in guests:
        guest.tab.wait_for_selector('h3:has-text("carries")')
        guest.visit.settle()
    for guest in guests:
        sees(guest, answer(guest))


def play_through(
    count: int,
    folder: Path,
    script: Path | None,
    answer: Callable[[Guest], str],
    monkeypatch: pytest.MonkeyPatch,
    *,
    course: str,
    refs: int,
    goes_on: bool,
    wait_s: float,
) -> None:
    """All guests at once: open, upload, read, go on, log a shot; then look what was kept."""
    names = [name_of(number) for number in range(count)]
    with (
        public_page(folder, script, monkeypatch) as (port, log),
        naming_proxy(port, names) as addresses,
        chromium("--disable-gpu", "--disable-smooth-scrolling") as browser,
    ):
        guests = []
        for number in range(count):
            visit = Visit(browser, DESKTOP, "light")
            visit.context.set_default_timeout(wait_s * 1000)
            guest = Guest(number, bag_text(number), str(number % refs + 1), visit)
            query = f"?course={COURSES[course]}&bag=My own bag …&tee=red&hole={guest.ref}"
            guest.tab.goto(f"{addresses[number]}/{query}", wait_until="commit")
            guests.append(guest)
        for guest in guests:
            upload = guest.tab.locator('[data-testid="stSidebar"] input[type="file"]')
            upload.wait_for(state="attached")
            content = guest.bag_text.encode()
            upload.set_input_files(
                [{"name": "bag.toml", "mimeType": "application/toml", "buffer": content}]
            )
        all_see(guests, answer)
        if goes_on:
            for guest in guests:
                guest.tab.get_by_role("button", name="▶").click()
                guest.ref = str(int(guest.ref) % refs + 1)
            for guest in guests:
                guest.tab.wait_for_selector(f'[data-testid="stMain"] :text("Hole {guest.ref}")')
            all_see(guests, answer)
        for guest in guests:
            guest.tab.get_by_role("link", name="After the round").click()
        for guest in guests:
            guest.tab.get_by_role("radio", name=guest.club, exact=True).click()
        for guest in guests:
            guest.visit.settle()
            guest.tab.get_by_role("button", name="Add the shot").click()
        for guest in guests:
            guest.tab.wait_for_selector(f':text("1. tee: {guest.club}")')
            main = guest.tab.locator('[data-testid="stMain"]').inner_text()
            assert set(re.findall(r"Club of guest (\d+)", main)) == {str(guest.number)}
            assert guest.tab.locator('[data-testid="stException"]').count() == 0
            guest.visit.context.close()
        said = log.read_text()
        assert "Traceback" not in said, said[-3000:]
    access = header_access(HEADER, ["127.0.0.1"])
    with open_store(folder / "store.sqlite") as store:
        for guest in guests:
            visitor = header_visitor(access, None, [name_of(guest.number)])
            assert visitor is not None
            with store.reading(visitor.owner) as work:
                assert [one.name for one in golfers(work)] == [guest.name]
                (played,) = rounds(work)
            assert [shot.club for shot in played.shots] == [guest.club]


def request_of(guest: Guest, course: Any) -> PlanRequest:
    bag = bag_from_text(guest.bag_text, source="bag.toml", name="bag")
    return PlanRequest(course, bag, tee="red", threads=1)


def test_twenty_sessions_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stand_in: ModuleType
) -> None:
    """Without browsers, so that all run at once: each its own golfer, hole and numbers."""
    course = read_course(demo_folder() / "tarrowick.geojson")
    bags = [read_bag(demo_bag(name)) for name in demo_bag_names()]

    def visit(number: int) -> list[str]:
        """Look at a hole; what was wrong."""
        bag, faults = bags[number % len(bags)], []
        ref = str(number % 18 + 1)
        with session(port, [(HEADER, name_of(number))], wait_s=120.0) as own:
            query = {"course": COURSES["tarrowick"], "bag": bag.golfer.name, "tee": "red"}
            shown = own.show({**query, "hole": ref})
            desk = stand_in.StandInDesk(PlanRequest(course, bag, tee="red"), ref)
            more = bag.golfer.handicap_index / 10.0
            right = words.strokes(desk.plan.best.expected_strokes + more)
            summary = next((t for t in shown.texts if " · " in t and "index" in t), "")
            if (
                shown.faults
                or shown.metrics.get("Expected strokes") != right
                or f"You are {name_of(number)}." not in shown.text
                or [one.golfer.name for one in bags if one.golfer.name in summary]
                != [bag.golfer.name]
                or f"Hole {ref}" not in shown.text
            ):
                said = f"{shown.metrics} {shown.faults} {summary}"
                faults.append(f"{number}, hole {ref}, {right}: {said}")
        return faults

    with public_page(tmp_path, HERE / "own_numbers_app.py", monkeypatch) as (port, log):
        with ThreadPoolExecutor(MANY) as visitors:
            found = list(visitors.map(visit, range(MANY)))
        said = log.read_text()
    assert [fault for faults in found for fault in faults] == []
    assert "Traceback" not in said, said[-3000:]


@pytest.mark.browser
@pytest.mark.parametrize("count", [FEW, pytest.param(MANY, marks=pytest.mark.slow)])
def test_visitors_at_once(
    count: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stand_in: ModuleType
) -> None:
    course = read_course(demo_folder() / "tarrowick.geojson")

    def answer(guest: Guest) -> str:
        desk = stand_in.StandInDesk(request_of(guest, course), guest.ref)
        return words.strokes(desk.plan.best.expected_strokes + (5 + guest.number) / 10.0)

    play_through(
        count,
        tmp_path,
        HERE / "own_numbers_app.py",
        answer,
        monkeypatch,
        course="tarrowick",
        refs=18,
        goes_on=True,
        wait_s=30 if count == FEW else 600,
    )


@pytest.mark.browser
@pytest.mark.slow
def test_twenty_visitors_at_once_with_the_real_solver(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    course = read_course(demo_folder() / "pebblecote.geojson")
    solved: dict[tuple[int, str], str] = {}

    def answer(guest: Guest) -> str:
        key = (guest.number, guest.ref)
        if key not in solved:
            plan = open_hole(request_of(guest, course), guest.ref).plan
            solved[key] = words.strokes(plan.best.expected_strokes)
        return solved[key]

    play_through(
        MANY,
        tmp_path,
        None,
        answer,
        monkeypatch,
        course="pebblecote",
        refs=len(course.holes),
        goes_on=False,
        wait_s=900,
    )
    assert len(set(solved.values())) > MANY // 2, "the guests' numbers must differ"
