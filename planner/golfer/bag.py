"""The golfer and his bag, and the bag file.

A bag file is TOML. Distances in it are metres, or yards if its ``units`` says so; angles are
degrees, lengths of clubs inches, speeds miles an hour. Everything is turned into metres and
radians here and nowhere else.
"""

from __future__ import annotations

import dataclasses
import tomllib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from planner.errors import BagFileError, OptionError
from planner.golfer.club import Club, ClubKind, MeasuredMishit, MeasuredPattern
from planner.golfer.shot_log_reference import ShotLogReference, read_reference
from planner.golfer.toml_table import TomlTable, nearest
from planner.units import KG_M2_PER_G_CM2, M_PER_IN, MPS_PER_MPH, RAD_PER_DEG, DistanceUnit

__all__ = [
    "CLUB_LIMIT",
    "Bag",
    "Delivery",
    "Golfer",
    "PuttingSpread",
    "bag_from_text",
    "bag_text",
    "read_bag",
]

CLUB_LIMIT = 14
"""Most clubs a player may carry (Rules of Golf 2023, Rule 4.1b)."""
MAX_FILE_BYTES = 300_000
MAX_LINE_CHARACTERS, MAX_LINE_DOTS = 10_000, 200
"""Longest line of a bag file. A key of many parts costs the square of their number to read."""
MAX_CLUBS = 200
"""Clubs of a file, carried and candidates."""
BAG_FORMAT = 1
ASSUMED_HANDICAP_INDEX = 18.0
"""Handicap index of a golfer whose file gives none."""
FEW_SHOTS = 10
"""Below this many shots a measured pattern is called uncertain: with 10 shots the 95 % limits
of a standard deviation are 0.69 and 1.83 of it (chi-square, 9 degrees of freedom)."""
MAX_CARRY_M, MAX_OFFLINE_M, MAX_SD_M, MAX_RUN_M = 400.0, 150.0, 150.0, 120.0
MAX_MISHIT_SHARE = 0.95
HEAD_INERTIA_LIMITS_G_CM2 = (500.0, 6000.0)
"""Inertia of a head [g cm2]. The Equipment Rules allow 5900, and 100 more as the tolerance of the
test (the tolerance from memory)."""
LOFT_LIMITS_DEG = {
    ClubKind.DRIVER: (5.0, 20.0),
    ClubKind.WOOD: (10.0, 35.0),
    ClubKind.HYBRID: (13.0, 42.0),
    ClubKind.IRON: (12.0, 52.0),
    ClubKind.WEDGE: (40.0, 72.0),
    ClubKind.PUTTER: (-6.0, 12.0),
}
"""Lofts with which clubs of a kind are built (common practice, with room to spare)."""
PLAUSIBLE_CARRY_M = {
    ClubKind.DRIVER: (60.0, 320.0),
    ClubKind.WOOD: (50.0, 290.0),
    ClubKind.HYBRID: (45.0, 255.0),
    ClubKind.IRON: (35.0, 240.0),
    ClubKind.WEDGE: (25.0, 150.0),
    ClubKind.PUTTER: (0.0, MAX_CARRY_M),
}
"""Carries outside are shown as findings: beyond what any golfer does (common practice)."""


@dataclass(frozen=True)
class Delivery:
    """How the golfer brings the club to the ball, known for one club.

    Parameters
    ----------
    club
        Label of the club whose speed is known.
    speed_mps
        Speed of the club's head before impact [m/s].
    attack
        Angle of the head's path above the horizontal [rad]; None if unknown.
    loft_taken_off
        Static loft less loft at impact [rad]; None if unknown.
    """

    club: str
    speed_mps: float
    attack: float | None = None
    loft_taken_off: float | None = None


@dataclass(frozen=True)
class PuttingSpread:
    """The golfer's own putting deviations, None where the handicap's default is meant.

    Parameters
    ----------
    angle_sd
        Standard deviation of the start direction [rad].
    distance_sd
        Standard deviation of the distance as a share of the intended one.
    """

    angle_sd: float | None = None
    distance_sd: float | None = None


@dataclass(frozen=True)
class Golfer:
    """Facts of a golfer.

    ``short_game_factor`` multiplies the spread of partial swings; 1 is typical for the
    handicap. ``handicap_index`` is negative for a plus handicap.
    """

    name: str = "golfer"
    handicap_index: float = ASSUMED_HANDICAP_INDEX
    left_handed: bool = False
    notes: str = ""
    delivery: Delivery | None = None
    putting: PuttingSpread = PuttingSpread()
    short_game_factor: float = 1.0


