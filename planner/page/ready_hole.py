"""The hole that is shown first, kept on the disk: a server that starts again need not solve it.

It is the demo's, so nothing of a person's is in it. What is read was written by this very program:
the file's name holds a digest of the source that decides a plan, and a folder that anybody else
could write into is not read, since a pickle can hold whatever its writer likes.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import stat
import zlib
from pathlib import Path

import numpy as np

from planner.errors import StoreError
from planner.planning.batch import program_digest
from planner.planning.hole_desk import HoleDesk
from planner.store.location import cache_folder
from planner.store.whole_file import whole_file

__all__ = ["keep_ready", "kept_ready"]

LEVEL = 1
"""Of zlib: a seventh of the size in a third of a second; better takes far longer for little."""
BROKEN = (
    OSError,
    zlib.error,
    pickle.UnpicklingError,
    EOFError,
    AttributeError,
    ImportError,
    IndexError,
    TypeError,
    ValueError,
)
"""What a damaged file makes reading it raise."""


def kept_ready(key: str) -> HoleDesk | None:
    """Hole kept under a key by this version of the program; None if there is none to be trusted."""
    path = _path(key)
    try:
        if not _is_own(path.parent) or not _is_own(path):
            return None
        found = pickle.loads(zlib.decompress(path.read_bytes()))
    except BROKEN:
        return None
    return found if isinstance(found, HoleDesk) else None


def keep_ready(key: str, desk: HoleDesk) -> None:
    """Keep a hole instead of those kept before; where the disk does not let us, nothing is kept."""
    path = _path(key)
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not _is_own(path.parent):
            return
        content = zlib.compress(pickle.dumps(desk, pickle.HIGHEST_PROTOCOL), LEVEL)
        # Of older versions, and what was left where a server was ended while it wrote.
        for old in path.parent.iterdir():
            old.unlink(missing_ok=True)
        with whole_file(path, overwrite=True) as beside:
            beside.write_bytes(content)
    except (OSError, StoreError):
        return


def _path(key: str) -> Path:
    parts = (program_digest(), np.__version__, key)
    digest = hashlib.sha256("\0".join(parts).encode()).hexdigest()
    return cache_folder() / "first hole" / f"{digest[:32]}.hole"


def _is_own(path: Path) -> bool:
    """Whether nobody else can have written it; on Windows the user's folder sees to that."""
    if os.name == "nt":
        return True
    found = path.stat()
    return found.st_uid == os.getuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
