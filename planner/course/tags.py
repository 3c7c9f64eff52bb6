"""The tag table: what each tag of the public map means for play.

Sources: the public map's tagging pages for ``golf=*`` and ``leisure=golf_course``, and the list
of deprecated tags of its editors' shared tagging schema for the misspellings. Penalty colours:
before 2019 a water hazard was marked yellow and a lateral one red; both are penalty areas now
(Rules of Golf 2023, Definition of penalty area).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from planner.course.lies import Ground

Tags = Mapping[str, str]


class Kind(Enum):
    """What a feature is for the reader."""

    HOLE = "hole"
    TEE = "tee"
    GREEN = "green"
    PIN = "pin"
    OUTLINE = "outline"
    OUT_OF_BOUNDS = "out of bounds"
    GROUND = "ground"
    PRACTICE = "practice"
    IGNORED = "ignored"


class Drawn(Enum):
    """How a ground may be drawn when it is not an area."""

    AREA_ONLY = "area"
    STREAM = "stream"
    TREES = "trees"


@dataclass(frozen=True)
class Meaning:
    """Meaning of a feature's tags.

    ``from_golf_tag`` tells a golf tag from a plain land-cover tag, ``drawn`` says whether a
    line or point of this kind gets a width.
    """

    kind: Kind
    ground: Ground | None = None
    from_golf_tag: bool = True
    drawn: Drawn = Drawn.AREA_ONLY
    assumption: str = ""


_MISSPELT = {
    "faiway": "fairway",
    "fairways": "fairway",
    "putting_green": "green",
    "greens": "green",
    "sand_trap": "bunker",
    "sandtrap": "bunker",
    "bunkers": "bunker",
    "tee_area": "tee",
    "tee_box": "tee",
    "teebox": "tee",
    "tees": "tee",
    "waterhazard": "water_hazard",
    "lateral_hazard": "lateral_water_hazard",
    "lateral_water": "lateral_water_hazard",
    "ob": "out_of_bounds",
    "hole_line": "hole",
    "deep_rough": "heavy_rough",
    "long_rough": "heavy_rough",
    "native": "heavy_rough",
    "waste_area": "heavy_rough",
}
_GOLF_KINDS = {
    "hole": Kind.HOLE,
    "tee": Kind.TEE,
    "green": Kind.GREEN,
    "pin": Kind.PIN,
    "out_of_bounds": Kind.OUT_OF_BOUNDS,
    "driving_range": Kind.PRACTICE,
    "practice": Kind.PRACTICE,
    "practice_area": Kind.PRACTICE,
    "clubhouse": Kind.IGNORED,
    "cartpath": Kind.IGNORED,
    "path": Kind.IGNORED,
    "ground_under_repair": Kind.IGNORED,
}
_GOLF_GROUND = {
    "fairway": Ground.FAIRWAY,
    "fringe": Ground.FAIRWAY,
    "apron": Ground.FAIRWAY,
    "collar": Ground.FAIRWAY,
    "rough": Ground.ROUGH,
    "heavy_rough": Ground.DEEP_ROUGH,
    "bunker": Ground.SAND,
}
_GOLF_WATER = {
    "water_hazard": Ground.YELLOW,
    "lateral_water_hazard": Ground.RED,
    "penalty_area": Ground.RED,
}
_DEEP_WORDS = {"deep", "heavy", "tall", "long", "thick"}
_TREES = {("natural", "wood"), ("landuse", "forest"), ("natural", "trees")}
_DEEP = {
    ("natural", "scrub"),
    ("natural", "heath"),
    ("natural", "grassland"),
    ("natural", "beach"),
    ("landuse", "meadow"),
}
_WATER_AREAS = {
    ("natural", "water"),
    ("natural", "wetland"),
    ("landuse", "reservoir"),
    ("landuse", "basin"),
    ("waterway", "riverbank"),
    ("natural", "bay"),
}
_STREAMS = {"stream", "river", "ditch", "drain", "canal", "brook"}
_PENALTY_KEYS = ("golf:penalty", "golf:penalty_area", "penalty_area", "golf:penalty:colour")
_NEVER_AREAS = ("highway", "barrier", "railway", "power")
_NUMBER = re.compile(r"\s*([-+]?\d+(?:[.,]\d+)?)\s*([a-zA-Z']*)")


def word(value: str) -> str:
    """Tag value as a table key: lower case, underscores, spelling mended."""
    plain = re.sub(r"[\s\-]+", "_", value.strip().lower())
    return _MISSPELT.get(plain, plain)


def meaning_of(tags: Tags) -> Meaning | None:
    """Meaning of a feature's tags, or None if the table does not know them."""
    golf = _golf_meaning(tags)
    if golf is not None:
        return golf
    if word(tags.get("leisure", "")) == "golf_course":
        return Meaning(Kind.OUTLINE)
    if word(tags.get("leisure", "")) == "golf_pin":
        return Meaning(Kind.PIN)
    return _cover_meaning(tags)


