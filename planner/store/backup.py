"""Backup of a store's file while it is used, and restore of one."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from planner.errors import StoreError
from planner.store.engine import APPLICATION_ID, set_journal_mode
from planner.store.faults import told_clearly
from planner.store.location import Location
from planner.store.migrations import refuse_newer
from planner.store.opening import DEFAULT_WAIT_S, Store
from planner.store.whole_file import sync_file, sync_folder, temporary_beside, whole_file

__all__ = ["back_up", "check_store", "kept_before_restore", "restore"]

_DAMAGED = ("SQLITE_NOTADB", "SQLITE_CORRUPT")
SHOWN_FAULTS = 5


def back_up(store: Store, target: Path, *, overwrite: bool = False) -> None:
    """Copy a store to a file as it is at one moment; others may go on writing.

    Raises
    ------
    StoreError
        The store is on a server, or one of the two files cannot be used.
    """
    file = _file_of(store.location)
    if target.exists() and file.exists() and target.samefile(file):
        raise StoreError(f"{target}: is the store itself; name another file")
    with whole_file(target, overwrite=overwrite) as path:
        with (
            told_clearly(store.location),
            closing(sqlite3.connect(file)) as source,
            closing(sqlite3.connect(path, isolation_level=None)) as copy,
        ):
            source.backup(copy)
            # One file, to be carried about by itself.
            copy.execute("PRAGMA journal_mode = DELETE")
        _check_copy(path, str(target))


def restore(location: Location, source: Path, *, wait_s: float = DEFAULT_WAIT_S) -> Path | None:
    """Put a backup in the place of a store; where the store that was there is now kept.

    The backup is copied and checked first, then takes the store's place at once: whoever is
    interrupted has the one or the other, whole.

    Raises
    ------
    StoreError
        The backup is damaged or no store, another program uses the store, or it is on a server.
    """
    file = _file_of(location)
    if not source.is_file():
        raise StoreError(f"{source}: is no file; name a backup")
    with told_clearly(location):
        file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with temporary_beside(file) as path:
            shutil.copyfile(source, path)
            _check_copy(path, str(source))
            sync_file(path)
            with _alone(location, file, wait_s):
                kept = _keep_old(file)
                os.replace(path, file)
        sync_folder(file.parent)
    return kept


def kept_before_restore(file: Path) -> Path:
    """Where a restore keeps the store that it replaces."""
    return file.with_name(f"{file.name}.before-restore")


def check_store(store: Store) -> None:
    """Check that a store's file is sound.

    Raises
    ------
    StoreError
        It is damaged; the text says where.
    """
    file = store.location.file
    if file is None:
        with store.reading():
            return
    with told_clearly(store.location), closing(sqlite3.connect(file)) as connection:
        faults = _faults(connection)
    if faults:
        raise StoreError(f"store {file}: is damaged: {'; '.join(faults)}; restore a backup")


def _check_copy(path: Path, named: str) -> None:
    """Check a copy that nobody else uses; leaves it as one file."""
    try:
        with closing(sqlite3.connect(path, isolation_level=None)) as connection:
            (mark,) = connection.execute("PRAGMA application_id").fetchone()
            if mark != APPLICATION_ID:
                raise StoreError(f"{named}: is no backup of a store; name another file")
            connection.execute("PRAGMA journal_mode = DELETE")
            faults = _faults(connection)
            steps = {name for (name,) in connection.execute("SELECT name FROM applied_step")}
    except (sqlite3.Error, UnicodeDecodeError) as error:
        # The latter where SQLite quotes damaged text in what it complains of.
        raise StoreError(
            f"{named}: is damaged or no store: {error}; nothing was changed"
        ) from error
    if faults:
        raise StoreError(f"{named}: is damaged: {'; '.join(faults)}; nothing was changed")
    refuse_newer(steps, named)


def _faults(connection: sqlite3.Connection) -> list[str]:
    found = [text for (text,) in connection.execute(f"PRAGMA integrity_check({SHOWN_FAULTS})")]
    faults = [] if found == ["ok"] else found
    broken = connection.execute("PRAGMA foreign_key_check").fetchmany(SHOWN_FAULTS)
    return faults + [f"a row of {row[0]} belongs to no {row[2]}" for row in broken]


@contextmanager
def _alone(location: Location, file: Path, wait_s: float) -> Iterator[None]:
    """Keep every other program out of a store's file, if it can be opened at all.

    In rollback mode there is no second file that could be taken for the new store's, and SQLite
    refuses to write through a connection whose file was moved (SQLITE_READONLY_DBMOVED).
    """
    if not file.exists():
        yield
        return
    with closing(sqlite3.connect(file, isolation_level=None, timeout=wait_s)) as connection:
        try:
            _leave_wal(connection, location, wait_s)
            connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.DatabaseError as error:
            if not str(getattr(error, "sqlite_errorname", "")).startswith(_DAMAGED):
                raise
        if os.name == "nt":
            connection.close()  # Windows replaces no open file
        yield


def _leave_wal(connection: sqlite3.Connection, location: Location, wait_s: float) -> None:
    try:
        mode = set_journal_mode(connection.cursor(), "delete", wait_s=wait_s)
    except sqlite3.OperationalError as error:
        if not error.sqlite_errorname.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            raise
        mode = ""
    if mode != "delete":
        raise StoreError(
            f"store {location}: another program has it open; nothing was changed; close it and "
            "try again"
        )


def _keep_old(file: Path) -> Path | None:
    if not file.exists():
        return None
    kept = kept_before_restore(file)
    kept.unlink(missing_ok=True)
    # A damaged store may have left its log; beside the new store it would be taken for its own.
    for end in ("-wal", "-shm"):
        if (log := file.with_name(file.name + end)).exists():
            os.replace(log, f"{kept}{end}")
    try:
        os.link(file, kept)
    except OSError:
        os.replace(file, kept)  # a file system without links
    return kept


def _file_of(location: Location) -> Path:
    file = location.file
    if file is None:
        raise StoreError(
            f"store {location}: is on a server; use the server's own tools (pg_dump and "
            "pg_restore), or `planner store export` and `planner store import`"
        )
    return file
