"""What a plan says: frozen results for one hole and for a round, all in metres and radians.

Nothing here computes; :mod:`planner.strategy.hole_advice` fills it and the pages, the command
line and the reports read it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.course.hole import Hole, Point
from planner.course.lies import Lie
from planner.golfer.plays_like import PlaysLike
from planner.golfer.shot_outcome import SwingStyle
from planner.strategy.round_result import HoleScore
from planner.strategy.simulated_round import SimulatedHole

FloatArray = NDArray[np.float64]

TIE_STROKES = 0.01
"""Choices that differ by less than this are called a tie [strokes]; it is the error to which
hole values are held."""


@dataclass(frozen=True)
class Shares:
    """Chances of where one shot ends, add up to one; ``mishit`` is counted across them.

    ``penalty`` is red and yellow penalty areas together.
    """

    fairway: float
    rough: float
    deep_rough: float
    sand: float
    trees: float
    green: float
    penalty: float
    out_of_bounds: float
    mishit: float


@dataclass(frozen=True)
class AimPoint:
    """Where to aim.

    Parameters
    ----------
    point_hole
        The point at the stock shot's mean carry along the aim line [m].
    words
        As a golfer would say it, for instance "left edge of the right bunker".
    offset_m
        Distance from the line of play [m], + right.
    bearing
        In the hole frame [rad].
    azimuth
        Clockwise from true north [rad], within 0..2 pi.
    lonlat
        Longitude and latitude of the point [deg], if known.
    """

    point_hole: Point
    words: str
    offset_m: float
    bearing: float
    azimuth: float
    lonlat: tuple[float, float] | None = None

    def beside(self, right_m: float) -> Point:
        """Point of the hole ``right_m`` [m] to the right of this one, square to the aim line."""
        along, across = self.point_hole
        return (
            along - right_m * math.sin(self.bearing),
            across + right_m * math.cos(self.bearing),
        )


@dataclass(frozen=True, eq=False)
class PatternOnGround:
    """A shot pattern laid on the hole, for drawing: where the carry ends.

    ``weights`` (k,), ``means_hole`` (k, 2) [m] and ``covariances_hole`` (k, 2, 2) [m2] in the
    hole frame; ``names`` of the components, the first is the stock shot. ``run_m`` is the run
    on a fairway.
    """

    weights: FloatArray
    means_hole: FloatArray
    covariances_hole: FloatArray
    names: tuple[str, ...]
    run_m: float


@dataclass(frozen=True)
class Shot:
    """One shot from one place with its consequences.

    Parameters
    ----------
    swing
        Index into the model's swings; -2 is 'declare the ball unplayable'.
    club, style, carry_m
        Club label, how it is swung and the mean carry from this lie with the wind [m].
    lie, position_hole
        Where the ball is.
    aim
        Where to aim; None for an unplayable ball.
    expected_strokes
        Expected strokes to hole out from here, this shot included.
    expected_penalties
        Expected penalty strokes until the ball is holed.
    cost
        Strokes lost against the best shot from the same place, 0 for the best.
    shares
        Chances of where it ends.
    leave_m
        Median distance to the pin afterwards [m] of shots that stay in play.
    plays_like
        What the distance to the stock shot's landing plays like; None if not known.
    """

    swing: int
    club: str
    style: SwingStyle
    carry_m: float
    lie: Lie
    position_hole: Point
    aim: AimPoint | None
    expected_strokes: float
    expected_penalties: float
    cost: float
    shares: Shares
    leave_m: float
    pattern: PatternOnGround | None = None
    plays_like: PlaysLike | None = None

    @property
    def label(self) -> str:
        """Club and style, without units."""
        return self.club if self.style is SwingStyle.FULL else f"{self.club}, {self.style.value}"


@dataclass(frozen=True)
class NextShot:
    """A place where the ball often ends after the shot before, and what to hit from there.

    ``chance`` is the share of balls that end in this neighbourhood; ``distance_m`` the distance
    to the pin.
    """

    place: str
    chance: float
    lie: Lie
    position_hole: Point
    distance_m: float
    best: Shot
    runner_up: Shot | None


@dataclass(frozen=True, eq=False)
class HolePlan:
    """Plan of one hole.

    Parameters
    ----------
    hole
        The hole.
    tee
        Name of the tee set and its place.
    length_m
        Playing length from the tee [m].
    best
        The shot to play from the tee.
    others
        Best shot from the tee with every other club, best first; ``others[0]`` is the
        runner-up.
    next_shots
        What to hit from the most likely next places, most likely first.
    expected_strokes, expected_penalties
        From the tee.
    converged, residual, sweeps
        Quality of the solve; ``residual`` [strokes].
    sources
        Where each club's pattern comes from, by label.
    """

    hole: Hole
    tee: str
    tee_hole: Point
    length_m: float
    best: Shot
    others: tuple[Shot, ...]
    next_shots: tuple[NextShot, ...]
    expected_strokes: float
    expected_penalties: float
    converged: bool
    residual: float
    sweeps: int
    price_of_caution: float = 0.0

    @property
    def margin(self) -> float:
        """Strokes that the runner-up from the tee costs more; infinite with one choice."""
        return self.others[0].cost if self.others else float("inf")

    @property
    def tied(self) -> tuple[Shot, ...]:
        """Other tee shots that cost less than ``TIE_STROKES`` more: no real difference."""
        return tuple(shot for shot in self.others if shot.cost < TIE_STROKES)


@dataclass(frozen=True)
class ClubSource:
    """Where the pattern of a club comes from, and on how many shots it rests if that is known."""

    club: str
    source: str
    shots: int | None = None


@dataclass(frozen=True)
class RoundPlan:
    """Plan of a round.

    ``notes`` say what was assumed: on the map, in the bag, in the model. ``scores`` holds the
    chances of every hole's score where they were asked for, ``simulated`` the balls played on each;
    ``patterns`` says of every club where its pattern comes from.
    """

    course: str
    golfer: str
    bag: str
    tee: str
    holes: tuple[HolePlan, ...]
    aim_for: str
    left_handed: bool = False
    notes: tuple[str, ...] = ()
    attribution: str = ""
    key: str = ""
    conditions: str = ""
    clubs: tuple[str, ...] = field(default=())
    scores: tuple[HoleScore, ...] = ()
    simulated: tuple[SimulatedHole, ...] = ()
    patterns: tuple[ClubSource, ...] = ()

    @property
    def par(self) -> int:
        """Par of the planned holes."""
        return sum(plan.hole.par for plan in self.holes)

    @property
    def expected_strokes(self) -> float:
        """Expected strokes over the planned holes."""
        return sum(plan.expected_strokes for plan in self.holes)

    @property
    def expected_penalties(self) -> float:
        """Expected penalty strokes over the planned holes."""
        return sum(plan.expected_penalties for plan in self.holes)
