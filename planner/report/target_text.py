"""Playing for a target as text for a terminal; no arithmetic."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.report import target_words as words
from planner.strategy.target_results import Choice, FormPlan, TargetPlan
from planner.units import DistanceUnit

__all__ = ["PREVIEW_SAID", "STAND_SAID", "form_parts", "target_parts"]

PREVIEW_SAID = (
    "Worked out on coarse cells: differences hold better than the chances themselves. --fine works "
    "as a plan does."
)
STAND_SAID = (
    "Behind and ahead are against the strokes expected from there on; the chances are those with "
    "the standing that comes most often."
)


def target_parts(plan: TargetPlan, unit: DistanceUnit) -> tuple[RenderableType, ...]:
    """The chance, and where play differs."""
    title = f"Playing for {plan.target}: {plan.golfer}, {plan.course}, {plan.tee} tees"
    parts: list[RenderableType] = [Text(title, style="bold"), Text()]
    parts += [Text(line) for line in words.target_said(plan)]
    found = words.differences(plan, unit)
    if not found:
        parts += [Text(), Text("Nothing is worth playing differently.")]
    else:
        table = _table("Hole", "To play", "You stand", "From", "Play", "Chance", "Not", "Chance")
        for one in found:
            _row(
                table,
                one.hole,
                f"{one.left}",
                one.stand,
                one.where,
                _shot(one.best, unit) + words.apart(one.best, one.planned, unit),
                words.chance(one.best.worth),
                _shot(one.planned, unit),
                words.chance(one.planned.worth),
            )
        parts += [Padding(table, (1, 0)), Text(STAND_SAID)]
    parts.append(Text(words.ACCURACY_SAID))
    return (*parts, *_notes(plan.notes, preview=plan.preview))


def form_parts(plan: FormPlan, unit: DistanceUnit) -> tuple[RenderableType, ...]:
    """What the form is worth on every hole, and the tee shots that differ."""
    title = f"{plan.form}: {plan.golfer}, {plan.course}, {plan.tee} tees"
    table = _table("Hole", "Par", "Fewest strokes", f"For {plan.unit}", "On the tee", "Not")
    sign = -1.0 if plan.unit == "strokes" else 1.0
    for hole in plan.holes:
        planned = _shot(hole.planned, unit)
        _row(
            table,
            hole.ref,
            f"{hole.par}",
            f"{sign * hole.worth_planned:.2f}",
            f"{sign * hole.worth:.2f}",
            _shot(hole.best, unit) if hole.differs else planned,
            planned if hole.differs else "",
        )
    return (
        Text(title, style="bold"),
        Text(),
        Text(words.form_said(plan)),
        Padding(table, (1, 0)),
        *_notes(plan.notes, preview=plan.preview),
    )


def _shot(choice: Choice, unit: DistanceUnit) -> str:
    swing, aim = words.swing_of(choice, unit), words.aim_of(choice)
    return f"{swing}: {aim}" if aim else swing


def _notes(notes: Sequence[str], *, preview: bool) -> list[RenderableType]:
    said = [*notes, *([PREVIEW_SAID] if preview else [])]
    return [Text(line) for line in said]


def _table(*names: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in names:
        right = name in ("To play", "Chance", "Par", "Fewest strokes") or name.startswith("For ")
        table.add_column(
            Text(name), justify="right" if right else "left", no_wrap=name in ("Hole", "Chance")
        )
    return table


def _row(table: Table, *cells: str) -> None:
    table.add_row(*(Text(cell) for cell in cells))
