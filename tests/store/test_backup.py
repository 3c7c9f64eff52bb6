"""Backup while others write, restore of a checked copy only, and nothing lost on the way."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import stat
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from planner.errors import StoreError
from planner.store import backup
from planner.store.backup import back_up, check_store, kept_before_restore, restore
from planner.store.golfers import save_golfer
from planner.store.location import locate
from planner.store.opening import Store, open_store
from planner.store.shots import save_shots

from .builders import GOLFER, NOTHING, contents, fill, shots
from .postgres_server import PostgresServer


def test_backup_and_restore(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    before = contents(file_store)
    copy = tmp_path / "copy.sqlite"
    back_up(file_store, copy)
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    fill(file_store, golfer="Later Golfer")
    after = contents(file_store)
    kept = restore(file_store.location, copy)
    # The open store sees what was restored, and so does a new one.
    assert contents(file_store) == before
    with open_store(file_store.location) as again:
        assert contents(again) == before
        check_store(again)
    assert kept == kept_before_restore(tmp_path / "store.sqlite")
    with open_store(kept) as old:
        assert contents(old) == after
    restore(file_store.location, kept)
    assert contents(file_store) == after


def test_backup_is_one_file_that_others_can_read(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    back_up(file_store, tmp_path / "copy.sqlite")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["copy.sqlite", "store.sqlite"]
    with sqlite3.connect(f"{(tmp_path / 'copy.sqlite').as_uri()}?mode=ro", uri=True) as connection:
        assert connection.execute("SELECT name FROM golfer").fetchall() == [(GOLFER,)]
    connection.close()


def test_backup_holds_whole_saves_only(file_store: Store, tmp_path: Path) -> None:
    """A writer saves ten shots at a time; every backup has a multiple of ten."""
    stop = threading.Event()
    saved: list[int] = []

    def write() -> None:
        while not stop.is_set():
            with file_store.writing() as work:
                one = save_golfer(work, GOLFER)
                save_shots(work, one.id, f"log {len(saved)}", shots(10))
            saved.append(1)

    writer = threading.Thread(target=write)
    writer.start()
    counts = []
    try:
        for number in range(5):
            before = len(saved)
            copy = tmp_path / f"copy{number}.sqlite"
            back_up(file_store, copy)
            with sqlite3.connect(copy) as connection:
                (count,) = connection.execute("SELECT COUNT(*) FROM shot").fetchone()
            connection.close()
            assert count % 10 == 0
            assert count >= 10 * before
            counts.append(count)
    finally:
        stop.set()
        writer.join()
    assert counts == sorted(counts)
    assert saved


def test_backup_does_not_overwrite(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    target = tmp_path / "mine"
    target.write_text("mine")
    with pytest.raises(StoreError, match="is there already"):
        back_up(file_store, target)
    assert target.read_text() == "mine"
    back_up(file_store, target, overwrite=True)
    with pytest.raises(StoreError, match="is the store itself"):
        back_up(file_store, tmp_path / "store.sqlite", overwrite=True)
    with pytest.raises(StoreError, match="cannot be written"):
        back_up(file_store, tmp_path / "no" / "copy")
    assert contents(file_store) != NOTHING


def damaged(path: Path, kind: str, folder: Path) -> Path:
    """Copy of a backup with something wrong."""
    bad = folder / f"{kind}.sqlite"
    raw = bytearray(path.read_bytes())
    if kind == "cut":
        raw = raw[: len(raw) // 2]
    elif kind == "page":
        raw[4096 * 2 : 4096 * 3] = os.urandom(4096)
    elif kind == "text":
        raw = bytearray(b"no database at all " * 300)
    elif kind == "empty":
        raw = bytearray()
    bad.write_bytes(raw)
    if kind in ("foreign", "newer", "orphan"):
        with sqlite3.connect(bad) as connection:
            if kind == "foreign":
                connection.execute("PRAGMA application_id = 7")
            elif kind == "newer":
                connection.execute("INSERT INTO applied_step VALUES ('shafts', '2027')")
            else:
                connection.execute("DELETE FROM golfer")
        connection.close()
    return bad


@pytest.mark.parametrize(
    ("kind", "says"),
    [
        ("cut", "damaged"),
        ("page", "damaged"),
        ("text", "damaged or no store"),
        ("empty", "is no backup of a store"),
        ("foreign", "is no backup of a store"),
        ("newer", "newer version of planner"),
        ("orphan", "a row of bag belongs to no golfer"),
    ],
)
def test_unusable_backup_is_refused(
    file_store: Store, tmp_path: Path, kind: str, says: str
) -> None:
    fill(file_store)
    before = contents(file_store)
    back_up(file_store, tmp_path / "good.sqlite")
    bad = damaged(tmp_path / "good.sqlite", kind, tmp_path)
    raw = bad.read_bytes()
    with pytest.raises(StoreError, match=says) as caught:
        restore(file_store.location, bad)
    assert bad.name in str(caught.value)
    assert contents(file_store) == before
    assert bad.read_bytes() == raw
    assert not kept_before_restore(tmp_path / "store.sqlite").exists()
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


@pytest.mark.parametrize("kind", ["cut", "page", "text", "empty"])
def test_damaged_store_is_said_and_replaced(file_store: Store, tmp_path: Path, kind: str) -> None:
    fill(file_store)
    before = contents(file_store)
    back_up(file_store, tmp_path / "good.sqlite")
    file = tmp_path / "store.sqlite"
    damaged(tmp_path / "good.sqlite", kind, tmp_path).replace(file)
    (tmp_path / "store.sqlite-wal").write_bytes(b"left over")
    if kind != "empty":  # an empty file is a new store
        with pytest.raises(StoreError, match=r"damaged|not a store"), open_store(file) as store:
            check_store(store)
    kept = restore(locate(file), tmp_path / "good.sqlite")
    assert kept is not None
    with open_store(file) as store:
        assert contents(store) == before
        check_store(store)


def test_restore_where_there_is_no_store(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    back_up(file_store, tmp_path / "good.sqlite")
    target = tmp_path / "new" / "store.sqlite"
    assert restore(locate(target), tmp_path / "good.sqlite") is None
    with open_store(target) as store:
        assert contents(store) == contents(file_store)
    with pytest.raises(StoreError, match="is no file"):
        restore(locate(target), tmp_path / "no_such")


def test_restore_waits_for_no_open_program(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    back_up(file_store, tmp_path / "good.sqlite")
    with (
        file_store.reading(),
        pytest.raises(StoreError, match="another program has it open; nothing was changed"),
    ):
        restore(file_store.location, tmp_path / "good.sqlite", wait_s=0.2)
    restore(file_store.location, tmp_path / "good.sqlite", wait_s=0.2)


def test_restore_without_links(
    file_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError("no links here")

    fill(file_store)
    before = contents(file_store)
    back_up(file_store, tmp_path / "good.sqlite")
    monkeypatch.setattr(backup.os, "link", refuse)
    kept = restore(file_store.location, tmp_path / "good.sqlite")
    assert contents(file_store) == before
    assert kept is not None
    with open_store(kept) as old:
        assert contents(old) == before


WRITER = """
import sys
from planner.errors import StoreError
from planner.store.golfers import save_golfer
from planner.store.opening import open_store
store = open_store(sys.argv[1], wait_s=10.0)
number = 0
while True:
    number += 1
    try:
        with store.writing() as work:
            save_golfer(work, f"golfer {number}")
        print(number, flush=True)
    except StoreError as error:
        print("refused", number, error, flush=True)
