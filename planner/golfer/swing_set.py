"""From a bag to the shot model: every swing the golfer can make, with all that decides it."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.ball.conditions import Conditions
from planner.course.lies import Lie
from planner.errors import OptionError
from planner.golfer import lie_effects, short_game, skill
from planner.golfer.bag import Bag, Golfer
from planner.golfer.club import Club, ClubKind, MeasuredPattern
from planner.golfer.club_prediction import CarryPrediction
from planner.golfer.delivery_model import facts_of
from planner.golfer.gapping import club_predictions, predicted_carries, standard_length
from planner.golfer.launch import ClubLaunch, launches_for_carry
from planner.golfer.partial_ladder import (
    Step,
    chipping_clubs,
    partial_carries,
    punch_carries,
    punch_clubs,
)
from planner.golfer.pattern_prior import ASSUMED_STOCK_SPREAD_SHOTS
from planner.golfer.putting import PuttingSkill, expected_putts, putting_skill, putts_within
from planner.golfer.shot_outcome import ShotModel, Swing, SwingStyle
from planner.golfer.shot_pattern import ShotPattern
from planner.golfer.weather_spread import ASSUMED_START_SHARE
from planner.units import RAD_PER_DEG

__all__ = ["SOURCES", "build_shot_model", "golfer_putting", "pattern_source"]

FloatArray = NDArray[np.float64]

MEASURED, SHRUNK = "measured", "shrunk"
CARRY_ONLY, PREDICTED = "carry only", "predicted"
SOURCES = (MEASURED, SHRUNK, CARRY_ONLY, PREDICTED)
"""Where a club's pattern can come from."""
OWN_SHOTS = round(4 * ASSUMED_STOCK_SPREAD_SHOTS)
"""Shots of a fit from which the golfer's own are at least four fifths of what its spread says."""

FROM_LIES = (Lie.TEE, Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.SAND)
PARTIAL_STEP = 1.0
"""Usual step between carries of partial swings, in deviations of such a shot."""
ASSUMED_PUNCH_SPREAD, ASSUMED_PUNCH_MISHITS = 1.5, 1.4
"""Spread and mishits of a punch-out over those of the full swing with its club."""
ASSUMED_PUNCH_LOFT_OFF = 8.0 * RAD_PER_DEG
"""Loft that a punch-out takes off beyond the usual."""
MOST_PUTTS = 8
"""Putts from one place whose chances are kept; more are as good as never needed."""
PUTTS_DISTANCE_M = np.concatenate(
    (np.arange(0.0, 3.0, 0.1), np.arange(3.0, 15.0, 0.25), np.arange(15.0, 80.1, 1.0))
)
PUTTS_DISTANCE_M.setflags(write=False)


@dataclass(frozen=True)
class _Planned:
    """A swing before its flight is known; ``loft`` [rad] is that of the flight."""

    club: Club
    style: SwingStyle
    carry_m: float
    loft: float


def pattern_source(bag: Bag) -> dict[str, str]:
    """Say by label, putters left out, where a pattern comes from: one of ``SOURCES``.

    ``measured`` has carry and both deviations of its own, ``carry only`` at least the carry.
    ``shrunk`` was fitted to fewer than ``OWN_SHOTS`` shots, so the skill model has a say in it.
    """
    sources = {}
    for club in bag.clubs:
        if club.kind is ClubKind.PUTTER:
            continue
        if club.pattern is None:
            sources[club.label] = PREDICTED
        else:
            sources[club.label] = _source(club.pattern)
    return sources


def _source(pattern: MeasuredPattern) -> str:
    if not pattern.has_spread:
        return CARRY_ONLY
    return SHRUNK if pattern.fitted and (pattern.shots or 0) < OWN_SHOTS else MEASURED


