"""Between records and rows: a record's fields are its table's columns."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import fields
from types import MappingProxyType
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import ColumnElement, Select, Table, and_, insert, select, true

from planner.errors import StoreError
from planner.store.opening import Work
from planner.store.records import SavedThing
from planner.store.schema import DELETABLE

__all__ = ["Parts", "add_parts", "add_thing", "legible", "living", "things"]

T = TypeVar("T")
_INSERT_AT_ONCE = 20_000
"""Rows handed to the database at a time; bounds memory, not correctness."""


class Parts(NamedTuple):
    """Rows below a thing: their table, the column that names the thing, and their record."""

    table: Table
    key: str
    kind: type[Any]


@contextmanager
def legible() -> Iterator[None]:
    """Say of rows that cannot be what planner wrote that the store is damaged.

    SQLite checks the form of its pages, not that a date is one.
    """
    try:
        yield
    except (KeyError, TypeError, ValueError) as error:
        raise StoreError(
            f"the store is damaged: a row cannot be read ({error}); bring a backup back with "
            "`planner store restore`"
        ) from error


def add_thing(
    work: Work, table: Table, thing: SavedThing, *, made_by: str | None = None, **more: object
) -> None:
    """Insert a thing's own row, with values of columns that the record lacks."""
    values = {name: getattr(thing, name) for name in _shared(table, type(thing))}
    row = {**values, **more, "owner": work.owner, "made_by": made_by}
    work.connection.execute(insert(table).values(row))


def add_parts(work: Work, below: Parts, one: str, parts: Sequence[Any]) -> None:
    """Insert the rows below the thing ``one`` in their order."""
    if not parts:
        return
    names = _shared(below.table, below.kind)
    for start in range(0, len(parts), _INSERT_AT_ONCE):
        rows = [
            {"owner": work.owner, below.key: one, "position": start + i}
            | {name: getattr(part, name) for name in names}
            for i, part in enumerate(parts[start : start + _INSERT_AT_ONCE])
        ]
        work.connection.execute(insert(below.table), rows)


def living(work: Work, table: Table) -> ColumnElement[bool]:
    """Rows of the owner that were not deleted."""
    own: ColumnElement[bool] = table.c.owner == work.owner
    return own & table.c.deleted_by.is_(None) if table in DELETABLE else own


def things(
    work: Work,
    table: Table,
    kind: type[T],
    *conditions: ColumnElement[bool],
    below: Mapping[str, Parts] = MappingProxyType({}),
) -> list[T]:
    """Living rows of a table as records, oldest first.

    Parameters
    ----------
    work, table, kind
        Transaction, table and class of the records.
    conditions
        Which rows.
    below
        By field of the record, the rows below a thing that fill it.
    """
    with legible():
        return _things(work, table, kind, living(work, table) & and_(true(), *conditions), below)


def _things(
    work: Work,
    table: Table,
    kind: type[T],
    chosen: ColumnElement[bool],
    below: Mapping[str, Parts],
) -> list[T]:
    names = _shared(table, kind)
    found = {
        name: _parts(work, parts, select(table.c.id).where(chosen)) for name, parts in below.items()
    }
    rows = work.connection.execute(
        select(*(table.c[name] for name in names))
        .where(chosen)
        .order_by(table.c.saved_at, table.c.id)
    )
    return [
        kind(
            **dict(zip(names, row, strict=True)),
            **{name: parts.get(row.id, ()) for name, parts in found.items()},
        )
        for row in rows
    ]


def _parts(work: Work, parts: Parts, ids: Select[Any]) -> dict[str, tuple[Any, ...]]:
    columns = parts.table.c
    names = _shared(parts.table, parts.kind)
    query = (
        select(columns[parts.key], *(columns[name] for name in names))
        .where(columns.owner == work.owner, columns[parts.key].in_(ids))
        .order_by(columns[parts.key], columns.position)
    )
    found: dict[str, list[Any]] = {}
    for row in work.connection.execute(query):
        values = dict(zip(names, row[1:], strict=True))
        found.setdefault(row[0], []).append(parts.kind(**values))
    return {one: tuple(rows) for one, rows in found.items()}


def _shared(table: Table, kind: type[Any]) -> list[str]:
    return [one.name for one in fields(kind) if one.name in table.c]
