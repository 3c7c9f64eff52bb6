"""Reading one TOML table with every fault noted instead of stopping at the first."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from typing import Any

from planner.units import DistanceUnit

__all__ = ["MAX_PROBLEMS", "TomlTable", "nearest"]

MAX_PROBLEMS = 100
"""Faults of a file that are told one by one; of the rest it is said that they are there."""
MAX_GUESSED = 60
"""Characters of a word for which a similar one is looked for; the search is slow for long ones."""
MAX_SAID = 300
"""Characters of a fault: what a file repeats may be longer."""
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


def nearest(word: str, choices: Iterable[str]) -> str | None:
    """Return the choice most like ``word``, or None if none is near."""
    if len(word) > MAX_GUESSED:
        return None
    by_folded = {choice.casefold(): choice for choice in choices}
    found = difflib.get_close_matches(word.casefold(), by_folded, n=1, cutoff=0.6)
    return by_folded[found[0]] if found else None


class TomlTable:
    """A TOML table whose keys are taken one by one; faults are added to ``problems``.

    Parameters
    ----------
    values
        The table as parsed.
    problems
        Shared list to which one line for each fault is added.
    where
        How to name the table in a message, such as ``club table 3 ("7 iron")``.
    unit
        Unit of the distances in the table.
    """

    def __init__(
        self,
        values: Mapping[str, Any],
        problems: list[str],
        *,
        where: str = "",
        unit: DistanceUnit = DistanceUnit.METRES,
    ) -> None:
        self.unit = unit
        self._values = values
        self._where = where
        self._problems = problems
        self._known: list[str] = []

    def __contains__(self, key: str) -> bool:
        """Whether the file gives ``key``."""
        return key in self._values

    def fault(self, key: str, text: str) -> None:
        """Note that ``key`` is faulty; ``text`` says how and what to do."""
        prefix = f"{_short(self._where)}: " if self._where else ""
        if len(self._problems) < MAX_PROBLEMS:
            self._problems.append(f"{prefix}{_short(key)}: {_short(text)}")
        elif len(self._problems) == MAX_PROBLEMS:
            self._problems.append("there are more faults; mend these first")

    def _take(self, key: str, required: str | None) -> Any:
        self._known.append(key)
        if key not in self._values:
            if required is not None:
                self.fault(key, f"missing; {required}")
            return None
        return self._values[key]

    def number(
        self,
        key: str,
        low: float,
        high: float,
        *,
        unit: str = "",
        required: str | None = None,
        above: bool = False,
    ) -> float | None:
        """Take a number from ``low`` to ``high`` (``low`` itself excluded if ``above``).

        ``required`` is the remedy shown when the key is missing; None makes it optional.
        """
        value = self._take(key, required)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            remedy = "write it without quotes" if isinstance(value, str) else "write one number"
            self.fault(key, f"{_short(repr(value))} is not a number; {remedy}")
            return None
        value = _as_float(value)
        suffix = f" {unit}" if unit else ""
        if math.isnan(value):
            self.fault(key, "is nan; write a number or leave the key out")
        elif value < low or value > high or (above and value == low):
            bound = "above" if above else "from"
            self.fault(
                key, f"{value:g}{suffix} is not possible; write a number {bound} {low:g} "
                f"{'and at most' if above else 'to'} {high:g}{suffix}"
            )  # fmt: skip
        else:
            return value
        return None

    def metres(
        self,
        key: str,
        low_m: float,
        high_m: float,
        *,
        required: str | None = None,
        above: bool = False,
    ) -> float | None:
        """Take a distance in the table's unit and give it in metres; limits as in `number`."""
        unit = self.unit
        low, high = unit.from_metres(low_m), unit.from_metres(high_m)
        value = self.number(key, low, high, unit=unit.value, required=required, above=above)
        return None if value is None else unit.to_metres(value)

    def whole(self, key: str, low: int, high: int) -> int | None:
        """Take an optional whole number from ``low`` to ``high``."""
        value = self.number(key, low, high)
        if value is not None and value != int(value):
            self.fault(key, f"{value:g} is not a whole number; write one")
            return None
        return None if value is None else int(value)

    def text(self, key: str, *, required: str | None = None) -> str | None:
        """Take a text; an empty one counts as missing."""
        value = self._take(key, required)
        if value is None:
            return None
        if not isinstance(value, str):
            self.fault(key, f"{_short(repr(value))} is not a text; write it in double quotes")
            return None
        if _CONTROL.search(value):
            self.fault(key, "holds a control character; write it anew")
            return None
        if not value.strip():
            if required is not None:
                self.fault(key, f"is empty; {required}")
            return None
        return value.strip()

    def choice(
        self, key: str, choices: Iterable[str], *, required: str | None = None
    ) -> str | None:
        """Take one of the words ``choices``, in any case of letters."""
        words = tuple(choices)
        value = self.text(key, required=required)
        if value is None or value.casefold() in words:
            return value.casefold() if value is not None else None
        guess = nearest(value, words)
        hint = f'did you mean "{guess}"? ' if guess else ""
        self.fault(key, f'"{_short(value)}" is not known; {hint}write one of: {", ".join(words)}')
        return None

    def flag(self, key: str) -> bool | None:
        """Take an optional true or false."""
        value = self._take(key, None)
        if value is None or isinstance(value, bool):
            return value
        self.fault(
            key, f"{_short(repr(value))} is neither true nor false; write true or false, no quotes"
        )
        return None

    def table(self, key: str) -> TomlTable | None:
        """Take an optional table inside this one."""
        value = self._take(key, None)
        if value is None:
            return None
        if not isinstance(value, dict):
            self.fault(key, f"is not a table; write its keys below a line [...{key}]")
            return None
        where = f"{self._where}, {key}" if self._where else key
        return TomlTable(value, self._problems, where=where, unit=self.unit)

    def rows(self, key: str, *, title: str, required: str | None = None) -> list[TomlTable] | None:
        """Take a list of tables, as written below repeated ``[[key]]`` lines.

        A message names a row by its number from 1 and by its own key ``title``.
        """
        value = self._take(key, required)
        if value is None:
            return None
        if isinstance(value, dict):
            self.fault(key, f"is one table; write [[{key}]] with double brackets")
            return None
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            self.fault(key, f"is not a list of tables; write [[{key}]] above each one")
            return None
        above = f"{self._where}, " if self._where else ""
        tables = []
        for i, row in enumerate(value, start=1):
            name = row.get(title)
            named = f' ("{name}")' if isinstance(name, str) else ""
            where = f"{above}{key} table {i}{named}"
            tables.append(TomlTable(row, self._problems, where=where, unit=self.unit))
        return tables

    def finish(self) -> None:
        """Note every key of the file that was not taken."""
        for key in self._values:
            if key not in self._known and len(self._problems) <= MAX_PROBLEMS:
                guess = nearest(key, self._known)
                if guess:
                    remedy = f'did you mean "{guess}"?'
                else:
                    remedy = f"remove it; known keys: {', '.join(self._known)}"
                self.fault(key, f"unknown key; {remedy}")


def _as_float(value: float) -> float:
    """Give a whole number of any size as a float."""
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf


def _short(text: str) -> str:
    return text if len(text) <= MAX_SAID else text[: MAX_SAID - 3] + "..."
