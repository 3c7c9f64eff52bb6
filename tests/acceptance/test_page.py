"""The page of checks: nothing is hidden, whatever goes wrong."""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import pytest
from typer.testing import CliRunner

from planner.acceptance.areas import AREAS, LONG_LEFT_OUT, AreaResult, chosen_areas, run_areas
from planner.acceptance.claim import Area, Check, Claim, NotHereError, Sense, Verdict
from planner.acceptance.result_page import as_html, as_markdown
from planner.cli.app import app
from planner.errors import OptionError

DAY = date(2027, 3, 1)
SOURCE = "somebody 1999"


def broken() -> float:
    raise ZeroDivisionError("nothing to share | <b>")


def not_there() -> float:
    raise ModuleNotFoundError("No module named 'elsewhere'", name="elsewhere")


def no_maps() -> float:
    raise NotHereError("no maps here")


CLAIMS = (
    Claim("holds", SOURCE, 2.0, lambda: 2.05, "strokes", 0.1, "a tenth"),
    Claim("misses", SOURCE, 2.0, lambda: 2.5, "strokes", 0.1, "a tenth", known_miss="a reason"),
    Claim("breaks", SOURCE, 2.0, broken),
    Claim("lacks a library", SOURCE, not_there, lambda: 2.0),
    Claim("lacks maps", SOURCE, "read", lambda: str(no_maps())),
    Claim("is long", SOURCE, 1.0, lambda: 1.0, long=True),
    Claim("is no number", SOURCE, 1.0, lambda: math.nan, "", 5.0, "wide"),
    Claim("differs | in <words>", SOURCE, "yes", lambda: "no", sense=Sense.SAME),
)
AREA = Area("some", "Some checks", "Made up.", lambda: CLAIMS)


@pytest.fixture(scope="module")
def results() -> tuple[AreaResult, ...]:
    return run_areas([AREA], long=False)


def test_verdicts(results: tuple[AreaResult, ...]) -> None:
    found = {check.claim.name: check.verdict for check in results[0].checks}
    assert found == {
        "holds": Verdict.HOLDS,
        "misses": Verdict.MISSES,
        "breaks": Verdict.MISSES,
        "lacks a library": Verdict.NOT_RUN,
        "lacks maps": Verdict.NOT_RUN,
        "is long": Verdict.NOT_RUN,
        "is no number": Verdict.MISSES,
        "differs | in <words>": Verdict.MISSES,
    }


@pytest.mark.parametrize(
    ("sense", "ours", "holds"),
    [
        (Sense.NEAR, 9.0, True),
        (Sense.NEAR, 11.1, False),
        (Sense.NEAR, 8.9, False),
        (Sense.AT_MOST, -500.0, True),
        (Sense.AT_MOST, 11.0, True),
        (Sense.AT_MOST, 11.1, False),
        (Sense.AT_LEAST, 500.0, True),
        (Sense.AT_LEAST, 9.0, True),
        (Sense.AT_LEAST, 8.9, False),
        (Sense.SAME, 10.0, True),
        (Sense.SAME, 10.0 + 1e-12, False),
    ],
)
def test_senses(sense: Sense, ours: float, holds: bool) -> None:
    check = Claim("x", SOURCE, 10.0, lambda: ours, "", 1.0, "one", sense).check()
    assert (check.verdict is Verdict.HOLDS) == holds
    assert check.difference == pytest.approx(ours - 10.0)


def test_a_check_in_a_test_raises_what_goes_wrong() -> None:
    with pytest.raises(ZeroDivisionError):
        CLAIMS[2].check()


def test_markdown_shows_every_check_and_misses_twice(results: tuple[AreaResult, ...]) -> None:
    text = as_markdown(results, DAY)
    rows = [line for line in text.splitlines() if line.startswith("|")]
    misses = results[0].count(Verdict.MISSES)
    assert misses == 4
    # Two tables with two lines of heading each: what misses, and everything.
    assert len(rows) == 4 + misses + len(CLAIMS)
    assert len({row.replace("\\|", "").count("|") for row in rows}) == 1
    assert "1 hold, 4 miss, 3 not run" in text
    assert "MISSES: a reason" in text
    assert "not run: not installed: elsewhere" in text
    assert f"not run: {LONG_LEFT_OUT}" in text
    assert "ZeroDivisionError: nothing to share" in text
    assert text.index("## What misses") < text.index("## Some checks")
    assert "2027-03-01" in text


def test_html_is_whole_and_escaped(results: tuple[AreaResult, ...]) -> None:
    text = as_html(results, DAY)
    body = text[text.index("<body>") : text.index("</body>") + 7].replace(" class=n", "")
    page = ElementTree.fromstring(body)
    rows = page.findall(".//tr")
    assert len(rows) == 2 + 4 + len(CLAIMS)
    assert [row.get("class") for row in rows].count("misses") == 8
    assert all(len(row) == 7 for row in rows)
    assert "differs | in <words>" in "".join(page.itertext())
    assert "<b>" not in text.replace("<body>", "")


def test_nothing_misses_is_said() -> None:
    fine = Area("fine", "Fine", "Made up.", lambda: CLAIMS[:1])
    found = run_areas([fine], long=True)
    assert "Nothing that was run." in as_markdown(found, DAY)
    assert "Nothing that was run." in as_html(found, DAY)


def test_areas_by_key() -> None:
    assert chosen_areas(()) == AREAS
    assert [area.key for area in chosen_areas(["rules", "geometry"])] == ["geometry", "rules"]
    with pytest.raises(OptionError, match="no area weather; there are geometry, "):
        chosen_areas(["weather"])
    assert len({area.key for area in AREAS}) == len(AREAS)


@pytest.mark.parametrize("suffix", [".html", ".md"])
def test_command_writes_the_page(tmp_path: Path, suffix: str) -> None:
    out = tmp_path / f"page{suffix}"
    ran = CliRunner().invoke(app, ["acceptance", "--out", str(out), "--area", "handicaps"])
    assert ran.exit_code == 0, ran.output
    assert f"{out}: 28 hold, 0 miss" in ran.output.replace("\n", " ")
    assert "Rules of Handicapping" in out.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "options",
    [
        ["--out", "page.pdf"],
        ["--out", "page.md", "--area", "weather"],
        ["--out", "nowhere/page.md", "--area", "handicaps"],
    ],
)
def test_command_refuses(options: list[str], tmp_path: Path, monkeypatch: object) -> None:
    monkeypatch.chdir(tmp_path)  # type: ignore[attr-defined]
    assert CliRunner().invoke(app, ["acceptance", *options]).exit_code == 2
    assert list(tmp_path.iterdir()) == []


def test_line_says_everything() -> None:
    line = Check(CLAIMS[1], 2.5, published=2.0).line()
    for word in ("misses", "2 strokes", SOURCE, "2.5", "0.5", "±0.1", "MISSES"):
        assert word in line
