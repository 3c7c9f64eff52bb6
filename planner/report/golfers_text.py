"""Several golfers on one hole as text for a terminal; no arithmetic."""

from __future__ import annotations

from collections.abc import Sequence

from rich import box
from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from planner.report import words
from planner.strategy.advice import HolePlan
from planner.units import DistanceUnit

__all__ = ["golfers_parts"]


def golfers_parts(
    course: str, golfers: Sequence[tuple[str, HolePlan]], unit: DistanceUnit
) -> tuple[RenderableType, ...]:
    """One row for each golfer, the first one's hole being that of all."""
    hole = golfers[0][1].hole
    named = f"Hole {hole.ref}, {hole.name}" if hole.name else f"Hole {hole.ref}"
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for heading in ("Golfer", "Tees", "Hit, and aim"):
        table.add_column(heading, overflow="fold")
    for heading in ("Strokes", "Penalties", "Fairway", "Leaves"):
        table.add_column(heading, justify="right", no_wrap=True)
    for name, plan in golfers:
        best = plan.best
        table.add_row(
            Text(name),
            Text(f"{plan.tee}, {words.distance(plan.length_m, unit)}"),
            Text(f"{words.shot_name(best, unit)}: {words.where_to_aim(best, unit)}"),
            words.strokes(plan.expected_strokes),
            words.strokes(plan.expected_penalties),
            words.percent(best.shares.fairway),
            words.distance(best.leave_m, unit),
        )
    return (Text(f"{named}, par {hole.par}: {course}", style="bold"), Text(), table)
