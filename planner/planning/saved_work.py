"""What a person keeps: files into a store and out of it again."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

import numpy as np

from planner.course.hole import Course
from planner.course.reading import read_course
from planner.errors import InputFileError, OptionError, StoreError
from planner.golfer.bag import Bag, bag_from_text, bag_text
from planner.golfer.shot_log import ShotLog
from planner.golfer.shot_log_reading import read_shot_log
from planner.golfer.shot_log_reference import ShotLogReference, log_file
from planner.planning.bag_reading import bag_with_log, read_log
from planner.store.archive_layout import course_ending, json_bytes, shots_to_csv
from planner.store.archive_writing import export_archive
from planner.store.bags import bags, save_bag
from planner.store.courses import course_source, courses, save_course
from planner.store.drafts import drafts
from planner.store.golfers import golfers, save_golfer
from planner.store.importing import ImportCounts, import_archive
from planner.store.journal import undo, undo_entries
from planner.store.listing import KIND_NAMES, Listed, delete_listed, find_listed, list_things
from planner.store.opening import LOCAL_OWNER, Store
from planner.store.plans import plans, save_plan
from planner.store.record_json import to_json
from planner.store.records import SavedBag, SavedCourse, SavedPlan, SavedShot, UndoEntry
from planner.store.rounds import rounds
from planner.store.shots import save_shots, shot_logs
from planner.units import DistanceUnit

__all__ = [
    "SavedFile",
    "content_of",
    "delete_saved",
    "export_to",
    "import_from",
    "keep_bag",
    "keep_course",
    "keep_plan",
    "kept_bags",
    "kept_courses",
    "kept_plans",
    "list_saved",
    "open_bag",
    "open_course",
    "save_file",
    "saved_shots",
    "shots_of_log",
    "undo_last",
    "undoable",
]

MAX_PLAN_BYTES = 50_000_000
_KINDS = {
    ".toml": "bag",
    ".geojson": "course",
    ".osm": "course",
    ".xml": "course",
    ".csv": "shots",
    ".tsv": "shots",
    ".txt": "shots",
}


@dataclass(frozen=True)
class SavedFile:
    """What became of a file: kind and name in the store, and a line for each row left out."""

    kind: str
    name: str
    left_out: tuple[str, ...] = ()


def save_file(
    store: Store,
    path: Path,
    *,
    owner: str = LOCAL_OWNER,
    golfer: str | None = None,
    name: str | None = None,
    club: str = "",
    unit: DistanceUnit | None = None,
) -> SavedFile:
    """Save a bag, course map, shot log or plan file.

    Parameters
    ----------
    store
        Open store.
    path
        The file: ``.toml`` is a bag, ``.geojson`` and ``.osm`` are maps, ``.csv`` are shots and
        ``.json`` is a plan or a map. The shot log that a bag names is saved with it.
    owner
        Whose it is.
    golfer
        Who hit the shots; needed for them only.
    name
        Name of the shots or the plan; the file's, and course and tees, if None.
    club
        Club of shots whose log names none.
    unit
        Unit of shots whose headings name none.

    Raises
    ------
    InputFileError
        The file cannot be used.
    OptionError
        The ending is unknown, or the golfer of shots is missing.
    StoreError
        It cannot be saved; nothing was.
    """
    kind = _KINDS.get(path.suffix.lower())
    plan = _plan_in(path) if path.suffix.lower() == ".json" else None
    if plan is not None:
        with store.writing(owner) as work:
            return SavedFile("plan", save_plan(work, plan, name=name).name)
    if kind == "bag":
        text = bag_text(path)
        named = bag_from_text(text, source=str(path)).shot_log
        with store.writing(owner) as work:
            kept_bag = save_bag(work, text, source=str(path), name=path.stem)
            if named is not None:
                reading = read_log(named, log_file(named, path))
                shots = shots_of_log(reading.log, club=named.club)
                save_shots(work, kept_bag.golfer_id, PurePosixPath(named.file).stem, shots)
            return SavedFile(kind, kept_bag.name)
    if kind == "course" or path.suffix.lower() == ".json":
        course = read_course(path)
        source = path.read_bytes()
        with store.writing(owner) as work:
            kept = save_course(work, source, name=course.name, file_name=path.name)
            return SavedFile("course", kept.name)
    if kind == "shots":
        if golfer is None:
            raise OptionError(f"{path}: whose shots are these? add --golfer NAME")
        reading = read_shot_log(path, unit=unit)
        shots = shots_of_log(reading.log, club=club)
        with store.writing(owner) as work:
            one = save_golfer(work, golfer)
            log = save_shots(work, one.id, name or path.stem, shots)
            return SavedFile(kind, log.name, tuple(map(str, reading.rejected)))
    known = ", ".join([*_KINDS, ".json"])
    raise OptionError(f"{path}: what is it? planner saves files that end in {known}")


def shots_of_log(log: ShotLog, *, club: str = "") -> tuple[SavedShot, ...]:
    """Shots of a log as they are saved; ``club`` where the log names none.

    Raises
    ------
    OptionError
        Neither names the club.
    """
    unnamed = [int(row) for row, label in zip(log.row, log.club, strict=True) if not label]
    if unnamed and not club:
        raise OptionError(f"row {unnamed[0]} names no club; add --club")
    return tuple(
        SavedShot(
            club=log.club[i] or club,
            source_row=int(log.row[i]),
            carry_m=float(log.carry_m[i]),
            offline_m=float(log.offline_m[i]),
            total_m=float(log.total_m[i]) if np.isfinite(log.total_m[i]) else None,
            lie=lie.words if (lie := log.lie[i]) is not None else None,
            outcome=log.outcome[i] or None,
            date=log.date[i] or None,
        )
        for i in range(len(log))
    )


def list_saved(
    store: Store, kinds: tuple[str, ...] = (), *, owner: str = LOCAL_OWNER
) -> list[Listed]:
    """Everything saved, or the kinds named.

    Raises
    ------
    OptionError
        A kind is unknown.
    """
    for kind in kinds:
        _check_kind(kind)
    with store.reading(owner) as work:
        return list_things(work, kinds or KIND_NAMES)


def content_of(
    store: Store,
    kind: str,
    called: str,
    *,
    owner: str = LOCAL_OWNER,
    golfer: str | None = None,
) -> tuple[str, bytes]:
    """Ending and bytes of the file that holds a saved thing.

    Raises
    ------
    OptionError
        The kind is unknown or has no file.
    StoreError
        There is no such thing, or several.
    """
    _check_kind(kind)
    with store.reading(owner) as work:
        one = find_listed(work, kind, called, golfer)
        if kind == "bag":
            return "toml", _by_id(bags(work), one).text.encode()
        if kind == "plan":
            return "json", _by_id(plans(work), one).text.encode()
        if kind == "shots":
            return "csv", shots_to_csv(_by_id(shot_logs(work), one).shots)
        if kind == "round":
            return "json", json_bytes(to_json(_by_id(rounds(work), one)))
        if kind == "course":
            course = _by_id(courses(work), one)
            return course_ending(course.file_name), course_source(work, course)
        if kind == "draft":
            # What draws maps is loaded where one is asked for only.
            from planner.planning.map_drafts import draft_of, latest_map

            return "geojson", latest_map(draft_of(_by_id(drafts(work), one).text))
    raise OptionError("a golfer is no file; get his bags, shots, rounds and plans")


def open_bag(
    store: Store, called: str, *, owner: str = LOCAL_OWNER, golfer: str | None = None
) -> Bag:
    """Read a saved bag; the shot log it names is taken from the golfer's saved shots.

    Raises
    ------
    StoreError
        There is no such bag, or several.
    """
    text = content_of(store, "bag", called, owner=owner, golfer=golfer)[1].decode()
    bag = bag_from_text(text, source=f"saved bag {called}", name=called)
    if bag.shot_log is None:
        return bag
    stem = PurePosixPath(bag.shot_log.file).stem
    found = saved_shots(store, bag.golfer.name, stem, owner=owner)
    if found is None:
        return bag
    how = ShotLogReference(bag.shot_log.file)
    return bag_with_log(bag, how, found[1], source=f"saved shots {stem}")


def keep_bag(store: Store, text: str, *, source: str, owner: str = LOCAL_OWNER) -> SavedBag:
    """Save the text of a bag file; of the same golfer and name the older one is replaced.

    Raises
    ------
    InputFileError
        The text is no usable bag.
    StoreError
        It cannot be saved; nothing was.
    """
    with store.writing(owner) as work:
        return save_bag(work, text, source=source)


def kept_bags(store: Store, *, owner: str = LOCAL_OWNER) -> list[SavedBag]:
    """Every saved bag, oldest first."""
    with store.reading(owner) as work:
        return bags(work)


def keep_course(
    store: Store, source: bytes, *, name: str, file_name: str, owner: str = LOCAL_OWNER
) -> SavedCourse:
    """Save a map; one with the same bytes is kept as it is.

    Raises
    ------
    StoreError
        It cannot be saved; nothing was.
    """
    with store.writing(owner) as work:
        return save_course(work, source, name=name, file_name=file_name)


def kept_courses(store: Store, *, owner: str = LOCAL_OWNER) -> list[tuple[SavedCourse, bytes]]:
    """Every saved map with its bytes, oldest first."""
    with store.reading(owner) as work:
        return [(one, course_source(work, one)) for one in courses(work)]


def keep_plan(
    store: Store, content: Mapping[str, Any], *, name: str | None, owner: str = LOCAL_OWNER
) -> SavedPlan:
    """Save a plan under a name; of the same golfer and name the older one is replaced.

    Raises
    ------
    StoreError
        It cannot be saved; nothing was.
    """
    with store.writing(owner) as work:
        return save_plan(work, content, name=name)


def kept_plans(store: Store, *, owner: str = LOCAL_OWNER) -> list[SavedPlan]:
    """Every saved plan, oldest first."""
    with store.reading(owner) as work:
        return plans(work)


def saved_shots(
    store: Store, golfer: str, called: str | None = None, *, owner: str = LOCAL_OWNER
) -> tuple[str, bytes] | None:
    """Name and table of the shots saved for a golfer, those ``called`` so or else the latest.

    None if there are none.
    """
    with store.reading(owner) as work:
        ids = [one.id for one in golfers(work) if one.name == golfer]
        logs = [log for one in ids for log in shot_logs(work, one)]
    found = [log for log in logs if called is None or log.name == called]
    return (found[-1].name, shots_to_csv(found[-1].shots)) if found else None


def open_course(store: Store, called: str, *, owner: str = LOCAL_OWNER) -> Course:
    """Read a saved course.

    Raises
    ------
    StoreError
        There is no such course, or several.
    """
    with store.reading(owner) as work:
        one = find_listed(work, "course", called)
        course = _by_id(courses(work), one)
        source = course_source(work, course)
    # Readers take a missing title from the file's name; of an imported one nothing is trusted.
    ending = course_ending(course.file_name)
    stem = PurePosixPath(course.file_name.replace("\\", "/")).stem.strip(". ")[:100] or "course"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{stem}.{ending}"
        path.write_bytes(source)
        return read_course(path)


def delete_saved(
    store: Store,
    kind: str,
    called: str,
    *,
    owner: str = LOCAL_OWNER,
    golfer: str | None = None,
) -> Listed:
    """Delete a saved thing so that it can be undone; a golfer with all that belongs to him.

    Raises
    ------
    OptionError
        The kind is unknown.
    StoreError
        There is no such thing, or several.
    """
    _check_kind(kind)
    with store.writing(owner) as work:
        one = find_listed(work, kind, called, golfer)
        delete_listed(work, one)
    return one


def undoable(store: Store, *, owner: str = LOCAL_OWNER) -> list[UndoEntry]:
    """What can be undone, the next one first."""
    with store.reading(owner) as work:
        return undo_entries(work)


def undo_last(store: Store, *, owner: str = LOCAL_OWNER) -> UndoEntry:
    """Undo the last delete or replacement that was not undone.

    Raises
    ------
    StoreError
        There is nothing to undo.
    """
    with store.writing(owner) as work:
        return undo(work)


def export_to(
    store: Store, path: Path, *, owner: str = LOCAL_OWNER, overwrite: bool = False
) -> dict[str, int]:
    """Write everything into an archive; how many of each kind.

    Raises
    ------
    StoreError
        The file is there already or cannot be written.
    """
    with store.reading(owner) as work:
        return export_archive(work, path, overwrite=overwrite)


def import_from(
    store: Store, path: Path, *, owner: str = LOCAL_OWNER, replace: bool = False
) -> ImportCounts:
    """Add what an archive holds, all of it or nothing.

    Raises
    ------
    ArchiveError
        The archive cannot be used, or clashes with what is there.
    """
    with store.writing(owner) as work:
        return import_archive(work, path, replace=replace)


def _check_kind(kind: str) -> None:
    if kind not in KIND_NAMES:
        raise OptionError(f'"{kind}" is not kept; choose one of {", ".join(KIND_NAMES)}')


def _by_id(there: list[Any], one: Listed) -> Any:
    for thing in there:
        if thing.id == one.id:
            return thing
    raise StoreError(f'{one.kind} "{one.name}" is not saved any more')


def _plan_in(path: Path) -> dict[str, Any] | None:
    """Plan of a JSON file, or None if it is something else, such as a map."""
    try:
        if path.stat().st_size > MAX_PLAN_BYTES:
            return None
        found = json.loads(path.read_bytes())
    except OSError as error:
        raise InputFileError(str(path), [f"cannot be read: {error.strerror}"]) from None
    except (ValueError, RecursionError):
        return None
    is_plan = isinstance(found, dict) and "key" in found and "holes" in found
    return found if is_plan else None
