"""What playing for a target says: chances by hole and strokes in hand, and where play differs."""

from __future__ import annotations

from dataclasses import dataclass

from planner.strategy.advice import AimPoint

__all__ = [
    "LEAST_GAIN",
    "Choice",
    "FormHole",
    "FormPlan",
    "NextChoice",
    "Standing",
    "TargetHole",
    "TargetPlan",
]

LEAST_GAIN = 0.001
"""Choices whose chances differ by less are no advice: it is the error to which chances are held."""
LEAST_WORTH = 0.005
"""The same for expected points, strokes and holes."""


@dataclass(frozen=True)
class Choice:
    """One shot and what comes of it, all else played as well as can be for the same worth.

    Parameters
    ----------
    swing
        Swing in words, without units.
    aim
        Where it is aimed; None for an unplayable ball.
    worth
        Chance of the target (or worth in another form of play) with it.
    partial_m
        Carry of a partial swing [m]; None for others.
    """

    swing: str
    aim: AimPoint | None
    worth: float
    partial_m: float | None = None

    def differs(self, other: Choice, least: float = LEAST_GAIN) -> bool:
        """Whether it is another shot, worth ``least`` more."""
        return self.worth - other.worth >= least and (
            self.swing != other.swing or self.aim != other.aim
        )


@dataclass(frozen=True)
class NextChoice:
    """A choice after the tee shot that is another than the plan's.

    Parameters
    ----------
    place, distance_m
        Where the ball then lies, and how far from the pin [m].
    share
        Chance that the tee shot ends thereabouts.
    in_hand
        Strokes in hand there.
    best, planned
        Best for the target, and what the plan has.
    """

    place: str
    distance_m: float
    share: float
    in_hand: int
    best: Choice
    planned: Choice


@dataclass(frozen=True)
class Standing:
    """Strokes in hand on a tee.

    Parameters
    ----------
    in_hand
        Strokes in hand for this hole and those after it.
    behind
        Expected strokes from here, as planned, less those in hand: above 0 is behind.
    reach
        Chance to stand so, as planned.
    chance, chance_planned
        Chance of the target with best play and as planned.
    best, planned
        Tee shots of both, each with best play after it.
    later
        Next choice that differs most where the tee shot is the plan's; None if none does.
    """

    in_hand: int
    behind: float
    reach: float
    chance: float
    chance_planned: float
    best: Choice
    planned: Choice
    later: NextChoice | None

    @property
    def tee_differs(self) -> bool:
        """Whether the tee shot is another than the plan's."""
        return self.best.differs(self.planned)

    @property
    def differs(self) -> bool:
        """Whether anything is played otherwise than planned."""
        return self.tee_differs or self.later is not None


@dataclass(frozen=True, eq=False)
class TargetHole:
    """One hole of a round played for a target.

    Parameters
    ----------
    left
        Holes to play, this one included.
    expected_left
        Expected strokes for them as planned.
    standings
        By strokes in hand, fewest first; those that are open and not too rare.
    """

    ref: str
    par: int
    left: int
    expected_left: float
    standings: tuple[Standing, ...]


@dataclass(frozen=True, eq=False)
class TargetPlan:
    """A round played for a target.

    Parameters
    ----------
    chance, chance_planned
        Chance of ``target`` or fewer with best play, and playing for fewest strokes.
    expected
        Expected score as planned.
    preview
        Whether it was worked out on coarse cells.
    notes
        What to be wary of.
    """

    course: str
    golfer: str
    tee: str
    target: int
    par: int
    expected: float
    chance: float
    chance_planned: float
    holes: tuple[TargetHole, ...]
    preview: bool = False
    notes: tuple[str, ...] = ()

    @property
    def gain(self) -> float:
        """Chance gained over playing for fewest strokes."""
        return self.chance - self.chance_planned


@dataclass(frozen=True, eq=False)
class FormHole:
    """One hole played for the worth of its score; ``planned`` is for fewest strokes.

    ``worth`` and ``worth_planned`` are expected worths; the tee shots those of both.
    """

    ref: str
    par: int
    worth: float
    worth_planned: float
    best: Choice
    planned: Choice

    @property
    def differs(self) -> bool:
        """Whether the tee shot is another than the plan's."""
        return self.best.differs(self.planned, LEAST_WORTH)


@dataclass(frozen=True, eq=False)
class FormPlan:
    """Holes played for Stableford points, under a maximum score, or a hole of match play.

    Parameters
    ----------
    form
        What is played, in words.
    unit
        What the worth counts, such as points.
    """

    course: str
    golfer: str
    tee: str
    form: str
    unit: str
    holes: tuple[FormHole, ...]
    preview: bool = False
    notes: tuple[str, ...] = ()

    @property
    def worth(self) -> float:
        """Expected worth of all holes with best play."""
        return sum(hole.worth for hole in self.holes)

    @property
    def worth_planned(self) -> float:
        """The same playing for fewest strokes."""
        return sum(hole.worth_planned for hole in self.holes)
