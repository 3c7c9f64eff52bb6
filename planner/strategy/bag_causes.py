"""Which shots make the difference between two bags on a hole.

What a bag's shots cost over the best with all clubs adds up, over its own visits, to its rise at
the tee. The difference of two bags is so split by where they play from: the tee, and stretches
of the distance to the pin.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.strategy.bag_results import Cause
from planner.strategy.hole_sketch import HoleSketch, PlaceUse

__all__ = ["hole_causes"]

STRETCH_M = 30.0
"""Length of a stretch [m]."""
LEAST_STROKES = 0.005
"""Smaller differences are not named [strokes]."""
MOST_CAUSES = 3


@dataclass
class _Shots:
    """Shots of both bags from one stretch: what they cost, and how many by club."""

    lost: list[float] = field(default_factory=lambda: [0.0, 0.0])
    clubs: list[dict[int, float]] = field(default_factory=lambda: [{}, {}])


def hole_causes(
    sketch: HoleSketch,
    labels: tuple[str, ...],
    first: NDArray[np.bool_],
    second: NDArray[np.bool_],
) -> tuple[Cause, ...]:
    """What makes the second bag's score differ from the first's, most important first.

    Parameters
    ----------
    sketch
        The hole with all clubs.
    labels
        Clubs of the sketch.
    first, second
        Which clubs each bag has, shape ``(clubs,)``.
    """
    stretches: dict[int, _Shots] = {}
    for number, carried in enumerate((first, second)):
        for use in sketch.uses(carried):
            shots = stretches.setdefault(_stretch(use), _Shots())
            shots.lost[number] += use.shots * use.lost
            clubs = shots.clubs[number]
            clubs[use.club] = clubs.get(use.club, 0.0) + use.shots
    causes = [
        _cause(stretch, shots, labels)
        for stretch, shots in stretches.items()
        if abs(shots.lost[1] - shots.lost[0]) >= LEAST_STROKES
    ]
    return tuple(sorted(causes, key=lambda cause: -abs(cause.strokes))[:MOST_CAUSES])


def _stretch(use: PlaceUse) -> int:
    return -1 if use.lie is Lie.TEE else math.floor(use.distance_m / STRETCH_M)


def _cause(stretch: int, shots: _Shots, labels: tuple[str, ...]) -> Cause:
    first, second = (
        labels[max(clubs, key=lambda club: clubs[club])] if clubs else "" for clubs in shots.clubs
    )
    low = max(stretch, 0) * STRETCH_M
    return Cause(
        "tee" if stretch < 0 else "approach",
        low,
        low if stretch < 0 else low + STRETCH_M,
        first,
        second,
        shots.lost[1] - shots.lost[0],
    )
