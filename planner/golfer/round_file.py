"""Reading a round's shots, hole by hole, from any spreadsheet's text export.

One row is one shot, in the order they were played, or the putts of a hole together. Where a ball
lay is known by its distance to the pin, by longitude and latitude, or by its place along and
across the hole. A row that cannot be used spoils its hole, whose shots would no longer add up: the
hole is left out and every fault told at once with line, column, value, reason and remedy.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from planner.course.lies import Lie
from planner.errors import ShotLogError
from planner.golfer.shot_log import Rejection
from planner.golfer.shot_log_columns import unit_in
from planner.golfer.shot_log_text import LogLine, LogText, file_content, split_rows
from planner.golfer.shot_log_values import MISSING, Fault, Measure, lie_of, measure
from planner.units import DistanceUnit

__all__ = ["HOLED", "PICKED_UP", "RoundReading", "RoundRow", "read_round", "round_rows"]

HOLED, PICKED_UP = "holed", "picked up"
FIELDS: Mapping[str, str] = {
    "hole": r"hole|hole (number|no|ref)|loch",
    "shot": r"shot|shot (number|no)|stroke|stroke (number|no)|schlag",
    "lie": r"lie|ground|played from|lage",
    "to pin": r"(distance )?to (the )?(pin|hole|flag)|distance( left)?|pin|left",
    "lon": r"lon|long|longitude|lng",
    "lat": r"lat|latitude",
    "along": r"along",
    "across": r"across",
    "club": r"club|hit|schlager",
    "outcome": r"outcome|result|ended|ergebnis",
    "penalty": r"penalty|penalties|penalty strokes|strafe",
    "putts": r"putts|putts taken",
}
"""Headings by what the column holds, in lower case and without units."""
LENGTHS = ("to pin", "along", "across")
PENALTY_WORDS = {
    **dict.fromkeys(("water", "penalty area", "hazard", "red", "yellow", "drop"), 1),
    **dict.fromkeys(("lost", "lost ball", "out of bounds", "ob", "o.b.", "out"), 1),
    "unplayable": 1,
}
"""Outcomes that bring a penalty stroke where the penalty's own cell is empty."""
HOLED_WORDS = frozenset({"holed", "in", "in the hole", "hole out", "holed out"})
PICKED_WORDS = frozenset({"picked up", "pick up", "gave up", "conceded", "no score", "nr"})
MOST_TO_PIN_M, MOST_PUTTS, MOST_PENALTIES, MOST_SHOTS = 800.0, 12, 3, 40
_HEADER_SEARCH = 12


@dataclass(frozen=True)
class RoundRow:
    """One shot as written, or the putts of a hole.

    Parameters
    ----------
    hole
        The hole, as the card calls it.
    line
        Line of the file, counted from 1.
    lie
        Where the ball lay; None where it is not said.
    to_pin_m
        Distance to the pin before the shot [m], or None.
    place_lonlat, place_hole
        Where the ball lay: longitude, latitude [degrees]; along, across the hole [m]; or None.
    club, outcome
        As written; the outcome in the words ``HOLED`` and ``PICKED_UP`` where that is meant.
    strokes
        1, or the number of putts.
    penalties
        Penalty strokes.
    """

    hole: str
    line: int
    lie: Lie | None = None
    to_pin_m: float | None = None
    place_lonlat: tuple[float, float] | None = None
    place_hole: tuple[float, float] | None = None
    club: str = ""
    outcome: str = ""
    strokes: int = 1
    penalties: int = 0


@dataclass(frozen=True)
class RoundReading:
    """Shots of a round by hole, in the order played, and what was left out.

    ``spoilt`` are holes with a row that cannot be used; none of their shots are in ``holes``.
    """

    source: str
    holes: Mapping[str, tuple[RoundRow, ...]]
    spoilt: tuple[str, ...]
    rejected: tuple[Rejection, ...]
    notes: tuple[str, ...]


def read_round(path: str | Path, *, unit: DistanceUnit | None = None) -> RoundReading:
    """Read a round from a file.

    Parameters
    ----------
    unit
        Unit of lengths whose headings and cells name none.

    Raises
    ------
    ShotLogError
        The file cannot be used; the error says what to do.
    """
    return round_rows(split_rows(str(path), file_content(path)), unit=unit)


