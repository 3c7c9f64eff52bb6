"""Names of clubs as people write them: "7i", "Iron 7", "SW", "56°", and which club they mean."""

from __future__ import annotations

import re
from collections.abc import Iterable

from planner.golfer.club import Club, ClubKind
from planner.units import RAD_PER_DEG

__all__ = ["club_from_name", "matching_club", "name_key"]

_WORDS = {
    **dict.fromkeys(("d", "dr", "drv", "1w", "w1", "driver"), ("driver",)),
    **dict.fromkeys(("i", "ir", "iron", "irons", "eisen", "fer"), ("iron",)),
    **dict.fromkeys(("w", "fw", "wood", "holz", "bois"), ("wood",)),
    **dict.fromkeys(("h", "hy", "hyb", "hybrid", "rescue", "utility", "ut"), ("hybrid",)),
    **dict.fromkeys(("wedge", "we"), ("wedge",)),
    **dict.fromkeys(("p", "pw", "pitching"), ("pitching", "wedge")),
    **dict.fromkeys(("g", "gw", "a", "aw", "uw", "approach", "gap"), ("gap", "wedge")),
    **dict.fromkeys(("s", "sw", "sand"), ("sand", "wedge")),
    **dict.fromkeys(("l", "lw", "lob"), ("lob", "wedge")),
    **dict.fromkeys(("pt", "putt", "putter"), ("putter",)),
}
"""Words of club names, and the trade words they stand for."""
_FILLERS = frozenset({"no", "nr", "number", "club", "the", "deg", "degree", "degrees", "fairway"})

ASSUMED_LOFT_DEG = {
    ClubKind.WOOD: {3: 15.0, 4: 16.5, 5: 18.0, 7: 21.0, 9: 24.0, 11: 27.0},
    ClubKind.HYBRID: {2: 17.0, 3: 19.0, 4: 22.0, 5: 25.0, 6: 28.0, 7: 31.0},
    ClubKind.IRON: {
        1: 16.0, 2: 18.5, 3: 20.5, 4: 23.0, 5: 26.0, 6: 29.0, 7: 33.0, 8: 37.0, 9: 41.5,
    },
}  # fmt: skip
ASSUMED_WEDGE_LOFT_DEG = {"pitching": 46.0, "gap": 51.0, "sand": 56.0, "lob": 60.0}
ASSUMED_DRIVER_LOFT_DEG = 10.5
"""Usual lofts by name (common practice): steps of about 4 degrees, as sets are sold."""
_LOFT_TOLERANCE = 0.6 * RAD_PER_DEG
_WEDGE_LOFTS = (40.0, 72.0)


def name_key(name: str) -> frozenset[str]:
    """Words that name a club, whatever their order, case and abbreviation."""
    found: set[str] = set()
    for word in re.findall(r"[^\W\d_]+|\d+(?:\.\d+)?", name.casefold()):
        if word not in _FILLERS:
            found.update(_WORDS.get(word, (word,)))
    if {"1", "wood"} <= found:
        found = found - {"1", "wood"} | {"driver"}
    return frozenset(found)


def matching_club(name: str, clubs: Iterable[Club]) -> Club | None:
    """Club that ``name`` means: by label, by the words of it, or a wedge by its loft."""
    clubs = tuple(clubs)
    for club in clubs:
        if club.label.casefold() == " ".join(name.split()).casefold():
            return club
    wanted = name_key(name)
    found = [club for club in clubs if wanted and name_key(club.label) == wanted]
    if not found and (loft := _stated_loft(name)) is not None:
        found = [
            club
            for club in clubs
            if club.kind is ClubKind.WEDGE and abs(club.loft - loft) < _LOFT_TOLERANCE
        ]
    return found[0] if len(found) == 1 else None


def club_from_name(name: str) -> Club | None:
    """Club with the usual loft of its name; None for a putter or a name that tells no kind."""
    key = name_key(name)
    label = " ".join(name.split())
    if "putter" in key:
        return None
    loft = _stated_loft(name)
    if loft is not None and (key & {"wedge"} or not key & {"iron", "wood", "hybrid", "driver"}):
        return Club(label, ClubKind.WEDGE, loft)
    for word, degrees in ASSUMED_WEDGE_LOFT_DEG.items():
        if word in key:
            return Club(label, ClubKind.WEDGE, degrees * RAD_PER_DEG)
    if "driver" in key:
        return Club(label, ClubKind.DRIVER, ASSUMED_DRIVER_LOFT_DEG * RAD_PER_DEG, tee_only=True)
    for kind in (ClubKind.HYBRID, ClubKind.WOOD, ClubKind.IRON):
        numbers = [int(word) for word in key if word.isdigit()]
        if kind.value in key and len(numbers) == 1 and numbers[0] in ASSUMED_LOFT_DEG[kind]:
            return Club(label, kind, ASSUMED_LOFT_DEG[kind][numbers[0]] * RAD_PER_DEG)
    return None


def _stated_loft(name: str) -> float | None:
    """Wedge loft [rad] in a name such as ``56°`` or ``Wedge 52``."""
    low, high = _WEDGE_LOFTS
    numbers = [float(text) for text in re.findall(r"\d+(?:\.\d+)?", name)]
    lofts = [number for number in numbers if low <= number <= high]
    return lofts[0] * RAD_PER_DEG if len(lofts) == 1 else None
