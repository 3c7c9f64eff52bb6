"""Handicaps in words, as text for a terminal and as JSON values; no arithmetic."""

from __future__ import annotations

from typing import Any

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.golfer.handicap import FULL_RECORD, Cap, HandicapIndex
from planner.golfer.scoring_record import CourseStrokes, ScoringRecord
from planner.golfer.yardage_rating import RatedFor, YardageRating
from planner.report.words import percent

__all__ = [
    "course_text",
    "estimate_text",
    "handicap_as_json",
    "index_said",
    "record_text",
    "strokes_said",
]

ESTIMATE_CAUTION = (
    "An estimate from the length alone: hazards, trees, wind and height are not in it, and no "
    "score can be posted against it."
)


def index_said(index: float) -> str:
    """An index as golfers write it: a plus for better than scratch."""
    return f"+{-index:.1f}" if index < 0.0 else f"{index:.1f}"


def strokes_said(handicap: int) -> str:
    """A course or playing handicap as golfers write it."""
    return f"+{-handicap}" if handicap < 0 else f"{handicap}"


def record_text(record: ScoringRecord) -> RenderableType:
    """The index, how it came about, and which scores count."""
    index = record.index
    lines = [_text(f"Handicap index {index_said(index.value)}", "bold"), _text(_made_of(index))]
    if index.cap is not Cap.NONE:
        lines.append(
            _text(f"The {index.cap.value} holds it there; {index_said(index.before_cap)} without.")
        )
    lines += [_text(line) for line in _exceptional_said(record)]
    return Group(*lines, Text(), _record_table(record))


def course_text(strokes: CourseStrokes) -> RenderableType:
    """Strokes on a course and the score to play to."""
    course = strokes.course
    rating = f"rating {course.rating:.1f}, slope {course.slope}, par {strokes.par}"
    lines = [
        _text(f"Course handicap {strokes_said(strokes.course_handicap)}", "bold"),
        _text(f"On a course with {rating}. A score of {strokes.target} plays to it."),
        _text(
            f"Playing handicap {strokes_said(strokes.playing_handicap)}, with "
            f"{percent(strokes.allowance)} of it allowed."
        ),
    ]
    return Group(*lines)


def estimate_text(estimate: YardageRating, rated_for: RatedFor) -> RenderableType:
    """The rating estimated for a course that has none."""
    return Group(
        _text(
            f"Estimated for {rated_for.value}: course rating {estimate.course.rating:.1f}, "
            f"bogey rating {estimate.bogey:.1f}, slope {estimate.slope}",
            "bold",
        ),
        _text(ESTIMATE_CAUTION),
    )


def handicap_as_json(
    record: ScoringRecord | None,
    strokes: CourseStrokes | None,
    estimate: YardageRating | None,
) -> dict[str, Any]:
    """What is known as JSON values; what was not asked for is left out."""
    content: dict[str, Any] = {}
    if record is not None:
        content["index"] = record.index.value
        content["before_cap"] = record.index.before_cap
        content["cap"] = record.index.cap.value
        content["adjustment"] = record.index.adjustment
        content["scores"] = [
            {
                "date": None if score.date is None else score.date.isoformat(),
                "score": score.score,
                "differential": score.differential,
                "counted_as": differential,
                "counts": place in record.index.counting,
                "exceptional": place in record.exceptional,
            }
            for place, (score, differential) in enumerate(
                zip(record.scores, record.differentials, strict=True)
            )
        ]
    if estimate is not None:
        content["estimate"] = {
            "course_rating": estimate.course.rating,
            "bogey_rating": round(estimate.bogey, 1),
            "slope": estimate.slope,
        }
    if strokes is not None:
        content["course"] = {
            "course_rating": strokes.course.rating,
            "slope": strokes.course.slope,
            "par": strokes.par,
            "course_handicap": strokes.course_handicap,
            "allowance": strokes.allowance,
            "playing_handicap": strokes.playing_handicap,
            "target_score": strokes.target,
        }
    return content


def _made_of(index: HandicapIndex) -> str:
    low = len(index.counting)
    lowest = "The lowest" if low == 1 else f"Mean of the lowest {low}"
    of = "the last 20" if index.considered == FULL_RECORD else f"{index.considered}"
    less = f", less {-index.adjustment}.0 for a short record" if index.adjustment else ""
    return f"{lowest} of {of} differentials{less}."


def _exceptional_said(record: ScoringRecord) -> list[str]:
    if not record.exceptional:
        return []
    several = len(record.exceptional) > 1
    scores = f"{len(record.exceptional)} scores were" if several else "1 score was"
    taken = "are taken off" if record.reduced else "are not taken off (--exceptional takes them)"
    return [f"{scores} exceptional, 7.0 or more below the index; the reductions {taken}."]


def _record_table(record: ScoringRecord) -> RenderableType:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    dated = any(score.date is not None for score in record.scores)
    scored = any(score.score is not None for score in record.scores)
    table.add_column("Round", justify="right")
    if dated:
        table.add_column("Date")
    if scored:
        table.add_column("Score", justify="right")
    table.add_column("Differential", justify="right")
    table.add_column("")
    first = len(record.scores) - record.index.considered
    for place in range(first, len(record.scores)):
        score = record.scores[place]
        cells = [f"{place + 1}"]
        cells += [f"{score.date or '-'}"] if dated else []
        cells += ["-" if score.score is None else f"{score.score}"] if scored else []
        cells.append(index_said(record.differentials[place]))
        remarks = ["counts"] if place in record.index.counting else []
        remarks += ["exceptional"] if place in record.exceptional else []
        table.add_row(*map(_text, cells), _text(", ".join(remarks)))
    return Padding(table, (0, 0, 0, 2))


def _text(line: str, style: str = "") -> Text:
    """Plain text: no markup, and ordinary spaces so that a pipe can be searched."""
    return Text(line.replace("\u00a0", " "), style=style)
