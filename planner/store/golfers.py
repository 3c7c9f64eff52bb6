"""Golfers: to whom bags, shots, rounds and plans belong."""

from __future__ import annotations

from planner.errors import StoreError
from planner.store.opening import Work
from planner.store.records import SavedGolfer
from planner.store.rows import add_thing, things
from planner.store.schema import golfer

__all__ = ["golfer_called", "golfers", "save_golfer"]


def golfers(work: Work) -> list[SavedGolfer]:
    """Every golfer, oldest first."""
    return things(work, golfer, SavedGolfer)


def golfer_called(work: Work, name: str) -> SavedGolfer:
    """Golfer of a name.

    Raises
    ------
    StoreError
        There is none; the text names those there are.
    """
    name = name.strip()
    found = things(work, golfer, SavedGolfer, golfer.c.name == name)
    if found:
        return found[0]
    names = ", ".join(f'"{one.name}"' for one in golfers(work)) or "none"
    raise StoreError(f'no golfer "{name}" is saved; there are: {names}')


def save_golfer(work: Work, name: str) -> SavedGolfer:
    """Golfer of a name, made if there is none."""
    found = things(work, golfer, SavedGolfer, golfer.c.name == name.strip())
    if found:
        return found[0]
    made = SavedGolfer(name=name.strip())
    add_thing(work, golfer, made)
    return made
