"""Charts of bags: strokes against money, what clubs are worth, differences hole by hole."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import altair as alt

from planner.report.bag_rows import LEAST_SAVED, money, signed
from planner.report.palette import LIGHT, Palette
from planner.report.score_figures import mixed
from planner.strategy.bag_results import BagAdvice, BagDifference, ClubWorth

__all__ = [
    "difference_alt",
    "difference_chart",
    "frontier_alt",
    "frontier_chart",
    "rounds_in",
    "worth_alt",
    "worth_chart",
]

WIDTH, HEIGHT, ROW_HEIGHT = 340, 240, 24
FAINT = 0.45


def frontier_chart(advice: BagAdvice, colours: Palette = LIGHT) -> alt.LayerChart:
    """Strokes saved against money spent; each step is the best that money buys."""
    rows = [
        {
            "money": point.money,
            "saved": point.saved,
            "shown": ", ".join(club for club in advice.candidates if club in point.bought)
            or "nothing",
            "said": f"{money(point.money, advice.currency)}: saves {point.saved:.2f}",
        }
        for point in advice.frontier
    ]
    techniques = [row for row in advice.money if row.technique and row.saved > LEAST_SAVED]
    looks = _looks(colours)
    most = max([1.0, *(float(point.money) for point in advice.frontier)])
    top = max([0.01, *(p.saved for p in advice.frontier), *(row.saved for row in techniques)])
    x = alt.X(
        "money:Q",
        title="money",
        scale=alt.Scale(domain=[0.0, 1.05 * most], nice=False),
        axis=alt.Axis(tickCount=5, **looks),
    )
    y = alt.Y(
        "saved:Q",
        title="strokes saved a round",
        scale=alt.Scale(domain=[0.0, 1.15 * top], nice=False),
        axis=alt.Axis(tickCount=5, **looks),
    )
    steps = alt.Chart(_data(rows)).encode(x=x, y=y)
    layers: list[alt.Chart] = [
        steps.mark_line(interpolate="step-after", color=colours.bar, strokeWidth=2),
        steps.mark_point(filled=True, size=50, color=colours.bar, opacity=1.0).encode(
            tooltip=[alt.Tooltip("said:N", title=" "), alt.Tooltip("shown:N", title="buy")]
        ),
    ]
    if techniques:
        levels = alt.Chart(
            _data([{"saved": row.saved, "shown": row.name, "money": 0.0} for row in techniques])
        ).encode(y=y)
        layers += [
            levels.mark_rule(color=colours.ink, strokeDash=[4, 3], strokeWidth=1),
            levels.mark_text(align="left", dx=4, dy=-6, fontSize=11, fill=colours.ink).encode(
                x=x, text="shown:N"
            ),
        ]
    return _finished(layers, HEIGHT)


def frontier_alt(advice: BagAdvice) -> str:
    """What the frontier shows, for those who cannot see it."""
    return "Strokes saved for money: " + ", ".join(
        f"{money(point.money, advice.currency)} {point.saved:.2f}" for point in advice.frontier
    )


def worth_alt(worths: Sequence[ClubWorth]) -> str:
    """What the chart of worths shows, for those who cannot see it."""
    return "Strokes a round that each club is missed for: " + ", ".join(
        f"{worth.club} {'needed' if math.isinf(worth.missed) else signed(worth.missed)}"
        for worth in worths
        if worth.carried
    )


def worth_chart(worths: Sequence[ClubWorth], colours: Palette = LIGHT) -> alt.LayerChart:
    """What each carried club is missed for as a bar, and its share as a mark."""
    shown = [worth for worth in worths if worth.carried and math.isfinite(worth.missed)]
    rows = [
        {
            "name": worth.club,
            "value": worth.missed,
            "share": worth.share if math.isfinite(worth.share) else None,
            "said": f"{worth.club}: missed for {worth.missed:.2f} strokes a round",
        }
        for worth in shown
    ]
    looks = _looks(colours)
    base = alt.Chart(_data(rows)).encode(
        y=alt.Y("name:N", sort=None, title=None, axis=alt.Axis(labelLimit=140, **looks))
    )
    bars = base.mark_bar(height=ROW_HEIGHT - 9, cornerRadiusEnd=2, color=colours.bar).encode(
        x=alt.X("value:Q", title="strokes a round", axis=alt.Axis(tickCount=4, **looks)),
        tooltip=alt.Tooltip("said:N", title=" "),
    )
    marks = base.mark_tick(color=colours.ink, thickness=3, height=ROW_HEIGHT - 6).encode(
        x="share:Q"
    )
    return _finished([bars, marks], ROW_HEIGHT * max(len(rows), 1))


def rounds_in(one: BagDifference) -> tuple[str, ...]:
    """Rounds that a difference is told of hole by hole, in order."""
    return tuple(dict.fromkeys(hole.course for hole in one.holes))


def difference_alt(one: BagDifference, which: str) -> str:
    """What the chart of one round shows, for those who cannot see it."""
    return "Strokes, second bag less first: " + ", ".join(
        f"hole {hole.ref} {signed(hole.strokes)}" for hole in one.holes if hole.course == which
    )


def difference_chart(
    one: BagDifference, which: str | None = None, colours: Palette = LIGHT
) -> alt.LayerChart:
    """Differences hole by hole with one standard deviation to either side.

    Parameters
    ----------
    which
        Round that is shown; all holes if None.
    """
    rows = [
        {
            "shown": hole.ref,
            "value": hole.strokes,
            "low": hole.strokes - hole.sd,
            "high": hole.strokes + hole.sd,
            "said": f"hole {hole.ref}: {signed(hole.strokes)}",
        }
        for hole in one.holes
        if which is None or hole.course == which
    ]
    looks = _looks(colours)
    faint = mixed(colours.halo, colours.bar, FAINT)
    base = alt.Chart(_data(rows)).encode(
        x=alt.X("shown:N", sort=None, title="hole", axis=alt.Axis(labelAngle=0, **looks))
    )
    bars = base.mark_bar().encode(
        y=alt.Y("value:Q", title="strokes, second bag less first", axis=alt.Axis(**looks)),
        color=alt.condition(alt.datum.value > 0, alt.value(faint), alt.value(colours.bar)),
        tooltip=alt.Tooltip("said:N", title=" "),
    )
    reach = base.mark_rule(color=colours.ink, strokeWidth=1.2).encode(y="low:Q", y2="high:Q")
    return _finished([bars, reach], HEIGHT)


def _data(rows: list[dict[str, Any]]) -> alt.Data:
    return alt.Data(values=rows)  # type: ignore[no-untyped-call]


def _looks(colours: Palette) -> dict[str, Any]:
    return {
        "labelColor": colours.ink,
        "titleColor": colours.ink,
        "gridColor": colours.grid,
        "domainColor": colours.grid,
        "tickColor": colours.grid,
        "labelFontSize": 12,
        "titleFontSize": 12,
        "titleFontWeight": "normal",
    }


def _finished(layers: Sequence[alt.Chart], height: int) -> alt.LayerChart:
    chart: alt.LayerChart = (
        alt.layer(*layers)
        .properties(width=WIDTH, height=height)
        .configure(background="transparent", view=alt.ViewConfig(strokeWidth=0))
    )
    return chart