def round_rows(text: LogText, *, unit: DistanceUnit | None = None) -> RoundReading:
    """Shots of a file that was split into cells.

    Raises
    ------
    ShotLogError
        There are no headings, no column for the hole, no known unit, or no hole can be used.
    """
    first, index = _columns(text)
    headings = text.rows[first].cells
    units = _units(text, first, index, unit)
    rejected: list[Rejection] = []
    rows: dict[str, list[RoundRow]] = {}
    numbers: dict[str, list[int]] = {}
    spoilt: dict[str, None] = {}
    hole = ""
    for line in text.rows[first + 1 :]:
        reader = _RowReader(line, headings, index, units)
        if reader.is_empty:
            continue
        # Scorers often write the hole once, beside its first shot.
        hole = reader.hole() or hole
        row, number = reader.row(hole), reader.shot_number()
        rejected += reader.faults
        if reader.faults or row is None:
            spoilt[hole] = None
            continue
        shots = rows.setdefault(hole, [])
        if number is not None:
            numbers.setdefault(hole, []).append(number)
        shots.append(row)
    notes = []
    for name in list(rows):
        if name in spoilt:
            continue
        said = numbers.get(name, [])
        if len(said) == len(rows[name]) and said != sorted(said):
            order = sorted(range(len(said)), key=lambda i, said=said: said[i])  # type: ignore[misc]
            rows[name] = [rows[name][i] for i in order]
            notes.append(f"hole {name}: shots are put in the order of their numbers")
        fault = _hole_fault(rows[name])
        if fault is not None:
            spoilt[name] = None
            rejected.append(fault)
    kept = {name: tuple(shots) for name, shots in rows.items() if name not in spoilt}
    if not kept:
        why = [str(fault) for fault in rejected] or ["no row below the headings"]
        raise ShotLogError(text.source, ["no hole can be used", *why[:50]])
    return RoundReading(text.source, kept, tuple(spoilt), tuple(rejected), tuple(notes))


class _RowReader:
    """Reads one row and collects its faults."""

    def __init__(
        self,
        line: LogLine,
        headings: Sequence[str],
        index: Mapping[str, int],
        units: Mapping[str, float],
    ) -> None:
        self._line = line
        self._headings = headings
        self._index = index
        self._units = units
        self.faults: list[Rejection] = []

    @property
    def is_empty(self) -> bool:
        """Whether no column that is read has anything in this row."""
        return not any(self._cell(name) for name in self._index)

    def hole(self) -> str:
        """Hole as the card calls it; ``3.0`` is 3."""
        return re.sub(r"(?<=\d)[.,]0+$", "", self._cell("hole").removeprefix("#").strip())

    def shot_number(self) -> int | None:
        """Number of the shot on its hole, if it is written."""
        return self._whole("shot", MOST_SHOTS)

    def row(self, hole: str) -> RoundRow | None:
        """The shot, or None where the row cannot be used."""
        if not hole:
            self._fault("hole", "names no hole", "write the hole beside its first shot")
            return None
        lie = lie_of(self._cell("lie"))
        if isinstance(lie, Fault):
            self._fault("lie", lie.reason, lie.remedy)
            lie = None
        word = " ".join(self._cell("outcome").casefold().split())
        penalties = self._whole("penalty", MOST_PENALTIES)
        putts = self._whole("putts", MOST_PUTTS)
        if putts and lie is None and self._cell("lie") == "":
            lie = Lie.GREEN
        if putts and lie is not Lie.GREEN:
            self._fault("putts", "stand in a row that is not on the green", "give them their own")
        outcome = self._cell("outcome")
        outcome = HOLED if word in HOLED_WORDS else PICKED_UP if word in PICKED_WORDS else outcome
        return RoundRow(
            hole=hole,
            line=self._line.line,
            lie=lie,
            to_pin_m=self._to_pin(),
            place_lonlat=self._lonlat(),
            place_hole=self._pair("along", "across"),
            club=" ".join(self._cell("club").split()),
            outcome=outcome,
            strokes=putts or 1,
            penalties=PENALTY_WORDS.get(word, 0) if penalties is None else penalties,
        )

    def _to_pin(self) -> float | None:
        value = self._length("to pin")
        if value is not None and not 0.0 <= value <= MOST_TO_PIN_M:
            reason = f"is {value:.0f} m; a hole is no longer than {MOST_TO_PIN_M:g} m"
            self._fault("to pin", reason, "correct the number, or the unit of the column")
            return None
        return value

    def _lonlat(self) -> tuple[float, float] | None:
        values = []
        for name, most in (("lon", 180.0), ("lat", 90.0)):
            cell = self._cell(name).replace(",", ".")
            if cell.casefold() in MISSING:
                continue
            try:
                value = float(cell)
            except ValueError:
                value = float("nan")
            if not -most <= value <= most:
                self._fault(name, "is no angle in degrees", "write for instance -2.80213")
            values.append(value)
        if len(values) == 1:
            self._fault("lon", "and lat belong together", "give both, or neither")
        return (values[0], values[1]) if len(values) == 2 else None

    def _pair(self, *names: str) -> tuple[float, float] | None:
        values = [value for name in names if (value := self._length(name)) is not None]
        if len(values) == 1:
            self._fault(names[0], f"and {names[1]} belong together", "give both, or neither")
        return (values[0], values[1]) if len(values) == 2 else None

    def _length(self, name: str) -> float | None:
        found = measure(self._cell(name))
        if isinstance(found, Fault):
            self._fault(name, found.reason, found.remedy)
            return None
        if not isinstance(found, Measure):
            return None
        metres = found.number * (found.unit_m or self._units.get(name, 1.0))
        return metres * (found.side or 1)

    def _whole(self, name: str, most: int) -> int | None:
        cell = self._cell(name)
        if cell.casefold() in MISSING:
            return None
        try:
            value = float(cell.replace(",", "."))
        except ValueError:
            value = -1.0
        if value != int(value) or not 0 <= value <= most:
            self._fault(name, "is not a number of strokes", f"write 0 to {most}, or leave it empty")
            return None
        return int(value)

    def _cell(self, name: str) -> str:
        at = self._index.get(name, -1)
        return self._line.cells[at].strip() if 0 <= at < len(self._line.cells) else ""

    def _fault(self, name: str, reason: str, remedy: str) -> None:
        at = self._index.get(name)
        column = name if at is None else self._headings[at].strip() or name
        self.faults.append(
            Rejection(self._line.line, column, self._cell(name)[:40], reason, remedy)
        )


