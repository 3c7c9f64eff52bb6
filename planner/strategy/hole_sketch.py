"""A solved hole reduced to what tells bags apart, so that thousands of bags can be tried.

With every club at hand a place s is worth V(s), and the best shot there with club c costs A(s, c)
more than the best of all. A bag S, a part of those clubs, makes the place dearer by

    D_S(s) = min over c in S of  A(s, c) + sum over s' of P(s' | s, c) D_S(s')

which is the Bellman equation less that of V and has no other solution than D = 0 where nothing was
taken away. D is small and smooth, so a coarse P will do: its error counts only in proportion to
D. Each club plays the shot that is its best under V; that another aim would be better once
clubs are missing is of second order. Leaving a club out never lowers D, exactly, because the
minimum is then over fewer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from planner.course.lies import Lie

__all__ = ["ANY_BAG", "HoleSketch", "PlaceUse", "sketch_of"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

ANY_BAG = -1
"""Stands for a club where no club is needed: a ball declared unplayable."""
MOST_SWEEPS, TOLERANCE = 400, 1e-7
"""Most sweeps of an evaluation, and the largest change in the last one [strokes]."""
_USE_SWEEPS, _USE_TOLERANCE = 400, 1e-9


@dataclass(frozen=True)
class PlaceUse:
    """How often a bag plays a club from one place.

    Parameters
    ----------
    club
        Index of the club.
    lie
        What the ball lies on.
    distance_m
        Distance to the pin [m].
    shots
        Expected number of such shots each time the hole is played.
    lost
        Strokes that each of them costs more than the best with all clubs. Over all shots and
        drops ``shots * lost`` adds up to the rise at the tee.
    """

    club: int
    lie: Lie
    distance_m: float
    shots: float
    lost: float


@dataclass(frozen=True, eq=False)
class HoleSketch:
    """Places, choices and where they lead; see the module docstring.

    Places are ordered from the pin; ``tee`` is one of them. Choice ``i`` belongs to the place in
    whose range of ``first_choice`` it is, needs the club ``club[i]`` (``ANY_BAG`` for none), costs
    ``cost[i]`` more than the best choice of all clubs, and leads where row ``row[i]`` says;
    what a row's shares lack to one is holed or on the green, where all bags are alike.

    Parameters
    ----------
    ref
        The hole.
    clubs
        Number of clubs.
    value
        Expected strokes from the tee with every club.
    tee
        Index of the tee.
    first_choice, club, cost, row
        As above; shapes ``(places + 1,)``, then ``(choices,)``.
    first_next, next_place, share
        Rows: ``(rows + 1,)``, then ``(entries,)``. No row leads back to the place it starts from.
    again
        Chance of each row to play from the same place again, ``(rows,)``.
    lie, distance_m
        Of each place, ``(places,)``.
    """

    ref: str
    clubs: int
    value: float
    tee: int
    first_choice: IntArray
    club: IntArray
    cost: FloatArray
    row: IntArray
    first_next: IntArray
    next_place: IntArray
    share: FloatArray
    again: FloatArray
    lie: NDArray[np.int8]
    distance_m: FloatArray

    @property
    def places(self) -> int:
        """Number of places."""
        return len(self.first_choice) - 1

    def rises(self, carried: BoolArray, start: FloatArray | None = None) -> FloatArray:
        """Strokes by which every place is dearer with a bag than with all clubs.

        Parameters
        ----------
        carried
            Which clubs the bag has, shape ``(clubs,)``.
        start
            Rises of a bag that has these clubs and more, to start from.

        Returns
        -------
        Shape ``(places,)``; infinite where the bag has no shot.
        """
        rise = np.zeros(self.places) if start is None else start.copy()
        choice = np.empty(self.places, dtype=np.int64)
        self._solve(carried, rise, choice)
        return rise

    def rise(self, carried: BoolArray, start: FloatArray | None = None) -> float:
        """The rise at the tee."""
        return float(self.rises(carried, start)[self.tee])

    def uses(self, carried: BoolArray) -> list[PlaceUse]:
        """From where a bag plays which club how often, full rounds of the hole on average."""
        rise = np.zeros(self.places)
        choice = np.empty(self.places, dtype=np.int64)
        self._solve(carried, rise, choice)
        visits = np.zeros(self.places)
        _visits(
            self.tee, choice, self.row, self.first_next, self.next_place, self.share,
            self.again, visits, _USE_SWEEPS, _USE_TOLERANCE,
        )  # fmt: skip
        found = []
        for place in np.flatnonzero(visits > 0.0):
            if choice[place] < 0 or self.club[choice[place]] == ANY_BAG:
                continue
            found.append(
                PlaceUse(
                    int(self.club[choice[place]]),
                    Lie(int(self.lie[place])),
                    float(self.distance_m[place]),
                    float(visits[place]),
                    float(self.cost[choice[place]]),
                )
            )
        return found

    def needed(self) -> BoolArray:
        """Clubs that together play the hole exactly as well as all clubs do, shape ``(clubs,)``.

        The best one of every place; of several as good the first.
        """
        found = np.zeros(self.clubs, dtype=bool)
        for place in range(self.places):
            choices = slice(self.first_choice[place], self.first_choice[place + 1])
            best = self.club[choices][self.cost[choices] == 0.0]
            if len(best) and (best != ANY_BAG).all():
                found[best[0]] = True
        return found

    def _solve(self, carried: BoolArray, rise: FloatArray, choice: IntArray) -> None:
        if carried.shape != (self.clubs,):
            raise ValueError(f"carried must have shape ({self.clubs},), got {carried.shape}")
        _sweep_rises(
            carried, self.first_choice, self.club, self.cost, self.row, self.first_next,
            self.next_place, self.share, self.again, rise, choice, MOST_SWEEPS, TOLERANCE,
        )  # fmt: skip


def sketch_of(
    ref: str,
    clubs: int,
    value: float,
    choices: Sequence[Sequence[tuple[int, float, Sequence[tuple[int, float]]]]],
) -> HoleSketch:
    """Sketch from lists, the tee first: of each place ``(club, cost, [(next place, share)])``."""
    first, club, cost, first_next, following, share, again = [0], [], [], [0], [], [], []
    for place, options in enumerate(choices):
        for label, extra, leads in options:
            club.append(label)
            cost.append(extra)
            again.append(math.fsum(p for there, p in leads if there == place))
            following += [there for there, _ in leads if there != place]
            share += [p for there, p in leads if there != place]
            first_next.append(len(following))
        first.append(len(club))
    count = len(choices)
    return HoleSketch(
        ref,
        clubs,
        value,
        0,
        np.array(first, dtype=np.int64),
        np.array(club, dtype=np.int64),
        np.array(cost, dtype=float),
        np.arange(len(club), dtype=np.int64),
        np.array(first_next, dtype=np.int64),
        np.array(following, dtype=np.int64),
        np.array(share, dtype=float),
        np.array(again, dtype=float),
        np.full(count, int(Lie.FAIRWAY), dtype=np.int8),
        np.zeros(count),
    )


@njit(cache=True, nogil=True)
def _sweep_rises(  # type: ignore[no-untyped-def]
    carried, first_choice, club, cost, row, first_next, next_place, share, again,
    rise, choice, most, tolerance
):  # fmt: skip
    """Improve ``rise`` in place until it settles, from below: it only ever grows."""
    for _ in range(most):
        change = 0.0
        for place in range(len(rise)):
            least = math.inf
            chosen = -1
            for i in range(first_choice[place], first_choice[place + 1]):
                if club[i] >= 0 and not carried[club[i]]:
                    continue
                # Rises are never negative, so what costs as much already cannot be better.
                if cost[i] >= least:
                    continue
                r = row[i]
                total = cost[i]
                for j in range(first_next[r], first_next[r + 1]):
                    total += share[j] * rise[next_place[j]]
                stay = 1.0 - again[r]
                total = total / stay if stay > 1e-12 else math.inf
                if total < least:
                    least = total
                    chosen = i
            choice[place] = chosen
            if least > rise[place]:
                change = max(change, least - rise[place])
                rise[place] = least
        if change < tolerance:
            break


@njit(cache=True, nogil=True)
def _visits(  # type: ignore[no-untyped-def]
    tee, choice, row, first_next, next_place, share, again, visits, most, tolerance
):  # fmt: skip
    """Expected number of shots from every place, by passing on what has just arrived."""
    waiting = np.zeros(len(visits))
    waiting[tee] = 1.0
    for _ in range(most):
        left = 0.0
        for back in range(len(visits)):
            place = len(visits) - 1 - back
            mass = waiting[place]
            if mass <= 0.0 or choice[place] < 0:
                continue
            waiting[place] = 0.0
            r = row[choice[place]]
            mass /= 1.0 - again[r]
            visits[place] += mass
            for j in range(first_next[r], first_next[r + 1]):
                waiting[next_place[j]] += mass * share[j]
        for place in range(len(visits)):
            left += waiting[place]
        if left < tolerance:
            break
