"""Charts for the page: the drawn hole and the chances of a shot. They compute nothing."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

import altair as alt
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from planner.report.hole_drawing import Drawing, Label, Shape
from planner.report.palette import LIGHT, Palette
from planner.report.words import chances, percent
from planner.strategy.advice import Shares

__all__ = ["chance_chart", "hole_chart"]

DECIMALS = 2
"""Coordinates are sent in centimetres; finer cannot be seen."""


def hole_chart(drawing: Drawing, colours: Palette = LIGHT) -> alt.LayerChart:
    """Chart of a drawn hole with a fixed size and the same scale both ways."""
    view = drawing.view
    # Identity projection with the scale given: never fitted, so never stretched or mirrored.
    place: dict[str, Any] = {
        "type": "identity",
        "reflectY": True,
        "scale": view.scale,
        "translate": [-view.left * view.scale, view.top * view.scale],
    }
    layers = [_layer(list(run), colours) for _, run in groupby(drawing.shapes, lambda s: s.role)]
    layers += list(_label_layers(drawing, colours))
    chart: alt.LayerChart = (
        alt.layer(*[layer.project(**place) for layer in layers])
        .properties(
            width=view.width_px,
            height=view.height_px,
            padding={"left": 0, "top": 0, "right": 0, "bottom": 0},
        )
        .configure_view(stroke=None)
        .configure(background="transparent")
    )
    return chart


def _layer(shapes: list[Shape], colours: Palette) -> alt.Chart:
    style = colours[shapes[0].role]
    mark: dict[str, Any] = {
        "fill": style.fill or None,
        "fillOpacity": style.fill_opacity,
        "opacity": style.opacity,
        "strokeCap": "round",
        "strokeJoin": "round",
    }
    if style.stroke:
        mark |= {"stroke": style.stroke, "strokeWidth": style.stroke_width}
        if style.dash:
            mark["strokeDash"] = list(style.dash)
    features = [
        {"type": "Feature", "words": shape.words, "geometry": _geojson(shape.geometry)}
        for shape in shapes
    ]
    chart: alt.Chart = (
        _chart(features).mark_geoshape(**mark).encode(tooltip=alt.Tooltip("words:N", title=" "))
    )
    return chart


def _chart(rows: list[dict[str, Any]]) -> alt.Chart:
    return alt.Chart(alt.Data(values=rows))  # type: ignore[no-untyped-call]


def _geojson(geometry: BaseGeometry) -> dict[str, Any]:
    """GeoJSON geometry, rings clockwise: the other way round the fill covers the outside."""
    rounded = shapely.transform(geometry, lambda points: np.round(points, DECIMALS))
    return dict(shapely.geometry.mapping(shapely.orient_polygons(rounded, exterior_cw=True)))


def _label_layers(drawing: Drawing, colours: Palette) -> Iterator[alt.Chart]:
    """Texts, each over a halo of its own so that it can be read on any ground."""

    def look(label: Label) -> tuple[str, float, bool, float, float]:
        return (label.align, label.size, label.bold, label.dx, label.dy)

    for (align, size, bold, dx, dy), run in groupby(sorted(drawing.labels, key=look), look):
        rows = [{"text": label.text, "x": label.at[0], "y": label.at[1]} for label in run]
        chart = _chart(rows).encode(longitude="x:Q", latitude="y:Q", text="text:N")
        text: dict[str, Any] = {
            "align": align,
            "baseline": "middle",
            "fontSize": size,
            "fontWeight": "bold" if bold else "normal",
            "dx": dx,
            "dy": dy,
        }
        yield chart.mark_text(
            **text, fill=colours.halo, stroke=colours.halo, strokeWidth=3.5, strokeJoin="round"
        )
        yield chart.mark_text(**text, fill=colours.ink)


def chance_chart(shares: Shares, colours: Palette = LIGHT) -> alt.LayerChart:
    """Chances of one shot as level bars with their numbers, places first, mishits last."""
    rows: list[dict[str, Any]] = [
        {"place": name, "share": share, "percent": percent(share), "order": i}
        for i, (name, share) in enumerate(chances(shares))
    ]
    base = _chart(rows).encode(
        y=alt.Y(
            "place:N",
            sort=[row["place"] for row in rows],
            title=None,
            axis=alt.Axis(
                labelLimit=150, labelFontSize=13, labelColor=colours.ink, ticks=False, domain=False
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
        .properties(height=24 * len(rows), padding={"left": 0, "top": 0, "right": 0, "bottom": 0})
        .configure_view(stroke=None)
        .configure(background="transparent")
    )
    return chart
