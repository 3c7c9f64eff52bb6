"""Bags as CSV: what is in it, and that no name can become a formula."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.report import bag_csv
from planner.strategy.bag_results import BagAdvice, BagComparison
from tests.report.test_bag_report import advice as advice
from tests.report.test_bag_report import comparison as comparison

HOSTILE = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "'=1", "\uff1d1")


def table(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_clubs_with_worth_and_use(advice: BagAdvice) -> None:
    rows = {row["club"]: row for row in table(bag_csv.clubs_csv(advice))}
    assert rows["Driver"]["carried"] == "yes"
    assert float(rows["Driver"]["missed"]) == 0.5
    assert float(rows["Driver"]["tee_shots"]) == 12.0
    # What is not finite is not known: the 9 iron cannot be done without.
    assert rows["9 iron"]["missed"] == ""
    assert float(rows["9 iron"]["from_high_m"]) == 90.0
    assert (rows["5 wood"]["carried"], rows["5 wood"]["instead_of"]) == ("no", "Driver")


def test_money_and_changes(advice: BagAdvice) -> None:
    frontier = table(bag_csv.frontier_csv(advice))
    assert [(float(row["money"]), float(row["saved"])) for row in frontier] == [(0, 0), (310, 0.5)]
    assert frontier[1]["buy"] == "Driver"
    changes = {row["kind"]: row for row in table(bag_csv.changes_csv(advice))}
    assert changes["technique"]["price"] == ""
    # A gain in per cent begins with a sign: it is text, and stays so.
    assert changes["technique"]["change"] == "'+5% club speed"


def test_every_hole_with_every_bag(comparison: BagComparison) -> None:
    rows = table(bag_csv.holes_csv(comparison))
    assert [(row["bag"], row["hole"]) for row in rows] == [
        ("as carried", "1"), ("as carried", "2"), ("with 5 wood", "1"), ("with 5 wood", "2")
    ]  # fmt: skip
    assert rows[0]["difference"] == ""
    assert float(rows[2]["difference"]) == pytest.approx(-0.1)
    assert rows[2]["because"] == "approach 120-150 m: 5 wood not 3 wood -0.090"


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_becomes_a_formula(name: str, advice: BagAdvice, comparison: BagComparison) -> None:
    worth = replace(advice.worths[0], club=name)
    hostile = replace(advice, worths=(worth,), money=(replace(advice.money[0], name=name),))
    bags = (replace(comparison.bags[0], name=name), comparison.bags[1])
    for text in (
        bag_csv.clubs_csv(hostile),
        bag_csv.changes_csv(hostile),
        bag_csv.holes_csv(replace(comparison, bags=bags)),
    ):
        first = next(iter(table(text)[0].values()))
        assert first == f"'{name}"


@given(name=st.text(max_size=12), number=st.floats(allow_nan=True, allow_infinity=True))
def test_any_text_and_number_comes_back(name: str, number: float) -> None:
    text = bag_csv._csv(("name", "number"), [(name, number)])
    heading, row = list(csv.reader(io.StringIO(text, newline="")))
    assert heading == ["name", "number"]
    assert row[0] in (name, f"'{name}")
    assert not row[0].strip().startswith(("=", "+", "-", "@"))
    if math.isfinite(number):
        assert float(row[1]) == pytest.approx(number, rel=1e-5)
    else:
        assert row[1] == ""
