"""What to practise: what a step of each ability is worth, and the cheapest way to a target.

An ability is practised in steps, each with its price in hours; later steps cost more. A *regimen*
is a number of steps of each. The road to a target is the regimen of fewest hours that brings the
chance of the target to what is asked. Regimens are few (a handful of abilities, a few steps
each), so all of them are looked at, in order of hours; those that a quick estimate puts out of
reach by more than its own error are passed over, the rest are worked out in full.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.optimize import brentq

from planner.strategy.day_form import tilted
from planner.strategy.score_distribution import ScoreDistribution

__all__ = [
    "MOST_REGIMENS",
    "PracticeStep",
    "PricedAbility",
    "Regimen",
    "Road",
    "cheapest_road",
    "combined_gain",
    "moved",
    "overlap_rate",
    "ranked",
    "regimens",
]

MOST_REGIMENS = 200_000
"""Largest number of regimens that are looked at."""
_SAME_HOURS = 1e-9


@dataclass(frozen=True)
class PricedAbility:
    """An ability that practice improves, and the hours of each further step of it."""

    name: str
    hours: tuple[float, ...]

    def __post_init__(self) -> None:
        if not all(math.isfinite(hours) and hours > 0.0 for hours in self.hours):
            raise ValueError(f"{self.name}: hours of a step must be above 0, got {self.hours}")

    def hours_of(self, steps: int) -> float:
        """Hours of the first ``steps`` steps."""
        return math.fsum(self.hours[:steps])


@dataclass(frozen=True)
class PracticeStep:
    """Worth of one realistic step of an ability, everything else as it is.

    Parameters
    ----------
    name, unit
        The ability, and what one step of it is.
    strokes
        Strokes a round that it saves.
    hours
        Hours it takes.
    chance
        What it adds to the chance of the target; nan without a target.
    """

    name: str
    unit: str
    strokes: float
    hours: float
    chance: float = math.nan

    @property
    def strokes_in_ten_hours(self) -> float:
        """Strokes a round saved by ten hours, at the rate of this step."""
        return 10.0 * self.strokes / self.hours


@dataclass(frozen=True)
class Regimen:
    """Steps of each ability, their hours, and the chance of the target afterwards."""

    steps: tuple[int, ...]
    hours: float
    chance: float


@dataclass(frozen=True)
class Road:
    """The way to a target.

    Parameters
    ----------
    best
        The regimen of fewest hours that reaches the chance asked for; if none within the hours
        does, the one among those worked out with the highest chance.
    reached
        Whether it reaches it.
    looked_at, worked_out
        Regimens within the hours, and those of them worked out in full.
    proven
        Whether all that might have been cheaper were worked out.
    """

    best: Regimen
    reached: bool
    looked_at: int
    worked_out: int
    proven: bool


def ranked(steps: Sequence[PracticeStep]) -> tuple[PracticeStep, ...]:
    """Steps by strokes saved in an hour, most first; equal ones in their order."""
    return tuple(sorted(steps, key=lambda step: -step.strokes_in_ten_hours))


def regimens(
    abilities: Sequence[PricedAbility], hours: float
) -> list[tuple[float, tuple[int, ...]]]:
    """Hours and steps of every regimen of at most ``hours``, fewest hours first.

    Raises
    ------
    ValueError
        There are more than ``MOST_REGIMENS``.
    """
    count = math.prod(len(ability.hours) + 1 for ability in abilities)
    if count > MOST_REGIMENS:
        raise ValueError(f"{count:,} combinations; at most {MOST_REGIMENS:,} are looked at")
    return sorted(found for found in _priced(abilities) if found[0] <= hours * (1.0 + _SAME_HOURS))


def _priced(abilities: Sequence[PricedAbility]) -> Iterator[tuple[float, tuple[int, ...]]]:
    for steps in product(*(range(len(ability.hours) + 1) for ability in abilities)):
        costs = (one.hours_of(n) for one, n in zip(abilities, steps, strict=True))
        yield math.fsum(costs), steps


def cheapest_road(
    abilities: Sequence[PricedAbility],
    chance_of: Callable[[tuple[int, ...]], float],
    *,
    wanted: float,
    hours: float,
    estimate: Callable[[tuple[int, ...]], float] | None = None,
    slack: float = 0.0,
    most_worked_out: int = 1_000_000,
) -> Road:
    """Find the regimen of fewest hours whose chance of the target is at least ``wanted``.

    Parameters
    ----------
    abilities
        What can be practised.
    chance_of
        Chance of the target after a regimen, worked out in full.
    wanted
        Chance that is asked for.
    hours
        Hours there are.
    estimate
        Quick chance; regimens whose estimate is below ``wanted - slack`` are passed over. None
        works every regimen out.
    slack
        Largest error of the estimate that is allowed for.
    most_worked_out
        Regimens worked out before the search stops; it then proves nothing.
    """
    known: dict[tuple[int, ...], float] = {}

    def chance(steps: tuple[int, ...]) -> float:
        if steps not in known:
            known[steps] = chance_of(steps)
        return known[steps]

    affordable = regimens(abilities, hours)
    guess = estimate or chance
    found: list[Regimen] = []
    for cost, steps in affordable:
        if estimate is not None and estimate(steps) < wanted - slack:
            continue
        if len(known) >= most_worked_out:
            break
        regimen = Regimen(steps, cost, chance(steps))
        if regimen.chance >= wanted:
            return Road(regimen, True, len(affordable), len(known), True)
        found.append(regimen)
    else:
        if not found or estimate is not None:
            # The highest chance that the estimate promises is worked out for an answer.
            cost, steps = max(affordable, key=lambda one: (guess(one[1]), -one[0]))
            found.append(Regimen(steps, cost, chance(steps)))
        best = max(found, key=lambda one: (one.chance, -one.hours))
        return Road(best, best.chance >= wanted, len(affordable), len(known), True)
    best = max(found, key=lambda one: (one.chance, -one.hours))
    return Road(best, False, len(affordable), len(known), False)


def overlap_rate(most: float, reached: float) -> float:
    """How fast gains of several abilities eat into one another [1/stroke].

    Abilities mend the same harm in part, so that together they save less than one by one. With
    ``s`` the sum of what they save alone they are taken to save ``(1 - exp(-k s)) / k``. The rate
    ``k`` is that for which a sum of ``most`` saves ``reached``; it is negative where abilities
    help one another.
    """
    if most <= 0.0 or reached <= 0.0 or math.isclose(reached, most, rel_tol=1e-9):
        return 0.0

    def excess(rate: float) -> float:
        return combined_gain([most], rate) - reached

    low, high = -1.0 / most, 2.0 / reached
    while excess(low) < 0.0:
        low *= 2.0
    return float(brentq(excess, low, high))


def combined_gain(gains: Sequence[float], rate: float) -> float:
    """Strokes that abilities save together, from what each saves alone and the overlap rate."""
    total = math.fsum(gains)
    if abs(rate * total) < 1e-9:
        return total
    return -math.expm1(-rate * total) / rate


def moved(total: ScoreDistribution, strokes: float) -> ScoreDistribution:
    """Chances of a total whose mean is ``strokes`` lower, by exponential tilting.

    Among all distributions over the same scores with that mean it is the nearest (in relative
    entropy); see :mod:`planner.strategy.day_form`.
    """
    if strokes == 0.0:
        return total
    wanted = total.mean - strokes
    least, most = float(total.least), float(total.greatest)
    if not least < wanted < most:
        raise ValueError(f"a total between {least:g} and {most:g} cannot have the mean {wanted:g}")
    end = math.copysign(0.05, -strokes)
    while (tilted(total, end).mean - wanted) * np.sign(strokes) > 0.0:
        end *= 2.0
    tilt = brentq(lambda t: tilted(total, t).mean - wanted, min(0.0, end), max(0.0, end))
    return tilted(total, float(tilt))
