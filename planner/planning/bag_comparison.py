"""Bags against each other over the same holes: how much they differ, where, and how surely."""

from __future__ import annotations

import dataclasses
import math
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count

import numpy as np
from scipy.special import ndtri

from planner.course.lies import Lie
from planner.errors import OptionError
from planner.golfer.bag import CLUB_LIMIT, Bag
from planner.golfer.pattern_doubt import DOUBTS, club_doubts, shifted
from planner.golfer.swing_set import golfer_putting
from planner.golfer.what_if import only_clubs
from planner.planning.bag_bench import BagBench, BenchHole, hit_labels
from planner.planning.bag_rounds import round_marks, round_names
from planner.planning.hole_desk import planned_shots
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.strategy.bag_causes import hole_causes
from planner.strategy.bag_results import (
    BagComparison,
    BagDifference,
    BagScore,
    HoleDifference,
    HoleOfBag,
)
from planner.strategy.hole_sketch import HoleSketch
from planner.strategy.pattern_slopes import ShotSlopes, shot_slopes
from planner.strategy.roll_out import roll_out
from planner.strategy.sketching import sketch_hole

__all__ = ["NamedBag", "called_by_change", "compare_bags", "merged_bag"]

BALLS, SLOPE_BALLS = 2000, 2000
"""Balls played on a hole for the spread of its score, and for what an error of patterns does."""
SEED = 20230104
INTERVAL = 0.9
"""Chance with which an interval holds the difference."""


@dataclass(frozen=True)
class NamedBag:
    """A set of clubs, putters included, and what it is called."""

    name: str
    clubs: tuple[str, ...]


def called_by_change(
    bag: Bag, first: Sequence[str], others: Sequence[Sequence[str]], *, name: str
) -> tuple[NamedBag, ...]:
    """Bags of one file: the first called ``name``, the others by what changes in them.

    Clubs are put in the order of the file; of equal sets only the first is kept.
    """
    order = [club.label for club in bag.clubs]

    def ordered(clubs: Sequence[str]) -> tuple[str, ...]:
        return tuple(label for label in order if label in clubs)

    found = [NamedBag(name, ordered(first))]
    for clubs in others:
        if ordered(clubs) in [one.clubs for one in found]:
            continue
        come = [label for label in ordered(clubs) if label not in first]
        gone = [label for label in ordered(first) if label not in clubs]
        parts = []
        if come:
            parts.append(f"{'with ' if not gone else ''}{' and '.join(come)}")
        if gone:
            parts.append(f"{'for' if come else 'without'} {' and '.join(gone)}")
        found.append(NamedBag(" ".join(parts), ordered(clubs)))
    return tuple(found)


def merged_bag(bags: Sequence[Bag]) -> Bag:
    """One bag with the clubs of several files of one golfer; those of the first are carried.

    Raises
    ------
    OptionError
        The files are of different golfers, or tell different things of one club.
    """
    first, *others = bags
    clubs = {club.label.casefold(): club for club in first.clubs}
    for bag in others:
        if bag.golfer != first.golfer:
            raise OptionError(
                f'bags "{first.name}" and "{bag.name}" are of different golfers; bags can only be '
                "compared for one, so give both files the same [golfer]"
            )
        for club in bag.clubs:
            known = clubs.setdefault(
                club.label.casefold(), dataclasses.replace(club, carried=False)
            )
            if dataclasses.replace(known, carried=club.carried) != club:
                raise OptionError(
                    f'bags "{first.name}" and "{bag.name}" tell different things of the '
                    f'"{club.label}"; make them the same or rename one'
                )
    return dataclasses.replace(first, clubs=tuple(clubs.values()))


def compare_bags(
    requests: Sequence[PlanRequest],
    bags: Sequence[NamedBag],
    *,
    progress: Callable[[Progress], None] | None = None,
    cancelled: threading.Event | None = None,
) -> BagComparison:
    """Solve every hole with every bag; the others are compared with the first.

    All bags get the same random numbers. What is not known of a club's pattern errs alike in
    every bag that has the club.

    Parameters
    ----------
    requests
        Courses, tees and conditions, all with one bag file that has all clubs; a round is their
        mean.
    bags
        At least two sets of its clubs.

    Raises
    ------
    OptionError
        A bag cannot be carried.
    SolveError
        A hole cannot be solved.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set.
    """
    if len(bags) < 2:
        raise OptionError("one bag cannot be compared; name another one")
    return _Comparer(requests, bags, progress, cancelled or threading.Event()).comparison()


