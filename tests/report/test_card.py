"""The pocket card, read back from the file: size, typeface, text in its place, ground told apart.

The PDF is opened with pdfium, which knows nothing of how it was made.
"""

from __future__ import annotations

import ctypes
import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.course.lies import Ground
from planner.planning.printing import hole_carries, pocket_card
from planner.report.card import card_pages
from planner.report.card_covers import closing_panel, round_panels
from planner.report.card_layout import BOOKLET, LEAF, CardSize
from planner.report.card_words import SAFETY
from planner.report.cautions import CAUTIONS
from planner.report.imposition import PAPERS, imposed, leaf_sides
from planner.report.panel import Panel
from planner.report.print_drawing import LARGEST_SCALE, draw_for_print
from planner.report.print_palette import PRINT_GROUNDS
from planner.report.typesetting import Box
from planner.strategy.advice import HolePlan, RoundPlan
from planner.units import DistanceUnit

METRES, YARDS = DistanceUnit.METRES, DistanceUnit.YARDS
LEAF_SHORT_IN, LEAF_LONG_IN = 4.25, 7.0
"""Rule 4.3a(1), Rules of Golf 2023: no larger than 4 1/4 by 7 inches."""
LONG_NAME = "The Worshipful and Extraordinarily Long-Named Golfing Society of Nether Quill"
HTML_NAME = "<b>Bold</b> & <script>alert('x')</script> {{course}}"
UNICODE_NAME = "Ząbkowice Śląskie \u2013 Ørsted\u2019s Łąka, Ḽoᶇg ñ 東京 \u202eabc\u0007\ttab"
UNBROKEN = "Pneumonoultramicroscopicsilicovolcanoconiosis" * 2


@cache
def pages_of(
    plan: RoundPlan, *, size: CardSize = BOOKLET, unit: DistanceUnit = METRES
) -> list[Panel]:
    carries = {hole.hole.ref: hole_carries(hole) for hole in plan.holes}
    return card_pages(plan, carries, unit=unit, size=size)


@cache
def card(
    plan: RoundPlan, *, unit: DistanceUnit = METRES, paper: str = "a4", single: bool = False
) -> bytes:
    """The card, made once for all tests that ask for the same."""
    return pocket_card(plan, unit=unit, paper=paper, single=single)


@pytest.fixture(scope="module")
def short_round(demo_round: RoundPlan) -> RoundPlan:
    return replace(demo_round, holes=demo_round.holes[:2])


def read(data: bytes) -> pdfium.PdfDocument:
    return pdfium.PdfDocument(data)


def text_of(page: pdfium.PdfPage) -> str:
    return " ".join(page.get_textpage().get_text_range().replace("\u00a0", " ").split())


def whole_text(data: bytes) -> str:
    return " ".join(text_of(page) for page in read(data))


def text_objects(page: pdfium.PdfPage) -> Iterator[pdfium.PdfObject]:
    return page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_TEXT])


def in_box(inner: Box, outer: Box, slack: float = 0.01) -> bool:
    return (
        inner.left >= outer.left - slack
        and inner.bottom >= outer.bottom - slack
        and inner.right <= outer.right + slack
        and inner.top <= outer.top + slack
    )


def assert_well_set(panel: Panel) -> None:
    """No text leaves its box, none covers another, none is small, and drawings keep clear."""
    texts = panel.texts()
    for line in texts:
        assert in_box(line.box, panel.content), (panel.name, line)
        assert line.size >= 7.0, (panel.name, line)
    for one, other in combinations(texts, 2):
        assert not one.box.overlaps(other.box), (panel.name, one, other)
    for placed in panel.drawings:
        assert in_box(placed.box, panel.content)
        for line in panel.lines:
            assert not line.box.overlaps(placed.box), (panel.name, line)
        for label in placed.drawing.labels:
            window = Box(0.0, 0.0, placed.drawing.width, placed.drawing.height)
            assert in_box(label.box, window)


