"""``planner plan`` and ``planner demo``: a hole-by-hole plan, printed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner import demo_data
from planner.cli.arguments import (
    BagOption,
    DetailOption,
    HolesOption,
    JsonOption,
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
    ShotsOption,
    TemperatureOption,
    WindOption,
    plan_request,
)
from planner.cli.run import (
    STANDARD_OUTPUT,
    check_json_folder,
    exit_codes,
    print_parts,
    progress_bar,
    write_json,
)
from planner.errors import OptionError, SolveError
from planner.units import DistanceUnit

if TYPE_CHECKING:
    from planner.planning.request import PlanRequest

__all__ = ["AimFor", "demo", "plan"]


def demo(
    golfer: Annotated[str, typer.Option(help="Demo golfer, such as odile.")] = "",
    holes: HolesOption = "all",
    units: UnitsOption = None,
    detail: DetailOption = False,
    preview: PreviewOption = False,
    json_out: JsonOption = None,
) -> None:
    """Plan the demo course with a demo bag."""
    with exit_codes():
        names = demo_data.demo_bag_names()
        try:
            bag = demo_data.demo_bag(golfer or names[0])
        except KeyError:
            shown = ", ".join(names)
            raise OptionError(f'no demo golfer "{golfer}"; there are {shown}') from None
        map_file = demo_data.demo_folder() / demo_data.DEMO_COURSE
        tees = demo_data.DEMO_TEES.get(bag.stem)
        request = plan_request(map_file, bag, tees, holes, preview=preview)
        _plan_and_print(request, units, detail=detail, tee_shots=True, json_out=json_out)


def plan(
    map_file: MapArgument,
    bag: BagOption,
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
    shots: ShotsOption = None,
    units: UnitsOption = None,
    detail: DetailOption = True,
    preview: PreviewOption = False,
    json_out: JsonOption = None,
) -> None:
    """Plan a course: what to hit where on every hole, and what else would cost."""
    with exit_codes():
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
            shots=shots,
        )
        _plan_and_print(request, units, detail=detail, tee_shots=False, json_out=json_out)


def _plan_and_print(
    request: PlanRequest,
    units: DistanceUnit | None,
    *,
    detail: bool,
    tee_shots: bool,
    json_out: Path | None,
) -> None:
    from planner.planning.round_plan import plan_round
    from planner.report import text
    from planner.report.cautions import CAUTIONS
    from planner.report.plan_json import plan_as_json

    check_json_folder(json_out)
    unit = units or request.bag.unit
    with progress_bar() as report:
        plan = plan_round(request, progress=report)
    if json_out is not None:
        write_json(json_out, {**plan_as_json(plan), "cautions": list(CAUTIONS)})
    if json_out != STANDARD_OUTPUT:
        print_parts(text.round_text(plan, unit), "")
        for hole in plan.holes if detail else ():
            print_parts(text.hole_text(hole, unit, tee=plan.tee), "")
        if tee_shots and not detail:
            print_parts(text.tee_shots_text(plan, unit))
        print_parts(text.closing_text(plan.notes, plan.attribution))
    unsolved = [hole.hole.ref for hole in plan.holes if not hole.converged]
    if unsolved:
        raise SolveError(f"not converged on hole {', '.join(unsolved)}; do not rely on it")
