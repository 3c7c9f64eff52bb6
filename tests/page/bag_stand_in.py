"""Quick stand-ins for choosing and comparing bags, so that their page can be tested.

With no money to spend the search goes on until it is told to stop.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence

from planner.course.lies import Lie
from planner.errors import SolveError
from planner.planning.bag_bench import hit_labels
from planner.planning.bag_choosing import ChooseOptions
from planner.planning.bag_comparison import NamedBag
from planner.planning.bag_rounds import round_marks, round_names
from planner.planning.progress import Progress, SearchProgress
from planner.planning.request import PlanRequest
from planner.strategy.bag_results import (
    BagAdvice,
    BagComparison,
    BagDifference,
    BagScore,
    Cause,
    ClubWorth,
    HoleDifference,
    HoleOfBag,
    MoneyRow,
    RatedBag,
)
from planner.strategy.bag_sketch import ClubUse
from planner.strategy.club_worth import RedundantPair
from planner.strategy.purchase_frontier import Holding, Purchase
from planner.strategy.solution import Cancelled

LONGEST_S = 30.0


def choose_clubs(
    requests: Sequence[PlanRequest],
    options: ChooseOptions,
    *,
    progress: Callable[[Progress], None],
    cancelled: threading.Event,
) -> BagAdvice:
    bag = requests[0].bag
    labels = hit_labels(bag, options.candidates)
    if len(labels) < 3:
        raise SolveError("hole 7: no shot can be played")
    kept = frozenset(labels[: options.limit - 1])
    progress(Progress(1, 2, "hole 1 with every club"))
    if cancelled.is_set():
        raise Cancelled
    progress(SearchProgress(0, 0, "proving", tuple(sorted(kept)), 86.25, 86.125, 57))
    end = time.monotonic() + LONGEST_S
    while options.budget == 0.0 and not cancelled.is_set() and time.monotonic() < end:
        time.sleep(0.01)
    stopped = cancelled.is_set()
    dear = next((club.label for club in bag.clubs if club.price and not club.carried), labels[0])
    use = ClubUse(labels[0], 13.0, 12.0, (100.0, 150.0, 190.0), {Lie.FAIRWAY: 0.7, Lie.ROUGH: 0.3})
    held = Holding(70.0, 30.0, 140.0, 27.0, 0.7)
    best = RatedBag(kept, 86.25, math.nan if stopped else 86.3, 70.0)
    return BagAdvice(
        golfer=bag.golfer.name,
        rounds=round_names(requests),
        candidates=labels,
        putter=("Putter",),
        limit=options.limit - 1,
        now=RatedBag(frozenset(labels[1:]), 86.75, math.nan if stopped else 86.8, 0.0),
        best=best,
        equal=(),
        error=0.05,
        bound=86.125 if stopped else 86.25,
        proven=not stopped,
        evaluations=57,
        seconds_each=0.001,
        prepared_s=20.0,
        searched_s=0.1,
        worths=tuple(
            ClubWorth(
                label,
                label in kept,
                0.1 * (number + 1),
                None if label in kept else labels[0],
                0.2 if label in kept else math.nan,
                0.01 if label in kept else math.nan,
                use if label in kept else None,
            )
            for number, label in enumerate(labels)
        ),
        pairs=(RedundantPair(labels[0], labels[1], 0.01, 0.02, 0.4),),
        frontier=(
            Purchase(0.0, 86.75, 0.0, frozenset(labels[1:]), frozenset()),
            Purchase(70.0, 86.25, 0.5, kept, frozenset({dear})),
        ),
        frontier_proven=True,
        money=(
            MoneyRow("half of all mishits with full swings", 1.7, True, None),
            MoneyRow(dear, 0.5, False, held),
        ),
        use=options.use,
        currency=bag.currency,
        least=6,
        notes=("a note",),
    )


def compare_bags(
    requests: Sequence[PlanRequest],
    bags: Sequence[NamedBag],
    *,
    progress: Callable[[Progress], None],
    cancelled: threading.Event,
) -> BagComparison:
    progress(Progress(1, 2, "hole 1"))
    places = [
        (mark, hole)
        for mark, one in zip(round_marks(requests), requests, strict=True)
        for hole in one.course.holes
    ]
    scores = tuple(
        BagScore(
            bag.name,
            bag.clubs,
            tuple(HoleOfBag(mark, hole.ref, hole.par, 5.0, 0.1, 1.2) for mark, hole in places),
            5.0 * len(places),
            0.1 * len(places),
            4.0,
        )
        for bag in bags
    )
    cause = Cause("approach", 120.0, 150.0, "3 wood", "5 wood", -0.02)
    differences = []
    for number, bag in enumerate(bags[1:]):
        step = -0.02 if number == 0 else 0.001
        holes = tuple(HoleDifference(mark, hole.ref, step, 0.01, (cause,)) for mark, hole in places)
        whole = step * len(places)
        differences.append(
            BagDifference(
                bags[0].name, bag.name, whole, -0.01, 0.05, whole - 0.08, whole + 0.08, holes
            )
        )
    rounds = round_names(requests)
    return BagComparison(
        requests[0].bag.golfer.name, rounds, scores, tuple(differences), ("a note",)
    )
