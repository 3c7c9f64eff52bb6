"""A round's score as data."""

from __future__ import annotations

import math
from typing import Any

from planner.strategy.advice import RoundPlan
from planner.strategy.round_result import BARRIERS, HoleScore, RoundScore
from planner.strategy.score_distribution import ScoreDistribution
from planner.strategy.simulated_round import ChanceCheck, SimulatedRound

__all__ = ["score_as_json"]


def score_as_json(
    score: RoundScore, plan: RoundPlan, played: SimulatedRound | None = None
) -> dict[str, Any]:
    """Chances of every total and of every hole's score; what was not counted is null."""
    fairways, counted = score.fairways
    return {
        "course": plan.course,
        "golfer": plan.golfer,
        "bag": plan.bag,
        "tee": plan.tee,
        "aim_for": plan.aim_for,
        "par": score.par,
        "expected": score.expected,
        "form_sd": score.form_sd,
        "target": score.target,
        "chance_of_target": None if score.target is None else score.chance_of_target,
        "chance_of_par_or_better": score.chance_of_par,
        "chance_of_breaking": {
            str(total): score.total.chance_of_breaking(total) for total in BARRIERS
        },
        "penalties": _known(score.penalties),
        "putts": _known(score.putts),
        "greens": _known(score.greens),
        "fairways": fairways if counted else None,
        "fairways_of": counted,
        "total": _chances(score.total),
        "holes": [_hole(hole) for hole in score.holes],
        "simulated": None if played is None else _simulated(played),
    }


def _simulated(played: SimulatedRound) -> dict[str, Any]:
    return {
        "rounds": played.rounds,
        "processor_seconds": played.seconds,
        "mean": played.mean,
        "standard_error": played.standard_error,
        "totals": [_check(check) for check in played.within],
        "holes": [
            {
                "ref": hole.ref,
                "mean": hole.mean,
                "standard_error": hole.standard_error,
                "difference": hole.difference,
                "penalties": hole.penalties,
                "putts": hole.putts,
                "unfinished": hole.unfinished,
                "chances": [_check(check) for check in hole.chances],
            }
            for hole in played.holes
        ],
    }


def _check(check: ChanceCheck) -> dict[str, Any]:
    return {"score": check.score, "exact": check.exact, "simulated": check.simulated}


def _hole(hole: HoleScore) -> dict[str, Any]:
    return {
        "ref": hole.ref,
        "par": hole.par,
        "expected": hole.score.mean,
        "expected_along_the_plan": _known(hole.expected),
        "penalties": _known(hole.penalties),
        "putts": _known(hole.putts),
        "chance_of_green": _known(hole.green),
        "chance_of_fairway": _known(hole.fairway),
        "score": _chances(hole.score),
    }


def _chances(found: ScoreDistribution) -> dict[str, Any]:
    return {
        "first": found.first,
        "chances": [float(chance) for chance in found.chances],
        "remainder": found.remainder,
        "remainder_from": found.remainder_from,
    }


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
