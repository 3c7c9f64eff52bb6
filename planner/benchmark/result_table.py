"""One measured table, for a terminal and for a Markdown file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text


@dataclass(frozen=True)
class ResultTable:
    """A table of text with a title above and notes below.

    Parameters
    ----------
    title
        What was measured.
    columns
        Headings; the first column is a name, the others are numbers.
    rows
        Cells of every row, as many as there are columns.
    notes
        How it was measured, a sentence each.

    Raises
    ------
    ValueError
        A row has more or fewer cells than there are columns.
    """

    title: str
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    notes: Sequence[str] = field(default=())

    def __post_init__(self) -> None:
        """Check the lengths of the rows."""
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"{len(self.columns)} columns, but the row {tuple(row)}")

    def rich(self) -> RenderableType:
        """The table for a terminal; no text is read as markup."""
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        for number, name in enumerate(self.columns):
            table.add_column(Text(name), justify="right" if number else "left")
        for row in self.rows:
            table.add_row(*map(Text, row))
        return Group(Text(self.title, style="bold"), table, *map(Text, self.notes), Text())

    def markdown(self) -> str:
        """The table in Markdown, columns padded so that it can be read as it stands."""
        cells = [[_escaped(cell) for cell in row] for row in (self.columns, *self.rows)]
        widths = [max(3, *(len(row[n]) for row in cells)) for n in range(len(self.columns))]
        rule = ["-" * widths[0], *("-" * (width - 1) + ":" for width in widths[1:])]
        lines = [f"**{_escaped(self.title)}**", ""]
        for row in (cells[0], rule, *cells[1:]):
            padded = [
                cell.rjust(width) if number else cell.ljust(width)
                for number, (cell, width) in enumerate(zip(row, widths, strict=True))
            ]
            lines.append(f"| {' | '.join(padded)} |")
        lines += ["", *map(_escaped, self.notes)] if self.notes else []
        return "\n".join(lines) + "\n"


def _escaped(text: str) -> str:
    return " ".join(text.replace("|", "\\|").split())
