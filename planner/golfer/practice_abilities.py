"""Abilities that practice improves: one realistic step of each, and the hours it takes.

A step is small enough to be reached in a season by a golfer who practises it (assumed, as all hours
here are; a coach who knows the pupil puts his own in their place). Each further step starts from
the one before and takes longer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from planner.errors import OptionError
from planner.golfer import what_if
from planner.golfer.bag import Bag
from planner.golfer.putting import PuttingSkill
from planner.golfer.shot_outcome import ShotModel, SwingStyle
from planner.golfer.swing_set import golfer_putting

__all__ = [
    "ABILITIES",
    "MOST_STEPS",
    "PracticeAbility",
    "improved",
    "step_hours",
]

ASSUMED_MISHITS_STEP = 0.80
"""Mishits left after a step: a fifth of the tops, duffs and wide ones of full swings is gone."""
ASSUMED_SPREAD_STEP = 0.90
"""Sideways spread, or spread of the carry, of full swings left after a step."""
ASSUMED_SPEED_STEP = 0.03
"""Club speed gained in a step."""
ASSUMED_SHORT_GAME_STEP = (0.85, 0.80)
"""Spread of partial swings, and mishits among them, left after a step."""
ASSUMED_PUTTING_STEP = 0.90
"""Errors of direction and of length on the green left after a step."""
ASSUMED_HOURS: Mapping[str, float] = {
    "mishits": 30.0,
    "direction": 40.0,
    "carry": 35.0,
    "speed": 30.0,
    "short game": 20.0,
    "putting": 15.0,
}
"""Hours of practice that the first step takes. No source: replace them with your own."""
ASSUMED_GROWTH = 1.6
"""Hours of a step over those of the step before."""
MOST_STEPS = 3
"""Steps of one ability that are thought of: beyond, golfers change more than one thing."""

_LONG_GAME = (SwingStyle.FULL, SwingStyle.PUNCH)


@dataclass(frozen=True)
class PracticeAbility:
    """One ability.

    Parameters
    ----------
    key
        Its word in options.
    name, step
        The ability, and what a step of it is, for showing.
    bag_after
        The bag after some steps, where the ability shows in it.
    model_after
        The shot model after some steps; the putting is the golfer's own.
    """

    key: str
    name: str
    step: str
    bag_after: Callable[[Bag, int], Bag] | None = field(default=None, repr=False)
    model_after: Callable[[ShotModel, PuttingSkill, int], ShotModel] | None = field(
        default=None, repr=False
    )


def _mishits(model: ShotModel, putting: PuttingSkill, steps: int) -> ShotModel:
    return what_if.scaled_mishits(model, ASSUMED_MISHITS_STEP**steps, styles=_LONG_GAME)


def _direction(model: ShotModel, putting: PuttingSkill, steps: int) -> ShotModel:
    return what_if.scaled_offline(model, ASSUMED_SPREAD_STEP**steps, styles=_LONG_GAME)


def _carry(model: ShotModel, putting: PuttingSkill, steps: int) -> ShotModel:
    return what_if.scaled_distance(model, ASSUMED_SPREAD_STEP**steps, styles=_LONG_GAME)


def _short_game(model: ShotModel, putting: PuttingSkill, steps: int) -> ShotModel:
    spread, mishits = (factor**steps for factor in ASSUMED_SHORT_GAME_STEP)
    return what_if.with_short_game(model, spread, mishits=mishits)


def _putting(model: ShotModel, putting: PuttingSkill, steps: int) -> ShotModel:
    return what_if.with_putting(model, _better_putting(putting, steps))


def _better_putting(putting: PuttingSkill, steps: int) -> PuttingSkill:
    left = ASSUMED_PUTTING_STEP**steps
    return what_if.scaled_putting(putting, angle=left, distance=left)


def _speed(bag: Bag, steps: int) -> Bag:
    return what_if.faster(bag, (1.0 + ASSUMED_SPEED_STEP) ** steps - 1.0)


def _less(left: float) -> str:
    return f"{100 * (1 - left):.0f} %"


ABILITIES = (
    PracticeAbility(
        "mishits",
        "fewer mishits",
        f"{_less(ASSUMED_MISHITS_STEP)} fewer tops, duffs and wide ones with full swings",
        model_after=_mishits,
    ),
    PracticeAbility(
        "direction",
        "direction of full swings",
        f"{_less(ASSUMED_SPREAD_STEP)} less sideways spread",
        model_after=_direction,
    ),
    PracticeAbility(
        "carry",
        "length of full swings",
        f"{_less(ASSUMED_SPREAD_STEP)} less spread of the carry",
        model_after=_carry,
    ),
    PracticeAbility(
        "speed", "club speed", f"{100 * ASSUMED_SPEED_STEP:.0f} % more club speed", bag_after=_speed
    ),
    PracticeAbility(
        "short game",
        "short game",
        f"{_less(ASSUMED_SHORT_GAME_STEP[0])} less spread of partial swings, "
        f"{_less(ASSUMED_SHORT_GAME_STEP[1])} fewer chunks and thins",
        model_after=_short_game,
    ),
    PracticeAbility(
        "putting",
        "putting",
        f"{_less(ASSUMED_PUTTING_STEP)} less error of direction and of length",
        model_after=_putting,
    ),
)
"""What can be practised, from the long game to the green."""


def step_hours(own: Mapping[str, float] | None = None) -> dict[str, tuple[float, ...]]:
    """Hours of each step of every ability by key, ``own`` hours of first steps in place of ours.

    An ability with 0 hours is not practised: it has no steps.

    Raises
    ------
    OptionError
        An ability is unknown, or its hours are negative.
    """
    first = dict(ASSUMED_HOURS)
    for key, hours in (own or {}).items():
        if key not in first:
            raise OptionError(f'no ability "{key}"; there are {", ".join(first)}')
        if not 0.0 <= hours <= 10_000.0:
            raise OptionError(f"{key}: hours of a step must be from 0 to 10000, got {hours:g}")
        first[key] = hours
    return {
        key: tuple(hours * ASSUMED_GROWTH**i for i in range(MOST_STEPS)) if hours > 0.0 else ()
        for key, hours in first.items()
    }


def improved(bag: Bag, build: Callable[[Bag], ShotModel], steps: Sequence[int]) -> ShotModel:
    """Shot model of a golfer after ``steps`` of each of ``ABILITIES``.

    Parameters
    ----------
    bag
        Golfer and clubs as they are.
    build
        Makes a shot model of a bag, in the conditions of the day.
    """
    for ability, count in zip(ABILITIES, steps, strict=True):
        if ability.bag_after is not None and count:
            bag = ability.bag_after(bag, count)
    model, putting = build(bag), golfer_putting(bag.golfer)
    for ability, count in zip(ABILITIES, steps, strict=True):
        if ability.model_after is not None and count:
            model = ability.model_after(model, putting, count)
    return model
