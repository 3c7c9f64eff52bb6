"""What the card and the coach's sheet say, in words short enough for paper."""

from __future__ import annotations

import math
from collections.abc import Iterable

from planner.course.lies import Ground
from planner.report import words
from planner.strategy.advice import HolePlan, NextShot, RoundPlan, Shot
from planner.strategy.hazard_carries import HazardCarry
from planner.units import DistanceUnit

__all__ = [
    "BEFORE_THE_ROUND",
    "SAFETY",
    "aims_for",
    "carries",
    "carry_parts",
    "found",
    "heading",
    "next_words",
    "penalties",
    "risk",
    "runner_up",
    "short_aim",
    "source",
    "unsolved",
]

SAFETY = (
    "Advice made before play. Local rules, lightning, people ahead and water come before anything "
    "printed here."
)
BEFORE_THE_ROUND = (
    "Rule 4.3a: a plan made before the round may be read during it; a device may not recommend a "
    "club or a line from where the ball lies. Leaves are at most 4¼ by 7 in and no green is "
    "drawn larger than 1:480. Ask the Committee where you are in doubt."
)
SHORT_PAR = 3
"""Holes whose green is meant to be reached from the tee."""
_HAZARD_NAMES = {Ground.SAND: "bunker", Ground.RED: "red area", Ground.YELLOW: "yellow area"}
_SIDES = {-1: "left", 0: "ahead", 1: "right"}
_AIMS = {"strokes": "fewest strokes", "penalties": "fewest penalties"}


def heading(plan: HolePlan, unit: DistanceUnit) -> str:
    """Par, stroke index and length."""
    index = plan.hole.stroke_index
    parts = [f"Par\u00a0{plan.hole.par}"]
    if index is not None:
        parts.append(f"SI\u00a0{index}")
    return " · ".join([*parts, words.distance(plan.length_m, unit)])


def short_aim(shot: Shot, unit: DistanceUnit) -> str:
    """Aim point with its distance off the line of play."""
    if shot.aim is None:
        return ""
    offset = words.aim_offset(shot.aim.offset_m, unit)
    place = " ".join(shot.aim.words.split())
    if not place or place == offset:
        return offset
    beside = offset.removesuffix(" of the line of play")
    if beside != offset:
        beside = beside.replace(" ", "\u00a0")
    return f"{place} ({beside})"


def found(plan: HolePlan) -> str:
    """Chance of what the tee shot is meant for: the green of a par 3, else the fairway."""
    shares = plan.best.shares
    if plan.hole.par == SHORT_PAR:
        return f"green {words.percent(shares.green)}"
    return f"fairway {words.percent(shares.fairway)}"


def risk(shot: Shot) -> str:
    """Chances of a penalty with this shot."""
    return (
        f"penalty area {words.percent(shot.shares.penalty)}, "
        f"out of bounds {words.percent(shot.shares.out_of_bounds)}"
    )


def penalties(value: float) -> str:
    """Penalty strokes, or a dash where they were not counted."""
    return words.strokes(value) if math.isfinite(value) else "-"


def runner_up(plan: HolePlan, unit: DistanceUnit) -> str:
    """Second best club from the tee and its cost."""
    if not plan.others:
        return "-"
    other = plan.others[0]
    return f"{words.shot_name(other, unit)} {words.cost(other.cost)}"


def next_words(place: NextShot, unit: DistanceUnit) -> tuple[str, str, str]:
    """Where the ball lies, what to hit from there, and aim and runner-up."""
    where = (
        f"{place.place} {words.percent(place.chance)}, {words.distance(place.distance_m, unit)}:"
    )
    rest = [short_aim(place.best, unit)] if place.best.aim is not None else []
    if place.runner_up is not None:
        rest.append(
            f"else {words.shot_name(place.runner_up, unit)} {words.cost(place.runner_up.cost)}"
        )
    return where, words.shot_name(place.best, unit) + ("," if rest else "."), "; ".join(rest)


def carries(hazards: Iterable[HazardCarry], unit: DistanceUnit) -> str:
    """Distances to reach and to carry each hazard, without the unit."""
    return "; ".join(_carry(hazard, unit) for hazard in hazards)


def carry_parts(hazard: HazardCarry, unit: DistanceUnit) -> tuple[str, str, str]:
    """Name and side of a hazard, distance to reach and, or else empty, to carry it."""
    name = f"{_HAZARD_NAMES[hazard.ground]} {_SIDES[hazard.side]}"
    carry = "" if math.isinf(hazard.carry_m) else f"{unit.from_metres(hazard.carry_m):.0f}"
    return name, f"{unit.from_metres(hazard.reach_m):.0f}", carry


def _carry(hazard: HazardCarry, unit: DistanceUnit) -> str:
    name, reach, carry = carry_parts(hazard, unit)
    return f"{name} {reach}\u2013{carry}" if carry else f"{name} from\u00a0{reach}"


def source(plan: RoundPlan) -> str:
    """Where the map comes from, as it must be told."""
    if not plan.attribution:
        return "The map names no source."
    return f"Map: {plan.attribution.removesuffix('.')}."


def aims_for(plan: RoundPlan) -> str:
    """What the plan aims for."""
    return _AIMS.get(plan.aim_for, plan.aim_for)


def unsolved(plan: HolePlan) -> str:
    """Warning on a hole whose values did not settle; empty where they did."""
    return "" if plan.converged else "NOT SOLVED: do not rely on this hole."
