"""Actions evaluated a second: the solver against the plain Monte Carlo at the same error."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

import numpy as np

from planner.benchmark.evaluation_count import counted_evaluations
from planner.benchmark.plain_monte_carlo import PlainMonteCarlo
from planner.benchmark.resting_worth import Estimate, RestingWorth, Worth, estimate
from planner.benchmark.result_table import ResultTable
from planner.benchmark.solved_hole import Player, SolvedHole, solve
from planner.course.hole import Hole, Point
from planner.course.lies import Ground, Lie
from planner.strategy.grid import label_points
from planner.strategy.hole_advice import map_box
from planner.strategy.shot_draws import ShotDraws

SIDEWAYS_M = 12.0
"""Spread of the places of the actions across the line of play [m]."""
TURN = math.radians(6.0)
"""Actions aim this far either side of the best aim of their swing [rad]."""
CHUNK = 50_000
MOST_TIMED = 50_000
"""Draws per action that are timed; more are scaled up from these."""
_NOT_PLAYED = (Ground.GREEN, Ground.YELLOW, Ground.RED, Ground.OUT)


@dataclass(frozen=True)
class Action:
    """A swing (index) from a place [m] and lie along a bearing [rad], and the solver's value."""

    position_hole: Point
    lie: Lie
    swing: int
    bearing: float
    value: float


def action_rate(
    golfer: Player, hole: Hole, *, actions: int, balls: int, rng: np.random.Generator
) -> ResultTable:
    """Compare rates on one hole, one thread each.

    Parameters
    ----------
    actions
        How many actions, drawn at random, are compared.
    balls
        Draws by which each is evaluated exactly.
    """
    options = golfer.table_options(threads=1)
    solve(golfer, hole, options)  # kernels are compiled or loaded here
    with counted_evaluations() as count:
        solved = solve(golfer, hole, options)
    seconds = solved.tables_s + solved.solve_s
    chosen = drawn_actions(solved, actions, rng)
    worth = RestingWorth(solved)
    draws = ShotDraws(solved.adviser.partition, hole, golfer.model)
    exact = [exact_value(draws, worth, action, balls, rng) for action in chosen]
    error = root_mean_square_error(chosen, exact)
    spread = math.sqrt(sum(one.spread**2 for one in exact) / len(exact))
    samples = max(2, math.ceil((spread / error) ** 2))
    plain = PlainMonteCarlo(
        hole, golfer.model, map_box=map_box(solved.solution.tables), worth=worth
    )
    drawn = min(samples, MOST_TIMED)
    begun = time.perf_counter()
    found = [
        plain.value(one.position_hole, one.lie, one.swing, one.bearing, samples=drawn, rng=rng)
        for one in chosen
    ]
    plain_s = (time.perf_counter() - begun) / len(chosen) * samples / drawn
    rate, plain_rate = count.actions / seconds, 1.0 / plain_s
    rows = [
        ["solver", f"{count.actions:,}", f"{seconds:.2f}", f"{rate:,.0f}"],
        [
            "plain Monte Carlo",
            f"{len(chosen)}",
            f"{plain_s * len(chosen):.2f}",
            f"{plain_rate:.3g}",
        ],
        ["ratio", "", "", f"{rate / plain_rate:,.0f}"],
    ]
    errors = np.array([one.value - other.value for one, other in zip(chosen, exact, strict=True)])
    apart = [
        (one.value - other.value) / math.hypot(one.standard_error, other.standard_error)
        for one, other in zip(found, exact, strict=True)
    ]
    notes = [
        f"Hole {hole.ref}, {golfer.name}; one thread each; the solver's time is that of tables "
        "and solve.",
        f"The solver's error: root mean square {error:.4f} strokes, mean {errors.mean():+.4f}, "
        f"largest {np.abs(errors).max():.4f}, over "
        f"{len(chosen)} actions against {balls:,} exact draws each (their own error, "
        f"{max(one.standard_error for one in exact):.4f} at most, taken off). Both look up the "
        "same values of resting places.",
        f"Same standard error: one draw has a spread of {spread:.3f} strokes, so the plain Monte "
        f"Carlo draws n = {samples:,} per action, spread / sqrt(n) = {error:.4f}"
        + (f"; {drawn:,} are timed and scaled up." if drawn < samples else "."),
        f"Plain against exact: {max(map(abs, apart)):.1f} standard errors apart at most.",
    ]
    heading = ("", "actions", "seconds", "actions a second")
    return ResultTable("Actions evaluated at the same error", heading, rows, notes)


def drawn_actions(solved: SolvedHole, count: int, rng: np.random.Generator) -> list[Action]:
    """Actions from places along the hole: a swing among the better ones, aimed near its best."""
    hole, evaluator = solved.adviser.hole, solved.adviser.evaluator
    found: list[Action] = []
    while len(found) < count:
        at = hole.line_hole.interpolate(rng.uniform(0.0, hole.line_hole.length))
        place = (at.x, at.y + rng.normal(0.0, SIDEWAYS_M))
        ground = Ground(int(label_points(hole, np.array([place]))[0]))
        if ground in _NOT_PLAYED:
            continue
        shots = evaluator.best_by_swing(place, ground.lie)
        if not shots:
            continue
        shot = shots[int(rng.integers(max(1, len(shots) // 2)))]
        bearing = shot.bearing + rng.uniform(-TURN, TURN)
        value = evaluator.value_of(place, ground.lie, shot.swing, bearing)
        if value is not None:
            found.append(Action(place, ground.lie, shot.swing, bearing, value.value))
    return found


def exact_value(
    draws: ShotDraws, worth: Worth, action: Action, balls: int, rng: np.random.Generator
) -> Estimate:
    """Value of an action by many draws against the polygons themselves."""
    grounds = draws.partition.grounds
    rest, ground, crossing = [], [], []
    for first in range(0, balls, CHUNK):
        n = min(CHUNK, balls - first)
        shots = draws.draw(
            np.tile(action.position_hole, (n, 1)),
            np.full(n, int(action.lie)),
            np.full(n, action.swing),
            np.full(n, action.bearing),
            rng=rng,
        )
        rest.append(shots.rest_hole)
        ground.append(grounds[shots.ground_class])
        crossing.append(shots.crossing_hole)
    return estimate(worth, np.concatenate(rest), np.concatenate(ground), np.concatenate(crossing))


def root_mean_square_error(chosen: list[Action], exact: list[Estimate]) -> float:
    """Root mean square of the solver's errors, the exact draws' own error taken off.

    Never below that own error: less could not be told apart from none.
    """
    pairs = list(zip(chosen, exact, strict=True))
    seen = sum((one.value - other.value) ** 2 for one, other in pairs) / len(pairs)
    own = sum(other.standard_error**2 for _, other in pairs) / len(pairs)
    return math.sqrt(max(seen - own, own))
