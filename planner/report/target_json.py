"""Playing for a target as data."""

from __future__ import annotations

from typing import Any

from planner.strategy.target_results import (
    Choice,
    FormPlan,
    NextChoice,
    Standing,
    TargetPlan,
)

__all__ = ["form_as_json", "target_as_json"]


def target_as_json(plan: TargetPlan) -> dict[str, Any]:
    """Every hole and standing; chances from 0 to 1, distances in metres."""
    return {
        "course": plan.course,
        "golfer": plan.golfer,
        "tee": plan.tee,
        "target": plan.target,
        "par": plan.par,
        "expected": plan.expected,
        "chance_fewest_strokes": plan.chance_planned,
        "chance": plan.chance,
        "preview": plan.preview,
        "notes": list(plan.notes),
        "holes": [
            {
                "hole": hole.ref,
                "par": hole.par,
                "holes_left": hole.left,
                "expected_left": hole.expected_left,
                "standings": [_standing(row) for row in hole.standings],
            }
            for hole in plan.holes
        ],
    }


def form_as_json(plan: FormPlan) -> dict[str, Any]:
    """Every hole played for the worth of its score."""
    return {
        "course": plan.course,
        "golfer": plan.golfer,
        "tee": plan.tee,
        "form": plan.form,
        "unit": plan.unit,
        "worth_fewest_strokes": plan.worth_planned,
        "worth": plan.worth,
        "preview": plan.preview,
        "notes": list(plan.notes),
        "holes": [
            {
                "hole": hole.ref,
                "par": hole.par,
                "worth_fewest_strokes": hole.worth_planned,
                "worth": hole.worth,
                "differs": hole.differs,
                "play": _choice(hole.best),
                "fewest_strokes": _choice(hole.planned),
            }
            for hole in plan.holes
        ],
    }


def _standing(row: Standing) -> dict[str, Any]:
    return {
        "in_hand": row.in_hand,
        "behind": row.behind,
        "reached": row.reach,
        "chance_fewest_strokes": row.chance_planned,
        "chance": row.chance,
        "tee_shot_differs": row.tee_differs,
        "tee_shot": _choice(row.best),
        "tee_shot_fewest_strokes": _choice(row.planned),
        "next": None if row.later is None else _next(row.later),
    }


def _next(later: NextChoice) -> dict[str, Any]:
    return {
        "place": later.place,
        "distance_m": later.distance_m,
        "share": later.share,
        "in_hand": later.in_hand,
        "play": _choice(later.best),
        "fewest_strokes": _choice(later.planned),
    }


def _choice(choice: Choice) -> dict[str, Any]:
    aim = choice.aim
    return {
        "swing": choice.swing,
        "carry_m": choice.partial_m,
        "aim": None if aim is None else aim.words,
        "aim_right_of_line_m": None if aim is None else aim.offset_m,
        "worth": choice.worth,
    }