@dataclass(frozen=True, eq=False)
class _Solved:
    """One hole with every bag: results, effects of errors of patterns, and the hole's sketch."""

    holes: tuple[HoleOfBag, ...]
    slopes: tuple[ShotSlopes, ...]
    sketch: HoleSketch


class _Comparer:
    def __init__(
        self,
        requests: Sequence[PlanRequest],
        bags: Sequence[NamedBag],
        progress: Callable[[Progress], None] | None,
        cancelled: threading.Event,
    ) -> None:
        if not requests:
            raise OptionError("no course: name at least one map")
        bag = requests[0].bag
        self.bags = [NamedBag(one.name, _legal(bag, one)) for one in bags]
        names = [one.name for one in self.bags]
        if len(set(names)) < len(names):
            raise OptionError("two bags have one name; rename one")
        union = {label for one in self.bags for label in one.clubs}
        self.bench = BagBench(requests, hit_labels(bag, union), progress, cancelled)
        self.doubts = club_doubts(bag)
        self.marks = round_marks(requests)
        self.done = count(1)

    def comparison(self) -> BagComparison:
        bench = self.bench
        solved = bench.each(self._solve)
        scores = tuple(self._score(i, solved) for i in range(len(self.bags)))
        notes = dict.fromkeys(note for model in bench.models for note in model.notes)
        return BagComparison(
            golfer=bench.bag.golfer.name,
            rounds=round_names(bench.requests, bench.bag.unit),
            bags=scores,
            differences=tuple(
                self._difference(scores, i, solved) for i in range(1, len(self.bags))
            ),
            notes=(*bench.bag.findings, *notes),
        )

    # -- one hole ---------------------------------------------------------------------------

    def _solve(self, place: BenchHole) -> _Solved:
        bench = self.bench
        union = bench.models[place.number]
        models = [only_clubs(union, one.clubs) for one in self.bags]
        changes = [
            [shifted(union, self.doubts, doubt, sign) for sign in (-1.0, 1.0)] for doubt in DOUBTS
        ]
        tables = bench.open(place, [union], preview=place.request.preview)
        number = bench.places.index(place)
        found, slopes = [], []
        for one, model in zip(self.bags, models, strict=True):
            adviser, solver = bench.solve(tables, model, count_penalties=True)
            first = adviser.place_values(adviser.tee.position_hole, Lie.TEE)[0]
            solution = adviser.solution
            played = roll_out(
                place.hole,
                model,
                adviser.tee.position_hole,
                decide=planned_shots(adviser, solver).decide,
                value_at=adviser.policy.value_at,
                may_replay=False,
                balls=BALLS,
                rng=np.random.default_rng([SEED, number]),
                local_rule_e5=solution.tables.options.local_rule_e5,
                putting=golfer_putting(bench.bag.golfer),
                partition=adviser.partition,
            )
            slopes.append(
                shot_slopes(
                    solution,
                    adviser.policy,
                    adviser.partition,
                    adviser.tee.position_hole,
                    [
                        (only_clubs(low, one.clubs), only_clubs(high, one.clubs))
                        for low, high in changes
                    ],
                    solution.edge_values[0],
                    balls=SLOPE_BALLS,
                    rng=np.random.default_rng([SEED, number, 1]),
                )
            )
            found.append(
                HoleOfBag(
                    self.marks[place.number],
                    place.hole.ref,
                    place.hole.par,
                    first.value,
                    first.penalties,
                    float(played.scores[played.finished].std()),
                    float((played.penalties > 0.0).mean()),
                )
            )
            bench.tell(
                next(self.done),
                len(bench.places) * (len(self.bags) + 1),
                f"hole {place.hole.ref}, {one.name}",
            )
        coarse = tables.levels[0] if place.request.preview else tables.levels[0][1:]
        sketched = replace(tables, levels=(coarse,))
        adviser, solver = bench.solve(sketched, union)
        sketch = sketch_hole(
            adviser.solution, solver, tables.tee, bench.labels, cancelled=bench.cancelled
        )
        bench.tell(
            next(self.done),
            len(bench.places) * (len(self.bags) + 1),
            f"hole {place.hole.ref}, all clubs",
        )
        return _Solved(tuple(found), tuple(slopes), sketch)

    # -- all holes --------------------------------------------------------------------------

    def _score(self, number: int, solved: Sequence[_Solved]) -> BagScore:
        weights = self.bench.weights
        holes = tuple(one.holes[number] for one in solved)
        # Holes of one course are independent; courses are rounds of their own.
        variances = [0.0] * len(self.bench.requests)
        clean = [1.0] * len(self.bench.requests)
        for place, hole in zip(self.bench.places, holes, strict=True):
            variances[place.number] += hole.spread**2
            clean[place.number] *= 1.0 - hole.penalty_chance
        return BagScore(
            self.bags[number].name,
            self.bags[number].clubs,
            holes,
            math.fsum(w * hole.strokes for w, hole in zip(weights, holes, strict=True)),
            math.fsum(w * hole.penalties for w, hole in zip(weights, holes, strict=True)),
            math.sqrt(math.fsum(variances) / len(variances)),
            1.0 - math.fsum(clean) / len(clean),
        )

    def _difference(
        self, scores: Sequence[BagScore], number: int, solved: Sequence[_Solved]
    ) -> BagDifference:
        first, second = scores[0], scores[number]
        whole: dict[tuple[str, str], float] = {}
        holes = []
        for place, one in zip(self.bench.places, solved, strict=True):
            effects = _effects(one.slopes[0], one.slopes[number])
            for key, effect in effects.items():
                whole[key] = whole.get(key, 0.0) + place.weight * effect
            was, now = one.holes[0], one.holes[number]
            holes.append(
                HoleDifference(
                    was.course,
                    was.ref,
                    now.strokes - was.strokes,
                    _deviation(effects),
                    hole_causes(
                        one.sketch,
                        self.bench.labels,
                        self._mask(first.clubs),
                        self._mask(second.clubs),
                    ),
                )
            )
        strokes = second.strokes - first.strokes
        sd = _deviation(whole)
        reach = float(ndtri(0.5 + INTERVAL / 2.0)) * sd
        return BagDifference(
            first.name,
            second.name,
            strokes,
            second.penalties - first.penalties,
            sd,
            strokes - reach,
            strokes + reach,
            tuple(holes),
        )

    def _mask(self, clubs: Sequence[str]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        return np.array([label in clubs for label in self.bench.labels])


def _effects(first: ShotSlopes, second: ShotSlopes) -> dict[tuple[str, str], float]:
    """Effect of one deviation of each doubt of each club on the difference of two bags."""
    found: dict[tuple[str, str], float] = {}
    for sign, slopes in ((-1.0, first), (1.0, second)):
        for i, doubt in enumerate(DOUBTS):
            for j, club in enumerate(slopes.clubs):
                key = (club, doubt)
                found[key] = found.get(key, 0.0) + sign * float(slopes.strokes[i, j])
    return found


def _deviation(effects: Mapping[tuple[str, str], float]) -> float:
    return math.sqrt(math.fsum(effect**2 for effect in effects.values()))


def _legal(bag: Bag, one: NamedBag) -> tuple[str, ...]:
    """Labels of a bag as the file has them; checks that it may be carried."""
    labels = tuple(dict.fromkeys(bag.club(label).label for label in one.clubs))
    if len(labels) > CLUB_LIMIT:
        raise OptionError(
            f'bag "{one.name}" has {len(labels)} clubs; at most {CLUB_LIMIT} may be carried '
            "(Rule 4.1b), so leave some out"
        )
    if not hit_labels(bag, labels):
        raise OptionError(f'bag "{one.name}": no club but a putter; choose clubs for the long game')
    return labels
