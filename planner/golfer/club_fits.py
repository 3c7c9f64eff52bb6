"""Every club of a shot log fitted, from its good lie and from others where there are shots enough.

A bag holds one pattern for a club, that from its good lie: the tee for a driver, the fairway for
the rest. Shots from the tee count with those; so do, after the usual loss of carry is taken out,
the shots from rough where they are too few to stand alone. Shots out of sand and trees are no
full swings to be pooled, and are left out unless there are enough of them.
"""

from __future__ import annotations

import dataclasses
import math
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.golfer import lie_effects, skill
from planner.golfer.bag import FEW_SHOTS, MAX_CARRY_M, MAX_OFFLINE_M, MAX_RUN_M, MAX_SD_M, Golfer
from planner.golfer.club import Club, ClubKind, MeasuredMishit, MeasuredPattern
from planner.golfer.club_names import matching_club
from planner.golfer.gapping import predicted_carries
from planner.golfer.pattern_fit import PatternFit, PatternFitWarning, fit_pattern
from planner.golfer.pattern_prior import PriorStrength
from planner.golfer.shot_log import ShotLog
from planner.golfer.shot_pattern import ShotPattern
from planner.units import DistanceUnit

__all__ = ["MIN_LIE_SHOTS", "ClubFit", "LogFit", "fit_clubs", "measured_pattern"]

FloatArray = NDArray[np.float64]
Rows = NDArray[np.intp]

MIN_LIE_SHOTS = 10
"""Shots from which a lie is fitted for itself."""
MIN_KNOWN_SHOTS = 5
"""Shots of a club from which its carry helps to predict that of others, or its run is taken."""
ASSUMED_HANDICAP_CARRY_SD = 0.2
"""Deviation of a stock carry from one predicted from the handicap index alone, as a share: men of
one index differ in length by more than clubs of one man do."""
POOLED_LIES = (Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH)
PARTIAL_SHARE = 0.4
"""A share of shots below half the expected carry that makes partial swings likely."""
_LEAST_SD_M = 0.3
_LEAST_SHARE = 0.0005
_MOST_CORRELATION = 0.95
_LEAST_CARRY_M = 5.0


@dataclass(frozen=True, eq=False)
class ClubFit:
    """Fit of one club from one lie.

    Parameters
    ----------
    club
        The club.
    lie
        The lie, None for the club's good one.
    fit
        The fit itself.
    prior
        Pattern of the skill model, which the fit started from.
    points_m
        Shots (carry, offline) [m], shape (n, 2).
    run_m
        Usual run of the stock shots [m], None where the log tells it of too few.
    days
        Number of dates on which the shots were hit; 0 where none are given.
    notes
        What was pooled, left out or is doubtful, one line each.
    """

    club: Club
    lie: Lie | None
    fit: PatternFit
    prior: ShotPattern
    points_m: FloatArray
    run_m: float | None = None
    days: int = 0
    notes: tuple[str, ...] = ()

    @property
    def few(self) -> bool:
        """Whether the shots are too few for more than a rough idea."""
        return self.fit.shots < FEW_SHOTS

    @property
    def title(self) -> str:
        """Club, and the lie where it is not the good one."""
        return self.club.label if self.lie is None else f"{self.club.label}, {self.lie.words}"


@dataclass(frozen=True, eq=False)
class LogFit:
    """Fits of a whole log, in the order of the clubs; ``unmatched`` counts names no club has."""

    clubs: tuple[ClubFit, ...]
    unmatched: Mapping[str, int] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def converged(self) -> bool:
        """Whether every fit did."""
        return all(club.fit.converged for club in self.clubs)

    def for_bag(self) -> tuple[ClubFit, ...]:
        """Fits from a good lie, which a bag can hold."""
        return tuple(club for club in self.clubs if club.lie is None)


def fit_clubs(
    log: ShotLog, clubs: Sequence[Club], golfer: Golfer, *, only: Club | None = None
) -> LogFit:
    """Fit every club of a log.

    Parameters
    ----------
    log
        The shots.
    clubs
        Clubs that names in the log can mean, putters among them or not. Where a club has a
        carry, the prior is put there; other carries are predicted from those, from the handicap
        and from what the log says of the golfer's other clubs.
    golfer
        Whose shots they are.
    only
        Club of every shot of a log that names none.
    """
    rows, unmatched = _rows_by_club(log, clubs, only)
    carries = _prior_carries(log, clubs, golfer, rows)
    fits: list[ClubFit] = []
    for club in clubs:
        if club.label in carries:
            carry, strength = carries[club.label]
            fits += _fits_of_club(log, rows[club.label], club, golfer, carry, strength)
    notes = []
    putts = [name for name, at in rows.items() if _is_putter(name, clubs) and len(at)]
    if putts:
        notes.append(f"putts are no part of a shot pattern; left out: {', '.join(putts)}")
    return LogFit(tuple(fits), unmatched, tuple(notes))


