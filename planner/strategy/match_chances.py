"""Match play between two golfers whose hole scores have known chances, exactly.

The holes are independent, so a match is a walk over "holes up": dynamic programming over the
holes, stopping where one side leads by more holes than are left (Rules of Golf 2023, 3.2a).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.strategy.score_distribution import ScoreDistribution

__all__ = [
    "Ending",
    "HoleChances",
    "MatchChances",
    "extra_holes_chance",
    "hole_chances",
    "match_chances",
]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class HoleChances:
    """Chances of one hole; they add up to one.

    ``unknown`` is the chance that a score left in a remainder decides.
    """

    win: float
    half: float
    loss: float
    unknown: float = 0.0


@dataclass(frozen=True)
class Ending:
    """One way a match can end.

    Parameters
    ----------
    up
        Holes won less holes lost at the end; 0 is a tie.
    left
        Holes not played: 3 up with 2 left is "3 and 2".
    chance
        Chance of this ending.
    """

    up: int
    left: int
    chance: float


@dataclass(frozen=True)
class MatchChances:
    """Chances of a match; win, half, loss and unknown add up to one.

    Parameters
    ----------
    endings
        Every ending with a chance, biggest win first.
    dormie_up, dormie_down
        Chance to stand, at any time, exactly as many holes up (down) as are left.
    """

    win: float
    half: float
    loss: float
    unknown: float
    endings: tuple[Ending, ...]
    dormie_up: float
    dormie_down: float


def hole_chances(
    mine: ScoreDistribution, theirs: ScoreDistribution, *, received: int = 0
) -> HoleChances:
    """Chances to win, halve and lose a hole.

    Parameters
    ----------
    received
        Handicap strokes I receive on the hole; negative if the other does.
    """
    mine = mine.shifted(-received)
    win = _lower(mine, theirs)
    loss = _lower(theirs, mine)
    half = math.fsum(
        chance * theirs.chance(score)
        for score, chance in zip(mine.scores.tolist(), mine.chances.tolist(), strict=True)
    )
    unknown = 0.0
    if mine.remainder > 0.0 or theirs.remainder > 0.0:
        unknown = max(1.0 - win - half - loss, 0.0)
    return HoleChances(win, half, loss, unknown)


def _lower(one: ScoreDistribution, other: ScoreDistribution) -> float:
    """Chance that ``one`` is followed and for sure below ``other``."""
    return math.fsum(
        chance * other.chance_at_least(score + 1)
        for score, chance in zip(one.scores.tolist(), one.chances.tolist(), strict=True)
    )


def match_chances(holes: Sequence[HoleChances], *, up: int = 0) -> MatchChances:
    """Chances of a match over ``holes``, the ones still to play.

    Parameters
    ----------
    up
        Holes up before the first of them.

    Raises
    ------
    ValueError
        The match is over already.
    """
    count = len(holes)
    if abs(up) > count:
        raise ValueError(f"{abs(up)} up with {count} to play: the match is over")
    # standing[middle + u] is the chance that the match goes on with u holes up.
    middle = count + 2
    standing = np.zeros(2 * middle + 1)
    standing[middle + up] = 1.0
    endings: list[Ending] = []
    dormie = {side: float(up == side * count != 0) for side in (1, -1)}
    unknown = 0.0
    for left, hole in zip(range(count - 1, -1, -1), holes, strict=True):
        unknown += hole.unknown * float(standing.sum())
        for side, ahead in ((1, hole.win), (-1, hole.loss)):
            # Who is dormie stays so to the end, so only the ways into it are counted.
            if left:
                dormie[side] += float(standing[middle + side * (left - 1)]) * ahead
                dormie[side] += float(standing[middle + side * left]) * hole.half
        standing = _after(standing, hole)
        endings += _ended(standing, middle, left)
    half = float(standing[middle])
    if half > 0.0:
        endings.append(Ending(0, 0, half))
    endings.sort(key=lambda ending: (-ending.up, -ending.left))
    return MatchChances(
        win=math.fsum(ending.chance for ending in endings if ending.up > 0),
        half=half,
        loss=math.fsum(ending.chance for ending in endings if ending.up < 0),
        unknown=unknown,
        endings=tuple(endings),
        dormie_up=dormie[1],
        dormie_down=dormie[-1],
    )


def extra_holes_chance(holes: Sequence[HoleChances]) -> float:
    """Chance to win when ``holes`` are played in turn, over and over, until one is won.

    Raises
    ------
    ValueError
        No hole can be won or lost, or a hole's chances are not wholly known.
    """
    if any(hole.unknown > 0.0 for hole in holes):
        raise ValueError("extra holes need hole scores without remainder")
    level, won = 1.0, 0.0
    for hole in holes:
        won += level * hole.win
        level *= hole.half
    if level >= 1.0:
        raise ValueError("no hole can be won or lost")
    return won / (1.0 - level)


def _after(standing: FloatArray, hole: HoleChances) -> FloatArray:
    """Chances of every standing after one more hole."""
    after = standing * hole.half
    after[1:] += standing[:-1] * hole.win
    after[:-1] += standing[1:] * hole.loss
    return after


def _ended(standing: FloatArray, middle: int, left: int) -> Iterator[Ending]:
    """Endings with ``left`` holes to play, which are taken out of ``standing``."""
    for lead in (left + 1, left + 2):
        for up in (lead, -lead):
            chance = float(standing[middle + up])
            if chance > 0.0:
                standing[middle + up] = 0.0
                yield Ending(up, left, chance)