def renamed(plan: RoundPlan, name: str) -> RoundPlan:
    """The plan with one name wherever a file can put a text."""
    holes = []
    for one in plan.holes:
        others = tuple(replace(shot, club=f"{name} {i}") for i, shot in enumerate(one.others))
        assert one.best.aim is not None
        best = replace(one.best, club=name, aim=replace(one.best.aim, words=name))
        places = tuple(replace(place, place=name, best=best) for place in one.next_shots)
        hole = replace(one.hole, name=name)
        holes.append(replace(one, hole=hole, tee=name, best=best, others=others, next_shots=places))
    return replace(
        plan,
        course=name,
        golfer=name,
        bag=name,
        tee=f"{name} set",
        attribution=name * 2,
        conditions=name,
        notes=(name,) * 7,
        holes=tuple(holes),
    )


# -- size ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("paper", "size"), [("a4", (210 / 25.4, 297 / 25.4)), ("letter", (8.5, 11))]
)
def test_sheets_have_the_size_of_the_paper(
    demo_round: RoundPlan, paper: str, size: tuple[float, float]
) -> None:
    document = read(card(demo_round, unit=METRES, paper=paper))
    assert len(document) == 6
    for page in document:
        assert page.get_size() == pytest.approx([72 * side for side in size], abs=0.01)


def test_single_leaves_are_of_the_size_the_rule_allows(demo_round: RoundPlan) -> None:
    document = read(card(demo_round, unit=METRES, single=True))
    assert len(document) == 20
    for page in document:
        assert page.get_size() == pytest.approx([72 * LEAF_SHORT_IN, 72 * LEAF_LONG_IN])


@pytest.mark.parametrize("paper", PAPERS)
def test_an_open_leaf_is_of_the_size_the_rule_allows(demo_round: RoundPlan, paper: str) -> None:
    pages = pages_of(demo_round)
    for sheet in imposed(pages, paper):
        page = Box(0.0, 0.0, sheet.width, sheet.height)
        pairs = list(zip(sheet.panels[::2], sheet.panels[1::2], strict=True))
        leaves = []
        for (left, x0, y0), (right, x1, y1) in pairs:
            assert (y0, x1) == (y1, pytest.approx(x0 + left.width))
            leaf = Box(x0, y0, x1 + right.width, y0 + max(left.height, right.height))
            assert leaf.width <= 72 * LEAF_LONG_IN + 1e-6
            assert leaf.height <= 72 * LEAF_SHORT_IN + 1e-6
            assert in_box(leaf, page)
            # In the middle of the sheet, so the back comes to lie behind the front.
            assert (leaf.left + leaf.right) / 2 == pytest.approx(sheet.width / 2)
            leaves.append(leaf)
        assert not any(one.overlaps(other) for one, other in combinations(leaves, 2))
        for line in sheet.lines:
            assert in_box(line.box, page)
            assert line.size >= 7.0
            assert not any(line.box.overlaps(leaf) for leaf in leaves)
        for stroke in sheet.strokes:
            x, y = sorted((stroke.x0, stroke.x1)), sorted((stroke.y0, stroke.y1))
            mark = Box(x[0], y[0], x[1], y[1])
            assert in_box(mark, page)
            assert not any(mark.overlaps(leaf) for leaf in leaves)


def test_largest_scale_is_that_of_the_rule() -> None:
    # Rule 4.3a(1): 3/8 inch to 5 yards, which is 1:480.
    assert pytest.approx(0.375 * 72 / (5 * 0.9144)) == LARGEST_SCALE


@pytest.mark.parametrize("size", [BOOKLET, LEAF])
@pytest.mark.parametrize("shrunk", [1.0, 0.1, 0.02])
def test_no_green_is_drawn_larger_than_the_rule_allows(
    plan: HolePlan, size: CardSize, shrunk: float
) -> None:
    def small(points: np.ndarray) -> np.ndarray:
        return points * shrunk

    hole = replace(
        plan.hole,
        line_hole=shapely.transform(plan.hole.line_hole, small),
        pin_hole=(plan.hole.pin_hole[0] * shrunk, 0.0),
        areas=(),
        in_bounds=None,
    )
    tiny = replace(plan, hole=hole, best=replace(plan.best, aim=None, pattern=None))
    drawing = draw_for_print(
        tiny, unit=METRES, width=size.width, height=size.height, size=7.0, letters=2
    )
    assert drawing.view.scale <= LARGEST_SCALE * (1 + 1e-12)
    assert drawing.width == pytest.approx(size.width)
    assert drawing.height == pytest.approx(size.height)


