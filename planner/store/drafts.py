"""Maps being drawn: kept after every change, so that none is lost with the page."""

from __future__ import annotations

from sqlalchemy import delete, select

from planner.store.opening import Work
from planner.store.records import SavedDraft, new_id
from planner.store.rows import add_thing, living, things
from planner.store.schema import map_draft

__all__ = ["add_draft", "drafts", "drop_draft", "save_draft"]


def drafts(work: Work) -> list[SavedDraft]:
    """Every map being drawn, the one changed longest ago first."""
    return things(work, map_draft, SavedDraft)


def save_draft(
    work: Work, one: str | None, *, name: str, source: str | None, text: str
) -> SavedDraft:
    """Keep a map as it is now in the place of its older state, which it holds itself.

    Parameters
    ----------
    work
        Transaction.
    one
        Id it was kept under; None for the first time. If it was deleted meanwhile a new one is
        made, so that what was deleted can still be brought back.
    name, source, text
        As in :class:`SavedDraft`.
    """
    columns = map_draft.c
    ids = select(columns.id).where(living(work, map_draft), columns.id == one)
    is_there = one is not None and work.connection.execute(ids).first() is not None
    made = SavedDraft(id=str(one) if is_there else new_id(), name=name, source=source, text=text)
    if is_there:
        drop_draft(work, made.id)
    add_draft(work, made)
    return made


def drop_draft(work: Work, one: str) -> None:
    """Remove a map whose changes were all taken back; there is nothing to bring back."""
    own = living(work, map_draft) & (map_draft.c.id == one)
    work.connection.execute(delete(map_draft).where(own))


def add_draft(work: Work, made: SavedDraft, *, made_by: str | None = None) -> None:
    """Insert a map being drawn."""
    add_thing(work, map_draft, made, made_by=made_by)
