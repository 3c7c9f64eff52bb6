"""Erase for good: no row, no undo, and on a file no byte of it is left."""

from __future__ import annotations

from sqlalchemy import delete, func, select

from planner.errors import StoreError
from planner.store.backup import kept_before_restore
from planner.store.faults import told_clearly
from planner.store.journal import drop_empty_entries
from planner.store.opening import LOCAL_OWNER, Store, Work
from planner.store.schema import DELETABLE, METADATA, golfer, undo_entry

__all__ = ["erase_golfer", "erase_owner"]


def erase_golfer(store: Store, name: str, owner: str = LOCAL_OWNER) -> int:
    """Erase a golfer and all that belongs to him, deleted things too; how many golfers it were.

    Several can have borne the name, one after the other. Courses stay: they are no golfer's.

    Raises
    ------
    StoreError
        No golfer has or had that name, or another program keeps the file open: then the rows
        are gone, and traces of them are until it is closed and this is repeated.
    """
    with store.writing(owner) as work:
        count = _erase_named(work, name)
    _wipe(store)
    if not count:
        raise StoreError(f'no golfer "{name}" is saved or was deleted; traces were wiped')
    return count


def erase_owner(store: Store, owner: str = LOCAL_OWNER) -> None:
    """Erase everything of an owner, courses too.

    Raises
    ------
    StoreError
        Another program keeps the file open: then the rows are gone, and traces of them are until
        it is closed and this is repeated.
    """
    with store.writing(owner) as work:
        for table in DELETABLE:
            work.connection.execute(delete(table).where(table.c.owner == owner))
        work.connection.execute(delete(undo_entry).where(undo_entry.c.owner == owner))
    _wipe(store)


def _erase_named(work: Work, name: str) -> int:
    own = golfer.c.owner == work.owner
    called = golfer.c.name == name.strip()
    count = work.connection.execute(
        select(func.count()).select_from(golfer).where(own, called)
    ).scalar_one()
    work.connection.execute(delete(golfer).where(own, called))
    drop_empty_entries(work)
    return int(count)


def _wipe(store: Store) -> None:
    """Overwrite what deleted rows left in the database's files."""
    with (
        told_clearly(store.location),
        store.engine.execution_options(isolation_level="AUTOCOMMIT").connect() as connection,
    ):
        if store.location.file is None:
            for table in METADATA.tables:
                connection.exec_driver_sql(f'VACUUM (FULL) "{table}"')
            return
        connection.exec_driver_sql("VACUUM")
        busy = connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)").scalar_one()
    kept_before_restore(store.location.file).unlink(missing_ok=True)
    if busy:
        raise StoreError(
            f"store {store.location}: the rows are erased, but another program keeps the file "
            "open; close it and erase again to wipe the last traces"
        )
