"""Reading a shot log: a golfer's own shots, from any spreadsheet's text export.

Reading goes in three steps, so that a person can look in between: :func:`split_rows` finds
encoding, separator and cells, :func:`find_columns` what the columns hold, and :func:`read_shots`
the shots. A row is used as a whole or left out as a whole, with its line, column, value, reason
and remedy; all of them are told at once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.errors import ShotLogError
from planner.golfer.shot_log import LogReading, Rejection, ShotLog
from planner.golfer.shot_log_columns import DISTANCES, LogColumns, find_columns
from planner.golfer.shot_log_text import LogLine, LogText, file_content, split_rows
from planner.golfer.shot_log_values import (
    Fault,
    Measure,
    is_summary,
    lie_of,
    measure,
    offline_m,
    range_m,
)
from planner.units import DistanceUnit

__all__ = ["read_shot_log", "read_shots", "units_unknown"]

FloatArray = NDArray[np.float64]
T = TypeVar("T")

MAX_CARRY_M, MAX_TOTAL_M, MAX_OFFLINE_M = 400.0, 500.0, 250.0
"""Beyond these [m] a number is taken for a slip of the pen or a wrong unit."""
_IN_CELLS = 0.0
"""Unit of a column whose cells all name their own: only a bare zero is ever multiplied by it."""
SHOWN_VALUE = 40
"""Characters of a faulty value that are kept for showing."""


@dataclass
class _Faults:
    """Rejections by row, in the order of the columns."""

    text: LogText
    columns: LogColumns
    found: list[Rejection] = field(default_factory=list)
    rows: set[int] = field(default_factory=set)

    def add(self, row: int, column: str, value: str, fault: Fault) -> None:
        line = self.text.rows[row].line
        value = " ".join(value[: 4 * SHOWN_VALUE].split())
        if len(value) > SHOWN_VALUE:
            value = f"{value[:SHOWN_VALUE]}…"
        self.rows.add(row)
        self.found.append(Rejection(line, column, value, fault.reason, fault.remedy))


def read_shot_log(
    path: str | Path,
    *,
    chosen: Mapping[str, str] | None = None,
    unit: DistanceUnit | None = None,
) -> LogReading:
    """Read a shot log in one go.

    Parameters
    ----------
    path
        The file.
    chosen
        Heading or number of the column of each field that is known, as :func:`find_columns` takes.
    unit
        Unit of the columns whose headings name none.

    Raises
    ------
    ShotLogError
        The file cannot be used; the error says what to do.
    """
    text = split_rows(str(path), file_content(path))
    return read_shots(text, find_columns(text, chosen), unit=unit)


def units_unknown(text: LogText, columns: LogColumns) -> tuple[str, ...]:
    """Fields whose unit nothing in the file tells, neither headings nor cells."""
    return _units(columns, _measures(text, columns), None)[1]


def read_shots(
    text: LogText, columns: LogColumns, *, unit: DistanceUnit | None = None
) -> LogReading:
    """Read every shot whose row can be used.

    Raises
    ------
    ShotLogError
        Carry or offline has no column, the unit is not known, or no row can be used.
    """
    _check_columns(text, columns)
    measures = _measures(text, columns)
    units, unknown, notes = _units(columns, measures, unit)
    columns = replace(columns, unit_m={n: u for n, u in units.items() if u != _IN_CELLS})
    if unknown:
        headings = ", ".join(f'"{columns.heading(name)}"' for name in unknown)
        raise ShotLogError(
            text.source,
            [
                f"no unit is given for {headings}: are they metres or yards? Say so "
                '(--units metres or --units yards), or write it in the heading, "Carry (m)"'
            ],
        )
    faults = _Faults(text, columns)
    rows = range(columns.first_row, len(text.rows))
    shots, repeated = _shot_rows(text, columns, rows, faults)
    values = {name: _distances(name, shots, columns, measures, units, faults) for name in measures}
    lies = _lies(shots, columns, text, faults)
    clubs = _words("club", shots, columns, text)
    if "club" in columns.index:
        for row, club in zip(shots, clubs, strict=True):
            if not club:
                remedy = "write the club in every row"
                faults.add(row, columns.heading("club"), "", Fault("names no club", remedy))
    if repeated:
        notes.append(f"{repeated} repeated heading rows are passed over")
    kept = [i for i, row in enumerate(shots) if row not in faults.rows]
    rejected = tuple(sorted(faults.found, key=lambda fault: fault.line))
    if not kept:
        why = [str(fault) for fault in rejected] or ["no row below the headings; export again"]
        raise ShotLogError(text.source, ["no shot can be used", *why[:50]])

    def taken(items: tuple[T, ...]) -> tuple[T, ...]:
        return tuple(items[i] for i in kept)

    absent = np.full(len(shots), np.nan)
    log = ShotLog(
        club=taken(clubs),
        carry_m=values["carry"][kept],
        offline_m=values["offline"][kept],
        total_m=values.get("total", absent)[kept],
        lie=taken(lies),
        outcome=taken(_words("outcome", shots, columns, text)),
        date=taken(_words("date", shots, columns, text)),
        row=np.array([text.rows[shots[i]].line for i in kept], dtype=np.int64),
    )
    return LogReading(text, columns, log, rejected, (*columns.notes, *notes, *_oddities(log)))


def _check_columns(text: LogText, columns: LogColumns) -> None:
    shown = ", ".join(f'"{name}"' for name in columns.headings if name)
    problems = [
        f"no column is known to be {name}; the columns are {shown}: name it, for instance "
        f"--map {name}=HEADING"
        for name in columns.missing
    ]
    used = Counter(columns.index.values())
    problems += [
        f'column "{columns.name(at)}" is used for {" and ".join(names)}; give each its own'
        for at, often in used.items()
        if often > 1
        for names in [[name for name, column in columns.index.items() if column == at]]
    ]
    if problems:
        raise ShotLogError(text.source, problems)


def _cell(row: LogLine, column: int) -> str:
    return row.cells[column] if column < len(row.cells) else ""


def _remembered(read: Callable[[str], T]) -> Callable[[str], T]:
    """Read every different text once; logs repeat themselves."""
    seen: dict[str, T] = {}

    def lookup(text: str) -> T:
        try:
            return seen[text]
        except KeyError:
            value = seen[text] = read(text)
            return value

    return lookup


def _measures(
    text: LogText, columns: LogColumns
) -> dict[str, list[tuple[str, Measure | Fault | None]]]:
    """Every cell of the distances' columns, by field and row of the file."""
    read = _remembered(measure)
    found = {}
    for name in DISTANCES:
        if name in columns.index:
            at = columns.index[name]
            cells = [_cell(row, at) for row in text.rows]
            found[name] = [(cell, read(cell)) for cell in cells]
    return found


