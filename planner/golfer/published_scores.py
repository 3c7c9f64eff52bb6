"""Published average scores that the skill model is held to.

Nothing here enters a plan: the tables are what a calibration compares with.
"""

from __future__ import annotations

from collections.abc import Mapping

from planner.course.lies import Lie

__all__ = [
    "AVERAGE_OVER_HANDICAP",
    "NINETY_FIRST",
    "NINETY_PER_YD",
    "TOUR_STROKES",
]

TOUR_STROKES: Mapping[Lie, Mapping[int, float]] = {
    Lie.TEE: {
        100: 2.92, 140: 2.97, 180: 3.05, 220: 3.17, 260: 3.45,
        340: 3.86, 400: 3.99, 460: 4.17, 500: 4.41,
    },
    Lie.FAIRWAY: {20: 2.40, 60: 2.70, 100: 2.80, 140: 2.91, 180: 3.08, 220: 3.32, 260: 3.58},
    Lie.ROUGH: {20: 2.59, 60: 2.91, 100: 3.02, 140: 3.15, 180: 3.31, 220: 3.53, 260: 3.74},
    Lie.SAND: {20: 2.53, 60: 3.15, 100: 3.23, 140: 3.22, 180: 3.40, 220: 3.70, 260: 3.93},
}  # fmt: skip
"""Strokes to hole out on tour by lie and distance [yd] (M. Broadie, "Assessing Golfer Performance
on the PGA TOUR", Interfaces 42(2), 2012, table in the appendix)."""

NINETY_FIRST, NINETY_PER_YD = 2.79, 0.0066
"""Strokes from the tee of a golfer who averages 90: the first, and the second for each yard of the
hole (M. Broadie, Science and Golf V, 2008)."""

AVERAGE_OVER_HANDICAP = 3.0
"""Strokes by which an average round is over the handicap (D. Knuth, USGA)."""
