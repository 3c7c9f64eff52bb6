"""A standard set of 14 clubs, for golfers of whom nothing but the handicap index is known."""

from __future__ import annotations

from planner.golfer.bag import Bag, Golfer
from planner.golfer.club import Club, ClubKind
from planner.units import RAD_PER_DEG

__all__ = ["typical_bag"]

_LOFTS_DEG = (
    ("Driver", ClubKind.DRIVER, 10.5),
    ("3 wood", ClubKind.WOOD, 15.0),
    ("Hybrid", ClubKind.HYBRID, 19.0),
    ("4 iron", ClubKind.IRON, 23.0),
    ("5 iron", ClubKind.IRON, 26.0),
    ("6 iron", ClubKind.IRON, 29.5),
    ("7 iron", ClubKind.IRON, 33.0),
    ("8 iron", ClubKind.IRON, 37.0),
    ("9 iron", ClubKind.IRON, 41.5),
    ("Pitching wedge", ClubKind.WEDGE, 46.0),
    ("Gap wedge", ClubKind.WEDGE, 50.0),
    ("Sand wedge", ClubKind.WEDGE, 55.0),
    ("Lob wedge", ClubKind.WEDGE, 60.0),
    ("Putter", ClubKind.PUTTER, 3.0),
)
"""Usual lofts, about 4 degrees apart (common practice)."""


def typical_bag(handicap_index: float) -> Bag:
    """The set in the hands of a typical golfer of a handicap index; nothing is measured."""
    clubs = tuple(
        Club(label, kind, loft_deg * RAD_PER_DEG, tee_only=kind is ClubKind.DRIVER)
        for label, kind, loft_deg in _LOFTS_DEG
    )
    return Bag("standard set", Golfer(handicap_index=handicap_index), clubs)
