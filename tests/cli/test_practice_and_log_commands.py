"""``planner practice`` and ``planner log``: what is printed, written and refused."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from planner.cli.app import app
from planner.cli.run import ExitCode
from planner.demo_data import demo_bag, demo_folder
from planner.golfer.bag import read_bag
from planner.planning.request import PlanRequest
from planner.store.location import STORE_VARIABLE
from planner.store.opening import open_store
from planner.store.rounds import rounds
from planner.strategy.practice_plan import PracticeStep
from planner.strategy.practice_results import Goal, HoleSplit, PracticePlan, StrokeAccounts
from planner.strategy.stroke_split import StrokePart, StrokeSplit

MAP = demo_folder() / "pebblecote.geojson"
LINKS = demo_folder() / "tarrowick.geojson"
SHORT = ("--holes", "2", "--clubs", "7 iron,Pitching wedge,Sand wedge")
ROUND = """hole,shot,lie,to pin (m),along (m),across (m),club,penalty,putts
2,1,tee,,,,9 iron,,
2,2,green,6,,,,,2
3,1,tee,,,,Pitching wedge,,
3,2,rough,,10,4,Sand wedge,,
3,3,green,3,,,,,1
4,1,swamp,,,,Sand wedge,,
"""


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [*map(str, arguments)])


def said(result: Result) -> str:
    return " ".join(result.output.split())


@pytest.fixture
def played(tmp_path: Path) -> Path:
    path = tmp_path / "round.csv"
    path.write_text(ROUND, encoding="utf-8")
    return path


SPLIT = StrokeSplit(5.0, 3.0, (StrokePart("mishits", 1.5, 0.5, 1.0),), 1.0)
STEP = PracticeStep("putting", "10 % less error", 0.1, 15.0, 0.03)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What the use cases were asked for; they answer without solving."""
    found: dict[str, Any] = {}

    def accounts(request: PlanRequest, **options: Any) -> StrokeAccounts:
        found["accounts"] = (request, options)
        return StrokeAccounts(
            "C", "Bram Oskel", "yellow", (HoleSplit("2", 3, SPLIT, 0.2),), SPLIT, 0.2, False
        )

    def plan(request: PlanRequest, **options: Any) -> PracticePlan:
        found["plan"] = (request, options)
        return PracticePlan("C", "Bram Oskel", "yellow", ("2",), 3, 5.0, (STEP,), False)

    monkeypatch.setattr("planner.planning.stroke_accounts.stroke_accounts", accounts)
    monkeypatch.setattr("planner.planning.practice.practice_plan", plan)
    return found


def test_practice_asks_for_what_was_typed_and_prints_it(
    asked: dict[str, Any], tmp_path: Path
) -> None:
    out = tmp_path / "practice.json"
    result = run(
        "practice", MAP, "--bag", demo_bag("bram"), *SHORT, "--target", 4, "--chance", 60,
        "--by", "2030-06-01", "--hours-a-week", 3, "--hours", "Putting=9, speed=0",
        "--reference", "tour", "--json", out, "--sheet", tmp_path / "sheet.pdf",
    )  # fmt: skip
    assert result.exit_code == ExitCode.OK, result.output
    request, options = asked["plan"]
    assert request.preview
    assert request.holes == ("2",)
    assert options["goal"] == Goal(4, 0.6, date(2030, 6, 1), 3.0)
    assert options["hours"] == {"putting": 9.0, "speed": 0.0}
    assert asked["accounts"][1]["reference"] == -5.0
    text = said(result)
    assert "Where the strokes go: Bram Oskel" in text
    assert "What practice is worth" in text
    assert "--fine solves as a plan does" in text
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    content = json.loads(out.read_text(encoding="utf-8"))
    assert content["accounts"]["round"]["whole"] == content["expected"] == 5.0


