"""Tables of bags compared and chosen, as ready words for terminal and page; no arithmetic."""

from __future__ import annotations

import math

from planner.report.words import distance, percent
from planner.strategy.bag_results import (
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
    "LEAST_SAVED",
    "Rows",
    "cause_said",
    "difference_rows",
    "frontier_rows",
    "money",
    "money_rows",
    "money_short_rows",
    "score_rows",
    "signed",
    "worth_rows",
    "worth_short_rows",
]

Rows = tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]
"""Headings, and rows of as many cells."""

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


def score_rows(result: BagComparison) -> Rows:
    """Expected score, penalties and spread of every bag."""
    return ("Bag", "Strokes", "Penalties", "Any", "Spread", "Clubs"), tuple(
        (
            bag.name,
            f"{bag.strokes:.2f}",
            f"{bag.penalties:.2f}",
            "" if math.isnan(bag.penalty_chance) else percent(bag.penalty_chance),
            f"{bag.spread:.1f}",
            f"{len(bag.clubs)}",
        )
        for bag in result.bags
    )


def difference_rows(one: BagDifference, unit: DistanceUnit) -> Rows:
    """Differences hole by hole with the shots that make them, and the round's."""
    holes = tuple(
        (
            _hole_name(one, hole),
            signed(hole.strokes),
            f"{hole.sd:.2f}",
            "; ".join(cause_said(cause, unit) for cause in hole.causes),
        )
        for hole in one.holes
    )
    total = ("Round", signed(one.strokes), f"{one.sd:.2f}", "")
    return ("Hole", "Difference", "+-", "Because"), (*holes, total)


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
    rounds = {other.course for other in one.holes}
    return hole.ref if len(rounds) == 1 else f"{hole.course} {hole.ref}"


# -- choosing -------------------------------------------------------------------------------


def worth_rows(advice: BagAdvice, unit: DistanceUnit) -> Rows:
    """Every club: strokes it is missed for, its share, and where it is used."""
    carried = tuple(_worth_cells(worth, unit) for worth in advice.worths if worth.carried)
    others = tuple(
        (
            worth.club,
            signed(worth.missed),
            "",
            "",
            "",
            "" if worth.instead_of is None else f"left out; for {worth.instead_of}",
            "",
        )
        for worth in advice.worths
        if not worth.carried
    )
    return ("Club", "Missed", "Share", "Shots", "Tee", "From", "Lies"), (*carried, *others)


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


def worth_short_rows(advice: BagAdvice, unit: DistanceUnit) -> Rows:
    """The same in few columns, for a narrow screen."""
    _, rows = worth_rows(advice, unit)
    return ("Club", "Missed", "Share", "Used"), tuple(
        (club, missed, share, "; ".join(part for part in (_shots(shots, tee), where, lies) if part))
        for club, missed, share, shots, tee, where, lies in rows
    )


def _shots(shots: str, tee: str) -> str:
    if not shots:
        return ""
    return f"{shots} shots, {tee} from tees" if tee else f"{shots} shots"


def frontier_rows(advice: BagAdvice) -> Rows:
    """Strokes saved against money spent."""
    return ("Money", "Saves", "Buy"), tuple(
        (
            money(point.money, advice.currency),
            f"{point.saved:.2f}",
            ", ".join(club for club in advice.candidates if club in point.bought) or "nothing",
        )
        for point in advice.frontier
    )


def money_rows(advice: BagAdvice) -> Rows:
    """Purchases and changes of technique by strokes saved."""
    headings = (
        "Change",
        "Saves",
        "Price",
        f"Resale in {advice.use.years:g} y",
        "A stroke a round",
        "The same, a year",
    )
    return headings, tuple(_money_cells(row, advice.currency) for row in advice.money)


def money_short_rows(advice: BagAdvice) -> Rows:
    """The same in few columns, for a narrow screen."""
    _, rows = money_rows(advice)
    headings = ("Change", "Saves", "Price", "A stroke a round")
    return headings, tuple(
        (
            name,
            saved,
            f"{price}, {resale} back in {advice.use.years:g} y" if price else "",
            f"{stroke}, {yearly} a year" if stroke not in ("", "-") else stroke,
        )
        for name, saved, price, resale, stroke, yearly in rows
    )


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
