"""The solved value of a hole against balls played off any lattice."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

import numpy as np

from planner.benchmark.accuracy import NOT_CONVERGED
from planner.benchmark.result_table import ResultTable
from planner.benchmark.solved_hole import Player, solve
from planner.course.hole import Hole
from planner.strategy.roll_out import roll_out


def roll_out_check(
    golfer: Player,
    holes: Sequence[Hole],
    *,
    balls: int,
    threads: int,
    seed: int,
    tell: Callable[[str], None],
) -> ResultTable:
    """Play the policy of each hole ``balls`` times with exact polygons."""
    usual = golfer.table_options(threads=threads)
    rows = []
    simulated = 0.0
    for number, hole in enumerate(holes):
        solved = solve(golfer, hole, usual)
        ahead = solved.ahead
        begun = time.perf_counter()
        played = roll_out(
            hole,
            golfer.model,
            solved.adviser.tee.position_hole,
            decide=ahead.decide,
            value_at=solved.adviser.policy.value_at,
            may_replay=False,
            balls=balls,
            rng=np.random.default_rng((seed, number)),
            partition=solved.adviser.partition,
        )
        seconds = time.perf_counter() - begun
        simulated += seconds
        difference = played.mean - solved.tee_value
        value = f"{solved.tee_value:.4f}" + ("" if solved.solution.converged else "?")
        cells = [hole.ref, value, f"{played.mean:.4f}", f"{played.standard_error:.4f}"]
        errors = difference / played.standard_error
        cells += [f"{difference:+.4f}", f"{errors:+.1f}", f"{(~played.finished).sum()}"]
        rows.append([*cells, f"{seconds:.1f}"])
        tell(f"{golfer.name} hole {hole.ref}: {difference:+.4f}, {errors:+.1f} standard errors")
    notes = [
        f"{balls:,} balls a hole with the solved policy, one step looked ahead, exact polygons, "
        f"seed {seed}. {NOT_CONVERGED}",
        f"{balls:,} rounds of these {len(rows)} holes simulated in {simulated:.0f} s, one thread.",
    ]
    heading = (
        "hole", "solved", "rolled out", "standard error", "difference", "in standard errors",
        "unfinished", "s",
    )  # fmt: skip
    title = f"Roll-out against V(tee): {golfer.name}, {golfer.tee} tees"
    return ResultTable(title, heading, rows, notes)
