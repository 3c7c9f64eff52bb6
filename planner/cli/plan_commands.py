"""``planner plan`` and ``planner demo``: a hole-by-hole plan, printed."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner import demo_data
from planner.cli import typed
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
from planner.cli.run import STANDARD_OUTPUT, exit_codes, print_parts, progress_bar, write_json
from planner.errors import OptionError, SolveError
from planner.units import DistanceUnit

if TYPE_CHECKING:
    from planner.planning.request import PlanRequest

__all__ = ["AimFor", "demo", "plan"]


class AimFor(Enum):
    """What a plan aims for."""

    STROKES = "strokes"
    PENALTIES = "penalties"


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
        request = _request(map_file, bag, tees, holes, preview=preview)
        _plan_and_print(request, units, detail=detail, tee_shots=True, json_out=json_out)


def plan(
    map_file: MapArgument,
    bag: BagOption,
    tees: TeesOption = None,
    holes: HolesOption = "all",
    aim_for: Annotated[
        AimFor, typer.Option(help="Fewest strokes, or fewest penalties within --give-up.")
    ] = AimFor.STROKES,
    give_up: Annotated[
        float, typer.Option(min=0.0, max=2.0, help="Strokes a hole given up for fewer penalties.")
    ] = 0.1,
    wind: Annotated[
        str, typer.Option(help='Such as "5 m/s from SW" or "12 mph from 225".')
    ] = "calm",
    temperature: Annotated[str, typer.Option(help='Such as "15" or "59 F".')] = "15",
    altitude: Annotated[str, typer.Option(help='Above the sea, "120 m" or "400 ft".')] = "0",
    firmness: Annotated[
        float, typer.Option(min=0.3, max=2.0, help="Turf: 0.5 soaked, 1 normal, 2 very firm.")
    ] = 1.0,
    green_speed: Annotated[
        float, typer.Option(min=4.0, max=16.0, help="Speed of the greens [ft].")
    ] = 9.0,
    rough: Annotated[
        float, typer.Option(min=1.0, max=30.0, help="Height of the rough [cm].")
    ] = 5.0,
    local_rule_e5: Annotated[
        bool, typer.Option("--local-rule-e5", help="Local Rule E-5 is in force.")
    ] = False,
    clubs: Annotated[
        list[str] | None,
        typer.Option(help='Clubs to carry, "Driver,7 iron,..."; those in the bag if not given.'),
    ] = None,
    units: UnitsOption = None,
    detail: DetailOption = True,
    preview: PreviewOption = False,
    json_out: JsonOption = None,
) -> None:
    """Plan a course: what to hit where on every hole, and what else would cost."""
    with exit_codes():
        wind_from, wind_speed = typed.wind(wind)
        weather = {
            "wind_from": wind_from,
            "wind_speed": wind_speed,
            "temperature_c": typed.temperature_c(temperature),
            "altitude_m": typed.altitude_m(altitude),
            "firmness": firmness,
            "green_speed_ft": green_speed,
            "rough_length_m": rough / 100.0,
        }
        request = _request(
            map_file,
            bag,
            tees,
            holes,
            weather=weather,
            aim_for=aim_for.value,
            give_up=give_up,
            local_rule_e5=local_rule_e5,
            clubs=typed.club_labels(clubs),
            preview=preview,
        )
        _plan_and_print(request, units, detail=detail, tee_shots=False, json_out=json_out)


def _request(
    map_file: Path,
    bag_file: Path,
    tees: str | None,
    holes: str,
    *,
    weather: dict[str, Any] | None = None,
    **options: Any,
) -> PlanRequest:
    from planner.ball.conditions import Conditions
    from planner.course.reading import read_course
    from planner.golfer.bag import read_bag
    from planner.planning.request import PlanRequest

    try:
        conditions = Conditions(**(weather or {}))
    except ValueError as error:
        raise OptionError(str(error)) from None
    course = read_course(map_file)
    return PlanRequest(
        course=course,
        bag=read_bag(bag_file),
        tee=tees,
        holes=typed.hole_refs(holes, [hole.ref for hole in course.holes]),
        conditions=conditions,
        **options,
    )


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

    if (
        json_out is not None
        and json_out != STANDARD_OUTPUT
        and not json_out.absolute().parent.is_dir()
    ):
        raise OptionError(f"--json {json_out}: there is no folder {json_out.absolute().parent}")
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
