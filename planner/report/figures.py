"""Charts for the page: the drawn hole and the chances of a shot. They compute nothing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import altair as alt
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from planner.report.drawing import LOOKS, Drawing, Label, Shape
from planner.report.palette import LIGHT, Palette, Style
from planner.report.words import chances, percent
from planner.strategy.advice import Shares

__all__ = ["chance_chart", "hole_chart"]

NO_PADDING = {"left": 0, "top": 0, "right": 0, "bottom": 0}
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
    datasets: dict[str, list[dict[str, Any]]] = {
        "shapes": [_feature(shape, colours[shape.role]) for shape in drawing.shapes],
        "labels": [_text_row(label) for label in drawing.labels],
    }
    layers = [_shape_layer(), *_label_layers(colours)]
    chart: alt.LayerChart = (
        alt.layer(*[layer.project(**place) for layer in layers])
        .properties(width=view.width_px, height=view.height_px, padding=NO_PADDING)
        .configure(background="transparent", view=alt.ViewConfig(strokeWidth=0))
    )
    # Named datasets are passed on as they are; data inside a layer is copied and checked often.
    chart.datasets = datasets
    return chart


def _shape_layer() -> alt.Chart:
    """One layer for all shapes: each row carries its own style, so their order is kept."""
    painted: dict[str, Any] = {
        "fill": alt.Fill("fill:N", scale=None),
        "fillOpacity": alt.FillOpacity("fillOpacity:Q", scale=None),
        "stroke": alt.Stroke("stroke:N", scale=None),
        "strokeWidth": alt.StrokeWidth("strokeWidth:Q", scale=None),
        "strokeDash": alt.StrokeDash("strokeDash:N", scale=None),
        "opacity": alt.Opacity("opacity:Q", scale=None),
    }
    chart: alt.Chart = (
        alt.Chart(alt.NamedData("shapes"))
        .mark_geoshape(strokeCap="round", strokeJoin="round", clip=True)
        .encode(tooltip=alt.Tooltip("words:N", title=" "), **painted)
    )
    return chart


def _feature(shape: Shape, style: Style) -> dict[str, Any]:
    return {
        "type": "Feature",
        "words": shape.words,
        "fill": style.fill or "none",
        "fillOpacity": style.fill_opacity,
        "stroke": style.stroke or "none",
        "strokeWidth": style.stroke_width,
        "strokeDash": list(style.dash),
        "opacity": style.opacity,
        "geometry": _geojson(shape.geometry),
    }


def _geojson(geometry: BaseGeometry) -> dict[str, Any]:
    """GeoJSON geometry, rings clockwise: the other way round the fill covers the outside."""
    rounded = shapely.transform(geometry, lambda points: np.round(points, DECIMALS))
    return dict(shapely.geometry.mapping(shapely.orient_polygons(rounded, exterior_cw=True)))


def _text_row(label: Label) -> dict[str, Any]:
    # The projection takes no offsets in pixels by field, so looks are told apart by a filter.
    return {"text": label.text, "x": label.at[0], "y": label.at[1], "look": label.look}


def _label_layers(colours: Palette) -> Iterator[alt.Chart]:
    """Texts, each over a halo of its own so that it can be read on any ground."""
    for look, style in LOOKS.items():
        chart = (
            alt.Chart(alt.NamedData("labels"))
            .transform_filter(alt.FieldEqualPredicate(field="look", equal=look))
            .encode(longitude="x:Q", latitude="y:Q", text="text:N")
        )
        text: dict[str, Any] = {
            "align": style.align,
            "baseline": "middle",
            "fontSize": style.size,
            "fontWeight": "bold" if style.bold else "normal",
            "dx": style.dx,
        }
        halo: dict[str, Any] = {"fill": colours.halo, "stroke": colours.halo, "strokeWidth": 3.5}
        yield chart.mark_text(**text, **halo, strokeJoin="round")
        yield chart.mark_text(**text, fill=colours.ink)


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
