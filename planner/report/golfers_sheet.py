"""One hole, several golfers: their plans side by side on one page of paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planner.report import card_words, words
from planner.report.card_layout import LEAST_SIZE
from planner.report.cautions import CAUTIONS
from planner.report.hole_drawing import LETTERS
from planner.report.imposition import PAPERS
from planner.report.panel import Panel, PlacedDrawing, Stroke
from planner.report.pdf_page import pdf_of_panels
from planner.report.print_drawing import draw_for_print
from planner.report.typesetting import LEADING, Block, Box, Run, column, wrap
from planner.strategy.advice import HolePlan
from planner.strategy.hazard_carries import HazardCarry
from planner.units import DistanceUnit

__all__ = ["MOST_GOLFERS", "GolferHole", "golfers_panel", "golfers_pdf"]

MOST_GOLFERS = 3
MARGIN, GUTTER, TEXT = 30.0, 16.0, 8.5
HEAD, NAME = 44.0, 26.0
DRAWING_SHARE = 0.52
"""Share of a column's height for its drawing."""
LETTERED = 2


@dataclass(frozen=True, eq=False)
class GolferHole:
    """A golfer's plan of the hole; ``hazards`` are those near the tee shot."""

    name: str
    handicap_index: float
    left_handed: bool
    plan: HolePlan
    hazards: tuple[HazardCarry, ...] = ()


def golfers_pdf(
    course: str,
    golfers: Sequence[GolferHole],
    *,
    unit: DistanceUnit,
    paper: str,
    conditions: str = "",
    attribution: str = "",
) -> bytes:
    """Write the sheet as a PDF of one landscape page on ``paper``."""
    panel = golfers_panel(
        course,
        golfers,
        unit=unit,
        paper=paper,
        conditions=conditions,
        attribution=attribution,
    )
    title = f"{course}: hole {golfers[0].plan.hole.ref}, {len(golfers)} golfers"
    return pdf_of_panels([panel], title=title)


def golfers_panel(
    course: str,
    golfers: Sequence[GolferHole],
    *,
    unit: DistanceUnit,
    paper: str,
    conditions: str = "",
    attribution: str = "",
) -> Panel:
    """Lay out the sheet for one to three golfers.

    Raises
    ------
    ValueError
        There is none, or too many.
    """
    if not 1 <= len(golfers) <= MOST_GOLFERS:
        raise ValueError(f"a sheet shows 1 to {MOST_GOLFERS} golfers, got {len(golfers)}")
    height, width = PAPERS[paper]
    page = Box(MARGIN, MARGIN, width - MARGIN, height - MARGIN)
    lines, _ = column(
        _titles(course, golfers[0].plan, conditions),
        Box(page.left, page.top - HEAD, page.right, page.top),
    )
    foot = _closing(attribution)
    tall = sum(
        len(wrap(block.runs, block.size, page.width)[: block.most]) * LEADING * block.size
        for block in foot
    )
    closing, _ = column(foot, Box(page.left, page.bottom, page.right, page.bottom + tall))
    lines += closing
    wide = (page.width - GUTTER * (MOST_GOLFERS - 1)) / MOST_GOLFERS
    top, bottom = page.top - HEAD, page.bottom + tall + 6.0
    strokes = [Stroke(page.left, top + 4.0, page.right, top + 4.0, 1.0)]
    drawings = []
    for number, golfer in enumerate(golfers):
        left = page.left + number * (wide + GUTTER)
        named, _ = column(_name(golfer, unit), Box(left, top - NAME, left + wide, top))
        body = Box(left, bottom, left + wide, top - NAME)
        drawing = draw_for_print(
            golfer.plan,
            unit=unit,
            width=wide,
            height=DRAWING_SHARE * body.height,
            size=LEAST_SIZE,
            letters=LETTERED,
        )
        drawings.append(PlacedDrawing(drawing, left, body.top - drawing.height))
        text = Box(left, bottom, left + wide, body.top - drawing.height - 6.0)
        told, _ = column(_blocks(golfer, unit), text)
        lines += [*named, *told]
        if number:
            strokes.append(Stroke(left - GUTTER / 2, bottom, left - GUTTER / 2, top - 2.0, 0.4))
    return Panel(
        f"Hole {golfers[0].plan.hole.ref}",
        width,
        height,
        page,
        tuple(lines),
        tuple(strokes),
        tuple(drawings),
    )


def _titles(course: str, plan: HolePlan, conditions: str) -> list[Block]:
    hole = plan.hole
    named = f"Hole {hole.ref}" + (f", {hole.name}" if hole.name.strip() else "")
    index = "" if hole.stroke_index is None else f", stroke index {hole.stroke_index}"
    said = f"; {conditions}" if conditions else ""
    return [
        Block((Run(named, bold=True),), 15.0, 1, 0),
        Block((Run(f"{course}; par {hole.par}{index}{said}"),), 9.0, 1, 1, 1.0),
    ]


def _name(golfer: GolferHole, unit: DistanceUnit) -> list[Block]:
    hand = ", left-handed" if golfer.left_handed else ""
    index = (
        f"{golfer.handicap_index:g}"
        if golfer.handicap_index >= 0
        else (f"+{-golfer.handicap_index:g}")
    )
    plan = golfer.plan
    length = words.distance(plan.length_m, unit)
    return [
        Block((Run(golfer.name, bold=True),), 10.5, 1, 0),
        Block((Run(f"index {index}{hand}; {plan.tee}, {length}"),), TEXT, 1, 1),
    ]


def _blocks(golfer: GolferHole, unit: DistanceUnit) -> list[Block]:
    plan, gap = golfer.plan, 0.35 * TEXT
    best = plan.best
    strokes = f"{words.strokes(plan.expected_strokes)} strokes,"
    penalty = f"{card_words.penalties(plan.expected_penalties)} of them penalties"
    blocks = [
        Block((Run(words.what_to_hit(best, unit), bold=True),), 1.2 * TEXT, 2, 0),
        _said("Aim", card_words.short_aim(best, unit) or "-", 3, 1, gap),
        _said("Expect", f"{strokes} {penalty}", 2, 0, gap),
        _said("Tee shot", f"{card_words.found(plan)}, {card_words.risk(best)}", 2, 0, gap),
        Block((Run(words.margin(plan, unit)),), TEXT, 3, 2, gap),
    ]
    if not plan.converged:
        blocks.insert(0, Block((Run(card_words.unsolved(plan), bold=True),), TEXT, 2, 0))
    if golfer.hazards:
        told = card_words.carries(golfer.hazards, unit)
        blocks.append(_said(f"Carry [{unit.symbol}]", told, 3, 4, gap))
    if math.isfinite(best.leave_m):
        blocks.append(_said("Leaves", f"{words.distance(best.leave_m, unit)} usually", 1, 3, gap))
    for i, place in enumerate(plan.next_shots[:LETTERED]):
        where, club, rest = card_words.next_words(place, unit)
        runs = (Run(LETTERS[i], bold=True), Run(where), Run(club, bold=True), Run(rest))
        blocks.append(Block(runs, TEXT, 3, 5 + i, gap))
    return blocks


def _said(label: str, text: str, most: int, rank: int, gap: float) -> Block:
    return Block((Run(label, bold=True), Run(text)), TEXT, most, rank, gap)


def _closing(attribution: str) -> list[Block]:
    source = f"Map: {attribution.removesuffix('.')}." if attribution else "The map names no source."
    return [
        Block((Run(" ".join(CAUTIONS)),), LEAST_SIZE, 4, 0),
        Block((Run(source),), LEAST_SIZE, 1, 0),
    ]
