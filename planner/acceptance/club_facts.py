"""Chips that professionals hit, and what the trade says of clubs, by predictions and patterns."""

from __future__ import annotations

from functools import cache, partial

import numpy as np

from planner.acceptance.claim import Area, Claim, Sense
from planner.acceptance.known_misses import KNOWN_MISSES
from planner.ball.conditions import Conditions
from planner.course.lies import Lie
from planner.golfer.bag import bag_from_text
from planner.golfer.bag_overview import bag_overview
from planner.golfer.gapping import predicted_carries
from planner.golfer.shot_outcome import ShotModel, SwingStyle
from planner.golfer.skill import TOUR_INDEX
from planner.golfer.standard_set import typical_bag
from planner.golfer.swing_set import build_shot_model
from planner.units import M_PER_YD

__all__ = ["AREA"]

COCHRAN = "Cochran & Stobbs 1968, professionals: mean distance from the hole over start distance"
TRADE = "common practice"
CHIP_FROM_M = (15.0, 35.0)
"""Starts of the chips that are compared, run included [m]."""
DRAWS = 20_000
HIGH_INDEX = 34.0
ONE_JOB = "they do one job: nearer than the least usual step between clubs, 10 yd"
PUTTER = '[[club]]\nlabel = "Putter"\nkind = "putter"\n'
STEEP = "attack_deg = -5.0\nloft_taken_off_deg = 6.5"
"""Loft that a steep swing takes off: 6 to 7 degrees (common practice)."""


@cache
def _model(index: float) -> ShotModel:
    return build_shot_model(typical_bag(index), conditions=Conditions())


def _chip_rest(lie: Lie) -> float:
    """Mean distance from the hole after tour chips meant for it, over their length [%]."""
    shares = []
    rng = np.random.default_rng(11)
    for swing in _model(TOUR_INDEX).swings:
        if swing.style is not SwingStyle.PARTIAL or lie not in swing.patterns:
            continue
        pattern = swing.patterns[lie]
        run = swing.run_m.get(Lie.GREEN, 0.0)
        length = float(pattern.means[0, 0]) + run
        if not CHIP_FROM_M[0] <= length <= CHIP_FROM_M[1]:
            continue
        rest = pattern.sample(rng, DRAWS)[0] + (run, 0.0)
        shares.append(float(np.hypot(*(rest - (length, 0.0)).T).mean()) / length)
    return 100.0 * float(np.mean(shares))


def _wood_gap() -> float:
    """Carry of a 19-degree wood less that of a 15-degree one in a steep, slow swing [yd]."""
    text = (
        'format = 1\nname = "steep"\n[golfer]\nhandicap_index = 20\n[golfer.delivery]\n'
        f'club = "7 iron"\nspeed_mph = 66\n{STEEP}\n'
        '[[club]]\nlabel = "3 wood"\nkind = "wood"\nloft_deg = 15\n'
        '[[club]]\nlabel = "5 wood"\nkind = "wood"\nloft_deg = 19\n'
        '[[club]]\nlabel = "7 iron"\nkind = "iron"\nloft_deg = 33\n'
        '[[club]]\nlabel = "Putter"\nkind = "putter"\n'
    )
    bag = bag_from_text(text, source="steep")
    carries = predicted_carries(bag.clubs, bag.golfer.handicap_index, delivery=bag.golfer.delivery)
    return (carries["5 wood"] - carries["3 wood"]) / M_PER_YD


def _iron_step() -> float:
    """Mean step of carry for four degrees of loft, 26 to 46 degrees, driver 219 yards [yd]."""
    lofts = range(26, 47, 4)
    clubs = "".join(
        f'[[club]]\nlabel = "{loft}"\nkind = "iron"\nloft_deg = {loft}\n' for loft in lofts
    )
    text = (
        'format = 1\nname = "irons"\n[golfer]\nhandicap_index = 10\n[[club]]\nlabel = "D"\n'
        f'kind = "driver"\nloft_deg = 10.5\n[club.pattern]\ncarry = 200\n{clubs}'
        '[[club]]\nlabel = "Putter"\nkind = "putter"\n'
    )
    bag = bag_from_text(text, source="irons")
    carries = predicted_carries(bag.clubs, bag.golfer.handicap_index)
    steps = np.diff([carries[str(loft)] for loft in lofts])
    return -float(steps.mean()) / M_PER_YD


