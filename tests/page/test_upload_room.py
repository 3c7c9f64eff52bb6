from __future__ import annotations

import pytest
from streamlit.runtime.memory_uploaded_file_manager import MemoryUploadedFileManager
from streamlit.runtime.uploaded_file_manager import UploadedFileRec

from planner.page import upload_room
from planner.page.upload_room import UploadRoom

MEGABYTE = bytes(1_000_000)


@pytest.fixture
def manager() -> MemoryUploadedFileManager:
    return MemoryUploadedFileManager("/upload")


@pytest.fixture
def room(manager: MemoryUploadedFileManager) -> UploadRoom:
    return UploadRoom(manager, lambda session: True, most_mb=3, most_mb_in_all=5)


def put(manager: MemoryUploadedFileManager, session: str, *files: str, size: int = 1) -> None:
    for one in files:
        manager.add_file(session, UploadedFileRec(one, one, "", MEGABYTE * size))


def held(manager: MemoryUploadedFileManager, session: str) -> list[str]:
    return list(manager.file_storage.get(session, {}))


@pytest.mark.usefixtures("room")
def test_nothing_is_taken_from_who_was_not_let_in(manager: MemoryUploadedFileManager) -> None:
    put(manager, "stranger", "a")
    assert held(manager, "stranger") == []


def test_a_persons_older_files_make_room_in_all_his_tabs(
    manager: MemoryUploadedFileManager, room: UploadRoom
) -> None:
    room.let_in("tab 1", "odile")
    room.let_in("tab 2", "odile")
    room.let_in("tab 3", "bram")
    put(manager, "tab 3", "x")
    put(manager, "tab 1", "a", "b")
    put(manager, "tab 2", "c", "d")
    assert held(manager, "tab 1") == ["b"]
    assert held(manager, "tab 2") == ["c", "d"]
    assert held(manager, "tab 3") == ["x"]


def test_who_holds_most_makes_room_for_all(
    manager: MemoryUploadedFileManager, room: UploadRoom
) -> None:
    for name, count in (("odile", 1), ("bram", 3), ("wren", 1)):
        room.let_in(name, name)
        put(manager, name, *(f"{name} {number}" for number in range(count)))
    put(manager, "wren", "one more")
    assert len(held(manager, "odile")) == 1
    assert len(held(manager, "bram")) == 2
    assert len(held(manager, "wren")) == 2


def test_a_file_that_was_replaced_or_removed_takes_no_room(
    manager: MemoryUploadedFileManager, room: UploadRoom
) -> None:
    room.let_in("tab", "odile")
    put(manager, "tab", "a", "b", "a", "a", "b")
    assert held(manager, "tab") == ["a", "b"]
    manager.remove_file("tab", "a")
    put(manager, "tab", "c", "d")
    assert held(manager, "tab") == ["b", "c", "d"]


def test_one_file_that_is_too_large_is_not_kept(
    manager: MemoryUploadedFileManager, room: UploadRoom
) -> None:
    room.let_in("tab", "odile")
    put(manager, "tab", "a")
    put(manager, "tab", "large", size=4)
    assert held(manager, "tab") == ["a"]


def test_many_small_files_are_bounded(
    manager: MemoryUploadedFileManager, room: UploadRoom, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(upload_room, "MOST_FILES", 5)
    room.let_in("tab", "odile")
    put(manager, "tab", *map(str, range(9)), size=0)
    assert held(manager, "tab") == ["4", "5", "6", "7", "8"]


def test_sessions_that_are_gone_are_forgotten(manager: MemoryUploadedFileManager) -> None:
    there = {"tab 1"}
    room = UploadRoom(manager, there.__contains__)
    room.let_in("tab 1", "odile")
    there.clear()
    room.let_in("tab 2", "bram")
    put(manager, "tab 1", "a")
    assert held(manager, "tab 1") == []