def test_practice_alone_takes_no_score_apart(asked: dict[str, Any]) -> None:
    result = run("practice", MAP, "--bag", demo_bag("bram"), *SHORT, "--no-split", "--fine")
    assert result.exit_code == ExitCode.OK, result.output
    assert "accounts" not in asked
    assert not asked["plan"][0].preview
    assert "Where the strokes go" not in said(result)
    assert "--fine" not in said(result)


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (("--by", "2030-01-01"), ExitCode.USAGE, "give --target too"),
        (("--target", "4", "--by", "soon"), ExitCode.USAGE, "is no day"),
        (("--hours", "putting"), ExitCode.USAGE, "write for instance putting=10"),
        (("--hours", "driving=3"), ExitCode.USAGE, 'no ability "driving"'),
        (("--reference", "pro"), ExitCode.USAGE, "write tour, scratch"),
    ],
)
def test_practice_refuses_in_words(options: tuple[str, ...], code: ExitCode, words: str) -> None:
    result = run("practice", MAP, "--bag", demo_bag("bram"), *SHORT, "--no-split", *options)
    assert result.exit_code == code
    assert words in said(result)


def test_log_values_a_round_keeps_it_and_fits_its_swings(
    played: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(STORE_VARIABLE, str(tmp_path / "store.sqlite"))
    out = tmp_path / "round.json"
    result = run(
        "log", played, MAP, "--bag", demo_bag("odile"), "--preview", "--date", "2027-05-01",
        "--save", "--json", out,
    )  # fmt: skip
    assert result.exit_code == ExitCode.OK, result.output
    text = said(result)
    assert "6 strokes, par 6." in text
    assert "Hole 3, par 3: 3" in text
    assert 'line 7, lie: "swamp" is no lie' in text
    assert "saved: round of 2027-05-01" in text
    content = json.loads(out.read_text(encoding="utf-8"))
    gained = [shot["gained"] for hole in content["holes"] for shot in hole["shots"]]
    assert sum(gained) == pytest.approx(content["expected"] - 6)
    with open_store(tmp_path / "store.sqlite") as store, store.reading() as work:
        (saved,) = rounds(work)
    assert saved.strokes == 6
    assert saved.date.isoformat() == "2027-05-01"


def test_swings_of_two_rounds_go_into_one_log_and_into_the_bag(tmp_path: Path) -> None:
    whole = (demo_folder() / "rounds" / "odile_marrow.csv").read_text(encoding="utf-8")
    lines = whole.splitlines()
    some = tmp_path / "some.csv"
    kept = [line for line in lines[1:] if line.split(",")[0] == "11"]
    some.write_text("\n".join([lines[0], *kept]), encoding="utf-8")
    shots, bag = tmp_path / "shots.csv", tmp_path / "bag.toml"
    same = ("log", some, LINKS, "--bag", demo_bag("odile"), "--tees", "red", "--preview")
    first = run(*same, "--brief", "--shots", shots)
    assert first.exit_code == ExitCode.OK, first.output
    rows = shots.read_text(encoding="utf-8").splitlines()
    assert rows[0].startswith("club,carry (m)")
    second = run(*same, "--brief", "--shots", shots, "--out", bag)
    assert second.exit_code == ExitCode.OK, second.output
    again = shots.read_text(encoding="utf-8").splitlines()
    assert again == [*rows, *rows[1:]]
    old, new = read_bag(demo_bag("odile")), read_bag(bag)
    label = rows[1].split(",")[0]
    assert new.club(label).pattern != old.club(label).pattern
    assert run(*same, "--shots", shots, "--out", bag).exit_code == ExitCode.USAGE


def test_log_refuses_in_words(played: Path, tmp_path: Path) -> None:
    same = ("log", played, MAP, "--bag", demo_bag("odile"), "--preview")
    assert "give it with --shots" in said(run(*same, "--out", tmp_path / "bag.toml"))
    assert "is no day" in said(run(*same, "--date", "yesterday"))
    missing = run("log", tmp_path / "none.csv", MAP, "--bag", demo_bag("odile"))
    assert missing.exit_code == ExitCode.UNUSABLE
    assert "does not exist" in said(missing)
    other = tmp_path / "other.csv"
    other.write_text("a,b\n1,2\n", encoding="utf-8")
    result = run(*same, "--shots", other)
    assert result.exit_code == ExitCode.UNUSABLE
    assert "name a new file" in said(result)
    assert other.read_text(encoding="utf-8") == "a,b\n1,2\n"
