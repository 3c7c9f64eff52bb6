"""A calibration in words: as text for a terminal and as JSON values; no arithmetic."""

from __future__ import annotations

from typing import Any

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.golfer.score_comparison import Calibration, Comparison, Section

__all__ = ["calibration_as_json", "calibration_text"]

INTRODUCTION = (
    "Typical golfers with a standard set on a plain hole: level, no trees or water, a fairway of "
    "30 yd, a green 28 yd across with two bunkers, the pin 4 m from its edge. Expected strokes "
    "over all rounds; nothing is drawn."
)


def calibration_text(result: Calibration) -> RenderableType:
    """Every table, then what is farther off than allowed and by how much."""
    parts: list[RenderableType] = [Text(INTRODUCTION), Text()]
    for section in result.sections:
        parts += [*_section(section), Text()]
    return Group(*parts, Text(_verdict(result), style="bold"))


def calibration_as_json(result: Calibration) -> dict[str, Any]:
    """Every comparison as JSON values."""
    return {
        "sections": [
            {
                "title": section.title,
                "source": section.source,
                "golfer": section.golfer,
                "rows": [
                    {
                        "name": row.name,
                        "published": round(row.published, 4),
                        "ours": round(row.ours, 4),
                        "error": round(row.error, 4),
                        "allowed": None if row.allowed is None else round(row.allowed, 4),
                        "meets": row.meets,
                        "unit": row.unit,
                    }
                    for row in section.rows
                ],
                "notes": list(section.notes),
            }
            for section in result.sections
        ],
        "held": result.held,
        "missed": len(result.misses),
    }


def _section(section: Section) -> list[RenderableType]:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("From")
    for heading in ("Published", "Ours", "Error", "Allowed"):
        table.add_column(heading, justify="right")
    table.add_column("")
    for row in section.rows:
        table.add_row(*map(Text, _cells(row)))
    return [
        Text(section.title, style="bold"),
        Text(f"Source: {section.source}. Ours: {section.golfer}."),
        Padding(table, (0, 0, 0, 2)),
        *(Text(note) for note in section.notes),
    ]


def _cells(row: Comparison) -> tuple[str, ...]:
    digits = 0 if row.unit == "yd" else 2
    allowed = "shown only" if row.allowed is None else f"±{row.allowed:.{digits}f}"
    return (
        row.name,
        f"{row.published:.{digits}f}",
        f"{row.ours:.{digits}f}",
        f"{row.error:+.{digits}f}",
        allowed,
        "" if row.meets else "MISSED",
    )


def _verdict(result: Calibration) -> str:
    if not result.misses:
        return f"All {result.held} figures that are held to a limit meet it."
    missed = "; ".join(f"{row.name} by {row.error:+.2f} {row.unit}" for row in result.misses)
    return f"{len(result.misses)} of {result.held} figures are farther off than allowed: {missed}."
