"""Charts of a round's score: its chances with the target, and how often a total is reached."""

from __future__ import annotations

from typing import Any

import altair as alt

from planner.report.palette import LIGHT, Palette
from planner.report.score_text import HOLE_RESULTS, WORSE
from planner.report.words import percent
from planner.strategy.round_result import BARRIERS, RoundScore
from planner.strategy.score_distribution import ScoreDistribution

__all__ = ["cumulative_chart", "hole_results_chart", "mixed", "score_chart"]

SHOWN_FROM = 0.0005
"""Totals rarer than this at either end are not drawn; the text below the chart keeps them."""
MISSED_SHARE = 0.38
"""Share of the bar's colour in bars that miss the target: told apart by lightness, in any sight."""
WIDTH, HEIGHT = 340, 220
"""Size [px]: a phone held upright."""
RESULT_SHARES = (0.12, 0.32, 0.54, 0.77, 1.0)
"""Share of the bar's colour for results of a hole, best first: a ramp of lightness, not of hue."""
BAR_HALF_WIDTH = 0.4
HEADROOM = 1.16
"""Height of the scale over the tallest bar, so that the target's words stand clear."""
LINE_HEIGHT = 18
TEXT_ROOM = 0.62
"""Share of the width up to which words fit on the right of a mark."""


def score_chart(score: RoundScore, colours: Palette = LIGHT) -> alt.LayerChart:
    """Bars of the round's total; totals that reach the target stand out, the target is marked."""
    target = score.target
    total, first, last = score.total, *_shown(score.total)
    if target is not None:
        first, last = min(first, target), max(last, target + 1)
    missed = mixed(colours.halo, colours.bar, MISSED_SHARE)
    rows = [
        {
            "from": value - BAR_HALF_WIDTH,
            "to": value + BAR_HALF_WIDTH,
            "chance": total.chance(value),
            "said": f"{value}: {percent(total.chance(value))}",
            "colour": colours.bar if target is None or value <= target else missed,
        }
        for value in range(first, last + 1)
    ]
    top = HEADROOM * max(total.chance(value) for value in range(first, last + 1))
    bars = (
        alt.Chart(alt.Data(values=rows))  # type: ignore[no-untyped-call]
        .mark_bar(cornerRadiusEnd=1)
        .encode(
            x=_totals("from:Q", first, last, colours),
            x2="to:Q",
            y=_chances(colours, title="chance of this total", top=top),
            y2=alt.YDatum(0.0),
            color=alt.Color("colour:N", scale=None),
            tooltip=alt.Tooltip("said:N", title=" "),
        )
    )
    layers: list[alt.Chart] = [bars]
    if target is not None:
        words = f"{target} or better: {percent(score.chance_of_target)}"
        left = target > (first + last) / 2
        layers += _mark(target + 0.5, words, LINE_HEIGHT / 2, colours, left=left)
    return _finished(layers)


def cumulative_chart(score: RoundScore, colours: Palette = LIGHT) -> alt.LayerChart:
    """Chance of a total or better as steps, with the target or the barriers in the drawn range."""
    total, first, last = score.total, *_shown(score.total)
    rows = [
        {
            "total": value,
            "chance": total.chance_at_most(value),
            "said": f"{value} or better: {percent(total.chance_at_most(value))}",
        }
        for value in range(first, last + 1)
    ]
    base = alt.Chart(alt.Data(values=rows)).encode(  # type: ignore[no-untyped-call]
        x=_totals("total:Q", first, last, colours),
        y=_chances(colours, title="chance of it or better", top=1.0),
    )
    line = base.mark_line(interpolate="step-after", color=colours.bar, strokeWidth=2)
    points = base.mark_point(color=colours.bar, filled=True, size=26, opacity=1.0).encode(
        tooltip=alt.Tooltip("said:N", title=" ")
    )
    wanted = [barrier - 1 for barrier in BARRIERS] if score.target is None else [score.target]
    layers: list[alt.Chart] = [line, points]
    for row, value in enumerate(value for value in wanted if first < value < last):
        words = f"{value} or better: {percent(total.chance_at_most(value))}"
        # Right of the steps there is room at the bottom.
        at = HEIGHT - LINE_HEIGHT * (row + 1)
        left = value > first + TEXT_ROOM * (last - first)
        layers += _mark(float(value), words, at, colours, left=left)
    return _finished(layers)


