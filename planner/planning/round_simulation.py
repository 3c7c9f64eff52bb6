"""The plan played ball by ball, to see its exact chances come out of draws."""

from __future__ import annotations

import threading
import time

import numpy as np

from planner.golfer.swing_set import golfer_putting
from planner.planning.hole_desk import HoleDesk
from planner.strategy.advice import RoundPlan
from planner.strategy.hole_solver import check_cancelled
from planner.strategy.roll_out import roll_out
from planner.strategy.round_result import BARRIERS, RoundScore
from planner.strategy.score_distribution import convolve
from planner.strategy.simulated_round import (
    SimulatedHole,
    SimulatedRound,
    simulated_hole,
    simulated_round,
)

__all__ = ["MOST_ROUNDS", "simulate_hole", "simulation_of_plan"]

MOST_ROUNDS = 1_000_000
"""Most rounds that are simulated at a time: some minutes, and 36 MB of scores."""
_SEED = 20230101


def simulate_hole(
    desk: HoleDesk, balls: int, *, cancelled: threading.Event | None = None
) -> SimulatedHole:
    """Play the plan of a hole that was solved with its score, every putt drawn.

    Balls lie anywhere, and what happens to each is worked out from the polygons of the map; the
    draws are the same each time.

    Raises
    ------
    ValueError
        The hole was solved without its score.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set.
    """
    if desk.score is None or desk.shots is None:
        raise ValueError("a hole is simulated where its score was worked out")
    adviser, shots = desk.adviser, desk.shots
    begun = time.thread_time()
    played = roll_out(
        desk.hole,
        adviser.model,
        shots.position_hole,
        decide=shots.decide,
        value_at=shots.value_at,
        balls=balls,
        rng=np.random.default_rng((_SEED, *desk.hole.ref.encode())),
        local_rule_e5=adviser.solution.tables.options.local_rule_e5,
        may_replay=False,
        putting=golfer_putting(desk.request.bag.golfer),
        partition=adviser.partition,
        watch=lambda _: check_cancelled(cancelled),
    )
    return simulated_hole(desk.score, played, seconds=time.thread_time() - begun)


def simulation_of_plan(plan: RoundPlan, score: RoundScore) -> SimulatedRound:
    """Rounds of a plan that was made with ``simulate``, beside the chances of ``score``.

    Form is left out on both sides: what is simulated are usual days.
    """
    totals = {total - 1 for total in BARRIERS} if len(score.holes) == 18 else set()
    totals |= {score.par} | ({score.target} if score.target is not None else set())
    usual = convolve([hole.score for hole in score.holes])
    return simulated_round(plan.simulated, usual, sorted(totals, reverse=True))
