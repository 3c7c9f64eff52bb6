"""Rounds played, with their holes and shots."""

from __future__ import annotations

from sqlalchemy import delete

from planner.errors import StoreError
from planner.store.journal import replace_thing
from planner.store.opening import Work
from planner.store.records import RoundHole, RoundShot, SavedRound
from planner.store.rows import Parts, add_parts, add_thing, things
from planner.store.schema import round_, round_hole, round_shot

__all__ = ["add_round", "rewrite_round", "rounds", "save_round"]

HOLES = Parts(round_hole, "round_id", RoundHole)
SHOTS = Parts(round_shot, "round_id", RoundShot)


def rounds(work: Work, golfer_id: str | None = None, *, one: str | None = None) -> list[SavedRound]:
    """Every round, a golfer's, or the one with an id, in the order they were saved."""
    conditions = [] if golfer_id is None else [round_.c.golfer_id == golfer_id]
    if one is not None:
        conditions.append(round_.c.id == one)
    return things(work, round_, SavedRound, *conditions, below={"holes": HOLES, "shots": SHOTS})


def save_round(work: Work, made: SavedRound, *, replaces: str | None = None) -> SavedRound:
    """Save a round, in place of the one whose id is ``replaces`` if given.

    Raises
    ------
    StoreError
        There is no round with that id.
    """
    old = rounds(work, one=replaces) if replaces is not None else []
    if replaces is not None and not old:
        raise StoreError(f"no round {replaces} is saved; nothing was changed")
    made_by = replace_thing(work, round_, old[0], f'replacing round "{made.name}"') if old else None
    add_round(work, made, made_by=made_by)
    return made


def rewrite_round(work: Work, made: SavedRound) -> None:
    """Write a round over itself while it is played; a round of that id that is new is saved.

    Nothing is kept for undoing: whoever logs a round takes shots back by himself, and a journal of
    every shot would push all else out.
    """
    if rounds(work, one=made.id):
        for table, key in ((round_shot, "round_id"), (round_hole, "round_id"), (round_, "id")):
            own = table.c.owner == work.owner
            work.connection.execute(delete(table).where(own, table.c[key] == made.id))
    add_round(work, made)


def add_round(work: Work, made: SavedRound, *, made_by: str | None = None) -> None:
    """Insert a round with its holes and shots."""
    add_thing(work, round_, made, made_by=made_by)
    add_parts(work, HOLES, made.id, made.holes)
    add_parts(work, SHOTS, made.id, made.shots)
