"""Killed at any point, a program leaves every acknowledged thing and no half one."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from .killing import TASKS
from .postgres_server import PostgresServer

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
ON_SERVER = ("save", "import", "delete", "erase")
"""A server migrates in the same transactions, and has backups of its own."""


def killed(
    tasks: tuple[str, ...], places: list[str], folder: Path, *, kills: int
) -> dict[str, dict[str, int]]:
    """Counts by task, once every one was killed ``kills`` times and found whole."""
    command = [sys.executable, str(Path(__file__).with_name("killing.py")), ",".join(places)]
    done = subprocess.run(
        [*command, str(folder), str(kills), "20260501", *tasks],
        capture_output=True,
        text=True,
        check=False,
        timeout=1800,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    counted: dict[str, dict[str, int]] = json.loads(done.stdout)
    assert list(counted) == list(tasks)
    assert all(one["kills"] == kills for one in counted.values())
    return counted


def files(folder: Path, tasks: tuple[str, ...]) -> list[str]:
    return [str(folder / f"{task}.sqlite") for task in tasks]


def test_file_survives_some_kills(tmp_path: Path) -> None:
    tasks = tuple(TASKS)
    killed(tasks, files(tmp_path, tasks), tmp_path, kills=3)


def test_server_survives_some_kills(server: PostgresServer, tmp_path: Path) -> None:
    names = [server.new_database() for _ in ON_SERVER]
    killed(ON_SERVER, [server.url(name) for name in names], tmp_path, kills=2)
    for name in names:
        server.free_database(name)


@pytest.mark.slow
@pytest.mark.parametrize("task", TASKS)
def test_file_survives_many_kills(tmp_path: Path, task: str) -> None:
    counted = killed((task,), files(tmp_path, (task,)), tmp_path, kills=34)
    # Some were killed at work, not only at the start.
    assert counted[task]["acknowledged"] > 0
    assert 0 < counted[task]["cut off at once"] < 34


@pytest.mark.slow
@pytest.mark.parametrize("task", ON_SERVER)
def test_server_survives_many_kills(server: PostgresServer, tmp_path: Path, task: str) -> None:
    name = server.new_database()
    counted = killed((task,), [server.url(name)], tmp_path, kills=25)
    assert counted[task]["acknowledged"] > 0
    server.free_database(name)
