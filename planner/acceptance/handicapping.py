"""The World Handicap System's worked examples."""

from __future__ import annotations

from functools import partial

from planner.acceptance.claim import Area, Claim
from planner.golfer.handicap import (
    CourseRating,
    counting_scores,
    course_handicap,
    handicap_index,
    score_differential,
)
from planner.golfer.yardage_rating import RatedFor, yardage_rating
from planner.units import M_PER_YD

__all__ = ["AREA"]

RULES = "Rules of Handicapping 2024 (The R&A and USGA), Rule"
WORKED = "The R&A, worked examples of Rule 5"
TABLE = (
    (3, 1, -2), (4, 1, -1), (5, 1, 0), (6, 2, -1), (7, 2, 0), (8, 2, 0), (9, 3, 0), (11, 3, 0),
    (12, 4, 0), (14, 4, 0), (15, 5, 0), (16, 5, 0), (17, 6, 0), (18, 6, 0), (19, 7, 0), (20, 8, 0),
)  # fmt: skip
RECORDS = (
    ((15.3, 15.2, 16.6), 13.2),
    ((40.7, 42.4, 36.1), 34.1),
    ((40.7, 42.4, 36.1, 45.9, 43.6, 45.0), 37.4),
)
YARDAGE = "USGA yardage rating formulas"


def _index(record: tuple[float, ...]) -> float:
    return handicap_index(record).value


def _counting(scores: int) -> str:
    low, change = counting_scores(scores)
    return f"lowest {low}, {change:+d}"


def _lowest_eight() -> float:
    # Twenty different differentials out of order; the eight lowest are 1 to 8, mean 4.5.
    return handicap_index([float((7 * i) % 20 + 1) for i in range(20)]).value


def _rated(length_yd: float, who: RatedFor, what: str) -> float:
    rating = yardage_rating(length_yd * M_PER_YD, who)
    return {"scratch": rating.scratch, "bogey": rating.bogey, "slope": float(rating.slope)}[what]


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    found = [
        Claim(
            "index of " + ", ".join(f"{score:g}" for score in record),
            WORKED, index, partial(_index, record), "", 1e-9, "a worked example",
        )
        for record, index in RECORDS
    ]  # fmt: skip
    found += [
        Claim(
            f"scores that count of {scores}",
            f"{RULES} 5.2a",
            f"lowest {low}, {change:+d}",
            partial(_counting, scores),
        )
        for scores, low, change in TABLE
    ]
    course = CourseRating(71.5, 125)
    # 113/125 (85 - 71.5 - 1) = 11.3, and 15.3 * 125 / 113 + 71.5 - 72 = 16.42.
    found += [
        Claim(
            "index of twenty scores", f"{RULES} 5.2", 4.5, _lowest_eight, "", 1e-9,
            "mean of the lowest 8",
        ),
        Claim(
            "differential of 85 at 71.5/125 with PCC 1", f"{RULES} 5.1a", 11.3,
            lambda: score_differential(85, course, pcc=1.0), "", 1e-9, "(113/125)(85 - 71.5 - 1)",
        ),
        Claim(
            "course handicap of 15.3 at 71.5/125, par 72", f"{RULES} 6.1", 16.0,
            lambda: course_handicap(15.3, course, 72), "strokes", 0.0, "a whole number",
        ),
    ]  # fmt: skip
    for length, who, scratch, bogey, slope in (
        (6500.0, RatedFor.MEN, 70.45, 91.33, 112.0),
        (5500.0, RatedFor.WOMEN, 5500 / 180 + 40.1, 5500 / 120 + 51.3, 112.0),
    ):
        digits = "two decimals are given"
        for what, value, within, reason in (
            ("scratch", scratch, 0.005, digits),
            ("bogey", bogey, 0.006, digits),
            ("slope", slope, 0.0, "a whole number"),
        ):
            found.append(
                Claim(
                    f"{what} rating from {length:g} yd for {who.value}",
                    YARDAGE, value, partial(_rated, length, who, what), "", within, reason,
                )
            )  # fmt: skip
    return tuple(found)


AREA = Area(
    "handicaps",
    "Handicaps",
    "Index, differential, course handicap and rating from length, by the functions behind "
    "`planner handicap`.",
    claims,
)
