"""Kinds of things that can be drawn on a map, with the public map's tags for them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planner.course.tags import Kind, Tags, meaning_of

__all__ = ["DRAWN_KINDS", "DrawnKind", "asked_of", "tags_for"]


@dataclass(frozen=True)
class DrawnKind:
    """A kind of feature.

    Parameters
    ----------
    name
        What it is called.
    drawn_as
        Its geometry.
    tags
        Tags that make it one (public map: Key:golf, Tag:leisure=golf_course).
    asks
        Keys whose values are asked for, in order, with what they are called.
    how
        How its points are to be set.
    """

    name: str
    drawn_as: Literal["point", "line", "area"]
    tags: Tags
    asks: tuple[tuple[str, str], ...] = ()
    how: str = "Tap round its edge, corner by corner."


_WATER_LINE = "Tap along it, from one end to the other."
DRAWN_KINDS = {
    kind.name: kind
    for kind in (
        DrawnKind(
            "line of a hole",
            "line",
            {"golf": "hole"},
            (("ref", "Hole"), ("par", "Par"), ("handicap", "Stroke index"), ("name", "Name")),
            "Tap the tee, then every place a good shot is played to, then the pin.",
        ),
        DrawnKind("tee", "area", {"golf": "tee"}, (("tee", "Tees"), ("ref", "Hole"))),
        DrawnKind("green", "area", {"golf": "green"}, (("ref", "Hole"),)),
        DrawnKind("fairway", "area", {"golf": "fairway"}),
        DrawnKind("bunker", "area", {"golf": "bunker", "natural": "sand"}),
        DrawnKind("red penalty area", "area", {"golf": "lateral_water_hazard", "natural": "water"}),
        DrawnKind("yellow penalty area", "area", {"golf": "water_hazard", "natural": "water"}),
        DrawnKind("stream", "line", {"waterway": "stream"}, (("width", "Width, m"),), _WATER_LINE),
        DrawnKind("wood", "area", {"natural": "wood"}),
        DrawnKind("deep rough", "area", {"natural": "scrub"}),
        DrawnKind(
            "boundary of the course", "area", {"leisure": "golf_course"}, (("name", "Name"),)
        ),
        DrawnKind(
            "out of bounds line",
            "line",
            {"golf": "out_of_bounds"},
            how="Tap along the stakes or the wall.",
        ),
        DrawnKind("pin", "point", {"golf": "pin"}, (("ref", "Hole"),), "Tap where it stands."),
    )
}
"""Everything that can be drawn, by name, what a plan needs most first."""


def tags_for(kind: DrawnKind, answers: Tags) -> dict[str, str]:
    """Tags of a new feature of a kind, with what was answered."""
    return {**kind.tags, **{key: value for key, value in answers.items() if value.strip()}}


def asked_of(tags: Tags) -> tuple[tuple[str, str], ...]:
    """Keys that are asked for of a feature with these tags, with what they are called."""
    meaning = meaning_of(tags)
    if meaning is not None:
        for kind in DRAWN_KINDS.values():
            own = meaning_of(kind.tags)
            if kind.asks and own is not None and own.kind is meaning.kind is not Kind.GROUND:
                return kind.asks
    return (("name", "Name"),)
