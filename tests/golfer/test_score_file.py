"""Lists of scores: what is read, in which order, and what is refused with every fault at once."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from planner.errors import ScoreFileError
from planner.golfer.score_file import PostedScore, read_scores, scores_from_text
from planner.golfer.scoring_record import scoring_record


def read(text: str) -> tuple[PostedScore, ...]:
    return scores_from_text("scores.csv", text.encode())


def problems(text: str) -> tuple[str, ...]:
    with pytest.raises(ScoreFileError) as caught:
        read(text)
    return caught.value.problems


def test_differentials() -> None:
    scores = read("differential\n15.3\n15.2\n+0.4\n-1.2\n")
    assert [score.differential for score in scores] == [15.3, 15.2, -0.4, -1.2]
    assert scores[0].date is None
    assert scores[0].score is None


def test_scores_with_ratings_are_sorted_by_date() -> None:
    scores = read(
        "Date;Score;Course Rating;Slope_Rating;PCC;Weather\n"
        "2024-05-01;92;71,2;125;;sun\n2024-04-01;95;71,2;125;+1;rain\n"
    )
    assert [score.date for score in scores] == [
        datetime.date(2024, 4, 1), datetime.date(2024, 5, 1)
    ]  # fmt: skip
    # 113 / 125 x (95 - 71.2 - 1) = 20.61 and 113 / 125 x (92 - 71.2) = 18.80.
    assert [score.differential for score in scores] == [20.6, 18.8]
    assert [score.score for score in scores] == [95, 92]


def test_a_differential_that_is_given_is_taken() -> None:
    (score,) = read("score,differential\n90,12.3\n")
    assert (score.score, score.differential) == (90, 12.3)


def test_every_fault_is_told_at_once() -> None:
    said = problems(
        "date,score,rating,slope,pcc\n"
        "2024-05-01,92,71.2,165,0\n"
        "01.05.2024,x,71.2,125,4\n"
        "2024-05-03,89,,,\n"
        ",90.5,71,120,\n"
    )
    assert said == (
        "line 2: slope 165 is not within 55 and 155",
        'line 3: date "01.05.2024" is not understood; write it as 2024-05-31',
        'line 3: score "x" is no whole number',
        "line 3: pcc 4 is not within -1 and 3",
        "line 4: no differential, and no rating and no slope either",
        'line 5: score "90.5" is no whole number',
    )


def test_dates_are_for_all_or_none() -> None:
    (said,) = problems("date,differential\n2024-05-01,12\n,13\n")
    assert "some rows have a date and some have none" in said


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty"),
        ("club,carry\n7 iron,130\n", "needs a column differential"),
        ("score,rating\n90,71\n", 'the headings are "score", "rating"'),
        ("differential\n", "no score"),
        ("differential,score differential\n1,2\n", "stands there twice"),
        ("differential\nnan\n", 'differential "nan" is no number'),
    ],
)
def test_unusable_lists(text: str, says: str) -> None:
    assert any(says in problem for problem in problems(text))


def test_files(tmp_path: Path) -> None:
    path = tmp_path / "scores.csv"
    path.write_text("differential\n12.0\n", encoding="utf-16")
    assert read_scores(path)[0].differential == 12.0
    with pytest.raises(ScoreFileError, match="does not exist"):
        read_scores(tmp_path / "none.csv")
    (tmp_path / "book.csv").write_bytes(b"PK\x03\x04 and so on")
    with pytest.raises(ScoreFileError, match="workbook"):
        read_scores(tmp_path / "book.csv")


def test_record_of_the_rules_example() -> None:
    # Rules of Handicapping, Rule 5 interpretations: 34.1 after three scores, 37.4 after six.
    scores = read("differential\n40.7\n42.4\n36.1\n45.9\n43.6\n45.0\n")
    assert scoring_record(scores[:3]).index.value == 34.1
    record = scoring_record(scores)
    assert record.index.value == 37.4
    assert record.index.counting == (0, 2)
    assert record.exceptional == ()


def test_reductions_only_where_they_are_asked_for() -> None:
    scores = read("differential\n" + "20.0\n" * 20 + "12.5\n")
    as_it_is, reduced = scoring_record(scores), scoring_record(scores, reduce_exceptional=True)
    assert as_it_is.exceptional == reduced.exceptional == (20,)
    assert as_it_is.differentials[-1] == 12.5
    assert reduced.differentials[-1] == 11.5
    assert (as_it_is.index.value, reduced.index.value) == (19.1, 18.1)
