"""Every published value beside the program's own figure; each is printed (see with ``-rP``).

The page of all of them is kept beside the tests, and each test holds its row to what it found: a
page that is out of date says so, and is remade by the command that it names.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from planner.acceptance.areas import AREAS
from planner.acceptance.claim import Check, Claim, Verdict
from planner.acceptance.known_misses import KNOWN_MISSES
from planner.acceptance.result_page import HEADINGS, check_row

REPORT = Path(__file__).with_name("report.md")
README = Path(__file__).parents[2] / "README.md"
REMAKE = "planner acceptance --full --out tests/acceptance/report.md"


def every_claim() -> Iterator[object]:
    for area in AREAS:
        for claim in area.claims():
            marks = [pytest.mark.slow] if claim.long else []
            if claim.known_miss:
                marks.append(pytest.mark.xfail(reason=claim.known_miss, strict=True))
            yield pytest.param(claim, marks=marks, id=f"{area.key}: {claim.name}")


@cache
def kept_rows() -> dict[str, dict[str, str]]:
    """Rows of the page that is kept, by the name of the check."""
    rows = [
        dict(zip(HEADINGS, re.split(r" (?<!\\)\| ", line[2:-2].strip()), strict=False))
        for line in REPORT.read_text(encoding="utf-8").splitlines()
        if line.startswith("| ")
    ]
    return {row["check"].replace("\\|", "|"): row for row in rows}


def out_of_date(check: Check) -> str:
    """What the kept page says otherwise, if anything."""
    kept = kept_rows().get(check.claim.name)
    if kept is None:
        return "no row"
    row = dict(zip(HEADINGS, check_row(check), strict=True))
    for name in ("published", "verdict"):
        ours = row[name].split(":")[0].replace("|", "\\|")
        if kept[name].split(":")[0].strip() != " ".join(ours.split()):
            return f"{name}: {kept[name]}"
    if check.claim.long or not isinstance(check.ours, float) or not check.claim.tolerance:
        return ""
    gap = abs(float(kept["ours"].split()[0]) - check.ours)
    # A figure is shown to five digits.
    allowed = check.claim.tolerance / 2 + 1e-4 * abs(check.ours)
    return "" if gap <= allowed else f"ours: {kept['ours']}"


@pytest.mark.parametrize("claim", list(every_claim()))
def test_published_value(claim: Claim, record_property: pytest.RecordProperty) -> None:
    check = claim.check()
    print(check.line())
    record_property("figure", check.line())
    assert check.verdict is Verdict.HOLDS, check.line()
    stale = out_of_date(check)
    assert not stale, f"{REPORT.name} is out of date, {stale}; remake it: {REMAKE}"


@pytest.mark.parametrize("area", AREAS, ids=lambda area: area.key)
def test_every_claim_names_its_source_and_the_reason_of_its_tolerance(area: object) -> None:
    claims = area.claims()  # type: ignore[attr-defined]
    assert len({claim.name for claim in claims}) == len(claims)
    for claim in claims:
        assert claim.source.strip(), claim.name
        assert not claim.tolerance or claim.reason.strip(), claim.name


def test_known_misses_are_claims() -> None:
    assert set(KNOWN_MISSES) <= {claim.name for area in AREAS for claim in area.claims()}


def test_the_kept_page_has_every_claim_and_every_known_miss() -> None:
    names = {claim.name for area in AREAS for claim in area.claims()}
    assert set(kept_rows()) - {"check", "---"} == names
    missed = {name for name, row in kept_rows().items() if row["verdict"].startswith("MISSES")}
    assert missed == set(KNOWN_MISSES)
    assert not [name for name, row in kept_rows().items() if row["verdict"].startswith("not run")]
    assert "Made by `planner acceptance --full" in REPORT.read_text(encoding="utf-8")


def test_the_readme_links_the_kept_page_and_says_what_comes_of_it() -> None:
    said = re.search(r"\d+ hold, \d+ miss", REPORT.read_text(encoding="utf-8"))
    text = " ".join(README.read_text(encoding="utf-8").split())
    assert said is not None
    assert "(tests/acceptance/report.md)" in text
    assert said[0] in text
    for word in ("nerves", "caddie", "below your feet", "gusts"):
        assert word in text
