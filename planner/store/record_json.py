"""Records as JSON values and back, each field checked against its type."""

from __future__ import annotations

import types
import typing
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime
from functools import cache
from typing import Any, TypeVar

from planner.errors import StoreError

__all__ = ["field_types", "from_json", "to_json"]

T = TypeVar("T")


def to_json(record: Any, *, without: tuple[str, ...] = ()) -> dict[str, Any]:
    """Return a record's fields as JSON values, unknown ones left out."""
    found = {one.name: getattr(record, one.name) for one in fields(record)}
    return {
        name: _plain(value)
        for name, value in found.items()
        if value is not None and name not in without
    }


def from_json(kind: type[T], values: Any, *, where: str, **given: Any) -> T:
    """Make a record of JSON values.

    Parameters
    ----------
    kind
        Class of the record.
    values
        As :func:`to_json` gives them.
    where
        What the values are called in the error.
    given
        Fields that do not come from ``values``.

    Raises
    ------
    StoreError
        A field is missing, unknown or of another type; names every one.
    """
    if not isinstance(values, dict):
        raise StoreError(f"{where}: is no JSON object")
    wanted = field_types(typing.cast(Any, kind))
    problems = [f"{name} is unknown" for name in values if name not in wanted]
    made = dict(given)
    needed = {
        one.name
        for one in fields(typing.cast(Any, kind))
        if one.default is MISSING and one.default_factory is MISSING
    }
    for name, hint in wanted.items():
        if name in values:
            try:
                made[name] = _value(hint, values[name], f"{where}, {name}")
            except ValueError as error:
                problems.append(f"{name} {error}")
        elif name not in made:
            if name in needed and not _may_be_none(hint):
                problems.append(f"{name} is missing")
            elif name in needed:
                made[name] = None
    if problems:
        raise StoreError(f"{where}: {'; '.join(problems)}")
    return kind(**made)


@cache
def field_types(kind: type[Any]) -> dict[str, Any]:
    """Type of each field of a record."""
    hints = typing.get_type_hints(kind)
    return {one.name: hints[one.name] for one in fields(kind)}


def _plain(value: Any) -> Any:
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return to_json(value) if is_dataclass(value) else value


def _may_be_none(hint: Any) -> bool:
    return isinstance(hint, types.UnionType) and type(None) in typing.get_args(hint)


def _value(hint: Any, value: Any, where: str) -> Any:
    if _may_be_none(hint):
        if value is None:
            return None
        (hint,) = (one for one in typing.get_args(hint) if one is not type(None))
    if typing.get_origin(hint) is tuple:
        if not isinstance(value, list):
            raise ValueError("is no list")
        kind = typing.get_args(hint)[0]
        return tuple(
            from_json(kind, one, where=f"{where} {number}") for number, one in enumerate(value, 1)
        )
    if hint is float and isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    if hint in (datetime, date) and isinstance(value, str):
        return hint.fromisoformat(value)
    if type(value) is not hint:
        raise ValueError(f"is {type(value).__name__}, not {hint.__name__}")
    return value
