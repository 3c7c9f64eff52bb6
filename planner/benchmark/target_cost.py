"""What playing for a target costs, in multiples of solving the hole for fewest strokes."""

from __future__ import annotations

import time
from collections.abc import Sequence

import numpy as np

from planner.benchmark.result_table import ResultTable
from planner.benchmark.solved_hole import Player
from planner.course.hole import Hole
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.score_worth import ScoreWorth, worth_of_scores
from planner.strategy.solution import SolveOptions
from planner.strategy.target_hole import open_stage

__all__ = ["target_cost"]

STANDINGS = 20
"""Strokes in hand worked out on the tee, as on a hole in the middle of a round."""
SPREAD = 4.0
"""Standard deviation of the strokes on the holes that follow, for the worth."""
COUNTED = 24
"""Scores told apart where strokes are counted."""


def target_cost(golfer: Player, holes: Sequence[Hole]) -> ResultTable:
    """Processor time of a solve, and of best play for a worth as in the middle of a round.

    The strokes counted as a worth give the fewest strokes again: what is left is the error.
    """
    options = SolveOptions(tables=golfer.table_options(threads=1), count_penalties=False)
    rows = []
    for hole in holes:
        levels = build_levels(hole, options.tables)
        solve_hole(levels, golfer.model, options)  # tables and compiled kernels are there from now
        begun = time.process_time()
        solution, _ = solve_hole(levels, golfer.model, options)
        solved = time.process_time() - begun
        begun = time.process_time()
        stage = open_stage(levels, solution, golfer.tee_of(hole))
        opened = time.process_time() - begun
        first = round(stage.score.mean) - STANDINGS // 2
        last = first + STANDINGS - 1
        deepest = first - round(stage.score.mean) - 2
        begun = time.process_time()
        stage.best(_worth(), follow=deepest, first=first, last=last)
        played = time.process_time() - begun
        counted = stage.for_worth(worth_of_scores(-np.arange(1.0, COUNTED + 1)))
        rows.append(
            [
                hole.ref,
                f"{solved:.2f}",
                f"{opened:.2f}",
                f"{played:.2f}",
                f"{last - deepest + 1}",
                f"{(opened + played) / solved:.1f}",
                f"{counted.worth - counted.worth_planned:.4f}",
            ]
        )
    heading = (
        "hole", "solve s", "open s", "levels s", "levels", "over one solve", "left of counting",
    )  # fmt: skip
    notes = [
        "Processor seconds of one thread: a solve for fewest strokes without penalties; opening "
        f"all actions near the best with the plan's chances; {STANDINGS} standings on the tee and "
        "what is below them.",
        "Left of counting: strokes by which playing to count strokes beats the plan for fewest: "
        "the error of what is gained.",
        f"Golfer: {golfer.name}, {golfer.tee} tees.",
    ]
    return ResultTable("Playing for a target", heading, rows, notes)


def _worth() -> ScoreWorth:
    """Chance by strokes in hand as with half a round to play: a rising curve round zero."""
    in_hand = np.arange(-30, 31)
    return ScoreWorth(-30, 1.0 / (1.0 + np.exp(-1.7 * in_hand / SPREAD)))
