"""Rounds over which bags are compared and chosen: courses, tees and weather, and their names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from planner.ball.conditions import Conditions
from planner.course.hole import Course
from planner.planning.request import PlanRequest, chosen_holes
from planner.report import words
from planner.units import DistanceUnit

__all__ = ["round_marks", "round_names", "rounds_over"]


def rounds_over(
    request: PlanRequest,
    *,
    places: Sequence[tuple[Course, str | None]] = (),
    winds: Sequence[tuple[float | None, float]] = (),
) -> tuple[PlanRequest, ...]:
    """Rounds of a request, and the same over further courses and tees and in further winds.

    Parameters
    ----------
    request
        The round that is planned.
    places
        Further courses with their tees, all holes of each.
    winds
        Further winds, where they come from [rad] and their speed [m/s]; every course and tee set
        is played in each.
    """
    everywhere = [request]
    for course, tee in places:
        everywhere.append(replace(request, course=course, tee=tee, holes=()))
    weather = dict.fromkeys([request.conditions, *(_in_wind(request, *wind) for wind in winds)])
    return tuple(replace(one, conditions=which) for one in everywhere for which in weather)


def _in_wind(request: PlanRequest, wind_from: float | None, wind_speed: float) -> Conditions:
    return replace(request.conditions, wind_from=wind_from, wind_speed=wind_speed)


def round_names(
    requests: Sequence[PlanRequest], unit: DistanceUnit = DistanceUnit.METRES
) -> tuple[str, ...]:
    """Course, tees and how many of its holes; the weather where that does not tell them apart."""
    names = [_round_name(one) for one in requests]
    known = Counter(names)
    return _apart(
        [
            name if known[name] == 1 else f"{name}, {words.conditions(one.conditions, unit)}"
            for name, one in zip(names, requests, strict=True)
        ]
    )


def round_marks(requests: Sequence[PlanRequest]) -> tuple[str, ...]:
    """What a round is called beside its holes: the course, if that tells the rounds apart."""
    courses = tuple(one.course.name for one in requests)
    return courses if len(set(courses)) == len(courses) else round_names(requests)


def _apart(names: Sequence[str]) -> tuple[str, ...]:
    """The same names, numbered where several are alike."""
    alike = Counter(names)
    met: Counter[str] = Counter()
    found = []
    for name in names:
        met[name] += 1
        found.append(name if alike[name] == 1 else f"{name} ({met[name]})")
    return tuple(found)


def _round_name(request: PlanRequest) -> str:
    chosen, every = len(chosen_holes(request)), len(request.course.holes)
    part = "" if chosen == every else f", {chosen} of {every} holes"
    return f"{request.course.name}, {request.tee or 'longest'} tees{part}"
