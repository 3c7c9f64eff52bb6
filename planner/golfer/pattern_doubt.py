"""How uncertain the pattern of each club in a bag is, given the shots it was measured on.

The golfer's own shots are weighed against the skill model with the strengths of
:mod:`planner.golfer.pattern_prior`: what the model says counts for so many shots, and golfers of
one handicap differ by so much. The uncertainty of a carry that was predicted from the golfer's
other clubs is that of the prediction. Clubs are taken to err independently.

A mean offline needs no doubt here: whoever knows it aims it away.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from planner.golfer.bag import Bag
from planner.golfer.club import ClubKind
from planner.golfer.gapping import club_predictions, predicted_carries
from planner.golfer.pattern_prior import PriorStrength
from planner.golfer.shot_outcome import ShotModel, SwingStyle
from planner.golfer.skill import completed_pattern
from planner.golfer.what_if import scaled_carry, scaled_distance, scaled_mishits, scaled_offline

__all__ = ["DOUBTS", "PatternDoubt", "club_doubts", "shifted"]

ASSUMED_SHOTS = 10
"""Shots a measured pattern is taken to rest on where the bag does not say."""
ASSUMED_CARRY_SHOTS = 5
"""The same where nothing but a carry was measured."""
_FULL = (SwingStyle.FULL, SwingStyle.PUNCH)


@dataclass(frozen=True)
class PatternDoubt:
    """Standard deviations of what is not known of one club's full swing.

    Parameters
    ----------
    carry
        Of the mean carry, as a share of it.
    carry_sd, offline_sd
        Of the two deviations, as shares of them.
    mishits
        Of the share of mishits, as a share of it; 0 if there are none.
    """

    carry: float
    carry_sd: float
    offline_sd: float
    mishits: float


DOUBTS = ("carry", "carry_sd", "offline_sd", "mishits")
"""Fields of :class:`PatternDoubt`."""


def club_doubts(bag: Bag, *, strength: PriorStrength | None = None) -> dict[str, PatternDoubt]:
    """Doubts of every club but putters, by label."""
    prior = strength or PriorStrength()
    golfer = bag.golfer
    carries = predicted_carries(bag.clubs, golfer.handicap_index, delivery=golfer.delivery)
    fitted = club_predictions(bag.clubs, golfer.handicap_index, delivery=golfer.delivery)
    found = {}
    for club in bag.clubs:
        if club.kind is ClubKind.PUTTER:
            continue
        pattern = completed_pattern(
            club, carries[club.label], golfer.handicap_index, left_handed=golfer.left_handed
        )
        before = prior.carry_level_sd
        if club.label in fitted and club.pattern is None:
            before = fitted[club.label].log_sd
        shots, spread_shots = 0, 0
        if club.pattern is not None:
            spread = club.pattern.has_spread
            shots = club.pattern.shots or (ASSUMED_SHOTS if spread else ASSUMED_CARRY_SHOTS)
            spread_shots = shots if spread else 0
        share = pattern.mishit_share
        good = (1.0 - share) * shots
        own = math.sqrt(pattern.covariances[0, 0, 0]) / pattern.means[0, 0]
        carry = 1.0 / math.sqrt(1.0 / before**2 + good / own**2)
        # A standard deviation from m shots errs by a share of 1 / sqrt(2 m).
        known = prior.stock_spread_shots + (1.0 - share) * spread_shots
        counted = spread_shots if club.pattern is None or club.pattern.mishits is not None else 0
        mishits = 0.0
        if share > 0.0:
            mishits = math.sqrt((1.0 - share) / share / (prior.share_shots + counted + 1.0))
        sd = 1.0 / math.sqrt(2.0 * known)
        found[club.label] = PatternDoubt(carry, sd, sd, mishits)
    return found


def shifted(
    model: ShotModel, doubts: Mapping[str, PatternDoubt], doubt: str, deviations: float
) -> ShotModel:
    """Every club at once off by so many standard deviations in one of ``DOUBTS``.

    Full swings and punch-outs change; partial swings are the short game's.
    """
    change: dict[str, Callable[..., ShotModel]] = {
        "carry": scaled_carry,
        "carry_sd": scaled_distance,
        "offline_sd": scaled_offline,
        "mishits": scaled_mishits,
    }
    for club in dict.fromkeys(swing.club for swing in model.swings):
        if club in doubts and any(s.club == club and s.style in _FULL for s in model.swings):
            factor = max(1.0 + deviations * getattr(doubts[club], doubt), 0.05)
            model = change[doubt](model, factor, clubs=(club,), styles=_FULL)
    return model