@dataclass(frozen=True)
class Bag:
    """A golfer with the clubs he carries and those he might.

    ``unit`` is the unit the file was written in, for showing distances back to the golfer;
    ``findings`` says, one line each, what is odd or was assumed. ``shot_log`` is the log the file
    names; reading the bag alone does not open it.
    """

    name: str
    golfer: Golfer
    clubs: tuple[Club, ...]
    currency: str = ""
    unit: DistanceUnit = DistanceUnit.METRES
    findings: tuple[str, ...] = ()
    shot_log: ShotLogReference | None = None

    def club(self, label: str) -> Club:
        """Return the club called ``label``.

        Raises
        ------
        OptionError
            No club has that label; the text names the nearest one.
        """
        for club in self.clubs:
            if club.label.casefold() == label.casefold():
                return club
        labels = [club.label for club in self.clubs]
        guess = nearest(label, labels)
        hint = f'did you mean "{guess}"?' if guess else f"clubs: {', '.join(labels)}"
        raise OptionError(f'bag "{self.name}" has no club "{label}"; {hint}')

    @property
    def excess(self) -> int:
        """How many clubs too many are carried under Rule 4.1b."""
        return max(0, sum(club.carried for club in self.clubs) - CLUB_LIMIT)

    def carried(self) -> tuple[Club, ...]:
        """Return the clubs in the bag now.

        Raises
        ------
        OptionError
            More clubs than Rule 4.1b allows; the text says how many too many.
        """
        if self.excess:
            raise OptionError(f'bag "{self.name}": {_excess_text(self.clubs)}')
        return tuple(club for club in self.clubs if club.carried)

    def with_clubs(self, labels: Iterable[str]) -> Bag:
        """Return the same bag with exactly the clubs ``labels`` carried, the rest candidates.

        Raises
        ------
        OptionError
            A label is unknown. The number of clubs is checked by :meth:`carried`.
        """
        wanted = {self.club(label).label for label in labels}
        clubs = tuple(
            dataclasses.replace(club, carried=club.label in wanted) for club in self.clubs
        )
        return dataclasses.replace(self, clubs=clubs)


def read_bag(path: str | Path) -> Bag:
    """Read a bag file.

    Raises
    ------
    BagFileError
        The file cannot be used; the error lists every problem with its remedy.
    """
    return bag_from_text(bag_text(path), source=str(path), name=Path(path).stem)


def bag_from_text(text: str, *, source: str, name: str = "bag") -> Bag:
    """Read the text of a bag file.

    Parameters
    ----------
    text
        TOML, as :func:`bag_text` gives it.
    source
        What the text is called in the error.
    name
        Name of the bag where the text gives none.

    Raises
    ------
    BagFileError
        The text cannot be used; the error lists every problem with its remedy.
    """
    document = _parse(text, source)
    problems: list[str] = []
    findings: list[str] = []
    top = TomlTable(document, problems)
    number = top.whole("format", 1, 1_000_000)
    if number is not None and number != BAG_FORMAT:
        top.fault("format", f"{number} is not known; this program reads format = {BAG_FORMAT}")
    name = top.text("name") or name
    top.unit = DistanceUnit(top.choice("units", [u.value for u in DistanceUnit]) or "metres")
    currency = top.text("currency") or ""
    golfer_table = top.table("golfer")
    log_table = top.table("shot_log")
    rows = top.rows("club", title="label", required="add a [[club]] table for each club") or []
    top.finish()
    golfer = Golfer()
    if golfer_table is not None:
        golfer = _golfer(golfer_table)
    if golfer_table is None or "handicap_index" not in golfer_table:
        findings.append(f"golfer: no handicap_index; {ASSUMED_HANDICAP_INDEX:g} is assumed")
    if len(rows) > MAX_CLUBS:
        top.fault("club", f"{len(rows)} clubs are given; at most {MAX_CLUBS} are read")
        rows = rows[:MAX_CLUBS]
    clubs = [club for club in map(_club, rows) if club is not None]
    problems += _bag_problems(golfer, clubs, complete=len(clubs) == len(rows))
    shot_log = None if log_table is None else read_reference(log_table)
    if problems:
        raise BagFileError(source, problems)
    if shot_log is not None and any(club.pattern is None for club in clubs):
        said = "not at hand; its clubs are predicted until it is fitted"
        findings.append(f"shot log {shot_log.file}: {said}")
    findings += _odd_clubs(clubs)
    return Bag(name, golfer, tuple(clubs), currency, top.unit, tuple(findings), shot_log)


