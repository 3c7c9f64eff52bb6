"""Teeing grounds of a hole: their names and places."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.hole import Point, playing_length
from planner.course.map_features import MapFeature
from planner.course.refs import CardHole
from planner.course.tags import number, unit_factor, unit_word

_NAME_KEYS = ("tee", "tee:colour", "tee:color", "colour", "color")
_NOT_NAMES = {"", "yes", "tee", "box"}
DIST_UNITS = {"metres": 1.0, "yards": 0.9144, "feet": 0.3048}
ASSUMED_DIST_ERROR = 0.25
"""A dist tag farther than this share from the line's length is not believed; assumed."""
ASSUMED_SAME_TEE_M = 15.0
"""An unnamed tee takes the name of a dist tag if the lengths differ by less [m]; assumed."""


@dataclass(frozen=True)
class PlacedTee:
    """A named teeing ground in projected coordinates [m]."""

    name: str
    place_proj: Point


def dist_tags(hole: CardHole) -> dict[str, tuple[float, str]]:
    """Values and unit words of ``dist:<colour>`` (or ``dist_<colour>``) by colour.

    Plain ``dist`` has the empty name.
    """
    found = {}
    for key, text in hole.drawn.feature.tags.items():
        match = re.fullmatch(r"dist(?:ance)?(?:[:_](.+))?", key)
        value = number(text)
        if match and value and value > 0:
            found[(match[1] or "").lower()] = (value, unit_word(text))
    return found


def dist_unit(holes: Sequence[CardHole], log: FindingLog) -> float | None:
    """Metres in the unit of the course's dist tags, or None if no unit fits.

    The tag's unit is undocumented, so the longest dist of every hole is compared with the
    hole's line: the unit whose median ratio is nearest to one is taken, for the whole course.
    """
    ratios = []
    for hole in holes:
        values = [value for value, unit in dist_tags(hole).values() if not unit_factor(unit)]
        if values:
            ratios.append(max(values) / hole.drawn.line_proj.length)
    if not ratios:
        return None
    misfit = {
        unit: abs(math.log(float(np.median(ratios)) * metres))
        for unit, metres in DIST_UNITS.items()
    }
    best, second = sorted(misfit, key=lambda unit: misfit[unit])[:2]
    problem = f"dist tags of {len(ratios)} holes have no unit"
    if misfit[best] > ASSUMED_DIST_ERROR:
        log.warning(
            WHOLE_FILE,
            f"{problem}, and fit the lines neither in metres nor yards nor feet",
            "not used",
        )
        return None
    log.assume(
        "note",
        WHOLE_FILE,
        problem,
        f"read as {best}, which differ from the lines by {100 * misfit[best]:.0f} % "
        f"({second}: {100 * misfit[second]:.0f} %)",
    )
    return DIST_UNITS[best]


def tees_of(
    hole: CardHole,
    line_proj: shapely.LineString,
    grounds: Sequence[MapFeature],
    unit: float | None,
    log: FindingLog,
) -> tuple[PlacedTee, ...]:
    """Teeing grounds of a hole from longest to shortest, each name once.

    Parameters
    ----------
    hole
        The hole, for its ref and dist tags.
    line_proj
        Its line of play to the pin [m].
    grounds
        The tees that belong to it, areas or points.
    unit
        Metres in the unit of the dist tags, or None.
    log
        Where assumptions go.
    """
    named: list[PlacedTee] = []
    unnamed: list[Point] = []
    for ground in grounds:
        place = (ground.shape_proj.centroid.x, ground.shape_proj.centroid.y)
        names = names_of(ground.tags, hole.ref)
        named.extend(PlacedTee(name, place) for name in names)
        if not names:
            unnamed.append(place)
    taken = {tee.name for tee in named}
    for name, distance in _distances(hole, line_proj, unit, log).items():
        if name in taken:
            continue
        place = _from_pin(line_proj, distance)
        near = min(
            unnamed, key=lambda p: abs(playing_length(line_proj, p) - distance), default=None
        )
        if near and abs(playing_length(line_proj, near) - distance) <= ASSUMED_SAME_TEE_M:
            place = near
            unnamed.remove(near)
        named.append(PlacedTee(name, place))
        taken.add(name)
    unnamed.sort(key=lambda place: -playing_length(line_proj, place))
    words = [word for word in _words(len(unnamed)) if word not in taken]
    named.extend(PlacedTee(word, place) for word, place in zip(words, unnamed, strict=False))
    if not named:
        log.assume(
            "warning",
            hole.drawn.feature_id,
            f"hole {hole.ref}: no tee is drawn",
            "played from the start of its line",
        )
        named = [PlacedTee("back", (line_proj.coords[0][0], line_proj.coords[0][1]))]
    return _each_once(hole, line_proj, named, log)


