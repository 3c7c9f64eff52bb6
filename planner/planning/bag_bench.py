"""Holes of interest made ready for many bags: tables once, one solution with every club."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Hashable, Sequence
from dataclasses import dataclass, field, replace
from itertools import count
from typing import TypeVar

from planner.course.hole import Hole
from planner.errors import OptionError, SolveError
from planner.golfer.bag import Bag
from planner.golfer.club import ClubKind
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.swing_set import build_shot_model
from planner.golfer.what_if import only_clubs
from planner.planning.hole_bench import HoleBench, each_hole, open_bench
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest, chosen_holes
from planner.strategy.bag_sketch import BagSketch
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.hole_plan import solve_hole
from planner.strategy.hole_sketch import HoleSketch
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.sketching import SketchOptions, sketch_hole
from planner.strategy.solution import SolveOptions

__all__ = ["BagBench", "BenchHole", "hit_labels"]

T = TypeVar("T")
MOST_RESIDUAL = 0.05
"""Largest change anywhere on a hole at which its values still count [strokes]: they are wanted at
the tee, where such a change in a few remote places is hardly felt."""


def hit_labels(bag: Bag, labels: Collection[str] | None = None) -> tuple[str, ...]:
    """Labels of the clubs of a bag but its putters, those given or all, in the bag's order."""
    wanted = None if labels is None else {bag.club(label).label for label in labels}
    return tuple(
        club.label
        for club in bag.clubs
        if club.kind is not ClubKind.PUTTER and (wanted is None or club.label in wanted)
    )


@dataclass(frozen=True, eq=False)
class BenchHole:
    """One hole of one request, ``number``, and how often it counts in a round."""

    number: int
    request: PlanRequest
    hole: Hole
    weight: float


@dataclass(eq=False)
class BagBench:
    """Holes of some requests, all with one bag file, for any of its clubs.

    Parameters
    ----------
    requests
        Courses, tees and conditions; a round counts as the mean over them.
    labels
        Clubs in question, putters left out. Every wedge gets every partial swing and every iron
        the punch-outs, so that one club more never takes a swing from another.
    progress, cancelled
        As for every long piece of work.
    """

    requests: Sequence[PlanRequest]
    labels: tuple[str, ...]
    progress: Callable[[Progress], None] | None = None
    cancelled: threading.Event = field(default_factory=threading.Event)

    def __post_init__(self) -> None:
        if not self.requests:
            raise OptionError("no course: name at least one map")
        if not self.labels:
            raise OptionError("no club but a putter; choose clubs for the long game")
        self.bag = self.requests[0].bag
        self.models = self.models_for(self.bag)
        self.places = [
            BenchHole(number, request, hole, 1.0 / len(self.requests))
            for number, request in enumerate(self.requests)
            for hole in chosen_holes(request)
        ]

    @property
    def threads(self) -> int:
        """Threads that holes are solved on."""
        return self.requests[0].threads

    @property
    def weights(self) -> tuple[float, ...]:
        """How often each hole counts in a round."""
        return tuple(place.weight for place in self.places)

    def sketch(self, options: SketchOptions | None = None) -> BagSketch:
        """Solve every hole coarsely with every club and sketch it."""
        done = count(1)

        def one(place: BenchHole) -> HoleSketch:
            model = self.models[place.number]
            bench = self.open(place, [model], preview=True)
            levels = bench.levels[0]
            solution, solver = solve_hole(
                levels,
                model,
                SolveOptions(tables=levels[0].options, count_penalties=False),
                cancelled=self.cancelled,
            )
            found = sketch_hole(
                solution,
                solver,
                bench.tee,
                self.labels,
                options=options,
                cancelled=self.cancelled,
            )
            self.tell(next(done), len(self.places), f"hole {place.hole.ref} with every club")
            return found

        sketches = self.each(one)
        return BagSketch(self.labels, sketches, self.weights)

    def values(
        self,
        jobs: Sequence[Sequence[ShotModel]],
        *,
        preview: bool,
        said: str,
        same: Sequence[Sequence[Hashable]] | None = None,
    ) -> list[float]:
        """Expected strokes a round with some shot models, every hole solved in full.

        Parameters
        ----------
        jobs
            For each value that is wanted the shot models of the requests.
        preview
            Coarse cells, or those of a plan.
        said
            What the progress says.
        same
            For each job and hole a mark; jobs with one mark for a hole play it alike, so that it
            is solved once for them.
        """
        done = count(1)
        marks = same or [[job] * len(self.places) for job in range(len(jobs))]
        total = sum(len({row[i] for row in marks}) for i in range(len(self.places)))
        numbers = {id(place): i for i, place in enumerate(self.places)}

        def one(place: BenchHole) -> list[float]:
            known: dict[Hashable, float] = {}
            bench = self.open(place, [models[place.number] for models in jobs], preview=preview)
            here = [row[numbers[id(place)]] for row in marks]
            for mark, models in zip(here, jobs, strict=True):
                if mark not in known:
                    known[mark] = self.solve(bench, models[place.number])[0].tee_value
                    self.tell(next(done), total, f"{said}, hole {place.hole.ref}")
            return [known[mark] for mark in here]

        rows = self.each(one)
        return [
            sum(place.weight * row[job] for place, row in zip(self.places, rows, strict=True))
            for job in range(len(jobs))
        ]

    def solve(
        self, bench: HoleBench, model: ShotModel, *, count_penalties: bool = False
    ) -> tuple[HoleAdviser, HoleSolver]:
        """Solve a hole for fewest strokes, Local Rule E-5 used if that helps.

        Raises
        ------
        SolveError
            The hole cannot be solved, or its values still move by ``MOST_RESIDUAL``.
        """
        found = []
        for levels in bench.levels:
            options = SolveOptions(tables=levels[0].options, count_penalties=count_penalties)
            solution, solver = solve_hole(levels, model, options, cancelled=self.cancelled)
            found.append((HoleAdviser(solution, solver, bench.tee), solver))
        adviser, solver = min(found, key=lambda one: one[0].tee_value)
        if adviser.solution.residual > MOST_RESIDUAL:
            raise SolveError(
                f"hole {bench.hole.ref}: not converged, its values still move by "
                f"{adviser.solution.residual:.3f} strokes; leave it out with --holes"
            )
        return adviser, solver

    def models_of(self, clubs: Collection[str]) -> list[ShotModel]:
        """Shot models of the requests with some of the clubs."""
        return [only_clubs(model, clubs) for model in self.models]

    def each(self, work: Callable[[BenchHole], T]) -> list[T]:
        """Do work for every hole, side by side; results in their order."""
        return each_hole(self.places, work, threads=self.threads, cancelled=self.cancelled)

    def open(self, place: BenchHole, models: Sequence[ShotModel], *, preview: bool) -> HoleBench:
        """Make the tables of a hole for some models; they are large, so nobody keeps them."""
        return open_bench(replace(place.request, preview=preview), place.hole, models)

    def tell(self, done: int, total: int, text: str) -> None:
        """Report progress."""
        if self.progress is not None:
            self.progress(Progress(done, total, text))

    def models_for(self, bag: Bag) -> list[ShotModel]:
        """Shot models of the requests with another bag of the same labels."""
        return [
            build_shot_model(bag, conditions=one.conditions, clubs=self.labels, every_ladder=True)
            for one in self.requests
        ]
