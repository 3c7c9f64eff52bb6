"""An archive from outside, read with mistrust: bounded, checked, never unpacked to the disk."""

from __future__ import annotations

import hashlib
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from planner.errors import ArchiveError, StoreError
from planner.store.archive_layout import (
    ARCHIVE_FORMAT,
    GOLFERS,
    KINDS,
    MANIFEST,
    MAX_FILES,
    MAX_INDEX_BYTES,
    MAX_RATIO,
    MAX_TOTAL_BYTES,
    parse_json,
)

__all__ = ["Archive", "open_archive"]

MAX_SHOWN = 20
_SMALL = 1_000_000
"""Below this a file may shrink as it likes."""
_ENCRYPTED = 0x1
_FOLDERS = tuple(f"{kind.folder}/" for kind in KINDS)


class Archive:
    """An open archive whose names and sizes were found to be in order."""

    def __init__(self, zipped: zipfile.ZipFile, listed: dict[str, tuple[int, str]]) -> None:
        self._zipped = zipped
        self._listed = listed

    def __contains__(self, name: object) -> bool:
        return name in self._listed

    def content(self, name: str, *, max_bytes: int) -> bytes:
        """Bytes of a file.

        Raises
        ------
        StoreError
            It is not there, too large, or not what the manifest says.
        """
        if name not in self._listed:
            raise StoreError(f"{name}: is not in the archive")
        size, digest = self._listed[name]
        if size > max_bytes:
            raise StoreError(f"{name}: has {size:,} bytes; {max_bytes:,} are allowed")
        content = _bounded(self._zipped, name, size)
        if len(content) != size or hashlib.sha256(content).hexdigest() != digest:
            raise StoreError(f"{name}: is not what was exported; export again")
        return content

    def rows(self, name: str) -> list[Any]:
        """Items of a JSON list; none if the archive lacks it.

        Raises
        ------
        StoreError
            It is no JSON list.
        """
        if name not in self:
            return []
        found = parse_json(self.content(name, max_bytes=MAX_INDEX_BYTES), name)
        if not isinstance(found, list):
            raise StoreError(f"{name}: is no JSON list")
        return found


@contextmanager
def open_archive(path: Path) -> Iterator[Archive]:
    """Open an archive.

    Raises
    ------
    ArchiveError
        It is none, or holds what no export writes; names every such file.
    """
    try:
        with zipfile.ZipFile(path) as zipped:
            try:
                listed = _listed_files(zipped)
            except StoreError as error:
                raise ArchiveError(str(path), [str(error)]) from None
            problems = _odd_files(zipped, listed)
            if problems:
                raise ArchiveError(str(path), problems[:MAX_SHOWN])
            yield Archive(zipped, listed)
    except FileNotFoundError:
        raise ArchiveError(str(path), ["does not exist; check the path"]) from None
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise ArchiveError(str(path), [f"is no usable zip file: {error}"]) from None
    except OSError as error:
        raise ArchiveError(str(path), [f"cannot be read: {error.strerror}"]) from None


def _listed_files(zipped: zipfile.ZipFile) -> dict[str, tuple[int, str]]:
    """Size and SHA-256 by name, as the manifest says."""
    if len(zipped.infolist()) > MAX_FILES + 1:
        raise StoreError(f"has more than {MAX_FILES:,} files; planner wrote none such")
    if MANIFEST not in zipped.namelist():
        raise StoreError(f"has no {MANIFEST}; use a file of `planner store export`")
    content = _bounded(zipped, MANIFEST, MAX_INDEX_BYTES)
    manifest = parse_json(content, MANIFEST)
    if not isinstance(manifest, dict) or not isinstance(manifest.get("files"), list):
        raise StoreError(f"{MANIFEST}: names no files")
    if manifest.get("format") != ARCHIVE_FORMAT:
        raise StoreError(
            f"{MANIFEST}: format {manifest.get('format')!r:.40} is not known; this program reads "
            f"{ARCHIVE_FORMAT}; update planner"
        )
    listed = {}
    for one in manifest["files"]:
        match one:
            case {"name": str(name), "bytes": int(size), "sha256": str(digest)} if size >= 0:
                listed[name] = (size, digest)
            case _:
                raise StoreError(f"{MANIFEST}: {one!r:.80} names no file, size and SHA-256")
    return listed


def _odd_files(zipped: zipfile.ZipFile, listed: dict[str, tuple[int, str]]) -> list[str]:
    problems = []
    seen: set[str] = set()
    total = 0
    for entry in zipped.infolist():
        name = entry.filename
        total += entry.file_size
        shown = f"{name!r:.80}"
        if not _is_ours(name):
            problems.append(f"{shown} is no name of an exported file; remove it")
        elif name in seen:
            problems.append(f"{shown} is there twice")
        elif name != MANIFEST and name not in listed:
            problems.append(f"{shown} is not in {MANIFEST}; remove it")
        elif entry.flag_bits & _ENCRYPTED:
            problems.append(f"{shown} is encrypted; export again without a password")
        elif entry.file_size > max(_SMALL, MAX_RATIO * entry.compress_size):
            problems.append(f"{shown} grows more than {MAX_RATIO} times when unpacked")
        seen.add(name)
    problems += [f"{name!r:.80} is missing; export again" for name in sorted(set(listed) - seen)]
    if total > MAX_TOTAL_BYTES:
        problems.append(f"{total:,} bytes unpacked; {MAX_TOTAL_BYTES:,} are allowed")
    return problems


def _is_ours(name: str) -> bool:
    if name in (MANIFEST, GOLFERS, *(kind.index for kind in KINDS)):
        return True
    folder, _, file = name.partition("/")
    plain = file.replace("-", "").replace(".", "")
    return f"{folder}/" in _FOLDERS and plain.isalnum() and plain.isascii() and ".." not in file


def _bounded(zipped: zipfile.ZipFile, name: str, most: int) -> bytes:
    """Unpack at most ``most`` bytes, whatever the entry claims."""
    with zipped.open(name) as file:
        content = file.read(most + 1)
    if len(content) > most:
        raise StoreError(f"{name}: is larger than it says")
    return content
