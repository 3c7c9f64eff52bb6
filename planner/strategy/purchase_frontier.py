"""What money buys: strokes saved against money spent over all affordable purchases.

The frontier is exact: the best bag at any price, then the best for less than that costs, and so
on down to nothing. Bags that cost more than another and save no more are left out.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from planner.errors import OptionError
from planner.strategy.bag_bounds import BagProblem, ClubSet, SetValue
from planner.strategy.bag_choice import ChoiceOptions, Remembered, SearchState, choose_bag

__all__ = ["Frontier", "Holding", "Purchase", "YearsOfUse", "holding", "purchase_frontier"]

ASSUMED_VALUE_KEPT_A_YEAR = 0.75
"""Share of its price that a club keeps each year, where no resale value is given; assumed."""


@dataclass(frozen=True)
class Purchase:
    """A point of the frontier.

    Parameters
    ----------
    money
        What the clubs bought cost.
    value
        Expected strokes a round with the best bag for that money.
    saved
        Strokes a round less than with the best bag for nothing.
    bag
        The clubs carried.
    bought
        Those of them that cost money.
    """

    money: float
    value: float
    saved: float
    bag: ClubSet
    bought: ClubSet


@dataclass(frozen=True)
class Frontier:
    """Points by rising money, the first of them for the least money; ``proven`` if all are."""

    points: tuple[Purchase, ...]
    proven: bool
    gap: float
    evaluations: int


def purchase_frontier(
    problem: BagProblem,
    value: SetValue | Remembered,
    *,
    worth_while: float = 0.0,
    options: ChoiceOptions | None = None,
    report: Callable[[SearchState], None] | None = None,
    cancelled: threading.Event | None = None,
) -> Frontier:
    """Find the frontier of strokes saved against money.

    Parameters
    ----------
    problem
        What may be chosen, with prices; its budget is the most money.
    value
        Expected strokes of a set; more clubs must never be worse.
    worth_while
        Points that save less than this more than a cheaper one are left out [strokes].
    options, report, cancelled
        As for :func:`planner.strategy.bag_choice.choose_bag`.
    """
    known = value if isinstance(value, Remembered) else Remembered(value)
    found: list[tuple[float, float, ClubSet]] = []
    proven, gap = True, 0.0
    before = known.evaluations
    budget = problem.budget
    while budget >= problem.cost(problem.forced_in):
        one = replace(problem, budget=budget)
        try:
            start = [clubs for _, _, clubs in found[-1:]]
            choice = choose_bag(
                one, known, start=start, options=options, report=report, cancelled=cancelled
            )
        except OptionError:
            # For less money no bag can play.
            break
        money = problem.cost(choice.best)
        found.append((money, choice.value, choice.best))
        proven, gap = proven and choice.proven, max(gap, choice.gap)
        if money <= 0.0 or (cancelled is not None and cancelled.is_set()):
            break
        # The next cheaper bag is cheaper by more than rounding.
        budget = money - 1e-9 * max(1.0, money)
    points = _on_frontier(problem, found, worth_while)
    return Frontier(points, proven, gap, known.evaluations - before)


def _on_frontier(
    problem: BagProblem, found: list[tuple[float, float, ClubSet]], worth_while: float
) -> tuple[Purchase, ...]:
    rising = sorted(found, key=lambda point: (point[0], point[1]))
    points: list[Purchase] = []
    for money, value, clubs in rising:
        if points and value >= points[-1].value - max(worth_while, 1e-12):
            continue
        saved = points[0].value - value if points else 0.0
        bought = frozenset(c for c in clubs if problem.price.get(c, 0.0) > 0.0)
        points.append(Purchase(money, value, saved, clubs, bought))
    return tuple(points)


@dataclass(frozen=True)
class YearsOfUse:
    """How long a club is kept and how often it is played."""

    years: float = 3.0
    rounds_a_year: float = 40.0


@dataclass(frozen=True)
class Holding:
    """What owning clubs costs and what it brings.

    Parameters
    ----------
    price
        Money paid.
    resale
        Money they bring after the years of use.
    per_stroke
        Price for each stroke a round saved; infinite if none is.
    per_stroke_a_year
        What a year costs, price less resale over the years, for each stroke a round saved.
    per_stroke_played
        What every single stroke saved over all rounds costs.
    """

    price: float
    resale: float
    per_stroke: float
    per_stroke_a_year: float
    per_stroke_played: float


def holding(
    clubs: ClubSet,
    saved: float,
    *,
    price: Mapping[str, float],
    resale: Mapping[str, float],
    use: YearsOfUse,
) -> Holding:
    """Cost of owning bought clubs against the strokes a round they save.

    ``resale`` is the money a club would bring after the years of use; where it is not given
    a club keeps ``ASSUMED_VALUE_KEPT_A_YEAR`` of its price each year. A resale above the price
    counts as the price.
    """
    paid = math.fsum(price.get(club, 0.0) for club in clubs)
    kept = ASSUMED_VALUE_KEPT_A_YEAR**use.years
    back = math.fsum(
        min(resale.get(club, kept * price.get(club, 0.0)), price.get(club, 0.0)) for club in clubs
    )
    if saved <= 0.0:
        return Holding(paid, back, math.inf, math.inf, math.inf)
    lost = paid - back
    return Holding(
        paid,
        back,
        paid / saved,
        lost / use.years / saved,
        lost / (use.years * use.rounds_a_year) / saved,
    )
