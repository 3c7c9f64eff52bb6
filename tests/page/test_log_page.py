"""Logging a round on the page: big controls, hole by hole, nothing lost on a reload."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.course.lies import Lie
from planner.demo_data import app_file, demo_folder
from planner.page import log_page
from planner.planning.request import PlanRequest
from planner.store.location import STORE_VARIABLE
from planner.store.opening import open_store
from planner.store.rounds import rounds
from planner.strategy.strokes_gained import (
    GainedShot,
    HoleAccount,
    PlayedShot,
    RoundAccounts,
)


def accounts(request: PlanRequest, rows: Any, **_: Any) -> RoundAccounts:
    """One stroke gained on every hole, without solving."""
    holes = []
    for ref, shots in rows.items():
        strokes = sum(row.strokes + row.penalties for row in shots)
        shot = PlayedShot(1, (0.0, 0.0), Lie.TEE, "Driver", strokes)
        holes.append(HoleAccount(ref, 4, (GainedShot(shot, strokes + 1.0, 0.0, "Driver", 0.0),)))
    return RoundAccounts("C", "A", "red", tuple(holes), (), ("a *note*",))


@pytest.fixture
def where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "store.sqlite"
    monkeypatch.setenv(STORE_VARIABLE, str(path))
    monkeypatch.setattr(log_page, "round_accounts", accounts)
    log_page.log_jobs.clear()
    return path


def opened(page: AppTest) -> AppTest:
    page.run()
    page._page_hash = calc_hash("log")
    page.run()
    assert not page.exception
    return page


@pytest.fixture
def log(quick: Any, where: Path) -> AppTest:
    return opened(AppTest.from_file(str(app_file()), default_timeout=60))


def control(page: AppTest, kind: str, start: str) -> Any:
    return next(w for w in getattr(page, kind) if w.key and w.key.startswith(start))


def press(page: AppTest, key: str) -> None:
    page.button(key=key).click().run()
    assert not page.exception


def tee_shot(page: AppTest, club: str = "Driver", penalty: int = 0) -> None:
    control(page, "button_group", "log_club/").set_value(club).run()
    if penalty:
        control(page, "button_group", "log_penalty/").set_value(penalty).run()
    press(page, "log_add")


def putts(page: AppTest, away: float, count: int) -> None:
    control(page, "button_group", "log_lie/").set_value("green").run()
    control(page, "number_input", "log_putt/").set_value(away).run()
    control(page, "button_group", "log_putts/").set_value(count).run()
    press(page, "log_holed")


def shown(page: AppTest) -> str:
    parts = [*page.markdown, *page.caption, *page.success, *page.error]
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def saved(where: Path) -> Any:
    with open_store(where) as store, store.reading() as work:
        return rounds(work)


def test_every_shot_is_saved_at_once(log: AppTest, where: Path) -> None:
    assert "Hole 1, par 4: 0 strokes" in shown(log)
    assert log.button(key="log_add").disabled
    tee_shot(log, penalty=1)
    assert "Hole 1, par 4: 2 strokes" in shown(log)
    (one,) = saved(where)
    assert [(shot.club, shot.lie, shot.penalties) for shot in one.shots] == [("Driver", "tee", 1)]
    # The next shot is not from the tee unless that is said, so the pin's distance is asked for.
    assert log.button(key="log_add").disabled
    control(log, "button_group", "log_club/").set_value("7 iron").run()
    assert log.button(key="log_add").disabled
    control(log, "number_input", "log_away/").set_value(110).run()
    press(log, "log_add")
    putts(log, 6.0, 2)
    assert "5 strokes ✓" in shown(log)
    (one,) = saved(where)
    assert one.strokes == 5
    assert one.holes[0].putts == 2


def test_a_reload_loses_nothing(log: AppTest, quick: Any) -> None:
    tee_shot(log)
    again = opened(AppTest.from_file(str(app_file()), default_timeout=60))
    assert "Hole 1, par 4: 1 stroke" in shown(again)
    assert "1. tee: Driver" in shown(again)


def test_the_last_shot_can_be_taken_back(log: AppTest, where: Path) -> None:
    assert log.button(key="log_undo").disabled
    tee_shot(log)
    press(log, "log_undo")
    assert "Hole 1, par 4: 0 strokes" in shown(log)
    (one,) = saved(where)
    assert one.shots == ()


def test_a_shot_can_go_in_and_holes_follow_one_another(log: AppTest) -> None:
    press(log, "log_after")
    press(log, "log_after")
    assert "Hole 3, par 3" in shown(log)
    control(log, "button_group", "log_club/").set_value("7 iron").run()
    press(log, "log_in")
    assert "Hole 3, par 3: 1 stroke ✓" in shown(log)
    press(log, "log_before")
    assert "Hole 2" in shown(log)


def test_finished_holes_are_valued(log: AppTest) -> None:
    control(log, "button_group", "log_club/").set_value("Driver").run()
    press(log, "log_in")
    log.button(key="value_logged_start").click()
    for _ in range(50):
        log.run()
        assert not log.exception
        if log.metric:
            break
        time.sleep(0.05)
    assert {metric.label: metric.value for metric in log.metric}["Score"] == "1"
    assert log.table[0].value.to_dict("records")[0]["Hole"] == "**1** par 4"


def test_what_cannot_be_saved_is_not_shown_as_saved(
    log: AppTest, where: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    where.unlink(missing_ok=True)
    where.mkdir()
    tee_shot(log)
    assert "Not saved" in shown(log)
    assert "Hole 1, par 4: 0 strokes" in shown(log)


def test_a_file_is_read_with_its_faults(log: AppTest) -> None:
    text = "hole,lie,to pin (m),club\n1,tee,,Driver\n2,swamp,3,Driver\n"
    log.file_uploader(key="log_upload").set_value(("r.csv", text.encode(), "text/csv")).run()
    assert not log.exception
    assert "line 3, lie" in shown(log)
    assert any(button.key == "value_file_start" for button in log.button)
    log.file_uploader(key="log_upload").set_value(("r.csv", b"a,b\n1,2\n", "text/csv")).run()
    assert "no column is headed hole" in shown(log)


def test_the_demo_round_can_be_loaded(log: AppTest) -> None:
    content = (demo_folder() / "rounds" / "odile_marrow.csv").read_bytes()
    log.file_uploader(key="log_upload").set_value(("r.csv", content, "text/csv")).run()
    assert not log.exception
    assert not log.error
