"""What is kept, in short, and finding a thing by what a person calls it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Table, func, select

from planner.errors import StoreError
from planner.store.bags import bags
from planner.store.courses import courses
from planner.store.drafts import drafts
from planner.store.golfers import golfers
from planner.store.journal import delete_thing
from planner.store.opening import Work
from planner.store.plans import plans
from planner.store.rounds import rounds
from planner.store.rows import legible, living
from planner.store.schema import bag, course, golfer, map_draft, plan, round_, shot, shot_log

__all__ = ["KIND_NAMES", "Listed", "delete_listed", "find_listed", "list_things"]

SHORTEST_ID = 4
"""Fewest characters of an id that stand for it."""
_TABLES: dict[str, Table] = {
    "golfer": golfer,
    "bag": bag,
    "course": course,
    "shots": shot_log,
    "round": round_,
    "plan": plan,
    "draft": map_draft,
}
KIND_NAMES = tuple(_TABLES)
"""What can be saved, in the words of the command line."""


@dataclass(frozen=True)
class Listed:
    """A saved thing in short."""

    kind: str
    id: str
    name: str
    golfer: str
    detail: str
    saved_at: datetime


def list_things(work: Work, kinds: tuple[str, ...] = KIND_NAMES) -> list[Listed]:
    """Everything of the owner that is not deleted, by kind and age.

    Raises
    ------
    StoreError
        The store is damaged.
    """
    with legible():
        return _listed(work, kinds)


def _listed(work: Work, kinds: tuple[str, ...]) -> list[Listed]:
    names = {one.id: one.name for one in golfers(work)}
    lists: dict[str, Callable[[], list[Listed]]] = {
        "golfer": lambda: [
            Listed("golfer", one.id, one.name, one.name, "", one.saved_at) for one in golfers(work)
        ],
        "bag": lambda: [
            Listed(
                "bag",
                one.id,
                one.name,
                names[one.golfer_id],
                f"{sum(club.carried for club in one.clubs)} of {len(one.clubs)} clubs carried",
                one.saved_at,
            )
            for one in bags(work)
        ],
        "course": lambda: [
            Listed("course", one.id, one.name, "", one.file_name, one.saved_at)
            for one in courses(work)
        ],
        "shots": lambda: _shot_logs(work, names),
        "round": lambda: [
            Listed(
                "round",
                one.id,
                one.name,
                names[one.golfer_id],
                f"{len(one.holes)} holes" + (f", {one.strokes} strokes" if one.strokes else ""),
                one.saved_at,
            )
            for one in rounds(work)
        ],
        "plan": lambda: [
            Listed("plan", one.id, one.name, names[one.golfer_id], one.key, one.saved_at)
            for one in plans(work)
        ],
        "draft": lambda: [
            Listed("draft", one.id, one.name, "", "map being drawn", one.saved_at)
            for one in drafts(work)
        ],
    }
    return [one for kind in kinds for one in lists[kind]()]


def find_listed(work: Work, kind: str, called: str, golfer_name: str | None = None) -> Listed:
    """Thing of a kind by its name, or by the first characters of its id.

    Raises
    ------
    StoreError
        None fits or several do; the text names them.
    """
    there = [
        one
        for one in list_things(work, (kind,))
        if golfer_name is None or one.golfer == golfer_name
    ]
    fitting = [one for one in there if one.name == called]
    fitting = fitting or [one for one in there if one.name.casefold() == called.casefold()]
    if not fitting and len(called) >= SHORTEST_ID:
        fitting = [one for one in there if one.id.startswith(called)]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        shown = ", ".join(f"{one.id[:8]} ({one.golfer or one.detail})" for one in fitting)
        raise StoreError(f'several are called {kind} "{called}"; give the id instead: {shown}')
    shown = ", ".join(f'"{one.name}"' for one in there) or "none"
    raise StoreError(f'no {kind} "{called}" is saved; there are: {shown}')


def delete_listed(work: Work, one: Listed) -> None:
    """Delete a thing so that it can be undone."""
    delete_thing(work, _TABLES[one.kind], one.id, f'deleting {one.kind} "{one.name}"')


def _shot_logs(work: Work, names: dict[str, str]) -> list[Listed]:
    columns = shot_log.c
    counted = (
        select(
            columns.id, columns.name, columns.golfer_id, columns.saved_at, func.count(shot.c.club)
        )
        .select_from(
            shot_log.outerjoin(
                shot, (shot.c.owner == columns.owner) & (shot.c.shot_log_id == columns.id)
            )
        )
        .where(living(work, shot_log))
        .group_by(columns.id, columns.name, columns.golfer_id, columns.saved_at)
        .order_by(columns.saved_at, columns.id)
    )
    return [
        Listed("shots", one, name, names[golfer_id], f"{count:,} shots", saved_at)
        for one, name, golfer_id, saved_at, count in work.connection.execute(counted)
    ]