# -- folding -----------------------------------------------------------------------------------


@given(st.integers(1, 30).map(lambda leaves: 4 * leaves))
def test_nested_leaves_read_in_order(count: int) -> None:
    leaves = leaf_sides(count)
    # Through the booklet: right halves from the outermost leaf inward, then left halves outward.
    first = [page for front, back in leaves for page in (front[1], back[0])]
    second = [page for front, back in reversed(leaves) for page in (back[1], front[0])]
    assert [*first, *second] == list(range(count))


def test_pages_that_do_not_fill_leaves_are_refused() -> None:
    with pytest.raises(ValueError, match="do not fill"):
        leaf_sides(18)


@pytest.mark.parametrize(("holes", "sides"), [(18, 6), (9, 4), (1, 2), (2, 2), (3, 2), (7, 4)])
def test_any_number_of_holes_fills_whole_leaves(
    demo_round: RoundPlan, holes: int, sides: int
) -> None:
    data = card(replace(demo_round, holes=demo_round.holes[:holes]), unit=METRES)
    assert len(read(data)) == sides


# -- text --------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", [METRES, YARDS])
@pytest.mark.parametrize("size", [BOOKLET, LEAF])
def test_every_text_is_in_its_place(
    demo_round: RoundPlan, size: CardSize, unit: DistanceUnit
) -> None:
    pages = pages_of(demo_round, size=size, unit=unit)
    assert len(pages) == 20
    for panel in pages:
        assert (panel.width, panel.height) == (size.width, size.height)
        assert_well_set(panel)


@pytest.mark.parametrize("name", [LONG_NAME, HTML_NAME, UNICODE_NAME, UNBROKEN, "?", " "])
@pytest.mark.parametrize("size", [BOOKLET, LEAF])
def test_names_of_any_kind_do_not_overflow(
    demo_round: RoundPlan, size: CardSize, name: str
) -> None:
    short = replace(demo_round, holes=demo_round.holes[:3])
    for panel in pages_of(renamed(short, name), size=size):
        assert_well_set(panel)


@settings(max_examples=15)
@given(st.text(max_size=90))
def test_no_text_at_all_overflows(demo_round: RoundPlan, name: str) -> None:
    one = replace(demo_round, holes=demo_round.holes[3:4])
    for panel in pages_of(renamed(one, name)):
        assert_well_set(panel)


def test_html_is_letters(short_round: RoundPlan) -> None:
    data = card(replace(short_round, course="<b>Nether</b> &amp; Quill"), unit=METRES)
    assert "<b>Nether</b> &amp; Quill" in whole_text(data)


def test_missing_letters_are_told(short_round: RoundPlan) -> None:
    told = '"?" stands for a letter that this typeface lacks.'
    assert told not in whole_text(card(short_round, unit=METRES))
    data = card(replace(short_round, golfer="東京"), unit=METRES)
    assert told in whole_text(data)


@pytest.mark.parametrize("unit", [METRES, YARDS])
@pytest.mark.parametrize("single", [False, True])
def test_every_hole_is_there_with_its_facts(
    demo_round: RoundPlan, unit: DistanceUnit, single: bool
) -> None:
    said = whole_text(card(demo_round, unit=unit, single=single))
    for plan in demo_round.holes:
        hole = plan.hole
        length = f"{plan.length_m / unit.metres:.0f} {unit.symbol}"
        assert f"Par {hole.par} · SI {hole.stroke_index} · {length}" in said
        assert hole.name in said
        assert f"{plan.best.club}, carries {plan.best.carry_m / unit.metres:.0f}" in said
        assert f"{plan.expected_strokes:.2f} strokes" in said
    assert said.count("Tee shot ") >= 18
    assert said.count("penalty area 4 %") >= 18


def test_a_page_says_what_the_plan_says(demo_round: RoundPlan) -> None:
    plan = demo_round.holes[3]
    (_, page, _) = pages_of(replace(demo_round, holes=(plan,)))
    said = " ".join(line.text for line in page.lines).replace("\u00a0", " ")
    other, place = plan.others[0], plan.next_shots[0]
    assert plan.best.aim is not None
    assert plan.best.aim.words in said
    assert f"Next best: {other.club}, {other.cost:.2f} strokes more." in said
    assert f"{plan.best.leave_m:.0f} m usually" in said
    assert f"{place.place} 60 %, {place.distance_m:.0f} m:" in said
    assert f"out of bounds {100 * plan.best.shares.out_of_bounds:.0f} %" in said


