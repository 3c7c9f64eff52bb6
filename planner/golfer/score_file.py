"""Reading a list of scores for a handicap: differentials, or scores with their ratings."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from planner.errors import ScoreFileError, ShotLogError
from planner.golfer.handicap import (
    PCC_RANGE,
    SLOPE_RANGE,
    CourseRating,
    score_differential,
)
from planner.golfer.shot_log_text import LogLine, file_content, split_rows

__all__ = ["PostedScore", "posted_differentials", "read_scores", "scores_from_text"]

HEADINGS: Mapping[str, tuple[str, ...]] = {
    "date": ("date", "played", "day"),
    "score": ("score", "adjusted gross score", "adjusted score", "gross"),
    "rating": ("rating", "course rating"),
    "slope": ("slope", "slope rating"),
    "pcc": ("pcc", "pcc adjustment"),
    "differential": ("differential", "score differential"),
}
"""Column headings that are understood, capitals and underscores aside."""
_RANGES = {
    "differential": (-20.0, 120.0),
    "score": (40.0, 250.0),
    "rating": (40.0, 100.0),
    "slope": SLOPE_RANGE,
    "pcc": PCC_RANGE,
}
"""Beyond these, for 18 holes, a number is taken for a slip of the pen."""
_WHOLE = frozenset({"score", "slope"})


@dataclass(frozen=True)
class PostedScore:
    """One score of a record.

    Parameters
    ----------
    differential
        Score differential.
    date
        Day of play; None if not given.
    score
        Adjusted gross score; None where only the differential is known.
    """

    differential: float
    date: datetime.date | None = None
    score: int | None = None


def posted_differentials(differentials: tuple[float, ...]) -> tuple[PostedScore, ...]:
    """Scores of which only the differentials are known, oldest first."""
    return tuple(PostedScore(value) for value in differentials)


def read_scores(path: str | Path) -> tuple[PostedScore, ...]:
    """Scores of a file, oldest first.

    Raises
    ------
    ScoreFileError
        The file cannot be used; the error names every problem with its line.
    """
    try:
        content = file_content(path)
    except ShotLogError as error:
        raise ScoreFileError(error.source, error.problems) from None
    return scores_from_text(str(path), content)


def scores_from_text(source: str, content: bytes) -> tuple[PostedScore, ...]:
    """Scores of a file's content, oldest first: by date where every row has one.

    Raises
    ------
    ScoreFileError
        As :func:`read_scores`.
    """
    if not content.strip():
        raise ScoreFileError(source, ["is empty; write one row for each score"])
    try:
        rows = split_rows(source, content).rows
    except ShotLogError as error:
        raise ScoreFileError(source, error.problems) from None
    problems: list[str] = []
    columns = _columns(rows[0], problems)
    scores = [] if problems else [_posted(row, columns, problems) for row in rows[1:]]
    if not problems and not scores:
        problems.append("holds headings but no score; write one row for each")
    found = [score for score in scores if score is not None]
    dated = [score for score in found if score.date is not None]
    if dated and len(dated) < len(found):
        problems.append("some rows have a date and some have none; give every row its date")
    if problems:
        raise ScoreFileError(source, problems)
    return tuple(sorted(found, key=lambda score: score.date or datetime.date.min))


def _columns(row: LogLine, problems: list[str]) -> dict[str, int]:
    columns: dict[str, int] = {}
    for at, cell in enumerate(row.cells):
        heading = " ".join(cell.replace("_", " ").casefold().split())
        name = next((name for name, known in HEADINGS.items() if heading in known), None)
        if name in columns:
            problems.append(
                f'line {row.line}: column "{cell.strip()}" stands there twice; keep one'
            )
        elif name is not None:
            columns[name] = at
    if "differential" not in columns and not {"score", "rating", "slope"} <= columns.keys():
        shown = ", ".join(f'"{cell.strip()}"' for cell in row.cells if cell.strip())
        problems.append(
            f"line {row.line}: needs a column differential, or score, rating and slope (pcc and "
            f"date as well if known); the headings are {shown}"
        )
    return columns


def _posted(row: LogLine, columns: Mapping[str, int], problems: list[str]) -> PostedScore | None:
    """Score of one row; what is wrong with it goes to ``problems``, and then there is none."""
    cells = {
        name: row.cells[at].strip() if at < len(row.cells) else "" for name, at in columns.items()
    }
    before = len(problems)
    date = _date(cells.get("date", ""), row.line, problems)
    values = {
        name: value
        for name in _RANGES
        if (value := _value(name, cells.get(name, ""), row.line, problems)) is not None
    }
    if not cells.get("differential"):
        missing = [name for name in ("score", "rating", "slope") if not cells.get(name)]
        if missing:
            problems.append(
                f"line {row.line}: no differential, and no {' and no '.join(missing)} either"
            )
    if len(problems) > before:
        return None
    score = int(values["score"]) if "score" in values else None
    if "differential" in values:
        return PostedScore(values["differential"], date, score)
    course = CourseRating(values["rating"], int(values["slope"]))
    differential = score_differential(values["score"], course, pcc=values.get("pcc", 0.0))
    return PostedScore(differential, date, score)


def _value(name: str, text: str, line: int, problems: list[str]) -> float | None:
    """Number of a cell; None if it is empty or, which goes to ``problems``, faulty."""
    if not text:
        return None
    # A plus differential is one better than scratch; a plus PCC is a hard day.
    better = name == "differential" and text.startswith("+")
    value = -_number(text) if better else _number(text)
    low, high = _RANGES[name]
    if math.isnan(value) or (name in _WHOLE and value != round(value)):
        kind = "whole number" if name in _WHOLE else "number"
        problems.append(f'line {line}: {name} "{text}" is no {kind}')
    elif not low <= value <= high:
        problems.append(f"line {line}: {name} {text} is not within {low:g} and {high:g}")
    else:
        return value
    return None


def _number(text: str) -> float:
    """Read a number with a decimal point or comma; nan if it is none."""
    try:
        value = float(text.replace("\u2212", "-").replace(",", "."))
    except ValueError:
        return math.nan
    return value if math.isfinite(value) else math.nan


def _date(text: str, line: int, problems: list[str]) -> datetime.date | None:
    if not text:
        return None
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        problems.append(f'line {line}: date "{text}" is not understood; write it as 2024-05-31')
        return None
