"""Text set into boxes by its measured widths: lines, paragraphs, and what must give way.

Points of 1/72 inch; coordinates from the lower left corner of the page or panel, y upward.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.report.print_fonts import ASCENT, DESCENT, printable, text_width

__all__ = ["LEADING", "Block", "Box", "Run", "TextLine", "column", "ellipsis", "one_line", "wrap"]

LEADING = 1.2
"""Distance of base lines as a share of the size."""
ELLIPSIS = "…"


@dataclass(frozen=True)
class Box:
    """A rectangle [pt]."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Width [pt]."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height [pt]."""
        return self.top - self.bottom

    def overlaps(self, other: Box) -> bool:
        """Whether the two have an area in common."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )


@dataclass(frozen=True)
class TextLine:
    """A piece of text on its base line, left end at ``x``; over a drawing it has white below it."""

    text: str
    x: float
    y: float
    size: float
    bold: bool = False
    over_drawing: bool = False

    @property
    def box(self) -> Box:
        """Rectangle that holds its letters."""
        right = self.x + text_width(self.text, self.size, bold=self.bold)
        return Box(self.x, self.y - DESCENT * self.size, right, self.y + ASCENT * self.size)


@dataclass(frozen=True)
class Run:
    """Text in one cut."""

    text: str
    bold: bool = False


@dataclass(frozen=True)
class Block:
    """A paragraph that wants its place in a column.

    Parameters
    ----------
    runs
        Its text.
    size
        Size of its letters [pt].
    most
        Lines it may take; the rest is cut and ends in an ellipsis.
    rank
        What gives way first where room is short: the highest.
    gap
        Room above it [pt].
    whole
        Left out rather than shortened for want of room.
    """

    runs: tuple[Run, ...]
    size: float
    most: int = 6
    rank: int = 0
    gap: float = 0.0
    whole: bool = False


Words = list[Run]


def wrap(runs: Sequence[Run], size: float, width: float) -> list[Words]:
    """Break runs into lines no wider than ``width`` [pt]; a word that is too long is split."""
    lines: list[Words] = []
    line: Words = []
    used = 0.0
    for word in _words(runs, size, width):
        space = text_width(" ", size, bold=word.bold) if line else 0.0
        wide = text_width(word.text, size, bold=word.bold)
        if line and used + space + wide > width:
            lines.append(line)
            line, used, space = [], 0.0, 0.0
        line.append(word)
        used += space + wide
    return [*lines, line] if line else lines


def _words(runs: Sequence[Run], size: float, width: float) -> Words:
    found: Words = []
    for run in runs:
        for word in printable(run.text).split(" "):
            rest = word
            while text_width(rest, size, bold=run.bold) > width and len(rest) > 1:
                cut = _fitting(rest, size, width, bold=run.bold)
                found.append(Run(rest[:cut], run.bold))
                rest = rest[cut:]
            if rest:
                found.append(Run(rest, run.bold))
    return found


def _fitting(text: str, size: float, width: float, *, bold: bool) -> int:
    """How many letters of ``text`` fit, at least one."""
    count = len(text)
    while count > 1 and text_width(text[:count], size, bold=bold) > width:
        count -= 1
    return count


def ellipsis(text: str, size: float, width: float, *, bold: bool = False) -> str:
    """Text cut to ``width`` [pt], ending in an ellipsis if anything was cut."""
    text = printable(text)
    if text_width(text, size, bold=bold) <= width:
        return text
    count = len(text)
    while count and text_width(text[:count].rstrip() + ELLIPSIS, size, bold=bold) > width:
        count -= 1
    return text[:count].rstrip() + ELLIPSIS


def one_line(
    text: str,
    box: Box,
    y: float,
    size: float,
    *,
    bold: bool = False,
    align: str = "left",
) -> TextLine:
    """One line between the sides of ``box`` with its base line at ``y``, cut if too long."""
    cut = ellipsis(text, size, box.width, bold=bold)
    spare = box.width - text_width(cut, size, bold=bold)
    shift = {"left": 0.0, "centre": spare / 2, "right": spare}[align]
    return TextLine(cut, box.left + shift, y, size, bold)


def column(blocks: Sequence[Block], box: Box) -> tuple[list[TextLine], float]:
    """Set blocks from the top of ``box`` downward; what ranks highest is shortened first.

    Returns
    -------
    The lines, and the height [pt] where the last of them ends.
    """
    laid = [(block, wrap(block.runs, block.size, box.width)) for block in blocks]
    cut = [(block, _shortened(lines, block, box, block.most)) for block, lines in laid]
    while _height(cut) > box.height + 1e-6 and any(lines for _, lines in cut):
        worst = max(
            (i for i, (_, lines) in enumerate(cut) if lines),
            key=lambda i: (cut[i][0].rank, len(cut[i][1]) > 1, i),
        )
        block, lines = cut[worst]
        fewer = 0 if block.whole else len(lines) - 1
        cut[worst] = (block, _shortened(laid[worst][1], block, box, fewer))
    return _placed(cut, box)


def _shortened(lines: list[Words], block: Block, box: Box, most: int) -> list[Words]:
    if len(lines) <= most:
        return lines
    if most <= 0:
        return []
    kept, last = lines[:most], list(lines[most - 1])
    mark = text_width(ELLIPSIS, block.size, bold=last[-1].bold)
    while len(last) > 1 and _line_width(last, block.size) + mark > box.width:
        last.pop()
    end = last[-1]
    room = box.width - (_line_width(last, block.size) - _width(end, block.size))
    kept[-1] = [*last[:-1], replace(end, text=_ended(end, block.size, room))]
    return kept


def _ended(word: Run, size: float, room: float) -> str:
    text = word.text.rstrip(",;:")
    while len(text) > 1 and text_width(text + ELLIPSIS, size, bold=word.bold) > room:
        text = text[:-1]
    return text + ELLIPSIS


def _width(word: Run, size: float) -> float:
    return text_width(word.text, size, bold=word.bold)


def _line_width(line: Words, size: float) -> float:
    spaces = sum(text_width(" ", size, bold=word.bold) for word in line[1:])
    return spaces + sum(_width(word, size) for word in line)


def _height(cut: Sequence[tuple[Block, list[Words]]]) -> float:
    shown = [(block, lines) for block, lines in cut if lines]
    gaps = sum(block.gap for block, _ in shown[1:])
    return gaps + sum(len(lines) * LEADING * block.size for block, lines in shown)


def _placed(cut: Sequence[tuple[Block, list[Words]]], box: Box) -> tuple[list[TextLine], float]:
    placed: list[TextLine] = []
    top = box.top
    for block, lines in cut:
        if lines and placed:
            top -= block.gap
        for line in lines:
            top -= LEADING * block.size
            y = top + (LEADING - ASCENT) * block.size
            placed += _pieces(line, block.size, box.left, y)
    return placed, top


def _pieces(line: Words, size: float, left: float, y: float) -> list[TextLine]:
    """Words of one line, neighbours of the same cut joined."""
    pieces: list[TextLine] = []
    x = left
    for i, word in enumerate(line):
        if i:
            space = text_width(" ", size, bold=word.bold)
            if pieces[-1].bold == word.bold:
                pieces[-1] = replace(pieces[-1], text=f"{pieces[-1].text} {word.text}")
                x += space + _width(word, size)
                continue
            x += space
        pieces.append(TextLine(word.text, x, y, size, word.bold))
        x += _width(word, size)
    return pieces
