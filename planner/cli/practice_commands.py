"""``planner practice``: where strokes go, what to practise, and the road to a target."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.arguments import (
    BagOption,
    HolesOption,
    JsonOption,
    MapArgument,
    TeesOption,
    UnitsOption,
)
from planner.cli.card_commands import Paper, PaperOption
from planner.cli.plan_options import ClubsOption, FirmnessOption, WindOption, plan_request
from planner.cli.run import (
    STANDARD_OUTPUT,
    check_json_folder,
    exit_codes,
    print_parts,
    progress_bar,
    write_bytes,
    write_json,
)
from planner.errors import OptionError

if TYPE_CHECKING:
    from planner.strategy.practice_results import PracticePlan, StrokeAccounts

__all__ = ["practice"]


def practice(
    map_file: MapArgument,
    bag: BagOption,
    tees: TeesOption = None,
    holes: HolesOption = "all",
    target: Annotated[
        int | None, typer.Option(min=1, max=400, help="Total to reach or beat on these holes.")
    ] = None,
    chance: Annotated[
        float, typer.Option(min=1.0, max=99.0, help="Chance of the target that is wanted [%].")
    ] = 50.0,
    by: Annotated[str, typer.Option(help="Day of the round, such as 2027-06-30.")] = "",
    hours_a_week: Annotated[
        float, typer.Option(min=0.1, max=100.0, help="Hours of practice a week until then.")
    ] = 4.0,
    hours: Annotated[
        str, typer.Option(help='Hours of a first step: "putting=10,speed=0"; 0 leaves one out.')
    ] = "",
    reference: Annotated[
        str, typer.Option(help="Compare with tour, scratch, or a handicap index.")
    ] = "",
    split: Annotated[
        bool, typer.Option("--split/--no-split", help="Take the expected score apart as well.")
    ] = True,
    exact: Annotated[
        bool, typer.Option("--exact", help="Every set of causes: three times as long.")
    ] = False,
    wind: WindOption = "calm",
    firmness: FirmnessOption = 1.0,
    clubs: ClubsOption = None,
    units: UnitsOption = None,
    preview: Annotated[
        bool, typer.Option("--preview/--fine", help="Coarse cells, or those of a plan: slower.")
    ] = True,
    sheet_out: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="PDF", help="Write a coach's sheet of one page as well."),
    ] = None,
    paper: PaperOption = Paper.A4,
    json_out: JsonOption = None,
) -> None:
    """Find where strokes go, what practice is worth, and the cheapest way to a target."""
    with exit_codes():
        from planner.golfer.reference_golfer import reference_index
        from planner.planning.practice import practice_plan
        from planner.planning.stroke_accounts import stroke_accounts
        from planner.report.practice_json import practice_as_json
        from planner.report.practice_sheet import practice_sheet_pdf
        from planner.strategy.practice_results import Goal

        check_json_folder(json_out)
        day = _date(by)
        if target is None and day is not None:
            raise OptionError("--by is the day of a target; give --target too")
        goal = None if target is None else Goal(target, chance / 100.0, day, hours_a_week)
        rival = reference_index(reference) if reference else None
        own_hours = _hours(hours)
        request = plan_request(
            map_file,
            bag,
            tees,
            holes,
            wind=wind,
            firmness=firmness,
            clubs=clubs,
            preview=preview,
        )
        accounts = None
        if split or rival is not None or exact:
            with progress_bar() as report:
                accounts = stroke_accounts(
                    request,
                    reference=rival,
                    exact=exact,
                    unit=units or request.bag.unit,
                    progress=report,
                )
        with progress_bar() as report:
            plan = practice_plan(request, goal=goal, hours=own_hours, progress=report)
        if sheet_out is not None:
            write_bytes(
                sheet_out,
                practice_sheet_pdf(plan, accounts, paper=paper.value),
                option="--sheet",
            )
        if json_out is not None:
            write_json(json_out, practice_as_json(plan, accounts))
        if json_out != STANDARD_OUTPUT:
            _print(plan, accounts, preview=preview)


def _date(text: str) -> date | None:
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise OptionError(f'--by "{text}" is no day; write 2027-06-30') from None


def _hours(text: str) -> dict[str, float]:
    found: dict[str, float] = {}
    for part in (part for part in text.split(",") if part.strip()):
        name, equals, number = part.partition("=")
        try:
            value = float(number)
        except ValueError:
            value = -1.0
        if not equals or not value >= 0.0:
            raise OptionError(f'--hours "{part.strip()}": write for instance putting=10,speed=0')
        found[name.strip().casefold()] = value
    return found


def _print(plan: PracticePlan, accounts: StrokeAccounts | None, *, preview: bool) -> None:
    from planner.report import practice_text

    if accounts is not None:
        print_parts(*practice_text.accounts_parts(accounts))
    print_parts(*practice_text.plan_parts(plan))
    if preview:
        print_parts("", practice_text.PREVIEW_SAID)