def measured_pattern(found: ClubFit, unit: DistanceUnit) -> MeasuredPattern:
    """Pattern for a bag: the posterior predictive, rounded as it is written in ``unit``.

    Distances have one decimal of the unit, so that a written bag reads back as the same numbers.
    """
    pattern = found.fit.pattern

    def rounded(metres: float, low_m: float, high_m: float) -> float:
        inside = float(np.clip(metres, low_m, high_m))
        value = round(unit.from_metres(inside), 1)
        if unit.to_metres(value) > high_m or unit.to_metres(value) < low_m:
            value = round(value + (0.1 if unit.to_metres(value) < low_m else -0.1), 1)
        return unit.to_metres(value)

    def deviations(i: int) -> tuple[float, float]:
        along, across = np.sqrt(np.diag(pattern.covariances[i]))
        return rounded(along, _LEAST_SD_M, MAX_SD_M), rounded(across, _LEAST_SD_M, MAX_SD_M)

    carry_sd, offline_sd = deviations(0)
    covariance = pattern.covariances[0]
    correlation = covariance[0, 1] / math.sqrt(covariance[0, 0] * covariance[1, 1])
    mishits = tuple(
        MeasuredMishit(
            name,
            round(float(pattern.weights[i]), 4),
            rounded(pattern.means[i, 0], 0.0, MAX_CARRY_M),
            rounded(pattern.means[i, 1], -MAX_OFFLINE_M, MAX_OFFLINE_M),
            *deviations(i),
        )
        for i, name in enumerate(pattern.names)
        if i > 0 and pattern.weights[i] >= _LEAST_SHARE
    )
    run_m = found.run_m
    if run_m is None and found.club.pattern is not None:
        run_m = found.club.pattern.run_m
    return MeasuredPattern(
        rounded(pattern.means[0, 0], _LEAST_CARRY_M, MAX_CARRY_M),
        rounded(pattern.means[0, 1], -MAX_OFFLINE_M, MAX_OFFLINE_M),
        carry_sd,
        offline_sd,
        round(float(np.clip(correlation, -_MOST_CORRELATION, _MOST_CORRELATION)), 3),
        None if run_m is None else rounded(run_m, 0.0, MAX_RUN_M),
        max(found.fit.shots, 1),
        mishits,
        fitted=True,
    )


def _is_putter(name: str, clubs: Sequence[Club]) -> bool:
    return any(club.label == name and club.kind is ClubKind.PUTTER for club in clubs)


def _rows_by_club(
    log: ShotLog, clubs: Sequence[Club], only: Club | None
) -> tuple[dict[str, Rows], dict[str, int]]:
    """Places in the log of every club's shots, and how many shots each unknown name has."""
    meant = {
        name: only if only is not None and not name else matching_club(name, clubs)
        for name in dict.fromkeys(log.club)
    }
    labels = np.array([club.label if (club := meant[name]) else "" for name in log.club])
    rows = {
        club.label: np.flatnonzero(labels == club.label)
        for club in clubs
        if (labels == club.label).any()
    }
    unmatched = {name: log.club.count(name) for name, club in meant.items() if club is None}
    return rows, unmatched


def _prior_carries(
    log: ShotLog, clubs: Sequence[Club], golfer: Golfer, rows: Mapping[str, Rows]
) -> dict[str, tuple[float, PriorStrength]]:
    """Expected stock carry [m] of every logged club, and how firmly it is expected.

    What the log says of a club never enters that club's own prior.
    """
    said = {}
    for club in clubs:
        at = rows.get(club.label, np.array([], dtype=np.intp))
        if len(at) >= MIN_KNOWN_SHOTS and club.kind is not ClubKind.PUTTER:
            short = skill.full_swing_skill(club.kind, club.loft, golfer.handicap_index).short_share
            # The middle of the shots that are left when the usual share of duffs is set aside.
            carry = float(np.quantile(log.carry_m[at], (1 + short) / 2))
            said[club.label] = max(carry, _LEAST_CARRY_M)
    found = {}
    for club in clubs:
        if club.label not in rows or club.kind is ClubKind.PUTTER:
            continue
        if club.pattern is not None:
            found[club.label] = (club.pattern.carry_m, PriorStrength())
            continue
        others = [
            dataclasses.replace(other, pattern=MeasuredPattern(said[other.label]))
            if other.pattern is None and other.label in said and other.label != club.label
            else other
            for other in clubs
        ]
        known = any(other.pattern is not None for other in others)
        predicted = predicted_carries(others, golfer.handicap_index, delivery=golfer.delivery)
        sure = known or golfer.delivery is not None
        strength = (
            PriorStrength() if sure else PriorStrength(carry_level_sd=ASSUMED_HANDICAP_CARRY_SD)
        )
        found[club.label] = (predicted[club.label], strength)
    return found


