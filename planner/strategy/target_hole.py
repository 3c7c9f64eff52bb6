"""One solved hole, ready to be played for any worth of its score, and what it plays otherwise."""

from __future__ import annotations

import math
import threading
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Point, Tee
from planner.course.lies import Lie
from planner.golfer.shot_outcome import SwingStyle
from planner.strategy.advice import HolePlan, NextShot
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.hole_tables import HoleTables
from planner.strategy.policy import TeeShot
from planner.strategy.score_distribution import ScoreDistribution
from planner.strategy.score_worth import ScoreWorth
from planner.strategy.solution import HoleSolution
from planner.strategy.target_play import TargetChances
from planner.strategy.target_results import (
    LEAST_GAIN,
    Choice,
    FormHole,
    NextChoice,
    Standing,
    TargetHole,
)
from planner.strategy.worth_solver import GAP, HoleWorth, WorthSolver, narrowed

__all__ = ["HoleStage", "open_stage"]

FloatArray = NDArray[np.float64]

STROKES_BEYOND = 7
"""Strokes beyond the expected ones up to which a hole's score is followed."""
_SAME_AIM = math.radians(1.0)
"""Bearings nearer than this are one choice."""


class HoleStage:
    """A hole as a :class:`planner.strategy.target_play.Stage`; made by :func:`open_stage`.

    Parameters
    ----------
    solver
        Plays it for any worth.
    adviser, plan
        The hole as planned for fewest strokes.
    """

    def __init__(
        self,
        solver: WorthSolver,
        adviser: HoleAdviser,
        plan: HolePlan,
        cancelled: threading.Event | None = None,
    ) -> None:
        self.solver = solver
        self.adviser = adviser
        self.plan = plan
        self._cancelled = cancelled
        self._found: HoleWorth | None = None
        self._plan_tee: dict[int, float] = {}

    @property
    def score(self) -> ScoreDistribution:
        """Chances of the hole's score as planned."""
        return self.solver.score

    def use_threads(self, threads: int) -> None:
        """Threads that sweeps run on."""
        self.solver.solver.threads = threads

    def best(self, worth: ScoreWorth, *, follow: int, first: int, last: int) -> FloatArray:
        """Worth of best play from the tee with ``first`` to ``last`` strokes in hand."""
        solver = self.solver
        found = solver.solve(worth, first=follow, last=last, cancelled=self._cancelled)
        shot = solver.tee_shot
        self._found = found
        self._plan_tee = found.after_shot(
            solver.tee, Lie.TEE, shot.swing, shot.bearing, left=shot.value
        )
        return np.array([found.tee_shot(s).value for s in range(first, last + 1)])

    def forget(self) -> None:
        """Let go of the last play that was worked out; it is large."""
        self._found = None

    def for_worth(self, worth: ScoreWorth) -> FormHole:
        """The hole played by itself for the worth of its score."""
        follow = worth.first + 1
        value = float(self.best(worth, follow=min(follow, 0), first=0, last=0)[0])
        planned = float(worth.expected(self.score, 0))
        hole = self.plan.hole
        best, tee = self._tee_choices(0)
        return FormHole(hole.ref, hole.par, max(value, planned), planned, best, tee)

    def of_target(self, chances: TargetChances, place: int, scores: Sequence[float]) -> TargetHole:
        """What is said of the hole, number ``place`` of a round played for a target.

        ``scores`` are the expected scores of all holes.
        """
        hole = self.plan.hole
        expected = math.fsum(scores[place:])
        span = chances.solved[place]
        rows: list[Standing] = []
        if span is not None and self._found is not None:
            later = self._later(range(span[0], span[1] + 1))
            for s in range(span[0], span[1] + 1):
                best, planned = self._tee_choices(s)
                rows.append(
                    Standing(
                        s,
                        expected - s,
                        chances.of(chances.reach, place, s),
                        chances.of(chances.best, place, s),
                        chances.of(chances.plan, place, s),
                        best,
                        planned,
                        None if best.differs(planned) else later.get(s),
                    )
                )
        return TargetHole(hole.ref, hole.par, len(scores) - place, expected, tuple(rows))

    # -- choices ------------------------------------------------------------------------------

    def _tee_choices(self, in_hand: int) -> tuple[Choice, Choice]:
        """Best tee shot and the plan's, both with best play after it."""
        assert self._found is not None
        solver = self.solver
        shot = self._found.tee_shot(in_hand)
        plan = solver.tee_shot
        worth = self._plan_tee[in_hand]
        planned = self._choice(solver.tee, Lie.TEE, plan.swing, plan.bearing, worth)
        if shot.swing < 0 or shot.value <= planned.worth:
            return planned, planned
        return self._choice(solver.tee, Lie.TEE, shot.swing, shot.bearing, shot.value), planned

    def _choice(
        self, position: Point, lie: Lie, swing: int, bearing: float, worth: float
    ) -> Choice:
        one = self.adviser.model.swings[swing]
        aim = self.adviser.aim_point(position, lie, one, bearing)
        partial = one.carry_m if one.style is SwingStyle.PARTIAL else None
        return Choice(one.label, aim, worth, partial)

    def _later(self, in_hand: Sequence[int]) -> dict[int, NextChoice]:
        """Choice after the plan's tee shot that differs most, by strokes in hand on the tee."""
        found: dict[int, NextChoice] = {}
        for there in self.plan.next_shots:
            for s, one in self._next_choices(there, in_hand).items():
                known = found.get(s)
                if known is None or _weight(one) > _weight(known):
                    found[s] = one
        return found

    def _next_choices(self, there: NextShot, in_hand: Sequence[int]) -> dict[int, NextChoice]:
        """Where a next place is played otherwise than planned, by strokes in hand on the tee."""
        assert self._found is not None
        place, lie = there.position_hole, there.lie
        swings = self.adviser.model.swings
        # The plan as it is followed from place to place.
        plan = self.solver.planned_at(place, lie)
        if plan[0] < 0 or lie not in swings[plan[0]].patterns:
            return {}
        held = [s for s in in_hand if s - 1 in self._found.levels]
        ways = [plan]
        for swing, bearing in {self._found.play_at(place, lie, s - 1) for s in held}:
            known = any(swing == other and abs(bearing - aim) < _SAME_AIM for other, aim in ways)
            if swing >= 0 and not known and lie in swings[swing].patterns:
                ways.append((swing, bearing))
        if len(ways) == 1:
            return {}
        left = there.best.expected_strokes
        worths = [self._found.after_shot(place, lie, *way, left=left) for way in ways]
        choices = {}
        for s in held:
            values = [worth[s - 1] for worth in worths]
            top = int(np.argmax(values))
            if values[top] - values[0] >= LEAST_GAIN:
                best, planned = (self._choice(place, lie, *ways[i], values[i]) for i in (top, 0))
                choices[s] = NextChoice(
                    there.place, there.distance_m, there.chance, s - 1, best, planned
                )
        return choices


