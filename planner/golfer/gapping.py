"""Gapping: the carry of clubs the golfer has not measured, from those he has.

Where any club was measured, or a delivery is known, the delivery fitted to them predicts the rest
(:mod:`.club_prediction`). Predicting every club of the demo bags from all others its median error
is 1 % and its root mean square 1.8 %; from one, two or three other clubs 3-4, 3 and 2 % in the
median. The ratio to a typical carry, interpolated in loft, which it replaced, had 0.6 and 2.7 %
from all others, because it misses beyond the last measured loft, and 7, 5 and 3 % from few.

Where nothing is known but the handicap index, carries are the typical ones.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from planner.golfer.bag import Delivery
from planner.golfer.club import Club, ClubKind
from planner.golfer.club_prediction import CarryPrediction, fit_bag, predict_carries
from planner.golfer.delivery_model import ClubFacts, facts_of
from planner.golfer.typical_carry import (
    default_driver_carry,
    driver_carry_from,
    standard_length,
    typical_carry,
)

__all__ = [
    "club_predictions",
    "default_driver_carry",
    "driver_carry_from",
    "predicted_carries",
    "standard_length",
    "typical_carry",
]


def predicted_carries(
    clubs: Sequence[Club], handicap_index: float, *, delivery: Delivery | None = None
) -> dict[str, float]:
    """Carry [m] by label for every club but putters.

    Measured carries are kept. A predicted club never carries beyond a measured one of its kind
    that is as strong, as long and as hard to turn or more so, nor short of one that is less in all
    three, unless the golfer's own delivery says that loft helps him (a slow or steep swing).
    """
    hit = [club for club in clubs if club.kind is not ClubKind.PUTTER]
    carries = {club.label: club.pattern.carry_m for club in hit if club.pattern is not None}
    predictions = club_predictions(clubs, handicap_index, delivery=delivery)
    if predictions:
        return {**carries, **_in_order(hit, predictions)}
    driver = default_driver_carry(handicap_index)
    return {club.label: typical_carry(club, driver) for club in hit}


def club_predictions(
    clubs: Sequence[Club], handicap_index: float, *, delivery: Delivery | None = None
) -> dict[str, CarryPrediction]:
    """Predict every club but putters, also measured ones, from all that is known of the golfer.

    Returns
    -------
    By label; empty if neither a carry nor a delivery is known.
    """
    return dict(_predictions(tuple(clubs), handicap_index, delivery))


@lru_cache(maxsize=64)
def _predictions(
    clubs: tuple[Club, ...], handicap_index: float, delivery: Delivery | None
) -> tuple[tuple[str, CarryPrediction], ...]:
    fit = fit_bag(clubs, handicap_index, delivery=delivery)
    if fit is None:
        return ()
    hit = [club for club in clubs if club.kind is not ClubKind.PUTTER]
    return tuple((found.label, found) for found in predict_carries(fit, hit))


def _in_order(clubs: Sequence[Club], predictions: dict[str, CarryPrediction]) -> dict[str, float]:
    """Carries of the clubs that were not measured, held between those that were."""
    facts = facts_of(clubs)
    known = {i: club.pattern.carry_m for i, club in enumerate(clubs) if club.pattern is not None}
    carries: dict[str, float] = {}
    for i in sorted(range(len(clubs)), key=lambda i: (facts.loft[i], -facts.length[i])):
        club = clubs[i]
        if club.pattern is not None:
            continue
        own = predictions[club.label]

        def helps(j: int, own: CarryPrediction = own) -> float:
            return predictions[clubs[j].label].delivery_carry_m - own.delivery_carry_m

        high = min((c for j, c in known.items() if _at_least(facts, j, i) and helps(j) >= 0),
                   default=math.inf)  # fmt: skip
        low = max((c for j, c in known.items() if _at_least(facts, i, j) and helps(j) <= 0),
                  default=0.0)  # fmt: skip
        carry = own.carry_m
        if low <= high:
            carry = float(np.clip(carry, low, high))
        for j, other in enumerate(clubs):
            if other.label in carries and _at_least(facts, j, i) and helps(j) >= 0:
                carry = min(carry, carries[other.label])
        carries[club.label] = carry
    return carries


def _at_least(facts: ClubFacts, one: int, other: int) -> bool:
    """Whether a club is of the other's kind and as strong, as long and as hard to turn."""
    return bool(
        facts.kinds[one] is facts.kinds[other]
        and facts.loft[one] <= facts.loft[other]
        and facts.length[one] >= facts.length[other]
        and facts.head_inertia[one] >= facts.head_inertia[other]
    )
