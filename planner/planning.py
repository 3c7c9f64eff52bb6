"""The use cases, once, for the command line and the page.

``plan_round`` plans holes one after another and reports progress; ``HoleDesk`` answers
questions about one solved hole: this ball, this lie, this club, this aim.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace

import numpy as np

from planner import __version__
from planner.ball.conditions import Conditions
from planner.course.hole import Course, Hole, Point, Tee
from planner.course.lies import Lie
from planner.course.reading import to_lonlat
from planner.errors import OptionError
from planner.golfer.bag import Bag
from planner.golfer.shot_outcome import ShotModel, SwingStyle
from planner.golfer.swing_set import build_shot_model
from planner.report import words
from planner.strategy.advice import HolePlan, RoundPlan, Shot
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.hole_plan import coarse_options, solve_hole
from planner.strategy.hole_tables import TableOptions, build_tables, longest_runs
from planner.strategy.solution import SolveOptions
from planner.strategy.solver_side import SHORT_LONGEST_M

AIMS_FOR = ("strokes", "penalties")
PENALTY_PRICES = (4.0, 2.0, 1.0, 0.5, 0.25)
"""Extra costs of a penalty stroke that are tried, dearest first, when penalties are to be few."""


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


def plan_round(
    request: PlanRequest,
    *,
    progress: Callable[[Progress], None] | None = None,
    finished: Callable[[HolePlan], None] | None = None,
    cancelled: threading.Event | None = None,
) -> RoundPlan:
    """Plan the holes of a request.

    Holes are planned side by side on ``request.threads`` threads. ``progress`` and, for every
    hole as soon as it is planned, in whatever order, ``finished`` are called from them, one call
    at a time.

    Raises
    ------
    OptionError
        A tee, hole, club or aim is unknown.
    SolveError
        A hole cannot be planned with this bag.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set.
    """
    holes = chosen_holes(request)
    model = _model(request)
    stop = cancelled or threading.Event()
    lock = threading.Lock()
    done = 0

    def tell(text: str) -> None:
        if progress is not None:
            progress(Progress(done, len(holes), text))

    tell("reading patterns")

    def one(hole: Hole) -> HolePlan:
        nonlocal done
        plan = _desk(request, hole, model, cancelled=stop, threads=inner).plan
        with lock:
            done += 1
            if finished is not None:
                finished(plan)
            tell(f"hole {hole.ref}: {plan.best.label}")
        return plan

    workers = max(1, min(request.threads, len(holes)))
    inner = max(1, request.threads // workers)
    with ThreadPoolExecutor(workers) as pool:
        jobs = [pool.submit(one, hole) for hole in holes]
        try:
            plans = [job.result() for job in jobs]
        except BaseException:
            stop.set()
            for job in jobs:
                job.cancel()
            raise
    bag = request.bag
    return RoundPlan(
        course=request.course.name,
        golfer=bag.golfer.name,
        bag=bag.name,
        tee=request.tee or "longest",
        holes=tuple(plans),
        aim_for=request.aim_for,
        left_handed=bag.golfer.left_handed,
        notes=(*request.course.assumptions, *bag.findings, *model.notes),
        attribution=request.course.attribution,
        key=request_key(request),
        conditions=words.conditions(request.conditions),
        clubs=tuple(dict.fromkeys(swing.club for swing in model.swings)),
    )


def chosen_holes(request: PlanRequest) -> tuple[Hole, ...]:
    """Holes of a request in the order asked for.

    Raises
    ------
    OptionError
        A hole or tee is unknown, or what to aim for.
    """
    course = request.course
    if request.aim_for not in AIMS_FOR:
        raise OptionError(f'aim for "{request.aim_for}" is unknown; use {" or ".join(AIMS_FOR)}')
    if request.give_up < 0:
        raise OptionError(f"strokes to give up must not be negative, got {request.give_up:g}")
    refs = [hole.ref for hole in course.holes]
    unknown = [ref for ref in request.holes if ref not in refs]
    if unknown:
        raise OptionError(
            f"{course.name} has no hole {', '.join(unknown)}; its holes are {', '.join(refs)}"
        )
    names = [name.casefold() for name in course.tee_names]
    if request.tee is not None and request.tee.casefold() not in names:
        raise OptionError(
            f'{course.name} has no tees "{request.tee}"; it has {", ".join(course.tee_names)}'
        )
    return tuple(course.hole(ref) for ref in request.holes) or course.holes


def tee_of(hole: Hole, name: str | None) -> Tee:
    """Tee of a hole by name; the hole's longest where it lacks that set."""
    try:
        return hole.tee(name)
    except KeyError:
        return hole.tees[0]


