"""Names on maps, in bags and shot logs are text wherever they are shown, never markup or script."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from planner.page.inputs import uploaded_file
from planner.page.plain import plain
from planner.report.drawing import Drawing, Label, Shape
from planner.report.hole_svg import hole_svg
from planner.report.view import View

HERE = Path(__file__).resolve().parent
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = (
    "<img src=x onerror=\"document.title='broken'\">",
    "<script>document.title='broken'</script>",
    "[click](javascript:document.title='broken')",
    "![x](http://127.0.0.1:9/stolen)",
    "</text><svg onload=\"document.title='broken'\">",
    ":red[x] $x^2$ `code` **bold**",
    "&lt;b&gt; {{7*7}} ${7*7}",
)
TEXTS = st.one_of(
    st.sampled_from(HOSTILE),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=30),
)


def drawing_of(text: str) -> Drawing:
    """Drawing of one shape with a text wherever a drawing has one."""
    view = View(0.0, 0.0, 100.0, 100.0, 2.0)
    shape = Shape("green", shapely.box(10, 10, 50, 50), text)
    return Drawing(view, (shape,), (Label(text, (20.0, 20.0), "place"),), text, text)


@given(text=TEXTS)
def test_svg_has_the_text_and_nothing_else_of_it(text: str) -> None:
    root = ElementTree.fromstring(hole_svg(drawing_of(text)))
    assert {element.tag for element in root.iter()} <= {
        SVG + name for name in ("svg", "title", "desc", "path", "text")
    }
    assert not [key for element in root.iter() for key in element.attrib if key.startswith("on")]
    (label,) = root.iter(SVG + "text")
    assert (label.text or "") == _as_xml(text)


@given(text=TEXTS)
def test_plain_text_has_no_bare_markup(text: str) -> None:
    shown = plain(text)
    bare = re.sub(r"\\.", "", shown)
    assert not re.search(r"[\\`*_{}\[\]<>()#!|~$:&]", bare)
    assert "\n" not in shown
    assert re.sub(r"\\(.)", r"\1", shown).split() == text.split()


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/passwd", "passwd"),
        ("..\\..\\boot.ini", "boot.ini"),
        ("..", "file"),
        (".", "file"),
        ("", "file"),
        ("a/..", "file"),
        ("map\0.osm", "map.osm"),
        ("C:map.osm", "Cmap.osm"),
        ("m" * 300 + ".geojson", "m" * 50 + ".geojson"),
        ("\N{BEACH WITH UMBRELLA}" * 300, "\N{BEACH WITH UMBRELLA}" * 50),
        ("<b>.toml", "b.toml"),
        (".toml", "toml"),
    ],
)
def test_names_of_uploads_lead_nowhere(name: str, kept: str, tmp_path: Path) -> None:
    found = uploaded_file(name, b"x").name
    assert found == kept
    path = tmp_path / found
    path.write_bytes(b"x")
    assert path.resolve().parent == tmp_path.resolve()


@given(name=st.text(max_size=80))
def test_any_name_of_an_upload_is_a_file_here(name: str) -> None:
    found = uploaded_file(name, b"").name
    assert Path(found).name == found
    assert found not in ("", ".", "..")
    assert len(found.encode()) <= 255
    assert found.isprintable()


@pytest.mark.parametrize("text", HOSTILE)
def test_pdf_draws_the_text_and_acts_on_nothing(text: str, stand_in: Any) -> None:
    from dataclasses import replace

    import pypdfium2

    from planner.course.reading import read_course
    from planner.demo_data import demo_bag, demo_folder
    from planner.golfer.bag import read_bag
    from planner.planning.printing import coach_sheet, pocket_card
    from planner.planning.request import PlanRequest
    from planner.units import DistanceUnit

    course = read_course(demo_folder() / "pebblecote.geojson")
    bag = read_bag(demo_bag("odile_marrow"))
    golfer = replace(bag.golfer, name=text)
    request = PlanRequest(replace(course, name=text), replace(bag, golfer=golfer), tee="red")
    plan = stand_in.plan_round(request)
    for made in (
        coach_sheet(plan, unit=DistanceUnit.METRES),
        pocket_card(plan, unit=DistanceUnit.METRES),
    ):
        for action in (b"/JS", b"/JavaScript", b"/URI", b"/OpenAction", b"/Launch", b"/Annots"):
            assert action not in made
        document = pypdfium2.PdfDocument(made)
        words = "".join(page.get_textpage().get_text_range() for page in document)
        # A long name may be cut or set in several lines: its start is there letter by letter.
        assert "".join(text.split())[:8] in "".join(words.split())


def _as_xml(text: str) -> str:
    """Text as XML reads it: line ends become line feeds."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _hostile_map(folder: Path) -> Path:
    from planner.demo_data import demo_folder

    document = json.loads((demo_folder() / "pebblecote.geojson").read_text(encoding="utf-8"))
    document["attribution"] = HOSTILE[0]
    for number, feature in enumerate(document["features"]):
        feature["properties"]["name"] = HOSTILE[number % len(HOSTILE)]
        feature["id"] = HOSTILE[(number + 1) % len(HOSTILE)]
        if feature["properties"].get("golf") == "tee":
            feature["properties"]["tee"] = HOSTILE[1]
        feature["properties"].pop("golf:course", None)
    # A feature that is left out is reported by its id.
    document["features"].append(
        {"type": "Feature", "id": HOSTILE[0], "properties": {"golf": "bunker"}, "geometry": None}
    )
    path = folder / "hostile.geojson"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


def _hostile_bag(folder: Path) -> Path:
    from planner.demo_data import demo_bag

    text = demo_bag("odile_marrow").read_text(encoding="utf-8")
    text = re.sub(r'(?m)^name = ".*"', "name = " + json.dumps(HOSTILE[0]), text)
    text = text.replace('"Driver"', json.dumps(HOSTILE[1])).replace('"3 wood"', '"$x^2$ **b**"')
    path = folder / "hostile.toml"
    path.write_text(text, encoding="utf-8")
    return path
