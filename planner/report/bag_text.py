"""Bags compared and chosen, as text for a terminal; no arithmetic."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.report.bag_rows import (
    LEAST_SAVED,
    Rows,
    difference_rows,
    frontier_rows,
    money,
    money_rows,
    score_rows,
    signed,
    worth_rows,
)
from planner.strategy.bag_results import (
    NO_DIFFERENCE,
    BagAdvice,
    BagComparison,
    BagDifference,
)
from planner.units import DistanceUnit

__all__ = [
    "advice_parts",
    "certificate_said",
    "choice_said",
    "comparison_parts",
    "difference_said",
    "difference_table",
    "frontier_table",
    "money_table",
    "pairs_said",
    "score_table",
    "worth_table",
]

SHARE_SAID = (
    "Missed: strokes a round lost without the club, all others staying. Share: what it adds on "
    "average when clubs come into the bag in random order (its Shapley value, from {least} clubs "
    "up), so that clubs that stand in for each other share their worth."
)
SCORES_SAID = (
    "Any: chance of at least one penalty stroke in the round. Spread: standard deviation of its "
    "score. All bags are played with the same random numbers."
)
MONEY_SAID = (
    "Resale is what the bag file says, else three quarters of the value kept each year (assumed). "
    "Strokes are against the best bag without buying anything; technique is against the clubs "
    "carried now."
)
BAR = 24
"""Characters of the longest bar."""


# -- comparing ------------------------------------------------------------------------------


def comparison_parts(result: BagComparison, unit: DistanceUnit) -> list[RenderableType]:
    """Bags over the same holes, and every difference hole by hole."""
    parts: list[RenderableType] = [
        Text(f"Bags compared: {result.golfer}, {'; '.join(result.rounds)}", style="bold"),
        Text(),
        score_table(result),
        Text(),
        _paragraph(SCORES_SAID),
    ]
    for one in result.differences:
        parts += [_paragraph(difference_said(one)), difference_table(one, unit), Text()]
    return [*parts, *_notes(result.notes)]


def score_table(result: BagComparison) -> Table:
    """Expected score, penalties and spread of every bag."""
    return _table(score_rows(result))


def difference_said(one: BagDifference) -> str:
    """How much two bags differ and how surely."""
    interval = f"nine chances in ten that it lies between {one.low:+.2f} and {one.high:+.2f}"
    if not one.real:
        why = (
            f"less than the {NO_DIFFERENCE} strokes to which rounds are solved"
            if abs(one.strokes) < NO_DIFFERENCE
            else "patterns are not known well enough"
        )
        return (
            f"{one.second} against {one.first}: no real difference. {signed(one.strokes)} strokes "
            f"a round, {interval}: {why}."
        )
    better = "better" if one.strokes < 0 else "worse"
    return (
        f"{one.second} is {abs(one.strokes):.2f} strokes a round {better} than {one.first}, "
        f"{interval}; penalty strokes {signed(one.penalties)}."
    )


def difference_table(one: BagDifference, unit: DistanceUnit) -> Table:
    """Differences hole by hole with the shots that make them."""
    headings, rows = difference_rows(one, unit)
    table = _table((headings, rows[:-1]), left=("Because",))
    table.add_row(*_texts(rows[-1]), style="bold")
    return table


# -- choosing -------------------------------------------------------------------------------


def advice_parts(advice: BagAdvice, unit: DistanceUnit) -> list[RenderableType]:
    """Which clubs to carry, what each is worth, and what money or technique brings."""
    parts: list[RenderableType] = [
        Text(f"Clubs for {advice.golfer}: {'; '.join(advice.rounds)}", style="bold"),
        _paragraph(*choice_said(advice)),
        worth_table(advice, unit),
        Text(),
        _paragraph(SHARE_SAID.format(least=advice.least)),
    ]
    if advice.pairs:
        parts.append(_paragraph(*pairs_said(advice)))
    if advice.frontier:
        parts += [
            Text("Strokes for money", style="bold"),
            frontier_table(advice),
            Text(),
        ]
    if advice.money:
        parts += [
            Text("Equipment or technique", style="bold"),
            money_table(advice),
            Text(),
            _paragraph(MONEY_SAID),
        ]
    parts.append(_paragraph(*certificate_said(advice)))
    return [*parts, *_notes(advice.notes)]


def choice_said(advice: BagAdvice) -> tuple[str, ...]:
    """The chosen bag in sentences."""
    ordered = [club for club in advice.candidates if club in advice.best.clubs]
    lines = [f"Carry: {', '.join([*ordered, *advice.putter])}."]
    if advice.left_out:
        lines.append(f"Leave out: {', '.join(advice.left_out)}.")
    if advice.best.price > 0:
        lines.append(f"To buy: {money(advice.best.price, advice.currency)}.")
    if advice.now is None:
        lines.append("The clubs carried now cannot be carried under these terms.")
    elif advice.now.clubs == advice.best.clubs:
        lines.append("That is the bag carried now.")
    elif advice.saved < NO_DIFFERENCE:
        lines.append("The bag carried now is as good, as far as can be told.")
    else:
        lines.append(f"It saves {advice.saved:.2f} strokes a round on the bag carried now.")
    for other in advice.equal:
        gone = [club for club in ordered if club not in other.clubs]
        come = [c for c in advice.candidates if c in other.clubs and c not in advice.best.clubs]
        if gone and come:
            lines.append(f"As good, as far as can be told: {_list(come)} for {_list(gone)}.")
        elif gone:
            lines.append(f"As good, as far as can be told: without {_list(gone)}.")
    return tuple(lines)


def certificate_said(advice: BagAdvice) -> tuple[str, ...]:
    """How sure it is that no better bag exists."""
    many = f"{advice.evaluations} sets valued"
    if advice.proven and advice.gap < 1e-5:
        first = f"Proven: in the search no allowed set is better ({many})."
    elif advice.proven:
        first = (
            f"Proven: in the search the best allowed set is {advice.gap:.3f} strokes better, which "
            f"solving both finely did not bear out ({many})."
        )
    else:
        first = (
            f"Stopped before the proof was done: another set may be up to {advice.gap:.3f} strokes "
            f"a round better ({many})."
        )
    lines = [first]
    if math.isnan(advice.best.fine):
        lines.append("The bags were not solved again; values are those of the search.")
    else:
        lines.append(
            "The search looks at coarse cells, and the best bags were solved again in full; what "
            f"differs by less than {advice.error:.2f} strokes a round is called equal."
        )
    lines.append(
        f"{advice.prepared_s:.0f} s to solve the holes with every club, {advice.searched_s:.1f} s "
        f"to search, {1e3 * advice.seconds_each:.2f} ms a set."
    )
    return tuple(lines)


def worth_table(advice: BagAdvice, unit: DistanceUnit) -> Table:
    """Every club: strokes it is missed for, its share, and where it is used."""
    return _table(worth_rows(advice, unit), left=("From", "Lies"))


def pairs_said(advice: BagAdvice) -> tuple[str, ...]:
    """Clubs that stand in for each other."""
    return tuple(
        f"{pair.first} and {pair.second} stand in for each other: without one "
        f"{max(pair.first_alone, pair.second_alone):.2f}, without both {pair.both:.2f}."
        for pair in advice.pairs
    )


def frontier_table(advice: BagAdvice) -> Table:
    """Strokes saved against money spent, drawn as bars."""
    headings, rows = frontier_rows(advice)
    most = max([LEAST_SAVED, *(point.saved for point in advice.frontier)])
    table = _table(((*headings[:2], "", *headings[2:]), ()), left=("", "Buy"))
    for cells, point in zip(rows, advice.frontier, strict=True):
        bar = "\u2588" * max(round(BAR * point.saved / most), 0)
        table.add_row(*_texts((*cells[:2], bar, *cells[2:])))
    return table


def money_table(advice: BagAdvice) -> Table:
    """Purchases and changes of technique by strokes saved."""
    return _table(money_rows(advice))


# -- bricks ---------------------------------------------------------------------------------


def _list(clubs: Sequence[str]) -> str:
    return ", ".join(clubs)


def _notes(notes: Sequence[str]) -> list[RenderableType]:
    return [_paragraph(*(f"Note: {note}" for note in notes))] if notes else []


def _paragraph(*lines: str) -> RenderableType:
    return Padding(Text("\n".join(lines)), (0, 0, 1, 0))


def _table(rows: Rows, *, left: Collection[str] = ()) -> Table:
    headings, cells = rows
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for i, title in enumerate(headings):
        table.add_column(title, justify="left" if i == 0 or title in left else "right")
    for row in cells:
        table.add_row(*_texts(row))
    return table


def _texts(cells: Iterable[str]) -> list[Text]:
    return [Text(cell.replace("\u00a0", " ")) for cell in cells]