def test_hazards_stand_on_the_page_in_the_unit(demo_round: RoundPlan) -> None:
    plan = next(hole for hole in demo_round.holes if hole_carries(hole)[0])
    hazard = hole_carries(plan)[0][0]
    for unit in (METRES, YARDS):
        (_, page, _) = pages_of(replace(demo_round, holes=(plan,)), unit=unit)
        said = " ".join(line.text for line in page.lines).replace("\u00a0", " ")
        assert f"Carry [{unit.symbol}]" in said
        assert f" {hazard.reach_m / unit.metres:.0f}" in said


def test_letters_on_the_drawing_are_those_of_the_text(demo_round: RoundPlan) -> None:
    for panel in pages_of(demo_round)[1:-1]:
        letters = {label.text for label in panel.drawings[0].drawing.labels}
        assert {"A", "B"} <= letters, panel.name


def test_cautions_rule_and_source_are_printed(demo_round: RoundPlan) -> None:
    for single in (False, True):
        said = whole_text(card(demo_round, unit=METRES, single=single))
        for caution in CAUTIONS[:2]:
            assert caution in said
        assert SAFETY in said
        assert "Rule 4.3a: a plan made before the round may be read during it" in said
        assert f"Map: {demo_round.attribution}" in said
        assert said.count("Made before play. Local rules and safety come first.") == 18
        assert f"Plan {demo_round.key}" in said


def test_a_long_source_is_printed_in_full(short_round: RoundPlan) -> None:
    source = "© the mappers of this part of the world, under the Open Database Licence, " * 3
    said = whole_text(card(replace(short_round, attribution=source), unit=METRES))
    assert " ".join(source.split()) in said


def test_a_map_without_a_source_claims_none(short_round: RoundPlan) -> None:
    said = whole_text(card(replace(short_round, attribution=""), unit=METRES))
    assert "The map names no source." in said


def test_a_hole_that_was_not_solved_says_so(demo_round: RoundPlan) -> None:
    first, *rest = demo_round.holes
    plan = replace(demo_round, holes=(replace(first, converged=False), *rest))
    pages = pages_of(plan)
    warned = [
        panel.name for panel in pages if any("NOT SOLVED" in line.text for line in panel.lines)
    ]
    assert warned == [f"Hole {first.hole.ref}"]
    assert any(line.text.endswith("?") and line.text[0].isdigit() for line in pages[0].lines)


def test_left_handers_keep_their_right(short_round: RoundPlan) -> None:
    lefty = replace(short_round, left_handed=True)
    right_pages, left_pages = pages_of(short_round), pages_of(lefty)
    assert "left-handed" in whole_text(card(lefty, unit=METRES))
    for one, other in zip(right_pages[1:-1], left_pages[1:-1], strict=True):
        assert one.lines == other.lines
        assert one.drawings[0].drawing.labels == other.drawings[0].drawing.labels


def test_another_plan_gives_another_card(short_round: RoundPlan) -> None:
    first, *rest = short_round.holes
    changed = replace(first, best=replace(first.best, club="Brass spoon"), expected_strokes=9.87)
    before = whole_text(card(short_round, unit=METRES))
    after = whole_text(card(replace(short_round, holes=(changed, *rest)), unit=METRES))
    for said in ("Brass spoon, carries", "9.87 strokes"):
        assert said not in before
        assert said in after
    assert pocket_card(short_round, unit=METRES) == card(short_round, unit=METRES)


def test_longer_tables_go_on_over_the_page(demo_round: RoundPlan) -> None:
    twice = replace(demo_round, holes=demo_round.holes * 2)
    table = round_panels(twice, size=BOOKLET, unit=METRES)
    assert [panel.name for panel in table] == ["The round", "The round, continued"]
    for panel in table:
        assert_well_set(panel)
    printed = Counter(line.text for panel in table for line in panel.lines)
    wanted = Counter(f"{hole.expected_strokes:.2f}" for hole in twice.holes)
    assert wanted <= printed


# -- the file ----------------------------------------------------------------------------------


