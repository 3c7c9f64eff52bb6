"""A golfer to be measured against: typical of a handicap index, or of tour players.

He carries the same clubs, by loft and length, and hits them as is typical of his index: nothing
that was measured with the golfer's own clubs is left, and hand, putting and short game are the
index's. His model is the skill model that patterns come from where nothing was measured.
"""

from __future__ import annotations

import dataclasses
import re

from planner.errors import OptionError
from planner.golfer.bag import Bag, Golfer
from planner.golfer.skill import TOUR_INDEX

__all__ = ["TOUR", "reference_bag", "reference_index", "reference_name"]

TOUR = "tour"
_LIMITS = (-10.0, 54.0)


def reference_index(text: str) -> float:
    """Handicap index that ``tour``, ``scratch`` or a number names; ``+2`` is better than scratch.

    Raises
    ------
    OptionError
        It names nobody.
    """
    word = text.strip().casefold()
    if word == TOUR:
        return TOUR_INDEX
    if word == "scratch":
        return 0.0
    match = re.fullmatch(r"([+-]?)(\d+(?:[.,]\d+)?)", word)
    if match is not None:
        value = float(match[2].replace(",", "."))
        index = -value if match[1] else value
        if _LIMITS[0] <= index <= _LIMITS[1]:
            return index
    raise OptionError(
        f'reference golfer "{text}": write tour, scratch, or a handicap index from +10 to 54'
    )


def reference_name(index: float) -> str:
    """Who has this index, in words."""
    if index == TOUR_INDEX:
        return "a tour player"
    if index == 0.0:
        return "a scratch golfer"
    shown = f"+{-index:g}" if index < 0 else f"{index:g}"
    return f"a golfer of index {shown}"


def reference_bag(bag: Bag, index: float) -> Bag:
    """The bag's clubs in the hands of a typical golfer of a handicap ``index``."""
    clubs = tuple(dataclasses.replace(club, pattern=None) for club in bag.clubs)
    golfer = Golfer(
        name=reference_name(index), handicap_index=index, left_handed=bag.golfer.left_handed
    )
    return dataclasses.replace(bag, golfer=golfer, clubs=clubs, findings=())
