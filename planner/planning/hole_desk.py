"""One hole of a request, solved and kept for questions: this ball, this lie, this club."""

from __future__ import annotations

import math
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.course.hole import Course, Hole, Point
from planner.course.lies import Lie
from planner.course.reading import to_lonlat
from planner.errors import OptionError
from planner.golfer.shot_outcome import ShotModel, SwingStyle
from planner.golfer.swing_set import build_shot_model
from planner.planning.request import PlanRequest, chosen_holes, tee_of
from planner.strategy.advice import HolePlan, Shot
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.hole_plan import build_levels, preview_options, solve_hole
from planner.strategy.hole_score import count_hole
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.hole_tables import TableOptions, longest_climb, longest_runs
from planner.strategy.look_ahead import LookAhead
from planner.strategy.plan_mass import PlannedShots
from planner.strategy.round_result import HoleScore
from planner.strategy.solution import SolveOptions
from planner.strategy.solver_side import SHORT_LONGEST_M
from planner.strategy.value_field import ValueField, value_field, values_at

__all__ = ["HoleDesk", "open_hole", "planned_shots", "score_of", "shot_model", "solve_desk"]

FloatArray = NDArray[np.float64]
FAIRWAYS_FROM_PAR = 4
"""Least par of the holes on which fairways hit are counted; on par 3s the green is aimed at."""
PENALTY_PRICES = (4.0, 2.0, 1.0, 0.5, 0.25)
"""Extra costs of a penalty stroke that are tried, dearest first, when penalties are to be few."""


@dataclass(frozen=True, eq=False)
class HoleDesk:
    """One solved hole, ready to answer questions; built by :func:`open_hole`.

    ``score`` holds the chances of its score where they were asked for, ``shots`` the plan from
    everywhere on the hole that they are of.
    """

    request: PlanRequest
    hole: Hole
    plan: HolePlan
    adviser: HoleAdviser
    score: HoleScore | None = None
    shots: PlannedShots | None = None

    def best_shots(self, position_hole: Point, lie: Lie, *, count: int = 6) -> tuple[Shot, ...]:
        """Best shot with each of the ``count`` best clubs from anywhere on the hole."""
        shots = self.adviser.best_shots(position_hole, lie, count=count)
        return tuple(_with_lonlat(self.request.course, self.hole, shot) for shot in shots)

    def evaluate(
        self,
        position_hole: Point,
        lie: Lie,
        club: str,
        aim_hole: Point,
        *,
        swing: int | None = None,
    ) -> Shot:
        """One club (full swing unless ``swing`` is given) aimed at a point.

        Raises
        ------
        OptionError
            The club cannot be played from there, or hardly stays in play.
        """
        model = self.adviser.model
        if swing is None:
            full = [
                i
                for i, one in enumerate(model.swings)
                if one.club == club and one.style is SwingStyle.FULL and lie in one.patterns
            ]
            if not full:
                raise OptionError(f"{club} is not played from {lie.words}; choose another club")
            swing = full[0]
        shot = self.adviser.evaluate(position_hole, lie, swing, aim_hole)
        if shot is None:
            raise OptionError(
                f"{model.swings[swing].label} aimed there hardly stays in play; aim elsewhere"
            )
        return _with_lonlat(self.request.course, self.hole, shot)

    def aim_costs(self, shot: Shot, right_m: Sequence[float]) -> tuple[float, ...]:
        """Strokes that a shot costs more with its aim moved to the right [m], each in turn.

        Negative if that is better; infinite if the ball then hardly stays in play.
        """
        if shot.aim is None:
            return tuple(0.0 for _ in right_m)
        costs = [self._cost_aimed_at(shot, shot.aim.beside(right)) for right in right_m]
        here = self._cost_aimed_at(shot, shot.aim.point_hole)
        return tuple(cost - here if math.isfinite(cost) else math.inf for cost in costs)

    def _cost_aimed_at(self, shot: Shot, aim_hole: Point) -> float:
        way = np.subtract(aim_hole, shot.position_hole)
        found = self.adviser.evaluator.value_of(
            shot.position_hole, shot.lie, shot.swing, math.atan2(way[1], way[0])
        )
        return math.inf if found is None else found.value

    def strokes_at(self, points_hole: ArrayLike) -> FloatArray:
        """Expected strokes from points [m], shape ``(n, 2)``; NaN where no ball is played from."""
        points = np.asarray(points_hole, dtype=float)
        return values_at(self.adviser.policy, self.hole, points)

    def value_field(self, box_hole: tuple[float, float, float, float]) -> ValueField:
        """Expected strokes over a part of the hole, for contours."""
        return value_field(self.adviser.policy, self.hole, box_hole)


def open_hole(
    request: PlanRequest,
    ref: str,
    *,
    cancelled: threading.Event | None = None,
) -> HoleDesk:
    """Solve one hole of a request and keep the solution for questions."""
    (hole,) = chosen_holes(replace(request, holes=(ref,)))
    return solve_desk(
        request, hole, shot_model(request), cancelled=cancelled, threads=request.threads
    )