def golfer_putting(golfer: Golfer) -> PuttingSkill:
    """Return a golfer's putting: his own deviations where known, else his handicap's."""
    usual = putting_skill(golfer.handicap_index)
    own = golfer.putting
    return PuttingSkill(
        usual.angle_sd if own.angle_sd is None else own.angle_sd,
        usual.distance_sd if own.distance_sd is None else own.distance_sd,
    )


def build_shot_model(
    bag: Bag,
    *,
    conditions: Conditions | None = None,
    clubs: Sequence[str] | None = None,
    partial_step: float = PARTIAL_STEP,
    every_ladder: bool = False,
) -> ShotModel:
    """Build every swing of a golfer with his bag on a day.

    Parameters
    ----------
    bag
        Golfer and clubs. Carries are predicted from every measured club of the bag, carried or
        not, so that a club's pattern does not depend on its company.
    conditions
        Wind, air and turf; None is a still standard day.
    clubs
        Labels of the clubs to use, any number; None is the clubs carried (at most 14).
    partial_step
        Step between carries of partial swings over the deviation of such a stock shot.
    every_ladder
        Whether every wedge gets a full ladder of partial swings and every iron the punch-outs,
        as a comparison of bags needs it; see :mod:`planner.golfer.partial_ladder`.

    Raises
    ------
    OptionError
        A label is unknown, too many clubs are carried, nothing but putters is left, no speed
        gives a club its carry, or ``partial_step`` is not between 0.1 and 3.
    """
    if not 0.1 <= partial_step <= 3.0:
        raise OptionError(f"partial step must be between 0.1 and 3, got {partial_step:g}")
    day = conditions or Conditions()
    chosen = bag.carried() if clubs is None else tuple(bag.club(label) for label in clubs)
    hit = tuple(dict.fromkeys(club for club in chosen if club.kind is not ClubKind.PUTTER))
    if not hit:
        raise OptionError(f'bag "{bag.name}": no club but a putter; choose clubs for the long game')
    golfer = bag.golfer
    carries = predicted_carries(bag.clubs, golfer.handicap_index, delivery=golfer.delivery)
    fitted = club_predictions(bag.clubs, golfer.handicap_index, delivery=golfer.delivery)
    full = {
        club.label: skill.completed_pattern(
            club,
            carries[club.label],
            golfer.handicap_index,
            left_handed=golfer.left_handed,
        )
        for club in hit
    }
    own = short_game.short_game_skill(golfer.handicap_index, spread_factor=golfer.short_game_factor)
    planned = _planned(
        hit,
        carries,
        lambda carry: partial_step * max(math.hypot(own.along_sd * carry, own.floor_m), 1.0),
        every_ladder=every_ladder,
    )
    flights = _launches(planned, day, fitted)
    swings = [
        _swing(plan, flight, full[plan.club.label], golfer, run_share)
        for plan, flight, run_share in zip(
            planned, flights, _run_shares(planned, flights, day, fitted), strict=True
        )
    ]
    swings, last_resort = _with_last_resort([swing for swing in swings if swing.patterns], hit)
    putting = golfer_putting(golfer)
    putts = expected_putts(PUTTS_DISTANCE_M, putting)
    putts[0] = 1.0
    return ShotModel(
        swings=tuple(swings),
        putts_distance_m=PUTTS_DISTANCE_M,
        putts_expected=putts,
        putts_chances=putts_within(PUTTS_DISTANCE_M, putting, MOST_PUTTS),
        club_length_m=max(club.length_m or standard_length(club) for club in hit),
        wind_from=None if day.is_still else day.wind_from,
        left_handed=golfer.left_handed,
        notes=(*_source_notes(bag, hit), *last_resort),
    )