def _fits_of_club(
    log: ShotLog,
    rows: Rows,
    club: Club,
    golfer: Golfer,
    carry_m: float,
    strength: PriorStrength,
) -> list[ClubFit]:
    prior = skill.completed_pattern(
        dataclasses.replace(club, pattern=None),
        carry_m,
        golfer.handicap_index,
        left_handed=golfer.left_handed,
    )
    good = {None, Lie.TEE} | (set() if club.kind is ClubKind.DRIVER else {Lie.FAIRWAY})
    base = [i for i in rows if log.lie[i] in good]
    scale = dict.fromkeys(base, 1.0)
    notes, alone = [], []
    for lie in sorted({lie for i in rows if (lie := log.lie[i]) is not None and lie not in good}):
        here = [i for i in rows if log.lie[i] is lie]
        effect = lie_effects.full_swing_effect(club, lie)
        counted = f"{len(here)} {'shot' if len(here) == 1 else 'shots'} from {lie.words}"
        if effect is None or (
            lie not in POOLED_LIES and np.median(log.carry_m[here]) < carry_m / 2
        ):
            notes.append(f"{counted}: no full swings with this club; left out")
        elif len(here) >= MIN_LIE_SHOTS and (base or lie not in POOLED_LIES):
            wild = skill.direction_sd(golfer.handicap_index)
            tour = skill.direction_sd(skill.TOUR_INDEX) / wild
            alone.append((lie, here, lie_effects.from_lie(prior, effect, tour_spread=tour)))
        elif lie in POOLED_LIES:
            scale |= dict.fromkeys(here, 1.0 / effect.carry)
            notes.append(
                f"{counted}: {_why_pooled(here)}, pooled after the usual loss of carry "
                f"({100 * (1 - effect.carry):.0f}\u00a0%) is taken out"
            )
        else:
            notes.append(f"{counted}: too few for a fit; left out")
    fits = []
    if scale:
        at = np.array(sorted(scale), dtype=np.intp)
        factor = np.array([scale[int(i)] for i in at])
        points = np.column_stack((log.carry_m[at], log.offline_m[at])) * factor[:, None]
        notes += _partial_swings(points, carry_m)
        fits.append(_fit(log, at, points, club, None, prior, strength, tuple(notes)))
    for lie, rows_here, expected in alone:
        at = np.array(rows_here, dtype=np.intp)
        points = np.column_stack((log.carry_m[at], log.offline_m[at]))
        fits.append(_fit(log, at, points, club, lie, expected, strength, ()))
    return fits


def _why_pooled(here: Sequence[int]) -> str:
    return "too few to stand alone" if len(here) < MIN_LIE_SHOTS else "none from a good lie"


def _partial_swings(points_m: FloatArray, carry_m: float) -> list[str]:
    short = int((points_m[:, 0] < carry_m / 2).sum())
    if len(points_m) < MIN_KNOWN_SHOTS or short < PARTIAL_SHARE * len(points_m):
        return []
    return [
        f"{short} of {len(points_m)} shots carry less than half of what was expected; partial "
        "swings count as mishits here, so leave them out of the log"
    ]


def _fit(
    log: ShotLog,
    at: Rows,
    points_m: FloatArray,
    club: Club,
    lie: Lie | None,
    prior: ShotPattern,
    strength: PriorStrength,
    notes: tuple[str, ...],
) -> ClubFit:
    with warnings.catch_warnings():
        # Whether a fit settled is said beside its numbers.
        warnings.simplefilter("ignore", PatternFitWarning)
        found = fit_pattern(points_m, prior, strength=strength)
    solid = found.responsibilities[:, 0] > 0.5
    runs = (log.total_m[at] - log.carry_m[at])[solid]
    runs = runs[np.isfinite(runs)]
    run = float(np.median(np.clip(runs, 0.0, MAX_RUN_M))) if len(runs) >= MIN_KNOWN_SHOTS else None
    days = len({day for i in at if (day := log.day(int(i)))})
    strays = np.flatnonzero(found.stray > 0.5)
    if len(strays):
        lines = ", ".join(str(log.row[at[i]]) for i in strays[:8])
        more = " and others" if len(strays) > 8 else ""
        notes = (
            *notes,
            f"line {lines}{more}: fits no shot with this club and is given no weight; look for a "
            "wrong club or number",
        )
    return ClubFit(club, lie, found, prior, points_m, run, days, notes)
