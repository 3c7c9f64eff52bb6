"""The hole kept on the disk for the next start."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
from streamlit.testing.v1 import AppTest

from planner.course.lies import Lie
from planner.course.reading import read_course
from planner.demo_data import demo_bag, demo_folder
from planner.golfer.bag import read_bag
from planner.page import ready_hole, solving, start
from planner.page.ready_hole import keep_ready, kept_ready
from planner.planning.hole_desk import HoleDesk, open_hole
from planner.planning.request import PlanRequest
from planner.store.location import cache_folder


@pytest.fixture(scope="module")
def desk() -> HoleDesk:
    course = read_course(demo_folder() / "pebblecote.geojson")
    bag = read_bag(demo_bag("odile_marrow"))
    return open_hole(PlanRequest(course, bag, tee="red", preview=True), "2")


@pytest.fixture
def kept(desk: HoleDesk) -> Iterator[Path]:
    keep_ready("one", desk)
    (path,) = (cache_folder() / "first hole").iterdir()
    yield path
    path.parent.chmod(0o700)


def test_what_is_kept_answers_as_before(desk: HoleDesk, kept: Path) -> None:
    found = kept_ready("one")
    assert found is not None
    assert found.plan.expected_strokes == desk.plan.expected_strokes
    place = desk.hole.line_hole.interpolate(0.5, normalized=True)
    before = desk.best_shots((place.x, place.y), Lie.FAIRWAY)
    after = found.best_shots((place.x, place.y), Lie.FAIRWAY)
    assert [shot.expected_strokes for shot in after] == [shot.expected_strokes for shot in before]


def test_another_key_or_version_of_the_program_finds_nothing(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert kept_ready("another") is None
    monkeypatch.setattr(ready_hole, "program_digest", lambda: "another")
    assert kept_ready("one") is None


def test_only_the_latest_is_kept(desk: HoleDesk, kept: Path) -> None:
    keep_ready("two", desk)
    assert len(list(kept.parent.iterdir())) == 1
    assert kept_ready("one") is None
    assert kept_ready("two") is not None


@pytest.mark.parametrize("share", [0.0, 0.5, 0.99])
def test_a_file_cut_short_is_as_none(kept: Path, share: float) -> None:
    content = kept.read_bytes()
    kept.write_bytes(content[: int(share * len(content))])
    assert kept_ready("one") is None


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such rights")
@pytest.mark.parametrize("what", ["folder", "file"])
def test_nothing_is_read_that_somebody_else_could_have_written(kept: Path, what: str) -> None:
    (kept if what == "file" else kept.parent).chmod(0o777)
    assert kept_ready("one") is None


def test_a_disk_that_takes_nothing_keeps_nobody_from_starting(
    desk: HoleDesk, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    keep_ready("one", desk)
    assert kept_ready("one") is None


def test_the_next_start_solves_nothing(
    quick: ModuleType, page: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept: dict[str, HoleDesk] = {}
    monkeypatch.setattr(start, "keep_ready", kept.__setitem__)
    monkeypatch.setattr(start, "kept_ready", kept.get)
    start.get_ready()
    (key,) = kept
    solving.hole_desks.clear()
    monkeypatch.delattr(solving, "open_hole")
    start.get_ready()
    assert solving.hole_desks().solved(key) is kept[key]
    page.run()
    assert not page.exception
