"""A logged round against the golfer's own average, as text and as data; no arithmetic."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from typing import Any

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from planner.course.hole import Point
from planner.course.lies import Lie
from planner.report.practice_text import signed
from planner.report.words import distance
from planner.strategy.strokes_gained import FullSwing, GainedShot, HoleAccount, RoundAccounts
from planner.units import DistanceUnit

__all__ = [
    "FORMULA_SAID",
    "SHOT_HEADINGS",
    "SWING_HEADINGS",
    "hole_text",
    "holes_table",
    "kept_said",
    "round_as_json",
    "round_parts",
    "shot_cells",
    "summary_said",
    "swings_csv",
]

SHOT_HEADINGS = ("Shot", "From", "To pin", "Club", "Plan", "Expected", "Gained", "Leaving")
SWING_HEADINGS = ("club", "carry (m)", "offline (m)", "total (m)", "lie", "date")
FORMULA_SAID = (
    "Gained: expected strokes before the shot, less those after it, less the strokes it took. The "
    "shots of a hole add up to what was expected from the tee less the score."
)


def summary_said(found: RoundAccounts) -> tuple[str, ...]:
    """The round in sentences."""
    side = "better" if found.gained >= 0.0 else "worse"
    lines = [
        f"{found.score} strokes, par {found.par}. Expected were {found.expected:.2f}: "
        f"{abs(found.gained):.2f} {side} than your own average."
    ]
    if found.leaving >= 0.005:
        lines.append(f"Leaving the plan cost {found.leaving:.2f} strokes before the ball was hit.")
    return tuple(lines)


def holes_table(found: RoundAccounts) -> Table:
    """One row for each hole, and the sum."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for title in ("Hole", "Par", "Score", "Expected", "Gained", "Leaving", "Best", "Worst"):
        table.add_column(title, justify="left" if title in ("Best", "Worst") else "right")
    for hole in found.holes:
        best = max(hole.shots, key=lambda shot: shot.gained)
        worst = min(hole.shots, key=lambda shot: shot.gained)
        _row(table, *_result_cells(hole.ref, hole), _named(best), _named(worst))
    _row(table, *_result_cells("All", found), style="bold")
    return table


def _result_cells(name: str, one: HoleAccount | RoundAccounts) -> tuple[str, ...]:
    return (
        name,
        f"{one.par}",
        f"{one.score}",
        f"{one.expected:.2f}",
        signed(one.gained),
        _cost(one.leaving),
    )


def round_parts(found: RoundAccounts) -> tuple[RenderableType, ...]:
    """The round in sentences and a table of its holes."""
    title = f"{found.golfer}, {found.course}, {found.tee} tees"
    lines = summary_said(found)
    return (Text(title, style="bold"), *map(Text, (*lines, FORMULA_SAID, "")), holes_table(found))


def hole_text(hole: HoleAccount, unit: DistanceUnit, pin_hole: Point) -> RenderableType:
    """Every shot of a hole."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for title in SHOT_HEADINGS:
        words = title in ("From", "Club", "Plan")
        table.add_column(title, justify="left" if words else "right")
    for shot in hole.shots:
        _row(table, *shot_cells(shot, pin_hole, unit))
    title = f"Hole {hole.ref}, par {hole.par}: {hole.score}, {signed(hole.gained)}"
    return Group(Text(title, style="bold"), table)


def shot_cells(shot: GainedShot, pin_hole: Point, unit: DistanceUnit) -> tuple[str, ...]:
    """Cells of a shot under ``SHOT_HEADINGS``."""
    played = shot.played
    on_green = played.lie is Lie.GREEN
    club = played.club or (("putts" if played.strokes > 1 else "putt") if on_green else "-")
    lost = f" +{played.penalties} penalty" if played.penalties else ""
    many = f" x{played.strokes}" if played.strokes > 1 else ""
    return (
        f"{played.number}",
        played.lie.words,
        distance(math.dist(played.position_hole, pin_hole), unit),
        f"{club}{many}{lost}",
        kept_said(shot),
        f"{shot.before:.2f}",
        signed(shot.gained),
        _cost(shot.leaving),
    )


def kept_said(shot: GainedShot) -> str:
    """Whether the plan was kept, or what it was."""
    if shot.kept:
        return "kept" if shot.planned else ""
    return shot.planned or "drop"


def swings_csv(swings: Sequence[FullSwing], *, day: str = "", heading: bool = True) -> str:
    """Full swings of a round as rows of a shot log, which ``planner fit`` reads; metres."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    if heading:
        rows.writerow(SWING_HEADINGS)
    for swing in swings:
        numbers = (swing.carry_m, swing.offline_m, swing.total_m)
        rows.writerow([swing.club, *(f"{n:.1f}" for n in numbers), swing.lie.words, day])
    return text.getvalue()


def round_as_json(
    found: RoundAccounts, notes: Sequence[str], rejected: Sequence[str]
) -> dict[str, Any]:
    """Everything, in metres."""
    return {
        "course": found.course,
        "golfer": found.golfer,
        "tee": found.tee,
        "score": found.score,
        "expected": found.expected,
        "gained": found.gained,
        "leaving": found.leaving,
        "holes": [
            {
                "hole": hole.ref,
                "par": hole.par,
                "score": hole.score,
                "expected": hole.expected,
                "gained": hole.gained,
                "shots": [_shot_as_json(shot) for shot in hole.shots],
            }
            for hole in found.holes
        ],
        "notes": list(notes),
        "rejected": list(rejected),
    }


def _shot_as_json(shot: GainedShot) -> dict[str, Any]:
    played = shot.played
    return {
        "shot": played.number,
        "lie": played.lie.words,
        "along_m": played.position_hole[0],
        "across_m": played.position_hole[1],
        "club": played.club,
        "strokes": played.strokes,
        "penalties": played.penalties,
        "before": shot.before,
        "after": shot.after,
        "gained": shot.gained,
        "planned": shot.planned,
        "plan_kept": shot.kept,
        "leaving": None if math.isnan(shot.leaving) else shot.leaving,
    }


def _cost(leaving: float) -> str:
    return "?" if math.isnan(leaving) else "" if leaving < 0.005 else f"{leaving:.2f}"


def _named(shot: GainedShot) -> str:
    name = shot.played.club or ("putting" if shot.played.lie is Lie.GREEN else "shot")
    return f"{name} {signed(shot.gained)}"


def _row(table: Table, *cells: str, style: str = "") -> None:
    table.add_row(*(Text(cell.replace("\u00a0", " ")) for cell in cells), style=style or None)
