"""Which column of a shot log holds what, guessed from its headings or said by its owner.

A guess is always shown and can be put right. Nothing is guessed that would change a number in
silence: a heading such as "Distance" may be carry or total, so it is left to the owner.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from planner.errors import OptionError, ShotLogError
from planner.golfer.shot_log_text import LogLine, LogText
from planner.golfer.toml_table import nearest
from planner.units import M_PER_FT, M_PER_YD

__all__ = [
    "DISTANCES",
    "FIELDS",
    "M_PER_UNIT",
    "REQUIRED",
    "LogColumns",
    "find_columns",
    "map_from_text",
    "unit_in",
]

FIELDS = ("club", "carry", "offline", "total", "lie", "outcome", "date")
"""What a shot log can hold, as it is called in ``--map``."""
DISTANCES = ("carry", "offline", "total")
REQUIRED = ("carry", "offline")

M_PER_UNIT = {
    **dict.fromkeys(("m", "mtr", "metre", "metres", "meter", "meters", "metern"), 1.0),
    **dict.fromkeys(("yd", "yds", "yard", "yards"), M_PER_YD),
    **dict.fromkeys(("ft", "foot", "feet"), M_PER_FT),
}
"""Words for units of length, and the length of one [m]."""
_UNIT_NAMES = {1.0: "metres", M_PER_YD: "yards", M_PER_FT: "feet"}

_HEADER_SEARCH = 12
"""Rows in which the headings are looked for: exports put titles above them."""

_SIDE = "offline|side|lateral|sideways|deviation|seite|seitlich|abweichung|ecart|offset"
_KNOWN_HEADINGS: Mapping[str, tuple[tuple[str, int], ...]] = {
    "club": (
        (r"club( (name|type|used|label))?", 10),
        (r"(golf ?club|schlager|baton)", 9),
    ),
    "carry": (
        (r"carry( (distance|dist|length|flat))?|carried", 10),
        (r"(flight|carry) (distance|length)|flugweite|portee", 8),
        (r"(avg|my|ball|actual) carry( distance)?", 6),
    ),
    "offline": (
        (rf"(carry|landing) ({_SIDE})( (carry|distance|dist|landing))?", 11),
        (rf"({_SIDE})( (carry|distance|dist|landing))?|off ?line", 10),
        (r"off (line|target|centre|center)( distance)?|left right|l r|left or right", 8),
        (r"(distance )?(off|from) (the )?(aim )?line|dispersion|direction miss", 6),
    ),
    "total": ((r"total( (distance|dist|length))?|gesamt(weite)?|totale", 10),),
    "lie": ((r"lie( type)?|ground|surface|hit from|played from|lage", 10),),
    "outcome": (
        (r"outcome|result|resultat|ergebnis|shot (result|outcome)", 10),
        (r"strike|contact|quality|shot type", 6),
    ),
    "date": (
        (r"date|datum|day|jour", 10),
        (r"(date|session|shot) ?(and )?(time|date)|time ?stamp|session", 6),
    ),
}
"""Headings as people write them (accents, case and units taken off), and how well they fit."""


@dataclass(frozen=True)
class LogColumns:
    """What each column of a shot log holds.

    Parameters
    ----------
    headings
        Texts of the heading row.
    index
        Position of each field's column, from 0; fields that are absent are not in it.
    unit_m
        Length of one unit of a distance's column [m], where its heading or the row below says so.
    first_row
        Position in :attr:`LogText.rows` of the first row of shots.
    notes
        What was guessed among several, one line each.
    """

    headings: tuple[str, ...]
    index: Mapping[str, int]
    unit_m: Mapping[str, float]
    first_row: int
    notes: tuple[str, ...] = ()

    @property
    def missing(self) -> tuple[str, ...]:
        """Fields without which no shot can be read and that no column holds."""
        return tuple(field for field in REQUIRED if field not in self.index)

    def heading(self, field: str) -> str:
        """Heading of a field's column, or its number where it has no text."""
        return self.name(self.index[field])

    def name(self, column: int) -> str:
        """How to call a column in words."""
        text = " ".join(self.headings[column].split()) if column < len(self.headings) else ""
        return text or f"column {column + 1}"

    def said(self) -> tuple[tuple[str, str, str], ...]:
        """Field, heading and unit of every column in use, for showing."""
        return tuple(
            (
                field,
                self.heading(field),
                _UNIT_NAMES.get(self.unit_m[field], "") if field in self.unit_m else "",
            )
            for field in FIELDS
            if field in self.index
        )

    def with_fields(self, index: Mapping[str, int | None]) -> LogColumns:
        """Columns with some fields put elsewhere, or nowhere (None); units follow the headings."""
        merged = {**self.index, **index}
        chosen = {field: merged[field] for field in FIELDS if merged.get(field) is not None}
        kept = {field: column for field, column in chosen.items() if column is not None}
        units = {
            field: unit
            for field, column in kept.items()
            if field in DISTANCES and (unit := self._unit_of(field, column)) is not None
        }
        return replace(self, index=kept, unit_m=units)

    def _unit_of(self, field: str, column: int) -> float | None:
        if self.index.get(field) == column and field in self.unit_m:
            return self.unit_m[field]
        return unit_in(self.headings[column]) if column < len(self.headings) else None