def _wedges(lofts: tuple[int, ...]) -> str:
    """What is said of wedges of some lofts: gaps, and pairs that do one job."""
    clubs = "".join(
        f'[[club]]\nlabel = "{loft}"\nkind = "wedge"\nloft_deg = {loft}\n' for loft in lofts
    )
    text = f'format = 1\nname = "wedges"\n[golfer]\nhandicap_index = 10\n{clubs}{PUTTER}'
    seen = bag_overview(bag_from_text(text, source="wedges"))
    pairs = sorted(f"{one.longer}/{one.shorter}" for one in seen.overlaps)
    return f"{len(seen.gaps)} gaps; one job: {', '.join(pairs) or 'none'}"


def _iron_less_wood(driver: str) -> float:
    """Carry of an 18-degree driving iron less that of a 19-degree wood, by the driver [yd]."""
    text = (
        'format = 1\nname = "long"\n[golfer]\nhandicap_index = 10\n[[club]]\nlabel = "D"\n'
        f'kind = "driver"\nloft_deg = 10.5\n{driver}'
        '[[club]]\nlabel = "iron"\nkind = "iron"\nloft_deg = 18\n'
        f'[[club]]\nlabel = "wood"\nkind = "wood"\nloft_deg = 19\n{PUTTER}'
    )
    bag = bag_from_text(text, source="long")
    carries = predicted_carries(bag.clubs, bag.golfer.handicap_index)
    return (carries["iron"] - carries["wood"]) / M_PER_YD


def _topped_wood() -> float:
    """Where a high handicap's short mishit with a wood ends on average, run included [yd]."""
    swing = next(
        one
        for one in _model(HIGH_INDEX).swings
        if one.club == "3 wood" and one.style is SwingStyle.FULL
    )
    pattern = swing.patterns[Lie.FAIRWAY]
    short = pattern.names.index("short")
    return float(pattern.means[short, 0] + swing.run_m.get(Lie.FAIRWAY, 0.0)) / M_PER_YD


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    rule = "a rule of the trade, without a source"
    return (
        *(
            Claim(f"tour chips of 15 to 35 m from {word}, distance left", COCHRAN, percent,
                  partial(_chip_rest, lie), "%", 1.5,
                  "professionals of 1968, over a mean of lengths and lies",
                  known_miss=KNOWN_MISSES.get(
                      f"tour chips of 15 to 35 m from {word}, distance left", ""))
            for lie, word, percent in ((Lie.FAIRWAY, "mown grass", 7.8),
                                       (Lie.ROUGH, "light rough", 12.8), (Lie.SAND, "sand", 15.8))
        ),
        Claim("steep swing: carry of a 19-degree wood less that of a 15-degree one", TRADE, 0.0,
              _wood_gap, "yd", 0.0, "a sign", Sense.AT_LEAST),
        Claim("carry for a step of four degrees of loft", TRADE, 12.5, _iron_step, "yd", 2.5,
              "10 to 15 yards"),
        Claim("wedges of 48, 52, 56 and 60 degrees", TRADE, "0 gaps; one job: none",
              partial(_wedges, (48, 52, 56, 60)), sense=Sense.SAME),
        Claim("the same with a sand iron of 54 degrees", TRADE, "0 gaps; one job: 52/54, 54/56",
              partial(_wedges, (48, 52, 54, 56, 60)), sense=Sense.SAME),
        Claim("18-degree iron less 19-degree wood, from the handicap alone", TRADE, 0.0,
              partial(_iron_less_wood, ""), "yd", 10.0, ONE_JOB),
        Claim("18-degree iron less 19-degree wood, beside a driver of 219 yd", TRADE, 0.0,
              partial(_iron_less_wood, "[club.pattern]\ncarry = 200\n"), "yd", 10.0, ONE_JOB,
              known_miss=KNOWN_MISSES.get(
                  "18-degree iron less 19-degree wood, beside a driver of 219 yd", "")),
        Claim("topped or duffed wood of a high handicap", TRADE, 40.0, _topped_wood, "yd", 15.0,
              rule),
    )  # fmt: skip


AREA = Area(
    "clubs",
    "Chips and clubs",
    "Patterns of partial swings, and carries predicted for clubs that were not hit. How far chips "
    "spread was set between the two sources named here and under scores, which part.",
    claims,
)
