"""How a database came to its present tables: named steps, each in a transaction of its own.

A step is never changed once it was published; a change of the tables is a new step at the end,
made in :mod:`planner.store.schema` as well. Each step is plain SQL that SQLite and PostgreSQL
both understand; what they call differently is filled in.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime

from sqlalchemy import Connection, Engine, inspect, select

from planner.errors import StoreError
from planner.store.engine import APPLICATION_ID, WRITES
from planner.store.location import Location
from planner.store.schema import METADATA, applied_step

__all__ = ["STEPS", "Step", "applied_steps", "migrate", "refuse_newer"]

Step = Callable[[Connection], Sequence[str]]
"""Gives the statements of one change; its name is kept in the database."""

LOCK_KEY = 0x706C616E
"""PostgreSQL advisory lock that lets one program migrate at a time."""


def golfers_bags_clubs(connection: Connection) -> list[str]:
    """Golfers, their bags as text, and the clubs read from it."""
    return [
        """CREATE TABLE golfer (
            owner TEXT NOT NULL, id TEXT NOT NULL, name TEXT NOT NULL, saved_at TEXT NOT NULL,
            PRIMARY KEY (owner, id)) {strict}""",
        "CREATE UNIQUE INDEX one_golfer ON golfer (owner, name)",
        """CREATE TABLE bag (
            owner TEXT NOT NULL, id TEXT NOT NULL, golfer_id TEXT NOT NULL, name TEXT NOT NULL,
            text TEXT NOT NULL, saved_at TEXT NOT NULL,
            PRIMARY KEY (owner, id),
            FOREIGN KEY (owner, golfer_id) REFERENCES golfer (owner, id) ON DELETE CASCADE
            ) {strict}""",
        "CREATE UNIQUE INDEX one_bag ON bag (owner, golfer_id, name)",
        """CREATE TABLE club (
            owner TEXT NOT NULL, bag_id TEXT NOT NULL, position INTEGER NOT NULL,
            label TEXT NOT NULL, kind TEXT NOT NULL, loft_rad {real} NOT NULL, length_m {real},
            tee_only {flag} NOT NULL, carried {flag} NOT NULL, price {real}, resale {real},
            carry_m {real},
            PRIMARY KEY (owner, bag_id, position),
            FOREIGN KEY (owner, bag_id) REFERENCES bag (owner, id) ON DELETE CASCADE
            ) {strict}""",
    ]


def courses(connection: Connection) -> list[str]:
    """Courses as the bytes of their maps."""
    return [
        """CREATE TABLE course (
            owner TEXT NOT NULL, id TEXT NOT NULL, key TEXT NOT NULL, name TEXT NOT NULL,
            file_name TEXT NOT NULL, source {bytes} NOT NULL, saved_at TEXT NOT NULL,
            PRIMARY KEY (owner, id)) {strict}""",
        "CREATE UNIQUE INDEX one_course ON course (owner, key)",
    ]


def shots(connection: Connection) -> list[str]:
    """Shot logs and their shots."""
    return [
        """CREATE TABLE shot_log (
            owner TEXT NOT NULL, id TEXT NOT NULL, golfer_id TEXT NOT NULL, name TEXT NOT NULL,
            saved_at TEXT NOT NULL,
            PRIMARY KEY (owner, id),
            FOREIGN KEY (owner, golfer_id) REFERENCES golfer (owner, id) ON DELETE CASCADE
            ) {strict}""",
        "CREATE UNIQUE INDEX one_shot_log ON shot_log (owner, golfer_id, name)",
        """CREATE TABLE shot (
            owner TEXT NOT NULL, shot_log_id TEXT NOT NULL, position INTEGER NOT NULL,
            source_row INTEGER, club TEXT NOT NULL, carry_m {real}, offline_m {real},
            total_m {real}, lie TEXT, outcome TEXT, date TEXT,
            PRIMARY KEY (owner, shot_log_id, position),
            FOREIGN KEY (owner, shot_log_id) REFERENCES shot_log (owner, id) ON DELETE CASCADE
            ) {strict}""",
    ]


def rounds(connection: Connection) -> list[str]:
    """Rounds played, hole by hole and shot by shot."""
    return [
        """CREATE TABLE round (
            owner TEXT NOT NULL, id TEXT NOT NULL, golfer_id TEXT NOT NULL, date {date} NOT NULL,
            course_name TEXT NOT NULL, course_key TEXT, tee TEXT, notes TEXT,
            saved_at TEXT NOT NULL,
            PRIMARY KEY (owner, id),
            FOREIGN KEY (owner, golfer_id) REFERENCES golfer (owner, id) ON DELETE CASCADE
            ) {strict}""",
        "CREATE INDEX round_by_golfer ON round (owner, golfer_id, date)",
        """CREATE TABLE round_hole (
            owner TEXT NOT NULL, round_id TEXT NOT NULL, position INTEGER NOT NULL,
            ref TEXT NOT NULL, par INTEGER, strokes INTEGER, putts INTEGER, penalties INTEGER,
            PRIMARY KEY (owner, round_id, position),
            FOREIGN KEY (owner, round_id) REFERENCES round (owner, id) ON DELETE CASCADE
            ) {strict}""",
        """CREATE TABLE round_shot (
            owner TEXT NOT NULL, round_id TEXT NOT NULL, position INTEGER NOT NULL,
            hole_ref TEXT NOT NULL, number INTEGER NOT NULL, club TEXT, lie TEXT, outcome TEXT,
            lon_deg {real}, lat_deg {real}, to_pin_m {real}, carry_m {real}, total_m {real},
            offline_m {real}, penalties INTEGER, plan_kept {flag},
            PRIMARY KEY (owner, round_id, position),
            FOREIGN KEY (owner, round_id) REFERENCES round (owner, id) ON DELETE CASCADE
            ) {strict}""",
    ]


def plans(connection: Connection) -> list[str]:
    """Plans as their JSON."""
    return [
        """CREATE TABLE plan (
            owner TEXT NOT NULL, id TEXT NOT NULL, golfer_id TEXT NOT NULL, name TEXT NOT NULL,
            key TEXT NOT NULL, course_key TEXT, text TEXT NOT NULL, saved_at TEXT NOT NULL,
            PRIMARY KEY (owner, id),
            FOREIGN KEY (owner, golfer_id) REFERENCES golfer (owner, id) ON DELETE CASCADE
            ) {strict}""",
        "CREATE UNIQUE INDEX one_plan ON plan (owner, golfer_id, name)",
    ]


def undo_of_deletes(connection: Connection) -> list[str]:
    """What is deleted stays, marked, until it is brought back or erased."""
    statements = [
        """CREATE TABLE undo_entry (
            id TEXT NOT NULL PRIMARY KEY, owner TEXT NOT NULL, number INTEGER NOT NULL,
            what TEXT NOT NULL, made_at TEXT NOT NULL, UNIQUE (owner, number)) {strict}""",
    ]
    for table in ("golfer", "bag", "course", "shot_log", "round", "plan"):
        statements += [
            f"ALTER TABLE {table} ADD COLUMN deleted_by TEXT REFERENCES undo_entry (id)",
            f"ALTER TABLE {table} ADD COLUMN made_by TEXT REFERENCES undo_entry (id)",
        ]
    # A name is free again once its bearer was deleted.
    for table, columns in (
        ("golfer", "owner, name"),
        ("bag", "owner, golfer_id, name"),
        ("shot_log", "owner, golfer_id, name"),
        ("plan", "owner, golfer_id, name"),
        ("course", "owner, key"),
    ):
        statements += [
            f"DROP INDEX one_{table}",
            f"CREATE UNIQUE INDEX one_{table} ON {table} ({columns}) WHERE deleted_by IS NULL",
        ]
    return statements


def map_drafts(connection: Connection) -> list[str]:
    """Maps being drawn, with their earlier states."""
    return [
        """CREATE TABLE map_draft (
            owner TEXT NOT NULL, id TEXT NOT NULL, name TEXT NOT NULL, source TEXT,
            text TEXT NOT NULL, saved_at TEXT NOT NULL,
            deleted_by TEXT REFERENCES undo_entry (id), made_by TEXT REFERENCES undo_entry (id),
            PRIMARY KEY (owner, id)) {strict}""",
    ]


STEPS: tuple[Step, ...] = (
    golfers_bags_clubs,
    courses,
    shots,
    rounds,
    plans,
    undo_of_deletes,
    map_drafts,
)
"""Every step in order. Add at the end; never change, rename or remove one."""

_WORDS = {
    "sqlite": {
        "real": "REAL",
        "bytes": "BLOB",
        "date": "TEXT",
        "flag": "INTEGER",
        "strict": "STRICT",
    },
    "postgresql": {
        "real": "DOUBLE PRECISION",
        "bytes": "BYTEA",
        "date": "DATE",
        "flag": "BOOLEAN",
        "strict": "",
    },
}
"""What the databases call differently. A STRICT table refuses a word in a column of numbers."""


def migrate(engine: Engine, location: Location, *, steps: Sequence[Step] = STEPS) -> list[str]:
    """Bring a database to its present tables; names of the steps that were missing.

    Raises
    ------
    StoreError
        The database was written by a newer version or belongs to something else.
    """
    with engine.connect() as connection, connection.begin():
        applied = applied_steps(connection)
        refuse_newer(applied, location)
    names = [step.__name__ for step in steps]
    if set(names) <= applied:
        return []
    made = []
    writer = engine.execution_options(**{WRITES: True})
    for step in steps:
        with writer.connect() as connection, connection.begin():
            if _apply(connection, step, location):
                made.append(step.__name__)
    return made


def applied_steps(connection: Connection) -> set[str]:
    """Names of the steps that a database has; empty if it has none."""
    if not inspect(connection).has_table(applied_step.name):
        return set()
    return set(connection.execute(select(applied_step.c.name)).scalars())


def refuse_newer(applied: set[str], location: Location | str) -> None:
    """Refuse a database with steps that this program does not know.

    Raises
    ------
    StoreError
        It has some.
    """
    # Of a damaged file even a name may be missing.
    unknown = sorted(map(str, applied - {step.__name__ for step in STEPS}))
    if unknown:
        raise StoreError(
            f"store {location}: was written by a newer version of planner "
            f"({', '.join(unknown)}); nothing was changed; update planner"
        )


def _apply(connection: Connection, step: Step, location: Location) -> bool:
    """Apply a step unless another process was quicker; whether it was applied."""
    backend = connection.dialect.name
    if backend == "postgresql":
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCK_KEY})")
    applied = applied_steps(connection)
    refuse_newer(applied, location)
    if not applied:
        _refuse_foreign(connection, location)
        if backend == "sqlite":
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        applied_step.create(connection, checkfirst=True)
    if step.__name__ in applied:
        return False
    for statement in step(connection):
        connection.exec_driver_sql(statement.format(**_WORDS[backend]))
    now = datetime.now(UTC)
    connection.execute(applied_step.insert().values(name=step.__name__, applied_at=now))
    return True


def _refuse_foreign(connection: Connection, location: Location) -> None:
    """Refuse to build tables beside those of something else."""
    tables = set(inspect(connection).get_table_names())
    clashing = tables if connection.dialect.name == "sqlite" else tables & set(METADATA.tables)
    if clashing:
        shown = ", ".join(sorted(clashing)[:5])
        raise StoreError(
            f"store {location}: holds tables of something else ({shown}); nothing was changed; "
            "name another file, or a database of its own on the server"
        )
