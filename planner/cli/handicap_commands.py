"""``planner handicap``: an index from scores, strokes on a course, an unrated course's rating."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.arguments import JsonOption
from planner.cli.run import STANDARD_OUTPUT, exit_codes, print_parts, write_json
from planner.errors import OptionError, ScoreFileError
from planner.golfer.yardage_rating import RatedFor
from planner.units import DistanceUnit

if TYPE_CHECKING:
    from planner.golfer.handicap import CourseRating
    from planner.golfer.scoring_record import ScoringRecord
    from planner.golfer.yardage_rating import YardageRating

__all__ = ["handicap"]


def handicap(
    scores: Annotated[
        Path | None,
        typer.Argument(
            metavar="[SCORES]",
            help="CSV with columns differential, or score, rating, slope (and pcc, date).",
            show_default=False,
        ),
    ] = None,
    score: Annotated[
        str, typer.Option(help='Differentials instead of a file, oldest first: "15.3,15.2,16.6".')
    ] = "",
    index: Annotated[
        str, typer.Option(help='A known handicap index instead of scores; "+1.2" is a plus one.')
    ] = "",
    low_index: Annotated[
        str, typer.Option(help="Lowest index of the year before: caps the rise of a full record.")
    ] = "",
    exceptional: Annotated[
        bool, typer.Option("--exceptional", help="Take the reductions for exceptional scores off.")
    ] = False,
    course_rating: Annotated[
        float | None, typer.Option(min=20.0, max=100.0, help="Course rating of the tees.")
    ] = None,
    slope: Annotated[int | None, typer.Option(min=55, max=155, help="Slope rating.")] = None,
    par: Annotated[int | None, typer.Option(min=27, max=90, help="Par of the course.")] = None,
    allowance: Annotated[
        float, typer.Option(min=1.0, max=100.0, help="Per cent allowed in the form of play.")
    ] = 95.0,
    nine_holes: Annotated[
        bool, typer.Option("--nine-holes", help="Rating, par and length are of nine holes.")
    ] = False,
    length: Annotated[
        float | None,
        typer.Option(min=500.0, max=12000.0, help="Length of a course without a rating."),
    ] = None,
    units: Annotated[DistanceUnit, typer.Option(help="Unit of the length.")] = DistanceUnit.METRES,
    rated_for: Annotated[
        RatedFor, typer.Option("--for", help="Whom the length is rated for.")
    ] = RatedFor.MEN,
    json_out: JsonOption = None,
) -> None:
    """Work out a handicap index, the strokes it gives on a course, and a rating from a length."""
    with exit_codes():
        from planner.golfer.scoring_record import course_strokes
        from planner.golfer.yardage_rating import yardage_rating
        from planner.report import handicap_text

        record = _record(scores, score, index, low_index, reduce_exceptional=exceptional)
        known = record.index.value if record is not None else _index(index, "--index")
        estimate = None
        if length is not None:
            holes = 9 if nine_holes else 18
            estimate = yardage_rating(units.to_metres(length), rated_for, holes=holes)
        course = _course(course_rating, slope, estimate)
        strokes = None
        if known is not None and course is not None and par is not None:
            strokes = course_strokes(
                known,
                course,
                par,
                estimate=estimate,
                allowance=allowance / 100.0,
                nine_holes=nine_holes,
            )
        _check_asked(known, course, par, estimate)
        if json_out is not None:
            content = handicap_text.handicap_as_json(record, strokes, estimate)
            if record is None and known is not None:
                content = {"index": known, **content}
            write_json(json_out, content)
        if json_out != STANDARD_OUTPUT:
            parts = []
            if record is not None:
                parts.append(handicap_text.record_text(record))
            if estimate is not None:
                parts.append(handicap_text.estimate_text(estimate, rated_for))
            if strokes is not None:
                parts.append(handicap_text.course_text(strokes))
            for place, part in enumerate(parts):
                print_parts(*([""] if place else []), part)


def _record(
    scores: Path | None, typed: str, index: str, low_index: str, *, reduce_exceptional: bool
) -> ScoringRecord | None:
    """Record of the file or of what was typed; None if there is neither."""
    from planner.golfer.score_file import posted_differentials, read_scores
    from planner.golfer.scoring_record import scoring_record

    if sum(map(bool, (scores, typed, index))) > 1:
        raise OptionError("give SCORES, --score or --index, not several of them")
    if scores is None and not typed:
        if low_index or reduce_exceptional:
            raise OptionError("--low-index and --exceptional belong to scores; give them too")
        return None
    posted = (
        read_scores(scores) if scores is not None else posted_differentials(_differentials(typed))
    )
    try:
        return scoring_record(
            posted,
            low_index=_index(low_index, "--low-index"),
            reduce_exceptional=reduce_exceptional,
        )
    except ValueError as error:
        if scores is not None:
            raise ScoreFileError(str(scores), [str(error)]) from None
        raise OptionError(f"--score: {error}") from None


def _differentials(typed: str) -> tuple[float, ...]:
    texts = [text.strip() for text in typed.replace(";", ",").split(",") if text.strip()]
    values = [_plus_number(text) for text in texts]
    wrong = [
        text
        for text, value in zip(texts, values, strict=True)
        if value is None or not -20.0 <= value <= 120.0
    ]
    if wrong or not values:
        shown = ", ".join(f'"{text}"' for text in wrong) or f'"{typed}"'
        raise OptionError(f'--score: {shown} is no differential; write "15.3,15.2,16.6"')
    return tuple(value for value in values if value is not None)


def _index(typed: str, option: str) -> float | None:
    """An index as golfers write it; None if none was typed."""
    if not typed.strip():
        return None
    value = _plus_number(typed.strip())
    if value is None or not -10.0 <= value <= 54.0:
        raise OptionError(f'{option} "{typed}": write an index from +10.0 to 54.0, such as 18.4')
    return value


def _plus_number(text: str) -> float | None:
    """Read a number whose plus sign means better than scratch."""
    try:
        value = float(text.removeprefix("+"))
    except ValueError:
        return None
    if not math.isfinite(value):
        return None
    return -value if text.startswith("+") else value


def _course(
    rating: float | None, slope: int | None, estimate: YardageRating | None
) -> CourseRating | None:
    from planner.golfer.handicap import CourseRating

    if rating is None and slope is None:
        return None if estimate is None else estimate.course
    if estimate is not None:
        raise OptionError("--length is for a course without --course-rating and --slope")
    if rating is None or slope is None:
        raise OptionError("--course-rating and --slope belong together; give both")
    return CourseRating(rating, slope)


def _check_asked(
    index: float | None,
    course: CourseRating | None,
    par: int | None,
    estimate: YardageRating | None,
) -> None:
    """Say what is missing where nothing, or only half of what was meant, can be told."""
    if index is None and estimate is None:
        raise OptionError("give SCORES, --score or --index, or the --length of an unrated course")
    if index is None and par is not None:
        raise OptionError("--par is for a course handicap; give SCORES, --score or --index too")
    if par is None and course is not None and estimate is None:
        raise OptionError("a course handicap needs --par as well")
    if par is not None and course is None:
        raise OptionError("a course handicap needs --course-rating and --slope, or --length")
