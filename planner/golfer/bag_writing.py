"""Measured patterns written into a bag file, with everything else in it left as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Comment, Table, Whitespace

from planner.errors import BagFileError
from planner.golfer.club import MeasuredPattern
from planner.units import DistanceUnit

__all__ = ["with_patterns"]

DECIMALS = 3
"""Decimals of a written distance: millimetres."""


def with_patterns(text: str, patterns: Mapping[str, MeasuredPattern]) -> str:
    """Bag file ``text`` with the ``pattern`` of some clubs replaced.

    Comments, order and every other key stay; distances are written in the file's own unit. A
    club that is written on one line, ``{ label = ... }``, stays on one line.

    Parameters
    ----------
    text
        A bag file that can be read.
    patterns
        New pattern by label.

    Raises
    ------
    BagFileError
        The text is no TOML, or a label is not in it.
    """
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as error:
        raise BagFileError("bag", [f"is not TOML: {error}"]) from None
    unit = DistanceUnit(str(document.get("units", "metres")).strip().casefold())
    rows = {str(row.get("label", "")).strip().casefold(): row for row in document.get("club", [])}
    missing = [label for label in patterns if label.casefold() not in rows]
    if missing:
        raise BagFileError("bag", [f'has no club "{label}"; check the name' for label in missing])
    for label, pattern in patterns.items():
        club, wanted = rows[label.casefold()], _keys(pattern, unit)
        if isinstance(club, Table):
            _replace(club, wanted)
        else:
            club["pattern"] = wanted
    return tomlkit.dumps(document)


def _replace(club: Table, wanted: dict[str, Any]) -> None:
    """Put a pattern into a club's table; keys that are there keep their place and comments."""
    tail = _cut_tail(club)
    old = club.get("pattern")
    if isinstance(old, Table) and not old.is_super_table():
        table = old
        for key in [key for key in table if key not in wanted]:
            table.remove(key)
    else:
        # Dotted keys and inline tables have no room for lists of tables.
        table = tomlkit.table()
        if old is not None:
            club.remove("pattern")
    for key, value in wanted.items():
        if key == "mishit" and value:
            value = tomlkit.aot()
            for mishit in wanted["mishit"]:
                row = tomlkit.table()
                row.update(mishit)
                value.append(row)
        table[key] = value
    if table is not old:
        club["pattern"] = table
    last = _last_table(club)
    for item in tail or [tomlkit.nl()]:
        last.add(item)


def _last_table(table: Table) -> Table:
    """Table whose lines come last among those of ``table``."""
    items = [item for key, item in table.value.body if key is not None]
    if items and isinstance(items[-1], AoT) and items[-1].body:
        return _last_table(items[-1].body[-1])
    if items and isinstance(items[-1], Table):
        return _last_table(items[-1])
    return table


def _cut_tail(club: Table) -> list[Comment | Whitespace]:
    """Take off the empty lines and comments at a club's end: they introduce what comes next."""
    body = _last_table(club).value.body
    tail: list[Comment | Whitespace] = []
    while body:
        item = body[-1][1]
        if not isinstance(item, Comment | Whitespace):
            break
        body.pop()
        tail.insert(0, item)
    return tail


def _keys(pattern: MeasuredPattern, unit: DistanceUnit) -> dict[str, Any]:
    """Return the keys of a pattern's table as the bag file has them."""
    values = {
        "carry": _said(pattern.carry_m, unit),
        "offline": _said(pattern.offline_m, unit),
        "carry_sd": _said(pattern.carry_sd_m, unit),
        "offline_sd": _said(pattern.offline_sd_m, unit),
        "correlation": pattern.correlation,
        "run": _said(pattern.run_m, unit),
        "shots": pattern.shots,
        "fitted": True if pattern.fitted else None,
        "mishit": None
        if pattern.mishits is None
        else [
            {
                "name": mishit.name,
                "share": mishit.share,
                "carry": _said(mishit.carry_m, unit),
                "offline": _said(mishit.offline_m, unit),
                "carry_sd": _said(mishit.carry_sd_m, unit),
                "offline_sd": _said(mishit.offline_sd_m, unit),
            }
            for mishit in pattern.mishits
        ],
    }
    return {key: value for key, value in values.items() if value is not None}


def _said(metres: float | None, unit: DistanceUnit) -> float | None:
    return None if metres is None else round(unit.from_metres(metres), DECIMALS)
