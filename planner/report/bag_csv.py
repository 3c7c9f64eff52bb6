"""Bags compared and chosen as CSV for a spreadsheet: strokes, metres and the user's money.

Names come from files of strangers. A text that a spreadsheet would take for a formula gets an
apostrophe before it (OWASP, CSV injection).
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence

from planner.strategy.bag_results import BagAdvice, BagComparison

__all__ = ["changes_csv", "clubs_csv", "frontier_csv", "holes_csv"]

Cell = str | float | bool | None
_FORMULA_STARTS = (
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
    "\n",
    "'",
    "\uff1d",
    "\uff0b",
    "\uff0d",
    "\uff20",
)
"""Starts that spreadsheets take for a formula, full-width ones too, and the mark itself."""


def holes_csv(result: BagComparison) -> str:
    """Every hole with every bag, and how much each bag differs from the first there."""
    rows: list[Sequence[Cell]] = []
    for number, bag in enumerate(result.bags):
        against = result.differences[number - 1].holes if number else (None,) * len(bag.holes)
        for hole, other in zip(bag.holes, against, strict=True):
            causes = () if other is None else other.causes
            rows.append(
                (
                    bag.name,
                    hole.course,
                    hole.ref,
                    hole.par,
                    hole.strokes,
                    hole.penalties,
                    hole.penalty_chance,
                    hole.spread,
                    None if other is None else other.strokes,
                    None if other is None else other.sd,
                    "; ".join(
                        f"{cause.where} {cause.low_m:.0f}-{cause.high_m:.0f} m: "
                        f"{cause.second or 'no shot'} not {cause.first or 'any'} "
                        f"{cause.strokes:+.3f}"
                        for cause in causes
                    ),
                )
            )
    return _csv(
        (
            "bag",
            "round",
            "hole",
            "par",
            "strokes",
            "penalties",
            "penalty_chance",
            "spread",
            "difference",
            "difference_sd",
            "because",
        ),
        rows,
    )


def clubs_csv(advice: BagAdvice) -> str:
    """Every candidate: whether it is carried, what it is worth and where it is used."""
    rows = []
    for worth in advice.worths:
        use = worth.use
        rows.append(
            (
                worth.club,
                worth.carried,
                worth.missed,
                worth.instead_of,
                worth.share,
                worth.share_error,
                None if use is None else use.shots,
                None if use is None else use.tee_shots,
                *((None,) * 3 if use is None else use.from_m),
            )
        )
    return _csv(
        (
            "club",
            "carried",
            "missed",
            "instead_of",
            "share",
            "share_error",
            "shots",
            "tee_shots",
            "from_low_m",
            "from_middle_m",
            "from_high_m",
        ),
        rows,
    )


def frontier_csv(advice: BagAdvice) -> str:
    """Strokes saved against money spent."""
    return _csv(
        ("money", "strokes", "saved", "buy"),
        [
            (
                point.money,
                point.value,
                point.saved,
                ", ".join(club for club in advice.candidates if club in point.bought),
            )
            for point in advice.frontier
        ],
    )


def changes_csv(advice: BagAdvice) -> str:
    """Equipment and changes of technique with what they save and cost."""
    rows: list[Sequence[Cell]] = []
    for row in advice.money:
        held = row.holding
        costs: tuple[Cell, ...] = (None,) * 5
        if held is not None:
            costs = (
                held.price,
                held.resale,
                held.per_stroke,
                held.per_stroke_a_year,
                held.per_stroke_played,
            )
        rows.append((row.name, "technique" if row.technique else "equipment", row.saved, *costs))
    return _csv(
        (
            "change",
            "kind",
            "saved",
            "price",
            "resale",
            "per_stroke_a_round",
            "per_stroke_a_round_a_year",
            "per_stroke_played",
        ),
        rows,
    )


def _csv(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\r\n")
    table.writerow(headings)
    table.writerows([_cell(cell) for cell in row] for row in rows)
    return text.getvalue()


def _cell(value: Cell) -> str:
    """What is not known or not finite is empty."""
    if value is None:
        return ""
    if isinstance(value, str):
        first = (value[:1], value.lstrip()[:1])
        return f"'{value}" if any(one and one in _FORMULA_STARTS for one in first) else value
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.6g}" if math.isfinite(value) else ""
