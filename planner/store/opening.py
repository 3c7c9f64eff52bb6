"""Open a store: the one door to it for everything above.

::

    store = open_store()
    with store.writing() as work:
        save_golfer(work, "Odile Marrow")

What is done inside ``writing`` is there as a whole once the block is left, or not at all.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from sqlalchemy import Connection, Engine

from planner.errors import OptionError, StoreError
from planner.store.engine import WRITES, make_engine, make_private_file
from planner.store.faults import told_clearly
from planner.store.location import Location, locate
from planner.store.migrations import migrate

__all__ = ["LOCAL_OWNER", "Store", "Work", "open_store"]

LOCAL_OWNER = "local"
"""Owner of everything where nobody logs in."""
MAX_OWNER_CHARACTERS = 200
DEFAULT_WAIT_S = 5.0
"""How long to wait for another program that writes [s]."""


@dataclass(frozen=True)
class Work:
    """A transaction on behalf of an owner; sees that owner's rows only."""

    connection: Connection
    owner: str


class Store:
    """An open store. Made by :func:`open_store`; may be shared by threads."""

    def __init__(self, location: Location, engine: Engine, *, wait_s: float) -> None:
        self.location = location
        self.engine = engine
        self.wait_s = wait_s
        self._writer = engine.execution_options(**{WRITES: True})
        # Threads of one process queue here, in turn, rather than ask the file again and again.
        self._turn = threading.Lock()

    @contextmanager
    def reading(self, owner: str = LOCAL_OWNER) -> Iterator[Work]:
        """Read: everything as it was at one moment.

        Raises
        ------
        StoreError
            The store cannot be read.
        """
        _check_owner(owner)
        with told_clearly(self.location), self.engine.connect() as connection, connection.begin():
            if connection.dialect.name == "postgresql":
                connection.exec_driver_sql(
                    "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"
                )
            yield Work(connection, owner)

    @contextmanager
    def writing(self, owner: str = LOCAL_OWNER) -> Iterator[Work]:
        """Write: all of it is saved when the block is left, or nothing.

        Raises
        ------
        StoreError
            The store cannot be written; nothing was changed.
        """
        _check_owner(owner)
        with (
            told_clearly(self.location),
            self._my_turn(),
            self._writer.connect() as connection,
            connection.begin(),
        ):
            if connection.dialect.name == "postgresql":
                # One writer for each owner at a time, as a file has one writer at all.
                connection.exec_driver_sql(
                    "SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", (owner,)
                )
            yield Work(connection, owner)

    @contextmanager
    def _my_turn(self) -> Iterator[None]:
        if self.location.file is None:
            yield
            return
        if not self._turn.acquire(timeout=self.wait_s):
            raise StoreError(
                f"store {self.location}: is being written to; nothing was changed; try again"
            )
        try:
            yield
        finally:
            self._turn.release()

    def close(self) -> None:
        """Give connections back."""
        self.engine.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def open_store(
    where: str | Path | Location | None = None, *, wait_s: float = DEFAULT_WAIT_S
) -> Store:
    """Open a store, make it where there is none, and bring older ones up to date.

    Parameters
    ----------
    where
        File or ``postgresql://`` URL; None as :func:`planner.store.location.locate` says.
    wait_s
        How long to wait for another program that writes [s].

    Raises
    ------
    OptionError
        The URL cannot be used.
    StoreError
        The store cannot be opened, belongs to something else or to a newer version.
    """
    location = where if isinstance(where, Location) else locate(where)
    with told_clearly(location):
        make_private_file(location)
        engine = make_engine(location, wait_s=wait_s)
        try:
            migrate(engine, location)
        except BaseException:
            engine.dispose()
            raise
    return Store(location, engine, wait_s=wait_s)


def _check_owner(owner: str) -> None:
    if not owner.strip() or len(owner) > MAX_OWNER_CHARACTERS or not owner.isprintable():
        raise OptionError(
            f"owner must be 1 to {MAX_OWNER_CHARACTERS} printable characters, got {owner[:40]!r}"
        )
