"""Skill model: the shot pattern of a golfer nobody has measured, from his handicap index.

Every quantity is linear between handicap indexes (tour players stand at -5) and constant
beyond; a kind of club multiplies it. A golfer's average score is about three strokes over his
handicap (Knuth, USGA), so scores of 80, 90 and 100 belong to indexes near 5, 15 and 25.

The published spreads are those of all shots that got away, so the narrow stock component and
the wide mishit together have the published deviation; the short mishit comes on top. The assumed
tables were set on plain holes so that tour players come near the published strokes to hole out
(Broadie 2012), a golfer who averages 90 near the published line, and golfers of index 0 and 20 near
the yardage rating formulas plus three strokes for an average round. ``planner calibrate`` shows how
near.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planner.golfer.club import Club, ClubKind, MeasuredPattern
from planner.golfer.shot_pattern import (
    SHORT_MISHIT,
    STOCK,
    WIDE_MISHIT,
    ShotPattern,
    normal_covariance,
)
from planner.units import RAD_PER_DEG

__all__ = [
    "GRID",
    "TOUR_INDEX",
    "Curve",
    "FullSwingSkill",
    "at_index",
    "completed_pattern",
    "direction_sd",
    "full_swing_skill",
    "typical_pattern",
]

Curve = tuple[tuple[float, ...], tuple[float, ...]]
"""Handicap indexes, and a value at each of them."""

TOUR_INDEX = -5.0
"""Handicap index at which the tables put a tour player; from memory: about plus 5."""

DIRECTION_SD_DEG: Curve = ((TOUR_INDEX, 5.0, 15.0, 25.0, 40.0), (3.4, 5.0, 6.5, 7.5, 8.6))
"""Direction of long tee shots: 3.4 degrees on tour, 5, 6.5, 7.5 for golfers scoring 80, 90,
100 (M. Broadie's work on golfer performance, values from memory); the last is extrapolated."""
GRID = (TOUR_INDEX, 0.0, 10.0, 20.0, 30.0, 40.0)
ASSUMED_CARRY_SD: Curve = (GRID, (0.040, 0.050, 0.080, 0.112, 0.124, 0.132))
"""Stock carry deviation as a share of carry. With the direction above, a tour player's
160-yard iron stops about 28 feet from the hole on average (tour averages, from memory)."""
ASSUMED_SHORT_SHARE: Curve = (GRID, (0.012, 0.030, 0.070, 0.108, 0.165, 0.230))
"""Share of tops, duffs and heavy shots with a wedge; other kinds have a multiple of it."""
ASSUMED_WIDE_SHARE: Curve = (GRID, (0.030, 0.045, 0.068, 0.095, 0.120, 0.140))
"""Share of wide mishits with a driver."""
ASSUMED_SHORT_CARRY_LONG: Curve = (GRID, (0.80, 0.70, 0.58, 0.46, 0.17, 0.15))
"""Carry of a short mishit with a wood, as a share of the stock carry. High handicaps top or
duff a wood about 40 yards, run included (common practice)."""
ASSUMED_SHORT_CARRY_IRON: Curve = (GRID, (0.82, 0.75, 0.64, 0.53, 0.44, 0.38))
"""The same for middle and short irons and wedges, where a heavy or thin shot still flies."""
ASSUMED_SHORT_CARRY_SD = 0.35
"""Deviation of a short mishit's carry, as a share of its own mean carry."""
ASSUMED_SHORT_DIRECTION = 2.0
"""Direction deviation of short mishits over that of all good shots."""
ASSUMED_WIDE_DIRECTION = 2.2
"""Direction deviation of wide mishits over that of the stock component."""
ASSUMED_WIDE_OFFSET: Curve = (GRID, (0.0, 0.2, 0.5, 0.8, 1.0, 1.0))
"""Mean of wide mishits on the slice side, in stock deviations: high handicaps slice."""
ASSUMED_WIDE_CARRY = 0.92
"""Carry of a wide mishit as a share of the stock carry."""
ASSUMED_WIDE_CARRY_SD = 1.6
"""Carry deviation of wide mishits over that of the stock component."""
ASSUMED_BIAS_DEG: Curve = (GRID, (0.0, 0.0, 0.3, 0.8, 1.2, 1.5))
"""Mean direction of a driver's stock shot on the slice side (right for a right-hander)."""


@dataclass(frozen=True)
class _KindFactors:
    direction: float
    carry_sd: float
    short_share: float
    wide_share: float
    bias: float
    correlation: float


ASSUMED_KIND_FACTORS = {
    ClubKind.DRIVER: _KindFactors(1.00, 1.00, 0.70, 1.00, 1.00, -0.25),
    ClubKind.WOOD: _KindFactors(1.35, 1.95, 0.95, 0.90, 0.80, -0.25),
    ClubKind.HYBRID: _KindFactors(1.08, 1.45, 0.90, 0.75, 0.60, -0.20),
    ClubKind.IRON: _KindFactors(0.82, 1.00, 1.20, 0.60, 0.40, -0.15),
    ClubKind.WEDGE: _KindFactors(0.78, 1.00, 1.00, 0.35, 0.15, -0.05),
}
"""What a kind of club does to the tables above. Tour players' full irons scatter less in
direction than their drives (2.8 against 3.4 degrees, from memory); a teed driver is topped
less often than a wood off the turf, and long approaches scatter most. The correlation is a
right-hander's: a pull flies lower and farther, a slice shorter. Woods from the turf were set to the
published strokes from the fairway at 260 yards; from a tee they scatter less (`lie_effects`)."""

ASSUMED_SHORT_SHARE_PER_DEG = 0.02
"""Change of the short-mishit share for each degree of loft below the usual of the kind: less loft
is harder to hit (common practice)."""
ASSUMED_SPREAD_PER_DEG = 0.020
"""The same change for the spread in carry and direction."""
_USUAL_LOFT_DEG = {ClubKind.WOOD: 15.0, ClubKind.HYBRID: 19.0, ClubKind.IRON: 33.0}
"""Lofts to which the factors of the kinds belong: those of the standard set they were set with."""
ASSUMED_LONG_IRON_LOFT_DEG = 20.0
"""An iron of this loft is topped and duffed as short as a hybrid of the same loft; from a middle
iron down to it the carry of short mishits goes evenly from the one curve to the other."""


@dataclass(frozen=True)
class FullSwingSkill:
    """Full-swing numbers of one golfer with one club.

    Parameters
    ----------
    direction_sd
        Direction deviation of the stock component [rad].
    carry_sd
        Carry deviation of the stock component, as a share of carry.
    bias
        Mean direction of the stock component, + right [rad].
    correlation
        Correlation of along and across in the stock component.
    short_share, short_carry
        Share of short mishits; their mean carry as a share of the stock carry.
    short_direction_sd
        Direction deviation of short mishits [rad].
    wide_share
        Share of wide mishits.
    wide_direction, wide_direction_sd
        Mean (+ right) and deviation of the direction of wide mishits [rad].
    """

    direction_sd: float
    carry_sd: float
    bias: float
    correlation: float
    short_share: float
    short_carry: float
    short_direction_sd: float
    wide_share: float
    wide_direction: float
    wide_direction_sd: float


def direction_sd(handicap_index: float) -> float:
    """Direction deviation of all of a golfer's drives but the short mishits [rad]."""
    return at_index(DIRECTION_SD_DEG, handicap_index) * RAD_PER_DEG


def full_swing_skill(
    kind: ClubKind, loft: float, handicap_index: float, *, left_handed: bool = False
) -> FullSwingSkill:
    """Typical full swing with a club of ``kind`` and ``loft`` [rad] at a handicap index."""
    factors = ASSUMED_KIND_FACTORS[kind]
    loft_deg = loft / RAD_PER_DEG
    degrees_strong = _USUAL_LOFT_DEG.get(kind, loft_deg) - loft_deg
    spread = 1 + ASSUMED_SPREAD_PER_DEG * float(np.clip(degrees_strong, -10.0, 12.0))
    overall = direction_sd(handicap_index) * factors.direction * spread
    wide_share = at_index(ASSUMED_WIDE_SHARE, handicap_index) * factors.wide_share
    short_share = at_index(ASSUMED_SHORT_SHARE, handicap_index) * factors.short_share
    short_share *= float(np.clip(1 + ASSUMED_SHORT_SHARE_PER_DEG * degrees_strong, 0.8, 1.4))
    offset = at_index(ASSUMED_WIDE_OFFSET, handicap_index)
    # Variance of the two components that got away, in units of the stock variance.
    part = wide_share / (1 - short_share)
    variance = 1 - part + part * ASSUMED_WIDE_DIRECTION**2 + part * (1 - part) * offset**2
    stock = overall / math.sqrt(variance)
    side = -1.0 if left_handed else 1.0
    bias = side * at_index(ASSUMED_BIAS_DEG, handicap_index) * RAD_PER_DEG * factors.bias
    return FullSwingSkill(
        direction_sd=stock,
        carry_sd=at_index(ASSUMED_CARRY_SD, handicap_index) * factors.carry_sd * spread,
        bias=bias,
        correlation=side * factors.correlation,
        short_share=short_share,
        short_carry=_short_carry(kind, loft_deg, handicap_index),
        short_direction_sd=overall * ASSUMED_SHORT_DIRECTION,
        wide_share=wide_share,
        wide_direction=bias + side * offset * stock,
        wide_direction_sd=stock * ASSUMED_WIDE_DIRECTION,
    )


def _short_carry(kind: ClubKind, loft_deg: float, handicap_index: float) -> float:
    """Mean carry of short mishits as a share of the stock carry."""
    long_club = at_index(ASSUMED_SHORT_CARRY_LONG, handicap_index)
    iron = at_index(ASSUMED_SHORT_CARRY_IRON, handicap_index)
    if kind.is_long:
        return long_club
    if kind is not ClubKind.IRON:
        return iron
    usual = _USUAL_LOFT_DEG[kind]
    share = float(np.clip((usual - loft_deg) / (usual - ASSUMED_LONG_IRON_LOFT_DEG), 0.0, 1.0))
    return iron + share * (long_club - iron)


def typical_pattern(skill: FullSwingSkill, carry_m: float) -> ShotPattern:
    """Pattern of a stock carry ``carry_m`` [m] with stock, short and wide components."""
    short_carry = skill.short_carry * carry_m
    wide_carry = ASSUMED_WIDE_CARRY * carry_m
    carry_sd = skill.carry_sd * carry_m
    return ShotPattern(
        np.array([1 - skill.short_share - skill.wide_share, skill.short_share, skill.wide_share]),
        np.array(
            [
                (carry_m, carry_m * math.tan(skill.bias)),
                (short_carry, short_carry * math.tan(skill.bias)),
                (wide_carry, wide_carry * math.tan(skill.wide_direction)),
            ]
        ),
        np.array(
            [
                normal_covariance(
                    (carry_sd, carry_m * math.tan(skill.direction_sd)), skill.correlation
                ),
                normal_covariance(
                    (
                        ASSUMED_SHORT_CARRY_SD * short_carry,
                        short_carry * math.tan(skill.short_direction_sd),
                    ),
                    0.0,
                ),
                normal_covariance(
                    (
                        ASSUMED_WIDE_CARRY_SD * carry_sd,
                        wide_carry * math.tan(skill.wide_direction_sd),
                    ),
                    skill.correlation,
                ),
            ]
        ),
        (STOCK, SHORT_MISHIT, WIDE_MISHIT),
    )


def completed_pattern(
    club: Club, carry_m: float, handicap_index: float, *, left_handed: bool = False
) -> ShotPattern:
    """Pattern of ``club``: what was measured with it, and the skill model for the rest.

    ``carry_m`` [m] is used if no carry was measured. Measured offline values are + right for
    either hand and are never mirrored.
    """
    measured = club.pattern or MeasuredPattern(carry_m)
    skill = full_swing_skill(club.kind, club.loft, handicap_index, left_handed=left_handed)
    typical = typical_pattern(skill, measured.carry_m)
    mean = typical.means[0].copy()
    along_sd, across_sd = np.sqrt(np.diag(typical.covariances[0]))
    if measured.offline_m is not None:
        mean[1] = measured.offline_m
    stock = normal_covariance(
        (
            along_sd if measured.carry_sd_m is None else measured.carry_sd_m,
            across_sd if measured.offline_sd_m is None else measured.offline_sd_m,
        ),
        skill.correlation if measured.correlation is None else measured.correlation,
    )
    if measured.mishits is None:
        return ShotPattern(
            typical.weights,
            np.vstack((mean, typical.means[1:])),
            np.concatenate((stock[None], typical.covariances[1:])),
            typical.names,
        )
    shares = [mishit.share for mishit in measured.mishits]
    return ShotPattern(
        np.array([1 - sum(shares), *shares]),
        np.array([mean, *((m.carry_m, m.offline_m) for m in measured.mishits)]),
        np.array(
            [
                stock,
                *(normal_covariance((m.carry_sd_m, m.offline_sd_m), 0) for m in measured.mishits),
            ]
        ),
        (STOCK, *(mishit.name for mishit in measured.mishits)),
    )


def at_index(curve: Curve, handicap_index: float) -> float:
    """Value of ``curve`` at a handicap index: linear between its points, constant beyond."""
    return float(np.interp(handicap_index, *curve))
