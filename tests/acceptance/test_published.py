"""Every published value beside the program's own figure; each is printed (see with ``-rP``)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from planner.acceptance.areas import AREAS
from planner.acceptance.claim import Claim, Verdict
from planner.acceptance.known_misses import KNOWN_MISSES


def every_claim() -> Iterator[object]:
    for area in AREAS:
        for claim in area.claims():
            marks = [pytest.mark.slow] if claim.long else []
            if claim.known_miss:
                marks.append(pytest.mark.xfail(reason=claim.known_miss, strict=True))
            yield pytest.param(claim, marks=marks, id=f"{area.key}: {claim.name}")


@pytest.mark.parametrize("claim", list(every_claim()))
def test_published_value(claim: Claim, record_property: pytest.RecordProperty) -> None:
    check = claim.check()
    print(check.line())
    record_property("figure", check.line())
    assert check.verdict is Verdict.HOLDS, check.line()


@pytest.mark.parametrize("area", AREAS, ids=lambda area: area.key)
def test_every_claim_names_its_source_and_the_reason_of_its_tolerance(area: object) -> None:
    claims = area.claims()  # type: ignore[attr-defined]
    assert len({claim.name for claim in claims}) == len(claims)
    for claim in claims:
        assert claim.source.strip(), claim.name
        assert not claim.tolerance or claim.reason.strip(), claim.name


def test_known_misses_are_claims() -> None:
    assert set(KNOWN_MISSES) <= {claim.name for area in AREAS for claim in area.claims()}
