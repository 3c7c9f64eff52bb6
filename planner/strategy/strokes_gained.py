"""Strokes gained, shot by shot, against the golfer's own expected strokes on a solved hole.

With V the golfer's value of a place (expected strokes to hole out) a shot from x to y that used
one stroke and w penalty strokes gains::

    V(x) - V(y) - 1 - w,        V(holed) = 0

so the shots of a hole add up to V(tee) less the score, without a remainder. A shot is taken apart
further: leaving the plan costs Q(x, club) - V(x) before the ball is hit, where Q is the value of
that club along its own best line, and the rest is how the ball was struck, with its luck.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from planner.course.hole import Point
from planner.course.lies import Lie
from planner.errors import SolveError
from planner.strategy.advice import TIE_STROKES
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.solution import UNPLAYABLE

__all__ = [
    "FullSwing",
    "GainedShot",
    "HoleAccount",
    "HoleWorth",
    "PlayedShot",
    "RoundAccounts",
    "Worth",
    "account",
]


@dataclass(frozen=True)
class PlayedShot:
    """One shot as it was played, or the putts of a hole together.

    Parameters
    ----------
    number
        Which row of the hole it is, from 1.
    position_hole, lie
        Where it was played from [m].
    club
        Label of the club; empty where it is not known.
    strokes
        Strokes it stands for: 1, or a number of putts.
    penalties
        Penalty strokes it brought.
    """

    number: int
    position_hole: Point
    lie: Lie
    club: str = ""
    strokes: int = 1
    penalties: int = 0


@dataclass(frozen=True)
class GainedShot:
    """A shot and what it gained [strokes].

    Parameters
    ----------
    played
        The shot.
    before, after
        Expected strokes to hole out before it, and after it with its relief; 0 when holed.
    planned
        Club that the plan would have hit; empty on the green and where nothing else is known.
    leaving
        What hitting this club instead cost before it was hit; 0 where the plan was kept or is a
        tie, nan where the club is not known or not meant for this lie.
    """

    played: PlayedShot
    before: float
    after: float
    planned: str
    leaving: float

    @property
    def gained(self) -> float:
        """Strokes gained against the golfer's own average."""
        return self.before - self.after - self.played.strokes - self.played.penalties

    @property
    def struck(self) -> float:
        """Strokes gained by how the ball was struck and what became of it."""
        return self.gained + (0.0 if math.isnan(self.leaving) else self.leaving)

    @property
    def kept(self) -> bool | None:
        """Whether the plan was kept; None where that is not known."""
        return None if math.isnan(self.leaving) else self.leaving == 0.0


@dataclass(frozen=True)
class HoleAccount:
    """Shots of a hole in order, from the tee to the hole."""

    ref: str
    par: int
    shots: tuple[GainedShot, ...]

    @property
    def expected(self) -> float:
        """Expected strokes from where the hole was started."""
        return self.shots[0].before

    @property
    def score(self) -> int:
        """Strokes and penalty strokes."""
        return sum(shot.played.strokes + shot.played.penalties for shot in self.shots)

    @property
    def penalties(self) -> int:
        """Penalty strokes."""
        return sum(shot.played.penalties for shot in self.shots)

    @property
    def gained(self) -> float:
        """Strokes gained on the hole: expected strokes less the score."""
        return math.fsum(shot.gained for shot in self.shots)

    @property
    def leaving(self) -> float:
        """What leaving the plan cost, where it is known."""
        return math.fsum(shot.leaving for shot in self.shots if not math.isnan(shot.leaving))


@dataclass(frozen=True)
class FullSwing:
    """A full swing as it was measured by its places [m], offline + right of the plan's aim."""

    club: str
    lie: Lie
    carry_m: float
    offline_m: float
    total_m: float