def find_columns(text: LogText, chosen: Mapping[str, str] | None = None) -> LogColumns:
    """Find the heading row and what the columns hold.

    Parameters
    ----------
    text
        The file.
    chosen
        Heading, or number from 1, of the column of each field that is known; an empty text says
        that no column holds the field. The rest is guessed.

    Raises
    ------
    ShotLogError
        There are no headings, or a chosen one is not among them.
    """
    chosen = dict(chosen or {})
    candidates = list(text.rows[:_HEADER_SEARCH])
    place = max(range(len(candidates)), key=lambda i: (_fit(candidates[i], chosen), -i))
    if _fit(candidates[place], chosen) == 0:
        place = 0
    headings = tuple(cell.strip() for cell in candidates[place].cells)
    first = place + 1
    if _is_shot(candidates[place]) and _numbered(chosen):
        headings, first = ("",) * len(headings), place
    elif _is_shot(candidates[place]):
        raise ShotLogError(
            text.source,
            [
                f"line {candidates[place].line}: has numbers where the headings should be; write "
                "a first line that names the columns, such as club, carry (m), offline (m)"
            ],
        )
    problems: list[str] = []
    index, choices = _guessed(headings)
    for field, heading in chosen.items():
        index.pop(field, None)
        column = _column_called(heading, headings, field, problems) if heading.strip() else None
        if column is not None:
            index = {name: at for name, at in index.items() if at != column or name in chosen}
            index[field] = column
    if problems:
        raise ShotLogError(text.source, problems)
    notes = tuple(line for field, line in choices if field not in chosen)
    units = {
        field: unit
        for field in DISTANCES
        if field in index and (unit := unit_in(headings[index[field]])) is not None
    }
    if first < len(text.rows) and _is_unit_row(text.rows[first]):
        cells = text.rows[first].cells
        for field in DISTANCES:
            if field in index and index[field] < len(cells):
                below = unit_in(f"({cells[index[field]].strip(' ()[]')})")
                if below is not None:
                    units.setdefault(field, below)
        first += 1
    ordered = {field: index[field] for field in FIELDS if field in index}
    return LogColumns(headings, ordered, units, first, notes)


def map_from_text(texts: Sequence[str] | None) -> dict[str, str]:
    """Read ``carry=Carry distance,offline=Side``: heading or number of the column by field.

    Raises
    ------
    OptionError
        It is laid out otherwise, or names a field that shot logs do not have.
    """
    chosen: dict[str, str] = {}
    # A heading may hold a comma: only one that is followed by a word and "=" ends it.
    for part in (p for text in texts or () for p in re.split(r",(?=\s*\w+\s*=)", text)):
        field, equals, heading = part.partition("=")
        field = field.strip().casefold()
        if not equals or field not in FIELDS:
            guess = nearest(field, FIELDS)
            hint = f'did you mean "{guess}"? ' if guess and guess != field else ""
            raise OptionError(
                f'--map "{part.strip()}" is not understood; {hint}write for instance '
                f"carry=Carry,offline=Side with fields from {', '.join(FIELDS)}"
            )
        if field in chosen:
            raise OptionError(f"--map names {field} twice; name it once")
        chosen[field] = heading.strip().strip("\"'").strip()
    return chosen