"""


def test_restore_under_fire_breaks_nothing(file_store: Store, tmp_path: Path) -> None:
    """Another process writes without pause while the store is replaced again and again."""
    fill(file_store)
    copy = tmp_path / "copy.sqlite"
    back_up(file_store, copy)
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(tmp_path / "store.sqlite")],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    said = []
    try:
        restored = 0
        for _ in range(15):
            said.append(process.stdout.readline())
            # It may find no gap between two writes; then it says so and changes nothing.
            with contextlib.suppress(StoreError):
                restore(file_store.location, copy, wait_s=5.0)
                restored += 1
            check_store(file_store)
        assert restored
        until = time.monotonic() + 30.0
        while len(contents(file_store)["golfers"]) < 4 and time.monotonic() < until:
            time.sleep(0.01)
    finally:
        process.kill()
        said += process.stdout.readlines()
        process.stdout.close()
        process.wait()
    check_store(file_store)
    names = {one.name for one in contents(file_store)["golfers"]}
    assert GOLFER in names
    # Since the last restore nothing that was acknowledged is missing, and nothing refused is there.
    kept = {int(name.split()[1]) for name in names - {GOLFER}}
    acknowledged = {int(line) for line in said if line.strip().isdigit()}
    assert len(kept) >= 3
    assert {number for number in acknowledged if number >= min(kept)} <= kept
    assert len(kept - acknowledged) <= 1


def test_server_has_its_own_tools(server: PostgresServer, tmp_path: Path) -> None:
    name = server.new_database()
    with open_store(server.url(name)) as store:
        check_store(store)
        with pytest.raises(StoreError, match="pg_dump"):
            back_up(store, tmp_path / "copy")
        with pytest.raises(StoreError, match="pg_restore"):
            restore(store.location, tmp_path / "copy")
    server.free_database(name)
