"""The use cases, once, for the command line and the page.

``plan_round`` plans holes one after another and reports progress; ``HoleDesk`` answers
questions about one solved hole: this ball, this lie, this club, this aim.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from planner.ball.conditions import Conditions
from planner.course.hole import Course, Hole, Point
from planner.course.lies import Lie
from planner.golfer.bag import Bag
from planner.strategy.advice import HolePlan, RoundPlan, Shot

AIMS_FOR = ("strokes", "penalties")


@dataclass(frozen=True)
class PlanRequest:
    """What to plan.

    Parameters
    ----------
    course, bag
        As read from their files.
    tee
        Name of the tee set; None takes each hole's longest.
    holes
        Refs of the holes to plan, in order; empty for all.
    conditions
        Weather and turf.
    aim_for
        ``"strokes"`` or ``"penalties"`` (fewest penalties within ``give_up`` strokes a hole).
    give_up
        Strokes a hole that may be given up for fewer penalties.
    local_rule_e5
        Whether Model Local Rule E-5 is in force.
    clubs
        Labels of the clubs to use; None for those carried.
    preview
        Coarser cells: quicker, less exact.
    threads
        Threads used.
    """

    course: Course
    bag: Bag
    tee: str | None = None
    holes: tuple[str, ...] = ()
    conditions: Conditions = field(default_factory=Conditions)
    aim_for: str = "strokes"
    give_up: float = 0.1
    local_rule_e5: bool = False
    clubs: tuple[str, ...] | None = None
    preview: bool = False
    threads: int = 2


@dataclass(frozen=True)
class Progress:
    """How far a plan is: ``done`` of ``total`` holes, and what is happening."""

    done: int
    total: int
    text: str


def demo_folder() -> Path:
    """Folder of the demo courses and bags, in a checkout or an installed package."""
    raise NotImplementedError


def plan_round(
    request: PlanRequest,
    *,
    progress: Callable[[Progress], None] | None = None,
    cancelled: threading.Event | None = None,
) -> RoundPlan:
    """Plan the holes of a request.

    Raises
    ------
    OptionError
        A tee, hole, club or aim is unknown.
    SolveError
        A hole cannot be planned with this bag.
    planner.strategy.hole_plan.Cancelled
        ``cancelled`` was set.
    """
    raise NotImplementedError


class HoleDesk:
    """One solved hole, ready to answer questions; built by :func:`open_hole`."""

    request: PlanRequest
    hole: Hole
    plan: HolePlan

    def best_shots(self, position_hole: Point, lie: Lie, *, count: int = 6) -> tuple[Shot, ...]:
        """Best shot with each of the ``count`` best swings from anywhere on the hole."""
        raise NotImplementedError

    def evaluate(
        self, position_hole: Point, lie: Lie, club: str, aim_hole: Point, *, swing: int | None = None
    ) -> Shot:
        """One club (full swing unless ``swing`` is given) aimed at a point; exact shares."""
        raise NotImplementedError


def open_hole(
    request: PlanRequest,
    ref: str,
    *,
    cancelled: threading.Event | None = None,
) -> HoleDesk:
    """Solve one hole of a request and keep the solution for questions."""
    raise NotImplementedError


def plan_as_json(plan: RoundPlan) -> dict[str, object]:
    """A plan as plain JSON values, metres and degrees, stable key order."""
    raise NotImplementedError
