"""What a course nobody has rated would be rated at, from its length alone.

The formulas rate the length only. A real rating adds what obstacles, wind, slopes and altitude are
worth, commonly a stroke or two on a demanding course, so this is an estimate and not a rating that
a score may be posted against.

Source: USGA yardage rating formulas (course rating system; scratch man 250 and 220 yd, bogey man
200 and 170 yd, scratch woman 210 and 190 yd, bogey woman 150 and 130 yd for tee and second shots).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from planner.golfer.handicap import SLOPE_RANGE, CourseRating, round_half_up
from planner.units import M_PER_YD

__all__ = ["RatedFor", "YardageRating", "yardage_rating"]

ROUND_HOLES, NINE_HOLES = 18, 9


class RatedFor(Enum):
    """Whom a rating is for."""

    MEN = "men"
    WOMEN = "women"


@dataclass(frozen=True)
class _Formula:
    """Strokes = length / yards for a stroke + strokes at no length, scratch and bogey golfer."""

    scratch_yd: float
    scratch: float
    bogey_yd: float
    bogey: float
    slope_factor: float


_FORMULAS = {
    RatedFor.MEN: _Formula(220.0, 40.9, 160.0, 50.7, 5.381),
    RatedFor.WOMEN: _Formula(180.0, 40.1, 120.0, 51.3, 4.24),
}


@dataclass(frozen=True)
class YardageRating:
    """Estimate from length.

    Parameters
    ----------
    scratch, bogey
        What scratch and bogey golfers' better rounds would average, unrounded [strokes].
    slope
        (bogey - scratch) times 5.381 for men or 4.24 for women, whole, within 55 to 155.
    """

    scratch: float
    bogey: float
    slope: int

    @property
    def course(self) -> CourseRating:
        """The estimate as a rating, to a tenth of a stroke as ratings are."""
        tenth = Fraction(1, 10)
        return CourseRating(float(round_half_up(Fraction(self.scratch), tenth)), self.slope)


def yardage_rating(
    length_m: float, rated_for: RatedFor, *, holes: int = ROUND_HOLES
) -> YardageRating:
    """Estimate the rating of a course from its length.

    Parameters
    ----------
    length_m
        Length along the line of play of all holes together [m].
    holes
        18, or 9: a nine is rated as half of the course that plays it twice.

    Raises
    ------
    ValueError
        The length is not above 0 or the number of holes is another one.
    """
    if not (math.isfinite(length_m) and length_m > 0.0):
        raise ValueError(f"length must be above 0 m, got {length_m}")
    if holes not in (NINE_HOLES, ROUND_HOLES):
        raise ValueError(f"holes must be {NINE_HOLES} or {ROUND_HOLES}, got {holes}")
    times = ROUND_HOLES // holes
    length_yd = times * length_m / M_PER_YD
    formula = _FORMULAS[rated_for]
    scratch = length_yd / formula.scratch_yd + formula.scratch
    bogey = length_yd / formula.bogey_yd + formula.bogey
    slope = math.floor((bogey - scratch) * formula.slope_factor + 0.5)
    low, high = SLOPE_RANGE
    return YardageRating(scratch / times, bogey / times, min(max(slope, low), high))
