"""A plan as plain JSON values: metres, degrees, strokes and shares, stable key order."""

from __future__ import annotations

import math
from typing import Any

from planner.strategy.advice import NextShot, RoundPlan, Shot

__all__ = ["PLAN_FORMAT", "plan_as_json"]

PLAN_FORMAT = 1
_DIGITS = 6


def plan_as_json(plan: RoundPlan) -> dict[str, Any]:
    """A plan as JSON values; numbers are rounded to a millionth, unknown ones are null."""
    return {
        "format": PLAN_FORMAT,
        "key": plan.key,
        "course": plan.course,
        "golfer": plan.golfer,
        "bag": plan.bag,
        "left_handed": plan.left_handed,
        "tee": plan.tee,
        "aim_for": plan.aim_for,
        "conditions": plan.conditions,
        "clubs": list(plan.clubs),
        "patterns": [
            {"club": one.club, "source": one.source, "shots": one.shots} for one in plan.patterns
        ],
        "par": plan.par,
        "expected_strokes": _number(plan.expected_strokes),
        "expected_penalties": _number(plan.expected_penalties),
        "holes": [
            {
                "ref": one.hole.ref,
                "name": one.hole.name,
                "par": one.hole.par,
                "stroke_index": one.hole.stroke_index,
                "tee": one.tee,
                "length_m": _number(one.length_m),
                "expected_strokes": _number(one.expected_strokes),
                "expected_penalties": _number(one.expected_penalties),
                "price_of_caution": _number(one.price_of_caution),
                "converged": one.converged,
                "residual": _number(one.residual),
                "sweeps": one.sweeps,
                "margin": _number(one.margin),
                "tied": [shot.label for shot in one.tied],
                "best": _shot(one.best),
                "others": [_shot(shot) for shot in one.others],
                "next_shots": [_next_shot(there) for there in one.next_shots],
            }
            for one in plan.holes
        ],
        "notes": list(plan.notes),
        "attribution": plan.attribution,
    }


def _number(value: float) -> float | None:
    return round(value, _DIGITS) if math.isfinite(value) else None


def _shot(shot: Shot) -> dict[str, Any]:
    aim = None
    if shot.aim is not None:
        aim = {
            "words": shot.aim.words,
            "offset_m": _number(shot.aim.offset_m),
            "azimuth_deg": _number(math.degrees(shot.aim.azimuth)),
            "lonlat": list(shot.aim.lonlat) if shot.aim.lonlat else None,
            "point_hole_m": [_number(value) for value in shot.aim.point_hole],
        }
    shares = shot.shares
    return {
        "club": shot.club,
        "style": shot.style.value,
        "carry_m": _number(shot.carry_m),
        "lie": shot.lie.words,
        "aim": aim,
        "expected_strokes": _number(shot.expected_strokes),
        "expected_penalties": _number(shot.expected_penalties),
        "cost": _number(shot.cost),
        "leave_m": _number(shot.leave_m),
        "plays_like": _plays_like(shot),
        "shares": {
            name: _number(getattr(shares, name))
            for name in (
                "fairway",
                "green",
                "rough",
                "deep_rough",
                "sand",
                "trees",
                "penalty",
                "out_of_bounds",
                "mishit",
            )
        },
    }


def _plays_like(shot: Shot) -> dict[str, Any] | None:
    found = shot.plays_like
    if found is None:
        return None
    return {
        "ground_m": _number(found.ground_m),
        "slope_m": _number(found.slope_m),
        "weather_m": _number(found.weather_m),
        "total_m": _number(found.total_m),
    }


def _next_shot(there: NextShot) -> dict[str, Any]:
    return {
        "place": there.place,
        "chance": _number(there.chance),
        "lie": there.lie.words,
        "position_hole_m": [_number(value) for value in there.position_hole],
        "distance_m": _number(there.distance_m),
        "best": _shot(there.best),
        "runner_up": _shot(there.runner_up) if there.runner_up else None,
    }
