"""A bag file with the shot log it names: the patterns of a golfer's own shots, fitted once.

A fit depends on the log's bytes, how they are read, the clubs and the golfer, and on nothing else,
so it is kept under a digest of these: in memory, and as a small file in the user's cache folder.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
import os
import threading
from collections import OrderedDict
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from planner import __version__
from planner.errors import BagFileError, InputFileError, OptionError
from planner.golfer.bag import Bag, read_bag
from planner.golfer.club import Club, ClubKind, MeasuredMishit, MeasuredPattern
from planner.golfer.club_fits import measured_pattern
from planner.golfer.shot_log import LogReading
from planner.golfer.shot_log_columns import find_columns
from planner.golfer.shot_log_reading import read_shot_log, read_shots
from planner.golfer.shot_log_reference import ShotLogReference, log_file
from planner.golfer.shot_log_text import file_content, split_rows
from planner.planning.pattern_fitting import fit_shots
from planner.store.location import cache_folder

__all__ = ["bag_with_log", "read_bag_file", "read_log"]

KEPT_FITS, KEPT_FILES = 32, 200
"""Fits kept in memory and in the cache folder; the oldest go first."""
_FIT_VERSION = 1
"""To be raised when a fit of the same shots changes."""


@dataclass(frozen=True)
class _Kept:
    """Patterns of a log by label, and what is to be said of it."""

    patterns: Mapping[str, MeasuredPattern]
    notes: tuple[str, ...]


_memory: OrderedDict[str, _Kept] = OrderedDict()
_lock = threading.Lock()


def read_bag_file(path: str | Path, *, shots: Path | None = None) -> Bag:
    """Read a bag file, and the shot log it names or ``shots`` instead.

    Every club with shots in the log gets the pattern fitted to them, but those whose pattern the
    file itself gives.

    Raises
    ------
    BagFileError
        The bag or its log cannot be used; the error lists every problem with its remedy.
    ShotLogError
        ``shots`` cannot be used.
    """
    bag = read_bag(path)
    if shots is not None:
        how = bag.shot_log or ShotLogReference(shots.name)
        return bag_with_log(bag, how, file_content(shots), source=str(shots))
    if bag.shot_log is None:
        return bag
    file = log_file(bag.shot_log, Path(path))
    try:
        return bag_with_log(bag, bag.shot_log, file_content(file), source=str(file))
    except InputFileError as error:
        problems = [f'shot_log "{bag.shot_log.file}": {problem}' for problem in error.problems]
        raise BagFileError(str(path), problems) from None
    except OptionError as error:
        problem = f'shot_log "{bag.shot_log.file}": {error}'
        raise BagFileError(str(path), [problem]) from None


def bag_with_log(bag: Bag, how: ShotLogReference, content: bytes, *, source: str) -> Bag:
    """Fill in the patterns fitted to a log, ``content``, where the bag gives none of its own.

    Raises
    ------
    ShotLogError
        The log cannot be used.
    OptionError
        It names no club, and neither does ``how``.
    """
    key = _digest(bag, how, content)
    kept = _recalled(key)
    if kept is None:
        kept = _fitted(bag, how, content, source)
        _keep(key, kept)
    given = [club.label for club in bag.clubs if club.pattern is not None]
    clubs = tuple(
        club
        if club.pattern is not None or club.label not in kept.patterns
        else dataclasses.replace(club, pattern=kept.patterns[club.label])
        for club in bag.clubs
    )
    said = [f"shot log {how.file}: {note}" for note in kept.notes]
    both = [label for label in given if label in kept.patterns]
    if both:
        own = f"the bag's own patterns are used, not the log's: {', '.join(both)}"
        said.append(f"shot log {how.file}: {own}")
    absent = (finding for finding in bag.findings if not finding.startswith("shot log "))
    return dataclasses.replace(bag, clubs=clubs, findings=(*absent, *said))


def read_log(how: ShotLogReference, file: Path) -> LogReading:
    """Read a log as a bag file says.

    Raises
    ------
    ShotLogError
        The log cannot be used.
    """
    return read_shot_log(file, chosen=how.chosen, unit=how.unit)


def _fitted(bag: Bag, how: ShotLogReference, content: bytes, source: str) -> _Kept:
    text = split_rows(source, content)
    reading = read_shots(text, find_columns(text, how.chosen), unit=how.unit)
    found = fit_shots(reading, bag=bag, club=how.club)
    patterns = {
        one.club.label: measured_pattern(one, bag.unit)
        for one in found.fits.for_bag()
        if one.fit.shots
    }
    notes = [*reading.notes, *found.notes]
    if reading.rejected:
        rows = {rejection.line for rejection in reading.rejected}
        notes.append(f"{len(rows)} rows are left out; planner fit says which and why")
    unsettled = [one.title for one in found.fits.clubs if not one.fit.converged]
    if unsettled:
        notes.append(f"not settled, provisional: {', '.join(unsettled)}")
    return _Kept(patterns, tuple(notes))


def _digest(bag: Bag, how: ShotLogReference, content: bytes) -> str:
    golfer = bag.golfer
    who = (golfer.handicap_index, golfer.left_handed, golfer.delivery)
    clubs = [(_bare(club), club.pattern) for club in bag.clubs]
    parts = (__version__, _FIT_VERSION, how.unit, how.columns, how.club, bag.unit, who, clubs)
    return hashlib.sha256(repr(parts).encode() + b"\0" + content).hexdigest()


def _bare(club: Club) -> tuple[str, ClubKind, float, float | None, float | None, bool]:
    return (
        club.label,
        club.kind,
        club.loft,
        club.length_m,
        club.head_inertia_kg_m2,
        club.tee_only,
    )


def _recalled(key: str) -> _Kept | None:
    with _lock:
        if key in _memory:
            _memory.move_to_end(key)
            return _memory[key]
    try:
        values = json.loads(_file_of(key).read_bytes())
        found = _Kept(
            {label: _pattern(value) for label, value in values["patterns"].items()},
            tuple(map(str, values["notes"])),
        )
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        # A cache that cannot be read is as good as none.
        return None
    _remember(key, found)
    return found


def _keep(key: str, kept: _Kept) -> None:
    _remember(key, kept)
    content = {
        "patterns": {label: dataclasses.asdict(one) for label, one in kept.patterns.items()},
        "notes": kept.notes,
    }
    file = _file_of(key)
    # Where nothing can be written the next program fits again.
    with suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        draft = file.with_suffix(f".{os.getpid()}.{threading.get_ident()}")
        draft.write_text(json.dumps(content), encoding="utf-8")
        draft.replace(file)
        _thin(file.parent)


def _remember(key: str, kept: _Kept) -> None:
    with _lock:
        _memory[key] = kept
        while len(_memory) > KEPT_FITS:
            _memory.popitem(last=False)


def _thin(folder: Path) -> None:
    files = sorted(folder.glob("*.json"), key=lambda file: file.stat().st_mtime)
    for file in files[:-KEPT_FILES]:
        file.unlink(missing_ok=True)


def _file_of(key: str) -> Path:
    return cache_folder() / "fits" / f"{key}.json"


def _pattern(values: Mapping[str, Any]) -> MeasuredPattern:
    mishits = values["mishits"]
    read = None if mishits is None else tuple(MeasuredMishit(**mishit) for mishit in mishits)
    return MeasuredPattern(**{**values, "mishits": read})
