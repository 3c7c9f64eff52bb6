"""Where strokes go and what to practise, as data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from planner.strategy.practice_results import PracticePlan, StrokeAccounts
from planner.strategy.reference_gains import Gain
from planner.strategy.stroke_split import StrokeSplit

__all__ = ["practice_as_json"]


def practice_as_json(plan: PracticePlan, accounts: StrokeAccounts | None) -> dict[str, Any]:
    """Everything, in strokes and hours; what is not known is null."""
    content: dict[str, Any] = {
        "course": plan.course,
        "golfer": plan.golfer,
        "tee": plan.tee,
        "holes": list(plan.holes),
        "par": plan.par,
        "expected": plan.expected,
        "hours_are_assumed": not plan.own_hours,
        "practice": [
            {
                "ability": step.name,
                "step": step.unit,
                "strokes_saved": step.strokes,
                "hours": step.hours,
                "chance_added": None if math.isnan(step.chance) else step.chance,
            }
            for step in plan.steps
        ],
    }
    road = plan.road
    if road is not None:
        content["road"] = {
            "target": road.goal.target,
            "chance_wanted": road.goal.chance,
            "by": None if road.goal.by is None else road.goal.by.isoformat(),
            "hours": None if math.isinf(road.hours) else road.hours,
            "chance_now": road.chance_now,
            "chance_then": road.chance_then,
            "expected_then": road.expected_then,
            "reached": road.reached,
            "stages": [asdict(stage) for stage in road.stages],
            "looked_at": road.looked_at,
            "worked_out": road.worked_out,
            "proven": road.proven,
        }
    if accounts is not None:
        content["accounts"] = _accounts(accounts)
    return content


def _accounts(accounts: StrokeAccounts) -> dict[str, Any]:
    found: dict[str, Any] = {
        "exact": accounts.exact,
        "penalties": accounts.penalties,
        "round": _split(accounts.split),
        "holes": [
            {"hole": hole.ref, "par": hole.par, "penalties": hole.penalties, **_split(hole.split)}
            for hole in accounts.holes
        ],
    }
    rival = accounts.reference
    if rival is not None:
        found["reference"] = {
            "index": rival.index,
            "reference": rival.reference,
            "own": rival.own,
            "gained": rival.total,
            "standard_error": rival.standard_error,
            "by_club": _gains(rival.by_club),
            "by_distance": _gains(rival.by_distance),
        }
    return found


def _split(split: StrokeSplit) -> dict[str, Any]:
    return {
        "whole": split.whole,
        "rest": split.rest,
        "together": split.together,
        "parts": [asdict(part) for part in split.parts],
    }


def _gains(gains: Sequence[Gain]) -> list[dict[str, Any]]:
    return [asdict(gain) for gain in gains]
