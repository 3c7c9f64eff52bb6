"""Pages of the card that are not a hole: the round in a table, the closing page, room for notes."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from planner import __version__
from planner.course.lies import Ground
from planner.report import card_words, words
from planner.report.card_layout import LEAST_SIZE, CardSize
from planner.report.cautions import CAUTIONS
from planner.report.drawing import Shape
from planner.report.panel import Panel, PlacedDrawing, Stroke
from planner.report.print_drawing import PrintDrawing
from planner.report.print_fonts import MISSING, missing_letters
from planner.report.print_palette import PRINT_GROUNDS, printed_ground
from planner.report.round_rows import round_rows
from planner.report.typesetting import LEADING, Block, Box, Run, TextLine, column, one_line
from planner.report.view import View
from planner.strategy.advice import RoundPlan
from planner.units import DistanceUnit

__all__ = ["closing_panel", "notes_panel", "round_panels"]

COLUMNS = (
    ("Hole", 0.095, "right"),
    ("Par", 0.085, "right"),
    ("SI", 0.075, "right"),
    ("", 0.115, "right"),
    ("Tee shot", 0.46, "left"),
    ("Strokes", 0.17, "right"),
)
"""Title, share of the width and side of each column of the table; the fourth is the length."""
KEY_COLUMNS = 3
KEY_WIDTH, KEY_HEIGHT = 20.0, 10.0
GROUND_NAMES = {
    Ground.YELLOW: "yellow area",
    Ground.RED: "red area",
    Ground.OUT: "out of bounds",
}


def round_panels(plan: RoundPlan, *, size: CardSize, unit: DistanceUnit) -> list[Panel]:
    """Cover with the round in a table, and as many pages more as the table needs."""
    content = size.content
    text = max(LEAST_SIZE, 0.94 * size.text)
    step = 1.16 * text
    rows = round_rows(plan, unit)
    head = content.height - (len(rows) + 1) * step - LEADING * text - 7.0
    head = max(head, 0.26 * content.height)
    titles, below = column(
        _titles(plan, size, unit), Box(content.left, content.top - head, content.right, content.top)
    )
    panels: list[Panel] = []
    top, lines = below - 2.0, titles
    while rows or not panels:
        room = int((top - content.bottom - LEADING * text) / step) - 1
        now, rows = rows[:room], rows[room:]
        table, strokes = _table(
            now, Box(content.left, content.bottom, content.right, top), text, step, unit
        )
        name = "The round" if not panels else "The round, continued"
        panels.append(
            Panel(name, size.width, size.height, content, (*lines, *table), tuple(strokes))
        )
        top, lines = content.top, []
    return panels


def _titles(plan: RoundPlan, size: CardSize, unit: DistanceUnit) -> list[Block]:
    text = size.text
    length = words.distance(sum(hole.length_m for hole in plan.holes), unit)
    hand = ", left-handed" if plan.left_handed else ""
    weather = f"; {plan.conditions}" if plan.conditions else ""
    round_words = f"{plan.tee} tees, {length}, par {plan.par}{weather}"
    return [
        Block((Run(plan.course, bold=True),), 1.7 * text, 2, 1),
        Block((Run(f"{plan.golfer}{hand};"), Run(f'bag "{plan.bag}"')), text, 2, 3, 1.0),
        Block((Run(round_words),), text, 2, 4, 1.0),
        Block(
            (
                Run(f"Aims for {card_words.aims_for(plan)}:"),
                Run(f"{words.strokes(plan.expected_strokes)} strokes,", bold=True),
                Run(f"{card_words.penalties(plan.expected_penalties)} of them penalties."),
            ),
            text,
            2,
            0,
            1.0,
        ),
        Block((Run(card_words.SAFETY),), LEAST_SIZE, 3, 2, 1.0),
    ]


def _table(
    rows: Sequence[tuple[str, ...]], box: Box, text: float, step: float, unit: DistanceUnit
) -> tuple[list[TextLine], list[Stroke]]:
    titles = tuple(title or f"[{unit.symbol}]" for title, _, _ in COLUMNS)
    lines: list[TextLine] = []
    y = box.top + 1.5
    for number, row in enumerate([titles, *rows]):
        y -= step + (1.5 if number < 2 else 0.0)
        left = box.left
        bold = number == 0 or (not row[2] and not row[4])
        for cell, (_, share, align) in zip(row, COLUMNS, strict=True):
            right = left + share * box.width
            room = Box(left + (4.0 if align == "left" else 0.0), 0.0, right, 0.0)
            if cell:
                lines.append(one_line(cell, room, y + 0.28 * text, text, bold=bold, align=align))
            left = right
    under = box.top - step - 0.7
    return lines, [Stroke(box.left, under, box.right, under, 0.8)]


def closing_panel(plan: RoundPlan, *, size: CardSize) -> Panel:
    """Cautions, the Rule, the key to the drawings and the source of the map."""
    content = size.content
    small = max(LEAST_SIZE, 0.93 * size.text)
    rows = -(-len(PRINT_GROUNDS) // KEY_COLUMNS)
    key_height = rows * (KEY_HEIGHT + 5.0)
    gap = 0.5 * small
    blocks = [
        Block((Run("Before you play", bold=True),), 1.2 * size.text, 1, 0),
        *(Block((Run(caution),), small, 5, 1, 0.4 * gap) for caution in CAUTIONS[:2]),
        Block((Run(card_words.BEFORE_THE_ROUND),), small, 8, 1, 0.4 * gap),
        Block((Run(card_words.source(plan)),), small, 8, 0, gap),
        Block((Run(_how_to_read()),), small, 6, 2, gap),
        *_remarks(plan, small, gap),
    ]
    upper = Box(content.left, content.bottom + key_height + gap, content.right, content.top)
    lines, _ = column(blocks, upper)
    samples, names = _key(
        Box(content.left, content.bottom, content.right, content.bottom + key_height)
    )
    return Panel(
        "Before you play",
        size.width,
        size.height,
        content,
        (*lines, *names),
        (),
        tuple(samples),
    )


def _how_to_read() -> str:
    return (
        "Drawings: numbers are distances to the pin; the dashed ellipse holds nine of ten solid "
        "tee shots where they land; A, B mark where the ball often ends. Carry: to reach and to "
        "clear, from the ball. Right is right for left-handers too."
    )


def _remarks(plan: RoundPlan, small: float, gap: float) -> list[Block]:
    count = len(plan.notes)
    said = [f"Assumptions made: {count}; the coach's sheet lists them."] if count else []
    if plan.key:
        said.append(f"Plan {plan.key}, version {__version__}.")
    if any(missing_letters(name) for name in _names(plan)):
        said.append(f'"{MISSING}" stands for a letter that this typeface lacks.')
    return [Block((Run(" ".join(said)),), small, 3, 3, gap)] if said else []


def _names(plan: RoundPlan) -> tuple[str, ...]:
    holes = [name for hole in plan.holes for name in (hole.hole.name, hole.hole.ref)]
    return (plan.course, plan.golfer, plan.bag, plan.attribution, *plan.clubs, *holes)


def _key(box: Box) -> tuple[list[PlacedDrawing], list[TextLine]]:
    """One sample of each ground, as it is drawn."""
    samples: list[PlacedDrawing] = []
    names: list[TextLine] = []
    wide = box.width / KEY_COLUMNS
    for i, (ground, role) in enumerate(PRINT_GROUNDS.items()):
        left = box.left + (i % KEY_COLUMNS) * wide
        bottom = box.top - (i // KEY_COLUMNS + 1) * (KEY_HEIGHT + 5.0) + 2.5
        samples.append(PlacedDrawing(_sample(ground), left, bottom))
        room = Box(left + KEY_WIDTH + 4.0, 0.0, left + wide, 0.0)
        names.append(one_line(GROUND_NAMES.get(ground, role), room, bottom + 2.5, LEAST_SIZE))
    return samples, names


def _sample(ground: Ground) -> PrintDrawing:
    view = View(0.0, 0.0, KEY_WIDTH, KEY_HEIGHT, 1.0)
    area = shapely.box(0.8, 0.8, KEY_WIDTH - 0.8, KEY_HEIGHT - 0.8)
    shapes: list[Shape] = list(printed_ground(ground, area, point=1.0))
    return PrintDrawing(view, tuple(shapes), ())


def notes_panel(*, size: CardSize) -> Panel:
    """Ruled page for the golfer's own words."""
    content = size.content
    title = one_line("Notes", content, content.top - 1.2 * size.text, 1.2 * size.text, bold=True)
    step = 2.4 * size.text
    count = int((content.height - 2.0 * size.text) / step)
    strokes = [
        Stroke(content.left, y, content.right, y, 0.4)
        for y in (content.top - 2.0 * size.text - (i + 1) * step for i in range(count))
    ]
    return Panel("Notes", size.width, size.height, content, (title,), tuple(strokes))
