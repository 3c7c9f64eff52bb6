"""Holes whose expected strokes have a closed form, through the real solver."""

from __future__ import annotations

from functools import cache, partial

import numpy as np
import shapely

from planner.acceptance.claim import Area, Claim
from planner.acceptance.plain_holes import (
    SolvedPlain,
    box_hole,
    either,
    golfer,
    normal,
    short_swings,
    solved,
    swing,
)
from planner.course.lies import Ground, Lie
from planner.strategy.roll_out import RollOut, roll_out
from planner.strategy.score_distribution import distribution

__all__ = ["AREA"]

PUTTS = 1.75
LENGTH_M = FULL_M = 100.0
GREEN = (Ground.GREEN, shapely.box(60, -40, 140, 40))
SHORT = short_swings(10, 20, 30, 40, sd=0.02)
"""They finish what a tee shot leaves: from everywhere off the green one of them reaches it."""
CLOSED = "closed form"
SOLVER = "the tolerance of the solver's sweeps and of its lattice on such a hole"
LOST = 0.4
"""A ball lost this often makes stroke and distance cost 1.4 / 0.6 strokes."""
BALLS = 400_000
SHARE = 0.6


@cache
def _one_target(share: float) -> SolvedPlain:
    """A miss comes back to where it was struck."""
    pattern = either(share, (FULL_M, 0.0), (0.0, 0.0))
    model = golfer(swing("Iron", FULL_M, pattern), *SHORT, putts=PUTTS)
    return solved(box_hole(LENGTH_M, GREEN), model)


def _one_target_value(share: float) -> float:
    return _one_target(share).shot(0).value - PUTTS


