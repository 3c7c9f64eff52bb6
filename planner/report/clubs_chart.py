"""Clubs of a bag: words, gapping chart, a pattern beside what is usual. Computes no result."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import altair as alt
import shapely

from planner.golfer.bag_overview import BagOverview, ClubView, Neighbours
from planner.golfer.club_fits import ClubFit
from planner.golfer.shot_pattern import ShotPattern
from planner.report import words
from planner.report.palette import LIGHT, Palette
from planner.report.shot_shapes import CHI_SQUARE_90, ellipse
from planner.report.shots_chart import outline_lines, shot_points, shot_rows
from planner.units import DistanceUnit

__all__ = [
    "club_rows",
    "count_said",
    "gapping_alt",
    "gapping_chart",
    "gaps_said",
    "overlaps_said",
    "pattern_alt",
    "pattern_chart",
]

WIDTH, ROW_HEIGHT, PATTERN_WIDTH, MOST_HEIGHT = 340, 26, 290, 520
EDGE = 0.03
"""Room round what is drawn, as a share of its longer side."""
SHOWN_SHARE = 0.005
"""Share of shots below which a kind of mishit is not drawn."""
OWN, USUAL = "this golfer", "usual for the handicap and the other clubs"
IN_USE = "as the plan has it now"


def count_said(overview: BagOverview) -> str:
    """The count of clubs and Rule 4.1b."""
    carried, limit = overview.carried, overview.limit
    count = f"{carried} {'club' if carried == 1 else 'clubs'} carried, the putter counted"
    if carried > limit:
        return f"{count}: {carried - limit} too many. Rule 4.1b allows {limit}."
    if carried == limit:
        return f"{count}: as many as Rule 4.1b allows."
    return f"{count}. Rule 4.1b allows {limit}: room for {limit - carried} more."


def overlaps_said(overview: BagOverview) -> tuple[str, ...]:
    """Clubs that do one job, a line each."""
    return tuple(
        f"{pair.longer} and {pair.shorter} do one job: {words.percent(pair.outcarried)} of stock "
        f"shots of the {pair.shorter} outcarry one of the {pair.longer}."
        for pair in overview.overlaps
    )


def gaps_said(overview: BagOverview, unit: DistanceUnit) -> tuple[str, ...]:
    """Distances that no full swing is for, a line each."""
    return tuple(_gap_said(pair, unit) for pair in overview.gaps)


def _gap_said(pair: Neighbours, unit: DistanceUnit) -> str:
    return (
        f"A gap of {words.distance(pair.gap_m, unit)} between {pair.longer} and {pair.shorter}: at "
        f"most {words.percent(pair.reached)} of either's stock shots carry near "
        f"{words.distance(pair.middle_m, unit)}, the middle."
    )


def club_rows(overview: BagOverview, unit: DistanceUnit) -> list[dict[str, str]]:
    """Table of the clubs: carry with its interval, spread, mishits, source, next shorter club."""
    after = {pair.longer: pair for pair in overview.neighbours}
    rows = []
    for view in overview.clubs:
        label, pair = view.club.label, after.get(view.club.label)
        shots = "" if view.shots is None else f", {view.shots} shots"
        along, across = (math.sqrt(view.pattern.covariances[0, i, i]) for i in (0, 1))
        rows.append(
            {
                "Club": label,
                "Pattern": f"{view.source}{shots}",
                "Carry": words.distance(view.carry_m, unit),
                "90 %": f"{words.distance(view.carry_low_m, unit)} to "
                f"{words.distance(view.carry_high_m, unit)}",
                "Spread": f"{words.distance(along, unit)} long, "
                f"{words.distance(across, unit)} wide",
                "Mishits": words.percent(view.pattern.mishit_share),
                "Outcarried": "-" if pair is None else words.percent(pair.outcarried),
            }
        )
    return rows


def gapping_alt(overview: BagOverview, unit: DistanceUnit) -> str:
    """Describe the gapping chart."""
    said = ", ".join(
        f"{view.club.label} {words.distance(view.carry_m, unit)}" for view in overview.clubs
    )
    return f"Mean carries with the interval of nine chances in ten: {said}"


def gapping_chart(
    overview: BagOverview, unit: DistanceUnit, colours: Palette = LIGHT
) -> alt.LayerChart:
    """Carry of every club: where nine of ten stock shots carry, and what is known of the mean."""
    order = [view.club.label for view in overview.clubs]
    rows = [_carry_row(view, unit) for view in overview.clubs]
    looks: dict[str, Any] = {
        "labelColor": colours.ink,
        "titleColor": colours.ink,
        "gridColor": colours.grid,
    }
    base = alt.Chart(alt.NamedData("clubs")).encode(
        y=alt.Y("club:N", sort=order, title=None, axis=alt.Axis(labelLimit=110, **looks)),
        tooltip=alt.Tooltip("words:N", title=" "),
    )
    x = alt.X(
        "shot_low:Q",
        title=f"carry, {unit.symbol}",
        scale=alt.Scale(zero=False),
        axis=alt.Axis(tickCount=6, **looks),
    )
    shots = base.mark_rule(strokeWidth=9, opacity=0.3, color=colours.bar).encode(
        x=x, x2="shot_high"
    )
    mean = base.mark_rule(strokeWidth=3, color=colours.bar).encode(x="low:Q", x2="high")
    point = base.mark_point(filled=True, size=60, opacity=1.0, color=colours.ink).encode(
        x="carry:Q",
        shape=alt.Shape(
            "known:N",
            scale=alt.Scale(domain=["measured", "predicted"], range=["circle", "diamond"]),
            legend=None,
        ),
    )
    chart: alt.LayerChart = (
        alt.layer(shots, mean, point)
        .properties(width=WIDTH, height=ROW_HEIGHT * max(len(rows), 1))
        .configure(background="transparent", view=alt.ViewConfig(stroke=colours.grid))
    )
    chart.datasets = {"clubs": rows}
    return chart


def _carry_row(view: ClubView, unit: DistanceUnit) -> dict[str, Any]:
    spread = 1.645 * math.sqrt(view.pattern.covariances[0, 0, 0])
    values = {
        "carry": view.carry_m,
        "low": view.carry_low_m,
        "high": view.carry_high_m,
        "shot_low": view.carry_m - spread,
        "shot_high": view.carry_m + spread,
    }
    return {
        **{name: round(unit.from_metres(value), 1) for name, value in values.items()},
        "club": view.club.label,
        "known": "predicted" if view.source == "predicted" else "measured",
        "words": f"{view.club.label}: mean carry {words.distance(view.carry_m, unit)}, "
        f"{view.source}; nine of ten stock shots carry "
        f"{words.distance(view.carry_m - spread, unit)} to "
        f"{words.distance(view.carry_m + spread, unit)}",
    }


def pattern_alt(view: ClubView, unit: DistanceUnit, *, found: ClubFit | None = None) -> str:
    """Describe the chart of one club."""
    usual = float(view.usual.means[0, 0])
    own = view.pattern if found is None else found.fit.pattern
    shots = "" if found is None else f"{found.fit.shots} shots, "
    return (
        f"{view.club.label} seen from above: {shots}"
        f"carry {words.distance(float(own.means[0, 0]), unit)}, "
        f"{words.percent(own.mishit_share)} mishits; usual would be "
        f"{words.distance(usual, unit)} and {words.percent(view.usual.mishit_share)}"
    )


def pattern_chart(
    view: ClubView,
    unit: DistanceUnit,
    colours: Palette = LIGHT,
    *,
    found: ClubFit | None = None,
    in_use: bool = True,
) -> alt.LayerChart:
    """Where nine of ten solid shots and of each mishit land, and where would be usual.

    Parameters
    ----------
    view
        The club.
    unit, colours
        Of the chart.
    found
        The club's own shots as fitted, which are drawn with their pattern; without them the
        pattern is that of the plan.
    in_use
        Whether the plan has that fitted pattern; if not, the plan's stock shot is drawn as well.
    """
    own = view.pattern if found is None else found.fit.pattern
    rows = [*_outlines(own, OWN, unit), *_outlines(view.usual, USUAL, unit)]
    roles = ["line of play", "mishit", "pattern 90"]
    if found is not None and not in_use:
        rows += _outlines(view.pattern, IN_USE, unit)
        roles.append("distance")
    shots = [] if found is None else shot_rows(found, unit)
    points = [(row["x"], row["y"]) for row in (*rows, *shots)]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(y for _, y in points), max(y for _, y in points)
    pad = EDGE * max(right - left, high - low)
    left, right, low, high = left - pad, right + pad, low - pad, high + pad
    height = min(MOST_HEIGHT, round(PATTERN_WIDTH * (high - low) / (right - left)))
    half = (high - low) * PATTERN_WIDTH / height / 2
    middle = (left + right) / 2
    looks: dict[str, Any] = {
        "labelColor": colours.ink,
        "titleColor": colours.ink,
        "gridColor": colours.grid,
    }
    x = alt.X(
        "x:Q",
        title=f"left (-) and right of the aim line, {unit.symbol}",
        scale=alt.Scale(domain=[middle - half, middle + half], nice=False),
        axis=alt.Axis(tickCount=5, grid=False, **looks),
    )
    y = alt.Y(
        "y:Q",
        title=f"carry, {unit.symbol}",
        scale=alt.Scale(domain=[low, high], nice=False, zero=False),
        axis=alt.Axis(tickCount=6, **looks),
    )
    lines = outline_lines(x, y, roles, colours)
    chart: alt.LayerChart = (
        alt.layer(*lines, *([shot_points(x, y, colours)] if shots else []))
        .properties(width=PATTERN_WIDTH, height=height)
        .configure(background="transparent", view=alt.ViewConfig(stroke=colours.grid))
    )
    chart.datasets = {"outlines": rows, **({"shots": shots} if shots else {})}
    return chart


def _outlines(pattern: ShotPattern, whose: str, unit: DistanceUnit) -> list[dict[str, Any]]:
    rows = []
    for i, name in enumerate(pattern.names):
        if pattern.weights[i] < SHOWN_SHARE or (whose == IN_USE and i):
            continue
        other = {USUAL: "line of play", IN_USE: "distance"}
        role = other.get(whose, "mishit" if i else "pattern 90")
        ring: Sequence[Sequence[float]] = shapely.get_coordinates(
            ellipse(pattern.means[i], pattern.covariances[i], CHI_SQUARE_90)
        ).tolist()
        share = words.percent(float(pattern.weights[i]))
        rows += [
            {
                "x": round(unit.from_metres(across), 2),
                "y": round(unit.from_metres(along), 2),
                "step": step,
                "name": f"{whose} {i}",
                "role": role,
                "words": f"{whose}: {name}, {share} of shots, nine of ten of them in here",
            }
            for step, (along, across) in enumerate(ring)
        ]
    return rows
