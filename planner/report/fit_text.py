"""A shot log and its fits as text for a terminal: tables and sentences, no arithmetic."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.golfer.club_fits import ClubFit, LogFit
from planner.golfer.shot_log import LogReading
from planner.report import fit_words
from planner.units import DistanceUnit

__all__ = ["fits_text", "notes_text", "reading_text"]

SHOWN_REJECTIONS = 60
"""Rows left out that are printed; the JSON output holds all of them."""


def reading_text(reading: LogReading) -> RenderableType:
    """Say what was read, how, and every row that was left out."""
    text = reading.text
    parts: list[RenderableType] = [
        _text(f"{text.source}: {fit_words.reading_said(reading)}", "bold"),
        _text(f"Read as: {fit_words.columns_said(reading.columns)}; --map puts it right."),
    ]
    parts += [_bullet(note) for note in reading.notes]
    rejected = reading.rejected
    if rejected:
        parts += [Text(), _text("Left out", "bold")]
        parts += [_bullet(str(fault)) for fault in rejected[:SHOWN_REJECTIONS]]
        if len(rejected) > SHOWN_REJECTIONS:
            more = len(rejected) - SHOWN_REJECTIONS
            parts.append(_bullet(f"and {more} more; --json writes all of them"))
    return Group(*parts)


def fits_text(fits: LogFit, unit: DistanceUnit) -> RenderableType:
    """Table of the fits with their intervals, remarks below each club."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("Club", overflow="fold")
    for heading in fit_words.FIT_HEADINGS:
        table.add_column(heading, justify="right", no_wrap=True)
    for found in fits.clubs:
        cells = fit_words.fit_cells(found, unit)
        title = f"{found.title}\n{fit_words.FEW_SHOTS_SAID if found.few else ''}".rstrip()
        table.add_row(_text(title), *(_text(f"{v}\n{i}".rstrip()) for v, i in cells))
    few = fit_words.few_said(fits)
    remarks = [_bullet(few)] if few else []
    remarks += [part for found in fits.clubs for part in _remarks(found)]
    parts: list[RenderableType] = [table, Text(), _text(fit_words.interval_said(unit))]
    if remarks:
        parts += [Text(), _text("To be known", "bold"), *remarks]
    settled = "every fit converged" if fits.converged else "not every fit converged"
    return Group(*parts, Text(), _text(f"{len(fits.clubs)} fits; {settled}."))


def notes_text(notes: Iterable[str]) -> RenderableType:
    """What was assumed."""
    return Group(_text("What was assumed", "bold"), *map(_bullet, notes))


def _remarks(found: ClubFit) -> list[RenderableType]:
    return [_bullet(f"{found.title}: {line}") for line in fit_words.fit_remarks(found)]


def _bullet(line: str) -> RenderableType:
    grid = Table.grid(padding=(0, 1))
    grid.add_row(Text("  -"), _text(line))
    return Padding(grid, (0, 0))


def _text(line: str, style: str = "") -> Text:
    """Plain text: no markup, and ordinary spaces so that a pipe can be searched."""
    return Text(line.replace("\u00a0", " "), style=style)
