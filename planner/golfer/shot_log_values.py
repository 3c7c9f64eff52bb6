"""What is written in the cells of a shot log: distances, sides, lies."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from planner.course.lies import Lie
from planner.golfer.shot_log_columns import M_PER_UNIT

__all__ = ["Fault", "Measure", "is_summary", "lie_of", "measure", "offline_m", "range_m"]

Side = Literal[-1, 1]

LEFT = ("l", "left", "lft", "links", "gauche", "g")
RIGHT = ("r", "right", "rgt", "rechts", "droite", "d")
ON_LINE = frozenset({"straight", "on line", "online", "centre", "center", "middle", "gerade"})
MISSING = frozenset({"", "-", "--", "---", "n/a", "na", "nan", "null", "none", "#n/a", "?", "."})
"""Ways to say that nothing is known."""
MINUS_SIGNS = str.maketrans(
    {"\u2212": "-", "\u2013": "-", "\u2014": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "}
)
_SIDES = "|".join(sorted((*LEFT, *RIGHT), key=len, reverse=True))
_UNITS = "|".join(sorted(M_PER_UNIT, key=len, reverse=True))
_MEASURE = re.compile(
    rf"(?:(?P<before>{_SIDES})\s*)?(?P<sign>[-+]?)\s*(?P<number>\d+(?:[.,]\d*)?|[.,]\d+)"
    rf"\s*(?P<unit>{_UNITS})?\s*(?:\(?\s*(?P<after>{_SIDES})\s*\)?)?"
)
MAX_NUMBER_LENGTH = 24

LIES = {
    **dict.fromkeys(("tee", "tee box", "teed", "tee peg", "abschlag"), Lie.TEE),
    **dict.fromkeys(("fairway", "fwy", "fw", "grass", "turf", "first cut"), Lie.FAIRWAY),
    **dict.fromkeys(("rough", "light rough", "semi rough", "first rough"), Lie.ROUGH),
    **dict.fromkeys(
        ("deep rough", "heavy rough", "thick rough", "long rough", "heather"), Lie.DEEP_ROUGH
    ),
    **dict.fromkeys(("sand", "bunker", "fairway bunker", "greenside bunker"), Lie.SAND),
    **dict.fromkeys(("trees", "wood", "woods", "recovery"), Lie.TREES),
    **dict.fromkeys(("green", "fringe", "apron"), Lie.GREEN),
}
"""Words for lies. A mat is the usual good lie of the club, as is an empty cell."""
USUAL_LIE = frozenset({"mat", "mats", "range mat", "range", "practice mat", "good", "matte"})
_SUMMARIES = frozenset(
    {
        *("average", "avg", "mean", "median", "sum", "std", "std dev", "stdev", "sd", "min", "max"),
        *("standard deviation", "consistency", "averages", "durchschnitt", "mittelwert", "moyenne"),
    }
)


@dataclass(frozen=True)
class Fault:
    """Why a cell cannot be used, and what to do."""

    reason: str
    remedy: str


@dataclass(frozen=True)
class Measure:
    """A number with the unit [m] and the side (-1 left) that its cell names, if it does."""

    number: float
    signed: bool
    unit_m: float | None
    side: Side | None


def measure(cell: str) -> Measure | Fault | None:
    """Read a distance such as ``132,5``, ``12 L``, ``left 12`` or ``140 yd``; None if empty."""
    try:
        # Nearly every cell is a plain number.
        if len(cell) < MAX_NUMBER_LENGTH and cell.isascii() and cell[-1:].isdigit():
            number = float(cell)
            return Measure(number, cell.lstrip()[0] in "+-", None, None)
    except ValueError:
        pass
    text = cell.translate(MINUS_SIGNS).strip().casefold()
    if text in MISSING:
        return None
    if text in ON_LINE:
        return Measure(0.0, False, None, None)
    match = _MEASURE.fullmatch(text) if len(text) < 2 * MAX_NUMBER_LENGTH else None
    if match is None:
        return Fault("is not a distance", "write one number, such as 132.5 or 132,5")
    before, after = match["before"], match["after"]
    if before and after:
        return Fault("names a side twice", "write for instance 12 left")
    if match["sign"] and (before or after):
        return Fault("has a sign and a side", "write either -12 or 12 left")
    side: Side | None = None
    if before or after:
        side = -1 if (before or after) in LEFT else 1
    number = float(f"{match['sign']}{match['number'].replace(',', '.')}")
    unit = M_PER_UNIT[match["unit"]] if match["unit"] else None
    return Measure(number, bool(match["sign"]), unit, side)


def range_m(found: Measure, unit_m: float, most_m: float) -> float | Fault:
    """Carry or total [m], from 0 to ``most_m``."""
    if found.side is not None:
        return Fault("names a side", "write the distance alone; sides belong to offline")
    metres = found.number * (found.unit_m or unit_m)
    if metres < 0:
        return Fault("is negative", "write how far the ball went, 0 or more")
    if metres > most_m:
        return Fault(
            f"is {metres:.0f} m, more than any shot ({most_m:g} m)",
            "correct the number, or the unit of the column",
        )
    return metres


def offline_m(found: Measure, unit_m: float, most_m: float) -> float | Fault:
    """Offline [m], + right, at most ``most_m`` to either side."""
    metres = found.number * (found.unit_m or unit_m) * (found.side or 1)
    if abs(metres) > most_m:
        return Fault(
            f"is {abs(metres):.0f} m off the line, more than any shot ({most_m:g} m)",
            "correct the number, or the unit of the column",
        )
    return metres


def lie_of(cell: str) -> Lie | Fault | None:
    """Lie that a word names; None for the club's usual good lie or where nothing is written."""
    text = " ".join(cell.translate(MINUS_SIGNS).replace("-", " ").replace("_", " ").split())
    word = text.casefold()
    if word in USUAL_LIE or word in MISSING:
        return None
    if word in LIES:
        return LIES[word]
    return Fault(
        "is no lie that is known",
        "write tee, fairway, rough, deep rough, sand, trees or green, or leave it empty",
    )


def is_summary(cell: str) -> bool:
    """Whether a row that begins with this cell sums up others, as exports do at their end."""
    return cell.strip(" .:").replace(".", "").casefold() in _SUMMARIES
