"""What a golfer's strokes are lost to: causes that can be taken out of his shot model."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field

from planner.golfer import what_if
from planner.golfer.bag import Golfer
from planner.golfer.putting import TOUR_PUTTING, PuttingSkill
from planner.golfer.short_game import short_game_skill
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.skill import TOUR_INDEX
from planner.golfer.swing_set import golfer_putting

__all__ = ["CAUSES", "PENALTIES", "StrokeCause", "model_without"]

SPREAD_LEFT = 0.01
"""Share of a spread that is left when it is taken away: a pattern needs some."""
PENALTIES = "penalty strokes"
"""Name of what is counted along the plan, not taken out of the shot model."""


@dataclass(frozen=True)
class StrokeCause:
    """A cause; ``removed`` gives the shot model without it."""

    name: str
    meaning: str
    removed: Callable[[ShotModel, Golfer], ShotModel] = field(repr=False)


def _no_mishits(model: ShotModel, golfer: Golfer) -> ShotModel:
    return what_if.without_mishits(model)


def _no_offline(model: ShotModel, golfer: Golfer) -> ShotModel:
    return what_if.scaled_offline(model, SPREAD_LEFT)


def _no_distance(model: ShotModel, golfer: Golfer) -> ShotModel:
    return what_if.scaled_distance(model, SPREAD_LEFT)


def _tour_putting(model: ShotModel, golfer: Golfer) -> ShotModel:
    own = golfer_putting(golfer)
    better = PuttingSkill(
        min(own.angle_sd, TOUR_PUTTING.angle_sd), min(own.distance_sd, TOUR_PUTTING.distance_sd)
    )
    return what_if.with_putting(model, better)


def _tour_short_game(model: ShotModel, golfer: Golfer) -> ShotModel:
    own = short_game_skill(golfer.handicap_index, spread_factor=golfer.short_game_factor)
    tour = short_game_skill(TOUR_INDEX)
    mishits = (tour.chunk_share + tour.thin_share) / (own.chunk_share + own.thin_share)
    return what_if.with_short_game(
        model, min(tour.along_sd / own.along_sd, 1.0), mishits=min(mishits, 1.0)
    )


CAUSES = (
    StrokeCause("mishits", "every top, duff, chunk, thin and wide one a stock shot", _no_mishits),
    StrokeCause("sideways spread", "every shot on its stock line", _no_offline),
    StrokeCause("spread of length", "every shot its stock carry", _no_distance),
    StrokeCause("short game, to tour level", "partial swings as on tour", _tour_short_game),
    StrokeCause("putting, to tour level", "putts as on tour", _tour_putting),
)
"""Causes in the order in which they are told. Each changes factors only, so that any of them can
be taken out together and in any order."""


def model_without(model: ShotModel, golfer: Golfer, causes: Collection[int]) -> ShotModel:
    """Shot model without some of ``CAUSES``, by their places there."""
    for place in sorted(causes):
        model = CAUSES[place].removed(model, golfer)
    return model