@dataclass(frozen=True, eq=False)
class HoleDesk:
    """One solved hole, ready to answer questions; built by :func:`open_hole`."""

    request: PlanRequest
    hole: Hole
    plan: HolePlan
    adviser: HoleAdviser

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


def open_hole(
    request: PlanRequest,
    ref: str,
    *,
    cancelled: threading.Event | None = None,
) -> HoleDesk:
    """Solve one hole of a request and keep the solution for questions."""
    (hole,) = chosen_holes(replace(request, holes=(ref,)))
    return _desk(request, hole, _model(request), cancelled=cancelled, threads=request.threads)


def request_key(request: PlanRequest) -> str:
    """Hash of everything a plan depends on; equal keys mean equal plans."""
    parts = [
        __version__,
        repr(request.bag),
        repr(request.tee),
        repr(request.holes),
        repr(request.conditions),
        request.aim_for,
        repr(request.give_up if request.aim_for == "penalties" else 0.0),
        repr(request.local_rule_e5),
        repr(request.clubs),
        repr(request.preview),
    ]
    for hole in request.course.holes:
        shapes = [area.shape_hole.wkb_hex + area.ground.name for area in hole.areas]
        bounds = "" if hole.in_bounds is None else hole.in_bounds.wkb_hex
        parts += [hole.ref, hole.line_hole.wkb_hex, repr(hole.tees), repr(hole.pin_hole), bounds]
        parts += [repr(hole.elevation), repr(hole.frame), *shapes]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:16]


def _model(request: PlanRequest) -> ShotModel:
    return build_shot_model(request.bag, conditions=request.conditions, clubs=request.clubs)


def _table_options(request: PlanRequest, model: ShotModel, threads: int) -> TableOptions:
    longest, short = longest_runs(model, patch_carry=SHORT_LONGEST_M)
    options = TableOptions(
        club_length=model.club_length_m,
        local_rule_e5=request.local_rule_e5,
        longest_run=longest,
        patch_longest_run=short,
        threads=threads,
    )
    return coarse_options(options) if request.preview else options


def _desk(
    request: PlanRequest,
    hole: Hole,
    model: ShotModel,
    *,
    cancelled: threading.Event | None,
    threads: int,
) -> HoleDesk:
    options = _table_options(request, model, threads)
    # Local Rule E-5 is the golfer's choice. A solve takes it always or never, so both are tried.
    rules = [False, True] if options.local_rule_e5 and hole.in_bounds is not None else [False]
    tables = [build_tables(hole, replace(options, local_rule_e5=rule)) for rule in rules]
    coarse = [
        build_tables(hole, coarse_options(replace(options, local_rule_e5=rule))) for rule in rules
    ]
    tee = tee_of(hole, request.tee)

    def solve(price: float) -> HoleAdviser:
        found = [
            HoleAdviser(
                *solve_hole(
                    fine,
                    rough,
                    model,
                    SolveOptions(tables=fine.options, penalty_price=price),
                    cancelled=cancelled,
                ),
                tee,
            )
            for fine, rough in zip(tables, coarse, strict=True)
        ]
        return min(found, key=lambda adviser: adviser.tee_value)

    adviser = solve(0.0)
    plan = adviser.plan()
    if request.aim_for == "penalties":
        fewest = plan.expected_strokes
        for price in PENALTY_PRICES:
            cautious = solve(price)
            found = cautious.plan()
            if found.expected_strokes <= fewest + request.give_up:
                adviser = cautious
                plan = replace(found, price_of_caution=found.expected_strokes - fewest)
                break
    return HoleDesk(request, hole, _plan_with_lonlat(request.course, hole, plan), adviser)


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
