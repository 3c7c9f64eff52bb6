"""Bags: the file's text, which says everything, and the clubs read from it for queries."""

from __future__ import annotations

from sqlalchemy import ColumnElement

from planner.golfer.bag import Bag, bag_from_text
from planner.store.golfers import save_golfer
from planner.store.journal import replace_thing
from planner.store.opening import Work
from planner.store.records import SavedBag, SavedClub
from planner.store.rows import Parts, add_parts, add_thing, things
from planner.store.schema import bag, club

__all__ = ["add_bag", "bags", "clubs_of", "save_bag"]

CLUBS = Parts(club, "bag_id", SavedClub)


def bags(work: Work, golfer_id: str | None = None) -> list[SavedBag]:
    """Every bag, or a golfer's, oldest first."""
    return _bags(work, *([] if golfer_id is None else [bag.c.golfer_id == golfer_id]))


def save_bag(work: Work, text: str, *, source: str, name: str = "bag") -> SavedBag:
    """Save a bag under its name for its golfer, replacing another text of that name.

    Parameters
    ----------
    work
        Transaction.
    text
        Text of the bag file.
    source
        What the file is called in an error.
    name
        Name of the bag where the text gives none.

    Raises
    ------
    planner.errors.BagFileError
        The text is no usable bag.
    """
    read = bag_from_text(text, source=source, name=name)
    golfer = save_golfer(work, read.golfer.name)
    same_name = _bags(work, bag.c.golfer_id == golfer.id, bag.c.name == read.name)
    if same_name and same_name[0].text == text:
        return same_name[0]
    made_by = replace_thing(
        work, bag, same_name[0] if same_name else None, f'replacing bag "{read.name}"'
    )
    made = SavedBag(golfer_id=golfer.id, name=read.name, text=text, clubs=clubs_of(read))
    add_bag(work, made, made_by=made_by)
    return made


def add_bag(work: Work, made: SavedBag, *, made_by: str | None = None) -> None:
    """Insert a bag with its clubs."""
    add_thing(work, bag, made, made_by=made_by)
    add_parts(work, CLUBS, made.id, made.clubs)


def clubs_of(read: Bag) -> tuple[SavedClub, ...]:
    """Rows of a bag's clubs."""
    return tuple(
        SavedClub(
            label=one.label,
            kind=one.kind.value,
            loft_rad=one.loft,
            length_m=one.length_m,
            tee_only=one.tee_only,
            carried=one.carried,
            price=one.price,
            resale=one.resale,
            carry_m=None if one.pattern is None else one.pattern.carry_m,
        )
        for one in read.clubs
    )


def _bags(work: Work, *conditions: ColumnElement[bool]) -> list[SavedBag]:
    return things(work, bag, SavedBag, *conditions, below={"clubs": CLUBS})
