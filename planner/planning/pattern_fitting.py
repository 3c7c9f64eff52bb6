"""From a golfer's shot log to measured patterns, and from those to a new bag."""

from __future__ import annotations

import dataclasses
from collections import Counter
from dataclasses import dataclass

from planner.errors import OptionError, ShotLogError
from planner.golfer.bag import ASSUMED_HANDICAP_INDEX, Bag, Golfer, bag_from_text
from planner.golfer.bag_writing import with_patterns
from planner.golfer.club import Club, ClubKind
from planner.golfer.club_fits import LogFit, fit_clubs, measured_pattern
from planner.golfer.club_names import club_from_name, name_key
from planner.golfer.shot_log import LogReading, ShotLog
from planner.golfer.toml_table import nearest

__all__ = ["NewBag", "ShotFit", "fit_shots", "log_clubs", "patterned_bag"]


@dataclass(frozen=True, eq=False)
class ShotFit:
    """Fits of a log; ``notes`` says what was assumed about golfer and clubs, one line each."""

    golfer: Golfer
    fits: LogFit
    notes: tuple[str, ...]


@dataclass(frozen=True)
class NewBag:
    """A bag file with measured patterns: its text, what it holds, and the clubs that changed."""

    text: str
    bag: Bag
    changed: tuple[str, ...]


def fit_shots(
    reading: LogReading,
    *,
    bag: Bag | None = None,
    handicap_index: float | None = None,
    left_handed: bool = False,
    club: str = "",
) -> ShotFit:
    """Fit every club of a log.

    Parameters
    ----------
    reading
        The log.
    bag
        Golfer and clubs that the names in the log mean; None makes the clubs from the names.
    handicap_index
        Instead of the bag's, or where there is no bag.
    left_handed
        Where there is no bag.
    club
        Which club was hit where the log has no column for it.

    Raises
    ------
    OptionError
        The log names no club and neither does ``club``, or nobody has that club.
    ShotLogError
        No shot belongs to a club that is known.
    """
    notes: list[str] = []
    golfer = bag.golfer if bag is not None else Golfer(left_handed=left_handed)
    if handicap_index is not None:
        golfer = dataclasses.replace(golfer, handicap_index=handicap_index)
    elif bag is None:
        notes.append(f"no handicap index is given; {ASSUMED_HANDICAP_INDEX:g} is assumed")
    log = reading.log
    clubs = bag.clubs if bag is not None else log_clubs(log, club)
    only = None
    if "club" not in reading.columns.index:
        only = _only_club(club, bag)
    elif club:
        notes.append(f'the log names its clubs; "{club}" is passed over')
    if bag is None:
        lofts = "clubs are taken with the usual lofts of their names"
        notes.append(f"no bag: {lofts}, carries predicted from the handicap and from one another")
    fits = fit_clubs(log, clubs, golfer, only=only)
    notes += [_unknown(name, count, clubs, bag) for name, count in fits.unmatched.items()]
    if not fits.clubs:
        source = reading.text.source
        raise ShotLogError(source, ["no shot belongs to a club that is known", *notes])
    return ShotFit(golfer, fits, (*notes, *fits.notes))


def log_clubs(log: ShotLog, only: str = "") -> tuple[Club, ...]:
    """Clubs that the names in a log tell by themselves, each once, the longest first.

    Differing names of one club, "7i" and "7 Iron", give one club under the longest name.
    """
    by_key: dict[frozenset[str], Counter[str]] = {}
    for name in [*log.club, only]:
        if name:
            by_key.setdefault(name_key(name), Counter())[name] += 1
    found = [
        club
        for names in by_key.values()
        if (club := club_from_name(max(names, key=lambda n: (len(n), names[n])))) is not None
    ]
    unique = {club.label.casefold(): club for club in found}
    order = list(ClubKind)
    return tuple(sorted(unique.values(), key=lambda c: (order.index(c.kind), c.loft)))


def patterned_bag(text: str, fits: LogFit, *, source: str, name: str = "bag") -> NewBag:
    """Bag file ``text`` with the fitted patterns filled in, read back as a plan would.

    Parameters
    ----------
    text
        The bag file, as it was when the log was fitted.
    fits
        Patterns from good lies go into the bag; those from other lies have no place there.
    source, name
        Name of the file for messages; name of the bag where the text gives none.

    Raises
    ------
    BagFileError
        The text is no usable bag, before or after.
    """
    bag = bag_from_text(text, source=source, name=name)
    patterns = {
        found.club.label: measured_pattern(found, bag.unit)
        for found in fits.for_bag()
        if found.fit.shots
    }
    new = with_patterns(text, patterns)
    return NewBag(new, bag_from_text(new, source=source, name=name), tuple(patterns))


def _only_club(club: str, bag: Bag | None) -> Club:
    if not club:
        raise OptionError(
            "the log has no column for the club: name the column (--map club=HEADING), or the "
            'club of all its shots (--club "7 iron")'
        )
    if bag is not None:
        return bag.club(club)
    found = club_from_name(club)
    if found is None:
        raise OptionError(f'"{club}" tells no kind of club; write for instance "7 iron" or "SW"')
    return found


def _unknown(name: str, count: int, clubs: tuple[Club, ...], bag: Bag | None) -> str:
    shots = f"{count} {'shot' if count == 1 else 'shots'}"
    if "putter" in name_key(name):
        return f'"{name}": {shots} left out; putts are no part of a shot pattern'
    if bag is None:
        return f'"{name}": {shots} left out; the name tells no kind of club, write "7 iron" or "SW"'
    guess = nearest(name, [club.label for club in clubs])
    hint = f'; did you mean "{guess}"?' if guess else "; add the club to the bag file"
    return f'"{name}": {shots} left out; the bag has no such club{hint}'
