"""Room for uploaded files on a public page: so much for each person and for all.

The server keeps what is uploaded in memory until the tab is closed, one file after another, and
takes it from anybody who has a connection. Here it takes it from visitors who were let in only, and
where a person or all have no room left, older files of whoever holds most make room.
"""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable

from streamlit import runtime
from streamlit.runtime.memory_uploaded_file_manager import MemoryUploadedFileManager
from streamlit.runtime.scriptrunner import get_script_run_ctx
from streamlit.runtime.uploaded_file_manager import UploadedFileRec

__all__ = ["MOST_MB", "MOST_MB_IN_ALL", "UploadRoom", "let_in_here"]

MOST_MB, MOST_MB_IN_ALL = 150, 2000
"""Of one person, in all his tabs, and of all [MB]; the largest of each kind of file are 63 MB."""
MOST_FILES = 40
"""Of one person: small files take room too."""
_BYTES = 1_000_000
_ROOM = "planner_room"


class UploadRoom:
    """Bounds what a server's manager of uploaded files keeps.

    Parameters
    ----------
    manager
        Manager whose ``add_file`` goes through this from now on.
    is_active
        Whether a session still exists.
    most_mb, most_mb_in_all
        Bounds for each person and for all [MB].
    """

    def __init__(
        self,
        manager: MemoryUploadedFileManager,
        is_active: Callable[[str], bool],
        *,
        most_mb: float = MOST_MB,
        most_mb_in_all: float = MOST_MB_IN_ALL,
    ) -> None:
        self._manager, self._is_active = manager, is_active
        self._most, self._most_in_all = most_mb * _BYTES, most_mb_in_all * _BYTES
        self._lock = threading.Lock()
        self._owners: dict[str, str] = {}
        # In the order of uploading: session, file and size.
        self._kept: dict[tuple[str, str], int] = {}
        self._add = manager.add_file
        setattr(manager, "add_file", self.add_file)  # noqa: B010 - a method, to its type

    def let_in(self, session: str, owner: str) -> None:
        """Take files of a session from now on."""
        with self._lock:
            if session not in self._owners:
                gone = [one for one in self._owners if not self._is_active(one)]
                for one in gone:
                    del self._owners[one]
            self._owners[session] = owner

    def add_file(self, session_id: str, file: UploadedFileRec) -> None:
        """Keep a file if its session was let in and its person has room for it."""
        with self._lock:
            owner = self._owners.get(session_id)
            if owner is None or len(file.data) > self._most:
                return
            self._add(session_id, file)
            self._kept.pop((session_id, file.file_id), None)
            self._kept[session_id, file.file_id] = len(file.data)
            self._forget_removed()
            self._make_room()

    def _forget_removed(self) -> None:
        for session, one in list(self._kept):
            if not self._manager.get_files(session, [one]):
                del self._kept[session, one]

    def _make_room(self) -> None:
        while True:
            held, files = Counter[str](), Counter[str]()
            for (session, _), size in self._kept.items():
                held[self._owners.get(session, "")] += size
                files[self._owners.get(session, "")] += 1
            if not held:
                return
            most, size = held.most_common(1)[0]
            many, count = files.most_common(1)[0]
            if size > self._most or held.total() > self._most_in_all:
                owner = most
            elif count > MOST_FILES:
                owner = many
            else:
                return
            session, one = next(key for key in self._kept if self._owners.get(key[0], "") == owner)
            self._manager.remove_file(session, one)
            del self._kept[session, one]


def let_in_here(owner: str) -> None:
    """Take files of the session that runs now, which is this owner's."""
    context = get_script_run_ctx()
    if context is None or not runtime.exists():
        return
    server = runtime.get_instance()
    manager = server.uploaded_file_mgr
    if not isinstance(manager, MemoryUploadedFileManager):
        return
    with _MAKING:
        room = getattr(manager, _ROOM, None)
        if not isinstance(room, UploadRoom):
            room = UploadRoom(manager, server.is_active_session)
            setattr(manager, _ROOM, room)
    room.let_in(context.session_id, owner)


_MAKING = threading.Lock()
