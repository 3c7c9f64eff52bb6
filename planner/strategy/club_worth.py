"""What each club of a bag is worth, for any value of sets of clubs.

*Leave-one-out* says what a bag loses without a club. Two clubs that can stand in for each other
are then both worth nothing, though one of them is needed. The *Shapley value* lets the clubs come
into the bag in random order and takes what each adds to those before it, on average: stand-ins
share their worth. With very few clubs a golfer would play another game altogether, so only
orders in which a club comes after at least ``least`` others count, every number of clubs before
it being equally likely (a probabilistic value; with ``least`` 0 it is the Shapley value itself,
and adds up to the worth of the whole bag). Sets that cannot play at all, as without any club for
chips, do not count.

*Redundant* is a pair of clubs neither of which is missed while the other is there, but both of
which are.
"""

from __future__ import annotations

import itertools
import math
import threading
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.strategy.bag_bounds import ClubSet, SetValue
from planner.strategy.bag_choice import Remembered

__all__ = [
    "RedundantPair",
    "ShapleyValue",
    "leave_one_out",
    "redundant_pairs",
    "shapley_values",
    "worth_of_adding",
]

MOST_EXACT = 1 << 13
"""Sets up to which the Shapley value is worked out exactly."""
PERMUTATIONS = 400
"""Orders that are drawn where it is not."""


@dataclass(frozen=True)
class ShapleyValue:
    """Strokes a club saves on average over orders, and the standard error; 0 if exact."""

    club: str
    strokes: float
    standard_error: float


@dataclass(frozen=True)
class RedundantPair:
    """Two clubs that stand in for each other.

    ``first_alone`` and ``second_alone`` are the strokes lost without one of them, ``both`` those
    lost without either.
    """

    first: str
    second: str
    first_alone: float
    second_alone: float
    both: float


def leave_one_out(value: SetValue, bag: ClubSet) -> dict[str, float]:
    """Strokes lost without each club of a bag; infinite where it cannot play without it."""
    whole = value(bag)
    return {club: value(bag - {club}) - whole for club in sorted(bag)}


def worth_of_adding(
    value: SetValue, bag: ClubSet, club: str, *, limit: int, fixed: ClubSet = frozenset()
) -> tuple[float, str | None]:
    """Strokes saved by a further club, and the club that has to go for it, if any.

    Parameters
    ----------
    limit
        Most clubs in the bag.
    fixed
        Clubs that do not go.
    """
    whole = value(bag)
    if len(bag) < limit:
        return whole - value(bag | {club}), None
    outs = sorted(bag - fixed - {club})
    if not outs:
        return 0.0, None
    best = min(outs, key=lambda out: value((bag - {out}) | {club}))
    return whole - value((bag - {best}) | {club}), best


def shapley_values(
    value: SetValue | Remembered,
    players: Sequence[str],
    *,
    always: ClubSet = frozenset(),
    least: int = 0,
    permutations: int = PERMUTATIONS,
    most_exact: int = MOST_EXACT,
    rng: np.random.Generator | None = None,
    cancelled: threading.Event | None = None,
) -> tuple[ShapleyValue, ...]:
    """Share the strokes that clubs save; see the module docstring.

    Parameters
    ----------
    value
        Expected strokes with a set of clubs.
    players
        The clubs.
    always
        Clubs that are in every set and get no share.
    least
        Least number of players before a club.
    permutations
        Orders drawn if there are more than ``most_exact`` sets.
    rng
        Draws the orders; seeded with 0 if None.
    cancelled
        Set by another thread to stop drawing; what was drawn until then counts, of which at
        least two orders are needed.

    Returns
    -------
    In the order of ``players``.
    """
    n = len(players)
    if not 0 <= least < max(n, 1):
        raise ValueError(f"least must be between 0 and {n - 1}, got {least}")
    known = value if isinstance(value, Remembered) else Remembered(value)
    sets = sum(math.comb(n, size) for size in range(least, n + 1))
    if sets <= most_exact:
        return _exact(known, players, always, least)
    draws = rng or np.random.default_rng(0)
    added: list[list[float]] = []
    for _ in range(permutations):
        if len(added) >= 2 and cancelled is not None and cancelled.is_set():
            break
        added.append(_drawn(known, players, always, least, draws))
    table = np.array(added)
    counted = [column[np.isfinite(column)] for column in table.T]
    return tuple(
        ShapleyValue(
            club,
            float(column.mean()) if column.size else math.nan,
            float(column.std(ddof=1) / math.sqrt(column.size)) if column.size > 1 else math.nan,
        )
        for club, column in zip(players, counted, strict=True)
    )


def redundant_pairs(
    value: SetValue, bag: ClubSet, *, nothing: float, something: float
) -> tuple[RedundantPair, ...]:
    """Find pairs of which either can go for at most ``nothing``, but both cost ``something``.

    Strokes; the dearest pair comes first. What both cost beyond the sum of what each costs must be
    ``something``, too, so that two clubs that are merely cheap are no pair.
    """
    alone = leave_one_out(value, bag)
    whole = value(bag)
    cheap = [club for club in sorted(bag) if alone[club] <= nothing]
    found = []
    for first, second in itertools.combinations(cheap, 2):
        both = value(bag - {first, second}) - whole
        if both - alone[first] - alone[second] >= something:
            found.append(RedundantPair(first, second, alone[first], alone[second], both))
    return tuple(sorted(found, key=lambda pair: -pair.both))


def _drawn(
    value: Remembered,
    players: Sequence[str],
    always: ClubSet,
    least: int,
    draws: np.random.Generator,
) -> list[float]:
    """What each club adds in one draw, on average over draws what it is worth.

    One order serves every club: rotated, it puts each of them once at each place.
    """
    n = len(players)
    order = draws.permutation(n)
    place = least + int(draws.integers(n - least))
    added = [0.0] * n
    for turn in range(n):
        turned = np.roll(order, turn)
        club = int(turned[place])
        before = always | {players[i] for i in turned[:place]}
        without = value(before)
        added[club] = math.nan
        if math.isfinite(without):
            added[club] = without - value(before | {players[club]})
    return added


def _exact(
    value: Remembered, players: Sequence[str], always: ClubSet, least: int
) -> tuple[ShapleyValue, ...]:
    n = len(players)
    found = []
    for club in players:
        others = [other for other in players if other != club]
        by_size = []
        for size in range(least, n):
            sets = [always | frozenset(few) for few in itertools.combinations(others, size)]
            added = [value(few) - value(few | {club}) for few in sets if math.isfinite(value(few))]
            if added:
                by_size.append(math.fsum(added) / len(added))
        mean = math.fsum(by_size) / len(by_size) if by_size else math.nan
        found.append(ShapleyValue(club, mean, 0.0))
    return tuple(found)
