"""The page of strokes lost and practice, with use cases that answer at once."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from planner.errors import SolveError
from planner.page import practice_page
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest
from planner.strategy.practice_plan import PracticeStep
from planner.strategy.practice_results import (
    HoleSplit,
    PracticePlan,
    PracticeRoad,
    ReferenceGains,
    Stage,
    StrokeAccounts,
)
from planner.strategy.reference_gains import Gain
from planner.strategy.stroke_split import StrokePart, StrokeSplit

from .waiting import until

DAY = date.today() + timedelta(days=100)
SPLIT = StrokeSplit(90.0, 70.0, (StrokePart("mishits", 12.0, 6.0, 9.0),), 11.0)
GAINS = (Gain("Driver", 14.0, -3.0), Gain("putting", 18.0, 0.5))


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    found: list[Any] = []

    def accounts(
        request: PlanRequest, *, reference: float | None, progress: Any, **_: Any
    ) -> StrokeAccounts:
        progress(Progress(1, 2, "hole 1"))
        found.append(("accounts", reference, request.preview))
        rival = None
        if reference is not None:
            rival = ReferenceGains(reference, "a tour player", 72.0, 90.0, GAINS, GAINS, -2.5, 0.1)
        return StrokeAccounts(
            "C",
            "A",
            "red",
            (HoleSplit("1", 4, SPLIT, 0.2),),
            SPLIT,
            0.2,
            False,
            rival,
        )

    def plan(request: PlanRequest, *, goal: Any, hours: Any, **_: Any) -> PracticePlan:
        found.append(("plan", goal, hours))
        if hours.get("putting") == 0.0:
            raise SolveError("hole 7: no shot can be played")
        step = PracticeStep("putting", "10 % less error", 0.6, 15.0, 0.03)
        road = None
        if goal is not None:
            stages = (Stage("putting", "10 % less error", 2, 39.0),)
            road = PracticeRoad(goal, 75.0, 0.11, 0.52, 86.1, stages, True, 40, 2, True)
        return PracticePlan("C", "A", "red", ("1",), 4, 90.0, (step,), False, road)

    monkeypatch.setattr(practice_page, "stroke_accounts", accounts)
    monkeypatch.setattr(practice_page, "practice_plan", plan)
    practice_page.practice_jobs.clear()
    return found


@pytest.fixture
def practice(page: AppTest, asked: list[Any]) -> AppTest:
    page.run()
    page._page_hash = calc_hash("practice")
    page.run()
    assert not page.exception
    return page


def shown(page: AppTest) -> str:
    parts = [
        *page.markdown, *page.caption, *page.error, *page.success, *page.warning, *page.subheader,
    ]  # fmt: skip
    return "\n".join(str(part.value) for part in parts).replace("\\", "").replace("\u00a0", " ")


def metrics(page: AppTest) -> dict[str, str]:
    return {metric.label: metric.value for metric in page.metric}


def test_nothing_is_solved_before_it_is_asked_for(practice: AppTest, asked: list[Any]) -> None:
    assert asked == []
    assert {"split_start", "practice_start"} <= {button.key for button in practice.button}


def test_the_score_is_taken_apart(practice: AppTest, asked: list[Any]) -> None:
    practice.button(key="split_start").click()
    until(practice, lambda page: "Expected score" in metrics(page))
    assert metrics(practice)["Expected score"] == "90.0"
    assert asked == [("accounts", None, True)]
    assert "90.00 strokes as things are" in shown(practice)
    # Another reference is another question.
    practice.selectbox(key="rival").set_value("tour").run()
    assert "Expected score" not in metrics(practice)
    practice.button(key="split_start").click()
    until(practice, lambda page: "Against a tour player" in shown(page))
    assert asked[-1] == ("accounts", -5.0, True)


def test_the_road_to_a_target(practice: AppTest, asked: list[Any]) -> None:
    practice.number_input(key="target").set_value(84).run()
    practice.slider(key="chance").set_value(40).run()
    practice.date_input(key="by").set_value(DAY).run()
    practice.number_input(key="step/speed").set_value(0.0).run()
    practice.button(key="practice_start").click()
    until(practice, lambda page: "Chance then" in metrics(page))
    _, goal, hours = asked[-1]
    assert (goal.target, goal.chance, goal.by) == (84, 0.4, DAY)
    assert hours == {"speed": 0.0}
    assert metrics(practice)["Hours"] == "39"
    assert "1. **putting**, 2 steps (10 % less error): 39 hours" in shown(practice)
    assert any(button.key == "save_practice" for button in practice.get("download_button"))


def test_without_a_target_abilities_are_ranked(practice: AppTest, asked: list[Any]) -> None:
    practice.toggle(key="has_target").set_value(False).run()
    practice.button(key="practice_start").click()
    until(practice, lambda page: bool(page.table))
    assert asked[-1][1] is None
    assert practice.table[0].value.to_dict("records")[0]["Saves"] == "0.60"


def test_a_fault_is_said_and_can_be_tried_again(practice: AppTest) -> None:
    practice.number_input(key="step/putting").set_value(0.0).run()
    practice.button(key="practice_start").click()
    until(practice, lambda page: bool(page.error))
    assert "hole 7: no shot can be played" in shown(practice)
    practice.button(key="practice_again").click().run()
    assert any(button.key == "practice_start" for button in practice.button)
