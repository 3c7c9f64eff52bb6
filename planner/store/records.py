"""What is kept, as values: a field for each column, metres, radians, UTC.

A record checks itself when it is made: what could not be kept exactly by every database, or
would fill it up, is refused with its name.
"""

from __future__ import annotations

import math
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field, fields
from datetime import UTC, date, datetime
from typing import Any

from planner.errors import StoreError

__all__ = [
    "MAX_NAME_CHARACTERS",
    "MAX_SOURCE_BYTES",
    "RoundHole",
    "RoundShot",
    "SavedBag",
    "SavedClub",
    "SavedCourse",
    "SavedDraft",
    "SavedGolfer",
    "SavedPlan",
    "SavedRound",
    "SavedShot",
    "SavedShotLog",
    "SavedThing",
    "UndoEntry",
    "new_id",
    "now",
]

MAX_NAME_CHARACTERS = 200
MAX_WORD_CHARACTERS = 1000
MAX_NOTES_CHARACTERS = 20_000
MAX_BAG_CHARACTERS = 5_000_000
MAX_PLAN_CHARACTERS = 50_000_000
MAX_SOURCE_BYTES = 200_000_000
MAX_WHOLE = 2**31 - 1
MAX_SHOTS_A_LOG = 1_000_000
MAX_SHOTS_A_ROUND = 5_000
MAX_HOLES_A_ROUND = 200
_LONG = {
    "text": MAX_PLAN_CHARACTERS,
    "notes": MAX_NOTES_CHARACTERS,
    "name": MAX_NAME_CHARACTERS,
    "course_name": MAX_NAME_CHARACTERS,
}
_MAY_BE_EMPTY = {"text"}


def new_id() -> str:
    """Name of a new row; random, so that stores can be merged."""
    return uuid.uuid4().hex


def now() -> datetime:
    """Present moment in UTC."""
    return datetime.now(UTC)


class _Checked:
    def __post_init__(self) -> None:
        for name, value in _own_values(self):
            _check(type(self).__name__, name, value)


def _own_values(record: Any) -> Iterator[tuple[str, Any]]:
    return ((one.name, getattr(record, one.name)) for one in fields(record))


def _check(kind: str, name: str, value: Any) -> None:
    wrong = ""
    if isinstance(value, str):
        most = _LONG.get(name, MAX_WORD_CHARACTERS)
        if not value and name not in _MAY_BE_EMPTY:
            wrong = "is empty; leave it out or fill it in"
        elif len(value) > most:
            wrong = f"has {len(value):,} characters; {most:,} are allowed"
        elif "\0" in value:
            wrong = "holds a null character; remove it"
        elif not _is_utf8(value):
            wrong = "is not text (a lone surrogate); save the file as UTF-8"
    elif isinstance(value, float) and not math.isfinite(value):
        wrong = f"is {value}, no number that can be kept"
    elif isinstance(value, int) and abs(value) > MAX_WHOLE:
        wrong = f"is {value:,}, too large"
    elif isinstance(value, datetime) and value.tzinfo is None:
        wrong = "has no time zone"
    if wrong:
        raise StoreError(f"{kind.removeprefix('Saved').lower()}: {name} {wrong}; nothing was saved")


