"""Options of every command that plans a round, and the request they make."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli import typed
from planner.errors import OptionError

if TYPE_CHECKING:
    from planner.ball.conditions import Conditions
    from planner.planning.request import PlanRequest

__all__ = [
    "AimFor",
    "AimForOption",
    "AltitudeOption",
    "ClubsOption",
    "FirmnessOption",
    "GiveUpOption",
    "GreenSpeedOption",
    "LocalRuleE5Option",
    "RoughOption",
    "ShotsOption",
    "TemperatureOption",
    "WindOption",
    "plan_request",
    "typed_conditions",
]


class AimFor(Enum):
    """What a plan aims for."""

    STROKES = "strokes"
    PENALTIES = "penalties"


AimForOption = Annotated[
    AimFor, typer.Option(help="Fewest strokes, or fewest penalties within --give-up.")
]
GiveUpOption = Annotated[
    float, typer.Option(min=0.0, max=2.0, help="Strokes a hole given up for fewer penalties.")
]
WindOption = Annotated[str, typer.Option(help='Such as "5 m/s from SW" or "12 mph from 225".')]
TemperatureOption = Annotated[str, typer.Option(help='Such as "15" or "59 F".')]
AltitudeOption = Annotated[str, typer.Option(help='Above the sea, "120 m" or "400 ft".')]
FirmnessOption = Annotated[
    float, typer.Option(min=0.3, max=2.0, help="Turf: 0.5 soaked, 1 normal, 2 very firm.")
]
GreenSpeedOption = Annotated[
    float, typer.Option(min=4.0, max=16.0, help="Speed of the greens [ft].")
]
RoughOption = Annotated[float, typer.Option(min=1.0, max=30.0, help="Height of the rough [cm].")]
LocalRuleE5Option = Annotated[
    bool, typer.Option("--local-rule-e5", help="Local Rule E-5 is in force.")
]
ClubsOption = Annotated[
    list[str] | None,
    typer.Option(help='Clubs to carry, "Driver,7 iron,..."; those in the bag if not given.'),
]

ShotsOption = Annotated[
    Path | None,
    typer.Option("--shots", metavar="LOG", help="Shot log to fit, instead of the bag's own."),
]


def plan_request(
    map_file: Path,
    bag_file: Path,
    tees: str | None = None,
    holes: str = "all",
    *,
    aim_for: AimFor = AimFor.STROKES,
    give_up: float = 0.1,
    wind: str = "calm",
    temperature: str = "15",
    altitude: str = "0",
    firmness: float = 1.0,
    green_speed: float = 9.0,
    rough: float = 5.0,
    local_rule_e5: bool = False,
    clubs: list[str] | None = None,
    preview: bool = False,
    shots: Path | None = None,
) -> PlanRequest:
    """Read the files and what was typed; every argument as the option of that name has it.

    Raises
    ------
    OptionError
        An option is not understood.
    InputFileError
        A file cannot be used.
    """
    from planner.course.reading import read_course
    from planner.planning.bag_reading import read_bag_file
    from planner.planning.request import PlanRequest

    conditions = typed_conditions(
        wind=wind,
        temperature=temperature,
        altitude=altitude,
        firmness=firmness,
        green_speed=green_speed,
        rough=rough,
    )
    course = read_course(map_file)
    return PlanRequest(
        course=course,
        bag=read_bag_file(bag_file, shots=shots),
        tee=tees,
        holes=typed.hole_refs(holes, [hole.ref for hole in course.holes]),
        conditions=conditions,
        aim_for=aim_for.value,
        give_up=give_up,
        local_rule_e5=local_rule_e5,
        clubs=typed.club_labels(clubs),
        preview=preview,
    )


def typed_conditions(
    *,
    wind: str = "calm",
    temperature: str = "15",
    altitude: str = "0",
    firmness: float = 1.0,
    green_speed: float = 9.0,
    rough: float = 5.0,
) -> Conditions:
    """Weather and turf of the options of these names.

    Raises
    ------
    OptionError
        An option is not understood.
    """
    from planner.ball.conditions import Conditions

    wind_from, wind_speed = typed.wind(wind)
    try:
        return Conditions(
            wind_from=wind_from,
            wind_speed=wind_speed,
            temperature_c=typed.temperature_c(temperature),
            altitude_m=typed.altitude_m(altitude),
            firmness=firmness,
            green_speed_ft=green_speed,
            rough_length_m=rough / 100.0,
        )
    except ValueError as error:
        raise OptionError(str(error)) from None
