"""The coach's sheet: the whole round, where it is at risk and what to work on, on one page."""

from __future__ import annotations

from collections.abc import Sequence

from planner import __version__
from planner.course.findings import WHOLE_FILE
from planner.report import card_words, words
from planner.report.card_layout import LEAST_SIZE
from planner.report.cautions import CAUTIONS
from planner.report.imposition import PAPERS
from planner.report.panel import Panel, Stroke
from planner.report.pdf_page import pdf_of_panels
from planner.report.round_rows import FULL_ROUND, HALF_ROUND
from planner.report.typesetting import (
    LEADING,
    Block,
    Box,
    Run,
    TextLine,
    column,
    ellipsis,
    one_line,
    wrap,
)
from planner.strategy.advice import HolePlan, RoundPlan
from planner.strategy.round_tally import RiskyHole, RoundTally
from planner.units import DistanceUnit

__all__ = ["sheet_panel", "sheet_pdf"]

MARGIN, TEXT = 34.0, 7.5
COLUMNS = (
    ("Hole", 0.045, "right"),
    ("Par", 0.04, "right"),
    ("SI", 0.04, "right"),
    ("Length", 0.08, "right"),
    ("Hit", 0.12, "left"),
    ("Aim (off the line of play)", 0.255, "left"),
    ("Ends on", 0.105, "right"),
    ("Penalty", 0.07, "right"),
    ("OB", 0.05, "right"),
    ("Strokes", 0.075, "right"),
    ("Next best", 0.12, "left"),
)
"""Title, share of the width and side of each column."""
PADS = {"left": 8.0, "right": 3.0}
"""Room to the left of a column's text, by its side [pt]."""
FOOT_SHARE = 0.24
"""Share of the page below the table at least: risks, work, notes and cautions."""


def sheet_pdf(plan: RoundPlan, found: RoundTally, *, unit: DistanceUnit, paper: str) -> bytes:
    """Write the sheet as a PDF of one page on ``paper``."""
    panel = sheet_panel(plan, found, unit=unit, paper=paper)
    return pdf_of_panels([panel], title=f"{plan.course}: coach's sheet of {plan.golfer}")


def sheet_panel(plan: RoundPlan, found: RoundTally, *, unit: DistanceUnit, paper: str) -> Panel:
    """Lay out the sheet; the table is one or two lines a hole, as there is room."""
    width, height = PAPERS[paper]
    page = Box(MARGIN, MARGIN, width - MARGIN, height - MARGIN)
    titles, below = column(
        _titles(plan, unit), Box(page.left, page.top - 0.13 * page.height, page.right, page.top)
    )
    closing, foot_top = _closing(plan, page)
    least_foot = foot_top + 6.0 + FOOT_SHARE * page.height
    table = Box(page.left, least_foot, page.right, below - 4.0)
    rows, strokes, bottom = _table(plan, unit, table)
    middle = page.left + 0.47 * page.width
    body_top = bottom - 10.0
    notes_top = foot_top + 0.36 * (body_top - foot_top)
    risk, risk_end = column(
        _risk(plan, found, unit), Box(page.left, notes_top, middle - 10.0, body_top)
    )
    work, work_end = column(_work(found, unit), Box(middle + 10.0, notes_top, page.right, body_top))
    notes, ruled = _notes(Box(page.left, foot_top + 4.0, page.right, min(risk_end, work_end) - 6.0))
    strokes += ruled
    return Panel(
        "Coach's sheet",
        width,
        height,
        page,
        (*titles, *rows, *risk, *work, *notes, *closing),
        tuple(strokes),
    )


def _titles(plan: RoundPlan, unit: DistanceUnit) -> list[Block]:
    length = words.distance(sum(hole.length_m for hole in plan.holes), unit)
    hand = ", left-handed" if plan.left_handed else ""
    weather = f"; {plan.conditions}" if plan.conditions else ""
    return [
        Block((Run(plan.course, bold=True),), 15.0, 2, 1),
        Block((Run(f'{plan.golfer}{hand}; bag "{plan.bag}"'),), 9.0, 2, 3, 1.0),
        Block((Run(f"{plan.tee} tees, {length}, par {plan.par}{weather}"),), 9.0, 2, 4, 1.0),
        Block(
            (
                Run(f"Plan for {card_words.aims_for(plan)}:"),
                Run(f"{words.strokes(plan.expected_strokes)} strokes expected,", bold=True),
                Run(f"{card_words.penalties(plan.expected_penalties)} of them penalties."),
            ),
            9.0,
            1,
            0,
            1.0,
        ),
    ]


