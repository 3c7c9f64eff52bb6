"""Import: an archive into a store, all of it or nothing."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Table, select

from planner.errors import ArchiveError, BagFileError, StoreError
from planner.golfer.bag import bag_from_text
from planner.store import archive_layout
from planner.store.archive_layout import GOLFERS, KINDS, ArchiveKind, parse_json
from planner.store.archive_reading import MAX_SHOWN, Archive, open_archive
from planner.store.bags import add_bag, bags, clubs_of
from planner.store.courses import add_course, course_key, courses
from planner.store.drafts import add_draft, drafts
from planner.store.golfers import golfers
from planner.store.journal import hide, new_entry
from planner.store.opening import Work
from planner.store.plans import add_plan, plans
from planner.store.record_json import from_json
from planner.store.records import (
    RoundHole,
    RoundShot,
    SavedBag,
    SavedCourse,
    SavedDraft,
    SavedGolfer,
    SavedPlan,
    SavedRound,
    SavedShotLog,
    SavedThing,
    UndoEntry,
    new_id,
)
from planner.store.rounds import add_round, rounds
from planner.store.rows import add_thing
from planner.store.schema import bag, course, golfer, map_draft, plan, round_, shot_log
from planner.store.shots import add_shot_log, shot_logs

__all__ = ["ImportCounts", "import_archive"]

_TABLES: dict[type[SavedThing], Table] = {
    SavedBag: bag,
    SavedCourse: course,
    SavedShotLog: shot_log,
    SavedRound: round_,
    SavedPlan: plan,
    SavedDraft: map_draft,
}
_READERS: dict[type[SavedThing], Callable[[Work], Sequence[Any]]] = {
    SavedBag: bags,
    SavedCourse: courses,
    SavedShotLog: shot_logs,
    SavedRound: rounds,
    SavedPlan: plans,
    SavedDraft: drafts,
}
_ANY_TIME = datetime(2000, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class ImportCounts:
    """What an import did: things added, there already, and replaced."""

    added: int
    there: int
    replaced: int


def import_archive(work: Work, path: Path, *, replace: bool = False) -> ImportCounts:
    """Add what an archive holds to the owner's things.

    What is there already is left. A golfer of the same name is taken for the same golfer.

    Parameters
    ----------
    work
        Transaction; raising undoes what was added.
    path
        The archive.
    replace
        What has the same name and another content is replaced, which can be undone; otherwise it
        is a problem.

    Raises
    ------
    ArchiveError
        The archive cannot be used, or there are such things; names every one.
    """
    with open_archive(path) as archive:
        importing = _Importing(work, archive, replace=replace, name=path.name)
        importing.read_golfers()
        for kind in KINDS:
            importing.read_kind(kind)
    if importing.problems:
        shown = importing.problems[:MAX_SHOWN]
        if hidden := len(importing.problems) - len(shown):
            shown.append(f"and {hidden} more")
        raise ArchiveError(str(path), shown)
    return ImportCounts(importing.added, importing.there, importing.replaced)


class _Importing:
    def __init__(self, work: Work, archive: Archive, *, replace: bool, name: str) -> None:
        self.work = work
        self.archive = archive
        self.replace = replace
        self.name = name
        self.added = self.there = self.replaced = 0
        self.problems: list[str] = []
        self.golfer_ids: dict[str, str] = {}
        self.entry: UndoEntry | None = None

    def read_golfers(self) -> None:
        """Add golfers whose name is not there."""
        by_name = {one.name: one.id for one in golfers(self.work)}
        taken = self._ids(golfer)
        for number, row in enumerate(self._rows(GOLFERS), start=1):
            try:
                one = from_json(SavedGolfer, row, where=f"{GOLFERS}, {number}")
            except StoreError as error:
                self.problems.append(str(error))
                continue
            if one.id in self.golfer_ids:
                self.problems.append(f"{GOLFERS}, {number}: id {one.id} is there twice")
                continue
            if one.name in by_name:
                self.there += 1
            else:
                kept = dataclasses.replace(one, id=new_id()) if one.id in taken else one
                add_thing(self.work, golfer, kept)
                by_name[one.name] = kept.id
                taken.add(kept.id)
                self.added += 1
            self.golfer_ids[one.id] = by_name[one.name]

    def read_kind(self, kind: ArchiveKind) -> None:
        """Add the things of a kind that are not there."""
        living = _READERS[kind.record](self.work)
        there = {_identity(one): one for one in living}
        played = {_content(one) for one in living if isinstance(one, SavedRound)}
        taken = self._ids(_TABLES[kind.record])
        for number, row in enumerate(self._rows(kind.index), start=1):
            try:
                one, source = self._thing(kind, row, f"{kind.index}, {number}")
            except (StoreError, BagFileError) as error:
                self.problems.append(str(error))
                continue
            old = there.get(_identity(one))
            if (old is not None and _content(old) == _content(one)) or (
                isinstance(one, SavedRound) and _content(one) in played
            ):
                self.there += 1
                continue
            if old is not None and not self.replace:
                self.problems.append(
                    f"{kind.index}, {number}: another {_words(one)} is in the store; delete that "
                    "one or import with --replace (either can be undone)"
                )
                continue
            if old is not None:
                hide(self.work, _TABLES[kind.record], old.id, self._undo_entry())
                self.replaced += 1
            else:
                self.added += 1
            if one.id in taken:
                one = dataclasses.replace(one, id=new_id())
            taken.add(one.id)
            there[_identity(one)] = one
            made_by = self.entry.id if old is not None and self.entry is not None else None
            _add(self.work, one, source, made_by=made_by)

    def _undo_entry(self) -> UndoEntry:
        if self.entry is None:
            self.entry = new_entry(self.work, f"replacing by import of {self.name[:100]}")
        return self.entry

    def _rows(self, index: str) -> list[Any]:
        try:
            return self.archive.rows(index)
        except StoreError as error:
            self.problems.append(str(error))
            return []

    def _ids(self, table: Table) -> set[str]:
        query = select(table.c.id).where(table.c.owner == self.work.owner)
        return set(self.work.connection.execute(query).scalars())

    def _thing(self, kind: ArchiveKind, row: Any, where: str) -> tuple[Any, bytes]:
        """A thing, and the bytes of its own file."""
        if not isinstance(row, dict) or not isinstance(row.get("file"), str):
            raise StoreError(f"{where}: names no file")
        head = {name: value for name, value in row.items() if name != "file"}
        if "golfer_id" in head:
            head["golfer_id"] = self.golfer_ids.get(str(head["golfer_id"]), "")
            if not head["golfer_id"]:
                raise StoreError(f"{where}: belongs to no golfer of {GOLFERS}")
        content = self.archive.content(row["file"], max_bytes=kind.max_bytes)
        if odd := set(head) & set(kind.within):
            raise StoreError(f"{where}: {', '.join(sorted(odd))} is unknown")
        given = _within(kind.record, content, row["file"])
        return from_json(kind.record, head, where=where, **given), content


def _within(kind: type[SavedThing], content: bytes, where: str) -> dict[str, Any]:
    """Fields that stand in a thing's own file."""
    if kind is SavedCourse:
        return {"key": course_key(content)}
    if kind is SavedShotLog:
        return {"shots": archive_layout.shots_from_csv(content, where)}
    try:
        text = content.decode()
    except UnicodeDecodeError:
        raise StoreError(f"{where}: is not UTF-8 text") from None
    if kind is SavedBag:
        return {"text": text, "clubs": clubs_of(bag_from_text(text, source=where))}
    found = parse_json(content, where)
    if not isinstance(found, dict):
        raise StoreError(f"{where}: is no JSON object")
    if kind in (SavedPlan, SavedDraft):
        return {"text": text}
    lists = {}
    for name, record in (("holes", RoundHole), ("shots", RoundShot)):
        rows = found.get(name)
        if not isinstance(rows, list):
            raise StoreError(f"{where}: {name} is no list")
        lists[name] = tuple(
            from_json(record, row, where=f"{where}, {name} {number}")
            for number, row in enumerate(rows, start=1)
        )
    return lists


