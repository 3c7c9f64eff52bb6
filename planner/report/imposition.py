"""Which page of a folded booklet stands where on which sheet, with marks to cut and fold.

A leaf is 7 by 4 1/4 inches, folded in the middle; leaves lie in one another. Two leaves stand
above each other on a sheet that is printed on both sides and turned on its long edge, so the back
of a leaf lies behind its front.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.report.card_layout import LEAF_LONG, LEAF_SHORT, LEAST_SIZE
from planner.report.panel import Panel, Stroke
from planner.report.typesetting import Box, TextLine, one_line

__all__ = ["PAGES_A_LEAF", "PAPERS", "Sheet", "imposed", "leaf_sides"]

PAPERS = {"a4": (210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0), "letter": (612.0, 792.0)}
"""Width and height [pt] of the sheets (ISO 216; ANSI/ASME Y14.1), upright."""
PAGES_A_LEAF = 4
LEAVES_A_SHEET = 2
MARK, MARK_GAP = 10.0, 3.0
"""Length of a cut or fold mark and its distance from the leaf [pt]."""


@dataclass(frozen=True, eq=False)
class Sheet:
    """One side of a sheet: panels with their lower left corners, marks and instructions."""

    width: float
    height: float
    panels: tuple[tuple[Panel, float, float], ...]
    strokes: tuple[Stroke, ...]
    lines: tuple[TextLine, ...]


def leaf_sides(count: int) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Pages (from 0) on front and back of each leaf, left then right, the outermost leaf first.

    ``count`` is a multiple of ``PAGES_A_LEAF``.
    """
    if count % PAGES_A_LEAF:
        raise ValueError(f"{count} pages do not fill leaves of {PAGES_A_LEAF}")
    return [
        ((count - 1 - 2 * i, 2 * i), (2 * i + 1, count - 2 - 2 * i))
        for i in range(count // PAGES_A_LEAF)
    ]


def imposed(pages: Sequence[Panel], paper: str) -> list[Sheet]:
    """Sides of the sheets in printing order, front and back in turn."""
    width, height = PAPERS[paper]
    leaves = leaf_sides(len(pages))
    sheets: list[Sheet] = []
    for first in range(0, len(leaves), LEAVES_A_SHEET):
        group = leaves[first : first + LEAVES_A_SHEET]
        for side, word in enumerate(("front", "back")):
            placed: list[tuple[Panel, float, float]] = []
            strokes: list[Stroke] = []
            for slot, leaf in enumerate(group):
                left, bottom = _corner(width, height, slot)
                for half, page in enumerate(leaf[side]):
                    placed.append((pages[page], left + half * LEAF_LONG / 2, bottom))
                strokes += _leaf_marks(left, bottom)
            lines = _instructions(width, height, first, len(group), len(leaves), word)
            sheets.append(Sheet(width, height, tuple(placed), tuple(strokes), tuple(lines)))
    return sheets


def _corner(width: float, height: float, slot: int) -> tuple[float, float]:
    """Lower left corner of a leaf; the same on both sides, in the middle from left to right."""
    gap = (height - LEAVES_A_SHEET * LEAF_SHORT) / (LEAVES_A_SHEET + 1)
    return (width - LEAF_LONG) / 2, height - (slot + 1) * (gap + LEAF_SHORT)


def _leaf_marks(left: float, bottom: float) -> list[Stroke]:
    """Cut marks outside the corners, fold marks outside the middle of the long sides."""
    right, top = left + LEAF_LONG, bottom + LEAF_SHORT
    near, far = MARK_GAP, MARK_GAP + MARK
    marks = []
    for y in (bottom, top):
        marks += [Stroke(left - far, y, left - near, y), Stroke(right + near, y, right + far, y)]
    for x in (left, right):
        marks += [Stroke(x, bottom - far, x, bottom - near), Stroke(x, top + near, x, top + far)]
    middle = (left + right) / 2
    for y0, y1 in ((bottom - far, bottom - near), (top + near, top + far)):
        marks.append(Stroke(middle, y0, middle, y1, 0.7, (2.0, 1.5)))
    return marks


def _instructions(
    width: float, height: float, first: int, here: int, leaves: int, side: str
) -> list[TextLine]:
    named = f"leaf {first + 1}" if here == 1 else f"leaves {first + 1} and {first + here}"
    sheet = first // LEAVES_A_SHEET + 1
    left = (width - LEAF_LONG) / 2
    box = Box(left, 0.0, left + LEAF_LONG, 0.0)
    texts = [
        f"Sheet {sheet}, {side}: {named} of {leaves}, the first outermost. Print at 100 %, on both "
        "sides, turned on the long edge.",
        "Cut at the corner marks to 7 by 4¼ in, fold at the dashed marks, lay the leaves in one "
        "another.",
    ]
    y = height - 24.0
    return [
        one_line(text, box, y - i * 1.3 * LEAST_SIZE, LEAST_SIZE) for i, text in enumerate(texts)
    ]