def _units(
    columns: LogColumns,
    measures: Mapping[str, list[tuple[str, Measure | Fault | None]]],
    unit: DistanceUnit | None,
) -> tuple[dict[str, float], tuple[str, ...], list[str]]:
    """Unit [m] of each field, the fields without one, and what was concluded."""
    units = dict(columns.unit_m)
    notes = []
    in_cells: set[float] = set()
    for name, cells in measures.items():
        if name in units:
            continue
        read = [found for _, found in cells[columns.first_row :] if isinstance(found, Measure)]
        said = {found.unit_m for found in read if found.number != 0.0}
        if said and None not in said:
            units[name] = _IN_CELLS
            in_cells |= {each for each in said if each is not None}
    bare = [name for name in measures if name not in units]
    stated = {columns.unit_m[name] for name in columns.unit_m} | in_cells
    if unit is not None:
        units |= dict.fromkeys(bare, unit.metres)
        if any(other != unit.metres for other in stated):
            notes.append(f"columns or cells that name a unit keep it; the rest are {unit.value}")
        bare = []
    elif bare and len(stated) == 1:
        units |= dict.fromkeys(bare, *stated)
        headings = ", ".join(f'"{columns.heading(name)}"' for name in bare)
        notes.append(f"{headings}: no unit is given; that of the other distances is taken")
        bare = []
    return units, tuple(bare), notes


