"""Charts of where strokes go, what is gained on a reference golfer, and what practice is worth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import altair as alt

from planner.report.palette import LIGHT, Palette
from planner.report.practice_text import signed
from planner.report.score_figures import mixed
from planner.strategy.practice_plan import PracticeStep
from planner.strategy.reference_gains import Gain
from planner.strategy.stroke_split import StrokeSplit

__all__ = ["gains_chart", "split_chart", "steps_chart", "total_alt"]

WIDTH, ROW_HEIGHT = 340, 26
"""Width of a chart with its names, and height of a row [px]: a phone held upright."""
FOOT = 48
"""Height of the scale below the rows [px]."""
NAME_WIDTH = 150
FAINT = 0.45
"""Share of the bar's colour in the lighter bars: told apart by lightness, in any sight."""
ROOM = 1.28
"""Length of the scale over the longest bar, so that numbers stand clear."""


def split_chart(split: StrokeSplit, colours: Palette = LIGHT) -> alt.LayerChart:
    """Share of every cause as a bar, and as a thin line from what it costs last to alone."""
    rows: list[dict[str, Any]] = [
        {
            "name": part.name,
            "value": part.share,
            "low": min(part.alone, part.last),
            "high": max(part.alone, part.last),
            "shown": f"{part.share:.2f}",
            "said": f"{part.name}: {part.share:.2f} strokes; alone {part.alone:.2f}, last "
            f"{part.last:.2f}",
        }
        for part in split.parts
    ]
    if abs(split.together) >= 0.005:
        rows.append(_plain_row("several together", split.together))
    low = min([0.0, *(float(row["low"]) for row in rows)])
    high = max(float(row["high"]) for row in rows)
    return _bars(rows, "strokes a round", colours, low=low * ROOM, high=high * ROOM, whisker=True)


def gains_chart(gains: Sequence[Gain], colours: Palette = LIGHT) -> alt.LayerChart:
    """Strokes gained on a reference golfer: to the right where the golfer is better."""
    rows = [_plain_row(gain.name, gain.gained) for gain in gains]
    reach = ROOM * max(abs(gain.gained) for gain in gains)
    low, high = -reach, max(0.25 * reach, ROOM * max(gain.gained for gain in gains))
    return _bars(rows, "strokes gained a round", colours, low=low, high=high, whisker=False)


def steps_chart(steps: Sequence[PracticeStep], colours: Palette = LIGHT) -> alt.LayerChart:
    """Strokes a round that ten hours of practice of each ability save."""
    rows = [_plain_row(step.name, step.strokes_in_ten_hours, digits=3) for step in steps]
    high = ROOM * max(0.001, *(step.strokes_in_ten_hours for step in steps))
    low = min(0.0, ROOM * min(step.strokes_in_ten_hours for step in steps))
    return _bars(rows, "strokes a round, ten hours", colours, low=low, high=high, whisker=False)


def total_alt(name: str, rows: Sequence[tuple[str, float]]) -> str:
    """What a chart shows, for those who cannot see it."""
    return f"{name}: " + ", ".join(f"{row} {signed(value)}" for row, value in rows)


def _plain_row(name: str, value: float, *, digits: int = 2) -> dict[str, Any]:
    shown = f"{value:+.{digits}f}" if value < 0 else f"{value:.{digits}f}"
    return {
        "name": name,
        "value": value,
        "low": value,
        "high": value,
        "shown": shown,
        "said": f"{name}: {shown} strokes",
    }


def _bars(
    rows: Sequence[dict[str, Any]],
    title: str,
    colours: Palette,
    *,
    low: float,
    high: float,
    whisker: bool,
) -> alt.LayerChart:
    faint = mixed(colours.halo, colours.bar, FAINT)
    placed = [{**row, "beside": max(row["high"], 0.0)} for row in rows]
    data = alt.Data(values=placed)  # type: ignore[no-untyped-call]
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
    names = alt.Y("name:N", sort=None, title=None, axis=alt.Axis(labelLimit=NAME_WIDTH, **looks))
    scale = alt.Scale(domain=[low, high], nice=False)
    base = alt.Chart(data).encode(y=names)
    axis = alt.X("value:Q", title=title, scale=scale, axis=alt.Axis(tickCount=4, **looks))
    bars = base.mark_bar(cornerRadiusEnd=2, height=ROW_HEIGHT - 9).encode(
        x=axis,
        color=alt.condition(alt.datum.value < 0, alt.value(faint), alt.value(colours.bar)),
        tooltip=alt.Tooltip("said:N", title=" "),
    )
    layers: list[alt.Chart] = [bars]
    if whisker:
        layers.append(
            base.mark_rule(color=colours.ink, strokeWidth=1.2).encode(
                x=alt.X("low:Q", scale=scale), x2="high:Q"
            )
        )
    words: dict[str, Any] = {"fontSize": 12, "baseline": "middle", "fill": colours.ink}
    halo: dict[str, Any] = {"stroke": colours.halo, "strokeWidth": 3, "strokeJoin": "round"}
    # Beside the bar on its right, also where it points to the left: there the names stand.
    shown = base.encode(x=alt.X("beside:Q", scale=scale), text="shown:N")
    layers += [
        shown.mark_text(align="left", dx=5, **words, **halo),
        shown.mark_text(align="left", dx=5, **words),
    ]
    chart: alt.LayerChart = (
        alt.layer(*layers)
        .properties(
            width=WIDTH,
            height=ROW_HEIGHT * len(rows) + FOOT,
            autosize=alt.AutoSizeParams(type="fit", contains="padding"),
        )
        .configure(background="transparent", view=alt.ViewConfig(strokeWidth=0))
    )
    return chart