def _cells(plan: HolePlan, unit: DistanceUnit) -> tuple[str, ...]:
    best, index = plan.best, plan.hole.stroke_index
    return (
        plan.hole.ref,
        str(plan.hole.par),
        "-" if index is None else str(index),
        words.distance(plan.length_m, unit),
        words.shot_name(best, unit),
        card_words.short_aim(best, unit) or "-",
        card_words.found(plan),
        words.percent(best.shares.penalty),
        words.percent(best.shares.out_of_bounds),
        words.strokes(plan.expected_strokes) + ("" if plan.converged else "?"),
        card_words.runner_up(plan, unit),
    )


def _sum_cells(name: str, holes: Sequence[HolePlan], unit: DistanceUnit) -> tuple[str, ...]:
    par = str(sum(hole.hole.par for hole in holes))
    length = words.distance(sum(hole.length_m for hole in holes), unit)
    strokes = words.strokes(sum(hole.expected_strokes for hole in holes))
    return (name, par, "", length, "", "", "", "", "", strokes, "")


def _all_cells(plan: RoundPlan, unit: DistanceUnit) -> list[tuple[tuple[str, ...], bool]]:
    """Rows of the table, and whether each is a sum."""
    rows: list[tuple[tuple[str, ...], bool]] = []
    for number, hole in enumerate(plan.holes, start=1):
        rows.append((_cells(hole, unit), False))
        if len(plan.holes) == FULL_ROUND and number % HALF_ROUND == 0:
            half = plan.holes[number - HALF_ROUND : number]
            name = "Out" if number == HALF_ROUND else "In"
            rows.append((_sum_cells(name, half, unit), True))
    return [*rows, (_sum_cells("All", plan.holes, unit), True)]


def _table(
    plan: RoundPlan, unit: DistanceUnit, box: Box
) -> tuple[list[TextLine], list[Stroke], float]:
    """Lines of the table, its rules, and where it ends."""
    rows = _all_cells(plan, unit)
    leading = LEADING * TEXT
    for most in (2, 1):
        laid = [_laid(cells, box.width, most) for cells, _ in rows]
        total = leading + sum(leading * _height(row) + 1.6 for row in laid)
        if total <= box.height:
            break
    titles = tuple(title for title, _, _ in COLUMNS)
    lines = _row([[title] for title in titles], box, box.top, bold=True)
    y = box.top - leading - 1.6
    strokes = [Stroke(box.left, y + 0.6, box.right, y + 0.6, 0.8)]
    for i, ((_, is_sum), row) in enumerate(zip(rows, laid, strict=True)):
        tall = leading * _height(row) + 1.6
        left = len(rows) - i
        if left > 1 and y - tall - leading < box.bottom:
            said = f"… and {left - 1} rows more: planner plan prints them all."
            lines.append(one_line(said, box, y - TEXT, TEXT, bold=True))
            y -= leading
            break
        lines += _row(row, box, y, bold=is_sum)
        y -= tall
        strokes.append(Stroke(box.left, y + 0.9, box.right, y + 0.9, 0.8 if is_sum else 0.25))
    return lines, strokes, y


def _laid(cells: tuple[str, ...], width: float, most: int) -> list[list[str]]:
    """Each cell in at most ``most`` lines that fit its column."""
    laid = []
    for cell, (_, share, align) in zip(cells, COLUMNS, strict=True):
        room = share * width - PADS[align]
        found = [" ".join(run.text for run in line) for line in wrap([Run(cell)], TEXT, room)]
        if len(found) > most:
            rest = " ".join(found[most - 1 :])
            found = [*found[: most - 1], ellipsis(rest, TEXT, room)]
        laid.append(found)
    return laid


def _height(row: list[list[str]]) -> int:
    return max((len(cell) for cell in row), default=1)


def _row(row: list[list[str]], box: Box, top: float, *, bold: bool) -> list[TextLine]:
    lines = []
    left = box.left
    for cell, (_, share, align) in zip(row, COLUMNS, strict=True):
        right = left + share * box.width
        room = Box(left + PADS[align], 0.0, right, 0.0)
        for i, text in enumerate(cell):
            y = top - TEXT - i * LEADING * TEXT
            lines.append(one_line(text, room, y, TEXT, bold=bold, align=align))
        left = right
    return lines