def _weight(choice: NextChoice) -> float:
    """What a choice adds to the chance of the target, seen from the tee."""
    return choice.share * (choice.best.worth - choice.planned.worth)


def open_stage(
    levels: Sequence[HoleTables],
    solution: HoleSolution,
    tee: Tee,
    *,
    gap: float = GAP,
    cancelled: threading.Event | None = None,
) -> HoleStage:
    """Make a solved hole ready to be played for the worth of its score.

    Parameters
    ----------
    levels
        Tables of the hole, from fine to coarse, with which it was solved.
    solution
        The hole solved for fewest strokes.
    tee
        Where it is started.
    gap
        Actions whose expected strokes lie this far above the fewest are tried [strokes].
    """
    solver, settled = narrowed(levels, solution, gap=gap, cancelled=cancelled)
    adviser = HoleAdviser(settled, solver, tee)
    first = adviser.place_values(tee.position_hole, Lie.TEE)[0]
    worths = WorthSolver(
        solver,
        settled,
        tee.position_hole,
        TeeShot(first.swing, first.bearing, first.value),
        adviser.tee_swings(),
        most=math.ceil(first.value) + STROKES_BEYOND,
        gap=gap,
        cancelled=cancelled,
    )
    return HoleStage(worths, adviser, adviser.plan(), cancelled)
