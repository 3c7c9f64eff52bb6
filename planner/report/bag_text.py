"""Bags compared and chosen, as text for a terminal; no arithmetic."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.report.words import distance, percent
from planner.strategy.bag_results import (
    NO_DIFFERENCE,
    BagAdvice,
    BagComparison,
    BagDifference,
    Cause,
    ClubWorth,
    HoleDifference,
    MoneyRow,
)
from planner.units import DistanceUnit

__all__ = [
    "advice_parts",
    "cause_said",
    "certificate_said",
    "choice_said",
    "comparison_parts",
    "difference_said",
    "difference_table",
    "frontier_table",
    "money",
    "money_table",
    "pairs_said",
    "score_table",
    "signed",
    "worth_table",
]

SHARE_SAID = (
    "Missed: strokes a round lost without the club, all others staying. Share: what it adds on "
    "average when clubs come into the bag in random order (its Shapley value, from {least} clubs "
    "up), so that clubs that stand in for each other share their worth."
)
MONEY_SAID = (
    "Resale is what the bag file says, else three quarters of the value kept each year (assumed). "
    "Strokes are against the best bag without buying anything; technique is against the clubs "
    "carried now."
)
LEAST_SAVED = 0.005


def signed(strokes: float) -> str:
    """Strokes with a sign; the smallest are level."""
    return "0.00" if abs(strokes) < LEAST_SAVED else f"{strokes:+.2f}"


def money(amount: float, currency: str) -> str:
    """Money in whole units of the user's currency."""
    if math.isinf(amount):
        return "-"
    return f"{amount:,.0f} {currency}".rstrip().replace(",", "\u00a0")


# -- comparing ------------------------------------------------------------------------------


def comparison_parts(result: BagComparison, unit: DistanceUnit) -> list[RenderableType]:
    """Bags over the same holes, and every difference hole by hole."""
    parts: list[RenderableType] = [
        Text(f"Bags compared: {result.golfer}, {'; '.join(result.rounds)}", style="bold"),
        Text(),
        score_table(result),
        Text(),
    ]
    for one in result.differences:
        parts += [_paragraph(difference_said(one)), difference_table(one, unit), Text()]
    return parts


def score_table(result: BagComparison) -> Table:
    """Expected score, penalties and spread of every bag."""
    table = _table("Bag", "Strokes", "Penalties", "Spread", "Clubs")
    for bag in result.bags:
        _row(
            table,
            bag.name,
            f"{bag.strokes:.2f}",
            f"{bag.penalties:.2f}",
            f"{bag.spread:.1f}",
            f"{len(bag.clubs)}",
        )
    return table


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
    table = _table("Hole", "Difference", "+-")
    table.add_column("Because", justify="left")
    for hole in one.holes:
        _row(
            table,
            _hole_name(one, hole),
            signed(hole.strokes),
            f"{hole.sd:.2f}",
            "; ".join(cause_said(cause, unit) for cause in hole.causes),
        )
    _row(table, "Round", signed(one.strokes), f"{one.sd:.2f}", "", style="bold")
    return table


def cause_said(cause: Cause, unit: DistanceUnit) -> str:
    """Shots that make a difference, such as ``tee: 5 wood, not 3 wood -0.03``."""
    where = "tee"
    if cause.where != "tee":
        low, high = distance(cause.low_m, unit), distance(cause.high_m, unit)
        where = f"{low.split(chr(0xA0))[0]}-{high}"
    clubs = cause.second or "no shot"
    if cause.first and cause.first != cause.second:
        clubs += f", not {cause.first}"
    return f"{where}: {clubs} {signed(cause.strokes)}"


