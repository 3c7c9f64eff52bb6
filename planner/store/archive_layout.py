"""What an archive looks like: a zip folder of open formats with a manifest.

::

    manifest.json            format, program, day, and size and SHA-256 of every other file
    golfers.json             golfers
    bags.json                bags: golfer, name, file      bags/0001-my-bag.toml
    courses.json             courses: name, file           courses/0001-tarrowick.geojson
    shot_logs.json           shot logs: golfer, name, file shots/0001-range.csv
    rounds.json              rounds: golfer, file          rounds/0001-2026-05-02.json
    plans.json               plans: golfer, name, file     plans/0001-saturday.json
    drafts.json              maps being drawn: name, file  drafts/0001-my-course.json

In the tables of shots a text that a spreadsheet would take for a formula has an apostrophe put
before it, and so has a text that begins with an apostrophe.
"""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any

from planner.errors import StoreError
from planner.store.record_json import field_types
from planner.store.records import (
    SavedBag,
    SavedCourse,
    SavedDraft,
    SavedPlan,
    SavedRound,
    SavedShot,
    SavedShotLog,
    SavedThing,
)

__all__ = [
    "ARCHIVE_FORMAT",
    "GOLFERS",
    "KINDS",
    "MANIFEST",
    "MAX_FILES",
    "MAX_INDEX_BYTES",
    "MAX_RATIO",
    "MAX_TOTAL_BYTES",
    "ArchiveKind",
    "course_ending",
    "file_name",
    "json_bytes",
    "parse_json",
    "shots_from_csv",
    "shots_to_csv",
]

ARCHIVE_FORMAT = 1
MANIFEST = "manifest.json"
GOLFERS = "golfers.json"
MAX_FILES = 50_000
MAX_TOTAL_BYTES = 2_000_000_000
"""All files unpacked; an archive is read file by file, so memory holds the largest only."""
MAX_RATIO = 100
"""Text shrinks 5 to 20 times; what shrinks more than this is stored as it is, and refused."""
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")
"""Starts that spreadsheets take for a formula (OWASP, CSV injection), and the mark itself."""


@dataclass(frozen=True)
class ArchiveKind:
    """A kind of thing in an archive: its record, index, folder, and most bytes of a file."""

    record: type[SavedThing]
    index: str
    folder: str
    within: tuple[str, ...]
    max_bytes: int


KINDS = (
    ArchiveKind(SavedBag, "bags.json", "bags", ("text", "clubs"), 20_000_000),
    ArchiveKind(SavedCourse, "courses.json", "courses", ("key",), 200_000_000),
    ArchiveKind(SavedShotLog, "shot_logs.json", "shots", ("shots",), 200_000_000),
    ArchiveKind(SavedRound, "rounds.json", "rounds", ("holes", "shots"), 20_000_000),
    ArchiveKind(SavedPlan, "plans.json", "plans", ("text",), 200_000_000),
    ArchiveKind(SavedDraft, "drafts.json", "drafts", ("text",), 200_000_000),
)
"""``within`` are the fields that stand in the thing's own file, the rest in the index."""
MAX_INDEX_BYTES = 20_000_000


def file_name(folder: str, number: int, name: str, ending: str) -> str:
    """Name of a thing's file that every system can hold."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40] or folder
    return f"{folder}/{number:04d}-{slug}.{ending}"


def course_ending(name: str) -> str:
    """Ending of a map's file: what the map reader goes by."""
    ending = PurePosixPath(name).suffix.lower()
    return ending[1:] if ending in (".geojson", ".osm", ".json", ".xml") else "geojson"


def json_bytes(content: Any) -> bytes:
    """JSON as bytes, for a person to read too."""
    return (json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()


def parse_json(content: bytes, where: str) -> Any:
    """JSON of bytes.

    Raises
    ------
    StoreError
        It is no JSON, or nested deeper than any of ours.
    """
    try:
        return json.loads(content, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise StoreError(f"{where}: is not JSON: {error}") from None


def shots_to_csv(shots: tuple[SavedShot, ...]) -> bytes:
    """Shots as a table; metres, offline + right."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    names = list(field_types(SavedShot))
    writer.writerow(names)
    writer.writerows([_cell(getattr(shot, name)) for name in names] for shot in shots)
    return out.getvalue().encode()


def shots_from_csv(content: bytes, where: str) -> tuple[SavedShot, ...]:
    """Shots of a table.

    Raises
    ------
    StoreError
        It cannot be used; names every row that is at fault.
    """
    hints = field_types(SavedShot)
    problems: list[str] = []
    shots = []
    try:
        reader = csv.reader(io.StringIO(content.decode(), newline=""), strict=True)
        names = next(reader, [])
        if names != list(hints):
            raise StoreError(f"{where}: row 1: the columns must be {', '.join(hints)}")
        for row in reader:
            try:
                shots.append(_shot(hints, row))
            except (ValueError, StoreError) as error:
                problems.append(f"row {reader.line_num}: {error}")
                if len(problems) >= 20:
                    break
    except (UnicodeDecodeError, csv.Error) as error:
        problems.append(str(error))
    if problems:
        raise StoreError(f"{where}: {'; '.join(problems)}")
    return tuple(shots)


def _shot(hints: dict[str, Any], row: list[str]) -> SavedShot:
    if len(row) != len(hints):
        raise ValueError(f"has {len(row)} cells; {len(hints)} are needed")
    values = {}
    for name, cell in zip(hints, row, strict=True):
        if cell:
            values[name] = _read_cell(name, hints[name], cell)
    return SavedShot(**{"club": "", **values})


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.startswith(_FORMULA_STARTS) else value
    return repr(value)


def _read_cell(name: str, hint: Any, cell: str) -> Any:
    try:
        if hint == float | None:
            return float(cell)
        if hint == int | None:
            return int(cell)
    except ValueError:
        raise ValueError(f'{name} "{cell[:40]}" cannot be read') from None
    return cell[1:] if cell.startswith("'") else cell


def _refuse_constant(name: str) -> Any:
    raise ValueError(f"{name} is no number")
