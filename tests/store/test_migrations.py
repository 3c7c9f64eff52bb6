"""Every older version is brought up to date with all it held; newer ones are left alone."""

from __future__ import annotations

import re
import sqlite3
import threading
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, Table, inspect
from sqlalchemy.engine import Connection

from planner.errors import StoreError
from planner.golfer.bag import bag_from_text
from planner.store import migrations
from planner.store.bags import add_bag, clubs_of
from planner.store.engine import WRITES, make_engine, make_private_file
from planner.store.location import locate
from planner.store.migrations import STEPS, applied_steps, migrate
from planner.store.opening import Store, open_store
from planner.store.records import SavedBag
from planner.store.schema import METADATA

from .builders import MAP, NOTHING, bag_file, contents, fill

OF_GOLFER = {"owner": "local", "golfer_id": "g1", "saved_at": "2026-01-02T03:04:05.000006+00:00"}
OWN = {"owner": "local", "saved_at": OF_GOLFER["saved_at"]}
ROWS: dict[str, list[tuple[str, dict[str, Any]]]] = {
    "golfers_bags_clubs": [
        ("golfer", {**OWN, "id": "g1", "name": "Ilka"}),
        ("bag", {**OF_GOLFER, "id": "b1", "name": "old", "text": bag_file()}),
        (
            "club",
            {
                "owner": "local",
                "bag_id": "b1",
                "position": 0,
                "label": "Driver",
                "kind": "driver",
                "loft_rad": 0.1,
                "tee_only": True,
                "carried": True,
            },
        ),
    ],
    "courses": [
        ("course", {**OWN, "id": "c1", "key": "k", "name": "n", "file_name": "f", "source": MAP}),
    ],
    "shots": [
        ("shot_log", {**OF_GOLFER, "id": "l1", "name": "range"}),
        (
            "shot",
            {"owner": "local", "shot_log_id": "l1", "position": 0, "club": "x", "carry_m": 1.5},
        ),
    ],
    "rounds": [
        ("round", {**OF_GOLFER, "id": "r1", "date": "2026-05-01", "course_name": "n"}),
        ("round_hole", {"owner": "local", "round_id": "r1", "position": 0, "ref": "1"}),
    ],
    "plans": [
        ("plan", {**OF_GOLFER, "id": "p1", "name": "n", "key": "k", "text": "{}"}),
    ],
    "undo_of_deletes": [
        ("undo_entry", {"id": "u1", "owner": "local", "number": 1, "what": "w", "made_at": "t"}),
    ],
    "map_drafts": [
        ("map_draft", {**OWN, "id": "d1", "name": "n", "source": "s", "text": "{}"}),
    ],
}
"""Rows that each step makes room for, as its program would have written them."""


def engine_of(place: str) -> Engine:
    location = locate(place)
    make_private_file(location)
    return make_engine(location, wait_s=2.0)


def insert_row(connection: Connection, table: str, row: dict[str, Any]) -> None:
    on_server = connection.dialect.name == "postgresql"
    names = ", ".join(row)
    marks = ", ".join("%s" if on_server else "?" for _ in row)
    connection.exec_driver_sql(
        f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(row.values())
    )


def rows_of(engine: Engine, table: str, names: list[str]) -> list[tuple[Any, ...]]:
    with engine.connect() as connection:
        found = connection.exec_driver_sql(f"SELECT {', '.join(names)} FROM {table}").all()
    return [tuple(v.isoformat() if isinstance(v, date) else v for v in row) for row in found]


@pytest.mark.parametrize("version", range(len(STEPS)))
def test_older_version_keeps_all_it_held(place: str, version: int) -> None:
    engine = engine_of(place)
    older = STEPS[:version]
    assert migrate(engine, locate(place), steps=older) == [step.__name__ for step in older]
    held = [row for step in older for row in ROWS[step.__name__]]
    with engine.execution_options(**{WRITES: True}).connect() as connection, connection.begin():
        for table, row in held:
            insert_row(connection, table, row)
    assert migrate(engine, locate(place)) == [step.__name__ for step in STEPS[version:]]
    assert migrate(engine, locate(place)) == []
    for table, row in held:
        assert rows_of(engine, table, list(row)) == [tuple(row.values())]
    engine.dispose()
    if version >= 1:
        # What came from an older version works like anything else.
        with open_store(place) as store:
            with store.writing() as work:
                read = bag_from_text(bag_file(), source="bag")
                add_bag(
                    work,
                    SavedBag(golfer_id="g1", name="new", text=bag_file(), clubs=clubs_of(read)),
                )
            assert [one.name for one in contents(store)["bags"]] == ["old", "new"]


def shape_of(connection: Connection) -> dict[str, Any]:
    """Tables of a database, with what their columns can hold."""
    found = inspect(connection)
    shape = {}
    for table in found.get_table_names():
        shape[table] = {
            "columns": {
                one["name"]: (
                    str(one["type"].python_type.__name__),
                    one["nullable"],
                )
                for one in found.get_columns(table)
            },
            "key": found.get_pk_constraint(table)["constrained_columns"],
            "foreign": sorted(
                (
                    one["constrained_columns"],
                    one["referred_table"],
                    one["referred_columns"],
                    one["options"].get("ondelete"),
                )
                for one in found.get_foreign_keys(table)
            ),
            "unique": sorted(one["column_names"] for one in found.get_unique_constraints(table)),
            "indexes": sorted(
                (str(one["name"]), one["column_names"], bool(one["unique"]))
                for one in found.get_indexes(table)
                if not one.get("duplicates_constraint")
            ),
        }
    return shape


