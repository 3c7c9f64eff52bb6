"""Disk full, folder read-only, store locked, two programs writing: said clearly, nothing lost."""

from __future__ import annotations

import os
import re
import resource
import shutil
import sqlite3
import subprocess
import sys
import textwrap
import threading
import time
from pathlib import Path

import pytest

from planner.errors import StoreError
from planner.store.backup import back_up, check_store
from planner.store.golfers import golfers, save_golfer
from planner.store.listing import list_things
from planner.store.opening import Store, open_store
from planner.store.shots import save_shots

from .builders import GOLFER, contents, fill, shots
from .postgres_server import PostgresServer

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="faults of POSIX systems")
ROOT = Path(__file__).resolve().parents[2]
DURING = """
import sys
sys.path.insert(0, {root!r})
from pathlib import Path
from planner.errors import PlannerError
from planner.store.bags import save_bag
from planner.store.golfers import save_golfer
from planner.store.opening import open_store
from planner.store.records import SavedShot
from planner.store.shots import save_shots
from planner.store.backup import back_up, restore
from planner.store.archive_writing import export_archive
place = sys.argv[1]
try:
{body}
except PlannerError as error:
    print("SAID", error)
"""
FILL_UP = """
store = open_store(place)
number = 0
while number < 400:
    number += 1
    with store.writing() as work:
        one = save_golfer(work, "filler")
        many = [SavedShot(club="x" * 500, carry_m=float(i)) for i in range(200)]
        save_shots(work, one.id, f"log {number}", many)
    print(number, flush=True)
"""


def run_program(body: str, place: str, *, before: str = "", limit: int | None = None) -> list[str]:
    """Lines printed by a program of its own; ``before`` runs in a private view of the disks."""
    code = DURING.format(root=str(ROOT), body=textwrap.indent(textwrap.dedent(body), "    "))
    command = [sys.executable, "-c", code, place]
    if before:
        script = f'set -e; {before}\nexec "$@"'
        command = ["unshare", "--mount", "sh", "-c", script, "sh", *command]

    def bounded() -> None:
        if limit is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

    done = subprocess.run(
        command, capture_output=True, text=True, check=False, timeout=120, preexec_fn=bounded
    )
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    return done.stdout.splitlines()


def can_mount() -> bool:
    if os.geteuid() != 0 or shutil.which("unshare") is None:
        return False
    probe = ["unshare", "--mount", "sh", "-c", "mount -t tmpfs -o size=1m probe /mnt"]
    return subprocess.run(probe, capture_output=True, check=False).returncode == 0


mounts = pytest.mark.skipif(
    not can_mount(), reason="needs root and the right to mount a small disk"
)


def acknowledged(lines: list[str]) -> tuple[int, str]:
    """How many saves were acknowledged, and what was said at the end."""
    assert lines[-1].startswith("SAID "), lines[-1:]
    return len(lines) - 1, lines[-1]


def logs_in(place: Path) -> list[int]:
    with open_store(place) as store:
        check_store(store)
        with store.reading() as work:
            found = list_things(work, ("shots",))
    assert all(one.detail == "200 shots" for one in found)
    return sorted(int(one.name.split()[1]) for one in found)


def test_file_size_limit_reached(tmp_path: Path) -> None:
    place = tmp_path / "store.sqlite"
    count, said = acknowledged(run_program(FILL_UP, str(place), limit=1_500_000))
    assert count >= 2
    assert "nothing was changed" in said
    assert "disk is full" in said
    assert logs_in(place) == list(range(1, count + 1))


