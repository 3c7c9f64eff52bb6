"""The plan of a round: holes side by side, with progress, as the command line and page need it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import ExitStack

from planner.course.hole import Hole
from planner.errors import OptionError
from planner.golfer.bag import Bag
from planner.golfer.swing_set import pattern_source
from planner.planning.hole_desk import shot_model, solve_desk
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest, chosen_holes, request_key
from planner.planning.round_simulation import simulate_hole
from planner.report import words
from planner.strategy.advice import ClubSource, HolePlan, RoundPlan
from planner.strategy.round_result import HoleScore, RoundScore, round_score
from planner.strategy.simulated_round import SimulatedHole

__all__ = ["check_form", "plan_round", "score_of_plan"]

FORM_A_HOLE = 8.0 / 18.0
"""Most that form may move a round, for each of its holes [strokes, one standard deviation]: the
rarest days that are looked at are four and a half deviations out, two strokes on every hole."""


def plan_round(
    request: PlanRequest,
    *,
    progress: Callable[[Progress], None] | None = None,
    finished: Callable[[HolePlan], None] | None = None,
    cancelled: threading.Event | None = None,
    pool: Executor | None = None,
    scored: bool = False,
    simulate: int = 0,
) -> RoundPlan:
    """Plan the holes of a request.

    With ``scored`` the plan has the chances of every hole's score; it is then also played by
    ``simulate`` balls on each hole.

    Holes are planned side by side on ``request.threads`` threads, or on those of ``pool``, which
    others may share and which must not be the one this call itself runs on. ``progress`` and, for
    every hole as soon as it is planned, in whatever order, ``finished`` are called from them, one
    call at a time.

    Raises
    ------
    BusyError
        The pool takes no more.
    OptionError
        A tee, hole, club or aim is unknown.
    SolveError
        A hole cannot be planned with this bag.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set.
    """
    holes = chosen_holes(request)
    model = shot_model(request)
    stop = cancelled or threading.Event()
    lock = threading.Lock()
    done = 0

    def tell(text: str) -> None:
        if progress is not None:
            progress(Progress(done, len(holes), text))

    tell("reading patterns")

    def one(hole: Hole) -> tuple[HolePlan, HoleScore | None, SimulatedHole | None]:
        nonlocal done
        desk = solve_desk(request, hole, model, cancelled=stop, threads=inner, scored=scored)
        plan = desk.plan
        balls = None
        if scored and simulate:
            with lock:
                tell(f"hole {hole.ref}: {simulate:,} balls")
            balls = simulate_hole(desk, simulate, cancelled=stop)
        with lock:
            done += 1
            if finished is not None:
                finished(plan)
            tell(f"hole {hole.ref}: {plan.best.label}")
        return plan, desk.score, balls

    workers = max(1, min(request.threads, len(holes)))
    inner = 1 if pool is not None else max(1, request.threads // workers)
    with ExitStack() as stack:
        here = pool if pool is not None else stack.enter_context(ThreadPoolExecutor(workers))
        jobs: list[Future[tuple[HolePlan, HoleScore | None, SimulatedHole | None]]] = []
        try:
            jobs.extend(here.submit(one, hole) for hole in holes)
            found = [job.result() for job in jobs]
        except BaseException:
            stop.set()
            for job in jobs:
                job.cancel()
            raise
    bag = request.bag
    clubs = tuple(dict.fromkeys(swing.club for swing in model.swings))
    return RoundPlan(
        course=request.course.name,
        golfer=bag.golfer.name,
        bag=bag.name,
        tee=request.tee or "longest",
        holes=tuple(plan for plan, _, _ in found),
        aim_for=request.aim_for,
        left_handed=bag.golfer.left_handed,
        notes=(*request.course.assumptions, *bag.findings, *model.notes),
        attribution=request.course.attribution,
        key=request_key(request),
        conditions=words.conditions(request.conditions),
        clubs=clubs,
        scores=tuple(score for _, score, _ in found if score is not None),
        simulated=tuple(balls for _, _, balls in found if balls is not None),
        patterns=_sources(bag, clubs),
    )


def _sources(bag: Bag, clubs: Sequence[str]) -> tuple[ClubSource, ...]:
    sources = pattern_source(bag)
    return tuple(
        ClubSource(label, sources[label], None if pattern is None else pattern.shots)
        for label, pattern in ((label, bag.club(label).pattern) for label in clubs)
    )


def check_form(form_sd: float, holes: int) -> None:
    """Find out before planning whether so many holes have room for a spread of form.

    Raises
    ------
    OptionError
        They have not.
    """
    most = FORM_A_HOLE * holes
    if form_sd > most:
        raise OptionError(
            f"form of {form_sd:g} strokes is too wide for {holes} of 18 holes, which move "
            f"together; give at most {most:.1f}"
        )


def score_of_plan(
    plan: RoundPlan, *, target: int | None = None, form_sd: float = 0.0
) -> RoundScore:
    """Chances of the total of a plan that was made with ``scored``.

    Parameters
    ----------
    target
        Total to reach or beat.
    form_sd
        Standard deviation of the golfer's form from day to day [strokes].

    Raises
    ------
    OptionError
        Form spreads wider than these holes' scores do.
    """
    title = f"{plan.course}, {plan.tee} tees. {plan.golfer}, bag {plan.bag}."
    try:
        return round_score(plan.scores, form_sd=form_sd, target=target, title=title)
    except ValueError as error:
        raise OptionError(
            f"form of {form_sd:g} strokes is too wide for these holes ({error}); give less"
        ) from None
