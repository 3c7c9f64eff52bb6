"""Words, tables, charts and data of strokes lost, practice and logged rounds."""

from __future__ import annotations

import json
import math
from datetime import date

import numpy as np
import pytest
from rich.console import Console

from planner.course.lies import Lie
from planner.golfer.shot_log_columns import find_columns
from planner.golfer.shot_log_reading import read_shots
from planner.golfer.shot_log_text import split_rows
from planner.report import practice_text as text
from planner.report import round_log_text as logged
from planner.report.palette import palette
from planner.report.practice_figures import gains_chart, split_chart, steps_chart, total_alt
from planner.report.practice_json import practice_as_json
from planner.report.practice_sheet import practice_panel, practice_sheet_pdf
from planner.strategy.practice_plan import PracticeStep
from planner.strategy.practice_results import (
    Goal,
    HoleSplit,
    PracticePlan,
    PracticeRoad,
    ReferenceGains,
    Stage,
    StrokeAccounts,
)
from planner.strategy.reference_gains import Gain
from planner.strategy.stroke_split import StrokePart, StrokeSplit
from planner.strategy.strokes_gained import (
    FullSwing,
    GainedShot,
    HoleAccount,
    PlayedShot,
    RoundAccounts,
)
from planner.units import DistanceUnit

SPLIT = StrokeSplit(
    90.0,
    70.0,
    (StrokePart("mishits", 12.0, 6.0, 9.0), StrokePart("putting [short]", 9.0, 5.0, 7.0)),
    4.0,
)
GAINS = (Gain("Driver", 14.0, -3.0), Gain("putting", 18.0, 0.5))
ROAD = PracticeRoad(
    Goal(84, 0.4, date(2027, 6, 30), 3.0),
    75.0,
    0.11,
    0.42,
    86.1,
    (Stage("putting", "10 % less error", 2, 39.0),),
    True,
    40,
    2,
    True,
)
PLAN = PracticePlan(
    "Course",
    "A. Golfer",
    "red",
    ("1", "2"),
    9,
    90.0,
    (
        PracticeStep("putting", "10 % less error", 0.6, 15.0, 0.03),
        PracticeStep("speed", "3 % more", 0.3, 30.0, 0.01),
    ),
    False,
    ROAD,
)
ACCOUNTS = StrokeAccounts(
    "Course",
    "A. Golfer",
    "red",
    (HoleSplit("1", 4, SPLIT, 0.2),),
    SPLIT,
    0.2,
    False,
    ReferenceGains(-5.0, "a tour player", 72.0, 90.0, GAINS, GAINS, -2.5, 0.1),
)


def printed(*parts: object) -> str:
    console = Console(width=110, no_color=True)
    with console.capture() as captured:
        console.print(*parts, sep="\n")
    return " ".join(captured.get().split())


def test_the_split_says_how_its_parts_add_up() -> None:
    said = printed(*text.accounts_parts(ACCOUNTS))
    assert "90.00 strokes as things are, 70.00 without any of the causes" in said
    assert "one by one the causes come to 1.00 strokes more than all at once" in said
    assert "mishits 12.00 6.00 9.00" in said
    # Square brackets of a name are no markup.
    assert "putting [short] 9.00 5.00 7.00" in said
    assert "several together +4.00" in said
    assert "Expected score 90.00" in said
    assert "Against a tour player, who expects 72.0" in said
    assert "Driver 14.0 -3.00 -0.21" in said
    assert "R(x) - R(y) - 1" in said
    exact = " ".join(text.split_said(SPLIT, exact=True))
    assert "Shapley" in exact


def test_the_road_is_told_with_its_hours_and_its_proof() -> None:
    said = printed(*text.plan_parts(PLAN))
    assert "84 or better has a chance of 11 % now; 40 % is wanted." in said
    assert "39 hours of practice, of 75 hours until 2027-06-30 (3 a week), bring it to 42 %" in said
    assert "putting: 10 % less error 2 39" in said
    assert "40 combinations looked at, 2 combinations solved in full" in said
    assert "no cheaper one" in said
    assert "Hours are assumptions" in said


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"reached": False}, "it is not reached. The best found brings it to 42 %"),
        ({"stages": ()}, "Nothing has to change"),
        ({"goal": Goal(84, 0.4)}, "as many hours as it takes"),
    ],
)
def test_other_ends_of_the_road(changes: dict[str, object], words: str) -> None:
    from dataclasses import replace

    said = " ".join(text.road_said(replace(ROAD, **changes)))  # type: ignore[arg-type]
    assert words in said.replace("\u00a0", " ")
    stopped = text.search_said(replace(ROAD, proven=False))
    assert "a cheaper one may exist" in stopped


def test_data_is_json_and_adds_up() -> None:
    content = practice_as_json(PLAN, ACCOUNTS)
    again = json.loads(json.dumps(content, allow_nan=False))
    parts = again["accounts"]["round"]
    assert parts["rest"] + parts["together"] + sum(p["share"] for p in parts["parts"]) == 90.0
    assert again["road"]["stages"][0]["hours"] == 39.0
    assert again["hours_are_assumed"]
    assert again["practice"][0]["chance_added"] == 0.03


