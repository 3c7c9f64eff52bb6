"""``planner handicap``: worked examples, and what is said when something is missing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from planner.cli.app import app
from planner.cli.run import ExitCode


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, ["handicap", *arguments])


def said(result: Result) -> str:
    return " ".join(result.stdout.split())


def test_index_of_the_rules_example() -> None:
    # Rules of Handicapping, Rule 5 interpretations.
    result = run("--score", "15.3,15.2,16.6")
    assert result.exit_code == ExitCode.OK, result.output
    assert "Handicap index 13.2" in said(result)
    assert "The lowest of 3 differentials, less 2.0 for a short record." in said(result)
    assert "2 15.2 counts 3" in said(result)


def test_nine_holes_of_the_guidance() -> None:
    # USGA, Local Guidance for Rule 6.
    result = run(
        *("--index", "8.7", "--course-rating", "35.3", "--slope", "121", "--par", "36"),
        "--nine-holes",
    )
    assert "Course handicap 4 " in said(result)
    assert "A score of 40 plays to it." in said(result)


def test_rating_of_6500_yards() -> None:
    # USGA yardage rating: 70.45, 91.33, 112.
    result = run("--length", "6500", "--units", "yards", "--for", "men")
    assert "course rating 70.4, bogey rating 91.3, slope 112" in said(result)
    assert "no score can be posted against it" in said(result)
    women = run("--length", "6500", "--units", "yards", "--for", "women")
    assert "course rating 76.2" in said(women)


def test_unrated_course_gives_strokes() -> None:
    result = run("--index", "+1.5", "--length", "6500", "--units", "yards", "--par", "72")
    # -1.5 x 112 / 113 + 70.4 - 72 = -3.09; 95 % of it -2.93.
    assert "Course handicap +3 " in said(result)
    assert "Playing handicap +3, with 95 % of it allowed." in said(result)


def test_file_with_caps_as_json(tmp_path: Path) -> None:
    path = tmp_path / "scores.csv"
    path.write_text("differential\n" + "13.4\n" * 20, encoding="utf-8")
    text = run(str(path), "--low-index", "10.0")
    # The USGA's example of the soft cap.
    assert "Handicap index 13.2" in said(text)
    assert "The soft cap holds it there; 13.4 without." in said(text)
    content = json.loads(run(str(path), "--low-index", "10.0", "--json", "-").stdout)
    assert (content["index"], content["before_cap"], content["cap"]) == (13.2, 13.4, "soft cap")
    assert sum(score["counts"] for score in content["scores"]) == 8


def test_exceptional_scores_are_pointed_out() -> None:
    differentials = ",".join(["20"] * 20 + ["12.5"])
    assert "1 score was exceptional" in said(run("--score", differentials))
    assert "Handicap index 19.1" in said(run("--score", differentials))
    assert "Handicap index 18.1" in said(run("--score", differentials, "--exceptional"))


def test_index_and_course_as_json() -> None:
    arguments = ("--index", "18.4", "--course-rating", "71.2", "--slope", "128", "--par", "72")
    content = json.loads(run(*arguments, "--allowance", "100", "--json", "-").stdout)
    assert content["index"] == 18.4
    assert content["course"] == {
        "course_rating": 71.2,
        "slope": 128,
        "par": 72,
        "course_handicap": 20,
        "allowance": 1.0,
        "playing_handicap": 20,
        "target_score": 92,
    }


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "give SCORES, --score or --index"),
        (["--score", "12,13"], "an index needs 3 scores"),
        (["--score", "12,x,13"], '"x" is no differential'),
        (["--score", "12,13,14", "--index", "3"], "not several of them"),
        (["--index", "60"], "write an index from +10.0 to 54.0"),
        (["--index", "3", "--par", "72"], "needs --course-rating and --slope"),
        (["--index", "3", "--slope", "120"], "belong together"),
        (["--index", "3", "--slope", "120", "--course-rating", "71"], "needs --par"),
        (["--index", "3", "--low-index", "2"], "belong to scores"),
        (["--length", "6000", "--par", "72"], "--par is for a course handicap"),
        (
            ["--length", "6000", "--course-rating", "71", "--slope", "120"],
            "without --course-rating and --slope",
        ),
    ],
)
def test_what_is_missing_is_said(arguments: list[str], says: str) -> None:
    result = run(*arguments)
    assert result.exit_code == ExitCode.USAGE
    assert says in result.stderr


def test_unusable_files(tmp_path: Path) -> None:
    assert run(str(tmp_path / "none.csv")).exit_code == ExitCode.UNUSABLE
    short = tmp_path / "short.csv"
    short.write_text("differential\n12\n", encoding="utf-8")
    result = run(str(short))
    assert result.exit_code == ExitCode.UNUSABLE
    assert "short.csv: an index needs 3 scores over 18 holes, got 1" in result.stderr
