"""A bag at a glance: every club's pattern beside what is usual, gaps, overlaps and the count.

Whether two clubs do one job is said by probability: how often a stock shot with the shorter one
outcarries one with the longer. What is not known of the two carries is part of it.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from dataclasses import dataclass

from scipy.special import ndtr

from planner.golfer.bag import CLUB_LIMIT, Bag
from planner.golfer.club import Club, ClubKind
from planner.golfer.gapping import predicted_carries
from planner.golfer.pattern_doubt import club_doubts
from planner.golfer.shot_pattern import ShotPattern
from planner.golfer.skill import completed_pattern
from planner.golfer.swing_set import pattern_source

__all__ = ["BagOverview", "ClubView", "Neighbours", "bag_overview"]

ASSUMED_ONE_JOB = 0.35
"""Share of stock shots outcarrying the longer club's from which two clubs do one job; 0.5 would be
clubs of one length."""
ASSUMED_GAP_REACHED = 0.10
"""A gap: neither club puts this share of its stock shots near the middle between them."""
NEAR_MIDDLE_M = 5.0
"""What counts as near the middle [m], to either side."""
_TAIL = 1.645
"""Deviations to the ends of a central interval of nine chances in ten."""


@dataclass(frozen=True, eq=False)
class ClubView:
    """One club from its good lie, in still standard air.

    Parameters
    ----------
    club, source, shots
        The club, where its pattern comes from, and on how many shots it rests, if known.
    pattern
        The pattern a plan uses.
    usual
        What the skill model and the other clubs would predict, as if this one were not measured.
    carry_low_m, carry_high_m
        Interval of nine chances in ten for the mean carry [m].
    """

    club: Club
    source: str
    shots: int | None
    pattern: ShotPattern
    usual: ShotPattern
    carry_low_m: float
    carry_high_m: float

    @property
    def carry_m(self) -> float:
        """Mean carry of the stock shot [m]."""
        return float(self.pattern.means[0, 0])


@dataclass(frozen=True)
class Neighbours:
    """Two clubs next to each other in carry.

    ``outcarried`` is the share of stock shots with the shorter one that outcarry one with the
    longer; ``reached`` the larger share of the two clubs' stock shots near the middle, which lies
    at ``middle_m`` [m].
    """

    longer: str
    shorter: str
    gap_m: float
    middle_m: float
    outcarried: float
    reached: float
    partial: bool

    @property
    def one_job(self) -> bool:
        """Whether the two do one job."""
        return self.outcarried >= ASSUMED_ONE_JOB

    @property
    def is_gap(self) -> bool:
        """Whether a distance between them is left open; wedges fill it with partial swings."""
        return not self.partial and self.reached < ASSUMED_GAP_REACHED


@dataclass(frozen=True, eq=False)
class BagOverview:
    """Clubs from longest to shortest, neighbours, and the count that Rule 4.1b limits."""

    clubs: tuple[ClubView, ...]
    neighbours: tuple[Neighbours, ...]
    carried: int
    limit: int = CLUB_LIMIT

    @property
    def overlaps(self) -> tuple[Neighbours, ...]:
        """Pairs that do one job, the most alike first."""
        pairs = [pair for pair in self.neighbours if pair.one_job]
        return tuple(sorted(pairs, key=lambda pair: -pair.outcarried))

    @property
    def gaps(self) -> tuple[Neighbours, ...]:
        """Pairs with a distance left open between them, the widest first."""
        pairs = [pair for pair in self.neighbours if pair.is_gap]
        return tuple(sorted(pairs, key=lambda pair: -pair.gap_m))


def bag_overview(bag: Bag, *, candidates: bool = False) -> BagOverview:
    """Look at the clubs carried, with the candidates too if ``candidates``.

    More clubs than Rule 4.1b allows may be looked at; the count says it.
    """
    golfer, sources, doubts = bag.golfer, pattern_source(bag), club_doubts(bag)
    carries = predicted_carries(bag.clubs, golfer.handicap_index, delivery=golfer.delivery)
    shown = [
        club
        for club in bag.clubs
        if club.kind is not ClubKind.PUTTER and (club.carried or candidates)
    ]
    views = []
    for club in shown:
        pattern = completed_pattern(
            club, carries[club.label], golfer.handicap_index, left_handed=golfer.left_handed
        )
        carry, doubt = float(pattern.means[0, 0]), doubts[club.label].carry
        views.append(
            ClubView(
                club,
                sources[club.label],
                None if club.pattern is None else club.pattern.shots,
                pattern,
                _usual(bag, club),
                carry * math.exp(-_TAIL * doubt),
                carry * math.exp(_TAIL * doubt),
            )
        )
    views.sort(key=lambda view: (-view.carry_m, view.club.label))
    pairs = tuple(_neighbours(one, other) for one, other in itertools.pairwise(views))
    return BagOverview(tuple(views), pairs, sum(club.carried for club in bag.clubs))


def _usual(bag: Bag, club: Club) -> ShotPattern:
    """Pattern of a club as if nothing had been measured with it."""
    golfer, bare = bag.golfer, dataclasses.replace(club, pattern=None)
    others = [bare if other is club else other for other in bag.clubs]
    carries = predicted_carries(others, golfer.handicap_index, delivery=golfer.delivery)
    return completed_pattern(
        bare, carries[club.label], golfer.handicap_index, left_handed=golfer.left_handed
    )


def _neighbours(one: ClubView, other: ClubView) -> Neighbours:
    """Two clubs, the longer first; carries of stock shots are independent normals."""
    sds = [math.hypot(_stock_sd(view), _doubt_m(view)) for view in (one, other)]
    gap = one.carry_m - other.carry_m
    middle = (one.carry_m + other.carry_m) / 2
    reached = max(
        float(
            ndtr((middle + NEAR_MIDDLE_M - view.carry_m) / sd)
            - ndtr((middle - NEAR_MIDDLE_M - view.carry_m) / sd)
        )
        for view, sd in zip((one, other), sds, strict=True)
    )
    return Neighbours(
        one.club.label,
        other.club.label,
        gap,
        middle,
        float(ndtr(-gap / math.hypot(*sds))),
        reached,
        one.club.kind is ClubKind.WEDGE,
    )


def _stock_sd(view: ClubView) -> float:
    return math.sqrt(float(view.pattern.covariances[0, 0, 0]))


def _doubt_m(view: ClubView) -> float:
    return (view.carry_high_m - view.carry_low_m) / (2 * _TAIL)
