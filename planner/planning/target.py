"""Playing for a target, for points, under a maximum score, or to win one hole of a match."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence

from planner.course.hole import Hole
from planner.errors import OptionError
from planner.planning.hole_bench import each_hole, open_bench
from planner.planning.hole_desk import shot_model
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest, chosen_holes
from planner.strategy.hole_plan import solve_hole
from planner.strategy.score_distribution import ScoreDistribution
from planner.strategy.score_worth import ScoreWorth, match_worth, maximum_worth, points_worth
from planner.strategy.solution import SolveOptions
from planner.strategy.target_hole import HoleStage, open_stage
from planner.strategy.target_play import TargetChances, best_chances
from planner.strategy.target_results import FormPlan, TargetHole, TargetPlan

__all__ = ["match_plan", "maximum_plan", "points_plan", "target_plan"]

UNSETTLED = 0.005
"""Residual from which on it is told that a hole did not settle [strokes]."""
Tell = Callable[[Progress], None]


def target_plan(
    request: PlanRequest,
    target: int,
    *,
    progress: Tell | None = None,
    cancelled: threading.Event | None = None,
) -> TargetPlan:
    """Best chance of ``target`` or fewer strokes on the holes of a request.

    Every hole is solved for fewest strokes first; then they are worked back from the last one for
    all strokes in hand that matter.

    Raises
    ------
    OptionError
        An option cannot be used.
    SolveError
        A hole cannot be solved.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set.
    """
    holes = chosen_holes(request)
    if target < len(holes):
        raise OptionError(f"--target {target}: {len(holes)} holes take a stroke each at least")
    stop = cancelled or threading.Event()
    total = 2 * len(holes)
    stages = _stages(request, holes, total, progress, stop)
    scores = [stage.score.mean for stage in stages]
    said: dict[int, TargetHole] = {}

    def told(place: int, chances: TargetChances) -> None:
        said[place] = stages[place].of_target(chances, place, scores)
        stages[place].forget()
        done = len(holes) + len(said)
        _tell(progress, done, total, f"hole {holes[place].ref}, back from the last")

    chances = best_chances(stages, target, told=told, cancelled=stop)
    return TargetPlan(
        course=request.course.name,
        golfer=request.bag.golfer.name,
        tee=request.tee or "longest",
        target=target,
        par=sum(hole.par for hole in holes),
        expected=sum(scores),
        chance=chances.chance,
        chance_planned=chances.chance_planned,
        holes=tuple(said[place] for place in range(len(holes))),
        preview=request.preview,
        notes=_unsettled(stages),
    )


def points_plan(
    request: PlanRequest,
    *,
    progress: Tell | None = None,
    cancelled: threading.Event | None = None,
) -> FormPlan:
    """Most expected Stableford points, gross (Rule 21.1)."""
    return _form_plan(
        request,
        lambda hole: points_worth(hole.par),
        form="Stableford",
        unit="points",
        progress=progress,
        cancelled=cancelled,
    )


def maximum_plan(
    request: PlanRequest,
    over_par: int,
    *,
    progress: Tell | None = None,
    cancelled: threading.Event | None = None,
) -> FormPlan:
    """Fewest expected strokes where no hole counts more than ``over_par`` over par (Rule 21.2)."""
    if over_par < 1:
        raise OptionError(f"a maximum score must lie above par, got {over_par} over it")
    return _form_plan(
        request,
        lambda hole: maximum_worth(hole.par + over_par),
        form=f"Maximum score, {over_par} over par",
        unit="strokes",
        progress=progress,
        cancelled=cancelled,
    )


def match_plan(
    request: PlanRequest,
    opponent: ScoreDistribution,
    *,
    received: int = 0,
    progress: Tell | None = None,
    cancelled: threading.Event | None = None,
) -> FormPlan:
    """Best play of holes that are each played against the same opponent's score.

    A win counts 1 and a half 0.5.

    Parameters
    ----------
    opponent
        Chances of the opponent's score on the hole.
    received
        Strokes received on it.
    """
    return _form_plan(
        request,
        lambda _: match_worth(opponent, win=1.0, half=0.5, loss=0.0, received=received),
        form="Match play",
        unit="holes",
        progress=progress,
        cancelled=cancelled,
    )


def _form_plan(
    request: PlanRequest,
    worth_of: Callable[[Hole], ScoreWorth],
    *,
    form: str,
    unit: str,
    progress: Tell | None,
    cancelled: threading.Event | None,
) -> FormPlan:
    holes = chosen_holes(request)
    worths = [worth_of(hole) for hole in holes]
    stop = cancelled or threading.Event()
    stages = _stages(request, holes, 2 * len(holes), progress, stop)
    played = []
    for hole, stage, worth in zip(holes, stages, worths, strict=True):
        played.append(stage.for_worth(worth))
        stage.forget()
        _tell(progress, len(holes) + len(played), 2 * len(holes), f"hole {hole.ref}, {form}")
    return FormPlan(
        course=request.course.name,
        golfer=request.bag.golfer.name,
        tee=request.tee or "longest",
        form=form,
        unit=unit,
        holes=tuple(played),
        preview=request.preview,
        notes=_unsettled(stages),
    )


def _stages(
    request: PlanRequest,
    holes: Sequence[Hole],
    total: int,
    progress: Tell | None,
    stop: threading.Event,
) -> list[HoleStage]:
    """All holes solved for fewest strokes, side by side, ready for any worth."""
    model = shot_model(request)
    lock = threading.Lock()
    done = 0

    def one(hole: Hole) -> HoleStage:
        nonlocal done
        bench = open_bench(request, hole, [model])
        found = []
        for levels in bench.levels:
            options = SolveOptions(tables=levels[0].options, count_penalties=False)
            solution, _ = solve_hole(levels, model, options, cancelled=stop)
            found.append(open_stage(levels, solution, bench.tee, cancelled=stop))
        stage = min(found, key=lambda one: one.plan.expected_strokes)
        with lock:
            done += 1
            _tell(progress, done, total, f"hole {hole.ref}, fewest strokes")
        return stage

    stages = each_hole(holes, one, threads=request.threads, cancelled=stop)
    for stage in stages:
        # Holes hang on each other from here on, so each gets all threads.
        stage.use_threads(request.threads)
    return stages


def _unsettled(stages: Sequence[HoleStage]) -> tuple[str, ...]:
    """What is said of holes whose solution did not settle."""
    plans = [stage.plan for stage in stages]
    return tuple(
        f"hole {plan.hole.ref}: its values still move by {plan.residual:.3f} strokes"
        for plan in plans
        if not plan.converged and plan.residual >= UNSETTLED
    )


def _tell(progress: Tell | None, done: int, total: int, text: str) -> None:
    if progress is not None:
        progress(Progress(done, total, text))
