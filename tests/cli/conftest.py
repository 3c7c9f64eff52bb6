"""Made-up plans for tests of commands that would have to wait for real ones."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

STAND_IN = Path(__file__).resolve().parents[1] / "page" / "stand_in.py"


@pytest.fixture(scope="session")
def stand_in() -> ModuleType:
    spec = importlib.util.spec_from_file_location("cli_stand_in", STAND_IN)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module
