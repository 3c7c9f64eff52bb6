"""Shot logs for the page: the demo's or uploaded, split, read and fitted once for each content."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import streamlit as st

from planner.demo_data import demo_folder
from planner.errors import PlannerError, ShotLogError
from planner.golfer.bag import Bag
from planner.golfer.shot_log import LogReading
from planner.golfer.shot_log_columns import LogColumns, find_columns
from planner.golfer.shot_log_reading import read_shots, units_unknown
from planner.golfer.shot_log_text import LogText, split_rows
from planner.page.inputs import InputFile
from planner.page.work import in_turn
from planner.planning.pattern_fitting import NewBag, ShotFit, fit_shots, patterned_bag
from planner.units import DistanceUnit

__all__ = ["Fitted", "Opened", "Read", "demo_logs", "fitted", "opened", "read"]


@dataclass(frozen=True, eq=False)
class Opened:
    """A log split into cells with its columns guessed, or every problem that it has."""

    text: LogText | None = None
    columns: LogColumns | None = None
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Read:
    """Shots of a log, or what is in the way; ``unknown`` are headings whose unit must be asked."""

    key: str
    reading: LogReading | None = None
    unknown: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Fitted:
    """Fits of a log and the bag they make, or what is in the way."""

    fit: ShotFit | None = None
    new_bag: NewBag | None = None
    problems: tuple[str, ...] = ()


def demo_logs() -> dict[str, Path]:
    """Demo shot logs by stem, which is that of their golfer's bag."""
    return {path.stem: path for path in sorted((demo_folder() / "shots").glob("*.csv"))}


def opened(file: InputFile) -> Opened:
    """Split a log; the result is shared by all sessions and must not be changed."""
    return _opened(file.digest, file)


@st.cache_resource(max_entries=8, show_spinner=False)
def _opened(digest: str, _file: InputFile) -> Opened:
    return in_turn(_open, _file)


def _open(file: InputFile) -> Opened:
    try:
        text = split_rows(file.name, file.content)
        return Opened(text, find_columns(text))
    except ShotLogError as error:
        return Opened(problems=error.problems)


def read(file: InputFile, fields: Mapping[str, int | None], unit: DistanceUnit | None) -> Read:
    """Read the shots of an opened log with its columns as chosen."""
    key = repr((file.digest, sorted(fields.items()), unit))
    return _read(hashlib.sha256(key.encode()).hexdigest(), file, dict(fields), unit)


@st.cache_resource(max_entries=8, show_spinner=False)
def _read(
    key: str, _file: InputFile, _fields: Mapping[str, int | None], _unit: DistanceUnit | None
) -> Read:
    # Before the turn, not within: a turn that waits for another would never end.
    log = opened(_file)
    if log.text is None or log.columns is None:
        return Read(key, problems=log.problems)
    return in_turn(_read_log, key, log.text, log.columns.with_fields(_fields), _unit)


def _read_log(key: str, text: LogText, columns: LogColumns, unit: DistanceUnit | None) -> Read:
    try:
        unknown = units_unknown(text, columns)
        if unknown and unit is None and not columns.missing:
            return Read(key, unknown=tuple(columns.heading(name) for name in unknown))
        return Read(key, read_shots(text, columns, unit=unit))
    except ShotLogError as error:
        return Read(key, problems=error.problems)


def fitted(shots: Read, bag_file: InputFile, bag: Bag, club: str) -> Fitted:
    """Fit a log that was read to the clubs of a bag, and fill the bag in."""
    return _fitted(shots.key, bag_file.digest, club, shots, bag_file, bag)


@st.cache_resource(max_entries=8, show_spinner=False)
def _fitted(
    key: str, digest: str, club: str, _shots: Read, _bag_file: InputFile, _bag: Bag
) -> Fitted:
    if _shots.reading is None:
        return Fitted(problems=_shots.problems)
    return in_turn(_fit, _shots.reading, _bag_file, _bag, club)


def _fit(reading: LogReading, bag_file: InputFile, bag: Bag, club: str) -> Fitted:
    try:
        fit = fit_shots(reading, bag=bag, club=club)
        text = bag_file.content.decode("utf-8-sig")
        name = Path(bag_file.name).stem
        return Fitted(fit, patterned_bag(text, fit.fits, source=bag_file.name, name=name))
    except ShotLogError as error:
        return Fitted(problems=error.problems)
    except PlannerError as error:
        return Fitted(problems=(str(error),))
