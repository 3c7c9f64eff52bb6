"""Rows of the round's table on paper: holes, halves of a full round, total."""

from __future__ import annotations

from collections.abc import Sequence

from planner.report import words
from planner.strategy.advice import HolePlan, RoundPlan
from planner.units import DistanceUnit

__all__ = ["round_rows"]

FULL_ROUND, HALF_ROUND = 18, 9


def round_rows(plan: RoundPlan, unit: DistanceUnit) -> list[tuple[str, ...]]:
    """Hole, par, stroke index, length, tee shot and strokes; sums have no index and no shot."""
    rows: list[tuple[str, ...]] = []
    for number, hole in enumerate(plan.holes, start=1):
        index = hole.hole.stroke_index
        rows.append(
            (
                hole.hole.ref,
                str(hole.hole.par),
                "-" if index is None else str(index),
                f"{unit.from_metres(hole.length_m):.0f}",
                words.shot_name(hole.best, unit),
                words.strokes(hole.expected_strokes) + ("" if hole.converged else "?"),
            )
        )
        if len(plan.holes) == FULL_ROUND and number % HALF_ROUND == 0:
            half = plan.holes[number - HALF_ROUND : number]
            rows.append(_sum("Out" if number == HALF_ROUND else "In", half, unit))
    return [*rows, _sum("All", plan.holes, unit)]


def _sum(name: str, holes: Sequence[HolePlan], unit: DistanceUnit) -> tuple[str, ...]:
    return (
        name,
        str(sum(hole.hole.par for hole in holes)),
        "",
        f"{unit.from_metres(sum(hole.length_m for hole in holes)):.0f}",
        "",
        words.strokes(sum(hole.expected_strokes for hole in holes)),
    )
