"""A planned round on paper: the pocket card and the coach's sheet."""

from __future__ import annotations

from collections.abc import Sequence

from planner.ball.conditions import Conditions
from planner.course.hole import Course
from planner.errors import OptionError
from planner.golfer.bag import Bag
from planner.report import words
from planner.report.card import card_pdf
from planner.report.card_layout import Carries
from planner.report.coach_sheet import sheet_pdf
from planner.report.golfers_sheet import MOST_GOLFERS, GolferHole, golfers_pdf
from planner.report.imposition import PAPERS
from planner.strategy.advice import HolePlan, RoundPlan
from planner.strategy.hazard_carries import carries_from, longest_carry
from planner.strategy.round_tally import tally
from planner.units import DistanceUnit

__all__ = [
    "PAPER_NAMES",
    "coach_sheet",
    "file_stem",
    "golfers_sheet",
    "hole_carries",
    "pocket_card",
]

PAPER_NAMES = {"a4": "A4", "letter": "Letter"}
"""Sheets that most printers take, and what they are called."""

TEE_HAZARDS, NEXT_HAZARDS = 5, 2
"""Hazards told for the tee shot, and for the shot from each next place."""
MOST_LETTERS = 60
"""Longest name of a file, without its ending."""
LEAST_LEAVE_M = 40.0
"""From nearer to the pin than this they are in full view and not told [m]."""


def hole_carries(plan: HolePlan) -> Carries:
    """Hazards near the tee shot, then near the shot from each next place."""
    longest = longest_carry(plan)
    return (
        carries_from(plan.hole, plan.best, longest_m=longest, count=TEE_HAZARDS),
        *(
            ()
            if place.distance_m < LEAST_LEAVE_M
            else carries_from(plan.hole, place.best, longest_m=longest, count=NEXT_HAZARDS)
            for place in plan.next_shots
        ),
    )


def pocket_card(
    plan: RoundPlan, *, unit: DistanceUnit, paper: str = "a4", single: bool = False
) -> bytes:
    """Pocket card as PDF: a booklet on ``paper``, or single leaves.

    Raises
    ------
    OptionError
        The paper is unknown.
    """
    carries = {hole.hole.ref: hole_carries(hole) for hole in plan.holes}
    return card_pdf(plan, carries, unit=unit, paper=_known(paper), single=single)


def coach_sheet(plan: RoundPlan, *, unit: DistanceUnit, paper: str = "a4") -> bytes:
    """Coach's sheet as PDF: one page of ``paper``.

    Raises
    ------
    OptionError
        The paper is unknown.
    """
    return sheet_pdf(plan, tally(plan), unit=unit, paper=_known(paper))


def golfers_sheet(
    course: Course,
    golfers: Sequence[tuple[Bag, HolePlan]],
    *,
    unit: DistanceUnit,
    paper: str = "a4",
    conditions: Conditions | None = None,
) -> bytes:
    """'Same hole, several golfers' as PDF: their plans of one hole side by side on one page.

    Raises
    ------
    OptionError
        The paper is unknown, there are too many golfers, or their holes are not the same.
    """
    if not 1 <= len(golfers) <= MOST_GOLFERS:
        raise OptionError(f"a sheet shows one to {MOST_GOLFERS} golfers, not {len(golfers)}")
    if len({plan.hole.ref for _, plan in golfers}) > 1:
        raise OptionError("all golfers of a sheet must play the same hole")
    told = [
        GolferHole(
            bag.golfer.name or bag.name,
            bag.golfer.handicap_index,
            bag.golfer.left_handed,
            plan,
            hole_carries(plan)[0],
        )
        for bag, plan in golfers
    ]
    return golfers_pdf(
        course.name,
        told,
        unit=unit,
        paper=_known(paper),
        conditions="" if conditions is None else words.conditions(conditions, unit),
        attribution=course.attribution,
    )


def file_stem(plan: RoundPlan) -> str:
    """Name for a plan's files, of its course, in letters that any file system takes."""
    kept = "".join(letter if letter.isalnum() else " " for letter in plan.course)
    return " ".join(kept.split())[:MOST_LETTERS].strip() or "plan"


def _known(paper: str) -> str:
    if paper not in PAPERS:
        raise OptionError(f'paper "{paper}" is unknown; use {" or ".join(PAPERS)}')
    return paper
