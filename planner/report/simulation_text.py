"""Simulated rounds beside their exact chances, as text for a terminal; no arithmetic."""

from __future__ import annotations

import math

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.strategy.simulated_round import ChanceCheck, SimulatedHole, SimulatedRound

__all__ = ["simulation_text"]

_AGREE_ERRORS = 3.0
"""Standard errors within which a mean agrees."""


def simulation_text(played: SimulatedRound) -> RenderableType:
    """Each hole's mean and its worst chance, then those of the total."""
    holes = _table("Hole", "Exact", "Simulated", "Difference", "+-", "z", "Least likely difference")
    for hole in played.holes:
        holes.add_row(*map(Text, _hole_row(hole)))
    holes.add_row(
        *map(
            Text,
            (
                "Round",
                f"{played.exact:.3f}",
                f"{played.mean:.3f}",
                f"{played.mean - played.exact:+.4f}",
                f"{played.standard_error:.4f}",
                f"{played.errors:+.1f}",
                "",
            ),
        )
    )
    totals = _table("Total", "Exact", "Simulated", "z")
    for check in played.within:
        totals.add_row(
            *map(
                Text,
                (
                    f"{check.score} or fewer",
                    f"{100 * check.exact:.3f} %",
                    f"{100 * check.simulated:.3f} %",
                    _errors(check),
                ),
            )
        )
    return Group(
        Text(),
        Text(
            f"Simulated: {played.rounds:,} rounds in {played.seconds:.0f} s of one processor",
            style="bold",
        ),
        Text(
            "Every ball and every putt drawn, anywhere on the hole, against the polygons of the "
            "map. +- is one standard error of the simulated mean, z the difference in standard "
            "errors; last, the score whose chance is off by most of its own."
        ),
        Padding(holes, (1, 0)),
        Text(_agreement(played)),
        Padding(totals, (1, 0, 0, 0)),
    )


def _table(first: str, *others: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for title in (first, *others):
        table.add_column(title, justify="right")
    return table


def _hole_row(hole: SimulatedHole) -> list[str]:
    worst = hole.worst
    said = ""
    if worst is not None:
        shares = f"{100 * worst.exact:.2f} % / {100 * worst.simulated:.2f} %"
        said = f"{worst.score}: {shares} ({_errors(worst)})"
    return [
        hole.ref,
        f"{hole.exact:.4f}",
        f"{hole.mean:.4f}",
        f"{hole.difference:+.4f}",
        f"{hole.standard_error:.4f}",
        f"{hole.errors:+.1f}",
        said,
    ]


def _errors(check: ChanceCheck) -> str:
    return f"{check.errors:+.1f}" if math.isfinite(check.errors) else "never expected"


def _agreement(played: SimulatedRound) -> str:
    off = [hole.ref for hole in played.holes if not abs(hole.errors) <= _AGREE_ERRORS]
    said = "Every hole's mean is within three standard errors."
    if off:
        said = f"Beyond three standard errors: hole {', '.join(off)}."
    lost = sum(hole.unfinished for hole in played.holes)
    return said if not lost else f"{said} {lost} balls were given up."