def hole_results_chart(score: RoundScore, colours: Palette = LIGHT) -> alt.LayerChart:
    """Every hole as a level bar cut into its results, from birdie or better to worse."""
    names = [*(name for name, _, _ in HOLE_RESULTS), WORSE]
    rows: list[dict[str, Any]] = []
    for hole in score.holes:
        chances = [hole.chance_over_par(low, high) for _, low, high in HOLE_RESULTS]
        worst = max(high for _, _, high in HOLE_RESULTS)
        chances.append(hole.score.chance_at_least(hole.par + worst + 1))
        rows += [
            {
                "hole": f"{hole.ref} (par {hole.par})",
                "result": name,
                "order": order,
                "chance": chance,
                "said": f"{hole.ref}, {name.lower()}: {percent(chance)}",
            }
            for order, (name, chance) in enumerate(zip(names, chances, strict=True))
        ]
    bars = (
        alt.Chart(alt.Data(values=rows))  # type: ignore[no-untyped-call]
        .mark_bar(stroke=colours.halo, strokeWidth=1)
        .encode(
            y=alt.Y("hole:N", sort=None, title=None, axis=_axis(colours, labelLimit=120)),
            x=alt.X(
                "chance:Q",
                stack="zero",
                title=None,
                scale=alt.Scale(domain=[0, 1], nice=False),
                axis=_axis(colours, format="%", tickCount=5),
            ),
            order=alt.Order("order:Q"),
            color=alt.Color(
                "result:N",
                sort=names,
                scale=alt.Scale(domain=names, range=_result_colours(colours)),
                legend=alt.Legend(
                    title=None,
                    orient="top",
                    labelColor=colours.ink,
                    labelFontSize=12,
                    symbolType="square",
                    columns=3,
                ),
            ),
            tooltip=alt.Tooltip("said:N", title=" "),
        )
    )
    return _finished([bars], height=LINE_HEIGHT * len(score.holes))


def mixed(ground: str, colour: str, share: float) -> str:
    """Colour between two, as ``#rrggbb``; ``share`` 1 is ``colour``."""
    pairs = zip(_channels(ground), _channels(colour), strict=True)
    return "#" + "".join(f"{round(low + share * (high - low)):02x}" for low, high in pairs)


def _channels(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[place : place + 2], 16) for place in (1, 3, 5))


def _result_colours(colours: Palette) -> list[str]:
    return [mixed(colours.halo, colours.bar, share) for share in RESULT_SHARES]


def _shown(total: ScoreDistribution) -> tuple[int, int]:
    """First and last total worth drawing."""
    drawn = [
        value
        for value, chance in zip(total.scores.tolist(), total.chances.tolist(), strict=True)
        if chance >= SHOWN_FROM
    ]
    return (drawn[0], drawn[-1]) if drawn else (total.least, total.greatest)


def _totals(field: str, first: int, last: int, colours: Palette) -> alt.X:
    return alt.X(
        field,
        title="total",
        scale=alt.Scale(domain=[first - 0.7, last + 0.7], nice=False, zero=False),
        axis=_axis(colours, format="d", tickMinStep=1, grid=False),
    )


def _chances(colours: Palette, *, title: str, top: float) -> alt.Y:
    return alt.Y(
        "chance:Q",
        title=title,
        scale=alt.Scale(domain=[0.0, top], nice=False),
        axis=_axis(colours, format="%", tickCount=5),
    )


def _axis(colours: Palette, **more: Any) -> alt.Axis:
    looks: dict[str, Any] = {
        "labelColor": colours.ink,
        "titleColor": colours.ink,
        "gridColor": colours.grid,
        "domainColor": colours.grid,
        "tickColor": colours.grid,
        "labelFontSize": 12,
        "titleFontSize": 12,
        "titleFontWeight": "normal",
    }
    return alt.Axis(**{**looks, **more})


def _mark(
    total: float, words: str, y_px: float, colours: Palette, *, left: bool
) -> list[alt.Chart]:
    """Dashed line at a total, with words beside it at a height, on a halo."""
    data = alt.Data(values=[{"total": total, "words": words}])  # type: ignore[no-untyped-call]
    base = alt.Chart(data).encode(x="total:Q")
    side = base.encode(y=alt.value(y_px), text="words:N")
    text: dict[str, Any] = {
        "align": "right" if left else "left",
        "dx": -6 if left else 6,
        "fontSize": 13,
    }
    halo: dict[str, Any] = {"fill": colours.halo, "stroke": colours.halo, "strokeWidth": 4}
    return [
        base.mark_rule(color=colours.ink, strokeDash=[5, 4], strokeWidth=1.4),
        side.mark_text(**text, **halo, strokeJoin="round"),
        side.mark_text(**text, fill=colours.ink),
    ]


def _finished(layers: list[alt.Chart], *, height: int = HEIGHT) -> alt.LayerChart:
    chart: alt.LayerChart = (
        alt.layer(*layers)
        .properties(width=WIDTH, height=height)
        .configure(background="transparent", view=alt.ViewConfig(strokeWidth=0))
    )
    return chart
