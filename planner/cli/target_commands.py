"""``planner target``: playing for a total, for points, under a maximum score, or in a match."""

from __future__ import annotations

from enum import Enum
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
from planner.cli.plan_options import (
    AltitudeOption,
    ClubsOption,
    FirmnessOption,
    GreenSpeedOption,
    RoughOption,
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
from planner.errors import OptionError

if TYPE_CHECKING:
    from planner.planning.request import PlanRequest
    from planner.strategy.score_distribution import ScoreDistribution
    from planner.strategy.target_results import FormPlan

__all__ = ["target"]


class Form(Enum):
    """What is played for."""

    TARGET = "target"
    STABLEFORD = "stableford"
    MAXIMUM = "maximum"
    MATCH = "match"


def target(
    map_file: MapArgument,
    bag: BagOption,
    target: Annotated[
        int | None,
        typer.Option(min=1, max=400, help="Total to reach or beat on the holes to play."),
    ] = None,
    form: Annotated[
        Form, typer.Option(help="What is played for; a target needs --target.")
    ] = Form.TARGET,
    over_par: Annotated[
        int, typer.Option(min=1, max=10, help="Highest score that counts, over par (maximum).")
    ] = 3,
    opponent: Annotated[
        str, typer.Option(help='Chances of the other\'s score on the hole, "3:20,4:50,5:30".')
    ] = "",
    received: Annotated[
        int, typer.Option(min=-3, max=3, help="Strokes received on the hole (match).")
    ] = 0,
    tees: TeesOption = None,
    holes: HolesOption = "all",
    wind: WindOption = "calm",
    temperature: TemperatureOption = "15",
    altitude: AltitudeOption = "0",
    firmness: FirmnessOption = 1.0,
    green_speed: GreenSpeedOption = 9.0,
    rough: RoughOption = 5.0,
    clubs: ClubsOption = None,
    units: UnitsOption = None,
    preview: Annotated[
        bool, typer.Option("--preview/--fine", help="Coarse cells, or those of a plan: slower.")
    ] = True,
    json_out: JsonOption = None,
) -> None:
    """Play for the best chance of a total, hole by hole as you stand; or for points or a hole."""
    with exit_codes():
        from planner.planning.target import target_plan
        from planner.report import target_text
        from planner.report.target_json import form_as_json, target_as_json

        check_json_folder(json_out)
        _check(form, target, opponent, received)
        rival = _opponent(opponent) if opponent else None
        request = plan_request(
            map_file,
            bag,
            tees,
            holes,
            wind=wind,
            temperature=temperature,
            altitude=altitude,
            firmness=firmness,
            green_speed=green_speed,
            rough=rough,
            clubs=clubs,
            preview=preview,
        )
        if target is not None:
            with progress_bar() as report:
                plan = target_plan(request, target, progress=report)
            content = target_as_json(plan)
            parts = target_text.target_parts(plan, units or request.bag.unit)
        else:
            other = _form_plan(request, form, over_par, rival, received)
            content = form_as_json(other)
            parts = target_text.form_parts(other, units or request.bag.unit)
        if json_out is not None:
            write_json(json_out, content)
        if json_out != STANDARD_OUTPUT:
            print_parts(*parts)


def _check(form: Form, total: int | None, opponent: str, received: int) -> None:
    if form is Form.TARGET and total is None:
        raise OptionError("--target is missing: the total to reach or beat")
    if form is not Form.TARGET and total is not None:
        raise OptionError(f"--target is not for --form {form.value}")
    if form is Form.MATCH and not opponent:
        raise OptionError('--form match needs --opponent, such as "3:20,4:50,5:30"')
    if form is not Form.MATCH and (opponent or received):
        raise OptionError("--opponent and --received are for --form match")


def _form_plan(
    request: PlanRequest,
    form: Form,
    over_par: int,
    rival: ScoreDistribution | None,
    received: int,
) -> FormPlan:
    from planner.planning.target import match_plan, maximum_plan, points_plan

    with progress_bar() as report:
        if form is Form.STABLEFORD:
            return points_plan(request, progress=report)
        if rival is None:
            return maximum_plan(request, over_par, progress=report)
        return match_plan(request, rival, received=received, progress=report)


def _opponent(text: str) -> ScoreDistribution:
    """Chances of whole scores as typed; they are shares of their sum."""
    from planner.strategy.score_distribution import distribution

    shares: dict[int, float] = {}
    for part in (part for part in text.split(",") if part.strip()):
        score, _, share = part.partition(":")
        try:
            shares[int(score)] = float(share)
        except ValueError:
            shares[0] = -1.0
    total = sum(shares.values())
    if not shares or min(shares) < 1 or max(shares) > 30 or not 0 <= min(shares.values()) <= total:
        raise OptionError(f'--opponent "{text}": write scores and chances, "3:20,4:50,5:30"')
    if total <= 0.0 or not total < float("inf"):
        raise OptionError(f'--opponent "{text}": some score must have a chance')
    chances = [shares.get(score, 0.0) / total for score in range(1, max(shares) + 1)]
    return distribution(chances, first=1, remainder=0.0)
