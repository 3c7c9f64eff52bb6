"""Putting against published tries, fits and averages."""

from __future__ import annotations

import math
from functools import cache, partial

import numpy as np

from planner.acceptance.claim import Area, Claim, Sense
from planner.golfer.putting import (
    TOUR_PUTTING,
    PuttingFit,
    PuttingSkill,
    expected_putts,
    fit_putting,
    holed_probability,
    putting_skill,
    putts_distribution,
)
from planner.units import M_PER_FT, M_PER_IN, RAD_PER_DEG

__all__ = ["AREA"]

BERRY = (
    (2, 1443, 1346), (3, 694, 577), (4, 455, 337), (5, 353, 208), (6, 272, 149), (7, 256, 136),
    (8, 240, 111), (9, 217, 69), (10, 200, 67), (11, 237, 75), (12, 202, 52), (13, 192, 46),
    (14, 174, 54), (15, 167, 28), (16, 201, 27), (17, 195, 31), (18, 191, 33), (19, 147, 20),
    (20, 152, 24),
)  # fmt: skip
"""Berry 1996: distance [ft], tries, made, tour professionals."""
BERRY_TOTALS = (5988.0, 3390.0)
TOUR_PUTTS = (
    (3, 1.045), (5, 1.23), (8, 1.50), (10, 1.61), (15, 1.78), (20, 1.87), (30, 1.98), (40, 2.06),
    (60, 2.21),
)  # fmt: skip
TOUR_HOLED = ((3, 96.0), (5, 77.0), (8, 50.0), (10, 40.0), (20, 15.0), (30, 7.0))
NINETY_INDEX = 15.0
"""Index of a golfer averaging 90, as :mod:`planner.golfer.putting` has it."""
GELMAN_NOLAN = "Gelman & Nolan 2002, Teaching Statistics 24(3)"
GELMAN = "Gelman 2019, Stan case study on golf putting"
BROADIE = "Broadie 2011 and 2014"
TABLE_DIGITS = "the table is given to 0.01 and smoothed; 0.05 strokes a putt is asked of the model"


@cache
def _berry_fit() -> PuttingFit:
    distance, tries, made = np.array(BERRY, dtype=float).T
    return fit_putting(distance * M_PER_FT, tries, made, with_distance_error=False)


def _chi_square() -> float:
    """Pearson's statistic of the refit against the tries, over its degrees of freedom."""
    distance, tries, made = np.array(BERRY, dtype=float).T
    chance = holed_probability(distance * M_PER_FT, _berry_fit().skill)
    terms = (made - tries * chance) ** 2 / (tries * chance * (1 - chance))
    return float(terms.sum() / (len(BERRY) - 1))


def _refit(name: str) -> float:
    """Parameters found again from the chances that the published ones give."""
    known = PuttingSkill(1.02 * RAD_PER_DEG, 0.080)
    distance = np.arange(2.0, 61.0) * M_PER_FT
    tries = np.full(len(distance), 1e6)
    found = fit_putting(distance, tries, tries * _formula(distance / M_PER_FT)).skill
    assert found != known
    return found.angle_sd / RAD_PER_DEG if name == "angle" else found.distance_sd


def _formula(x_ft: np.ndarray) -> np.ndarray:
    """Write the published formula out again, in feet, with its own error function."""
    offered = np.arcsin((4.25 - 1.68) / 2 / 12 / x_ft)

    def phi(z: np.ndarray) -> np.ndarray:
        return np.array([0.5 * (1 + math.erf(value / math.sqrt(2))) for value in z])

    sd_angle, sd_distance = 1.02 * math.pi / 180, 0.080
    reach = (x_ft + 1) * sd_distance
    chance = (2 * phi(offered / sd_angle) - 1) * (phi(2 / reach) - phi(-1 / reach))
    return np.asarray(chance)


def _formula_gap() -> float:
    """Largest difference between the model and the formula from 2 to 60 ft."""
    x_ft = np.arange(2.0, 61.0)
    ours = holed_probability(x_ft * M_PER_FT, TOUR_PUTTING)
    return float(np.abs(ours - _formula(x_ft)).max())