def names_of(tags: Mapping[str, str], ref: str = "") -> tuple[str, ...]:
    """Names of the tee sets played from one ground, lower case; empty if it has none."""
    for key in _NAME_KEYS:
        names = _split(tags.get(key, ""))
        if names:
            return names
    # A name often only repeats the hole: "Tee 7", "7".
    plain = re.sub(r"\b(tee|box|hole)\b|\d+", " ", tags.get("name", "").lower())
    return _split(plain) if plain.strip(" -:.,") != ref.lower() else ()


def report_gaps(tees: Mapping[str, Sequence[PlacedTee]], log: FindingLog) -> None:
    """Note tee sets that some holes lack; ``tees`` maps the ref of each hole to its tees."""
    names = dict.fromkeys(tee.name for group in tees.values() for tee in group)
    for name in names:
        lacking = [ref for ref, group in tees.items() if all(tee.name != name for tee in group)]
        if lacking:
            log.note(
                WHOLE_FILE,
                f"tee {name!r} is missing on {_listed(lacking)}",
                "another tee must be used there",
            )


def _listed(refs: Sequence[str]) -> str:
    word = "hole" if len(refs) == 1 else "holes"
    return f"{word} {', '.join(refs[:9])}" + (" and others" if len(refs) > 9 else "")


def _split(text: str) -> tuple[str, ...]:
    words = (re.sub(r"\s+", " ", part).strip(" -:.") for part in re.split(r"[;,/|]", text.lower()))
    return tuple(dict.fromkeys(word for word in words if word not in _NOT_NAMES))


def _words(count: int) -> list[str]:
    """Plain words for unnamed tees from longest to shortest; more than enough of them."""
    spare = [f"tee {n}" for n in range(1, count + 9)]
    match count:
        case 0 | 1:
            return ["back", *spare]
        case 2:
            return ["back", "forward", *spare]
        case 3:
            return ["back", "middle", "forward", *spare]
    return ["back", *(f"middle {n}" for n in range(1, count - 1)), "forward", *spare]


def _distances(
    hole: CardHole, line_proj: shapely.LineString, unit: float | None, log: FindingLog
) -> dict[str, float]:
    """Believed distances [m] of the named dist tags."""
    found = {}
    for name, (value, word) in dist_tags(hole).items():
        metres = unit_factor(word) or unit
        if not name or metres is None:
            continue
        distance = value * metres
        # Forward tees are far ahead of the line's start: only too long is wrong.
        if not 0.4 < distance / line_proj.length < 1 + ASSUMED_DIST_ERROR:
            log.warning(
                hole.drawn.feature_id,
                f"hole {hole.ref}: dist:{name} is {distance:.0f} m, its line "
                f"{line_proj.length:.0f} m",
                "that tee left out",
            )
            continue
        found[name] = distance
    return found


def _from_pin(line: shapely.LineString, distance: float) -> Point:
    """Place on the line (or straight behind its start) at ``distance`` [m] from the pin."""
    ahead = line.length - distance
    if ahead >= 0:
        place = line.interpolate(ahead)
        return (place.x, place.y)
    first, second = np.array(line.coords)[:2, :2]
    behind = first + (first - second) / np.hypot(*(first - second)) * -ahead
    return (float(behind[0]), float(behind[1]))


def _each_once(
    hole: CardHole,
    line_proj: shapely.LineString,
    tees: Sequence[PlacedTee],
    log: FindingLog,
) -> tuple[PlacedTee, ...]:
    """Longest first; of several grounds with one name the longest."""
    found: dict[str, PlacedTee] = {}
    for tee in sorted(tees, key=lambda tee: -playing_length(line_proj, tee.place_proj)):
        if tee.name in found:
            log.note(
                hole.drawn.feature_id,
                f"hole {hole.ref}: several {tee.name} tees",
                "the longest is used",
            )
        found.setdefault(tee.name, tee)
    return tuple(found.values())
