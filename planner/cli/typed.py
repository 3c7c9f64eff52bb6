"""What a person types on the command line, turned into metres, seconds and radians."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from planner.errors import OptionError
from planner.units import COMPASS_POINTS, M_PER_FT, M_PER_YD, MPS_PER_MPH, RAD_PER_DEG

__all__ = ["altitude_m", "club_labels", "hole_refs", "temperature_c", "wind"]

_NUMBER = r"([-+]?\d+(?:[.,]\d+)?)"
_MPS_PER_UNIT = {
    "m/s": 1.0,
    "mps": 1.0,
    "mph": MPS_PER_MPH,
    "km/h": 1 / 3.6,
    "kmh": 1 / 3.6,
    "kph": 1 / 3.6,
    "kn": 1852 / 3600,
    "knot": 1852 / 3600,
    "knots": 1852 / 3600,
    "kt": 1852 / 3600,
}
_M_PER_UNIT = {
    "": 1.0,
    "m": 1.0,
    "metres": 1.0,
    "meters": 1.0,
    "ft": M_PER_FT,
    "feet": M_PER_FT,
    "yd": M_PER_YD,
    "yards": M_PER_YD,
}
_LONG_NAMES = {"north": "N", "east": "E", "south": "S", "west": "W"}
_CALM = {"", "0", "none", "calm", "still", "no"}


def wind(text: str) -> tuple[float | None, float]:
    """Read a wind such as ``5 m/s from SW``, ``12 mph from 225`` or ``calm``.

    Returns
    -------
    Azimuth it comes from [rad clockwise from north], None in still air, and speed [m/s].

    Raises
    ------
    OptionError
        The text is not a wind.
    """
    if text.strip().casefold() in _CALM:
        return None, 0.0
    match = re.fullmatch(
        rf"\s*{_NUMBER}\s*((?!from\b)[a-z/]*)\s+(?:from\s+)?(?:the\s+)?(.+?)\s*",
        text,
        re.IGNORECASE,
    )
    if match is None:
        raise OptionError(
            f'wind "{text}" is not understood; write for instance "5 m/s from SW", '
            '"12 mph from 225" or "calm"'
        )
    number, unit, origin = match.groups()
    if unit.casefold() not in _MPS_PER_UNIT:
        raise OptionError(
            f'wind "{text}": {f"unit {unit} is" if unit else "a speed without unit is"} not '
            "understood; write m/s, mph, km/h or kn"
        )
    speed = _float(number) * _MPS_PER_UNIT[unit.casefold()]
    if speed < 0:
        raise OptionError(f'wind "{text}": the speed is negative; write where it comes from')
    azimuth = _azimuth(origin)
    if azimuth is None:
        raise OptionError(
            f'wind "{text}": "{origin}" is no direction; write a compass point such as SW or '
            "degrees from north, 0 to 360"
        )
    return (azimuth, speed) if speed > 0 else (None, 0.0)


def temperature_c(text: str) -> float:
    """Read a temperature such as ``15``, ``15 C`` or ``59 F`` [deg C].

    Raises
    ------
    OptionError
        The text is not a temperature.
    """
    match = re.fullmatch(rf"\s*{_NUMBER}\s*(?:°|deg)?\s*([cf]?)\s*", text, re.IGNORECASE)
    if match is None:
        raise OptionError(f'temperature "{text}" is not understood; write 15, "15 C" or "59 F"')
    degrees = _float(match[1])
    return (degrees - 32.0) / 1.8 if match[2].casefold() == "f" else degrees


def altitude_m(text: str) -> float:
    """Read a height above the sea such as ``120``, ``120 m`` or ``400 ft`` [m].

    Raises
    ------
    OptionError
        The text is not a height.
    """
    match = re.fullmatch(rf"\s*{_NUMBER}\s*([a-z]*)\s*", text, re.IGNORECASE)
    if match is None or match[2].casefold() not in _M_PER_UNIT:
        raise OptionError(f'altitude "{text}" is not understood; write 120, "120 m" or "400 ft"')
    return _float(match[1]) * _M_PER_UNIT[match[2].casefold()]


def hole_refs(text: str, refs: Sequence[str]) -> tuple[str, ...]:
    """Read a choice of holes such as ``1-9``, ``3`` or ``1,4,10-12``.

    Parameters
    ----------
    text
        What was typed; empty or ``all`` for every hole.
    refs
        Refs of the course's holes in order; a range runs along this order.

    Returns
    -------
    The chosen refs in the order typed, each once.

    Raises
    ------
    OptionError
        A hole is not on the course or a range runs backwards; names all such parts.
    """
    by_folded = {ref.casefold(): position for position, ref in enumerate(refs)}
    chosen: list[str] = []
    problems: list[str] = []
    if text.strip().casefold() in ("", "all"):
        return tuple(refs)
    for part in (piece.strip() for piece in text.split(",")):
        if part.casefold() in by_folded:
            chosen.append(refs[by_folded[part.casefold()]])
            continue
        ends = [end.strip().casefold() for end in part.split("-")]
        missing = [end for end in ends if end not in by_folded]
        if missing or len(ends) != 2:
            shown = ", ".join(f'"{end}"' for end in missing) or f'"{part}"'
            problems.append(f"no hole {shown}")
            continue
        first, last = (by_folded[end] for end in ends)
        if first > last:
            problems.append(f'"{part}" runs backwards')
        chosen += refs[first : last + 1]
    if problems:
        raise OptionError(
            f'holes "{text}": {"; ".join(problems)}; the holes of this course are {", ".join(refs)}'
        )
    return tuple(dict.fromkeys(chosen))


def club_labels(texts: Sequence[str] | None) -> tuple[str, ...] | None:
    """Labels typed with commas or in several options, each once; None if none was typed."""
    labels = [label.strip() for text in texts or () for label in text.split(",")]
    return tuple(dict.fromkeys(label for label in labels if label)) or None


def _azimuth(text: str) -> float | None:
    word = re.sub(r"[\s-]", "", text).casefold()
    for name, letter in _LONG_NAMES.items():
        word = word.replace(name, letter.casefold())
    points = [point.casefold() for point in COMPASS_POINTS]
    if word in points:
        return points.index(word) * math.tau / len(points)
    match = re.fullmatch(rf"{_NUMBER}(?:°|deg|degrees)?", word)
    if match is None:
        return None
    degrees = _float(match[1])
    return degrees * RAD_PER_DEG % math.tau if 0 <= degrees <= 360 else None


def _float(number: str) -> float:
    return float(number.replace(",", "."))
