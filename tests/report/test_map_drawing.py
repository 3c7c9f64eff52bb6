"""The map as it is drawn: north at the top, equal scale, what is worked on marked."""

from __future__ import annotations

from xml.etree import ElementTree

import numpy as np
import pytest
import shapely

from planner.course.map_document import read_document
from planner.course.map_sheet import MapSheet, centre_of_document, map_sheet
from planner.demo_data import demo_folder
from planner.report.hole_svg import hole_svg
from planner.report.map_drawing import MapMarks, draw_map, map_view
from planner.report.palette import DARK


@pytest.fixture(scope="module")
def sheet() -> MapSheet:
    document = read_document(demo_folder() / "tarrowick.geojson")
    return map_sheet(document, centre_lonlat=centre_of_document(document))


@pytest.mark.parametrize("width", [350, 560])
@pytest.mark.parametrize(("north", "share"), [(80.0, 0.7), (380.0, 1.0), (900.0, 1.25)])
def test_a_window_holds_its_box_at_equal_scale(width: int, north: float, share: float) -> None:
    view = map_view((-100.0, -20.0, 300.0, north), width)
    assert (view.width_px, view.height_px) == (width, round(share * width))
    assert view.window.buffer(1e-6).covers(shapely.box(-100.0, -20.0, 300.0, north))


def test_every_hole_has_its_number_on_the_whole_course(sheet: MapSheet) -> None:
    view = map_view(sheet.bounds(), 350)
    drawing = draw_map(sheet, view, MapMarks(), title="x")
    numbers = {label.text for label in drawing.labels if label.text.isdigit()}
    assert numbers == {str(i) for i in range(1, 19)}
    assert all(view.sheet.buffer(1e-6).covers(shape.geometry) for shape in drawing.shapes)
    ElementTree.fromstring(hole_svg(drawing, DARK))


def test_what_is_worked_on_is_marked(sheet: MapSheet) -> None:
    box = sheet.holes()["3"]
    green = next(
        item
        for item in sheet.items
        if item.kind.value == "green" and item.shape_proj.within(shapely.box(*box))
    )
    corners = shapely.get_coordinates(green.shape_proj)[:-1]
    west, south, east, north = box
    points = [(west + 5, south + 5), (east - 5, south + 5), (east - 5, north - 5)]
    marks = MapMarks(green.index, corners, 2, points, closes=True)
    shapes = draw_map(sheet, map_view(box, 350), marks, title="x").shapes
    roles = [shape.role for shape in shapes]
    assert roles.count("corner chosen") == 1
    assert roles.count("corner") == len(corners) - 1 + len(points)
    ring = next(s.geometry for s in shapes if s.words == "being drawn")
    assert ring.is_ring
    chosen = next(s.geometry for s in shapes if s.role == "corner chosen")
    assert np.allclose(chosen.centroid.coords[0], corners[2], atol=0.1)