@dataclass(frozen=True, eq=False)
class RoundAccounts:
    """A logged round against the golfer's own expected strokes.

    Parameters
    ----------
    course, golfer, tee
        For the heading.
    holes
        Every hole that was logged and solved, in order of play.
    swings
        Full swings whose carry and offline follow from the log.
    notes
        What was left out or assumed, one line each.
    """

    course: str
    golfer: str
    tee: str
    holes: tuple[HoleAccount, ...]
    swings: tuple[FullSwing, ...]
    notes: tuple[str, ...]

    @property
    def score(self) -> int:
        """Strokes over the holes."""
        return sum(hole.score for hole in self.holes)

    @property
    def par(self) -> int:
        """Par of the holes."""
        return sum(hole.par for hole in self.holes)

    @property
    def expected(self) -> float:
        """Expected strokes over the holes."""
        return math.fsum(hole.expected for hole in self.holes)

    @property
    def gained(self) -> float:
        """Strokes gained: expected strokes less the score."""
        return math.fsum(hole.gained for hole in self.holes)

    @property
    def leaving(self) -> float:
        """What leaving the plan cost."""
        return math.fsum(hole.leaving for hole in self.holes)


class Worth(Protocol):
    """Expected strokes of a golfer on one hole."""

    def value(self, position_hole: Point, lie: Lie) -> float:
        """Expected strokes to hole out from a place."""

    def clubs(self, position_hole: Point, lie: Lie) -> Mapping[str, float]:
        """Expected strokes with the best shot of every club, best first; empty on the green."""


class HoleWorth:
    """Worth of places and clubs on a solved hole.

    Off the green a value is that of the best shot from exactly there, one step before the lattice,
    so that no club ever costs less than the plan.
    """

    def __init__(self, adviser: HoleAdviser) -> None:
        self._adviser = adviser
        self._known: dict[tuple[Point, Lie], dict[str, float]] = {}

    def value(self, position_hole: Point, lie: Lie) -> float:
        """Expected strokes to hole out from a place."""
        if lie is Lie.GREEN:
            away = math.dist(position_hole, self._adviser.hole.pin_hole)
            return float(self._adviser.model.expected_putts(away))
        return min(self.clubs(position_hole, lie).values())

    def clubs(self, position_hole: Point, lie: Lie) -> Mapping[str, float]:
        """Expected strokes with the best shot of every club, best first; empty on the green.

        A ball declared unplayable stands under an empty name.

        Raises
        ------
        SolveError
            No shot is possible from there.
        """
        if lie is Lie.GREEN:
            return {}
        place = (position_hole, lie)
        if place not in self._known:
            swings = self._adviser.model.swings
            found: dict[str, float] = {}
            for shot in self._adviser.place_values(position_hole, lie):
                club = "" if shot.swing == UNPLAYABLE else swings[shot.swing].club
                found.setdefault(club, shot.value)
            if not all(map(math.isfinite, found.values())):
                raise SolveError(f"hole {self._adviser.hole.ref}: a place has no known value")
            self._known[place] = found
        return self._known[place]


def account(ref: str, par: int, shots: Sequence[PlayedShot], worth: Worth) -> HoleAccount:
    """Strokes gained of every shot of a hole; the last one is taken to have been holed.

    Raises
    ------
    ValueError
        There are no shots.
    SolveError
        A shot was played from where nothing can be played.
    """
    if not shots:
        raise ValueError(f"hole {ref}: no shots")
    values = [worth.value(shot.position_hole, shot.lie) for shot in shots]
    found = []
    for i, shot in enumerate(shots):
        clubs = worth.clubs(shot.position_hole, shot.lie)
        planned, leaving = "", 0.0 if shot.lie is Lie.GREEN else math.nan
        if clubs:
            planned = min(clubs, key=lambda club: clubs[club])
            if shot.club in clubs and shot.club:
                cost = clubs[shot.club] - clubs[planned]
                leaving = 0.0 if cost < TIE_STROKES else cost
        after = values[i + 1] if i + 1 < len(shots) else 0.0
        found.append(GainedShot(shot, values[i], after, planned, leaving))
    return HoleAccount(ref, par, tuple(found))
