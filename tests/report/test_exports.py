"""The SVG shows the drawing at its scale and not mirrored."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
import shapely

from planner.course.hole import Hole
from planner.report.drawing import Drawing
from planner.report.figures import chance_chart
from planner.report.hole_drawing import draw_hole
from planner.report.hole_svg import hole_svg
from planner.report.legend import legend
from planner.report.palette import DARK, LIGHT
from planner.strategy.advice import HolePlan, Shot

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def drawing(hole: Hole, plan: HolePlan) -> Drawing:
    return draw_hole(hole, plan.best, next_shots=plan.next_shots)


def test_svg_is_well_formed_with_title_description_and_all_shapes(drawing: Drawing) -> None:
    root = ElementTree.fromstring(hole_svg(drawing))
    assert root.find(f"{SVG}title").text == "Hole 7, par 4"
    assert root.find(f"{SVG}desc").text == drawing.alt
    assert len(root.findall(f"{SVG}path")) == len(drawing.shapes)
    texts = [element.text for element in root.findall(f"{SVG}text")]
    assert texts == [label.text for label in drawing.labels]


def test_svg_puts_the_ball_where_it_lies(drawing: Drawing) -> None:
    root = ElementTree.fromstring(hole_svg(drawing))
    ball = next(p for p in root.findall(f"{SVG}path") if p.findtext(f"{SVG}title") == "ball")
    numbers = [pair.split() for pair in ball.get("d").strip("MZ").split("L")]
    middle = shapely.Polygon([(float(x), float(y)) for x, y in numbers]).centroid
    assert (middle.x, middle.y) == pytest.approx(drawing.view.to_px(0.0, 0.0), abs=0.05)


def test_names_of_the_map_cannot_break_the_svg(drawing: Drawing) -> None:
    text = hole_svg(drawing, DARK)
    assert 'Mill <"&> pond' not in text
    assert "Mill &lt;" in text
    ElementTree.fromstring(text)


def test_chances_are_all_shown(shot: Shot) -> None:
    spec = chance_chart(shot.shares, LIGHT).to_dict()
    rows = spec["layer"][0]["data"]["values"] if "data" not in spec else spec["data"]["values"]
    shown = {row["place"]: row["share"] for row in rows}
    assert shown["fairway"] == 0.55
    assert shown["penalty area"] == 0.08
    assert sum(row["share"] for row in rows[:-1]) == pytest.approx(1.0)
    assert rows[-1]["place"].startswith("mishit")


def test_the_key_names_every_ground_of_the_drawing(drawing: Drawing) -> None:
    key = {shape.role for shape in legend().shapes}
    assert {shape.role for shape in drawing.shapes} <= key | {
        "boundary",
        "distance",
        "aim point",
        "ball",
        "pin",
        "pin flag",
        "next place",
    }
    ElementTree.fromstring(hole_svg(legend()))