def _planned(
    clubs: Sequence[Club],
    carries: Mapping[str, float],
    step: Step,
    *,
    every_ladder: bool,
) -> list[_Planned]:
    planned = [_Planned(c, SwingStyle.FULL, carries[c.label], c.loft) for c in clubs]
    chippers = chipping_clubs(clubs)
    steps = partial_carries(chippers, carries, step, every_ladder=every_ladder)
    planned += [
        _Planned(club, SwingStyle.PARTIAL, carry, club.loft)
        for club in chippers
        for carry in steps[club.label]
    ]
    for low in punch_clubs(clubs, every_iron=every_ladder):
        loft = max(low.loft - ASSUMED_PUNCH_LOFT_OFF, min(low.loft, 10.0 * RAD_PER_DEG))
        planned += [
            _Planned(low, SwingStyle.PUNCH, carry, loft)
            for carry in punch_carries(carries[low.label])
        ]
    return planned


def _launches(
    planned: Sequence[_Planned], day: Conditions, fitted: Mapping[str, CarryPrediction]
) -> tuple[ClubLaunch, ...]:
    """Flights; full swings are delivered as the golfer's fit says, others as is usual."""
    facts = facts_of([plan.club for plan in planned])
    attack, loft_off = facts.attack, facts.loft_off
    for i, plan in enumerate(planned):
        if plan.style is SwingStyle.FULL and plan.club.label in fitted:
            attack[i] = fitted[plan.club.label].attack
            loft_off[i] = fitted[plan.club.label].loft_taken_off
    try:
        return launches_for_carry(
            [plan.club.kind.value for plan in planned],
            [plan.loft for plan in planned],
            [plan.carry_m for plan in planned],
            conditions=day,
            attack=attack,
            loft_taken_off=loft_off,
        )
    except ValueError as error:
        raise OptionError(f"{error}; correct the loft or the carry in the bag") from error


def _run_shares(
    planned: Sequence[_Planned],
    flights: Sequence[ClubLaunch],
    day: Conditions,
    fitted: Mapping[str, CarryPrediction],
) -> list[float]:
    """Run over the flight's run, from the run a golfer measured on a normal fairway.

    The measured run is scaled by what the day does to the run of the same flight; a flight that
    should not run at all keeps its own. Full swings whose run was not measured take the share that
    the runs of all measured clubs of the bag have in common.
    """
    normal = Conditions()
    given = {
        i: plan.club.pattern.run_m
        for i, plan in enumerate(planned)
        if plan.style is SwingStyle.FULL
        and plan.club.pattern is not None
        and plan.club.pattern.run_m is not None
    }
    shares = [
        fitted[plan.club.label].run_share
        if plan.style is SwingStyle.FULL and plan.club.label in fitted
        else 1.0
        for plan in planned
    ]
    if not given:
        return shares
    usual = flights if day == normal else _launches([planned[i] for i in given], normal, fitted)
    for place, (i, run) in enumerate(given.items()):
        flight = flights[i] if day == normal else usual[place]
        if flight.run_m[Lie.FAIRWAY] > 0:
            shares[i] = run / flight.run_m[Lie.FAIRWAY]
    return shares


def _swing(
    plan: _Planned, flight: ClubLaunch, full: ShotPattern, golfer: Golfer, run_share: float
) -> Swing:
    run = {lie: length * run_share for lie, length in flight.run_m.items()}
    # A punch-out never leaves the wood's height, so its whole way is the start's, none the end's.
    climb, shadow = flight.climb_m, flight.shadow_m
    if plan.style is SwingStyle.FULL:
        good, patterns = full, _full_patterns(plan.club, full, golfer)
        length = plan.carry_m
    elif plan.style is SwingStyle.PARTIAL:
        length = plan.carry_m + run[Lie.GREEN]
        good, patterns = _partial_patterns(plan, length, full, golfer)
    else:
        good = full.scaled(
            plan.carry_m / full.means[0, 0], ASSUMED_PUNCH_SPREAD, ASSUMED_PUNCH_MISHITS
        )
        patterns = {Lie.TREES: good}
        length = plan.carry_m
        climb, shadow = math.inf, 0.0
    ratio = flight.carry_ratio
    return Swing(
        club=plan.club.label,
        style=plan.style,
        carry_m=plan.carry_m * ratio,
        patterns={
            lie: pattern.scaled(ratio, 1.0, 1.0).stretched(*flight.air_stretch / ratio)
            for lie, pattern in patterns.items()
        },
        run_m=run,
        descent=flight.descent,
        climb_m=climb,
        shadow_m=shadow,
        start_sd=ASSUMED_START_SHARE * math.atan(math.sqrt(good.covariances[0, 1, 1]) / length),
        wind_shift_m=flight.wind_shift_m,
        wind_stretch=flight.wind_stretch,
        wind_run_share=flight.wind_run_share,
        air_ratio=ratio,
    )