@pytest.mark.parametrize("single", [False, True])
def test_typefaces_are_embedded_and_no_letter_is_small(demo_round: RoundPlan, single: bool) -> None:
    document = read(card(demo_round, unit=METRES, single=single))
    names = set()
    for page in document:
        found = list(text_objects(page))
        assert found
        for piece in found:
            font = pdfium_c.FPDFTextObj_GetFont(piece.raw)
            assert pdfium_c.FPDFFont_GetIsEmbedded(font) == 1
            buffer = ctypes.create_string_buffer(100)
            pdfium_c.FPDFFont_GetBaseFontName(font, buffer, 100)
            names.add(buffer.value.decode().split("+")[-1])
            size = ctypes.c_float()
            assert pdfium_c.FPDFTextObj_GetFontSize(piece.raw, size)
            assert size.value >= 7.0
            matrix = piece.get_matrix()
            assert (matrix.a, matrix.b, matrix.c, matrix.d) == (1.0, 0.0, 0.0, 1.0)
    assert names == {"BitstreamVeraSans-Roman", "BitstreamVeraSans-Bold"}


def test_no_font_is_named_that_is_not_embedded(demo_round: RoundPlan) -> None:
    data = card(demo_round, unit=METRES)
    assert b"Helvetica" not in data
    assert b"Times" not in data
    assert data.count(b"/FontFile2") >= 2


@pytest.mark.parametrize("paper", PAPERS)
def test_letters_as_the_file_has_them_stay_in_their_page(demo_round: RoundPlan, paper: str) -> None:
    pages = pages_of(demo_round)
    document = read(card(demo_round, unit=METRES, paper=paper))
    for page, sheet in zip(document, imposed(pages, paper), strict=True):
        boxes = [
            Box(
                x + panel.content.left,
                y + panel.content.bottom,
                x + panel.content.right,
                y + panel.content.top,
            )
            for panel, x, y in sheet.panels
        ]
        boxes += [line.box for line in sheet.lines]
        text = page.get_textpage()
        for i in range(text.count_chars()):
            letter = Box(*text.get_charbox(i))
            if letter.width > 0 and text.get_text_range(i, 1).strip():
                assert any(in_box(letter, box, 0.6) for box in boxes), text.get_text_range(i, 1)


def test_same_plan_same_bytes(short_round: RoundPlan) -> None:
    for single in (False, True):
        one = pocket_card(short_round, unit=METRES, single=single)
        assert one == card(short_round, unit=METRES, single=single)
    assert one != card(short_round, unit=YARDS, single=True)


def test_printers_are_asked_for_the_true_size_and_both_sides(demo_round: RoundPlan) -> None:
    data = card(demo_round, unit=METRES)
    assert b"/PrintScaling /None" in data
    assert b"/Duplex /DuplexFlipLongEdge" in data
    assert b"/Duplex" not in card(demo_round, unit=METRES, single=True)


# -- what is seen ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def samples(demo_round: RoundPlan) -> dict[Ground, np.ndarray]:
    """The key to the grounds as an office laser printer would see it: grey at 300 dpi."""
    panel = closing_panel(demo_round, size=LEAF)
    document = read(card(demo_round, unit=METRES, single=True))
    scale = 300 / 72
    image = document[19].render(scale=scale, grayscale=True).to_numpy().astype(float).squeeze()
    found = {}
    for ground, placed in zip(PRINT_GROUNDS, panel.drawings, strict=True):
        box = placed.box
        rows = slice(
            round((panel.height - box.top) * scale), round((panel.height - box.bottom) * scale)
        )
        found[ground] = image[rows, round(box.left * scale) : round(box.right * scale)]
    return found


def inner(sample: np.ndarray) -> np.ndarray:
    return sample[9:-9, 9:-9]


def rim(sample: np.ndarray) -> np.ndarray:
    """Along the outline of the area, 0.8 pt inside the frame."""
    at = round(0.8 * 300 / 72)
    return np.concatenate([sample[at, 8:-8], sample[-at - 1, 8:-8]])