def _shot_rows(
    text: LogText, columns: LogColumns, rows: range, faults: _Faults
) -> tuple[list[int], int]:
    """Rows that are meant as shots, and the number of repeated heading rows."""
    width = len(columns.headings)
    used = sorted(columns.index.values())
    shots, repeated = [], 0
    for at in rows:
        row = text.rows[at]
        cells = row.cells
        if len(cells) > width and any(cell.strip() for cell in cells[width:]):
            reason = f"has {len(cells)} cells, the headings have {width}"
            remedy = "put text with a separator, or numbers with a comma, in quotation marks"
            faults.add(at, "whole row", text.separator.join(cells), Fault(reason, remedy))
            continue
        if not any(_cell(row, column).strip() for column in used):
            # A note between sessions, or a row of separators.
            continue
        if tuple(cell.strip() for cell in cells) == columns.headings:
            repeated += 1
            continue
        first = next(cell for cell in cells if cell.strip())
        if is_summary(first) or (
            "club" in columns.index and is_summary(_cell(row, columns.index["club"]))
        ):
            fault = Fault("sums up other rows", "leave it out; it is not a shot")
            faults.add(at, "whole row", first, fault)
            continue
        shots.append(at)
    return shots, repeated


def _distances(
    name: str,
    shots: list[int],
    columns: LogColumns,
    measures: Mapping[str, list[tuple[str, Measure | Fault | None]]],
    units: Mapping[str, float],
    faults: _Faults,
) -> FloatArray:
    """Distances of one field [m] in the order of ``shots``; nan where there is none."""
    cells, unit_m, heading = measures[name], units[name], columns.heading(name)
    values = np.full(len(shots), np.nan)
    for i, row in enumerate(shots):
        cell, found = cells[row]
        value: float | Fault
        if isinstance(found, Measure):
            if name == "offline":
                value = offline_m(found, unit_m, MAX_OFFLINE_M)
            else:
                most = MAX_CARRY_M if name == "carry" else MAX_TOTAL_M
                value = range_m(found, unit_m, most)
        elif found is None:
            if name == "total":
                continue
            value = Fault("is missing", f"write the {name}, or leave the row out")
        else:
            value = found
        if isinstance(value, Fault):
            faults.add(row, heading, cell, value)
        else:
            values[i] = value
    return values


def _lies(
    shots: list[int], columns: LogColumns, text: LogText, faults: _Faults
) -> tuple[Lie | None, ...]:
    if "lie" not in columns.index:
        return (None,) * len(shots)
    at, read = columns.index["lie"], _remembered(lie_of)
    lies: list[Lie | None] = []
    for row in shots:
        cell = _cell(text.rows[row], at)
        lie = read(cell)
        if isinstance(lie, Fault):
            faults.add(row, columns.heading("lie"), cell, lie)
            lie = None
        lies.append(lie)
    return tuple(lies)


def _words(name: str, shots: list[int], columns: LogColumns, text: LogText) -> tuple[str, ...]:
    if name not in columns.index:
        return ("",) * len(shots)
    at = columns.index[name]
    tidy = _remembered(lambda cell: " ".join(cell.split()))
    return tuple(tidy(_cell(text.rows[row], at)) for row in shots)


def _oddities(log: ShotLog) -> list[str]:
    """List what can be used but may be a mistake."""
    notes = []
    known = np.isfinite(log.total_m)
    backwards = int((log.total_m[known] < log.carry_m[known] - 1.0).sum())
    if known.any() and backwards > 0.5 * known.sum():
        notes.append(
            f"total is shorter than carry in {backwards} of {int(known.sum())} rows; are the two "
            "columns mixed up?"
        )
    if len(log) >= 10 and (log.offline_m >= 0).all() and (log.offline_m > 0).any():
        notes.append(
            "no shot went left: if the offline column has no signs or sides, it says how far but "
            "not to which side, and the aim will be wrong"
        )
    return notes
