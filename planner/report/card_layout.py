"""The two sizes of the card, and the page of one hole."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.report import card_words, words
from planner.report.hole_drawing import LETTERS
from planner.report.panel import Panel, PlacedDrawing, Stroke
from planner.report.print_drawing import draw_for_print
from planner.report.typesetting import LEADING, Block, Box, Run, TextLine, column, one_line
from planner.strategy.advice import HolePlan
from planner.strategy.hazard_carries import HazardCarry
from planner.units import DistanceUnit

__all__ = [
    "BOOKLET",
    "INCH",
    "LEAF",
    "LEAF_LONG",
    "LEAF_SHORT",
    "LEAST_SIZE",
    "CardSize",
    "Carries",
    "hole_panel",
]

INCH = 72.0
LEAF_SHORT, LEAF_LONG = 4.25 * INCH, 7.0 * INCH
"""Largest paper on which greens may be shown, 4 1/4 by 7 inches (Rule 4.3a) [pt]."""
LEAST_SIZE = 7.0
"""No text is smaller [pt]."""

Carries = tuple[tuple[HazardCarry, ...], ...]
"""Hazards near the tee shot, then those near the shot from each next place."""


@dataclass(frozen=True)
class CardSize:
    """Page of a card: its size and that of its text [pt]; share of its width for the drawing."""

    width: float
    height: float
    margin: float
    text: float
    drawing_share: float
    places: int

    @property
    def content(self) -> Box:
        """Page without its margins."""
        return Box(self.margin, self.margin, self.width - self.margin, self.height - self.margin)


BOOKLET = CardSize(LEAF_LONG / 2, LEAF_SHORT, 12.0, 7.5, 0.35, 2)
"""Half a leaf: two pages face each other when it is open."""
LEAF = CardSize(LEAF_SHORT, LEAF_LONG, 16.0, 10.0, 0.38, 3)
"""A whole leaf for each hole, in larger print."""


def hole_panel(
    plan: HolePlan, hazards: Carries, *, size: CardSize, unit: DistanceUnit, round_tee: str
) -> Panel:
    """Page of one hole: a head, the drawn hole on the left and what to know on the right."""
    content = size.content
    head, foot = 3.2 * size.text, LEADING * LEAST_SIZE + 2.0
    lines = _head(plan, size, unit, round_tee)
    below = content.top - head
    body = Box(content.left, content.bottom + foot, content.right, below - 5.0)
    wide = size.drawing_share * content.width
    drawing = draw_for_print(
        plan,
        unit=unit,
        width=wide,
        height=body.height,
        size=max(LEAST_SIZE, 0.85 * size.text),
        letters=size.places,
    )
    text = Box(body.left + wide + 0.8 * size.text, body.bottom, body.right, body.top)
    told, _ = column(_blocks(plan, hazards, size, unit), text)
    closing = one_line(
        "Made before play. Local rules and safety come first.",
        content,
        content.bottom + 0.3 * LEAST_SIZE,
        LEAST_SIZE,
    )
    return Panel(
        f"Hole {plan.hole.ref}",
        size.width,
        size.height,
        content,
        (*lines, *told, closing),
        (Stroke(content.left, below, content.right, below, 1.2),),
        (PlacedDrawing(drawing, body.left, body.bottom),),
    )


def _head(plan: HolePlan, size: CardSize, unit: DistanceUnit, round_tee: str) -> list[TextLine]:
    content, text = size.content, size.text
    number = one_line(
        plan.hole.ref,
        Box(content.left, 0.0, content.left + 0.3 * content.width, 0.0),
        content.top - 2.5 * text,
        3.0 * text,
        bold=True,
    )
    rest = Box(max(number.box.right + text, content.left + 5 * text), 0.0, content.right, 0.0)
    first = one_line(
        card_words.heading(plan, unit), rest, content.top - 1.15 * text, 1.2 * text, bold=True
    )
    named = [plan.hole.name] if plan.hole.name.strip() else []
    if plan.tee != round_tee:
        named.insert(0, f"{plan.tee} tee")
    second = one_line(", ".join(named), rest, content.top - 2.5 * text, text)
    return [number, first, second] if named else [number, first]


def _blocks(plan: HolePlan, hazards: Carries, size: CardSize, unit: DistanceUnit) -> list[Block]:
    best, text = plan.best, size.text
    gap = 0.42 * text
    strokes = f"{words.strokes(plan.expected_strokes)} strokes,"
    penalty = f"{card_words.penalties(plan.expected_penalties)} of them penalties"
    blocks = [
        Block(_said("", words.what_to_hit(best, unit), bold=True), 1.25 * text, 3, 0),
        Block(_said("Aim", card_words.short_aim(best, unit) or "-"), text, 4, 1, gap),
        Block(_said("Expect", f"{strokes} {penalty}"), text, 3, 0, gap),
        Block(_said("Tee shot", _chances(plan)), text, 3, 0, gap),
        Block(_said("", words.margin(plan, unit)), text, 4, 2, gap),
    ]
    if not plan.converged:
        blocks.insert(0, Block(_said("", card_words.unsolved(plan), bold=True), text, 3, 0))
    if hazards and hazards[0]:
        told = card_words.carries(hazards[0], unit)
        blocks.append(Block(_said(f"Carry [{unit.symbol}]", told), text, 5, 3, gap))
    if math.isfinite(best.leave_m):
        usual = f"{words.distance(best.leave_m, unit)} usually, then"
        blocks.append(Block(_said("Leaves", usual), text, 1, 4, gap))
    for i, place in enumerate(plan.next_shots[: size.places]):
        where, club, rest = card_words.next_words(place, unit)
        near = hazards[i + 1] if i + 1 < len(hazards) else ()
        if near:
            rest += f". Carry {card_words.carries(near, unit)}"
        runs = (Run(LETTERS[i], bold=True), Run(where), Run(club, bold=True), Run(rest))
        blocks.append(Block(runs, text, 7, 5 + i, gap))
    return blocks


def _chances(plan: HolePlan) -> str:
    return f"{card_words.found(plan)}, {card_words.risk(plan.best)}"


def _said(label: str, text: str, *, bold: bool = False) -> tuple[Run, ...]:
    return (Run(label, bold=True), Run(text, bold=bold)) if label else (Run(text, bold=bold),)
