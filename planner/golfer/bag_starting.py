"""A bag file from what every golfer knows: a handicap, the names of his clubs, a carry or two."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import tomlkit

from planner.errors import BagFileError
from planner.golfer.club_names import club_from_name, name_key
from planner.units import RAD_PER_DEG, DistanceUnit

__all__ = ["NAMED_CLUBS", "USUAL_CLUBS", "starting_bag"]

NAMED_CLUBS = (
    "Driver", "3 wood", "5 wood", "7 wood", "9 wood", "3 hybrid", "4 hybrid", "5 hybrid",
    "6 hybrid", "3 iron", "4 iron", "5 iron", "6 iron", "7 iron", "8 iron", "9 iron",
    "Pitching wedge", "Gap wedge", "Sand wedge", "Lob wedge",
)  # fmt: skip
"""Clubs whose usual lofts are known by their names."""
USUAL_CLUBS = (
    "Driver", "3 wood", "5 wood", "4 hybrid", "5 iron", "6 iron", "7 iron", "8 iron", "9 iron",
    "Pitching wedge", "Gap wedge", "Sand wedge",
)  # fmt: skip
"""What many sets hold (common practice)."""
PUTTER, PUTTER_LOFT_DEG = "Putter", 3.0


def starting_bag(
    name: str,
    handicap_index: float,
    clubs: Sequence[str],
    *,
    left_handed: bool = False,
    carries_m: Mapping[str, float] | None = None,
    unit: DistanceUnit = DistanceUnit.METRES,
) -> str:
    """Text of a bag file; what it does not say is predicted when it is read.

    Parameters
    ----------
    name, handicap_index, left_handed
        The golfer; a plus handicap is negative.
    clubs
        Names, for instance of :data:`NAMED_CLUBS`; a putter is added if there is none.
    carries_m
        Carries that are known [m], by club.
    unit
        Unit of distances in the file.

    Raises
    ------
    BagFileError
        A club's name does not tell what it is.
    """
    document = tomlkit.document()
    document.add(tomlkit.comment("Lofts are usual ones for these names: put in your own."))
    document.add("format", 1)
    document.add("name", f"bag of {name}" if name else "my bag")
    document.add("units", unit.value)
    golfer = tomlkit.table()
    golfer.update(
        {
            "name": name,
            "handed": "left" if left_handed else "right",
            "handicap_index": handicap_index,
        }
    )
    document.add("golfer", golfer)
    rows = tomlkit.aot()
    problems = []
    known = carries_m or {}
    for label in (*clubs, *(() if any("putter" in name_key(c) for c in clubs) else (PUTTER,))):
        row = tomlkit.table()
        found = club_from_name(label)
        if found is not None:
            row.update({"label": label, "kind": found.kind.value})
            row.add("loft_deg", round(found.loft / RAD_PER_DEG, 1))
            if found.tee_only:
                row.add("tee_only", True)
            if label in known:
                pattern = tomlkit.table()
                pattern.add("carry", round(unit.from_metres(known[label]), 1))
                row.add("pattern", pattern)
        elif "putter" in name_key(label):
            row.update({"label": label, "kind": "putter", "loft_deg": PUTTER_LOFT_DEG})
        else:
            problems.append(f'"{label}" does not tell which club it is')
        rows.append(row)
    if problems:
        raise BagFileError("bag", problems)
    document.add("club", rows)
    return tomlkit.dumps(document)
