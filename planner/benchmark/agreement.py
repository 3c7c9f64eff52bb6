"""The exact chances of each hole's score against balls played one by one off any lattice."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

import numpy as np

from planner.benchmark.accuracy import NOT_CONVERGED
from planner.benchmark.result_table import ResultTable
from planner.benchmark.solved_hole import Player, solve
from planner.course.hole import Hole
from planner.golfer.swing_set import golfer_putting
from planner.planning.hole_desk import planned_shots, score_of
from planner.strategy.roll_out import roll_out
from planner.strategy.simulated_round import SimulatedHole, simulated_hole

__all__ = ["agreement", "played_hole"]


def played_hole(
    golfer: Player, hole: Hole, *, balls: int, threads: int, seed: Sequence[int]
) -> tuple[SimulatedHole, float, bool]:
    """Solve a hole, work out its score's chances, and play its plan ``balls`` times.

    Returns the balls beside the chances, V(tee), and whether the solve converged.
    """
    solved = solve(golfer, hole, golfer.table_options(threads=threads))
    adviser = solved.adviser
    shots = planned_shots(adviser, solved.solver)
    score = score_of(adviser, solved.solver, shots)
    begun = time.thread_time()
    played = roll_out(
        hole,
        golfer.model,
        shots.position_hole,
        decide=shots.decide,
        value_at=shots.value_at,
        may_replay=False,
        balls=balls,
        rng=np.random.default_rng(seed),
        partition=adviser.partition,
        putting=golfer_putting(golfer.bag.golfer),
    )
    found = simulated_hole(score, played, seconds=time.thread_time() - begun)
    return found, solved.tee_value, solved.solution.converged


def agreement(
    golfer: Player,
    holes: Sequence[Hole],
    *,
    balls: int,
    threads: int,
    seed: int,
    tell: Callable[[str], None],
) -> ResultTable:
    """Compare means, and every chance of a score that 20 balls or more are expected at."""
    rows = []
    simulated, compared, farthest = 0.0, 0, 0.0
    for number, hole in enumerate(holes):
        found, value, converged = played_hole(
            golfer, hole, balls=balls, threads=threads, seed=(seed, number)
        )
        simulated += found.seconds
        compared += len(found.chances)
        worst = found.worst
        off = "" if worst is None else f"{worst.score}: {worst.errors:+.1f}"
        farthest = max(farthest, 0.0 if worst is None else abs(worst.errors))
        rows.append(
            [
                hole.ref,
                f"{value:.4f}" + ("" if converged else "?"),
                f"{found.exact:.4f}",
                f"{found.mean:.4f}",
                f"{found.difference:+.4f}",
                f"{found.standard_error:.4f}",
                f"{found.errors:+.1f}",
                off,
                f"{found.unfinished}",
                f"{found.seconds:.1f}",
            ]
        )
        tell(f"{golfer.name} hole {hole.ref}: {found.errors:+.1f} standard errors; {off}")
    notes = [
        f"{balls:,} balls a hole play the plan, one step looked ahead, exact polygons, every putt "
        f"drawn, seed {seed}. {NOT_CONVERGED}",
        f"{compared} chances of single scores are compared; the farthest is {farthest:.1f} "
        "standard errors off.",
        f"{balls:,} rounds of these {len(rows)} holes simulated in {simulated:.0f} s of a "
        "processor.",
    ]
    heading = (
        "hole", "V(tee)", "exact", "simulated", "difference", "standard error", "in errors",
        "worst score", "unfinished", "s",
    )  # fmt: skip
    title = f"Exact chances against simulation: {golfer.name}, {golfer.tee} tees"
    return ResultTable(title, heading, rows, notes)