def bag_text(path: str | Path) -> str:
    """Text of a bag file, whatever it says.

    Raises
    ------
    BagFileError
        The file cannot be read, is too large or no text.
    """
    path, source = Path(path), str(path)
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise BagFileError(source, ["is a folder; name a bag file (.toml)"])
        if size > MAX_FILE_BYTES:
            raise BagFileError(source, [_too_large(size)])
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise BagFileError(source, ["does not exist; check the path"]) from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise BagFileError(
            source, [f"line {line}: is not UTF-8 text; save the file as UTF-8"]
        ) from None
    except OSError as error:
        raise BagFileError(source, [f"cannot be read: {error.strerror}"]) from None


def _too_large(size: int) -> str:
    return (
        f"is {size / 1e6:.3g} MB; a bag file has at most {MAX_FILE_BYTES / 1e6:g} MB: "
        "leave out what is no club"
    )


def _parse(text: str, source: str) -> dict[str, Any]:
    if len(text) > MAX_FILE_BYTES:
        raise BagFileError(source, [_too_large(len(text))])
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > MAX_LINE_CHARACTERS or line.count(".") > MAX_LINE_DOTS:
            problem = (
                f"line {number}: is too long; no line needs {MAX_LINE_CHARACTERS:,} characters"
            )
            raise BagFileError(source, [f"{problem} or {MAX_LINE_DOTS} dots"])
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        # Not only the parser's own fault: numbers of thousands of digits are a plain ValueError.
        raise BagFileError(
            source, [f"is not TOML: {error}; see the bags in courses_demo for the layout"]
        ) from None


def _golfer(table: TomlTable) -> Golfer:
    default = Golfer()
    hand = table.choice("handed", ("right", "left"))
    handicap = table.number("handicap_index", -10.0, 54.0)
    name = table.text("name") or default.name
    notes = table.text("notes") or ""
    delivery = None
    if (part := table.table("delivery")) is not None:
        club = part.text("club", required="name the club whose speed is known")
        speed = part.number("speed_mph", 20, 160, unit="mph", required="give the club speed")
        attack = part.number("attack_deg", -15, 15, unit="degrees")
        taken_off = part.number("loft_taken_off_deg", -15, 20, unit="degrees")
        part.finish()
        if club is not None and speed is not None:
            delivery = Delivery(
                club,
                speed * MPS_PER_MPH,
                None if attack is None else attack * RAD_PER_DEG,
                None if taken_off is None else taken_off * RAD_PER_DEG,
            )
    putting = default.putting
    if (part := table.table("putting")) is not None:
        angle = part.number("angle_sd_deg", 0, 10, unit="degrees", above=True)
        distance = part.number("distance_sd", 0, 0.5, above=True)
        part.finish()
        putting = PuttingSpread(None if angle is None else angle * RAD_PER_DEG, distance)
    factor = default.short_game_factor
    if (part := table.table("short_game")) is not None:
        factor = part.number("spread_factor", 0.2, 5.0) or factor
        part.finish()
    table.finish()
    return Golfer(
        name,
        default.handicap_index if handicap is None else handicap,
        hand == "left",
        notes,
        delivery,
        putting,
        factor,
    )


def _club(table: TomlTable) -> Club | None:
    label = table.text("label", required="give the club a name of its own")
    kind = table.choice("kind", tuple(ClubKind), required="write one of: " + ", ".join(ClubKind))
    is_putter = kind == ClubKind.PUTTER
    low, high = (-6.0, 80.0) if kind is None else LOFT_LIMITS_DEG[ClubKind(kind)]
    loft = table.number(
        "loft_deg",
        low,
        high,
        unit=f"degrees for a {kind}" if kind else "degrees",
        required=None if is_putter else "give the loft in degrees",
    )
    length = table.number("length_in", 15, 60, unit="inches")
    inertia = table.number("head_inertia_g_cm2", *HEAD_INERTIA_LIMITS_G_CM2, unit="g cm2")
    tee_only = table.flag("tee_only") or False
    status = table.choice("status", ("bag", "candidate")) or "bag"
    price = table.number("price", 0, 1e9)
    resale = table.number("resale", 0, 1e9)
    pattern = None
    if (part := table.table("pattern")) is not None:
        pattern = _pattern(part)
        if is_putter:
            table.fault("pattern", "a putter has none; remove it, putting stands in [golfer]")
    if is_putter and inertia is not None:
        table.fault("head_inertia_g_cm2", "plays no part with a putter; remove it")
    table.finish()
    if label is None or kind is None or (loft is None and not is_putter):
        return None
    return Club(
        label,
        ClubKind(kind),
        (loft or 0.0) * RAD_PER_DEG,
        None if length is None else length * M_PER_IN,
        tee_only,
        status == "bag",
        price,
        resale,
        pattern,
        None if inertia is None else inertia * KG_M2_PER_G_CM2,
    )