def unit_in(heading: str) -> float | None:
    """Length of the unit [m] that a heading names, in brackets or at its end; None if none."""
    found = re.findall(r"[(\[{]([^)\]}]*)[)\]}]", heading)
    words = _words(heading)
    for candidate in (*found, words[-1] if len(words) > 1 else ""):
        word = candidate.strip(" .").casefold()
        if word in M_PER_UNIT:
            return M_PER_UNIT[word]
    return None


def _numbered(chosen: Mapping[str, str]) -> bool:
    """Whether the columns are given by number, so that no headings are needed."""
    return all(chosen.get(field, "").isdigit() for field in REQUIRED)


def _words(heading: str) -> list[str]:
    """Words of a heading without accents and case; joined words are taken apart."""
    apart = re.sub(r"(?<=[a-zà-ÿ])(?=[A-Z])", " ", heading)
    plain = unicodedata.normalize("NFKD", apart.casefold().replace("ß", "ss"))
    return re.findall(r"[a-z]+", "".join(c for c in plain if not unicodedata.combining(c)))


def _phrase(heading: str) -> str:
    """Heading as words to look up: without its unit; an angle or a speed gives nothing."""
    if re.search(r"°|\bdeg|\bmph\b|m/s|km/h|rpm|%", heading, re.IGNORECASE):
        return ""
    bare = re.sub(r"[(\[{][^)\]}]*[)\]}]", " ", heading)
    words = _words(bare)
    if len(words) > 1 and words[-1] in M_PER_UNIT:
        words = words[:-1]
    return " ".join(words)


def _guessed(headings: Sequence[str]) -> tuple[dict[str, int], list[tuple[str, str]]]:
    """Column of each field by its heading, and what was chosen among equals, by field."""
    merits = []
    for column, heading in enumerate(headings):
        phrase = _phrase(heading)
        for field, known in _KNOWN_HEADINGS.items():
            best = max((m for pattern, m in known if re.fullmatch(pattern, phrase)), default=0)
            if phrase and best:
                merits.append((-best, column, field))
    index: dict[str, int] = {}
    notes = []
    for _, column, field in sorted(merits):
        if field in index and column not in index.values():
            first, other = headings[index[field]], headings[column]
            notes.append((field, f'{field} is read from "{first}", not from "{other}"'))
        elif column not in index.values():
            index[field] = column
    return index, notes


def _fit(row: LogLine, chosen: Mapping[str, str]) -> int:
    """How many fields the cells of a row name, as headings."""
    found = set(_guessed(row.cells)[0])
    cells = {cell.strip().casefold() for cell in row.cells}
    found |= {field for field, name in chosen.items() if name and name.casefold() in cells}
    return len(found)


def _column_called(
    name: str, headings: Sequence[str], field: str, problems: list[str]
) -> int | None:
    folded = [heading.casefold() for heading in headings]
    wanted = name.casefold()
    bare = [re.sub(r"\s*[(\[{][^)\]}]*[)\]}]\s*", "", heading) for heading in folded]
    for texts in (folded, bare):
        found = [i for i, text in enumerate(texts) if text == wanted]
        if len(found) == 1:
            return found[0]
        if found:
            numbers = ", ".join(str(i + 1) for i in found)
            problems.append(
                f'{field}: {len(found)} columns are called "{name}"; name one by its number: '
                f"{numbers}"
            )
            return None
    if wanted.isdigit() and 1 <= int(wanted) <= len(headings):
        return int(wanted) - 1
    shown = ", ".join(f'"{heading}"' for heading in headings if heading)
    guess = nearest(name, [heading for heading in headings if heading])
    hint = f'did you mean "{guess}"?' if guess else f"the columns are {shown}"
    problems.append(f'{field}: no column is called "{name}"; {hint}')
    return None


def _is_unit_row(row: LogLine) -> bool:
    """Whether a row below the headings holds nothing but units."""
    cells = [cell.strip(" ()[]").casefold() for cell in row.cells if cell.strip(" ()[]-")]
    units = {*M_PER_UNIT, "mph", "rpm", "deg", "°", "m/s", "km/h", "s", "%"}
    return bool(cells) and all(cell in units for cell in cells)


def _is_shot(row: LogLine) -> bool:
    """Whether a row has more numbers than words."""
    cells = [cell.strip() for cell in row.cells if cell.strip()]
    numbers = sum(bool(re.fullmatch(r"[-+]?\d+(?:[.,]\d+)?", cell)) for cell in cells)
    return numbers > 0 and numbers >= len(cells) / 2
