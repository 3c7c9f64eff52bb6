"""Bags compared and chosen, as data: strokes, metres and the user's money."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from planner.strategy.bag_results import (
    BagAdvice,
    BagComparison,
    BagDifference,
    BagScore,
    ClubWorth,
    MoneyRow,
    RatedBag,
)

__all__ = ["advice_as_json", "comparison_as_json"]


def comparison_as_json(result: BagComparison) -> dict[str, Any]:
    """A comparison in full."""
    return {
        "golfer": result.golfer,
        "rounds": list(result.rounds),
        "bags": [_score(bag) for bag in result.bags],
        "differences": [_difference(one) for one in result.differences],
        "notes": list(result.notes),
    }


def advice_as_json(advice: BagAdvice) -> dict[str, Any]:
    """A choice in full; what is not known, or is not finite, is null."""
    return {
        "golfer": advice.golfer,
        "rounds": list(advice.rounds),
        "candidates": list(advice.candidates),
        "putters": list(advice.putter),
        "limit_without_putters": advice.limit,
        "best": _rated(advice.best, advice.candidates),
        "now": None if advice.now is None else _rated(advice.now, advice.candidates),
        "left_out": list(advice.left_out),
        "saved": _number(advice.saved),
        "equal": [_rated(bag, advice.candidates) for bag in advice.equal],
        "error": advice.error,
        "bound": advice.bound,
        "gap": advice.gap,
        "proven": advice.proven,
        "evaluations": advice.evaluations,
        "seconds_each": advice.seconds_each,
        "prepared_s": advice.prepared_s,
        "searched_s": advice.searched_s,
        "shapley_from": advice.least,
        "clubs": [_worth(worth) for worth in advice.worths],
        "pairs": [{**asdict(pair), "both": _number(pair.both)} for pair in advice.pairs],
        "frontier": [
            {
                "money": point.money,
                "strokes": point.value,
                "saved": point.saved,
                "bag": _ordered(point.bag, advice.candidates),
                "bought": _ordered(point.bought, advice.candidates),
            }
            for point in advice.frontier
        ],
        "frontier_proven": advice.frontier_proven,
        "changes": [_change(row) for row in advice.money],
        "years": advice.use.years,
        "rounds_a_year": advice.use.rounds_a_year,
        "currency": advice.currency,
        "notes": list(advice.notes),
    }


def _difference(one: BagDifference) -> dict[str, Any]:
    return {**asdict(one), "real": one.real}


def _score(bag: BagScore) -> dict[str, Any]:
    found = asdict(bag)
    for part in (found, *found["holes"]):
        part["penalty_chance"] = _number(part["penalty_chance"])
    return found


def _rated(bag: RatedBag, order: Iterable[str]) -> dict[str, Any]:
    return {
        "clubs": _ordered(bag.clubs, order),
        "strokes_in_search": bag.searched,
        "strokes": _number(bag.fine),
        "price": bag.price,
    }


def _worth(worth: ClubWorth) -> dict[str, Any]:
    use = worth.use
    return {
        "club": worth.club,
        "carried": worth.carried,
        "missed": _number(worth.missed),
        "instead_of": worth.instead_of,
        "share": _number(worth.share),
        "share_error": _number(worth.share_error),
        "use": None
        if use is None
        else {
            "shots": use.shots,
            "tee_shots": use.tee_shots,
            "from_m": [_number(end) for end in use.from_m],
            "lies": {lie.words: share for lie, share in use.lies.items()},
        },
    }


def _change(row: MoneyRow) -> dict[str, Any]:
    held = row.holding
    return {
        "name": row.name,
        "saved": row.saved,
        "technique": row.technique,
        "money": None
        if held is None
        else {key: _number(value) for key, value in asdict(held).items()},
    }


def _ordered(clubs: Iterable[str], order: Iterable[str]) -> list[str]:
    wanted = set(clubs)
    return [club for club in order if club in wanted]


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
