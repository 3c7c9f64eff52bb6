"""Charts for the page: the chances of a shot. They compute nothing."""

from __future__ import annotations

from typing import Any

import altair as alt

from planner.report.palette import LIGHT, Palette
from planner.report.words import chances, percent
from planner.strategy.advice import Shares

__all__ = ["chance_chart"]

NO_PADDING = {"left": 0, "top": 0, "right": 0, "bottom": 0}


def chance_chart(shares: Shares, colours: Palette = LIGHT) -> alt.LayerChart:
    """Chances of one shot as level bars with their numbers, places first, mishits last."""
    rows: list[dict[str, Any]] = [
        {"place": name, "share": share, "percent": percent(share), "order": i}
        for i, (name, share) in enumerate(chances(shares))
    ]
    base = alt.Chart(alt.Data(values=rows)).encode(  # type: ignore[no-untyped-call]
        y=alt.Y(
            "place:N",
            sort=[row["place"] for row in rows],
            title=None,
            axis=alt.Axis(
                labelLimit=150,
                labelFontSize=13,
                labelColor=colours.ink,
                ticks=False,
                domain=False,
                grid=False,
            ),
        )
    )
    x = alt.X("share:Q", scale=alt.Scale(domain=[0, 1.12], nice=False), axis=None)
    bars = base.mark_bar(height=12, color=colours.bar, cornerRadius=1).encode(x=x)
    numbers = base.mark_text(align="left", dx=5, fontSize=13, fill=colours.ink).encode(
        x=x, text="percent:N"
    )
    chart: alt.LayerChart = (
        alt.layer(bars, numbers)
        .properties(height=24 * len(rows), padding=NO_PADDING)
        .configure(background="transparent", view=alt.ViewConfig(strokeWidth=0))
    )
    return chart
