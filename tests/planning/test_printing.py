"""The use cases of paper: names of files and what is refused."""

from __future__ import annotations

import pytest

from planner.errors import OptionError
from planner.planning.printing import PAPER_NAMES, coach_sheet, file_stem, pocket_card
from planner.report.imposition import PAPERS
from planner.strategy.advice import RoundPlan
from planner.units import DistanceUnit


def round_on(course: str) -> RoundPlan:
    return RoundPlan(course, "Golfer", "Bag", "white", (), "strokes")


@pytest.mark.parametrize(
    ("course", "stem"),
    [
        ("Tarrowick Links", "Tarrowick Links"),
        ("../a/b\\c: d?", "a b c d"),
        ("<b>Løkke</b>", "b Løkke b"),
        ("", "plan"),
        ("...", "plan"),
        ("x" * 300, "x" * 60),
    ],
)
def test_names_of_files_are_safe(course: str, stem: str) -> None:
    assert file_stem(round_on(course)) == stem


@pytest.mark.parametrize("make", [pocket_card, coach_sheet])
def test_unknown_paper_is_refused(make) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OptionError, match="use a4 or letter"):
        make(round_on("Anywhere"), unit=DistanceUnit.METRES, paper="napkin")


def test_every_paper_has_a_name() -> None:
    assert set(PAPER_NAMES) == set(PAPERS)
