"""Write a file as a whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from planner.errors import StoreError

__all__ = ["sync_folder", "temporary_beside", "whole_file"]


@contextmanager
def whole_file(target: Path, *, overwrite: bool = False) -> Iterator[Path]:
    """Fill the path given instead of ``target``; it takes its place once it is complete.

    Raises
    ------
    StoreError
        There is such a file and it may not be overwritten, or it cannot be written.
    """
    if target.exists() and not overwrite:
        raise StoreError(f"{target}: is there already; name another file or add --overwrite")
    try:
        with temporary_beside(target) as path:
            yield path
            sync_file(path)
            os.replace(path, target)
        sync_folder(target.parent)
    except OSError as error:
        raise StoreError(
            f"{target}: cannot be written: {error.strerror}; nothing was left behind"
        ) from error


@contextmanager
def temporary_beside(target: Path) -> Iterator[Path]:
    """Empty file in the folder of ``target`` that only its owner can read; removed at the end."""
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:100]}.", dir=target.parent)
    os.close(handle)
    path = Path(name)
    try:
        yield path
    finally:
        # SQLite may have left its journals beside it.
        for leftover in (path, *(Path(f"{name}{end}") for end in ("-wal", "-shm", "-journal"))):
            leftover.unlink(missing_ok=True)


def sync_file(path: Path) -> None:
    """Wait until a file's content is on the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Wait until a folder's names are on the disk, where the system can do that."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
