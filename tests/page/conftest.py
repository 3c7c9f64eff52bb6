from __future__ import annotations

import importlib.util
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
from streamlit.testing.v1 import AppTest

from planner.demo_data import app_file
from planner.page import solving

HERE = Path(__file__).parent


def _load_stand_in() -> ModuleType:
    spec = importlib.util.spec_from_file_location("page_stand_in", HERE / "stand_in.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def stand_in() -> ModuleType:
    return _load_stand_in()


@pytest.fixture(autouse=True)
def own_store(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Keep what a test saves out of everybody's data folder."""
    monkeypatch.setenv("PLANNER_STORE", str(tmp_path / "store" / "store.sqlite"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch, stand_in: ModuleType) -> Iterator[ModuleType]:
    """Put the stand-in where the page asks for plans."""
    monkeypatch.setattr("planner.page.solving.open_hole", stand_in.open_hole)
    monkeypatch.setattr("planner.page.solving.plan_round", stand_in.plan_round)
    monkeypatch.setattr("planner.page.kept_plans.plan_as_json", stand_in.plan_as_json)
    # Maps and bags stay cached, they are real; what the stand-in made must not leak out.
    solving.hole_desks.clear()
    solving.round_jobs.clear()
    yield stand_in
    solving.hole_desks.clear()
    solving.round_jobs.clear()


@pytest.fixture
def page(quick: ModuleType) -> AppTest:
    return AppTest.from_file(str(app_file()), default_timeout=60)