def _is_utf8(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


@dataclass(frozen=True, kw_only=True)
class SavedThing(_Checked):
    """What every saved thing has: its id within the owner's things, and when it was saved."""

    id: str = field(default_factory=new_id)
    saved_at: datetime = field(default_factory=now)


@dataclass(frozen=True, kw_only=True)
class SavedGolfer(SavedThing):
    """A golfer by name."""

    name: str


@dataclass(frozen=True)
class SavedClub(_Checked):
    """A club as read from its bag; ``carry_m`` is what was measured, if anything was."""

    label: str
    kind: str
    loft_rad: float
    length_m: float | None
    tee_only: bool
    carried: bool
    price: float | None
    resale: float | None
    carry_m: float | None


@dataclass(frozen=True, kw_only=True)
class SavedBag(SavedThing):
    """A bag file's text, and the clubs it names."""

    golfer_id: str
    name: str
    text: str
    clubs: tuple[SavedClub, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SavedCourse(SavedThing):
    """A course map, whose bytes are read by themselves; ``key`` is their SHA-256."""

    key: str
    name: str
    file_name: str


@dataclass(frozen=True, kw_only=True)
class SavedDraft(SavedThing):
    """A map being drawn: its states as text.

    ``source`` is a digest of the map it began from, None for one begun from nothing.
    """

    name: str
    source: str | None = None
    text: str = field(repr=False)


@dataclass(frozen=True, kw_only=True)
class SavedShot(_Checked):
    """One shot of a log.

    ``source_row`` is its line in the file it came from; lie, outcome and date are as written.
    """

    club: str
    source_row: int | None = None
    carry_m: float | None = None
    offline_m: float | None = None
    total_m: float | None = None
    lie: str | None = None
    outcome: str | None = None
    date: str | None = None


@dataclass(frozen=True, kw_only=True)
class SavedShotLog(SavedThing):
    """Shots that came together, such as one file of them."""

    golfer_id: str
    name: str
    shots: tuple[SavedShot, ...] = field(default=(), repr=False)

    def __post_init__(self) -> None:
        super().__post_init__()
        if len(self.shots) > MAX_SHOTS_A_LOG:
            raise StoreError(
                f"shot log: {len(self.shots):,} shots; {MAX_SHOTS_A_LOG:,} are allowed; "
                "split the file; nothing was saved"
            )


@dataclass(frozen=True, kw_only=True)
class RoundHole(_Checked):
    """What was scored on a hole; None where it is not known."""

    ref: str
    par: int | None = None
    strokes: int | None = None
    putts: int | None = None
    penalties: int | None = None


@dataclass(frozen=True, kw_only=True)
class RoundShot(_Checked):
    """A stroke of a round.

    Parameters
    ----------
    hole_ref, number
        Hole, and which stroke on it (1 is the first).
    club, lie, outcome
        Words of the golfer's.
    lon_deg, lat_deg
        Where it was played from, WGS 84 [degrees].
    to_pin_m
        Distance to the pin before it [m].
    carry_m, total_m, offline_m
        What became of it [m], offline + right.
    penalties
        Penalty strokes it brought.
    plan_kept
        Whether it was the planned one.
    """

    hole_ref: str
    number: int
    club: str | None = None
    lie: str | None = None
    outcome: str | None = None
    lon_deg: float | None = None
    lat_deg: float | None = None
    to_pin_m: float | None = None
    carry_m: float | None = None
    total_m: float | None = None
    offline_m: float | None = None
    penalties: int | None = None
    plan_kept: bool | None = None


@dataclass(frozen=True, kw_only=True)
class SavedRound(SavedThing):
    """A round played; ``course_key`` names the map, which need not be kept here."""

    golfer_id: str
    date: date
    course_name: str
    course_key: str | None = None
    tee: str | None = None
    notes: str | None = None
    holes: tuple[RoundHole, ...] = ()
    shots: tuple[RoundShot, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        if len(self.holes) > MAX_HOLES_A_ROUND or len(self.shots) > MAX_SHOTS_A_ROUND:
            raise StoreError(
                f"round: {len(self.holes)} holes and {len(self.shots)} shots; at most "
                f"{MAX_HOLES_A_ROUND} and {MAX_SHOTS_A_ROUND} are allowed; nothing was saved"
            )

    @property
    def name(self) -> str:
        """Day and course."""
        return f"{self.date.isoformat()} {self.course_name}"

    @property
    def strokes(self) -> int | None:
        """Score, or None if a hole has none."""
        scores = [hole.strokes for hole in self.holes if hole.strokes is not None]
        return sum(scores) if scores and len(scores) == len(self.holes) else None


@dataclass(frozen=True, kw_only=True)
class SavedPlan(SavedThing):
    """A plan's JSON text; ``key`` is the request's."""

    golfer_id: str
    name: str
    key: str
    course_key: str | None = None
    text: str = field(repr=False)


@dataclass(frozen=True)
class UndoEntry:
    """Something that can be undone; the highest number is undone first."""

    id: str
    number: int
    what: str
    made_at: datetime