def _golf_meaning(tags: Tags) -> Meaning | None:
    for value in map(word, tags.get("golf", "").split(";")):
        if value in _GOLF_KINDS:
            return Meaning(_GOLF_KINDS[value])
        if value in _GOLF_WATER:
            colour = _penalty_colour(tags)
            drawn = Drawn.STREAM
            if colour is not None:
                return Meaning(Kind.GROUND, colour, drawn=drawn)
            unsaid = value == "penalty_area"
            text = "golf=penalty_area without golf:penalty=red|yellow read as red" if unsaid else ""
            return Meaning(Kind.GROUND, _GOLF_WATER[value], drawn=drawn, assumption=text)
        if value in _GOLF_GROUND:
            ground = _GOLF_GROUND[value]
            if ground is Ground.ROUGH:
                ground = _rough(tags)
            return Meaning(Kind.GROUND, ground)
    return None


def _rough(tags: Tags) -> Ground:
    """Rough by its height, or by a wood or scrub tagged on the same area."""
    cover = _cover_meaning(tags)
    if cover is not None and cover.ground in (Ground.TREES, Ground.DEEP_ROUGH):
        return cover.ground
    heights = {word(tags.get(key, "")) for key in ("rough", "golf:rough", "grass", "height")}
    return Ground.DEEP_ROUGH if heights & _DEEP_WORDS else Ground.ROUGH


def _penalty_colour(tags: Tags) -> Ground | None:
    for key in _PENALTY_KEYS:
        match word(tags.get(key, "")):
            case "red":
                return Ground.RED
            case "yellow":
                return Ground.YELLOW
    return None


def _cover_meaning(tags: Tags) -> Meaning | None:
    pairs = {(key, word(tags.get(key, ""))) for key in ("natural", "landuse", "waterway")}
    colour = _penalty_colour(tags)
    if pairs & _WATER_AREAS or (tags.get("water") and not pairs & _TREES):
        text = "" if colour else "water or wetland without a golf tag read as a red penalty area"
        return Meaning(Kind.GROUND, colour or Ground.RED, bool(colour), assumption=text)
    if word(tags.get("waterway", "")) in _STREAMS:
        if word(tags.get("tunnel", "no")) != "no" or word(tags.get("covered", "no")) == "yes":
            return Meaning(Kind.IGNORED)
        text = "" if colour else "streams and ditches without a golf tag read as red penalty areas"
        return Meaning(Kind.GROUND, colour or Ground.RED, bool(colour), Drawn.STREAM, text)
    if pairs & _TREES:
        return Meaning(Kind.GROUND, Ground.TREES, False)
    if word(tags.get("natural", "")) in ("tree", "tree_row"):
        return Meaning(Kind.GROUND, Ground.TREES, False, Drawn.TREES)
    if pairs & _DEEP:
        return Meaning(Kind.GROUND, Ground.DEEP_ROUGH, False)
    if ("natural", "sand") in pairs:
        return Meaning(Kind.GROUND, Ground.SAND, False)
    if colour is not None:
        return Meaning(Kind.GROUND, colour, drawn=Drawn.STREAM)
    return None


def closed_way_is_area(tags: Tags) -> bool:
    """Whether a closed way with these tags is an area, as the public map has it."""
    if word(tags.get("area", "")) in ("yes", "no"):
        return word(tags["area"]) == "yes"
    if any(key in tags for key in _NEVER_AREAS):
        return False
    if word(tags.get("golf", "")) in ("hole", "out_of_bounds", "cartpath", "path"):
        return False
    if word(tags.get("natural", "")) in ("tree_row", "coastline", "cliff"):
        return False
    return word(tags.get("waterway", "")) not in _STREAMS or "golf" in tags


def unknown_label(tags: Tags) -> str:
    """Short name of tags the table does not know: the golf tag in full, else the main key."""
    if "golf" in tags:
        return f"golf={tags['golf']}"
    for key in ("natural", "landuse", "leisure"):
        if key in tags:
            return f"{key}={tags[key]}"
    keys = [key for key in tags if key not in ("name", "note", "source", "ele")]
    return f"{keys[0]}=*" if keys else "no tag"


def number(text: str | None, *, metres: bool = False) -> float | None:
    """First number of a tag value, or None; with ``metres`` a unit after it is obeyed.

    Lengths on the public map are in metres unless a unit follows.
    """
    match = _NUMBER.match(text or "")
    if match is None:
        return None
    value = float(match[1].replace(",", "."))
    if metres:
        value *= unit_factor(match[2]) or 1.0
    return value


def unit_factor(unit: str) -> float | None:
    """Metres in the unit of a tag value, or None if the word is empty or unknown."""
    return {
        "m": 1.0,
        "metres": 1.0,
        "meters": 1.0,
        "yd": 0.9144,
        "yds": 0.9144,
        "y": 0.9144,
        "yards": 0.9144,
        "ft": 0.3048,
        "'": 0.3048,
        "feet": 0.3048,
    }.get(unit.lower())


def unit_word(text: str) -> str:
    """Word that follows the number of a tag value, such as ``yd``; empty if none."""
    match = _NUMBER.match(text)
    return match[2] if match else ""
