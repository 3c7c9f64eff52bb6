"""Chart of one club's shots with the fitted pattern, seen from above. It computes no result."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import altair as alt
import numpy as np
import shapely
from numpy.typing import NDArray

from planner.golfer.club_fits import ClubFit
from planner.report import words
from planner.report.palette import LIGHT, Palette
from planner.report.shot_shapes import CHI_SQUARE_50, CHI_SQUARE_90, ellipse
from planner.units import DistanceUnit

__all__ = ["shot_points", "shot_rows", "shots_alt", "shots_chart"]

FloatArray = NDArray[np.float64]
WIDTH_PX, LEAST_HEIGHT_PX, MOST_HEIGHT_PX = 290, 200, 520
MOST_SHOTS = 1500
"""Shots that are drawn; of more, evenly chosen ones."""
LEAST_SHARE = 0.005
"""Share of shots below which a kind of mishit is not drawn."""
SOLID, MISHIT, STRAY = "solid", "mishit", "fits no shot with this club"


def shots_alt(found: ClubFit, unit: DistanceUnit) -> str:
    """Describe the chart in words."""
    fit = found.fit
    return (
        f"{found.title}: {fit.shots} shots seen from above, with the ellipses that hold five and "
        f"nine of ten solid shots; carry {words.distance(fit.mean_carry.value, unit)}, "
        f"{words.percent(fit.mishit_share.value)} mishits"
    )


def shots_chart(found: ClubFit, unit: DistanceUnit, colours: Palette = LIGHT) -> alt.LayerChart:
    """Shots, ellipses of the solid ones and of the mishits, with one scale both ways."""
    shots = shot_rows(found, unit)
    outlines = _outlines(found, unit)
    size, x, y = _window(shots, outlines, colours, unit)
    lines = outline_lines(x, y, ("pattern 90", "pattern 50", "mishit"), colours)
    line = (
        alt.Chart(alt.NamedData("line"))
        .mark_rule(strokeDash=[1, 4], color=colours.ink, opacity=0.75)
        .encode(x=alt.X("x:Q"))
    )
    chart: alt.LayerChart = (
        alt.layer(line, *lines, shot_points(x, y, colours))
        .properties(width=size[0], height=size[1])
        .configure(
            background="transparent",
            view=alt.ViewConfig(stroke=colours.grid),
            axis=alt.AxisConfig(
                labelColor=colours.ink,
                titleColor=colours.ink,
                gridColor=colours.grid,
                domainColor=colours.grid,
                tickColor=colours.grid,
                titleFontWeight="normal",
                labelFontSize=12,
                titleFontSize=12,
            ),
        )
    )
    chart.datasets = {"shots": shots, "outlines": outlines, "line": [{"x": 0.0}]}
    return chart


def outline_lines(
    x: alt.X, y: alt.Y, roles: Sequence[str], colours: Palette = LIGHT
) -> list[alt.Chart]:
    """Outlines of the data set ``outlines``, a line style of the palette for each role."""
    return [
        alt.Chart(alt.NamedData("outlines"))
        .transform_filter(alt.FieldEqualPredicate(field="role", equal=role))
        .mark_line(
            clip=True,
            stroke=colours[role].stroke,
            strokeWidth=colours[role].stroke_width,
            strokeDash=list(colours[role].dash),
        )
        .encode(
            x=x,
            y=y,
            order="step:O",
            detail="name:N",
            tooltip=alt.Tooltip("words:N", title=" "),
        )
        for role in roles
    ]


def shot_points(x: alt.X, y: alt.Y, colours: Palette = LIGHT) -> alt.Chart:
    """Layer of single shots, the data named ``shots``: kinds differ in shape and in colour."""
    points: alt.Chart = (
        alt.Chart(alt.NamedData("shots"))
        .mark_point(filled=True, size=34, opacity=0.75, clip=True)
        .encode(
            x=x,
            y=y,
            shape=alt.Shape(
                "kind:N",
                scale=alt.Scale(domain=[SOLID, MISHIT, STRAY], range=["circle", "cross", "square"]),
                legend=None,
            ),
            color=alt.Color(
                "kind:N",
                scale=alt.Scale(
                    domain=[SOLID, MISHIT, STRAY],
                    range=[colours.bar, colours["pattern 90"].stroke, colours.ink],
                ),
                legend=None,
            ),
            tooltip=alt.Tooltip("words:N", title=" "),
        )
    )
    return points


def shot_rows(found: ClubFit, unit: DistanceUnit) -> list[dict[str, Any]]:
    """Single shots as rows of the data named ``shots``; of very many, evenly chosen ones."""
    fit, names = found.fit, found.fit.pattern.names
    count = len(found.points_m)
    shown = np.unique(np.linspace(0, count - 1, min(count, MOST_SHOTS)).astype(int))
    rows = []
    for i in shown:
        likely = int(np.argmax(fit.responsibilities[i]))
        kind = STRAY if fit.stray[i] > 0.5 else SOLID if likely == 0 else MISHIT
        name = f"{MISHIT}, {names[likely]}" if kind == MISHIT else kind
        carry, offline = found.points_m[i]
        side = "right" if offline > 0 else "left"
        rows.append(
            {
                "x": round(unit.from_metres(offline), 1),
                "y": round(unit.from_metres(carry), 1),
                "kind": kind,
                "words": f"{words.distance(carry, unit)}, {words.distance(abs(offline), unit)} "
                f"{side}: {name}",
            }
        )
    return rows


def _outlines(found: ClubFit, unit: DistanceUnit) -> list[dict[str, Any]]:
    pattern = found.fit.pattern
    wanted = [
        (0, CHI_SQUARE_90, "pattern 90", "nine of ten solid shots land in here"),
        (0, CHI_SQUARE_50, "pattern 50", "five of ten solid shots land in here"),
    ]
    wanted += [
        (
            i,
            CHI_SQUARE_50,
            "mishit",
            f"mishit, {pattern.names[i]}: {words.percent(float(pattern.weights[i]))} of shots, "
            "half of them land in here",
        )
        for i in range(1, len(pattern.names))
        if pattern.weights[i] >= LEAST_SHARE
    ]
    return [
        {
            "x": round(unit.from_metres(across), 2),
            "y": round(unit.from_metres(along), 2),
            "step": step,
            "name": f"{i} {role}",
            "role": role,
            "words": said,
        }
        for i, chi_square, role, said in wanted
        for step, (along, across) in enumerate(
            shapely.get_coordinates(
                ellipse(pattern.means[i], pattern.covariances[i], chi_square)
            ).tolist()
        )
    ]


def _window(
    shots: list[dict[str, Any]],
    outlines: list[dict[str, Any]],
    colours: Palette,
    unit: DistanceUnit,
) -> tuple[tuple[int, int], alt.X, alt.Y]:
    """Size [px] and axes that hold everything, the aim line included, at one scale."""
    points = np.array([(row["x"], row["y"]) for row in (*shots, *outlines)])
    (left, low), (right, high) = points.min(0), points.max(0)
    left, right = min(left, 0.0), max(right, 0.0)
    pad = 0.05 * max(right - left, high - low)
    left, right, low, high = left - pad, right + pad, low - pad, high + pad
    width, height = right - left, high - low
    wider = max(height * WIDTH_PX / MOST_HEIGHT_PX - width, 0.0) / 2
    left, right, width = left - wider, right + wider, width + 2 * wider
    taller = max(width * LEAST_HEIGHT_PX / WIDTH_PX - height, 0.0) / 2
    low, high, height = low - taller, high + taller, height + 2 * taller
    x = alt.X(
        "x:Q",
        title=f"left (-) and right of the aim line, {unit.symbol}",
        scale=alt.Scale(domain=[left, right], nice=False, zero=False),
        axis=alt.Axis(tickCount=5, grid=False),
    )
    y = alt.Y(
        "y:Q",
        title=f"carry, {unit.symbol}",
        scale=alt.Scale(domain=[low, high], nice=False, zero=False),
        axis=alt.Axis(tickCount=6),
    )
    return (WIDTH_PX, round(WIDTH_PX * height / width)), x, y