def test_every_ground_differs_in_grey_or_in_marks(samples: dict[Ground, np.ndarray]) -> None:
    # On a scale to 255; differences of grey of 20 are a tenth of the way from black to white.
    look = {ground: (inner(s).mean(), inner(s).std()) for ground, s in samples.items()}
    for one, other in combinations(look, 2):
        if {one, other} == {Ground.YELLOW, Ground.RED}:
            continue
        grey = abs(look[one][0] - look[other][0])
        marks = abs(look[one][1] - look[other][1])
        assert grey > 20 or marks > 20, (one, other, grey, marks)


def test_yellow_and_red_differ_by_a_broken_outline(samples: dict[Ground, np.ndarray]) -> None:
    red, yellow = (rim(samples[ground]) < 128 for ground in (Ground.RED, Ground.YELLOW))
    assert red.mean() > 0.95
    assert 0.3 < yellow.mean() < 0.9
    assert np.abs(np.diff(yellow.astype(int))).sum() > 8


def test_nothing_is_printed_in_colour(demo_round: RoundPlan) -> None:
    document = read(card(demo_round, unit=METRES))
    for page in document:
        image = page.render(scale=0.6).to_numpy().astype(int)
        assert np.ptp(image[..., :3], axis=-1).max() == 0


def test_drawings_are_not_blank_and_not_black(demo_round: RoundPlan) -> None:
    panels = pages_of(demo_round, size=LEAF)
    document = read(card(demo_round, unit=METRES, single=True))
    for panel, page in list(zip(panels, document, strict=True))[1:-1]:
        image = page.render(scale=1, grayscale=True).to_numpy().astype(float).squeeze()
        box = panel.drawings[0].box
        rows = slice(round(panel.height - box.top) + 2, round(panel.height - box.bottom) - 2)
        seen = image[rows, round(box.left) + 2 : round(box.right) - 2]
        assert 100 < seen.mean() < 250
        assert seen.std() > 20
        # Margins stay free: nothing is lost where a cut is a little off.
        edge = np.concatenate([image[:9].ravel(), image[-9:].ravel(), image[:, :9].ravel()])
        assert edge.min() == 255


@pytest.mark.parametrize("unit", [METRES, YARDS])
def test_drawings_show_tee_aim_and_pin(demo_round: RoundPlan, unit: DistanceUnit) -> None:
    for plan in demo_round.holes:
        drawing = draw_for_print(plan, unit=unit, width=80, height=240, size=7, letters=2)
        view = drawing.view
        assert plan.best.aim is not None
        for along, across in (plan.tee_hole, plan.hole.pin_hole, plan.best.aim.point_hole):
            assert view.left < across < view.right
            assert view.bottom < along < view.top
        assert any(shape.role == "pattern 90" for shape in drawing.shapes)
        numbers = [label for label in drawing.labels if label.text.isdigit()]
        for label in numbers:
            # A distance stands beside its arc round the pin.
            x = view.left + (label.box.left + label.box.right) / 2 / view.scale
            y = view.bottom + (label.box.bottom + label.box.top) / 2 / view.scale
            away = math.dist((y, x), plan.hole.pin_hole)
            assert abs(away - int(label.text) * unit.metres) < 28.0
        assert numbers or math.dist(plan.tee_hole, plan.hole.pin_hole) < 60


def test_forward_tees_make_the_drawing_larger(demo_round: RoundPlan) -> None:
    plan = demo_round.holes[0]
    ahead = (150.0, 0.0)
    best = replace(plan.best, position_hole=ahead)
    moved = replace(plan, tee_hole=ahead, best=best)

    def scale(one: HolePlan) -> float:
        return draw_for_print(one, unit=METRES, width=200, height=240, size=7, letters=2).view.scale

    assert scale(moved) > 1.2 * scale(plan)


PAGE_MAKERS: dict[str, Callable[[RoundPlan], bytes]] = {
    "yards": lambda plan: card(plan, unit=YARDS),
    "metres": lambda plan: card(plan, unit=METRES),
}


def test_units_agree(demo_round: RoundPlan) -> None:
    said = {name: whole_text(make(demo_round)) for name, make in PAGE_MAKERS.items()}
    metres = sum(plan.length_m for plan in demo_round.holes)
    assert f"{metres:.0f} m, par 72" in said["metres"]
    assert f"{metres / 0.9144:.0f} yd, par 72" in said["yards"]
    assert " m " not in said["yards"].replace("p.m ", "")
    assert " yd" not in said["metres"]
