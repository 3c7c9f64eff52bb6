"""Charts of playing for a target: the chance by strokes in hand on a tee."""

from __future__ import annotations

from typing import Any

import altair as alt

from planner.report import target_words as words
from planner.report.palette import LIGHT, Palette
from planner.report.score_figures import mixed
from planner.strategy.target_results import TargetHole

__all__ = ["standings_alt", "standings_chart"]

WIDTH, HEIGHT = 340, 240
"""Size [px]: a phone held upright."""
FAINT = 0.3
"""Share of the bar's colour in the bars of how often a standing comes up."""
POINT_SIZE = 60


def standings_chart(hole: TargetHole, colours: Palette = LIGHT) -> alt.LayerChart:
    """Chance of the target by strokes in hand on a tee.

    The line is that of best play, filled points where it differs from the plan; the dashed line
    is the plan's. Faint bars are how often a golfer stands so, the most common full height.
    """
    most = max([row.reach for row in hole.standings], default=0.0) or 1.0
    rows: list[dict[str, Any]] = [
        {
            "in_hand": row.in_hand,
            "left": row.in_hand - 0.4,
            "right": row.in_hand + 0.4,
            "chance": row.chance,
            "planned": row.chance_planned,
            "often": row.reach / most,
            "differs": row.differs,
            "said": f"{row.in_hand} in hand, {words.stand_of(row.behind)}: "
            f"{words.chance(row.chance)}, as planned {words.chance(row.chance_planned)}",
        }
        for row in hole.standings
    ]
    data = alt.Data(values=rows)  # type: ignore[no-untyped-call]
    first = min([row.in_hand for row in hole.standings], default=0)
    last = max([row.in_hand for row in hole.standings], default=1)
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
    scale = alt.Scale(domain=[first - 0.7, last + 0.7], nice=False, zero=False)
    axis = alt.Axis(format="d", tickMinStep=1, grid=False, **looks)
    across = alt.X("in_hand:Q", title="strokes in hand on the tee", scale=scale, axis=axis)
    up = alt.Scale(domain=[0.0, 1.0], nice=False)
    up_axis = alt.Axis(format="%", tickCount=5, **looks)

    def height(field: str) -> alt.Y:
        return alt.Y(field, title="chance of the target", scale=up, axis=up_axis)

    base = alt.Chart(data)
    # Every layer has the same axes: one without would take them from all.
    often = base.mark_bar(color=mixed(colours.halo, colours.bar, FAINT)).encode(
        x=alt.X("left:Q", title="strokes in hand on the tee", scale=scale, axis=axis),
        x2="right:Q",
        y=height("often:Q"),
        y2=alt.YDatum(0.0),
    )
    planned = base.mark_line(color=colours.ink, strokeDash=[5, 4], strokeWidth=1.4).encode(
        x=across, y=height("planned:Q")
    )
    best = base.mark_line(color=colours.bar, strokeWidth=2).encode(x=across, y=height("chance:Q"))
    points = base.mark_point(
        size=POINT_SIZE, opacity=1.0, stroke=colours.bar, strokeWidth=2
    ).encode(
        x=across,
        y=height("chance:Q"),
        fill=alt.condition(alt.datum.differs, alt.value(colours.bar), alt.value(colours.halo)),
        tooltip=alt.Tooltip("said:N", title=" "),
    )
    chart: alt.LayerChart = (
        alt.layer(often, planned, best, points)
        .properties(width=WIDTH, height=HEIGHT)
        .configure(background="transparent", view=alt.ViewConfig(strokeWidth=0))
    )
    return chart


def standings_alt(hole: TargetHole) -> str:
    """What the chart shows, for those who cannot see it."""
    return f"Chance of the target on the tee of hole {hole.ref}: " + ", ".join(
        f"{row.in_hand} in hand {words.chance(row.chance)}" for row in hole.standings
    )