def _columns(text: LogText) -> tuple[int, dict[str, int]]:
    """Row of the headings, and the column of each field."""
    best: tuple[int, dict[str, int]] = (0, {})
    for place, row in enumerate(text.rows[:_HEADER_SEARCH]):
        index: dict[str, int] = {}
        for column, cell in enumerate(row.cells):
            phrase = re.sub(r"[(\[].*?[)\]]", " ", cell).casefold()
            phrase = " ".join(re.sub(r"[_\-#.:]", " ", phrase).split())
            phrase = re.sub(r"\s+(m|metres|meters|yd|yds|yards|ft|feet|deg)$", "", phrase)
            for field, pattern in FIELDS.items():
                if phrase and field not in index and re.fullmatch(pattern, phrase):
                    index[field] = column
                    break
        if len(index) > len(best[1]):
            best = place, index
    problems = []
    if "hole" not in best[1]:
        problems.append(
            "no column is headed hole; write a first line such as "
            "hole, shot, lie, to pin (m), club, outcome, penalty"
        )
    elif not {"to pin", "lon", "along", "lie"} & set(best[1]):
        problems.append("no column says where the balls lay; add to pin (m), or lon and lat")
    if problems:
        raise ShotLogError(text.source, problems)
    return best


def _units(
    text: LogText, first: int, index: Mapping[str, int], unit: DistanceUnit | None
) -> dict[str, float]:
    """Length of the unit of each column [m]; columns whose every cell names its own are absent."""
    units: dict[str, float] = {}
    unknown = []
    for name in LENGTHS:
        if name not in index:
            continue
        at = index[name]
        said = unit_in(text.rows[first].cells[at])
        if said is not None:
            units[name] = said
            continue
        cells = [row.cells[at] for row in text.rows[first + 1 :] if at < len(row.cells)]
        found = [one for cell in cells if isinstance(one := measure(cell), Measure)]
        if all(one.unit_m is not None or one.number == 0.0 for one in found):
            continue
        if unit is not None:
            units[name] = unit.metres
        else:
            unknown.append(f'"{text.rows[first].cells[at].strip()}"')
    if unknown:
        raise ShotLogError(
            text.source,
            [
                f"no unit is given for {', '.join(unknown)}: are they metres or yards? Say so "
                '(--units metres or --units yards), or write it in the heading, "to pin (m)"'
            ],
        )
    return units


def _hole_fault(shots: Sequence[RoundRow]) -> Rejection | None:
    """What keeps the shots of a hole from being a whole hole."""
    if any(shot.outcome == PICKED_UP for shot in shots):
        line = next(shot.line for shot in shots if shot.outcome == PICKED_UP)
        return Rejection(
            line,
            "outcome",
            PICKED_UP,
            "the hole was not finished",
            "it is left out of the accounts",
        )
    early = [shot for shot in shots[:-1] if shot.outcome == HOLED]
    if early:
        return Rejection(
            early[0].line, "outcome", HOLED, "is followed by more shots", "correct one of them"
        )
    if shots[-1].penalties:
        return Rejection(
            shots[-1].line,
            "penalty",
            str(shots[-1].penalties),
            "is on the last shot, which should have been holed",
            "add the shots that followed",
        )
    return None
