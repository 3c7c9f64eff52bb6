"""What is said and drawn of a round's score is what was computed."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from rich.console import Console

from planner.report.palette import DARK, LIGHT, Palette
from planner.report.score_figures import (
    RESULT_SHARES,
    cumulative_chart,
    hole_results_chart,
    mixed,
    score_chart,
)
from planner.report.score_text import chances_said, match_said, round_score_text, total_said
from planner.report.words import percent
from planner.strategy.match_chances import HoleChances, match_chances
from planner.strategy.round_result import HoleScore, RoundScore, round_score
from planner.strategy.score_distribution import distribution

PARS = (4, 4, 3, 5, 4, 4, 3, 4, 5) * 2


def full_round(**more: Any) -> RoundScore:
    chances = np.array([0.05, 0.3, 0.4, 0.15, 0.1])
    rows = [
        HoleScore(str(i), par, distribution(chances, first=par - 1), i, 0.1, 1.9, 0.5, 0.25)
        for i, par in enumerate(PARS, start=1)
    ]
    return round_score(rows, **more)


def printed(score: RoundScore) -> str:
    out = io.StringIO()
    Console(file=out, width=100).print(round_score_text(score))
    return out.getvalue()


def test_text_tells_what_was_computed() -> None:
    score = full_round(target=88, title="[Moor], white tees")
    text = printed(score)
    assert "[Moor], white tees" in text
    assert "89.1 strokes on average, 17.1 over par 72." in text
    low, high = score.total.quantile(0.1), score.total.quantile(0.9)
    assert f"Eight rounds in ten end between {low} and {high}." in text
    assert "1.80 penalty strokes, 34.2 putts, 9.0 of 18 fairways, 4.5 of 18 greens" in text
    chance = percent(score.chance_of_target).replace("\u00a0", " ")
    assert f"88 or better, the target  {chance}" in text
    row = next(line.split() for line in text.splitlines() if line.split()[:2] == ["4", "5"])
    assert row == ["4", "5", "5.95", "5", "%", "30", "%", "40", "%", "15", "%", "10", "%"]


def test_what_is_not_known_is_not_said() -> None:
    score = full_round()
    bare = replace(
        score, holes=tuple(replace(h, penalties=math.nan, fairway=math.nan) for h in score.holes)
    )
    said = " ".join(total_said(bare))
    assert "penalty" not in said
    assert "fairways" not in said
    assert "34.2 putts" in said
    assert "Form" not in said
    assert "Form moves the golfer by 2.0" in " ".join(total_said(full_round(form_sd=2.0)))


def test_barriers_are_for_full_rounds() -> None:
    score = full_round()
    names = [name for name, _ in chances_said(score)]
    assert names == ["Breaks 100", "Breaks 90", "Breaks 80", "Breaks 70", "Par 72 or better"]
    assert dict(chances_said(score))["Breaks 90"] == score.total.chance_at_most(89)
    nine = round_score(score.holes[:9], target=45)
    assert [name for name, _ in chances_said(nine)] == ["45 or better, the target",
                                                        "Par 36 or better"]  # fmt: skip


def test_a_remainder_that_can_be_seen_is_said() -> None:
    score = full_round()
    assert "followed" not in printed(score)
    cut = distribution([0.05, 0.3, 0.4, 0.15], first=3)
    assert cut.remainder == pytest.approx(0.1)
    holes = (replace(score.holes[0], score=cut), *score.holes[1:])
    assert "In 10 % of rounds a hole goes on" in printed(round_score(holes))
    open_round = round_score([replace(hole, score=cut, par=4) for hole in score.holes])
    assert "Eight rounds in ten" not in printed(open_round)


def test_match_in_words() -> None:
    said = match_said(match_chances([HoleChances(1.0, 0.0, 0.0)] * 18))
    assert said[0].replace("\u00a0", " ") == "Wins 100 %, halves 0 %, loses 0 %."
    assert "won 10 and 8" in said[2]
    assert "all square" in match_said(match_chances([HoleChances(0.0, 1.0, 0.0)] * 3))[2]
    assert "lost 1 up" not in " ".join(said)


def values(layer: dict[str, Any], spec: dict[str, Any]) -> list[dict[str, Any]]:
    data = layer.get("data", spec.get("data"))
    assert data is not None
    found = data["values"] if "values" in data else spec["datasets"][data["name"]]
    return list(found)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=lambda p: p.name)
def test_bars_are_the_chances_and_the_target_stands_between_them(colours: Palette) -> None:
    score = full_round(target=88)
    spec = score_chart(score, colours).to_dict()
    bars = values(spec["layer"][0], spec)
    for row in bars:
        total = round((row["from"] + row["to"]) / 2)
        assert row["chance"] == score.total.chance(total)
        assert (row["colour"] == colours.bar) == (total <= 88)
    assert math.fsum(row["chance"] for row in bars) == pytest.approx(1.0, abs=0.01)
    (mark,) = values(spec["layer"][1], spec)
    assert mark["total"] == 88.5
    assert mark["words"] == f"88 or better: {percent(score.chance_of_target)}"
    assert spec["config"]["background"] == "transparent"


def test_a_far_target_is_on_the_chart() -> None:
    score = full_round(target=60)
    spec = score_chart(score).to_dict()
    low, high = spec["layer"][0]["encoding"]["x"]["scale"]["domain"]
    assert low < 60.5 < high


def test_no_target_no_mark() -> None:
    spec = score_chart(full_round()).to_dict()
    assert len(spec["layer"]) == 1
    assert {row["colour"] for row in values(spec["layer"][0], spec)} == {LIGHT.bar}


def test_cumulative_chart_rises_to_one_and_marks_barriers() -> None:
    score = full_round()
    spec = cumulative_chart(score).to_dict()
    steps = [row["chance"] for row in values(spec["layer"][0], spec)]
    assert steps == sorted(steps)
    assert steps[-1] > 0.995
    words = {
        row["words"] for layer in spec["layer"] for row in values(layer, spec) if "words" in row
    }
    assert words == {
        f"{t} or better: {percent(score.total.chance_at_most(t))}" for t in (79, 89, 99)
    }


def test_results_of_a_hole_add_up() -> None:
    score = full_round()
    spec = hole_results_chart(score).to_dict()
    rows = values(spec["layer"][0], spec)
    assert len(rows) == 18 * len(RESULT_SHARES)
    for first in range(0, len(rows), len(RESULT_SHARES)):
        hole = rows[first : first + len(RESULT_SHARES)]
        assert math.fsum(row["chance"] for row in hole) == pytest.approx(1.0)
        assert len({row["hole"] for row in hole}) == 1


def lightness(colour: str) -> float:
    """CIE lightness, the same in every sight to a good approximation."""
    value = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    linear = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    y = float(np.array([0.2126, 0.7152, 0.0722]) @ linear)
    return 116 * float(np.cbrt(y)) - 16 if y > 0.008856 else 903.3 * y


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=lambda p: p.name)
def test_results_are_told_apart_by_lightness_alone(colours: Palette) -> None:
    ramp = [lightness(mixed(colours.halo, colours.bar, share)) for share in RESULT_SHARES]
    assert all(abs(one - other) > 7.0 for one, other in pairwise(ramp))
    missed = lightness(mixed(colours.halo, colours.bar, 0.38))
    assert abs(missed - lightness(colours.bar)) > 20.0


def test_mixed_ends_at_its_colours() -> None:
    assert mixed("#102030", "#ffeedd", 0.0) == "#102030"
    assert mixed("#102030", "#ffeedd", 1.0) == "#ffeedd"
    assert mixed("#000000", "#ff0080", 0.5) == "#800040"