def _pattern(table: TomlTable) -> MeasuredPattern | None:
    carry = table.metres(
        "carry", 0, MAX_CARRY_M, above=True, required="give the mean carry of stock shots"
    )
    offline = table.metres("offline", -MAX_OFFLINE_M, MAX_OFFLINE_M)
    carry_sd = table.metres("carry_sd", 0, MAX_SD_M, above=True)
    offline_sd = table.metres("offline_sd", 0, MAX_SD_M, above=True)
    correlation = table.number("correlation", -0.99, 0.99)
    run = table.metres("run", 0, MAX_RUN_M)
    shots = table.whole("shots", 1, 1_000_000)
    fitted = table.flag("fitted") or False
    rows = table.rows("mishit", title="name")
    table.finish()
    mishits = None
    if rows is not None:
        read = [_mishit(row, i) for i, row in enumerate(rows, start=1)]
        mishits = tuple(mishit for mishit in read if mishit is not None)
        share = sum(mishit.share for mishit in mishits)
        if share > MAX_MISHIT_SHARE:
            table.fault(
                "mishit", f"shares add up to {share:.2f}; lower them to {MAX_MISHIT_SHARE} in all"
            )
    if carry is None:
        return None
    return MeasuredPattern(
        carry, offline, carry_sd, offline_sd, correlation, run, shots, mishits, fitted
    )


def _mishit(table: TomlTable, number: int) -> MeasuredMishit | None:
    name = table.text("name") or f"mishit {number}"
    share = table.number(
        "share", 0, MAX_MISHIT_SHARE, above=True, required="give its share of all shots"
    )
    carry = table.metres("carry", 0, MAX_CARRY_M, required="give its mean carry")
    offline = table.metres("offline", -MAX_OFFLINE_M, MAX_OFFLINE_M) or 0.0
    carry_sd = table.metres(
        "carry_sd", 0, MAX_SD_M, above=True, required="give the standard deviation of its carry"
    )
    offline_sd = table.metres(
        "offline_sd", 0, MAX_SD_M, above=True, required="give the standard deviation of offline"
    )
    table.finish()
    if share is None or carry is None or carry_sd is None or offline_sd is None:
        return None
    return MeasuredMishit(name, share, carry, offline, carry_sd, offline_sd)


def _bag_problems(golfer: Golfer, clubs: list[Club], *, complete: bool) -> list[str]:
    """Faults that no single table shows; ``complete`` if every club table could be read."""
    problems = []
    counts = Counter(club.label.casefold() for club in clubs)
    for club in clubs:
        if counts.pop(club.label.casefold(), 1) > 1:
            problems.append(f'club "{club.label}": label is used more than once; rename one')
    carried = [club for club in clubs if club.carried]
    if complete and not any(club.kind is ClubKind.PUTTER for club in carried):
        problems.append(
            'club: no putter in the bag; add a [[club]] with kind = "putter" and status = "bag"'
        )
    if complete and all(club.kind is ClubKind.PUTTER for club in carried):
        problems.append("club: nothing but putters in the bag; add the clubs for the long game")
    if len(carried) > CLUB_LIMIT:
        problems.append(f"club: {_excess_text(clubs)}")
    delivery = golfer.delivery
    if complete and delivery is not None:
        labels = [club.label for club in clubs if club.kind is not ClubKind.PUTTER]
        if delivery.club.casefold() not in (label.casefold() for label in labels):
            guess = nearest(delivery.club, labels)
            hint = f'did you mean "{guess}"?' if guess else "name a club of this file"
            problems.append(f'golfer, delivery: club: no club "{delivery.club}"; {hint}')
    return problems


def _excess_text(clubs: Iterable[Club]) -> str:
    carried = sum(club.carried for club in clubs)
    excess = carried - CLUB_LIMIT
    return (
        f"{carried} clubs are in the bag, {excess} too many: Rule 4.1b allows {CLUB_LIMIT}; "
        f'give {excess} of them status = "candidate"'
    )


def _odd_clubs(clubs: Iterable[Club]) -> list[str]:
    """List what can be used but may be a slip of the pen."""
    findings = []
    hit = []
    for club in clubs:
        if club.pattern is None:
            continue
        hit.append((club, club.pattern.carry_m))
        shots = club.pattern.shots
        if shots is not None and shots < FEW_SHOTS and club.pattern.has_spread:
            findings.append(
                f'club "{club.label}": measured on only {shots} shots; its spread is uncertain'
            )
    for club, carry in hit:
        low, high = PLAUSIBLE_CARRY_M[club.kind]
        if not low <= carry <= high:
            findings.append(
                f'club "{club.label}": a carry of {carry:.0f} m is unusual for this kind of club; '
                "check the number and the file's units"
            )
    return findings
