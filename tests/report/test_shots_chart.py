"""Chart of a club's shots: one scale both ways, everything inside, the same in words."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pytest

from planner.golfer.bag import Golfer
from planner.golfer.club import Club, ClubKind
from planner.golfer.club_fits import ClubFit, fit_clubs
from planner.golfer.shot_log import ShotLog
from planner.golfer.skill import full_swing_skill, typical_pattern
from planner.report.palette import DARK, LIGHT
from planner.report.shots_chart import MOST_SHOTS, shots_alt, shots_chart
from planner.units import RAD_PER_DEG, DistanceUnit

IRON = Club("7 iron", ClubKind.IRON, 33 * RAD_PER_DEG)
METRES, YARDS = DistanceUnit.METRES, DistanceUnit.YARDS


@cache
def club_fit(count: int) -> ClubFit:
    truth = typical_pattern(full_swing_skill(IRON.kind, IRON.loft, 20.0), 130.0)
    points, _ = truth.sample(np.random.default_rng(4), count)
    texts = ("",) * count
    log = ShotLog(
        ("7 iron",) * count,
        np.maximum(points[:, 0], 0.0),
        points[:, 1],
        np.full(count, np.nan),
        (None,) * count,
        texts,
        texts,
        np.arange(2, count + 2),
    )
    (found,) = fit_clubs(log, [IRON], Golfer(handicap_index=20.0)).clubs
    return found


def domains(chart: Any) -> tuple[list[float], list[float]]:
    layer = chart.to_dict()["layer"][1]["encoding"]
    return layer["x"]["scale"]["domain"], layer["y"]["scale"]["domain"]


@pytest.mark.parametrize("count", [1, 12, 60])
@pytest.mark.parametrize("unit", [METRES, YARDS])
def test_one_scale_both_ways_and_everything_inside(count: int, unit: DistanceUnit) -> None:
    chart = shots_chart(club_fit(count), unit)
    (left, right), (low, high) = domains(chart)
    assert chart.width / (right - left) == pytest.approx(chart.height / (high - low), rel=0.01)
    assert left < 0 < right
    assert chart.width <= 310
    for row in (*chart.datasets["shots"], *chart.datasets["outlines"]):
        assert left <= row["x"] <= right
        assert low <= row["y"] <= high


def test_points_are_the_shots_in_the_unit_asked_for() -> None:
    found = club_fit(12)
    metres, yards = (shots_chart(found, unit).datasets["shots"] for unit in (METRES, YARDS))
    assert len(metres) == len(yards) == 12
    np.testing.assert_allclose([row["y"] for row in metres], found.points_m[:, 0], atol=0.06)
    np.testing.assert_allclose([row["x"] for row in metres], found.points_m[:, 1], atol=0.06)
    np.testing.assert_allclose(
        [row["y"] for row in yards], found.points_m[:, 0] / 0.9144, atol=0.06
    )
    right = next(row for row in metres if row["x"] > 1)
    assert "right" in right["words"]


def test_the_outer_ellipse_holds_nine_of_ten_of_the_stock_component() -> None:
    found = club_fit(60)
    rows = [
        row
        for row in shots_chart(found, METRES).datasets["outlines"]
        if row["role"] == "pattern 90"
    ]
    edge = np.array([(row["y"], row["x"]) for row in rows]) - found.fit.pattern.means[0]
    inverse = np.linalg.inv(found.fit.pattern.covariances[0])
    distance = np.einsum("ni,ij,nj->n", edge, inverse, edge)
    np.testing.assert_allclose(distance, 2 * math.log(10), rtol=0.01)


def test_bad_shots_have_another_shape() -> None:
    rows = shots_chart(club_fit(60), METRES).datasets["shots"]
    kinds = {row["kind"] for row in rows}
    assert {"solid", "mishit"} <= kinds
    short = min(rows, key=lambda row: row["y"])
    assert short["kind"] == "mishit"
    assert "mishit, short" in short["words"]


def test_colours_follow_the_surroundings() -> None:
    light, dark = (str(shots_chart(club_fit(12), METRES, c).to_dict()) for c in (LIGHT, DARK))
    assert LIGHT["mishit"].stroke in light
    assert DARK["mishit"].stroke in dark
    assert LIGHT["mishit"].stroke not in dark


def test_a_large_log_is_drawn_in_part() -> None:
    assert len(shots_chart(club_fit(MOST_SHOTS + 700), METRES).datasets["shots"]) == MOST_SHOTS


def test_the_same_in_words() -> None:
    said = shots_alt(club_fit(60), YARDS).replace("\u00a0", " ")
    assert said.startswith("7 iron: 60 shots seen from above")
    assert " yd" in said
    assert "% mishits" in said