def _add(work: Work, one: Any, source: bytes, *, made_by: str | None) -> None:
    match one:
        case SavedBag():
            add_bag(work, one, made_by=made_by)
        case SavedCourse():
            add_course(work, one, source)
        case SavedShotLog():
            add_shot_log(work, one, made_by=made_by)
        case SavedRound():
            add_round(work, one, made_by=made_by)
        case SavedPlan():
            add_plan(work, one, made_by=made_by)
        case SavedDraft():
            add_draft(work, one, made_by=made_by)


def _identity(one: Any) -> tuple[object, ...]:
    """What makes two things the same one."""
    match one:
        case SavedCourse():
            return (one.key,)
        case SavedRound() | SavedDraft():
            return (one.id,)
    return (one.golfer_id, one.name)


def _content(one: Any) -> Any:
    """A thing without what differs from store to store; a map is its bytes, however called."""
    if isinstance(one, SavedCourse):
        return one.key
    return dataclasses.replace(one, id="-", saved_at=_ANY_TIME)


def _words(one: Any) -> str:
    kind = {
        SavedBag: "bag",
        SavedShotLog: "shot log",
        SavedRound: "round",
        SavedPlan: "plan",
        SavedDraft: "draft",
    }
    return f'{kind[type(one)]} "{one.name}"'
