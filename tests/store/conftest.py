from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from planner.store.opening import Store, open_store

from .postgres_server import PostgresServer, find_programs

ENGINES = ("sqlite", "postgresql")


@pytest.fixture(scope="session")
def server() -> Iterator[PostgresServer]:
    """Private PostgreSQL server."""
    programs = find_programs()
    if programs is None:
        pytest.skip("no PostgreSQL server here (Debian: apt-get install postgresql)")
    running = PostgresServer(programs)
    yield running
    running.stop()


@pytest.fixture(params=ENGINES)
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[[], str]]:
    """Gives places of stores that do not exist yet, on either database."""
    made: list[str] = []
    if request.param == "postgresql":
        server: PostgresServer = request.getfixturevalue("server")

        def place() -> str:
            made.append(server.new_database())
            return server.url(made[-1])

    else:

        def place() -> str:
            made.append("")
            return str(tmp_path / f"store{len(made)}.sqlite")

    yield place
    for name in filter(None, made):
        server.free_database(name)


@pytest.fixture
def place(new_place: Callable[[], str]) -> str:
    """Where a store is to be."""
    return new_place()


@pytest.fixture
def store(place: str) -> Iterator[Store]:
    """Empty store on either database."""
    with open_store(place, wait_s=1.0) as opened:
        yield opened


@pytest.fixture
def file_store(tmp_path: Path) -> Iterator[Store]:
    """Empty store in a file."""
    with open_store(tmp_path / "store.sqlite", wait_s=1.0) as opened:
        yield opened
