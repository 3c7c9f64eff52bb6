"""Text in boxes: what is measured is what is set, and nothing is lost without a sign."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFont

from planner.report.print_fonts import missing_letters, printable, text_width
from planner.report.typesetting import Block, Box, Run, column, ellipsis, one_line, wrap

WORDS = st.lists(st.text("abcdefghijWM,.é", min_size=1, max_size=30), max_size=20).map(" ".join)


@given(WORDS, st.booleans(), st.floats(20.0, 300.0))
def test_wrapped_lines_fit_and_lose_nothing(text: str, bold: bool, width: float) -> None:
    lines = wrap([Run(text, bold), Run("end")], 8.0, width)
    for line in lines:
        joined = " ".join(run.text for run in line)
        spaces = text_width(" ", 8.0, bold=True) * (len(line) - 1)
        assert text_width(joined, 8.0, bold=bold) <= width + spaces
    letters = "".join(run.text for line in lines for run in line)
    assert letters == text.replace(" ", "") + "end"


@given(WORDS, st.floats(12.0, 300.0))
def test_cut_text_fits_and_shows_that_it_was_cut(text: str, width: float) -> None:
    cut = ellipsis(text, 8.0, width)
    assert text_width(cut, 8.0) <= width
    assert cut == printable(text) or cut.endswith("…")


@given(st.lists(WORDS, max_size=6), st.floats(15.0, 200.0), st.floats(40.0, 200.0))
def test_a_column_stays_in_its_box(texts: list[str], height: float, width: float) -> None:
    box = Box(10.0, 20.0, 10.0 + width, 20.0 + height)
    blocks = [Block((Run(text),), 8.0, 5, i, 3.0) for i, text in enumerate(texts)]
    lines, end = column(blocks, box)
    assert box.bottom - 1e-6 <= end <= box.top
    for line in lines:
        assert line.box.left >= box.left
        assert line.box.right <= box.right + 1e-6
        assert line.box.bottom >= box.bottom - 1e-6
        assert line.box.top <= box.top + 1e-6


def test_what_ranks_highest_gives_way_first() -> None:
    blocks = [Block((Run(f"{name} " * 30),), 8.0, 9, rank) for name, rank in (("x", 0), ("y", 1))]
    box = Box(0.0, 0.0, 100.0, 9.6 * 5)
    lines, _ = column(blocks, box)
    kept = [line.text[0] for line in lines]
    assert kept.count("x") == len(wrap(blocks[0].runs, 8.0, 100.0))
    assert 0 < kept.count("y") < kept.count("x") + 1
    assert lines[-1].text.endswith("…")


def test_a_whole_block_is_left_out_rather_than_cut() -> None:
    blocks = [
        Block((Run("first"),), 8.0, 9, 0),
        Block((Run("word " * 60),), 8.0, 9, 1, whole=True),
    ]
    lines, _ = column(blocks, Box(0.0, 0.0, 100.0, 9.6 * 4))
    assert [line.text for line in lines] == ["first"]


@pytest.mark.parametrize(("align", "share"), [("left", 0.0), ("centre", 0.5), ("right", 1.0)])
def test_alignment(align: str, share: float) -> None:
    line = one_line("123", Box(10.0, 0.0, 110.0, 0.0), 5.0, 8.0, align=align)
    spare = 100.0 - text_width("123", 8.0)
    assert line.x == pytest.approx(10.0 + share * spare)


def test_figures_are_of_one_width() -> None:
    assert len({text_width(figure, 10.0) for figure in "0123456789"}) == 1


def test_widths_are_those_of_the_typeface() -> None:
    # Advance of "m" in Vera Sans: 1995 of 2048 units.
    assert text_width("m", 2048.0) == pytest.approx(1995, abs=2)
    assert isinstance(TTFont("again", "Vera.ttf").face.charWidths, dict)


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("Ørsted \u2013 café", "Ørsted \u2013 café"),
        ("Ząb Łódź", "Zab Łódz"),
        ("e\u0301", "é"),
        ("東京", "??"),
        ("a\tb\nc  d", "a b c d"),
        ("\u202eabc\u0007", "abc"),
        ("12\u00a0m", "12\u00a0m"),
        ("x\u0323", "x"),
        ("<b>&amp;</b>", "<b>&amp;</b>"),
    ],
)  # fmt: skip
def test_letters_the_typeface_lacks(text: str, printed: str) -> None:
    assert printable(text) == printed
    assert missing_letters(text) == ("?" in printed)


@given(st.text())
def test_whatever_is_printed_can_be_printed(text: str) -> None:
    printed = printable(text)
    assume(printed)
    assert printable(printed) == printed
    assert "\n" not in printed
    assert text_width(printed, 8.0) >= 0.0
