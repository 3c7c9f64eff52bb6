"""Connections to a store's database, set so that what was said to be saved is saved."""

from __future__ import annotations

import os
import sqlite3
import time
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.pool import NullPool

from planner.errors import StoreError
from planner.store.location import Location

__all__ = ["APPLICATION_ID", "WRITES", "make_engine", "make_private_file", "set_journal_mode"]

APPLICATION_ID = 0x706C616E
"""Marks a SQLite file as a store (the letters "plan"); bytes 68 to 71 of the file."""
WRITES = "planner_writes"
"""Execution option of a connection whose transactions write."""
OLDEST_SQLITE = (3, 37, 0)
"""The first with STRICT tables (sqlite.org/stricttables.html)."""
RETRY_S = 0.01
"""Pause before asking again for what SQLite does not wait for [s]."""


def make_engine(location: Location, *, wait_s: float) -> Engine:
    """Engine for a store's database.

    Parameters
    ----------
    location
        Where the store is.
    wait_s
        How long to wait for another writer [s].
    """
    if location.file is None:
        return _server_engine(location, wait_s)
    return _file_engine(location, wait_s)


def _file_engine(location: Location, wait_s: float) -> Engine:
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        needed = ".".join(map(str, OLDEST_SQLITE))
        raise StoreError(
            f"store {location}: SQLite {needed} or newer is needed, this Python has "
            f"{sqlite3.sqlite_version}; use a newer Python"
        )
    # A connection for each transaction: a file that was restored meanwhile is seen at once.
    engine = create_engine(
        location.url, poolclass=NullPool, connect_args={"timeout": wait_s, "isolation_level": None}
    )

    @event.listens_for(engine, "connect")
    def _settings(connection: DBAPIConnection, _record: object) -> None:
        cursor: sqlite3.Cursor = connection.cursor()  # type: ignore[assignment]
        cursor.execute(f"PRAGMA busy_timeout = {round(wait_s * 1000)}")
        set_journal_mode(cursor, "wal", wait_s=wait_s)
        cursor.execute("PRAGMA synchronous = FULL")
        cursor.execute("PRAGMA foreign_keys = ON")
        cursor.execute("PRAGMA secure_delete = ON")
        cursor.execute("PRAGMA trusted_schema = OFF")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        options = connection.get_execution_options()
        if options.get("isolation_level") == "AUTOCOMMIT":
            return
        # Writers queue at the start, so that none is turned away halfway.
        writes = options.get(WRITES, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _server_engine(location: Location, wait_s: float) -> Engine:
    wait_ms = round(wait_s * 1000)
    arguments: dict[str, Any] = {
        "connect_timeout": max(2, round(wait_s)),
        "application_name": "planner",
        "options": f"-c lock_timeout={wait_ms} -c client_encoding=UTF8",
    }
    own = location.url.query
    if isinstance(own.get("options"), str):
        arguments["options"] = f"{own['options']} {arguments['options']}"
    # psycopg's own conversions follow the session's time zone; the store keeps UTC as text.
    return create_engine(location.url, pool_pre_ping=True, connect_args=arguments)


def set_journal_mode(cursor: sqlite3.Cursor, mode: str, *, wait_s: float) -> str:
    """Set how a file keeps its log, once no other program stands in the way; how it does now.

    A file system without shared memory keeps "delete" where "wal" is asked for, which is as safe.

    Raises
    ------
    sqlite3.OperationalError
        One did for ``wait_s`` [s], or the file cannot be written.
    """
    until = time.monotonic() + wait_s
    while True:
        try:
            (now,) = cursor.execute(f"PRAGMA journal_mode = {mode}").fetchone()
            return str(now)
        except sqlite3.OperationalError as error:
            # SQLite's own timeout does not cover this change.
            busy = error.sqlite_errorname.startswith(("SQLITE_BUSY", "SQLITE_LOCKED"))
            if not busy or time.monotonic() > until:
                raise
        time.sleep(RETRY_S)


def make_private_file(location: Location) -> None:
    """Make the store's file, for nobody but its owner to read, if it is not there."""
    file = location.file
    if file is None or file.exists():
        return
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except FileExistsError:
        return  # another process was quicker
