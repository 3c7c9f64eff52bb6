"""The same golfer, better at one thing: what equipment or practice would change.

Every function is pure: a shot model or a bag goes in, another comes out. Functions of a shot
model keep its swings in order, so that two models can be compared swing by swing. ``clubs`` and
``styles`` say which swings change; None means all. A factor of 1 changes nothing, one below 1 is
better, one above 1 is worse.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Collection

import numpy as np

from planner.errors import OptionError
from planner.golfer.bag import Bag, Golfer
from planner.golfer.club import Club, ClubKind, MeasuredMishit, MeasuredPattern
from planner.golfer.club_prediction import fit_bag
from planner.golfer.delivery_model import delivered, facts_of, fly_delivered, handicap_prior
from planner.golfer.gapping import predicted_carries
from planner.golfer.putting import PuttingSkill, expected_putts, putts_within
from planner.golfer.shot_outcome import ShotModel, Swing, SwingStyle
from planner.golfer.shot_pattern import ShotPattern

__all__ = [
    "faster",
    "only_clubs",
    "scaled_carry",
    "scaled_distance",
    "scaled_mishits",
    "scaled_offline",
    "scaled_putting",
    "with_putting",
    "with_short_game",
    "without_mishits",
]

MOST_MISHITS = 0.95
"""Largest share of mishits a pattern is given."""
LEAST_FACTOR = 1e-3
"""Smallest factor of a deviation: a pattern needs some spread."""


def without_mishits(model: ShotModel, club: str | None = None) -> ShotModel:
    """Turn every mishit, or those with one club, into a stock shot.

    Raises
    ------
    OptionError
        The model has no swing with that club.
    """
    return scaled_mishits(model, 0.0, clubs=None if club is None else (club,))


def scaled_mishits(
    model: ShotModel,
    factor: float,
    *,
    clubs: Collection[str] | None = None,
    styles: Collection[SwingStyle] | None = None,
) -> ShotModel:
    """Multiply the share of mishits by ``factor``; stock shots take what is left.

    Raises
    ------
    OptionError
        The model has no such swing.
    """
    _check_factor(factor, least=0.0)

    def fewer(pattern: ShotPattern) -> ShotPattern:
        share = pattern.mishit_share
        if share == 0.0:
            return pattern
        weights = pattern.weights * (min(share * factor, MOST_MISHITS) / share)
        weights[0] = 1.0 - weights[1:].sum()
        # A component that never happens would still cost the solver its time.
        kept = weights > 0.0
        return ShotPattern(
            weights[kept],
            pattern.means[kept],
            pattern.covariances[kept],
            tuple(name for name, keep in zip(pattern.names, kept, strict=True) if keep),
        )

    return _changed(model, clubs, styles, lambda swing: _with_patterns(swing, fewer))


def scaled_offline(
    model: ShotModel,
    factor: float,
    *,
    clubs: Collection[str] | None = None,
    styles: Collection[SwingStyle] | None = None,
) -> ShotModel:
    """Multiply what the ball strays to the sides by ``factor``: spread of the face and the path.

    The offline deviation of every component, its mishits' distance from the stock line and the
    spread of the start direction shrink; the stock line itself stays. The part of the spread that
    comes from a lie shrinks too.

    Raises
    ------
    OptionError
        The model has no such swing.
    """
    _check_factor(factor, least=LEAST_FACTOR)
    stretch = np.array([1.0, factor])

    def narrower(pattern: ShotPattern) -> ShotPattern:
        means = pattern.means.copy()
        means[:, 1] = means[0, 1] + factor * (means[:, 1] - means[0, 1])
        covariances = pattern.covariances * np.outer(stretch, stretch)
        return ShotPattern(pattern.weights, means, covariances, pattern.names)

    def change(swing: Swing) -> Swing:
        start_sd = math.atan(factor * math.tan(swing.start_sd))
        return dataclasses.replace(_with_patterns(swing, narrower), start_sd=start_sd)

    return _changed(model, clubs, styles, change)


def scaled_distance(
    model: ShotModel,
    factor: float,
    *,
    clubs: Collection[str] | None = None,
    styles: Collection[SwingStyle] | None = None,
) -> ShotModel:
    """Multiply the deviation of the carry of every component by ``factor``; means stay.

    Raises
    ------
    OptionError
        The model has no such swing.
    """
    _check_factor(factor, least=LEAST_FACTOR)
    stretch = np.array([factor, 1.0])

    def tighter(pattern: ShotPattern) -> ShotPattern:
        covariances = pattern.covariances * np.outer(stretch, stretch)
        return ShotPattern(pattern.weights, pattern.means, covariances, pattern.names)

    return _changed(model, clubs, styles, lambda swing: _with_patterns(swing, tighter))


def scaled_carry(
    model: ShotModel,
    factor: float,
    *,
    clubs: Collection[str] | None = None,
    styles: Collection[SwingStyle] | None = None,
) -> ShotModel:
    """Multiply the mean carry of every component by ``factor``; deviations and run stay.

    Raises
    ------
    OptionError
        The model has no such swing.
    """
    _check_factor(factor, least=LEAST_FACTOR)

    def longer(pattern: ShotPattern) -> ShotPattern:
        means = pattern.means * np.array([factor, 1.0])
        return ShotPattern(pattern.weights, means, pattern.covariances, pattern.names)

    def change(swing: Swing) -> Swing:
        return dataclasses.replace(_with_patterns(swing, longer), carry_m=factor * swing.carry_m)

    return _changed(model, clubs, styles, change)


def only_clubs(model: ShotModel, clubs: Collection[str]) -> ShotModel:
    """Leave the swings with all but some clubs out; the rest is unchanged.

    Labels without a swing, as of putters, count for nothing.

    Raises
    ------
    OptionError
        No swing is left.
    """
    swings = tuple(swing for swing in model.swings if swing.club in clubs)
    if not swings:
        raise OptionError("no club but a putter is left; choose clubs for the long game")
    return dataclasses.replace(model, swings=swings)


def with_short_game(model: ShotModel, spread: float, *, mishits: float = 1.0) -> ShotModel:
    """Multiply the spread of all partial swings by ``spread`` and their mishits by ``mishits``."""
    partial = (SwingStyle.PARTIAL,)
    better = scaled_offline(model, spread, styles=partial)
    better = scaled_distance(better, spread, styles=partial)
    return scaled_mishits(better, mishits, styles=partial)


def with_putting(model: ShotModel, skill: PuttingSkill) -> ShotModel:
    """Putt with ``skill``, everything else unchanged."""
    putts = expected_putts(model.putts_distance_m, skill)
    # A ball that comes to rest in the hole's cell is still putted once, as in the usual model.
    putts[model.putts_distance_m == 0.0] = 1.0
    chances = model.putts_chances
    if chances is not None:
        chances = putts_within(model.putts_distance_m, skill, len(chances))
    return dataclasses.replace(model, putts_expected=putts, putts_chances=chances)


def scaled_putting(
    skill: PuttingSkill, *, angle: float = 1.0, distance: float = 1.0
) -> PuttingSkill:
    """Multiply the errors of direction and of length by ``angle`` and ``distance``."""
    _check_factor(angle, least=LEAST_FACTOR)
    _check_factor(distance, least=0.0)
    return PuttingSkill(angle * skill.angle_sd, distance * skill.distance_sd)


def faster(bag: Bag, share: float) -> Bag:
    """Swing every full shot faster by ``share`` (0.05 is 5 %), equally well struck.

    Each club's carry and run change as the flight model says for the golfer's delivery; its
    deviations change in proportion to its carry, which leaves directions as they are. Clubs that
    were not measured are given their predicted carry. Partial swings are meant for a distance
    and stay.
    """
    _check_factor(1.0 + share, least=0.5)
    golfer = bag.golfer
    hit = [club for club in bag.clubs if club.kind is not ClubKind.PUTTER]
    carries = predicted_carries(bag.clubs, golfer.handicap_index, delivery=golfer.delivery)
    fit = fit_bag(bag.clubs, golfer.handicap_index, delivery=golfer.delivery)
    parameters = handicap_prior(golfer.handicap_index).mean if fit is None else fit.parameters
    facts = facts_of(hit)
    now = delivered(parameters, facts)
    before, run_before = fly_delivered(facts, now.log_speed, now.attack, now.loft_off)
    after, run_after = fly_delivered(
        facts, now.log_speed + math.log1p(share), now.attack, now.loft_off
    )
    clubs = {}
    for i, club in enumerate(hit):
        ratio = math.exp(after[i] - before[i])
        run = float(run_after[i] / run_before[i]) if run_before[i] > 0.0 else 1.0
        clubs[club.label] = dataclasses.replace(
            club, pattern=_longer(club, carries[club.label], ratio, run)
        )
    return dataclasses.replace(
        bag,
        clubs=tuple(clubs.get(club.label, club) for club in bag.clubs),
        golfer=_quicker(golfer, share),
    )


def _quicker(golfer: Golfer, share: float) -> Golfer:
    if golfer.delivery is None:
        return golfer
    speed = golfer.delivery.speed_mps * (1.0 + share)
    return dataclasses.replace(
        golfer, delivery=dataclasses.replace(golfer.delivery, speed_mps=speed)
    )


def _longer(club: Club, carry_m: float, ratio: float, run_ratio: float) -> MeasuredPattern:
    known = club.pattern
    if known is None:
        return MeasuredPattern(carry_m * ratio)

    def grown(value: float | None, by: float = ratio) -> float | None:
        return None if value is None else value * by

    def mishit(one: MeasuredMishit) -> MeasuredMishit:
        return MeasuredMishit(
            one.name,
            one.share,
            one.carry_m * ratio,
            one.offline_m * ratio,
            one.carry_sd_m * ratio,
            one.offline_sd_m * ratio,
        )

    return dataclasses.replace(
        known,
        carry_m=known.carry_m * ratio,
        offline_m=grown(known.offline_m),
        carry_sd_m=grown(known.carry_sd_m),
        offline_sd_m=grown(known.offline_sd_m),
        run_m=grown(known.run_m, run_ratio),
        mishits=None if known.mishits is None else tuple(mishit(one) for one in known.mishits),
    )


def _changed(
    model: ShotModel,
    clubs: Collection[str] | None,
    styles: Collection[SwingStyle] | None,
    change: Callable[[Swing], Swing],
) -> ShotModel:
    known = {swing.club for swing in model.swings}
    unknown = [club for club in clubs or () if club not in known]
    if unknown:
        raise OptionError(f"no swing with {', '.join(unknown)}; clubs: {', '.join(sorted(known))}")
    swings = tuple(
        change(swing)
        if (clubs is None or swing.club in clubs) and (styles is None or swing.style in styles)
        else swing
        for swing in model.swings
    )
    return dataclasses.replace(model, swings=swings)


def _with_patterns(swing: Swing, change: Callable[[ShotPattern], ShotPattern]) -> Swing:
    patterns = {lie: change(pattern) for lie, pattern in swing.patterns.items()}
    return dataclasses.replace(swing, patterns=patterns)


def _check_factor(factor: float, *, least: float) -> None:
    if not least <= factor < math.inf:
        raise ValueError(f"factor must be at least {least:g} and finite, got {factor}")
