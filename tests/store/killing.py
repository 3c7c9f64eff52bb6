"""Kill a working program at random points, again and again, and look at what it left.

``python killing.py PLACE,... FOLDER KILLS SEED TASK...`` makes a store at each PLACE for the TASK
of the same number, with FOLDER as working folder. A child does the task over and over and says
each time that something is saved; at a random statement or after a random time, it is killed with
SIGKILL. What is in the store afterwards must be what was said, and at most one thing more. Prints
what it counted as JSON; any fault ends it with an assertion.

SIGKILL stops a program, not the machine: this shows that no save is half done and none is held
back in the program, not that the disk keeps its word in a power cut.
"""

from __future__ import annotations

import contextlib
import json
import os
import random
import shutil
import signal
import sqlite3
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event

from planner.errors import StoreError
from planner.planning.saved_work import delete_saved, export_to, import_from, undo_last
from planner.store.backup import back_up, check_store, kept_before_restore, restore
from planner.store.bags import bags, save_bag
from planner.store.engine import WRITES, make_engine, make_private_file
from planner.store.erasing import erase_golfer
from planner.store.golfers import golfers, save_golfer
from planner.store.listing import list_things
from planner.store.location import Location, locate
from planner.store.migrations import STEPS, applied_steps
from planner.store.migrations import migrate as bring_up_to_date
from planner.store.opening import Store, open_store
from planner.store.records import SavedShot
from planner.store.shots import save_shots, shot_logs

SHOTS = 40
MOST_STATEMENTS = 40
BAG = """format = 1
name = "{name}"
[golfer]
name = "{golfer}"
handicap_index = {number}
[[club]]
label = "Driver"
kind = "driver"
loft_deg = 10.5
[[club]]
label = "Putter"
kind = "putter"
"""

Say = Callable[[str], None]


def shots_of(number: int) -> list[SavedShot]:
    return [SavedShot(club="Driver", carry_m=float(number), source_row=i) for i in range(SHOTS)]


def arm(statements: int, seconds: float) -> None:
    """Kill this process before a statement, or after a time, whichever comes first."""
    left = statements

    def count(*_: Any) -> None:
        nonlocal left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), signal.SIGKILL)

    event.listen(Engine, "before_cursor_execute", count)
    event.listen(Engine, "commit", count)

    def late() -> None:
        time.sleep(seconds)
        os.kill(os.getpid(), signal.SIGKILL)

    threading.Thread(target=late, daemon=True).start()


# Tasks: what the child does, and what must be found afterwards.


def save(place: str, start: int, say: Say) -> None:
    """Save shot logs and a bag of the same number, both or none."""
    with open_store(place) as store:
        for number in range(start, start + 1000):
            with store.writing() as work:
                one = save_golfer(work, "killed")
                save_shots(work, one.id, f"log {number}", shots_of(number))
                text = BAG.format(name=f"bag {number}", golfer="killed", number=number % 50)
                save_bag(work, text, source="bag")
            say(str(number))


def check_saves(store: Store, said: list[str], _start: int) -> int:
    with store.reading() as work:
        logs = {one.name: one.shots for one in shot_logs(work)}
        sets = {one.name: one.clubs for one in bags(work)}
    numbers = {int(name.split()[1]) for name in logs if name.startswith("log ")}
    assert numbers == {int(name.split()[1]) for name in sets if name.startswith("bag ")}
    assert {int(one) for one in said} <= numbers, "an acknowledged save is missing"
    for number in numbers:
        assert logs[f"log {number}"] == tuple(shots_of(number)), "a save is half there"
        assert len(sets[f"bag {number}"]) == 2
    return max(numbers, default=0) + 1


def import_(place: str, start: int, say: Say) -> None:
    """Import one archive for ever new owners."""
    with open_store(place) as store:
        for number in range(start, start + 1000):
            import_from(store, Path("given.zip"), owner=f"owner {number}")
            say(str(number))


