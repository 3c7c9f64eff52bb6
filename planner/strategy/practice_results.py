"""What is said about a golfer's strokes and practice: frozen results, nothing computed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from planner.strategy.practice_plan import PracticeStep
from planner.strategy.reference_gains import Gain
from planner.strategy.stroke_split import StrokeSplit

__all__ = [
    "Goal",
    "HoleSplit",
    "PracticePlan",
    "PracticeRoad",
    "ReferenceGains",
    "Stage",
    "StrokeAccounts",
]


@dataclass(frozen=True)
class HoleSplit:
    """The expected score of one hole taken apart; ``penalties`` are those of its plan."""

    ref: str
    par: int
    split: StrokeSplit
    penalties: float


@dataclass(frozen=True)
class ReferenceGains:
    """Strokes gained against a reference golfer.

    Parameters
    ----------
    index, name
        Who he is.
    reference, own
        Expected strokes of both over the holes.
    by_club, by_distance
        Strokes gained a round; either adds up to :attr:`total`.
    total
        ``reference`` less the mean of the simulated rounds.
    standard_error
        Of ``total``, from the number of balls.
    """

    index: float
    name: str
    reference: float
    own: float
    by_club: tuple[Gain, ...]
    by_distance: tuple[Gain, ...]
    total: float
    standard_error: float


@dataclass(frozen=True)
class StrokeAccounts:
    """Where the strokes of a round go.

    Parameters
    ----------
    course, golfer, tee
        For the heading.
    holes
        Every hole taken apart.
    split
        The holes together.
    penalties
        Expected penalty strokes of the plan.
    exact
        Whether every set of causes was solved for, so that the shares are Shapley values.
    reference
        Gains against a reference golfer, if one was asked for.
    """

    course: str
    golfer: str
    tee: str
    holes: tuple[HoleSplit, ...]
    split: StrokeSplit
    penalties: float
    exact: bool
    reference: ReferenceGains | None = None

    @property
    def par(self) -> int:
        """Par of the holes."""
        return sum(hole.par for hole in self.holes)


@dataclass(frozen=True)
class Goal:
    """A target score.

    Parameters
    ----------
    target
        Total to reach or beat over the planned holes.
    chance
        Chance of it that is wanted.
    by
        Day of the round; None for no end.
    hours_a_week
        Hours of practice in a week.
    """

    target: int
    chance: float = 0.5
    by: date | None = None
    hours_a_week: float = 4.0


@dataclass(frozen=True)
class Stage:
    """Steps of one ability on the road."""

    name: str
    step: str
    steps: int
    hours: float


@dataclass(frozen=True)
class PracticeRoad:
    """The way to a target.

    Parameters
    ----------
    goal
        What was asked.
    hours
        Hours there are.
    chance_now, chance_then
        Chance of the target now, and after all stages.
    expected_then
        Expected score after all stages.
    stages
        What to practise, the best strokes in an hour first.
    reached
        Whether the chance asked for is reached.
    looked_at, worked_out, proven
        How the search went; see :class:`planner.strategy.practice_plan.Road`.
    """

    goal: Goal
    hours: float
    chance_now: float
    chance_then: float
    expected_then: float
    stages: tuple[Stage, ...]
    reached: bool
    looked_at: int
    worked_out: int
    proven: bool

    @property
    def hours_needed(self) -> float:
        """Hours of all stages."""
        return sum(stage.hours for stage in self.stages)


@dataclass(frozen=True)
class PracticePlan:
    """Worth of each ability, most strokes in an hour first, and the road to a target if asked.

    ``own_hours`` says whether the hours of any step were given rather than assumed.
    """

    course: str
    golfer: str
    tee: str
    holes: tuple[str, ...]
    par: int
    expected: float
    steps: tuple[PracticeStep, ...]
    own_hours: bool
    road: PracticeRoad | None = None
