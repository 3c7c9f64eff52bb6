"""The printed typeface: its files, its widths and the letters it has.

Bitstream Vera Sans comes with reportlab and may be redistributed; it is embedded in every file.
Its figures are all of one width, so columns of numbers stand in line.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from pathlib import Path

import reportlab
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

__all__ = ["ASCENT", "DESCENT", "MISSING", "face", "missing_letters", "printable", "text_width"]

ASCENT, DESCENT = 0.78, 0.24
"""Height of capitals and accents above the base line, depth below it, as shares of the size;
measured on the letters of the typeface, rounded up."""
MISSING = "?"
"""Printed for a letter that the typeface does not have, not even without its accent."""
_NO_BREAK = "\u00a0"


def face(bold: bool) -> str:
    """Name under which reportlab knows the regular or the bold cut."""
    return str(_font(bold).fontName)


@cache
def _font(bold: bool) -> TTFont:
    name, file = ("PlannerSansBold", "VeraBd.ttf") if bold else ("PlannerSans", "Vera.ttf")
    folder = Path(reportlab.__file__).parent / "fonts"
    font = TTFont(name, str(folder / file))
    pdfmetrics.registerFont(font)
    return font


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a text set in ``size`` [pt]."""
    return float(pdfmetrics.stringWidth(text, face(bold), size))


def printable(text: str) -> str:
    """Text on one line in letters the typeface has.

    Accents that it lacks are left off; a letter that it lacks altogether becomes ``MISSING``.
    No-break spaces stay; what cannot be seen is dropped.
    """
    kept = []
    for letter in unicodedata.normalize("NFC", text):
        kind = unicodedata.category(letter)
        if letter == _NO_BREAK:
            kept.append(letter)
        elif letter.isspace() or kind.startswith("Z"):
            kept.append(" ")
        elif not kind.startswith("C"):
            kept.append(_nearest(letter))
    return " ".join(part for part in "".join(kept).split(" ") if part)


def missing_letters(text: str) -> bool:
    """Whether a letter of ``text`` is printed as ``MISSING``."""
    return printable(text).count(MISSING) > text.count(MISSING)


@cache
def _letters() -> frozenset[int]:
    regular, heavy = (set(_font(bold).face.charWidths) for bold in (False, True))
    return frozenset(regular & heavy)


def _nearest(letter: str) -> str:
    if ord(letter) in _letters():
        return letter
    plain = unicodedata.normalize("NFKD", letter)
    found = "".join(part for part in plain if ord(part) in _letters())
    if found:
        return found
    # A combining mark alone is not missed.
    return "" if unicodedata.category(letter).startswith("M") else MISSING
