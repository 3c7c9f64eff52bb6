"""Partial swings: chips, pitches and half shots, from the golfer's handicap index."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ellipe

from planner.golfer.shot_pattern import SHORT_MISHIT, STOCK, ShotPattern, normal_covariance
from planner.golfer.skill import GRID, TOUR_INDEX, Curve, at_index

__all__ = [
    "ASSUMED_COURSE_CHIP",
    "THIN_MISHIT",
    "ShortGameSkill",
    "chip_sds",
    "partial_pattern",
    "short_game_skill",
]

TOUR_CHIP_REST = 0.078
"""Mean distance from the hole after a professional's chip from mown grass, as a share of the
start distance (Cochran & Stobbs 1968, The Search for the Perfect Swing)."""
ASSUMED_COURSE_CHIP = 1.2
"""Spread of stock chips from grass on a course over that of those trials. Two published figures
disagree: spreads of the trials ask for 2.21 strokes from the fairway 20 yards out, tour players
take 2.40 (Broadie 2012), which asks for chips that stop at 11.6 %; slopes and lies may be to blame.
Between the two neither is far off: 9.3 % and 2.30 strokes."""
ASSUMED_CHIP_SPREAD: Curve = (GRID, (1.000, 1.150, 1.720, 2.240, 2.710, 3.125))
"""Spread of partial swings over a tour player's."""
ASSUMED_CHIP_FLOOR_M: Curve = (GRID, (0.50, 0.50, 0.55, 0.60, 0.75, 0.90))
"""Smallest deviation of a partial swing's carry [m], however short it is."""
ASSUMED_CHIP_ACROSS = 0.6
"""Across deviation of a partial swing over its along deviation: length is the harder half."""
ASSUMED_CHUNK_SHARE: Curve = (GRID, (0.005, 0.015, 0.055, 0.100, 0.150, 0.195))
ASSUMED_THIN_SHARE: Curve = (GRID, (0.005, 0.012, 0.045, 0.080, 0.110, 0.140))
ASSUMED_CHUNK_LENGTH, ASSUMED_CHUNK_SD = 0.35, 0.15
"""Mean length of a chunked partial swing and its deviation, as shares of what was meant."""
ASSUMED_THIN_LENGTH, ASSUMED_THIN_SD, ASSUMED_THIN_MOST_M = 1.6, 0.25, 30.0
"""The same for a thin one, which passes the mark by no more than so many metres [m]."""
THIN_MISHIT = "thin"
ASSUMED_CHIP_END, ASSUMED_FULL_SHARE = 0.6, 1.1
"""Up to the first share of the full carry a swing spreads like a chip; from there the spread
goes over to that of the full swing times the second number at full carry."""


@dataclass(frozen=True)
class ShortGameSkill:
    """Partial-swing numbers of one golfer.

    Parameters
    ----------
    along_sd, across_sd
        Deviations of the stock component as shares of the length of the shot, run included.
    floor_m
        Smallest along deviation [m].
    chunk_share, thin_share
        Shares of the two mishits.
    """

    along_sd: float
    across_sd: float
    floor_m: float
    chunk_share: float
    thin_share: float


def short_game_skill(handicap_index: float, *, spread_factor: float = 1.0) -> ShortGameSkill:
    """Typical partial swings at a handicap index; ``spread_factor`` multiplies the spread."""
    along, across = chip_sds()
    spread = at_index(ASSUMED_CHIP_SPREAD, handicap_index) * spread_factor
    return ShortGameSkill(
        along * spread,
        across * spread,
        at_index(ASSUMED_CHIP_FLOOR_M, handicap_index) * spread_factor,
        at_index(ASSUMED_CHUNK_SHARE, handicap_index),
        at_index(ASSUMED_THIN_SHARE, handicap_index),
    )


def chip_sds() -> tuple[float, float]:
    """Along and across deviation of a tour player's stock chip, as shares of its length.

    Chosen so that the mean distance from the mark over stock shots and mishits is the published
    one, and then widened by ``ASSUMED_COURSE_CHIP``. The mean of the distance over a centred
    normal with deviations a > b is ``a sqrt(2/pi) E(1 - (b/a)^2)`` with the complete elliptic
    integral E.
    """
    chunk = at_index(ASSUMED_CHUNK_SHARE, TOUR_INDEX)
    thin = at_index(ASSUMED_THIN_SHARE, TOUR_INDEX)
    mishits = chunk * (1 - ASSUMED_CHUNK_LENGTH) + thin * (ASSUMED_THIN_LENGTH - 1)
    rest = (TOUR_CHIP_REST - mishits) / (1 - chunk - thin)
    along = rest / (math.sqrt(2 / math.pi) * float(ellipe(1 - ASSUMED_CHIP_ACROSS**2)))
    along *= ASSUMED_COURSE_CHIP
    return along, along * ASSUMED_CHIP_ACROSS


def partial_pattern(
    skill: ShortGameSkill, carry_m: float, run_m: float, full: ShotPattern
) -> ShotPattern:
    """Pattern of the carry of a partial swing.

    Parameters
    ----------
    skill
        The golfer's short game.
    carry_m, run_m
        Mean carry and its run on a green [m]; the spread grows with their sum.
    full
        Pattern of the full swing with the same club, towards which long partial swings go.
    """
    length = carry_m + run_m
    part = (carry_m / full.means[0, 0] - ASSUMED_CHIP_END) / (1 - ASSUMED_CHIP_END)
    toward_full = float(np.clip(part, 0.0, 1.0))
    full_sd = ASSUMED_FULL_SHARE * np.sqrt(np.diag(full.covariances[0])) / full.means[0, 0]
    shares = np.array([skill.along_sd, skill.across_sd])
    # A golfer whose full swing is wilder than his chips gains nothing by the blend.
    sd = ((1 - toward_full) * shares + toward_full * full_sd) * length
    floor = skill.floor_m * np.array([1.0, ASSUMED_CHIP_ACROSS])
    sd = np.hypot(sd, floor)
    chunk = carry_m * ASSUMED_CHUNK_LENGTH
    thin = min(carry_m * ASSUMED_THIN_LENGTH, carry_m + ASSUMED_THIN_MOST_M)
    across = sd[1] / carry_m
    return ShotPattern(
        np.array([1 - skill.chunk_share - skill.thin_share, skill.chunk_share, skill.thin_share]),
        np.array([(carry_m, 0.0), (chunk, 0.0), (thin, 0.0)]),
        np.array(
            [
                normal_covariance(sd, 0.0),
                normal_covariance((carry_m * ASSUMED_CHUNK_SD, 1.5 * across * chunk), 0.0),
                normal_covariance((carry_m * ASSUMED_THIN_SD, 1.5 * across * thin), 0.0),
            ]
        ),
        (STOCK, SHORT_MISHIT, THIN_MISHIT),
    )
