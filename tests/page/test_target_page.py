"""The page of playing for a target, with use cases that answer at once."""

from __future__ import annotations

from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.errors import SolveError
from planner.page import target_page
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.report.target_figures import standings_alt, standings_chart
from planner.strategy.advice import AimPoint
from planner.strategy.target_results import (
    Choice,
    FormHole,
    FormPlan,
    Standing,
    TargetHole,
    TargetPlan,
)

from .waiting import until

AIM = AimPoint((150.0, 3.0), "the left *half*", 3.0, 0.02, 1.0)
DRIVER, IRON = Choice("Driver", AIM, 0.213), Choice("5 iron", AIM, 0.187)
WEDGE = Choice("Sand wedge, partial", AIM, 1.3, 13.0)
HOLE = TargetHole(
    "15",
    4,
    4,
    20.1,
    (
        Standing(16, 4.1, 0.1, 0.1, 0.08, DRIVER, IRON, None),
        Standing(17, 3.1, 0.2, 0.213, 0.18, DRIVER, IRON, None),
        Standing(18, 2.1, 0.2, 0.4, 0.39, IRON, IRON, None),
    ),
)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    found: list[Any] = []

    def target(request: PlanRequest, total: int, *, progress: Any, **_: Any) -> TargetPlan:
        progress(Progress(1, 2, "hole 15"))
        found.append((total, request.holes, request.preview, request.aim_for))
        if total < 20:
            raise SolveError("hole 7: no shot can be played")
        return TargetPlan("C", "A", "red", total, 72, 95.0, 0.62, 0.6, (HOLE,), True)

    def points(request: PlanRequest, **_: Any) -> FormPlan:
        hole = FormHole("15", 4, 1.3, 1.2, WEDGE, IRON)
        return FormPlan("C", "A", "red", "Stableford", "points", (hole,))

    monkeypatch.setattr(target_page, "target_plan", target)
    monkeypatch.setattr(target_page, "points_plan", points)
    target_page.target_jobs.clear()
    return found


@pytest.fixture
def target(page: AppTest, asked: list[Any]) -> AppTest:
    page.run()
    page._page_hash = calc_hash("target")
    page.run()
    assert not page.exception
    return page


def metrics(page: AppTest) -> dict[str, str]:
    return {metric.label: metric.value for metric in page.metric}


def test_nothing_is_worked_out_before_it_is_asked_for(target: AppTest, asked: list[Any]) -> None:
    assert asked == []
    assert "target_start" in {button.key for button in target.button}


def test_the_target_is_played_for(target: AppTest, asked: list[Any]) -> None:
    target.number_input(key="total/1").set_value(90).run()
    target.button(key="target_start").click()
    until(target, lambda page: "Gain" in metrics(page))
    assert metrics(target) == {
        "Fewest strokes": "60.0 %",
        "For the target": "62.0 %",
        "Gain": "+2.0 %",
    }
    total, holes, preview, aim_for = asked[0]
    assert (total, len(holes), preview, aim_for) == (90, 18, True, "strokes")
    table = target.table[0].value.to_csv()
    assert "3 to 4 behind" in table
    assert "the left \\*half\\*" in table
    # From a later hole it is another question.
    target.selectbox(key="from_hole").set_value("15").run()
    assert "Gain" not in metrics(target)
    target.number_input(key="total/15").set_value(20).run()
    target.button(key="target_start").click()
    until(target, lambda page: "Gain" in metrics(page))
    assert asked[-1][:2] == (20, ("15", "16", "17", "18"))


def test_points(target: AppTest, asked: list[Any]) -> None:
    target.selectbox(key="play_for").set_value("stableford").run()
    target.button(key="target_start").click()
    until(target, lambda page: len(page.table) > 0)
    assert "Sand wedge, partial" in target.table[0].value.to_csv()
    assert asked == []


def test_a_fault_is_said(target: AppTest, asked: list[Any]) -> None:
    target.number_input(key="total/1").set_value(19).run()
    target.button(key="target_start").click()
    until(target, lambda page: len(page.error) > 0)
    assert "no shot can be played" in target.error[0].value


def test_the_chart_holds_both_chances() -> None:
    drawn = standings_chart(HOLE).to_dict()
    said = str(drawn)
    assert "17 in hand, 3 behind: 21.3 %, as planned 18.0 %" in said
    assert len(drawn["layer"]) == 4
    # An axis missing from one layer would be missing from the chart.
    assert all(layer["encoding"][side]["axis"] for layer in drawn["layer"] for side in "xy")
    assert standings_alt(HOLE).endswith("16 in hand 10.0 %, 17 in hand 21.3 %, 18 in hand 40.0 %")
