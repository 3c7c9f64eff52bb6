"""Tables as they are after every migration; queries are written against these.

Every row has its owner, first in every key, so that a row of one owner can never point to one of
another. What a person deletes is marked with the undo entry that deleted it and kept.
"""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.schema import SchemaItem
from sqlalchemy.types import TypeDecorator

__all__ = [
    "DELETABLE",
    "METADATA",
    "OF_GOLFER",
    "UtcTime",
    "applied_step",
    "bag",
    "club",
    "course",
    "golfer",
    "map_draft",
    "plan",
    "round_",
    "round_hole",
    "round_shot",
    "shot",
    "shot_log",
    "undo_entry",
]


class UtcTime(TypeDecorator[datetime]):
    """A moment in UTC as ISO 8601 text: the same on every database, to the microsecond."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """Text of a moment."""
        return None if value is None else value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        """Moment of a text."""
        return None if value is None else datetime.fromisoformat(value)


METADATA = MetaData()


def _named(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


def _own(name: str, *columns: SchemaItem) -> Table:
    """Table of things a person saves and deletes."""
    return Table(
        name,
        METADATA,
        Column("owner", Text, primary_key=True),
        Column("id", Text, primary_key=True),
        *columns,
        Column("saved_at", UtcTime, nullable=False),
        Column("deleted_by", Text, ForeignKey("undo_entry.id")),
        Column("made_by", Text, ForeignKey("undo_entry.id")),
    )


def _belongs(parent: str, key: str) -> ForeignKeyConstraint:
    return ForeignKeyConstraint(
        ["owner", key], [f"{parent}.owner", f"{parent}.id"], ondelete="CASCADE"
    )


applied_step = Table(
    "applied_step",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("applied_at", UtcTime, nullable=False),
)
undo_entry = Table(
    "undo_entry",
    METADATA,
    Column("id", Text, primary_key=True),
    _named("owner"),
    Column("number", Integer, nullable=False),
    _named("what"),
    Column("made_at", UtcTime, nullable=False),
    UniqueConstraint("owner", "number"),
)
golfer = _own("golfer", _named("name"))
bag = _own(
    "bag", _named("golfer_id"), _named("name"), _named("text"), _belongs("golfer", "golfer_id")
)
club = Table(
    "club",
    METADATA,
    Column("owner", Text, primary_key=True),
    Column("bag_id", Text, primary_key=True),
    Column("position", Integer, primary_key=True),
    _named("label"),
    _named("kind"),
    Column("loft_rad", Double, nullable=False),
    Column("length_m", Double),
    Column("tee_only", Boolean, nullable=False),
    Column("carried", Boolean, nullable=False),
    Column("price", Double),
    Column("resale", Double),
    Column("carry_m", Double),
    _belongs("bag", "bag_id"),
)
course = _own(
    "course",
    _named("key"),
    _named("name"),
    _named("file_name"),
    Column("source", LargeBinary, nullable=False),
)
shot_log = _own("shot_log", _named("golfer_id"), _named("name"), _belongs("golfer", "golfer_id"))
shot = Table(
    "shot",
    METADATA,
    Column("owner", Text, primary_key=True),
    Column("shot_log_id", Text, primary_key=True),
    Column("position", Integer, primary_key=True),
    Column("source_row", Integer),
    _named("club"),
    Column("carry_m", Double),
    Column("offline_m", Double),
    Column("total_m", Double),
    Column("lie", Text),
    Column("outcome", Text),
    Column("date", Text),
    _belongs("shot_log", "shot_log_id"),
)
round_ = _own(
    "round",
    _named("golfer_id"),
    Column("date", Date, nullable=False),
    _named("course_name"),
    Column("course_key", Text),
    Column("tee", Text),
    Column("notes", Text),
    _belongs("golfer", "golfer_id"),
)
round_hole = Table(
    "round_hole",
    METADATA,
    Column("owner", Text, primary_key=True),
    Column("round_id", Text, primary_key=True),
    Column("position", Integer, primary_key=True),
    _named("ref"),
    Column("par", Integer),
    Column("strokes", Integer),
    Column("putts", Integer),
    Column("penalties", Integer),
    _belongs("round", "round_id"),
)
round_shot = Table(
    "round_shot",
    METADATA,
    Column("owner", Text, primary_key=True),
    Column("round_id", Text, primary_key=True),
    Column("position", Integer, primary_key=True),
    _named("hole_ref"),
    Column("number", Integer, nullable=False),
    Column("club", Text),
    Column("lie", Text),
    Column("outcome", Text),
    Column("lon_deg", Double),
    Column("lat_deg", Double),
    Column("to_pin_m", Double),
    Column("carry_m", Double),
    Column("total_m", Double),
    Column("offline_m", Double),
    Column("penalties", Integer),
    Column("plan_kept", Boolean),
    _belongs("round", "round_id"),
)
plan = _own(
    "plan",
    _named("golfer_id"),
    _named("name"),
    _named("key"),
    Column("course_key", Text),
    _named("text"),
    _belongs("golfer", "golfer_id"),
)
map_draft = _own("map_draft", _named("name"), Column("source", Text), _named("text"))

OF_GOLFER = (bag, shot_log, round_, plan)
"""What belongs to a golfer and goes with him."""
DELETABLE = (golfer, *OF_GOLFER, course, map_draft)
"""What a person saves, deletes and brings back."""

for _table, _columns in (
    (golfer, ("name",)),
    (bag, ("golfer_id", "name")),
    (shot_log, ("golfer_id", "name")),
    (plan, ("golfer_id", "name")),
    (course, ("key",)),
):
    _where = _table.c.deleted_by.is_(None)
    Index(
        f"one_{_table.name}",
        *(_table.c[name] for name in ("owner", *_columns)),
        unique=True,
        sqlite_where=_where,
        postgresql_where=_where,
    )
Index("round_by_golfer", round_.c.owner, round_.c.golfer_id, round_.c.date)