def check_imports(store: Store, said: list[str], start: int) -> int:
    wanted = {"golfer": 1, "bag": 3, "shots": 3}
    number = start
    while True:
        with store.reading(f"owner {number}") as work:
            found = list_things(work)
        counts = {kind: sum(one.kind == kind for one in found) for kind in wanted}
        if not found:
            break
        assert counts == wanted, f"an import is half there: {counts}"
        assert all(one.detail == f"{SHOTS} shots" for one in found if one.kind == "shots")
        number += 1
    assert number > max((int(one) for one in said), default=-1), "an acknowledged import is missing"
    return number


def delete(place: str, start: int, say: Say) -> None:
    """Delete a golfer with all that is his, bring him back, replace his bag, undo that."""
    with open_store(place) as store:
        for number in range(start, start + 1000):
            delete_saved(store, "golfer", "kept")
            undo_last(store)
            with store.writing() as work:
                text = BAG.format(name="kept bag", golfer="kept", number=number % 50)
                save_bag(work, text, source="bag")
            undo_last(store)
            say(str(number))


def check_deletes(store: Store, _said: list[str], start: int) -> int:
    with contextlib.suppress(StoreError):
        while True:
            undo_last(store)
    with store.reading() as work:
        assert [one.name for one in golfers(work) if one.name == "kept"] == ["kept"]
        (one,) = (one for one in bags(work) if one.name == "kept bag")
        assert one.text == BAG.format(name="kept bag", golfer="kept", number=0)
        (log,) = (one for one in shot_logs(work) if one.name == "kept log")
        assert log.shots == tuple(shots_of(7))
    return start + 1


def erase(place: str, start: int, say: Say) -> None:
    """Save a golfer and erase him."""
    with open_store(place) as store:
        for number in range(start, start + 1000):
            with store.writing() as work:
                text = BAG.format(name="brief", golfer=f"brief {number}", number=1)
                save_bag(work, text, source="bag")
            erase_golfer(store, f"brief {number}")
            say(str(number))


def check_erased(store: Store, said: list[str], start: int) -> int:
    with store.reading() as work:
        left = [one.name for one in golfers(work) if one.name.startswith("brief ")]
        assert len(left) <= 1
        assert len([one for one in bags(work) if one.name == "brief"]) == len(left)
    assert not set(left) & {f"brief {one}" for one in said}
    for name in left:
        erase_golfer(store, name)
    check_deletes(store, said, start)
    return start + 1000


def swap(place: str, start: int, say: Say) -> None:
    """Back up and restore, with a save in between that the restore takes back."""
    copy = Path(f"{place}.copy")
    with open_store(place) as store:
        for number in range(start, start + 1000):
            back_up(store, copy, overwrite=True)
            with store.writing() as work:
                save_golfer(work, f"passing {number}")
            restore(store.location, copy)
            say(str(number))


def check_swaps(store: Store, said: list[str], start: int) -> int:
    with store.reading() as work:
        passing = [one.name for one in golfers(work) if one.name.startswith("passing ")]
    assert not set(passing) & {f"passing {one}" for one in said}
    file = store.location.file
    assert file is not None
    for kept in (Path(f"{file}.copy"), kept_before_restore(file)):
        if kept.exists():
            with open_store(kept) as other:
                check_store(other)
    for number in passing:
        erase_golfer(store, number)
    check_deletes(store, said, start)
    return start + 1000


def migrate(place: str, start: int, say: Say) -> None:
    """Bring fresh copies of older versions up to date."""
    for number in range(start, start + 1000):
        target = f"{place}.new{number}"
        shutil.copy(f"{place}.old{number % len(STEPS)}", f"{place}.half")
        os.replace(f"{place}.half", target)
        open_store(target).close()
        say(str(number))


def check_migrations(store: Store, said: list[str], start: int) -> int:
    file = store.location.file
    assert file is not None
    number = start
    while (target := Path(f"{file}.new{number}")).exists():
        steps = steps_of(target)
        assert steps == [step.__name__ for step in STEPS][: len(steps)]
        assert len(steps) >= number % len(STEPS)
        assert len(steps) == len(STEPS) or str(number) not in said
        with open_store(target) as opened:
            check_store(opened)
            with opened.reading() as work:
                assert applied_steps(work.connection) == {step.__name__ for step in STEPS}
                expected = ["kept"] if number % len(STEPS) else []
                assert [one.name for one in golfers(work)] == expected
        number += 1
    for path in file.parent.glob(f"{file.name}.new*"):
        path.unlink()
    return number


