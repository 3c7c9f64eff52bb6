"""What a golfer might change instead of buying clubs, to be set beside purchases."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from planner.golfer.bag import Bag
from planner.golfer.club import Club, ClubKind
from planner.golfer.shot_outcome import ShotModel, SwingStyle
from planner.golfer.swing_set import golfer_putting
from planner.golfer.what_if import (
    faster,
    scaled_mishits,
    scaled_offline,
    scaled_putting,
    with_putting,
)

__all__ = ["SPEED_MORE", "Technique", "techniques"]

MISHITS_LEFT, SPREAD_LEFT, SPEED_MORE, LENGTH_ERROR_LEFT = 0.5, 0.8, 0.05, 0.8
"""Halve the mishits, of the driver or of all clubs; a fifth less sideways spread; a twentieth more
club speed; a fifth less error of the length of putts: changes of a size that coaches speak of
(common practice)."""
_LONG_GAME = (SwingStyle.FULL, SwingStyle.PUNCH)


@dataclass(frozen=True)
class Technique:
    """One change: of the bag, before its shot model is built, or of the model.

    ``putter`` marks one that another putter would bring, not practice.
    """

    name: str
    bag_after: Callable[[Bag], Bag] | None = field(default=None, repr=False)
    model_after: Callable[[ShotModel], ShotModel] | None = field(default=None, repr=False)
    putter: bool = False


def techniques(bag: Bag, clubs: Sequence[str]) -> tuple[Technique, ...]:
    """Changes that make sense with some clubs of a bag."""
    longest = [c for c in bag.clubs if c.kind is ClubKind.DRIVER and c.label in clubs]
    putting = golfer_putting(bag.golfer)
    found = [_fewer_mishits(club) for club in longest[:1]]
    found += [
        Technique(
            "half of all mishits with full swings",
            model_after=lambda model: scaled_mishits(model, MISHITS_LEFT, styles=_LONG_GAME),
        ),
        Technique(
            f"face spread {SPREAD_LEFT - 1:+.0%}: full swings that much straighter",
            model_after=lambda model: scaled_offline(model, SPREAD_LEFT, styles=_LONG_GAME),
        ),
        Technique(f"{SPEED_MORE:+.0%} club speed", bag_after=lambda bag: faster(bag, SPEED_MORE)),
        Technique(
            f"a more forgiving putter: error of length {LENGTH_ERROR_LEFT - 1:+.0%}",
            model_after=lambda model: with_putting(
                model, scaled_putting(putting, distance=LENGTH_ERROR_LEFT)
            ),
            putter=True,
        ),
    ]
    return tuple(found)


def _fewer_mishits(club: Club) -> Technique:
    return Technique(
        f"half the mishits of the {club.label}",
        model_after=lambda model: scaled_mishits(model, MISHITS_LEFT, clubs=(club.label,)),
    )