@pytest.mark.parametrize("dark", [False, True])
def test_charts_show_every_row_with_its_number(dark: bool) -> None:
    colours = palette(dark=dark)
    for chart, names in (
        (split_chart(SPLIT, colours), ["mishits", "putting [short]", "several together"]),
        (gains_chart(GAINS, colours), ["Driver", "putting"]),
        (steps_chart(PLAN.steps, colours), ["putting", "speed"]),
    ):
        shown = chart.to_dict()
        rows = shown["data"]["values"]
        assert [row["name"] for row in rows] == names
        assert all(row["shown"] in row["said"] for row in rows)
        low, high = shown["layer"][0]["encoding"]["x"]["scale"]["domain"]
        assert all(low <= row["low"] and row["high"] <= high for row in rows)
        assert colours.ink in json.dumps(shown)
    assert total_alt("Lost to", [("mishits", 9.0)]) == "Lost to: mishits +9.00"


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_sheet_keeps_its_box_and_nothing_overlaps(paper: str) -> None:
    panel = practice_panel(PLAN, ACCOUNTS, paper=paper)
    texts = [line for line in panel.texts() if line.text]
    for line in texts:
        box = line.box
        assert box.left >= panel.content.left - 0.1
        assert box.right <= panel.content.right + 0.1
        assert box.bottom >= panel.content.bottom - 3.0
        assert box.top <= panel.content.top + 3.0
    for i, one in enumerate(texts):
        for other in texts[i + 1 :]:
            assert not one.box.overlaps(other.box), (one.text, other.text)
    said = " ".join(line.text for line in texts)
    for part in ("The road to 84", "Where the strokes go", "Strokes gained on a tour player"):
        assert part in said
    pdf = practice_sheet_pdf(PLAN, ACCOUNTS, paper=paper)
    assert pdf.startswith(b"%PDF")
    assert pdf == practice_sheet_pdf(PLAN, ACCOUNTS, paper=paper)


def test_a_sheet_without_room_leaves_parts_out_and_never_runs_over() -> None:
    from dataclasses import replace

    many = replace(PLAN, steps=PLAN.steps * 20)
    panel = practice_panel(many, ACCOUNTS, paper="letter")
    assert min(line.y for line in panel.texts()) >= panel.content.bottom - 0.1


# -- logged rounds --------------------------------------------------------------------------------

PIN = (300.0, 0.0)
ROUND = RoundAccounts(
    "Course",
    "A. Golfer",
    "red",
    (
        HoleAccount(
            "4",
            4,
            (
                GainedShot(
                    PlayedShot(1, (0.0, 0.0), Lie.TEE, "Driver", penalties=1),
                    4.5,
                    3.4,
                    "3 wood",
                    0.3,
                ),
                GainedShot(PlayedShot(2, (180.0, 0.0), Lie.ROUGH), 3.4, 1.9, "7 iron", math.nan),
                GainedShot(PlayedShot(3, (298.0, 0.0), Lie.GREEN, strokes=2), 1.9, 0.0, "", 0.0),
            ),
        ),
    ),
    (
        FullSwing("Driver", Lie.TEE, 170.25, -12.0, 190.0),
        FullSwing("3 wood, old", Lie.ROUGH, 100.0, 3.0, 104.0),
    ),
    ("a note",),
)


def test_a_round_is_told_shot_by_shot() -> None:
    said = printed(
        *logged.round_parts(ROUND), logged.hole_text(ROUND.holes[0], DistanceUnit.YARDS, PIN)
    )
    assert "5 strokes, par 4. Expected were 4.50: 0.50 worse than your own average." in said
    assert "Leaving the plan cost 0.30 strokes" in said
    assert "1 tee 328 yd Driver +1 penalty 3 wood 4.50 -0.90 0.30" in said
    assert "2 rough 131 yd - 7 iron 3.40 +0.50 ?" in said
    assert "3 green 2 yd putts x2 1.90 -0.10" in said
    assert "All 4 5 4.50 -0.50 0.30" in said


def test_the_round_as_data_adds_up() -> None:
    content = json.loads(json.dumps(logged.round_as_json(ROUND, ["n"], ["r"]), allow_nan=False))
    shots = content["holes"][0]["shots"]
    assert sum(shot["gained"] for shot in shots) == pytest.approx(content["gained"])
    assert shots[1]["plan_kept"] is None
    assert shots[1]["leaving"] is None


def test_full_swings_are_read_back_as_a_shot_log() -> None:
    content = logged.swings_csv(ROUND.swings, day="2027-05-01")
    columns = split_rows("swings.csv", content.encode())
    log = read_shots(columns, find_columns(columns)).log
    assert log.club == ("Driver", "3 wood, old")
    np.testing.assert_allclose(log.carry_m, [170.2, 100.0], atol=0.06)
    np.testing.assert_allclose(log.offline_m, [-12.0, 3.0])
    assert log.lie == (Lie.TEE, Lie.ROUGH)
    assert log.days == 1
    more = logged.swings_csv(ROUND.swings, day="2027-05-01", heading=False)
    assert content.endswith(more)
