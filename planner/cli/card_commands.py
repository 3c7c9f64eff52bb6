"""``planner card`` and ``planner sheet``: a planned round on paper."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.arguments import (
    BagOption,
    HolesOption,
    MapArgument,
    PreviewOption,
    TeesOption,
    UnitsOption,
)
from planner.cli.plan_options import (
    AimFor,
    AimForOption,
    AltitudeOption,
    ClubsOption,
    FirmnessOption,
    GiveUpOption,
    GreenSpeedOption,
    LocalRuleE5Option,
    RoughOption,
    TemperatureOption,
    WindOption,
    plan_request,
)
from planner.cli.run import exit_codes, progress_bar, write_bytes
from planner.errors import OptionError, SolveError
from planner.units import DistanceUnit

if TYPE_CHECKING:
    from planner.planning.request import PlanRequest
    from planner.strategy.advice import RoundPlan

__all__ = ["OutOption", "Paper", "PaperOption", "card", "check_out", "sheet"]


class Paper(Enum):
    """Sheets that most printers take."""

    A4 = "a4"
    LETTER = "letter"


OutOption = Annotated[
    Path, typer.Option("--out", metavar="PDF", help="PDF to write; an older one is replaced.")
]
PaperOption = Annotated[Paper, typer.Option(help="Sheet in the printer.")]


def card(
    map_file: MapArgument,
    bag: BagOption,
    out: OutOption,
    paper: PaperOption = Paper.A4,
    single: Annotated[
        bool,
        typer.Option(
            "--single", help="A leaf of 4 1/4 by 7 in for each hole, in larger print; no booklet."
        ),
    ] = False,
    tees: TeesOption = None,
    holes: HolesOption = "all",
    aim_for: AimForOption = AimFor.STROKES,
    give_up: GiveUpOption = 0.1,
    wind: WindOption = "calm",
    temperature: TemperatureOption = "15",
    altitude: AltitudeOption = "0",
    firmness: FirmnessOption = 1.0,
    green_speed: GreenSpeedOption = 9.0,
    rough: RoughOption = 5.0,
    local_rule_e5: LocalRuleE5Option = False,
    clubs: ClubsOption = None,
    units: UnitsOption = None,
    preview: PreviewOption = False,
) -> None:
    """Print a plan as a booklet for the pocket, within the size that Rule 4.3a allows."""
    with exit_codes():
        check_out(out)
        request = plan_request(
            map_file,
            bag,
            tees,
            holes,
            aim_for=aim_for,
            give_up=give_up,
            wind=wind,
            temperature=temperature,
            altitude=altitude,
            firmness=firmness,
            green_speed=green_speed,
            rough=rough,
            local_rule_e5=local_rule_e5,
            clubs=clubs,
            preview=preview,
        )

        def printed(plan: RoundPlan, unit: DistanceUnit) -> bytes:
            from planner.planning.printing import pocket_card

            return pocket_card(plan, unit=unit, paper=paper.value, single=single)

        _plan_and_write(request, units, out, printed)
        if single:
            typer.echo("Print it at its true size, 100 %, and cut it to 4 1/4 by 7 in.")
        else:
            typer.echo(
                "Print it at 100 % on both sides, turned on the long edge; cut at the marks to 7 "
                "by 4 1/4 in, fold, and lay the leaves in one another."
            )
        typer.echo(
            "Rule 4.3a: a card made before the round may be read during it; do not make one while "
            "you play."
        )


def sheet(
    map_file: MapArgument,
    bag: BagOption,
    out: OutOption,
    paper: PaperOption = Paper.A4,
    tees: TeesOption = None,
    holes: HolesOption = "all",
    aim_for: AimForOption = AimFor.STROKES,
    give_up: GiveUpOption = 0.1,
    wind: WindOption = "calm",
    temperature: TemperatureOption = "15",
    altitude: AltitudeOption = "0",
    firmness: FirmnessOption = 1.0,
    green_speed: GreenSpeedOption = 9.0,
    rough: RoughOption = 5.0,
    local_rule_e5: LocalRuleE5Option = False,
    clubs: ClubsOption = None,
    units: UnitsOption = None,
    preview: PreviewOption = False,
) -> None:
    """Print a plan on one page for golfer and coach, with room for notes."""
    with exit_codes():
        check_out(out)
        request = plan_request(
            map_file,
            bag,
            tees,
            holes,
            aim_for=aim_for,
            give_up=give_up,
            wind=wind,
            temperature=temperature,
            altitude=altitude,
            firmness=firmness,
            green_speed=green_speed,
            rough=rough,
            local_rule_e5=local_rule_e5,
            clubs=clubs,
            preview=preview,
        )

        def printed(plan: RoundPlan, unit: DistanceUnit) -> bytes:
            from planner.planning.printing import coach_sheet

            return coach_sheet(plan, unit=unit, paper=paper.value)

        _plan_and_write(request, units, out, printed)


def check_out(out: Path) -> None:
    """Say before the long work that its result could not be written.

    Raises
    ------
    OptionError
        There is no such folder, or it is a folder itself.
    """
    folder = out.absolute().parent
    if not folder.is_dir():
        raise OptionError(f"--out {out}: there is no folder {folder}")
    if out.is_dir():
        raise OptionError(f"--out {out}: that is a folder; name a file in it")


def _plan_and_write(
    request: PlanRequest,
    units: DistanceUnit | None,
    out: Path,
    printed: Callable[[RoundPlan, DistanceUnit], bytes],
) -> None:
    from planner.planning import round_plan

    with progress_bar() as report:
        plan = round_plan.plan_round(request, progress=report)
    content = printed(plan, units or request.bag.unit)
    write_bytes(out, content, option="--out")
    typer.echo(f"{out}: {plan.course}, {len(plan.holes)} holes.")
    unsolved = [hole.hole.ref for hole in plan.holes if not hole.converged]
    if unsolved:
        raise SolveError(f"not converged on hole {', '.join(unsolved)}; do not rely on it")
