"""Export: everything of an owner in one archive."""

from __future__ import annotations

import hashlib
import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from planner import __version__
from planner.errors import StoreError
from planner.store.archive_layout import (
    ARCHIVE_FORMAT,
    GOLFERS,
    KINDS,
    MANIFEST,
    MAX_FILES,
    MAX_INDEX_BYTES,
    MAX_RATIO,
    MAX_TOTAL_BYTES,
    ArchiveKind,
    course_ending,
    file_name,
    json_bytes,
    shots_to_csv,
)
from planner.store.bags import bags
from planner.store.courses import course_source, courses
from planner.store.drafts import drafts
from planner.store.golfers import golfers
from planner.store.opening import Work
from planner.store.plans import plans
from planner.store.record_json import to_json
from planner.store.records import (
    SavedBag,
    SavedCourse,
    SavedDraft,
    SavedPlan,
    SavedRound,
    SavedShotLog,
    SavedThing,
    now,
)
from planner.store.rounds import rounds
from planner.store.shots import shot_logs
from planner.store.whole_file import whole_file

__all__ = ["export_archive"]

_READERS: dict[type[SavedThing], Callable[[Work], Sequence[SavedThing]]] = {
    SavedBag: bags,
    SavedCourse: courses,
    SavedShotLog: shot_logs,
    SavedRound: rounds,
    SavedPlan: plans,
    SavedDraft: drafts,
}


def export_archive(work: Work, target: Path, *, overwrite: bool = False) -> dict[str, int]:
    """Write everything of the owner that is not deleted; how many of each kind.

    Raises
    ------
    StoreError
        The file is there already or cannot be written, or there is too much for an archive.
    """
    people = golfers(work)
    counts = {"golfers": len(people)}
    listed: list[dict[str, Any]] = []
    total = 0
    with (
        whole_file(target, overwrite=overwrite) as path,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive,
    ):

        def put(name: str, content: bytes, most: int = MAX_INDEX_BYTES) -> None:
            nonlocal total
            total += len(content)
            if total > MAX_TOTAL_BYTES or len(listed) >= MAX_FILES or len(content) > most:
                raise StoreError(
                    f"{target}: {name} is more than an archive can hold ({most:,} bytes in the "
                    f"file, {MAX_TOTAL_BYTES:,} and {MAX_FILES:,} files in all); make a backup "
                    "instead"
                )
            digest = hashlib.sha256(content).hexdigest()
            listed.append({"name": name, "bytes": len(content), "sha256": digest})
            _put(archive, name, content)

        put(GOLFERS, json_bytes([to_json(one) for one in people]))
        for kind in KINDS:
            index = []
            for thing, name, content in _files(work, kind):
                put(name, content, kind.max_bytes)
                index.append({**to_json(thing, without=kind.within), "file": name})
            counts[kind.index.removesuffix(".json")] = len(index)
            put(kind.index, json_bytes(index))
        manifest = {
            "format": ARCHIVE_FORMAT,
            "program": f"planner {__version__}",
            "made_at": now().isoformat(timespec="seconds"),
            "counts": counts,
            "files": listed,
        }
        _put(archive, MANIFEST, json_bytes(manifest))
    return counts


def _files(work: Work, kind: ArchiveKind) -> Iterator[tuple[SavedThing, str, bytes]]:
    for number, thing in enumerate(_READERS[kind.record](work), start=1):
        name, ending, content = _file_of(work, thing)
        yield thing, file_name(kind.folder, number, name, ending), content


def _file_of(work: Work, thing: Any) -> tuple[str, str, bytes]:
    """Name, ending and content of a thing's own file."""
    match thing:
        case SavedBag():
            return thing.name, "toml", thing.text.encode()
        case SavedCourse():
            return thing.name, course_ending(thing.file_name), course_source(work, thing)
        case SavedShotLog():
            return thing.name, "csv", shots_to_csv(thing.shots)
        case SavedRound():
            played = to_json(thing)
            return thing.name, "json", json_bytes({n: played[n] for n in ("holes", "shots")})
        case SavedPlan() | SavedDraft():
            return thing.name, "json", thing.text.encode()
    raise TypeError(f"no file for {type(thing).__name__}")


def _put(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    # One date for all: the same content gives the same bytes, and nothing is said of the user.
    entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
    entry.external_attr = 0o600 << 16
    shrinks = len(zlib.compress(content, 6)) * (MAX_RATIO // 2) > len(content)
    entry.compress_type = zipfile.ZIP_DEFLATED if shrinks else zipfile.ZIP_STORED
    archive.writestr(entry, content)