def _risk(plan: RoundPlan, found: RoundTally, unit: DistanceUnit) -> list[Block]:
    ends = "; ".join(
        f"{name} {share:.1f}" for name, share in words.chances(found.ends) if share >= 0.05
    )
    blocks = [
        _title("Where strokes are at risk"),
        Block((Run(f"Of {len(plan.holes)} tee shots: {ends}."),), TEXT, 4, 3, 2.0),
    ]
    if not found.at_risk:
        blocks.append(Block((Run("The plan expects no penalty strokes."),), TEXT, 1, 1, 2.0))
    for i, hole in enumerate(found.at_risk):
        runs = (Run(f"Hole {hole.plan.hole.ref}:", bold=True), Run(_risk_words(hole, unit)))
        blocks.append(Block(runs, TEXT, 2, 4 + i, 2.0, whole=True))
    unsolved = [hole.hole.ref for hole in plan.holes if not hole.converged]
    if unsolved:
        said = f"Not solved, do not rely on: hole {', '.join(unsolved)}."
        blocks.insert(1, Block((Run(said, bold=True),), TEXT, 2, 0, 2.0))
    return blocks


def _risk_words(hole: RiskyHole, unit: DistanceUnit) -> str:
    said = f"{card_words.penalties(hole.plan.expected_penalties)} penalty strokes; "
    safest = hole.safest
    if safest is hole.plan.best:
        return said + "no other tee shot has fewer."
    return (
        f"{said}{words.shot_name(safest, unit)} from the tee "
        f"{card_words.penalties(safest.expected_penalties)}, at {words.cost(safest.cost)}."
    )


def _work(found: RoundTally, unit: DistanceUnit) -> list[Block]:
    """Three things to work on as far as a plan tells: what it asks for and what it fears most."""
    points: list[tuple[str, str]] = []
    if found.tee_club is not None:
        tee = found.tee_club
        points.append(
            (
                f"{tee.club} from the tee:",
                f"planned on {len(tee.holes)} holes; fairway {words.percent(tee.shares.fairway)}, "
                f"mishit {words.percent(tee.shares.mishit)}, penalty area or out of bounds "
                f"{words.percent(tee.shares.penalty)} and "
                f"{words.percent(tee.shares.out_of_bounds)}.",
            )
        )
    if found.next_club is not None:
        then = found.next_club
        low, high = (unit.from_metres(away) for away in (then.nearest_m, then.farthest_m))
        points.append(
            (
                f"{then.club} after the tee shot:",
                f"asked for most, {then.times:.1f} times a round, with {low:.0f} to {high:.0f} "
                f"{unit.symbol} to the pin.",
            )
        )
    if found.at_risk:
        worst = [hole.plan.hole.ref for hole in found.at_risk[:3]]
        named = f"hole{'s' if len(worst) > 1 else ''} {', '.join(worst)}"
        points.append(
            (
                "Keeping it in play:",
                f"most penalty strokes are expected on {named}; rehearse those tee shots and "
                "the next best choice there.",
            )
        )
    return [
        _title("To work on, as far as the plan tells"),
        *(
            Block((Run(f"{i}. {what}", bold=True), Run(why)), TEXT, 4, 2 + i, 2.0)
            for i, (what, why) in enumerate(points, start=1)
        ),
        Block(
            (Run("In no order of worth: a plan does not tell what practice would gain."),),
            TEXT,
            2,
            1,
            2.0,
        ),
    ]


def _title(text: str) -> Block:
    return Block((Run(text, bold=True),), 9.5, 1, 0)


def _notes(box: Box) -> tuple[list[TextLine], list[Stroke]]:
    title = one_line("Notes", box, box.top - 9.5, 9.5, bold=True)
    strokes = []
    y = box.top - 26.0
    while y > box.bottom:
        strokes.append(Stroke(box.left, y, box.right, y, 0.35))
        y -= 17.0
    return [title], strokes


def _closing(plan: RoundPlan, page: Box) -> tuple[list[TextLine], float]:
    """Cautions, source and assumptions at the foot; and how high they reach."""
    known = f"Plan {plan.key}, version {__version__}." if plan.key else ""
    assumed = "; ".join(note.removeprefix(f"{WHOLE_FILE}: ") for note in plan.notes)
    blocks = [
        Block((Run(" ".join(CAUTIONS)),), LEAST_SIZE, 5, 0),
        Block((Run(card_words.source(plan)), Run(known)), LEAST_SIZE, 4, 0, 1.0),
    ]
    if assumed:
        told = (Run(f"Assumed ({len(plan.notes)}):", bold=True), Run(assumed))
        blocks.append(Block(told, LEAST_SIZE, 3, 5, 1.0))
    tall = sum(
        len(wrap(block.runs, block.size, page.width)[: block.most]) * LEADING * block.size
        + block.gap
        for block in blocks
    )
    top = page.bottom + tall
    lines, _ = column(blocks, Box(page.left, page.bottom, page.right, top))
    return lines, top