def shot_model(request: PlanRequest) -> ShotModel:
    """Every swing of a request's golfer in its conditions."""
    return build_shot_model(request.bag, conditions=request.conditions, clubs=request.clubs)


def _table_options(request: PlanRequest, model: ShotModel, threads: int) -> TableOptions:
    longest, short = longest_runs(model, patch_carry=SHORT_LONGEST_M)
    options = TableOptions(
        club_length=model.club_length_m,
        local_rule_e5=request.local_rule_e5,
        longest_runs=longest,
        patch_longest_runs=short,
        longest_climb=longest_climb(model),
        threads=threads,
    )
    return preview_options(options) if request.preview else options


def solve_desk(
    request: PlanRequest,
    hole: Hole,
    model: ShotModel,
    *,
    cancelled: threading.Event | None,
    threads: int,
    scored: bool = False,
) -> HoleDesk:
    """Solve ``hole`` of a request with ``model``, as :func:`shot_model` gives it.

    With ``scored`` the chances of its score are worked out, too.
    """
    options = _table_options(request, model, threads)
    # Local Rule E-5 is the golfer's choice. A solve takes it always or never, so both are tried.
    rules = [False, True] if options.local_rule_e5 and hole.in_bounds is not None else [False]
    tables = [build_levels(hole, replace(options, local_rule_e5=rule)) for rule in rules]
    tee = tee_of(hole, request.tee)

    def solve(price: float) -> tuple[HoleAdviser, HoleSolver]:
        found = []
        for levels in tables:
            options = SolveOptions(tables=levels[0].options, penalty_price=price)
            solution, solver = solve_hole(levels, model, options, cancelled=cancelled)
            found.append((HoleAdviser(solution, solver, tee), solver))
        return min(found, key=lambda one: one[0].tee_value)

    adviser, solver = solve(0.0)
    plan = adviser.plan()
    if request.aim_for == "penalties":
        fewest = plan.expected_strokes
        for price in PENALTY_PRICES:
            cautious, its_solver = solve(price)
            found = cautious.plan()
            if found.expected_strokes <= fewest + request.give_up:
                adviser, solver = cautious, its_solver
                plan = replace(found, price_of_caution=found.expected_strokes - fewest)
                break
    said = _plan_with_lonlat(request.course, hole, plan)
    if not scored:
        return HoleDesk(request, hole, said, adviser)
    shots = planned_shots(adviser, solver)
    score = score_of(adviser, solver, shots, plan.best, cancelled=cancelled)
    return HoleDesk(request, hole, said, adviser, score, shots)


def planned_shots(adviser: HoleAdviser, solver: HoleSolver) -> PlannedShots:
    """What a solved hole's plan plays, from anywhere: one step looked ahead at each place."""
    shot = adviser.tee_shot
    ahead = LookAhead(adviser.solution, solver, shot)
    return PlannedShots(
        adviser.tee.position_hole, shot.swing, shot.bearing, ahead.decide, adviser.policy.value_at
    )


def score_of(
    adviser: HoleAdviser,
    solver: HoleSolver,
    shots: PlannedShots,
    tee_shot: Shot | None = None,
    *,
    cancelled: threading.Event | None = None,
) -> HoleScore:
    """Chances of a solved hole's score under its plan, and what it comes to besides.

    Parameters
    ----------
    solver
        The solver of the adviser's solution.
    shots
        The plan, as :func:`planned_shots` gives it.
    tee_shot
        The plan's shot from the tee, for the chance of the fairway; not counted if None.
    """
    hole = adviser.hole
    found = count_hole(
        adviser.solution,
        solver,
        adviser.partition,
        shots,
        threads=solver.threads,
        cancelled=cancelled,
    )
    return HoleScore(
        ref=hole.ref,
        par=hole.par,
        score=found.score,
        stroke_index=hole.stroke_index,
        penalties=found.penalties,
        putts=found.putts,
        fairway=math.nan
        if tee_shot is None or hole.par < FAIRWAYS_FROM_PAR
        else tee_shot.shares.fairway,
        green=found.green,
        expected=found.expected,
    )


def _with_lonlat(course: Course, hole: Hole, shot: Shot) -> Shot:
    if shot.aim is None:
        return shot
    lon, lat = to_lonlat(course, hole, np.array([shot.aim.point_hole]))[0]
    return replace(shot, aim=replace(shot.aim, lonlat=(float(lon), float(lat))))


def _plan_with_lonlat(course: Course, hole: Hole, plan: HolePlan) -> HolePlan:
    return replace(
        plan,
        best=_with_lonlat(course, hole, plan.best),
        others=tuple(_with_lonlat(course, hole, shot) for shot in plan.others),
        next_shots=tuple(
            replace(
                there,
                best=_with_lonlat(course, hole, there.best),
                runner_up=there.runner_up and _with_lonlat(course, hole, there.runner_up),
            )
            for there in plan.next_shots
        ),
    )