def _full_patterns(club: Club, full: ShotPattern, golfer: Golfer) -> dict[Lie, ShotPattern]:
    wildness = skill.direction_sd(golfer.handicap_index)
    tour_spread = skill.direction_sd(skill.TOUR_INDEX) / wildness
    patterns = {}
    for lie in FROM_LIES:
        effect = lie_effects.full_swing_effect(club, lie)
        if effect is not None:
            patterns[lie] = lie_effects.from_lie(full, effect, tour_spread=tour_spread)
    return patterns


def _partial_patterns(
    plan: _Planned, length_m: float, full: ShotPattern, golfer: Golfer
) -> tuple[ShotPattern, dict[Lie, ShotPattern]]:
    own = short_game.short_game_skill(golfer.handicap_index, spread_factor=golfer.short_game_factor)
    good = short_game.partial_pattern(own, plan.carry_m, length_m - plan.carry_m, full)
    tour_spread = short_game.chip_sds()[0] / own.along_sd
    patterns = {}
    for lie in FROM_LIES:
        effect = lie_effects.partial_swing_effect(plan.club, lie, length_m)
        if effect is not None:
            patterns[lie] = lie_effects.from_lie(good, effect, tour_spread=tour_spread)
    return good, patterns


def _with_last_resort(
    swings: Sequence[Swing], clubs: Sequence[Club]
) -> tuple[list[Swing], list[str]]:
    """Give the most lofted club every lie from which no swing is left."""
    missing = [lie for lie in FROM_LIES if not any(lie in swing.patterns for swing in swings)]
    if not missing:
        return list(swings), []
    label = max(clubs, key=lambda club: (club.loft, club.label)).label
    effect = lie_effects.ASSUMED_LAST_RESORT
    result = []
    for swing in swings:
        if swing.club == label and swing.style is not SwingStyle.PUNCH:
            good = swing.patterns.get(Lie.FAIRWAY, swing.patterns[Lie.TEE])
            poor = good.scaled(effect.carry, effect.spread, effect.mishits)
            patterns = {**swing.patterns, **dict.fromkeys(missing, poor)}
            result.append(dataclasses.replace(swing, patterns=patterns))
        else:
            result.append(swing)
    words = ", ".join(lie.words for lie in missing)
    note = f"no club of this bag suits {words}; {label} is used there, with poor results"
    return result, [note]


def _source_notes(bag: Bag, clubs: Sequence[Club]) -> list[str]:
    sources = pattern_source(bag)
    told = {
        MEASURED: "measured",
        SHRUNK: "shrunk toward what the handicap predicts, for few shots",
        CARRY_ONLY: "carry measured, spread from the handicap",
        PREDICTED: "predicted from the handicap and the other clubs",
    }
    notes = []
    for source in SOURCES:
        labels = [_with_shots(club) for club in clubs if sources[club.label] == source]
        if labels:
            notes.append(f"{told[source]}: {', '.join(labels)}")
    return notes


def _with_shots(club: Club) -> str:
    shots = None if club.pattern is None else club.pattern.shots
    if shots is None:
        return club.label
    return f"{club.label} ({shots} {'shot' if shots == 1 else 'shots'})"
