"""Somebody else's clubs in a golfer's own hands, to be compared with his own."""

from __future__ import annotations

import dataclasses
import math

from planner.golfer.bag import Bag
from planner.golfer.club import Club, ClubKind

__all__ = ["with_borrowed"]

SAME_LOFT = math.radians(0.5)
"""Clubs of one kind whose lofts differ by less are one club here [rad]: nobody borrows his own."""


def with_borrowed(bag: Bag, lender: Bag) -> tuple[Bag, tuple[str, ...]]:
    """A bag with the lender's clubs added, and the labels that make up his set in it.

    What the lender does with his clubs is left out: how the golfer hits them is predicted from his
    own clubs and handicap. The golfer keeps his putter, and his own of two that are alike.
    """
    added: list[Club] = []
    labels = {club.label.casefold() for club in bag.clubs}
    theirs = [club.label for club in bag.clubs if club.kind is ClubKind.PUTTER and club.carried]
    for club in lender.carried():
        if club.kind is ClubKind.PUTTER:
            continue
        own = next((one for one in (*bag.clubs, *added) if _alike(one, club)), None)
        if own is None:
            label = _label(club.label, lender.golfer.name or lender.name, labels)
            labels.add(label.casefold())
            own = dataclasses.replace(
                club, label=label, pattern=None, carried=False, price=None, resale=None
            )
            added.append(own)
        if own.label not in theirs:
            theirs.append(own.label)
    return dataclasses.replace(bag, clubs=(*bag.clubs, *added)), tuple(theirs)


def _alike(one: Club, other: Club) -> bool:
    return one.kind is other.kind and abs(one.loft - other.loft) < SAME_LOFT


def _label(label: str, lender: str, taken: set[str]) -> str:
    """The club's own label where it is free, else with its owner's name, else numbered too."""
    name, number = label, 1
    while name.casefold() in taken:
        name = f"{label} of {lender}" + (f" ({number})" if number > 1 else "")
        number += 1
    return name