@cache
def _one_target_scores() -> RollOut:
    """The same hole played ball by ball: a simulation that shares no arithmetic with the solver."""
    found = _one_target(SHARE)
    hole, model = found.solution.hole, found.solution.model

    def decide(
        points: np.ndarray, lies: np.ndarray, on_tee: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        away = np.array(hole.pin_hole) - points
        # The full swing from everywhere; its misses come back to the tee.
        return np.zeros(len(points), dtype=np.intp), np.arctan2(away[:, 1], away[:, 0])

    def value_at(points: np.ndarray, lies: np.ndarray) -> np.ndarray:
        return np.zeros(len(points))

    return roll_out(
        hole,
        model,
        hole.tees[0].position_hole,
        decide=decide,
        value_at=value_at,
        balls=BALLS,
        rng=np.random.default_rng(1),
        max_strokes=60,
    )


def _out_of_bounds(q: float, lost: bool) -> float:
    bounds = None if lost else shapely.box(-200, -40, 300, 60)
    pattern = either(1 - q, (FULL_M, 0.0), (50.0, 200.0 if lost else 85.0))
    hole = box_hole(LENGTH_M, GREEN, in_bounds=bounds)
    return solved(hole, golfer(swing("Iron", FULL_M, pattern), *SHORT, putts=PUTTS)).shot(0).value


@cache
def _water(ground: Ground, q: float) -> tuple[float, float]:
    """Behind the pond every drop is worth one sure stroke and the putts."""
    green = (Ground.GREEN, shapely.box(50, -45, 145, 45))
    pond = shapely.box(20, -30, 40, 30)
    tee_shot = swing("Iron", FULL_M, either(1 - q, (FULL_M, 0.0), (30.0, 0.0)), lies=(Lie.TEE,))
    sure = swing("Rescue", 105.0, normal(105.0, 0.0, 2.0), lies=(Lie.FAIRWAY, Lie.ROUGH))
    found = solved(
        box_hole(LENGTH_M, green, (ground, pond)),
        golfer(tee_shot, sure, *SHORT, putts=PUTTS),
        count_penalties=True,
    )
    shot = found.shot(0)
    return shot.value, shot.penalties


def _water_cost(ground: Ground, q: float) -> float:
    return _water(ground, q)[0]


def _water_penalties(ground: Ground, q: float) -> float:
    return _water(ground, q)[1]


def _gamble(q: float) -> str:
    """Wood over out of bounds, or two safe irons: equal at q = 1/3."""
    wood = swing("Wood", FULL_M, either(1 - q, (FULL_M, 0.0), (50.0, 200.0)), lies=(Lie.TEE,))
    iron = swing("Iron", 50.0, normal(50.0, 0.0, 2.0))
    hole = box_hole(LENGTH_M, (Ground.GREEN, shapely.box(65, -35, 135, 35)))
    found = solved(hole, golfer(wood, iron, *SHORT, putts=PUTTS))
    return found.solution.model.swings[found.best().swing].club


def _variance_of_chances() -> float:
    """Variance of the exact score distribution of the geometric hole."""
    strokes = np.arange(1, 200)
    chances = np.concatenate(([0.0], SHARE * (1 - SHARE) ** (strokes - 1)))
    return distribution(chances, remainder=0.0).variance


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    found = [
        Claim(f"one target, success {share:g} a stroke: mean strokes", f"{CLOSED} 1/p", 1 / share,
              partial(_one_target_value, share), "strokes", 1e-3, SOLVER)
        for share in (SHARE, 0.8)
    ]  # fmt: skip
    error = (1 - SHARE) ** 0.5 / SHARE / BALLS**0.5
    variance = (1 - SHARE) / SHARE**2
    # Fourth central moment of a geometric distribution gives the error of the variance.
    fourth = variance * (9 * variance + 1)
    variance_error = ((fourth - variance**2) / BALLS) ** 0.5
    found += [
        Claim("the same hole played ball by ball: mean strokes", f"{CLOSED} 1/p", 1 / SHARE,
              lambda: _one_target_scores().mean - PUTTS, "strokes", 4 * error,
              f"four standard errors of {BALLS:,} balls"),
        Claim("the same: variance of the strokes", f"{CLOSED} (1 - p)/p²", variance,
              lambda: float(_one_target_scores().scores.var()), "", 4 * variance_error,
              f"four standard errors of {BALLS:,} balls"),
        Claim("variance of an exact score distribution", f"{CLOSED} (1 - p)/p²", variance,
              _variance_of_chances, "", 1e-9, "rounding"),
    ]  # fmt: skip
    for q in (0.1, LOST):
        value = PUTTS + (1 + q) / (1 - q)
        found += [
            Claim(f"out of bounds with chance {q:g}: strokes, a boundary on the map",
                  "Rule 18.2, closed form W + (1+q)/(1-q)", value,
                  partial(_out_of_bounds, q, False), "strokes", 1e-3, SOLVER),
            Claim(f"lost with chance {q:g}: strokes, off the edge of the map",
                  "Rule 18.2, closed form W + (1+q)/(1-q)", value,
                  partial(_out_of_bounds, q, True), "strokes", 1e-3, SOLVER),
        ]  # fmt: skip
    for ground in (Ground.YELLOW, Ground.RED):
        q, drop = 0.3, 1 + PUTTS
        found += [
            Claim(f"{ground.area.value} with chance {q:g}: strokes",
                  "Rule 17.1d, closed form 1 + q(1+U) + (1-q)W",
                  1 + q * (1 + drop) + (1 - q) * PUTTS,
                  partial(_water_cost, ground, q),
                  "strokes", 1e-3, SOLVER),
            Claim(f"{ground.area.value} with chance {q:g}: penalty strokes", "the chance itself", q,
                  partial(_water_penalties, ground, q),
                  "strokes", 1e-3, SOLVER),
        ]  # fmt: skip
    found += [
        Claim(f"carry over out of bounds lost with chance {q:g}, or two safe strokes",
              "(1+q)/(1-q) against 2: equal at 1/3", better, partial(_gamble, q))
        for q, better in ((0.32, "Wood"), (0.35, "Iron"))
    ]  # fmt: skip
    return tuple(found)


AREA = Area(
    "decisions",
    "Decisions with a closed form",
    "Holes of a few boxes and golfers of a few swings, solved by the solver that plans courses.",
    claims,
)