def _tour_putts(feet: float) -> float:
    return float(expected_putts(feet * M_PER_FT, TOUR_PUTTING))


def _tour_holed(feet: float) -> float:
    return 100.0 * float(holed_probability(feet * M_PER_FT, TOUR_PUTTING))


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    ninety = putting_skill(NINETY_INDEX)
    found = [
        Claim("tries in the table", "Berry 1996", BERRY_TOTALS[0],
              lambda: float(sum(row[1] for row in BERRY)), "putts"),
        Claim("holed in the table", "Berry 1996", BERRY_TOTALS[1],
              lambda: float(sum(row[2] for row in BERRY)), "putts"),
        Claim("angle deviation fitted to the tries", GELMAN_NOLAN, 1.5,
              lambda: _berry_fit().skill.angle_sd / RAD_PER_DEG, "degrees", 0.05,
              "published to a tenth"),
        Claim("the same, at its maximum of likelihood",
              "maximum of the published likelihood, worked out independently", 1.52667,
              lambda: _berry_fit().skill.angle_sd / RAD_PER_DEG, "degrees", 1e-5,
              "five decimals are given"),
        Claim("angle and distance model against its formula, largest gap", GELMAN, 0.0,
              _formula_gap, "", 1e-9, "both are closed forms", Sense.AT_MOST),
        Claim("angle deviation found again from the formula's chances", GELMAN, 1.02,
              partial(_refit, "angle"), "degrees", 1e-3, "exact data, an iterative fit"),
        Claim("distance deviation found again", GELMAN, 0.080, partial(_refit, "distance"), "",
              1e-4, "exact data, an iterative fit"),
    ]  # fmt: skip
    found += [
        Claim(
            f"tour, expected putts from {feet} ft", BROADIE, putts,
            partial(_tour_putts, feet),
            "putts", 0.05, TABLE_DIGITS,
        )
        for feet, putts in TOUR_PUTTS
    ]  # fmt: skip
    found += [
        Claim(
            f"tour, holed from {feet} ft", BROADIE, percent,
            partial(_tour_holed, feet),
            "%", 2.0, "whole per cents of several years' data",
        )
        for feet, percent in TOUR_HOLED
    ]  # fmt: skip
    found += [
        Claim("tour, three putts or more from 40 ft", BROADIE, 10.0,
              lambda: 100 * float(putts_distribution(40 * M_PER_FT, TOUR_PUTTING)[2]), "%", 2.0,
              "a whole per cent of several years' data"),
        Claim("golfer averaging 90, holed from 5 ft", BROADIE, 50.0,
              lambda: 100 * float(holed_probability(5 * M_PER_FT, ninety)), "%", 2.0,
              "whole per cents; the default skill was set by this figure"),
        Claim("golfer averaging 90, expected putts from 19 ft", BROADIE, 2.0,
              lambda: float(expected_putts(19 * M_PER_FT, ninety)), "putts", 0.02,
              "two putts on average; the default skill was set by this figure"),
        Claim("diameter of the hole in the model", "Rules of Golf 2023, definition of hole", 4.25,
              _hole_diameter_in, "in", 1e-9, "a definition"),
    ]  # fmt: skip
    return tuple(found)


def _hole_diameter_in() -> float:
    """Found from the chances themselves: the offset at which a putt stops dropping.

    With a large error of direction the share holed of the angle model is proportional to the
    angle offered, asin((R - r) / x); the ball's radius is the published 0.84 in.
    """
    distance, sd = 5.0, 0.5
    chance = float(holed_probability(distance, PuttingSkill(sd, 0.0)))
    low, high = 0.0, 0.2
    for _ in range(80):
        middle = (low + high) / 2
        given = math.erf(math.asin(middle / distance) / sd / math.sqrt(2))
        low, high = (middle, high) if given < chance else (low, middle)
    return 2 * (low / M_PER_IN + 1.68 / 2)


AREA = Area(
    "putting",
    "Putting",
    "Fits to published tries, and chances and expected putts of the default skills.",
    claims,
)