def meant_columns(table: Table, backend: str) -> dict[str, tuple[str, bool]]:
    """Columns as the program's tables have them, in the types of a database."""
    # SQLite has no dates or truth values: the driver turns them into text and whole numbers.
    plain = {"date": "str", "bool": "int"} if backend == "sqlite" else {}
    plain["object"] = "str"  # a moment, kept as text
    return {
        one.name: (
            plain.get(one.type.python_type.__name__, one.type.python_type.__name__),
            bool(one.nullable),
        )
        for one in table.columns
    }


def test_migrated_tables_are_those_the_program_means(store: Store) -> None:
    backend = store.engine.dialect.name
    with store.engine.connect() as connection:
        shape = shape_of(connection)
    assert set(shape) == set(METADATA.tables)
    for name, table in METADATA.tables.items():
        assert shape[name]["columns"] == meant_columns(table, backend), name
        assert shape[name]["key"] == [one.name for one in table.primary_key], name
        meant = sorted(
            (
                [one.name for one in key.columns],
                key.referred_table.name,
                [one.column.name for one in key.elements],
                key.ondelete,
            )
            for key in table.foreign_key_constraints
        )
        assert shape[name]["foreign"] == meant, name
        indexes = sorted(
            (str(one.name), [column.name for column in one.columns], bool(one.unique))
            for one in table.indexes
        )
        assert shape[name]["indexes"] == indexes, name
    assert shape["undo_entry"]["unique"] == [["owner", "number"]]


def test_deleted_names_are_free_again(store: Store) -> None:
    fill(store)
    with store.engine.connect() as connection:
        if store.engine.dialect.name == "sqlite":
            found = connection.exec_driver_sql(
                "SELECT sql FROM sqlite_master WHERE name LIKE 'one_%'"
            )
        else:
            found = connection.exec_driver_sql(
                "SELECT indexdef FROM pg_indexes WHERE starts_with(indexname, 'one_')"
            )
        texts = [text for (text,) in found]
    assert len(texts) == 5
    assert all(re.search(r"WHERE \(?deleted_by IS NULL", text) for text in texts)


def test_newer_version_is_refused_and_left_alone(place: str) -> None:
    with open_store(place) as store:
        fill(store)
        before = contents(store)
        with store.writing() as work:
            insert_row(
                work.connection, "applied_step", {"name": "shafts", "applied_at": "2027-01-01"}
            )
    with pytest.raises(StoreError, match=r"newer version of planner \(shafts\).*update planner"):
        open_store(place)
    engine = engine_of(place)
    with engine.execution_options(**{WRITES: True}).connect() as connection, connection.begin():
        connection.exec_driver_sql("DELETE FROM applied_step WHERE name = 'shafts'")
    engine.dispose()
    with open_store(place) as store:
        assert contents(store) == before


def test_step_that_fails_leaves_the_older_version(
    place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(connection: Connection) -> list[str]:
        return ["CREATE TABLE half (id TEXT)", "INSERT INTO half VALUES ('x')", "CREATE NONSENSE"]

    with open_store(place) as store:
        fill(store)
        before = contents(store)
    with monkeypatch.context() as patched:
        patched.setattr(migrations, "STEPS", (*STEPS, breaks))
        patched.setattr(migrations.migrate, "__kwdefaults__", {"steps": migrations.STEPS})
        with pytest.raises(StoreError, match="NONSENSE"):
            open_store(place)
    with open_store(place) as store:
        assert contents(store) == before
        with store.engine.connect() as connection:
            assert "half" not in inspect(connection).get_table_names()
            assert "breaks" not in applied_steps(connection)


def test_foreign_tables_are_left_alone(new_place: Any, tmp_path: Path) -> None:
    place = new_place()
    engine = engine_of(place)
    with engine.execution_options(**{WRITES: True}).connect() as connection, connection.begin():
        connection.exec_driver_sql("CREATE TABLE bag (weight INTEGER)")
    with pytest.raises(StoreError, match=r"something else \(bag\).*nothing was changed"):
        open_store(place)
    with engine.connect() as connection:
        assert inspect(connection).get_table_names() == ["bag"]
    engine.dispose()


def test_programs_that_start_together_migrate_once(place: str) -> None:
    faults: list[BaseException] = []
    start = threading.Barrier(4)

    def begin() -> None:
        try:
            start.wait()
            open_store(place, wait_s=20.0).close()
        except BaseException as error:
            faults.append(error)

    threads = [threading.Thread(target=begin) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    with open_store(place) as store:
        assert contents(store) == NOTHING


def test_published_steps_stay_as_they_are(store: Store) -> None:
    assert [step.__name__ for step in STEPS] == list(ROWS)
    with store.engine.connect() as connection:
        assert applied_steps(connection) == set(ROWS)


def test_numbers_stay_numbers(tmp_path: Path) -> None:
    with open_store(tmp_path / "s.sqlite"):
        pass
    with sqlite3.connect(tmp_path / "s.sqlite") as connection:
        row = "INSERT INTO golfer (owner, id, name, saved_at) VALUES ('o', 'i', 'n', 's')"
        connection.execute(row)
        connection.execute("INSERT INTO shot_log VALUES ('o', 'l', 'i', 'n', 's', NULL, NULL)")
        with pytest.raises(sqlite3.IntegrityError, match="REAL"):
            connection.execute(
                "INSERT INTO shot (owner, shot_log_id, position, club, carry_m)"
                " VALUES ('o', 'l', 0, 'c', 'far')"
            )
    connection.close()
