"""Shot log: a golfer's own shots, and the rows that could not be used."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.golfer.shot_log_columns import LogColumns
from planner.golfer.shot_log_text import LogText

__all__ = ["LogReading", "Rejection", "ShotLog"]

FloatArray = NDArray[np.float64]

_TIME_OF_DAY = re.compile(r"[ ,T]+\d{1,2}[:.]\d\d.*$")


@dataclass(frozen=True, eq=False)
class ShotLog:
    """Shots of one golfer, all arrays and tuples of one length n.

    Parameters
    ----------
    club
        Name of the club as written; empty where the log names none.
    carry_m, offline_m
        Carry, and its distance off the aim line, + right [m].
    total_m
        Carry and run [m], nan where unknown.
    lie
        Lie, or None where unknown or the club's usual good one.
    outcome, date
        As written, empty where absent.
    row
        Line of the file where the shot stands, counted from 1.
    """

    club: tuple[str, ...]
    carry_m: FloatArray
    offline_m: FloatArray
    total_m: FloatArray
    lie: tuple[Lie | None, ...]
    outcome: tuple[str, ...]
    date: tuple[str, ...]
    row: NDArray[np.int64]

    def __post_init__(self) -> None:
        count = len(self.club)
        for name in ("carry_m", "offline_m", "total_m", "row"):
            kind = np.int64 if name == "row" else np.float64
            value = np.array(getattr(self, name), dtype=kind)
            if value.shape != (count,):
                raise ValueError(f"{name} must have shape ({count},), got {value.shape}")
            value.setflags(write=False)
            object.__setattr__(self, name, value)
        for texts in (self.lie, self.outcome, self.date):
            if len(texts) != count:
                raise ValueError(f"every column must have {count} entries, got {len(texts)}")
        if not (np.isfinite(self.carry_m).all() and np.isfinite(self.offline_m).all()):
            raise ValueError("carry and offline must be finite")

    def __len__(self) -> int:
        """Count the shots."""
        return len(self.club)

    @property
    def days(self) -> int:
        """Number of different dates."""
        return len({day for i in range(len(self)) if (day := self.day(i))})

    def day(self, shot: int) -> str:
        """Date of a shot as written, without the time of day."""
        return _TIME_OF_DAY.sub("", self.date[shot])


@dataclass(frozen=True)
class Rejection:
    """A row that is left out: where it stands, what is wrong with it, and what to do."""

    line: int
    column: str
    value: str
    reason: str
    remedy: str

    def __str__(self) -> str:
        """Say all of it on one line."""
        value = f' "{self.value}"' if self.value else ""
        return f"line {self.line}, {self.column}:{value} {self.reason}; {self.remedy}"


@dataclass(frozen=True, eq=False)
class LogReading:
    """Shots of a log, every row that was left out, and how the file was read."""

    text: LogText
    columns: LogColumns
    log: ShotLog
    rejected: tuple[Rejection, ...]
    notes: tuple[str, ...] = ()
