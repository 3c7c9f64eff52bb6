"""How long the proof takes that no better set of clubs exists."""

from __future__ import annotations

import math
import time
from dataclasses import replace

from planner.benchmark.result_table import ResultTable
from planner.benchmark.solved_hole import Player
from planner.errors import OptionError
from planner.golfer.bag import CLUB_LIMIT, Bag
from planner.golfer.club import Club, ClubKind
from planner.planning.bag_bench import BagBench, hit_labels
from planner.strategy.bag_bounds import BagProblem
from planner.strategy.bag_choice import BagChoice, choose_bag
from planner.units import RAD_PER_DEG

CANDIDATES = (17, 20)
"""Candidates that are timed, putters left out."""
EXTRA_CLUBS = (
    (ClubKind.HYBRID, 22.5),
    (ClubKind.HYBRID, 34.0),
    (ClubKind.IRON, 26.5),
    (ClubKind.WEDGE, 54.5),
    (ClubKind.WOOD, 20.5),
)
"""Invented candidates that fill a demo bag up; nothing is measured with them."""


def bag_search(golfer: Player, *, threads: int) -> ResultTable:
    """Time the choice of thirteen clubs beside the putter over all holes of the course."""
    rows = []
    # Compiled kernels are loaded, or compiled, here.
    first = golfer.request(golfer.course.holes[:1], threads=threads)
    BagBench([first], hit_labels(golfer.bag)).sketch()
    for number in CANDIDATES:
        bag = with_candidates(golfer.bag, number)
        request = replace(golfer.request(golfer.course.holes, threads=threads), bag=bag)
        labels = hit_labels(bag)
        bench = BagBench([request], labels)
        begun, worked = time.perf_counter(), time.process_time()
        sketch = bench.sketch()
        prepared = time.perf_counter() - begun
        searching = time.perf_counter()
        choice = choose_bag(BagProblem(labels, CLUB_LIMIT - 1), sketch)
        ended = time.perf_counter()
        rows.append(
            [
                f"{number} candidates",
                f"{prepared:.1f}",
                f"{ended - searching:.2f}",
                f"{ended - begun:.1f}",
                f"{time.process_time() - worked:.1f}",
                f"{choice.evaluations}",
                f"{math.comb(number, CLUB_LIMIT - 1):,}",
                _certificate(choice),
            ]
        )
    notes = [
        "Seconds on the clock for solving every hole with every club, for the search until its "
        "proof, and for both; then seconds of all processors for both.",
        f"{golfer.name}, {len(golfer.course.holes)} holes from the {golfer.tee} tees, "
        f"{threads} threads; {CLUB_LIMIT - 1} clubs and a putter are carried. Kernels loaded "
        "before the clock starts.",
    ]
    heading = ("", "holes s", "search s", "both s", "processors s", "valued", "sets", "gap")
    return ResultTable("Choice of clubs, proven", heading, rows, notes)


def with_candidates(bag: Bag, number: int) -> Bag:
    """A bag with so many clubs beside its putters: the last left out, or invented ones added.

    Raises
    ------
    OptionError
        There are not so many.
    """
    labels = hit_labels(bag)
    if number > len(labels) + len(EXTRA_CLUBS):
        raise OptionError(f"{bag.name}: there are no {number} candidates")
    kept = set(labels[:number])
    clubs = [c for c in bag.clubs if c.kind is ClubKind.PUTTER or c.label in kept]
    for i, (kind, loft_deg) in enumerate(EXTRA_CLUBS[: max(0, number - len(labels))], start=1):
        clubs.append(Club(f"Extra {kind.value} {i}", kind, loft_deg * RAD_PER_DEG, carried=False))
    return replace(bag, clubs=tuple(clubs))


def _certificate(choice: BagChoice) -> str:
    return "0, proven" if choice.proven else f"{choice.gap:.4f}"
