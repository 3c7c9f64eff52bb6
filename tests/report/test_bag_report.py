"""Bags as text, data and charts: what is said, and that nothing infinite gets into JSON."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest
from rich.console import Console

from planner.course.lies import Lie
from planner.report import bag_figures, bag_rows, bag_text
from planner.report.bag_json import advice_as_json, comparison_as_json
from planner.strategy.bag_results import (
    BagAdvice,
    BagComparison,
    BagDifference,
    BagScore,
    Cause,
    ClubWorth,
    HoleDifference,
    HoleOfBag,
    MoneyRow,
    RatedBag,
)
from planner.strategy.bag_sketch import ClubUse
from planner.strategy.club_worth import RedundantPair
from planner.strategy.purchase_frontier import Holding, Purchase, YearsOfUse
from planner.units import DistanceUnit

METRES, YARDS = DistanceUnit.METRES, DistanceUnit.YARDS


def printed(*parts: object) -> str:
    console = Console(width=120, record=True, color_system=None)
    with console.capture() as captured:
        for part in parts:
            console.print(part)
    return " ".join(captured.get().split())


def rows_of(chart: Any) -> list[dict[str, Any]]:
    """Every row of data in a chart's specification."""
    if isinstance(chart, dict):
        own = chart.get("values")
        found = [row for row in own if isinstance(row, dict)] if isinstance(own, list) else []
        return found + [row for part in chart.values() for row in rows_of(part)]
    if isinstance(chart, list):
        return [row for part in chart for row in rows_of(part)]
    return []


def use_of(club: str, shots: float, tee: float) -> ClubUse:
    reach = (60.0, 75.0, 90.0) if shots > tee else (math.nan,) * 3
    return ClubUse(club, shots, tee, reach, {Lie.FAIRWAY: 0.7, Lie.ROUGH: 0.3})


@pytest.fixture
def advice() -> BagAdvice:
    best = RatedBag(frozenset({"Driver", "9 iron"}), 80.10, 80.05, 310.0)
    other = RatedBag(frozenset({"5 wood", "9 iron"}), 80.11, 80.06, 0.0)
    held = Holding(310.0, 130.0, 620.0, 120.0, 3.0)
    nothing = Holding(100.0, 42.0, math.inf, math.inf, math.inf)
    return BagAdvice(
        golfer="Ida Brook",
        rounds=("Somewhere, red tees",),
        candidates=("Driver", "5 wood", "9 iron", "Spare"),
        putter=("Putter",),
        limit=2,
        now=RatedBag(frozenset({"5 wood", "Spare"}), 80.9, 80.8, 0.0),
        best=best,
        equal=(other,),
        error=0.03,
        bound=80.1,
        proven=True,
        evaluations=12,
        seconds_each=0.0012,
        prepared_s=9.0,
        searched_s=0.4,
        worths=(
            ClubWorth("9 iron", True, math.inf, None, math.nan, math.nan, use_of("9 iron", 3, 0)),
            ClubWorth("Driver", True, 0.5, None, 0.8, 0.02, use_of("Driver", 12, 12)),
            ClubWorth("5 wood", False, -0.01, "Driver", math.nan, math.nan, None),
            ClubWorth("Spare", False, 0.0, None, math.nan, math.nan, None),
        ),
        pairs=(RedundantPair("Driver", "5 wood", 0.01, 0.0, math.inf),),
        frontier=(
            Purchase(0.0, 80.6, 0.0, frozenset({"5 wood", "9 iron"}), frozenset()),
            Purchase(310.0, 80.1, 0.5, best.clubs, frozenset({"Driver"})),
        ),
        frontier_proven=True,
        money=(
            MoneyRow("Driver", 0.5, False, held),
            MoneyRow("+5% club speed", 0.4, True, None),
            MoneyRow("Spare", 0.0, False, nothing),
        ),
        use=YearsOfUse(3.0, 40.0),
        currency="crowns",
        least=1,
        notes=("measured: Driver",),
    )


@pytest.fixture
def comparison() -> BagComparison:
    def hole(ref: str, strokes: float) -> HoleOfBag:
        return HoleOfBag("Somewhere", ref, 4, strokes, 0.1, 1.1)

    bags = (
        BagScore("as carried", ("Driver",), (hole("1", 4.5), hole("2", 5.0)), 9.5, 0.2, 1.5),
        BagScore("with 5 wood", ("5 wood",), (hole("1", 4.4), hole("2", 5.0)), 9.4, 0.2, 1.5),
    )
    cause = Cause("approach", 120.0, 150.0, "3 wood", "5 wood", -0.09)
    difference = BagDifference(
        "as carried",
        "with 5 wood",
        -0.1,
        -0.02,
        0.03,
        -0.15,
        -0.05,
        (
            HoleDifference("Somewhere", "1", -0.1, 0.03, (cause,)),
            HoleDifference("Somewhere", "2", 0.0, 0.01, ()),
        ),
    )
    return BagComparison("Ida Brook", ("Somewhere, red tees",), bags, (difference,), ())


