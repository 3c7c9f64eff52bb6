"""What a set of clubs is worth over all holes of interest, from their sketches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.strategy.bag_bounds import ClubSet
from planner.strategy.hole_sketch import HoleSketch, PlaceUse

__all__ = ["BagSketch", "ClubUse"]


@dataclass(frozen=True)
class ClubUse:
    """How a bag uses one club in a round.

    Parameters
    ----------
    club
        Its label.
    shots, tee_shots
        Expected number of shots a round, and of those from tees. Each hole's tee shot counts
        once, however often it is played again.
    from_m
        Distances to the pin below which a tenth, half and nine tenths of the shots that are no tee
        shots are played [m]; NaN where there are none.
    lies
        Share of those shots from each lie.
    """

    club: str
    shots: float
    tee_shots: float
    from_m: tuple[float, float, float]
    lies: dict[Lie, float]


class BagSketch:
    """Value of sets of clubs, as a choice of clubs needs it.

    Parameters
    ----------
    clubs
        Labels in the order of the sketches.
    sketches
        One for each hole.
    weights
        How often each hole counts in a round.
    """

    def __init__(
        self, clubs: tuple[str, ...], sketches: Sequence[HoleSketch], weights: Sequence[float]
    ) -> None:
        if len(sketches) != len(weights) or any(s.clubs != len(clubs) for s in sketches):
            raise ValueError("sketches need a weight each and the same clubs")
        self.clubs = clubs
        self.sketches = tuple(sketches)
        self.weights = tuple(weights)
        self._needed = [sketch.needed() for sketch in sketches]
        self._index = {club: i for i, club in enumerate(clubs)}

    @property
    def best(self) -> float:
        """Expected strokes a round with all clubs."""
        return math.fsum(
            weight * sketch.value
            for weight, sketch in zip(self.weights, self.sketches, strict=True)
        )

    def carried(self, clubs: Iterable[str]) -> NDArray[np.bool_]:
        """Which clubs a set has; labels unknown here, as of putters, do not count."""
        mask = np.zeros(len(self.clubs), dtype=bool)
        for club in clubs:
            if club in self._index:
                mask[self._index[club]] = True
        return mask

    def hole_rises(self, clubs: ClubSet) -> NDArray[np.float64]:
        """Strokes by which each hole is dearer with a set than with all clubs, by hole."""
        mask = self.carried(clubs)
        missing = ~mask
        return np.array(
            [
                sketch.rise(mask) if (needed & missing).any() else 0.0
                for sketch, needed in zip(self.sketches, self._needed, strict=True)
            ]
        )

    def __call__(self, clubs: ClubSet) -> float:
        """Expected strokes a round with a set; infinite where it cannot play."""
        return self.best + float(np.dot(self.weights, self.hole_rises(clubs)))

    def hole_uses(self, clubs: ClubSet) -> list[list[PlaceUse]]:
        """Shots of a set on every hole."""
        mask = self.carried(clubs)
        return [sketch.uses(mask) for sketch in self.sketches]

    def uses(self, clubs: ClubSet) -> tuple[ClubUse, ...]:
        """How a set is used in a round, every club in the order of :attr:`clubs`."""
        gathered: dict[int, list[tuple[PlaceUse, float]]] = {}
        for uses, weight in zip(self.hole_uses(clubs), self.weights, strict=True):
            for use in uses:
                gathered.setdefault(use.club, []).append((use, weight * use.shots))
        found = []
        for i, club in enumerate(self.clubs):
            if club not in clubs:
                continue
            shots = gathered.get(i, [])
            tee = math.fsum(w for use, w in shots if use.lie is Lie.TEE)
            other = [(use, w) for use, w in shots if use.lie is not Lie.TEE]
            total = math.fsum(w for _, w in other)
            lies: dict[Lie, float] = {}
            for use, w in other:
                lies[use.lie] = lies.get(use.lie, 0.0) + w / total
            found.append(ClubUse(club, tee + total, tee, _distances(other, total), lies))
        return tuple(found)


def _distances(shots: list[tuple[PlaceUse, float]], total: float) -> tuple[float, float, float]:
    if total <= 0.0:
        return (math.nan, math.nan, math.nan)
    ordered = sorted(shots, key=lambda shot: shot[0].distance_m)
    distance = np.array([use.distance_m for use, _ in ordered])
    below = np.cumsum([w for _, w in ordered]) / total
    low, middle, high = (
        float(distance[min(int(np.searchsorted(below, share)), len(distance) - 1)])
        for share in (0.1, 0.5, 0.9)
    )
    return (low, middle, high)
