"""A quick stand-in for the solver, so that the page can be tested without solving.

Numbers are made up but depend on club and aim in the way real ones do.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from planner.course.hole import Hole, Point
from planner.course.lies import Lie
from planner.golfer.shot_outcome import SwingStyle
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.strategy.advice import (
    AimPoint,
    HolePlan,
    NextShot,
    PatternOnGround,
    RoundPlan,
    Shares,
    Shot,
)
from planner.strategy.round_result import HoleScore
from planner.strategy.score_distribution import distribution
from planner.strategy.value_field import ValueField

CARRIES = {"Driver": 205.0, "3 wood": 190.0, "5 iron": 150.0, "9 iron": 110.0, "Sand wedge": 70.0}


def make_shot(
    hole: Hole, position: Point, lie: Lie, club: str, aim_hole: Point, best: float | None = None
) -> Shot:
    """Make a shot whose cost grows with the distance of its aim from the line of play."""
    along, across = aim_hole[0] - position[0], aim_hole[1] - position[1]
    bearing = math.atan2(across, along)
    carry = min(CARRIES[club], max(math.dist(position, hole.pin_hole), 20.0))
    unit = np.array([math.cos(bearing), math.sin(bearing)])
    turn = np.column_stack((unit, [-unit[1], unit[0]]))
    mean = np.array(position) + carry * unit
    line = hole.line_hole
    beside = line.interpolate(line.project(_point(mean)))
    offset = float(mean[1] - beside.y)
    fairway = 0.7 * math.exp(-((offset / 25.0) ** 2))
    expected = 2.2 + math.dist(mean, hole.pin_hole) / 110.0 + 0.002 * offset**2
    covariance = turn @ np.diag([0.004 * carry**2, 0.006 * carry**2]) @ turn.T
    pattern = PatternOnGround(
        np.array([0.85, 0.15]),
        np.array([mean, np.array(position) + 0.5 * carry * unit]),
        np.array([covariance, 2 * covariance]),
        ("stock", "short"),
        0.09 * carry,
    )
    side = "left" if offset < 0 else "right"
    aim = AimPoint(
        (float(mean[0]), float(mean[1])),
        f"the *{side}* half [of] the fairway",
        offset,
        bearing,
        bearing % math.tau,
    )
    shares = Shares(fairway, 0.9 - fairway, 0.02, 0.03, 0.01, 0.0, 0.04, 0.0, 0.15)
    cost = 0.0 if best is None else expected - best
    return Shot(
        0,
        club,
        SwingStyle.FULL,
        carry,
        lie,
        position,
        aim,
        expected,
        0.05,
        cost,
        shares,
        math.dist(mean, hole.pin_hole),
        pattern,
    )


def _point(xy: Any) -> Any:
    import shapely

    return shapely.Point(xy)


def shots_from(hole: Hole, position: Point, lie: Lie) -> tuple[Shot, ...]:
    """Make one shot with every club, best first."""
    line = hole.line_hole
    start = line.project(_point(position))
    shots = []
    for club, carry in CARRIES.items():
        target = line.interpolate(start + carry)
        shots.append(make_shot(hole, position, lie, club, (target.x, target.y)))
    shots.sort(key=lambda shot: shot.expected_strokes)
    least = shots[0].expected_strokes
    return tuple(replace(shot, cost=shot.expected_strokes - least) for shot in shots)


class StandInDesk:
    """Answers like a solved hole."""

    def __init__(self, request: PlanRequest, ref: str) -> None:
        self.request = request
        self.hole = request.course.hole(ref)
        tee = self.hole.tee(request.tee)
        best, *others = shots_from(self.hole, tee.position_hole, Lie.TEE)
        places = []
        for chance, ahead in ((0.6, 0.0), (0.2, 25.0)):
            here = best.aim.point_hole if best.aim else tee.position_hole
            at = (here[0] - ahead, here[1] + ahead)
            first, second = shots_from(self.hole, at, Lie.FAIRWAY)[:2]
            away = math.dist(at, self.hole.pin_hole)
            places.append(NextShot("fairway", chance, Lie.FAIRWAY, at, away, first, second))
        self.plan = HolePlan(
            self.hole,
            tee.name,
            tee.position_hole,
            self.hole.length_from(tee),
            best,
            tuple(others),
            tuple(places),
            best.expected_strokes,
            0.05,
            True,
            1e-4,
            4,
        )

    def best_shots(self, position_hole: Point, lie: Lie, *, count: int = 6) -> tuple[Shot, ...]:
        return shots_from(self.hole, position_hole, lie)[:count]

    def aim_costs(self, shot: Shot, right_m: Sequence[float]) -> tuple[float, ...]:
        assert shot.aim is not None
        return tuple(
            make_shot(
                self.hole, shot.position_hole, shot.lie, shot.club, shot.aim.beside(right)
            ).expected_strokes
            - shot.expected_strokes
            for right in right_m
        )

    def strokes_at(self, points_hole: Any) -> Any:
        away = np.asarray(points_hole) - np.asarray(self.hole.pin_hole)
        return 1.5 + np.hypot(away[..., 0], away[..., 1]) / 100.0

    def value_field(self, box_hole: tuple[float, float, float, float]) -> ValueField:
        along = np.linspace(box_hole[0], box_hole[2], 60)
        across = np.linspace(box_hole[1], box_hole[3], 40)
        points = np.stack(np.meshgrid(along, across, indexing="ij"), axis=-1)
        return ValueField(along, across, self.strokes_at(points)[None])

    def evaluate(
        self,
        position_hole: Point,
        lie: Lie,
        club: str,
        aim_hole: Point,
        *,
        swing: int | None = None,
    ) -> Shot:
        best = shots_from(self.hole, position_hole, lie)[0].expected_strokes
        return make_shot(self.hole, position_hole, lie, club, aim_hole, best)


def open_hole(
    request: PlanRequest, ref: str, *, cancelled: threading.Event | None = None
) -> StandInDesk:
    return StandInDesk(request, ref)


def plan_round(
    request: PlanRequest,
    *,
    progress: Callable[[Progress], None] | None = None,
    finished: Callable[[HolePlan], None] | None = None,
    cancelled: threading.Event | None = None,
    pool: object = None,
    scored: bool = False,
) -> RoundPlan:
    plans = []
    holes = request.course.holes
    for done, hole in enumerate(holes):
        if progress is not None:
            progress(Progress(done, len(holes), f"hole {hole.ref}"))
        plans.append(StandInDesk(request, hole.ref).plan)
        if finished is not None:
            finished(plans[-1])
    return RoundPlan(
        request.course.name,
        request.bag.golfer.name,
        request.bag.name,
        request.tee or "",
        tuple(plans),
        request.aim_for,
        notes=("a note",),
        attribution=request.course.attribution,
        scores=tuple(score_of(hole) for hole in holes) if scored else (),
    )


def score_of(hole: Hole) -> HoleScore:
    """Birdie, par, bogey, double or one more, with whatever else is counted."""
    chances = distribution((0.05, 0.35, 0.4, 0.15, 0.05), first=hole.par - 1)
    fairway = math.nan if hole.par == 3 else 0.5
    return HoleScore(
        hole.ref, hole.par, chances, hole.stroke_index, 0.1, 1.9, fairway, 0.4, chances.mean
    )


def plan_as_json(plan: RoundPlan) -> dict[str, object]:
    return {"course": plan.course, "holes": len(plan.holes)}