def test_the_choice_is_said_in_words(advice: BagAdvice) -> None:
    text = printed(*bag_text.advice_parts(advice, METRES))
    assert "Carry: Driver, 9 iron, Putter." in text
    assert "Leave out: 5 wood, Spare." in text
    assert "To buy: 310 crowns." in text
    assert "saves 0.75 strokes a round" in text
    assert "As good, as far as can be told: 5 wood for Driver." in text
    assert "Proven: in the search no allowed set is better" in text
    assert "60-90 m" in text
    assert "needed" in text
    assert "+5% club speed (technique)" in text


def test_distances_follow_the_unit(advice: BagAdvice) -> None:
    assert "66-98 yd" in printed(bag_text.worth_table(advice, YARDS))


def test_an_unproven_choice_says_so(advice: BagAdvice) -> None:
    text = " ".join(bag_text.certificate_said(replace(advice, proven=False, bound=79.9)))
    assert "Stopped before the proof was done" in text
    assert "0.200 strokes" in text


def test_the_bag_carried_now_may_be_the_best(advice: BagAdvice) -> None:
    same = replace(advice, now=advice.best)
    assert "That is the bag carried now." in bag_text.choice_said(same)
    close = replace(advice, now=replace(advice.best, clubs=frozenset({"Spare"}), fine=80.06))
    assert any("as good, as far as can be told" in line for line in bag_text.choice_said(close))
    none = replace(advice, now=None)
    assert any("cannot be carried" in line for line in bag_text.choice_said(none))


def test_what_saves_nothing_shows_no_price_a_stroke(advice: BagAdvice) -> None:
    text = printed(bag_text.money_table(advice))
    assert "inf" not in text
    assert "620 crowns" in text


def test_a_real_difference_and_none_are_told_apart(comparison: BagComparison) -> None:
    (real,) = comparison.differences
    assert "0.10 strokes a round better" in bag_text.difference_said(real)
    unsure = replace(real, low=-0.3, high=0.1)
    assert "no real difference" in bag_text.difference_said(unsure)
    assert "patterns" in bag_text.difference_said(unsure)
    tiny = replace(real, strokes=-0.01, low=-0.02, high=-0.005)
    assert "no real difference" in bag_text.difference_said(tiny)
    assert "solved" in bag_text.difference_said(tiny)


def test_a_comparison_names_the_shots(comparison: BagComparison) -> None:
    text = printed(*bag_text.comparison_parts(comparison, METRES))
    assert "120-150 m: 5 wood, not 3 wood -0.09" in text
    assert "Round" in text


def test_everything_is_data_without_infinities(
    advice: BagAdvice, comparison: BagComparison
) -> None:
    for content in (advice_as_json(advice), comparison_as_json(comparison)):
        assert json.loads(json.dumps(content, allow_nan=False)).keys() == content.keys()
    found = advice_as_json(advice)
    assert found["clubs"][0]["missed"] is None
    assert found["pairs"][0]["both"] is None
    assert found["changes"][2]["money"]["per_stroke"] is None


def test_charts_hold_what_they_show(advice: BagAdvice, comparison: BagComparison) -> None:
    frontier = bag_figures.frontier_chart(advice).to_dict()
    values = rows_of(frontier)
    assert {row["money"] for row in values} >= {0.0, 310.0}
    assert any(row["shown"] == "+5% club speed" for row in values)
    worth = bag_figures.worth_chart(advice.worths).to_dict()
    assert {row["name"] for row in rows_of(worth)} == {"Driver"}
    holes = bag_figures.difference_chart(comparison.differences[0]).to_dict()
    assert {row["shown"]: row["value"] for row in rows_of(holes)} == {"1": -0.1, "2": 0.0}
    assert "310 crowns 0.50" in bag_figures.frontier_alt(advice)


def test_money_has_thousands_apart() -> None:
    assert bag_text.money(12345.6, "crowns") == "12\u00a0346 crowns"
    assert bag_text.money(5.0, "") == "5"
    assert bag_text.money(math.inf, "crowns") == "-"


def test_short_tables_say_the_same_in_four_columns(advice: BagAdvice) -> None:
    headings, rows = bag_rows.worth_short_rows(advice, METRES)
    assert len(headings) == 4
    assert [row[0] for row in rows] == ["9 iron", "Driver", "5 wood", "Spare"]
    used = [row[3].replace("\u00a0", " ") for row in rows]
    assert used[0] == "3.0 shots; 60-90 m; fairway 70 %, rough 30 %"
    assert used[1] == "12.0 shots, 12.0 from tees"
    assert used[2] == "left out; for Driver"
    assert used[3] == ""
    _, rows = bag_rows.money_short_rows(advice)
    assert rows[0][2].replace("\u00a0", " ") == "310 crowns, 130 crowns back in 3 y"
    assert rows[0][3].replace("\u00a0", " ") == "620 crowns, 120 crowns a year"
    assert rows[1][2:] == ("", "")
    assert rows[2][3] == "-"