def _hole_name(one: BagDifference, hole: HoleDifference) -> str:
    courses = {other.course for other in one.holes}
    return hole.ref if len(courses) == 1 else f"{hole.course} {hole.ref}"


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
    return [*parts, _paragraph(*certificate_said(advice))]


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
    many = f"{advice.evaluations} of all sets valued"
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
    table = _table("Club", "Missed", "Share", "Shots", "Tee")
    table.add_column("From", justify="left")
    table.add_column("Lies", justify="left")
    for worth in advice.worths:
        if worth.carried:
            _row(table, *_worth_cells(worth, unit))
    for worth in advice.worths:
        if not worth.carried:
            where = "" if worth.instead_of is None else f"left out; for {worth.instead_of}"
            _row(table, worth.club, signed(worth.missed), "", "", "", where, "")
    return table


def _worth_cells(worth: ClubWorth, unit: DistanceUnit) -> tuple[str, ...]:
    use = worth.use
    share = "" if math.isnan(worth.share) else f"{worth.share:.2f}"
    if worth.share_error >= LEAST_SAVED:
        share += f" +-{worth.share_error:.2f}"
    missed = "needed" if math.isinf(worth.missed) else f"{worth.missed:.2f}"
    if use is None:
        return (worth.club, missed, share, "", "", "", "")
    reach, lies = "", ""
    if use.shots - use.tee_shots >= LEAST_SAVED:
        low, high = distance(use.from_m[0], unit), distance(use.from_m[2], unit)
        reach = f"{low.split(chr(0xA0))[0]}-{high}"
        usual = sorted(use.lies.items(), key=lambda one: -one[1])[:2]
        lies = ", ".join(f"{lie.words} {percent(share)}" for lie, share in usual)
    return (
        worth.club,
        missed,
        share,
        f"{use.shots:.1f}",
        f"{use.tee_shots:.1f}" if use.tee_shots >= 0.05 else "",
        reach,
        lies,
    )


def pairs_said(advice: BagAdvice) -> tuple[str, ...]:
    """Clubs that stand in for each other."""
    return tuple(
        f"{pair.first} and {pair.second} stand in for each other: without one "
        f"{max(pair.first_alone, pair.second_alone):.2f}, without both {pair.both:.2f}."
        for pair in advice.pairs
    )


def frontier_table(advice: BagAdvice) -> Table:
    """Strokes saved against money spent."""
    table = _table("Money", "Saves")
    table.add_column("Buy", justify="left")
    for point in advice.frontier:
        bought = [club for club in advice.candidates if club in point.bought]
        _row(
            table,
            money(point.money, advice.currency),
            f"{point.saved:.2f}",
            ", ".join(bought) or "nothing",
        )
    return table


def money_table(advice: BagAdvice) -> Table:
    """Purchases and changes of technique by strokes saved."""
    years = f"{advice.use.years:g}"
    table = _table(
        "Change",
        "Saves",
        "Price",
        f"Resale in {years} y",
        "A stroke a round",
        "The same, a year",
    )
    for row in advice.money:
        _row(table, *_money_cells(row, advice.currency))
    return table


def _money_cells(row: MoneyRow, currency: str) -> tuple[str, ...]:
    name = f"{row.name} (technique)" if row.technique else row.name
    saved = signed(row.saved) if row.saved < 0 else f"{row.saved:.2f}"
    if row.holding is None:
        return (name, saved, "", "", "", "")
    held = row.holding
    worth_it = row.saved >= LEAST_SAVED
    return (
        name,
        saved,
        money(held.price, currency),
        money(held.resale, currency),
        money(held.per_stroke, currency) if worth_it else "-",
        money(held.per_stroke_a_year, currency) if worth_it else "-",
    )


# -- bricks ---------------------------------------------------------------------------------


def _list(clubs: Sequence[str]) -> str:
    return ", ".join(clubs)


def _paragraph(*lines: str) -> RenderableType:
    return Padding(Text("\n".join(lines)), (0, 0, 1, 0))


def _table(first: str, *titles: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column(first)
    for title in titles:
        table.add_column(title, justify="right")
    return table


def _row(table: Table, *cells: str, **more: Any) -> None:
    table.add_row(*_texts(cells), **more)


def _texts(cells: Iterable[str]) -> list[Text]:
    return [Text(cell.replace("\u00a0", " ")) for cell in cells]
