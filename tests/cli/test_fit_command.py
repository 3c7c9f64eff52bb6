"""``planner fit``: what is printed, written and refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from planner.cli.app import app
from planner.cli.run import ExitCode
from planner.demo_data import demo_bag, demo_folder
from planner.golfer.bag import read_bag

BRAM = demo_folder() / "shots" / "bram_oskel.csv"
TOBIAS = demo_folder() / "shots" / "tobias_fennimark.csv"
SMALL = "Club,Carry,Side\n7 iron,140,3 L\n7 iron,135,2\nDriver,200,x\n"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, ["fit", *map(str, arguments)])


def said(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def small(tmp_path: Path) -> Path:
    path = tmp_path / "small.csv"
    path.write_text(SMALL, encoding="utf-8")
    return path


def test_a_log_and_a_bag_give_intervals_and_every_row_left_out() -> None:
    result = run(BRAM, "--bag", demo_bag("bram"))
    assert result.exit_code == ExitCode.OK, result.output
    text = said(result.stdout)
    assert "259 shots on 9 days, 7 rows left out" in text
    assert 'carry from "Carry (m)" in metres, offline from "Offline"' in text
    assert 'line 48, Carry (m): "1420" is 1420 m, more than any shot' in text
    assert "Sideways spread" in text
    assert "nine chances in ten" in text
    assert "few shots: 5 iron (8), 6 iron (2), 8 iron (8)" in text
    assert "2 shots from rough: too few to stand alone" in text
    assert "every fit converged" in text


def test_a_bag_in_yards_is_printed_in_yards() -> None:
    result = run(TOBIAS, "--bag", demo_bag("tobias"))
    assert result.exit_code == ExitCode.OK, result.output
    assert " yd" in result.stdout
    driver = next(line for line in result.stdout.splitlines() if line.startswith("Driver"))
    assert "177 yd" in said(driver)


def test_json_holds_everything_in_metres(tmp_path: Path) -> None:
    out = tmp_path / "fit.json"
    result = run(TOBIAS, "--bag", demo_bag("tobias"), "--json", out)
    assert result.exit_code == ExitCode.OK, result.output
    content = json.loads(out.read_text(encoding="utf-8"))
    assert (content["encoding"], content["separator"]) == ("cp1252", ";")
    assert [fault["line"] for fault in content["rejected"]] == [61, 119]
    driver = next(fit for fit in content["fits"] if fit["club"] == "Driver")
    assert (
        driver["mean_carry"]["low"] < driver["mean_carry"]["value"] < driver["mean_carry"]["high"]
    )
    assert driver["mean_carry"]["value"] == pytest.approx(177 * 0.9144, rel=0.02)
    assert sum(part["share"] for part in driver["pattern"]) == pytest.approx(1.0)
    assert driver["converged"] is True
    assert driver["few_shots"] is False
    quiet = run(TOBIAS, "--bag", demo_bag("tobias"), "--json", "-")
    assert json.loads(quiet.stdout) == content


def test_out_writes_a_bag_that_can_be_planned_with(tmp_path: Path) -> None:
    out = tmp_path / "measured.toml"
    result = run(BRAM, "--bag", demo_bag("bram"), "--out", out)
    assert result.exit_code == ExitCode.OK, result.output
    assert "Written to" in said(result.stdout)
    assert "Pitching wedge, Sand wedge" in said(result.stdout)
    before, after = read_bag(demo_bag("bram")), read_bag(out)
    assert [club.label for club in after.clubs] == [club.label for club in before.clubs]
    driver = after.club("Driver").pattern
    assert driver is not None
    assert driver.shots == 67
    # What was predicted has a measured pattern now; what was not hit is as it was.
    assert after.club("8 iron").pattern != before.club("8 iron").pattern
    assert after.club("Lofted driver") == before.club("Lofted driver")
    assert "# Borrowed for one bucket of balls." in out.read_text(encoding="utf-8")


def test_nothing_is_overwritten_unless_told(tmp_path: Path, small: Path) -> None:
    bag = tmp_path / "bag.toml"
    text = demo_bag("bram").read_text(encoding="utf-8")
    bag.write_text(text, encoding="utf-8")
    result = run(small, "--units", "metres", "--bag", bag, "--out", bag)
    assert result.exit_code == ExitCode.USAGE
    assert "(the bag itself): is there already; add --overwrite" in said(result.stderr)
    assert bag.read_text(encoding="utf-8") == text
    result = run(small, "--units", "metres", "--bag", bag, "--out", bag, "--overwrite")
    assert result.exit_code == ExitCode.OK, result.output
    pattern = read_bag(bag).club("7 iron").pattern
    assert pattern is not None
    assert pattern.shots == 2


def test_no_unit_is_a_question_and_nothing_is_written(tmp_path: Path, small: Path) -> None:
    out = tmp_path / "new.toml"
    result = run(small, "--bag", demo_bag("bram"), "--out", out)
    assert result.exit_code == ExitCode.UNUSABLE
    assert "metres or yards" in said(result.stderr)
    assert "--units metres" in said(result.stderr)
    assert not out.exists()


def test_without_a_bag_the_handicap_is_the_prior(small: Path) -> None:
    scratch = run(small, "--units", "yards", "--handicap", "0", "--json", "-")
    high = run(small, "--units", "yards", "--handicap", "36", "--json", "-")
    assert scratch.exit_code == high.exit_code == ExitCode.OK, scratch.output + high.output
    shares = [
        json.loads(result.stdout)["fits"][0]["mishit_share"]["value"] for result in (scratch, high)
    ]
    assert shares[0] < 0.5 * shares[1]
    text = said(run(small, "--units", "yards").stdout)
    assert "no handicap index is given; 18 is assumed" in text
    assert 'line 4, Side: "x" is not a distance' in text


def test_columns_by_map_and_a_club_for_all(tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("Flug;Weg, links-rechts\n140,5;-3\n139;2\n", encoding="cp1252")
    mapped = "carry=Flug,offline=Weg, links-rechts"
    result = run(path, "--map", mapped, "--units", "metres", "--club", "7 iron", "--json", "-")
    assert result.exit_code == ExitCode.OK, result.output
    content = json.loads(result.stdout)
    assert content["shots"] == 2
    assert content["fits"][0]["club"] == "7 iron"
    result = run(path, "--map", mapped, "--units", "metres")
    assert result.exit_code == ExitCode.USAGE
    assert "--club" in result.stderr


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("none.csv",), ExitCode.UNUSABLE, "none.csv: does not exist"),
        ((BRAM, "--map", "cary=x"), ExitCode.USAGE, 'did you mean "carry"?'),
        ((BRAM, "--map", "carry=Cary (m)"), ExitCode.UNUSABLE, 'did you mean "Carry (m)"?'),
        ((BRAM, "--out", "x.toml"), ExitCode.USAGE, "name the one to start from with --bag"),
        ((BRAM, "--bag", "none.toml"), ExitCode.UNUSABLE, "none.toml: does not exist"),
        (
            (BRAM, "--bag", demo_bag("bram"), "--out", "no/where.toml"),
            ExitCode.USAGE,
            "there is no folder",
        ),
        ((BRAM, "--handicap", "99"), ExitCode.USAGE, "handicap"),
    ],
)
def test_what_is_refused(arguments: tuple[object, ...], code: ExitCode, words: str) -> None:
    result = run(*arguments)
    assert result.exit_code == code, result.output
    assert words in said(result.stderr)


def test_text_of_the_log_is_no_markup(tmp_path: Path) -> None:
    path = tmp_path / "[red]log.csv"
    path.write_text("Club;Carry (m);Side (m)\n7i;140;1\n7i;[bold]x[/bold];1\n", encoding="utf-8")
    result = run(path)
    assert result.exit_code == ExitCode.OK, result.output
    assert "[bold]x[/bold]" in result.stdout
    assert "[red]log.csv" in said(result.stdout).replace(" ", "")
