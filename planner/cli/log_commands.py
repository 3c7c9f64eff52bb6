"""``planner log``: a round that was played, shot by shot, against the golfer's own average."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.arguments import (
    BagOption,
    DetailOption,
    JsonOption,
    MapArgument,
    PreviewOption,
    TeesOption,
    UnitsOption,
)
from planner.cli.plan_options import FirmnessOption, WindOption, plan_request
from planner.cli.run import (
    STANDARD_OUTPUT,
    check_json_folder,
    exit_codes,
    print_parts,
    progress_bar,
    write_json,
)
from planner.errors import OptionError, ShotLogError

if TYPE_CHECKING:
    from planner.golfer.bag import Bag
    from planner.golfer.round_file import RoundReading
    from planner.planning.request import PlanRequest
    from planner.strategy.strokes_gained import RoundAccounts

__all__ = ["log"]


def log(
    round_file: Annotated[
        Path,
        typer.Argument(metavar="ROUND", help="CSV: hole, lie, to pin (m), club, outcome, penalty."),
    ],
    map_file: MapArgument,
    bag: BagOption,
    tees: TeesOption = None,
    played_on: Annotated[str, typer.Option("--date", help="Day of the round; today.")] = "",
    wind: WindOption = "calm",
    firmness: FirmnessOption = 1.0,
    units: UnitsOption = None,
    detail: DetailOption = True,
    preview: PreviewOption = False,
    shots: Annotated[
        Path | None,
        typer.Option(metavar="SHOTS", help="Add the full swings to this shot log (CSV)."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="BAG", help="Fit all of --shots and write the bag with the patterns."),
    ] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Let --out replace a file that is there.")
    ] = False,
    save: Annotated[bool, typer.Option("--save", help="Keep the round in the store.")] = False,
    json_out: JsonOption = None,
) -> None:
    """Value every shot of a round you played, and what leaving the plan cost."""
    with exit_codes():
        from planner.golfer.round_file import read_round
        from planner.planning.round_logging import round_accounts

        check_json_folder(json_out)
        if out is not None and shots is None:
            raise OptionError("--out fits a shot log; give it with --shots")
        if out is not None and out.exists() and not overwrite:
            raise OptionError(f"--out {out}: is there already; add --overwrite")
        day = _day(played_on)
        request = plan_request(map_file, bag, tees, wind=wind, firmness=firmness, preview=preview)
        reading = read_round(round_file, unit=units)
        with progress_bar() as report:
            found = round_accounts(request, reading.holes, progress=report)
        said = _keep_swings(found, shots, day)
        if out is not None and shots is not None:
            said += _write_bag(shots, out, bag, request.bag)
        if save:
            said.append(_save(found, reading, request, day))
        _tell(found, reading, request, units, said, detail=detail, json_out=json_out)


def _day(text: str) -> date:
    if not text.strip():
        return date.today()
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise OptionError(f'--date "{text}" is no day; write 2027-06-30') from None


def _keep_swings(found: RoundAccounts, shots: Path | None, day: date) -> list[str]:
    from planner.golfer.shot_log_text import MAX_FILE_BYTES
    from planner.report.round_log_text import SWING_HEADINGS, swings_csv

    if shots is None:
        return []
    if not found.swings:
        return [f"{shots}: this round has no full swing whose carry and line are known"]
    heading = ",".join(SWING_HEADINGS)
    try:
        if shots.exists() and shots.stat().st_size > MAX_FILE_BYTES:
            limit = f"{MAX_FILE_BYTES / 1e6:g} MB"
            raise ShotLogError(str(shots), [f"has more than {limit}; name a new file"])
        before = shots.read_text(encoding="utf-8") if shots.exists() else ""
        if before.strip() and before.lstrip().splitlines()[0] != heading:
            raise ShotLogError(
                str(shots),
                [f"has other columns than {heading}; name a new file, or one that log wrote"],
            )
        text = swings_csv(found.swings, day=day.isoformat(), heading=not before.strip())
        joined = before if not before or before.endswith("\n") else before + "\n"
        shots.write_text(joined + text, encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ShotLogError(str(shots), [f"cannot be written: {error}"]) from None
    return [f"{len(found.swings)} full swings added to {shots}"]


def _write_bag(shots: Path, out: Path, bag_file: Path, bag: Bag) -> list[str]:
    from planner.golfer.bag import bag_text
    from planner.golfer.shot_log_reading import read_shot_log
    from planner.planning.pattern_fitting import fit_shots, patterned_bag

    fit = fit_shots(read_shot_log(shots), bag=bag)
    new = patterned_bag(bag_text(bag_file), fit.fits, source=str(bag_file), name=bag_file.stem)
    try:
        out.write_text(new.text, encoding="utf-8")
    except OSError as error:
        raise OptionError(f"--out {out}: cannot be written: {error.strerror}") from None
    return [f"{out}: new patterns of {', '.join(new.changed) or 'no club'}"]


def _save(found: RoundAccounts, reading: RoundReading, request: PlanRequest, day: date) -> str:
    from planner.planning.round_keeping import Card, keep_round
    from planner.store.opening import open_store

    card = Card(found.golfer, found.course, found.tee, day, reading.holes)
    with open_store() as store:
        keep_round(store, card, course=request.course, accounts=found.holes)
    return f"saved: round of {day.isoformat()} on {found.course}"


def _tell(
    found: RoundAccounts,
    reading: RoundReading,
    request: PlanRequest,
    units: object,
    said: list[str],
    *,
    detail: bool,
    json_out: Path | None,
) -> None:
    from planner.report import round_log_text as text
    from planner.units import DistanceUnit

    unit = units if isinstance(units, DistanceUnit) else request.bag.unit
    rejected = [str(fault) for fault in reading.rejected]
    if json_out is not None:
        content = text.round_as_json(found, [*found.notes, *reading.notes, *said], rejected)
        write_json(json_out, content)
    if json_out == STANDARD_OUTPUT:
        return
    print_parts(*text.round_parts(found))
    for hole in found.holes if detail else ():
        print_parts("", text.hole_text(hole, unit, request.course.hole(hole.ref).pin_hole))
    for title, lines in (
        ("Left out", rejected),
        ("To be known", [*reading.notes, *found.notes]),
        ("Written", said),
    ):
        if lines:
            print_parts("", f"{title}:", *(f"  {line}" for line in lines))