def steps_of(path: Path) -> list[str]:
    with contextlib.closing(sqlite3.connect(path)) as connection:
        try:
            rows = connection.execute("SELECT name FROM applied_step ORDER BY rowid").fetchall()
        except sqlite3.OperationalError:  # no step at all
            rows = []
    return [name for (name,) in rows]


TASKS = {
    "save": (save, check_saves),
    "import": (import_, check_imports),
    "delete": (delete, check_deletes),
    "erase": (erase, check_erased),
    "swap": (swap, check_swaps),
    "migrate": (migrate, check_migrations),
}


def prepare(place: str, task: str) -> None:
    """What the task needs to begin with."""
    with open_store(place) as store:
        with store.writing() as work:
            one = save_golfer(work, "kept")
            save_shots(work, one.id, "kept log", shots_of(7))
            text = BAG.format(name="kept bag", golfer="kept", number=0)
            save_bag(work, text, source="bag")
        if task == "import":
            with store.writing("giver") as work:
                one = save_golfer(work, "given")
                for number in range(3):
                    save_shots(work, one.id, f"log {number}", shots_of(number))
                    text = BAG.format(name=f"bag {number}", golfer="given", number=number)
                    save_bag(work, text, source="bag")
            export_to(store, Path("given.zip"), owner="giver")
    if task == "migrate":
        for version in range(len(STEPS)):
            make_older(locate(f"{place}.old{version}"), version)


def make_older(location: Location, version: int) -> None:
    """Store of an older version, with a golfer."""
    make_private_file(location)
    engine = make_engine(location, wait_s=2.0)
    bring_up_to_date(engine, location, steps=STEPS[:version])
    if version:
        writer = engine.execution_options(**{WRITES: True})
        with writer.connect() as connection, connection.begin():
            connection.exec_driver_sql(
                "INSERT INTO golfer (owner, id, name, saved_at) VALUES"
                " ('local', 'g', 'kept', '2026-01-02T03:04:05.000006+00:00')"
            )
    engine.dispose()


def kill_once(place: str, task: str, start: int, chance: random.Random) -> list[str]:
    """Start a child, have it killed, and give what it said."""
    reading, writing = os.pipe()
    statements = chance.randrange(MOST_STATEMENTS * 3)
    seconds = chance.uniform(0.0, 0.4)
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.close(reading)
            arm(statements, seconds)

            def say(word: str) -> None:
                os.write(writing, f"{word}\n".encode())

            TASKS[task][0](place, start, say)
        except BaseException as error:
            os.write(writing, f"FAULT {error!r}\n".encode())
        finally:
            os._exit(code)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        lines = pipe.read().decode().splitlines()
    _pid, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), f"the child ended by itself: {lines[-1:]}"
    assert os.WTERMSIG(status) == signal.SIGKILL
    assert not any(line.startswith("FAULT") for line in lines), lines[-1:]
    return lines


def main(place: str, task: str, kills: int, seed: int) -> dict[str, int]:
    """Kill a task again and again; what was counted."""
    prepare(place, task)
    chance = random.Random(seed)
    start = acknowledged = cut_off = 0
    for _ in range(kills):
        said = kill_once(place, task, start, chance)
        acknowledged += len(said)
        cut_off += not said
        with open_store(place) as store:
            check_store(store)
            start = TASKS[task][1](store, said, start)
    return {"kills": kills, "acknowledged": acknowledged, "cut off at once": cut_off}


if __name__ == "__main__":
    places, folder, kills, seed, *tasks = sys.argv[1:]
    os.chdir(folder)
    counted = {}
    for task, place in zip(tasks, places.split(","), strict=True):
        counted[task] = main(place, task, int(kills), int(seed))
    print(json.dumps(counted))
