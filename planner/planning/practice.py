"""What to practise, and the cheapest way to a target score by a date."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from itertools import count

import numpy as np

from planner.course.hole import Hole
from planner.errors import OptionError
from planner.golfer.practice_abilities import (
    ABILITIES,
    MOST_STEPS,
    improved,
    step_hours,
)
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.swing_set import build_shot_model
from planner.planning.hole_bench import each_hole, open_bench
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest, chosen_holes
from planner.strategy.practice_plan import (
    PracticeStep,
    PricedAbility,
    Regimen,
    cheapest_road,
    combined_gain,
    moved,
    overlap_rate,
    ranked,
)
from planner.strategy.practice_results import Goal, PracticePlan, PracticeRoad, Stage
from planner.strategy.score_distribution import ScoreDistribution, convolve

__all__ = ["practice_plan"]

MOST_WORKED_OUT = 8
"""Regimens that are worked out in full before the search gives up proving."""
ESTIMATE_SLACK = 0.02
"""Error of the estimated chance that is allowed for."""
_TABLE_STEP = 0.05
"""Spacing of the gains for which the estimate is tabled [strokes]."""
_DAYS_A_WEEK = 7.0
Steps = tuple[int, ...]


def practice_plan(
    request: PlanRequest,
    *,
    goal: Goal | None = None,
    today: date | None = None,
    hours: Mapping[str, float] | None = None,
    progress: Callable[[Progress], None] | None = None,
    cancelled: threading.Event | None = None,
) -> PracticePlan:
    """Solve every hole for the golfer as he is and better at each ability in turn.

    Parameters
    ----------
    goal
        Target to find a road to; None ranks the abilities only.
    today
        Day on which practice starts; None is today.
    hours
        Hours of the first step by ability, in place of the assumed ones; 0 leaves one out.

    Raises
    ------
    OptionError
        An option cannot be used.
    SolveError
        A hole cannot be solved.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set.
    """
    bench = _Range(request, progress, cancelled or threading.Event())
    priced = step_hours(hours)
    limit = float("inf") if goal is None else _hours_until(goal, today or date.today())
    abilities = [PricedAbility(one.name, priced[one.key]) for one in ABILITIES]
    practised = [i for i, one in enumerate(abilities) if one.hours]
    if not practised:
        raise OptionError("every ability has 0 hours; leave one to practise")
    none = (0,) * len(ABILITIES)
    wanted = [none, *(_only(i, 1) for i in practised)]
    if goal is not None:
        wanted += [_only(i, MOST_STEPS) for i in practised]
        wanted.append(tuple(MOST_STEPS if i in practised else 0 for i in range(len(ABILITIES))))
    values = bench.values(wanted, keep_shapes=goal is not None)
    now = values[none]
    shape: _Estimate | None = None
    if goal is not None:
        shape = _Estimate(convolve(bench.shapes(none)), goal.target, values, practised)
    steps = ranked(
        [
            PracticeStep(
                abilities[i].name,
                ABILITIES[i].step,
                now - values[_only(i, 1)],
                abilities[i].hours[0],
                float("nan") if shape is None else shape.chance(_only(i, 1)) - shape.chance(none),
            )
            for i in practised
        ]
    )
    holes = bench.holes
    return PracticePlan(
        course=request.course.name,
        golfer=request.bag.golfer.name,
        tee=request.tee or "longest",
        holes=tuple(hole.ref for hole in holes),
        par=sum(hole.par for hole in holes),
        expected=now,
        steps=steps,
        own_hours=bool(hours),
        road=None
        if goal is None or shape is None
        else _road(bench, abilities, goal, limit, shape, [step.name for step in steps]),
    )


def _hours_until(goal: Goal, today: date) -> float:
    """Hours of practice until the day of a goal; infinite without one."""
    if not 0.0 < goal.chance < 1.0:
        raise OptionError(f"--chance must be between 0 and 100 per cent, got {goal.chance:.0%}")
    if not 0.0 < goal.hours_a_week <= 100.0:
        raise OptionError(f"--hours-a-week must be from 0 to 100, got {goal.hours_a_week:g}")
    if goal.by is None:
        return float("inf")
    if goal.by <= today:
        raise OptionError(f"--by {goal.by.isoformat()}: that day is over; give a later one")
    return (goal.by - today).days / _DAYS_A_WEEK * goal.hours_a_week


def _only(ability: int, steps: int) -> Steps:
    return tuple(steps if i == ability else 0 for i in range(len(ABILITIES)))


def _road(
    bench: _Range,
    abilities: Sequence[PricedAbility],
    goal: Goal,
    limit: float,
    estimate: _Estimate,
    order: Sequence[str],
) -> PracticeRoad:
    everything = sum(one.hours_of(len(one.hours)) for one in abilities)

    def chance_of(steps: Steps) -> float:
        return convolve(bench.shapes(steps)).chance_at_most(goal.target)

    found = cheapest_road(
        abilities,
        chance_of,
        wanted=goal.chance,
        hours=min(limit, everything),
        estimate=estimate.chance,
        slack=ESTIMATE_SLACK,
        most_worked_out=MOST_WORKED_OUT,
    )
    best: Regimen = found.best
    stages = [
        Stage(ability.name, ABILITIES[i].step, best.steps[i], ability.hours_of(best.steps[i]))
        for i, ability in enumerate(abilities)
        if best.steps[i]
    ]
    return PracticeRoad(
        goal=goal,
        hours=limit,
        chance_now=chance_of((0,) * len(abilities)),
        chance_then=best.chance,
        expected_then=bench.value(best.steps),
        stages=tuple(sorted(stages, key=lambda stage: order.index(stage.name))),
        reached=found.reached,
        looked_at=found.looked_at,
        worked_out=found.worked_out,
        proven=found.proven,
    )


class _Estimate:
    """Quick chance of a target after any regimen.

    Steps between the first and the last lie on the parabola through what was solved; abilities
    together save what :func:`combined_gain` says; the total keeps its shape and moves.
    """

    def __init__(
        self,
        total: ScoreDistribution,
        target: int,
        values: Mapping[Steps, float],
        practised: Sequence[int],
    ) -> None:
        none = (0,) * len(ABILITIES)
        now = values[none]
        self._gains = {}
        for i in practised:
            first, last = (now - values[_only(i, steps)] for steps in (1, MOST_STEPS))
            bend = (last / MOST_STEPS - first) / (MOST_STEPS - 1)
            self._gains[i] = [(first - bend) * n + bend * n * n for n in range(MOST_STEPS + 1)]
        most = sum(gains[-1] for gains in self._gains.values())
        together = tuple(MOST_STEPS if i in practised else 0 for i in range(len(ABILITIES)))
        self._rate = overlap_rate(most, now - values[together])
        reach = max(most, now - values[together], _TABLE_STEP)
        self._table = np.arange(0.0, reach + 2 * _TABLE_STEP, _TABLE_STEP)
        floor = total.mean - total.least - _TABLE_STEP
        self._chances = np.array(
            [moved(total, min(gain, floor)).chance_at_most(target) for gain in self._table]
        )

    def chance(self, steps: Steps) -> float:
        """Estimated chance of the target."""
        gain = combined_gain([self._gains[i][n] for i, n in enumerate(steps) if n], self._rate)
        return float(np.interp(gain, self._table, self._chances))


class _Range:
    """Holes of a request solved for a golfer after regimens of practice; remembers its results."""

    def __init__(
        self,
        request: PlanRequest,
        progress: Callable[[Progress], None] | None,
        cancelled: threading.Event,
    ) -> None:
        self.request = request
        self.holes = chosen_holes(request)
        self._progress = progress
        self._cancelled = cancelled
        self._values: dict[Steps, float] = {}
        self._shapes: dict[Steps, tuple[ScoreDistribution, ...]] = {}

    def values(self, wanted: Sequence[Steps], *, keep_shapes: bool = False) -> dict[Steps, float]:
        """Expected score of the round after each regimen; shapes of the first if asked for."""
        models = {steps: self._model(steps) for steps in wanted}
        done, total = count(1), len(models) * len(self.holes)

        def one(hole: Hole) -> tuple[list[float], ScoreDistribution | None]:
            bench = open_bench(self.request, hole, list(models.values()))
            found, shape = [], None
            for steps, model in models.items():
                if keep_shapes and steps == wanted[0]:
                    adviser, counted = bench.solve_scored(model, cancelled=self._cancelled)
                    shape = counted.score
                else:
                    adviser = bench.solve(model, cancelled=self._cancelled)
                found.append(adviser.tee_value)
                self._tell(next(done), total, f"hole {hole.ref}")
            return found, shape

        results = each_hole(
            self.holes, one, threads=self.request.threads, cancelled=self._cancelled
        )
        for place, steps in enumerate(models):
            self._values[steps] = sum(found[place] for found, _ in results)
        if keep_shapes:
            self._shapes[wanted[0]] = tuple(s for _, s in results if s is not None)
        return {steps: self._values[steps] for steps in wanted}

    def value(self, steps: Steps) -> float:
        """Expected score after a regimen."""
        self.shapes(steps)
        return self._values[steps]

    def shapes(self, steps: Steps) -> tuple[ScoreDistribution, ...]:
        """Chances of every hole's score after a regimen."""
        if steps not in self._shapes:
            self.values([steps], keep_shapes=True)
        return self._shapes[steps]

    def _model(self, steps: Steps) -> ShotModel:
        request = self.request
        return improved(
            request.bag,
            lambda bag: build_shot_model(bag, conditions=request.conditions, clubs=request.clubs),
            steps,
        )

    def _tell(self, done: int, total: int, text: str) -> None:
        if self._progress is not None:
            self._progress(Progress(done, total, text))
