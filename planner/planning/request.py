"""What to plan: the request that the command line, the page and every use case share."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field

from planner import __version__
from planner.ball.conditions import Conditions
from planner.course.hole import Course, Hole, Tee
from planner.errors import OptionError
from planner.golfer.bag import Bag

__all__ = ["AIMS_FOR", "PlanRequest", "chosen_holes", "request_key", "tee_of"]

AIMS_FOR = ("strokes", "penalties")


@dataclass(frozen=True)
class PlanRequest:
    """What to plan.

    Parameters
    ----------
    course, bag
        As read from their files.
    tee
        Name of the tee set; None takes each hole's longest.
    holes
        Refs of the holes to plan, in order; empty for all.
    conditions
        Weather and turf.
    aim_for
        ``"strokes"`` or ``"penalties"`` (fewest penalties within ``give_up`` strokes a hole).
    give_up
        Strokes a hole that may be given up for fewer penalties.
    local_rule_e5
        Whether Model Local Rule E-5 is in force.
    clubs
        Labels of the clubs to use; None for those carried.
    preview
        Coarser cells: quicker, less exact.
    threads
        Threads used.
    """

    course: Course
    bag: Bag
    tee: str | None = None
    holes: tuple[str, ...] = ()
    conditions: Conditions = field(default_factory=Conditions)
    aim_for: str = "strokes"
    give_up: float = 0.1
    local_rule_e5: bool = False
    clubs: tuple[str, ...] | None = None
    preview: bool = False
    threads: int = 2


def chosen_holes(request: PlanRequest) -> tuple[Hole, ...]:
    """Holes of a request in the order asked for.

    Raises
    ------
    OptionError
        A hole or tee is unknown, or what to aim for.
    """
    course = request.course
    if request.aim_for not in AIMS_FOR:
        raise OptionError(f'aim for "{request.aim_for}" is unknown; use {" or ".join(AIMS_FOR)}')
    if request.give_up < 0:
        raise OptionError(f"strokes to give up must not be negative, got {request.give_up:g}")
    refs = [hole.ref for hole in course.holes]
    unknown = [ref for ref in request.holes if ref not in refs]
    if unknown:
        raise OptionError(
            f"{course.name} has no hole {', '.join(unknown)}; its holes are {', '.join(refs)}"
        )
    names = [name.casefold() for name in course.tee_names]
    if request.tee is not None and request.tee.casefold() not in names:
        raise OptionError(
            f'{course.name} has no tees "{request.tee}"; it has {", ".join(course.tee_names)}'
        )
    return tuple(course.hole(ref) for ref in request.holes) or course.holes


def tee_of(hole: Hole, name: str | None) -> Tee:
    """Tee of a hole by name; the hole's longest where it lacks that set."""
    try:
        return hole.tee(name)
    except KeyError:
        return hole.tees[0]


def request_key(request: PlanRequest) -> str:
    """Hash of everything a plan depends on; equal keys mean equal plans."""
    parts = [
        __version__,
        repr(request.bag),
        repr(request.tee),
        repr(request.holes),
        repr(request.conditions),
        request.aim_for,
        repr(request.give_up if request.aim_for == "penalties" else 0.0),
        repr(request.local_rule_e5),
        repr(request.clubs),
        repr(request.preview),
    ]
    for hole in request.course.holes:
        shapes = [area.shape_hole.wkb_hex + area.ground.name for area in hole.areas]
        bounds = "" if hole.in_bounds is None else hole.in_bounds.wkb_hex
        parts += [hole.ref, hole.line_hole.wkb_hex, repr(hole.tees), repr(hole.pin_hole), bounds]
        parts += [repr(hole.elevation), repr(hole.frame), *shapes]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:16]