@mounts
def test_disk_full(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    # The full disk is copied out before it goes away with the program that filled it.
    body = f"""
try:
{textwrap.indent(FILL_UP, "    ")}
finally:
    import shutil
    for path in Path(place).parent.iterdir():
        shutil.copy(path, {str(tmp_path)!r})
"""
    mount = f"mount -t tmpfs -o size=2m small {disk}"
    count, said = acknowledged(run_program(body, str(disk / "store.sqlite"), before=mount))
    assert count >= 2
    assert "the disk is full; nothing was changed; make room and try again" in said
    assert logs_in(tmp_path / "store.sqlite") == list(range(1, count + 1))


@mounts
def test_disk_full_while_migrating_backing_up_and_exporting(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    body = """
for name, work in (
    ("open", lambda: open_store(place)),
    ("backup", lambda: back_up(open_store(place + ".big"), Path(place + ".copy"))),
):
    try:
        work()
    except PlannerError as error:
        print(name, error)
print(sorted(path.name for path in Path(place).parent.iterdir()))
"""
    with open_store(tmp_path / "big.sqlite") as store:
        fill(store)
        with store.writing() as work:
            save_shots(work, golfers(work)[0].id, "many", shots(3000))
    mount = (
        f"mount -t tmpfs -o size=8k small {disk}; ln -s {tmp_path}/big.sqlite {disk}/s.sqlite.big"
    )
    lines = run_program(body, str(disk / "s.sqlite"), before=mount)
    assert "the disk is full" in lines[0] or "failed" in lines[0]
    assert re.search("disk is full|No space left", lines[1])
    assert "s.sqlite.big" in lines[2]
    assert ".tmp" not in lines[2]
    assert len(lines) == 3
    with open_store(tmp_path / "big.sqlite") as store:
        check_store(store)


READ_ONLY = """
for name, work in (
    ("open", lambda: open_store(place)),
    ("new", lambda: open_store(Path(place).parent / "new.sqlite")),
    ("deep", lambda: open_store(Path(place).parent / "new" / "new.sqlite")),
):
    try:
        work().close()
    except PlannerError as error:
        print(name, error)
"""


def check_read_only(lines: list[str]) -> None:
    assert [line.split()[0] for line in lines] == ["open", "new", "deep"]
    for line in lines:
        assert "the right to write" in line, line


@mounts
def test_read_only_disk(tmp_path: Path) -> None:
    place = tmp_path / "disk" / "store.sqlite"
    with open_store(place) as store:
        fill(store)
        before = contents(store)
    mount = f"mount --bind {place.parent} {place.parent}; mount -o remount,ro,bind {place.parent}"
    check_read_only(run_program(READ_ONLY, str(place), before=mount))
    with open_store(place) as store:
        assert contents(store) == before


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere; see the test before")
def test_read_only_folder(tmp_path: Path) -> None:
    place = tmp_path / "disk" / "store.sqlite"
    with open_store(place) as store:
        fill(store)
        before = contents(store)
    place.parent.chmod(0o500)
    try:
        check_read_only(run_program(READ_ONLY, str(place)))
    finally:
        place.parent.chmod(0o700)
    with open_store(place) as store:
        assert contents(store) == before


def test_place_that_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be opened"):
        open_store(tmp_path)
    (tmp_path / "file").write_text("x")
    with pytest.raises(StoreError, match="is no folder; name another place"):
        open_store(tmp_path / "file" / "store.sqlite")
    (tmp_path / "text.sqlite").write_text("no database " * 100)
    with pytest.raises(StoreError, match="is not a store"):
        open_store(tmp_path / "text.sqlite")
    assert (tmp_path / "text.sqlite").read_text() == "no database " * 100


def test_locked_file_is_said_in_time(tmp_path: Path) -> None:
    place = tmp_path / "store.sqlite"
    with open_store(place, wait_s=0.3) as store:
        fill(store)
        before = contents(store)
        holder = sqlite3.connect(place, isolation_level=None)
        holder.execute("BEGIN IMMEDIATE")
        start = time.monotonic()
        with (
            pytest.raises(StoreError, match=r"another program is writing.*nothing was changed"),
            store.writing() as work,
        ):
            save_golfer(work, "late")
        assert time.monotonic() - start < 5.0
        # Reading goes on meanwhile.
        assert contents(store) == before
        holder.execute("COMMIT")
        holder.close()
        with store.writing() as work:
            save_golfer(work, "in time")


def test_locked_rows_on_a_server_are_said_in_time(server: PostgresServer) -> None:
    name = server.new_database()
    with (
        open_store(server.url(name), wait_s=0.3) as store,
        open_store(server.url(name), wait_s=0.3) as other,
        store.writing() as work,
    ):
        save_golfer(work, "first")
        with (
            pytest.raises(StoreError, match=r"another program is writing.*nothing was changed"),
            other.writing() as late,
        ):
            save_golfer(late, "late")
        with other.writing("somebody else") as free:
            save_golfer(free, "at once")
    server.free_database(name)


WRITER = """
store = open_store(place, wait_s=60.0)
for number in range(40):
    with store.writing() as work:
        one = save_golfer(work, {name!r})
        shots = [SavedShot(club="Driver", carry_m=float(i)) for i in range(20)]
        save_shots(work, one.id, f"log {{number}}", shots)
        save_golfer(work, "shared")
    print(number, flush=True)
print("SAID done")
"""


def test_programs_write_side_by_side(place: str) -> None:
    open_store(place).close()
    said: dict[str, list[str]] = {}

    def run(name: str) -> None:
        said[name] = run_program(WRITER.format(name=name), place)

    threads = [threading.Thread(target=run, args=(name,)) for name in ("ann", "ben", "cyd")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with open_store(place) as store, store.reading() as work:
        assert sorted(one.name for one in golfers(work)) == ["ann", "ben", "cyd", "shared"]
        found = list_things(work, ("shots",))
    for name in ("ann", "ben", "cyd"):
        assert said[name] == [*map(str, range(40)), "SAID done"]
        own = [one for one in found if one.golfer == name]
        assert sorted(one.name for one in own) == sorted(f"log {n}" for n in range(40))
        assert all(one.detail == "20 shots" for one in own)


def test_threads_write_side_by_side(store: Store) -> None:
    faults: list[BaseException] = []

    def write(name: str) -> None:
        try:
            for number in range(15):
                with store.writing() as work:
                    one = save_golfer(work, name)
                    save_shots(work, one.id, f"log {number}", shots(3))
        except BaseException as error:
            faults.append(error)

    store.wait_s = 60.0
    threads = [threading.Thread(target=write, args=(f"golfer {n}",)) for n in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    assert len(contents(store)["shot logs"]) == 75


def test_server_that_stops_is_said_and_keeps_what_was_saved(server: PostgresServer) -> None:
    name = server.new_database()
    with open_store(server.url(name), wait_s=1.0) as store:
        fill(store)
        before = contents(store)

        def lose_the_server() -> None:
            with store.writing() as work:
                save_golfer(work, "half")
                server.halt()
                save_golfer(work, "more")

        with pytest.raises(StoreError, match="connection was lost"):
            lose_the_server()
        with pytest.raises(StoreError, match=r"server does not answer"):
            contents(store)
        server.start()
        assert contents(store) == before
    server.free_database(name)


def test_server_faults_are_said(server: PostgresServer) -> None:
    with pytest.raises(StoreError, match="has no such database"):
        open_store(server.url("nowhere"))
    with pytest.raises(StoreError, match="does not let this user in"):
        open_store(server.url("postgres", user="stranger"))
    with pytest.raises(StoreError, match="does not answer") as caught:
        open_store("postgresql://me:secret@/club?host=/nowhere", wait_s=1.0)
    assert "secret" not in str(caught.value)
    name = server.new_database()
    with open_store(server.url(name)) as store:
        fill(store)
    with server.connect(name) as connection:
        connection.execute(f"ALTER DATABASE {name} SET default_transaction_read_only = on".encode())
    with (
        open_store(server.url(name)) as store,
        pytest.raises(StoreError, match="server is read-only"),
        store.writing() as work,
    ):
        save_golfer(work, "x")
    with server.connect(name) as connection:
        connection.execute("SET default_transaction_read_only = off")
        connection.execute(f"ALTER DATABASE {name} RESET ALL".encode())
        connection.execute("CREATE ROLE guest LOGIN")
    with pytest.raises(StoreError, match="user may not do this"):
        open_store(server.url(name, user="guest"))
    with server.connect(name) as connection:
        connection.execute("DROP ROLE guest")
    server.free_database(name)


def test_driver_that_is_missing_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "psycopg", None)
    with pytest.raises(StoreError, match=r"pip install 'planner\[postgres\]'"):
        open_store("postgresql://me@/club")


def test_backup_of_a_locked_store_works(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    with file_store.writing() as work:
        save_golfer(work, "unfinished")
        back_up(file_store, tmp_path / "copy.sqlite")
    with open_store(tmp_path / "copy.sqlite") as copy:
        assert [one.name for one in contents(copy)["golfers"]] == [GOLFER]
