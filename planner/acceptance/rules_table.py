"""The Rules of Golf as a decision table: what is allowed, at what cost, and where."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.acceptance.claim import Area, Claim, Sense
from planner.course import relief
from planner.course.hole import Point
from planner.course.lies import Ground
from planner.errors import PlannerError
from planner.golfer.bag import bag_from_text
from planner.golfer.swing_set import build_shot_model
from planner.report.card_layout import LEAF_LONG, LEAF_SHORT
from planner.report.print_drawing import LARGEST_SCALE
from planner.strategy.score_distribution import distribution
from planner.strategy.scoring_forms import stableford_points_of, with_maximum
from planner.units import M_PER_IN

__all__ = ["AREA"]

RULES = "Rules of Golf 2023, Rule"
FloatArray = NDArray[np.float64]
PIN: Point = (400.0, 0.0)
CLUB_LENGTH_M = 1.1430
"""45 in."""
POND = shapely.Point(200.0, 0.0).buffer(25.0)
BUNKER = shapely.Point(300.0, 20.0).buffer(8.0)
FAIRWAY = shapely.box(80.0, -15.0, 380.0, 15.0)
IN_BOUNDS = shapely.box(-50.0, -60.0, 450.0, 60.0)
POINTS_AN_INCH = 72.0
GEOMETRY = "a drop is where the Rules allow it or it is not"
MARGIN = "computed in floating point"


def _crossings() -> list[Point]:
    """Places all round the pond where balls cross into it."""
    edge = POND.exterior
    places = [edge.interpolate(share, normalized=True) for share in np.arange(0.005, 1.0, 0.01)]
    return [(place.x, place.y) for place in places]


def _options(found: tuple[relief.ReliefOption, ...]) -> str:
    return ", ".join(f"{one.rule} at {one.strokes}" for one in found)


def _pond_drops(ground: Ground, crossing: Point) -> tuple[relief.ReliefOption, ...]:
    return relief.penalty_area_drops(
        ground, crossing, PIN, shape=POND, club_length=CLUB_LENGTH_M, in_bounds=IN_BOUNDS
    )


def _away(points: FloatArray) -> FloatArray:
    return np.asarray(np.hypot(*(points - PIN).T))


def _worst(what: str) -> float:
    """Worst of a measure over all drops from a red pond, at every crossing."""
    found = []
    for crossing in _crossings():
        line, lateral = (one.points_hole for one in _pond_drops(Ground.RED, crossing))
        away = np.subtract(crossing, PIN)
        unit = away / np.hypot(*away)
        aside = np.array([-unit[1], unit[0]])
        both = np.vstack((line, lateral))
        measures = {
            "off the line": np.abs((line - crossing) @ aside),
            "nearer": math.dist(crossing, PIN) - _away(both),
            "far": np.hypot(*(lateral - crossing).T) / CLUB_LENGTH_M,
            "in the pond": shapely.contains_xy(POND, *both.T).astype(float),
            "out of bounds": (~shapely.intersects_xy(IN_BOUNDS, *both.T)).astype(float),
        }
        if len(measures[what]):
            found.append(float(measures[what].max()))
    return max(found)


def _unplayable() -> str:
    return _options(relief.unplayable_drops((250.0, 5.0), PIN, club_length=CLUB_LENGTH_M))


def _bunker() -> tuple[relief.ReliefOption, ...]:
    return relief.bunker_unplayable_drops(
        (300.0, 20.0), PIN, bunker=BUNKER, club_length=CLUB_LENGTH_M
    )


def _bunker_drops(inside: bool) -> str:
    """Where the drops of 19.3a, or that of 19.3b, lie."""
    *sand, out = _bunker()
    ours = [point for one in (sand if inside else [out]) for point in one.points_hole]
    places = shapely.contains_xy(BUNKER, *np.array(ours).T)
    return "in" if places.all() else "outside" if not places.any() else "both"


def _edge_drop(what: str) -> float:
    reference = (240.0, 59.0)
    option = relief.fairway_edge_drops(
        reference, PIN, fairway=FAIRWAY, club_length=CLUB_LENGTH_M, in_bounds=IN_BOUNDS
    )
    if what == "strokes":
        return float(option.strokes)
    if what == "off the fairway":
        return float((~shapely.intersects_xy(FAIRWAY, *option.points_hole.T)).sum())
    return float((math.dist(reference, PIN) - _away(option.points_hole)).max())


def _bag(clubs: int, putter_in: float = 34.0) -> str:
    irons = "".join(
        f'[[club]]\nlabel = "iron {n}"\nkind = "iron"\nloft_deg = {20 + 2 * n}\n'
        for n in range(clubs - 2)
    )
    return (
        'format = 1\nname = "a bag"\n[[club]]\nlabel = "Driver"\nkind = "driver"\nloft_deg = 10.5\n'
        "length_in = 45.0\n[club.pattern]\ncarry = 200\n"
        f'{irons}[[club]]\nlabel = "Putter"\nkind = "putter"\nlength_in = {putter_in}\n'
    )


def _bag_verdict(clubs: int) -> str:
    try:
        bag_from_text(_bag(clubs), source="a bag").carried()
    except PlannerError:
        return "refused"
    return "carried"


def _club_length_in() -> float:
    """The longest club but the putter, in a bag whose putter is longer."""
    model = build_shot_model(bag_from_text(_bag(5, putter_in=48.0), source="a bag"))
    return model.club_length_m / M_PER_IN


def _points() -> str:
    return " ".join(str(stableford_points_of(4 + over, 4)) for over in range(-4, 4))


def _most_of_a_hole() -> float:
    """Highest score left under a maximum of twice par, of scores up to 14 on a par 4."""
    score = distribution(np.concatenate((np.zeros(3), np.full(12, 1 / 12))), remainder=0.0)
    (capped,) = with_maximum([score], [8])
    return float(capped.greatest)


def _area_words() -> str:
    return "; ".join(f"{ground.name.lower()} {ground.area.value}" for ground in Ground)


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    tee_side = (175.5, 0.0)
    same = Sense.SAME

    def bound(
        name: str, rule: str, most: float, what: str, unit: str, slack: float = 1e-6
    ) -> Claim:
        reason = GEOMETRY if slack == 0 else MARGIN
        return Claim(
            name, f"{RULES} {rule}", most, partial(_worst, what), unit, slack, reason, Sense.AT_MOST
        )

    return (
        Claim("relief from a yellow penalty area", f"{RULES} 17.1d", "17.1d(2) at 1",
              lambda: _options(_pond_drops(Ground.YELLOW, tee_side)), sense=same),
        Claim("relief from a red penalty area", f"{RULES} 17.1d", "17.1d(2) at 1, 17.1d(3) at 1",
              lambda: _options(_pond_drops(Ground.RED, tee_side)), sense=same),
        bound("back on the line: farthest off it", "17.1d(2)", 0.0, "off the line", "m"),
        bound("drops from a pond: nearer the hole than the crossing by", "17.1d", 0.0, "nearer",
              "m"),
        bound("lateral relief: farthest from the crossing", "17.1d(3)", 2.0, "far", "club-lengths"),
        bound("drops that lie in the same pond", "17.1d", 0.0, "in the pond", "", 0.0),
        bound("drops out of bounds", "14.3c", 0.0, "out of bounds", "", 0.0),
        Claim("unplayable ball in the general area", f"{RULES} 19.2", "19.2b at 1, 19.2c at 1",
              _unplayable, sense=same),
        Claim("unplayable ball in a bunker", f"{RULES} 19.3",
              "19.3a(2) at 1, 19.3a(3) at 1, 19.3b at 2", lambda: _options(_bunker()), sense=same),
        Claim("drops for one stroke in a bunker", f"{RULES} 19.3a", "in",
              partial(_bunker_drops, True), sense=same),
        Claim("drop for two strokes", f"{RULES} 19.3b", "outside", partial(_bunker_drops, False),
              sense=same),
        Claim("strokes under the local rule for lost balls", "Model Local Rule E-5", 2.0,
              partial(_edge_drop, "strokes")),
        Claim("its drops off the fairway", "Model Local Rule E-5", 0.0,
              partial(_edge_drop, "off the fairway")),
        Claim("its drops nearer the hole than the reference by", "Model Local Rule E-5", 0.0,
              partial(_edge_drop, "nearer"), "m", 1e-6, MARGIN, Sense.AT_MOST),
        Claim("a bag of 14 clubs", f"{RULES} 4.1b", "carried", partial(_bag_verdict, 14),
              sense=same),
        Claim("a bag of 15 clubs", f"{RULES} 4.1b", "refused", partial(_bag_verdict, 15),
              sense=same),
        Claim("club-length where a putter of 48 in is the longest club, the driver 45 in",
              "Rules of Golf 2023, definition of club-length", 45.0, _club_length_in, "in", 1e-9,
              "a definition"),
        Claim("Stableford points from four under to three over", f"{RULES} 21.1b",
              "6 5 4 3 2 1 0 0", _points, sense=same),
        Claim("highest score under a maximum of twice par on a par 4", f"{RULES} 21.2", 8.0,
              _most_of_a_hole),
        Claim("width of a card's page", f"{RULES} 4.3a(1): books at most 4 1/4 by 7 in", 4.25,
              lambda: LEAF_SHORT / POINTS_AN_INCH, "in", 0.0, "a limit", Sense.AT_MOST),
        Claim("height of a card's page", f"{RULES} 4.3a(1): books at most 4 1/4 by 7 in", 7.0,
              lambda: LEAF_LONG / POINTS_AN_INCH, "in", 0.0, "a limit", Sense.AT_MOST),
        Claim("largest scale at which a card draws a green", f"{RULES} 4.3a(1): at most 1:480",
              480.0, lambda: POINTS_AN_INCH / M_PER_IN / LARGEST_SCALE, "", 1e-9, MARGIN,
              Sense.AT_LEAST),
        Claim("areas of the course that grounds belong to", f"{RULES} 2.2",
              "rough general area; deep_rough general area; trees general area; fairway general "
              "area; tee general area; yellow yellow penalty area; red red penalty area; sand "
              "bunker; green putting green; out out of bounds", _area_words, sense=same),
    )  # fmt: skip


AREA = Area(
    "rules",
    "Rules of Golf",
    "Drops that the planner offers, as geometry, and what it lets a bag, a card and a score be. "
    "Stroke and distance is among the closed forms below.",
    claims,
)
