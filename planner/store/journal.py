"""Deleting, replacing and undoing.

What is deleted is marked with an entry of the journal and hidden. Undoing takes the newest entry,
brings back what it hid and removes what it put in its place. The last ``KEPT_ENTRIES`` can be
undone; what older ones hid is removed for good.
"""

from __future__ import annotations

from sqlalchemy import Table, delete, func, insert, select, update

from planner.errors import StoreError
from planner.store.opening import Work
from planner.store.records import MAX_NAME_CHARACTERS, SavedThing, UndoEntry, new_id, now
from planner.store.rows import living
from planner.store.schema import DELETABLE, OF_GOLFER, course, golfer, round_, undo_entry

__all__ = [
    "KEPT_ENTRIES",
    "delete_thing",
    "drop_empty_entries",
    "hide",
    "new_entry",
    "replace_thing",
    "undo",
    "undo_entries",
]

KEPT_ENTRIES = 100
"""How many deletes can be undone, one after the other."""


def undo_entries(work: Work) -> list[UndoEntry]:
    """What can be undone, the next one first."""
    columns = undo_entry.c
    rows = work.connection.execute(
        select(columns.id, columns.number, columns.what, columns.made_at)
        .where(columns.owner == work.owner)
        .order_by(columns.number.desc())
    )
    return [UndoEntry(*row) for row in rows]


def new_entry(work: Work, what: str) -> UndoEntry:
    """Open an entry; the oldest beyond ``KEPT_ENTRIES`` is removed for good."""
    entries = undo_entries(work)
    number = entries[0].number + 1 if entries else 1
    entry = UndoEntry(new_id(), number, what, now())
    work.connection.execute(
        insert(undo_entry).values(
            id=entry.id, owner=work.owner, number=number, what=what, made_at=entry.made_at
        )
    )
    for old in entries[KEPT_ENTRIES - 1 :]:
        _forget(work, old)
    return entry


def hide(work: Work, table: Table, one: str, entry: UndoEntry) -> None:
    """Mark a thing as deleted by an entry; a golfer with all that belongs to him."""
    if table is golfer:
        for below in OF_GOLFER:
            work.connection.execute(
                update(below)
                .where(living(work, below), below.c.golfer_id == one)
                .values(deleted_by=entry.id)
            )
    work.connection.execute(
        update(table).where(living(work, table), table.c.id == one).values(deleted_by=entry.id)
    )


def delete_thing(work: Work, table: Table, one: str, what: str) -> UndoEntry:
    """Delete a thing so that it can be undone; ``what`` says it to a person."""
    entry = new_entry(work, what)
    hide(work, table, one, entry)
    return entry


def replace_thing(work: Work, table: Table, old: SavedThing | None, what: str) -> str | None:
    """Hide what a new thing replaces; the entry's id for its ``made_by``, None if nothing was."""
    if old is None:
        return None
    return delete_thing(work, table, old.id, what).id


def undo(work: Work) -> UndoEntry:
    """Undo the newest entry; what it was.

    A name that was given away meanwhile stays with its new bearer: what comes back gets the
    next free one, such as "my bag (2)".

    Raises
    ------
    StoreError
        There is nothing to undo.
    """
    entries = undo_entries(work)
    if not entries:
        raise StoreError("there is nothing to undo")
    entry = entries[0]
    for table in DELETABLE:
        work.connection.execute(
            delete(table).where(table.c.owner == work.owner, table.c.made_by == entry.id)
        )
    for table in DELETABLE:
        _make_way(work, table, entry)
        work.connection.execute(
            update(table)
            .where(table.c.owner == work.owner, table.c.deleted_by == entry.id)
            .values(deleted_by=None)
        )
    _drop(work, entry)
    return entry


def drop_empty_entries(work: Work) -> None:
    """Remove entries that would bring nothing back, as what they hid was erased."""
    for entry in undo_entries(work):
        marked = sum(
            work.connection.execute(
                select(func.count())
                .select_from(table)
                .where(
                    table.c.owner == work.owner,
                    (table.c.deleted_by == entry.id) | (table.c.made_by == entry.id),
                )
            ).scalar_one()
            for table in DELETABLE
        )
        if not marked:
            _drop(work, entry)


def _forget(work: Work, entry: UndoEntry) -> None:
    for table in reversed(DELETABLE):
        own = table.c.owner == work.owner
        work.connection.execute(delete(table).where(own, table.c.deleted_by == entry.id))
    _drop(work, entry)


def _drop(work: Work, entry: UndoEntry) -> None:
    for table in DELETABLE:
        own = table.c.owner == work.owner
        made = update(table).where(own, table.c.made_by == entry.id)
        work.connection.execute(made.values(made_by=None))
    work.connection.execute(delete(undo_entry).where(undo_entry.c.id == entry.id))


def _make_way(work: Work, table: Table, entry: UndoEntry) -> None:
    """Rename what comes back where its name was given away; drop a course that is there again."""
    hidden = (table.c.owner == work.owner) & (table.c.deleted_by == entry.id)
    if table is round_:
        return
    if table is course:
        there = select(course.c.key).where(living(work, course))
        work.connection.execute(delete(course).where(hidden, course.c.key.in_(there)))
        return
    same_golfer = [table.c.golfer_id] if "golfer_id" in table.c else []
    columns = (table.c.id, table.c.name, *same_golfer)
    coming = work.connection.execute(select(*columns).where(hidden)).all()
    for row in coming:
        there = select(table.c.name).where(
            living(work, table), *(column == row.golfer_id for column in same_golfer)
        )
        taken = set(work.connection.execute(there).scalars())
        if row.name in taken:
            free = _free_name(row.name, taken.union(one.name for one in coming))
            own = (table.c.owner == work.owner) & (table.c.id == row.id)
            work.connection.execute(update(table).where(own).values(name=free))


def _free_name(name: str, taken: set[str]) -> str:
    number = 2
    while True:
        ending = f" ({number})"
        tried = name[: MAX_NAME_CHARACTERS - len(ending)] + ending
        if tried not in taken:
            return tried
        number += 1
