"""``planner round``: the exact chances of a round's score under the plan, printed."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli.arguments import (
    BagOption,
    HolesOption,
    JsonOption,
    MapArgument,
    PreviewOption,
    TeesOption,
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
from planner.cli.run import (
    STANDARD_OUTPUT,
    check_json_folder,
    exit_codes,
    print_parts,
    progress_bar,
    write_json,
)
from planner.errors import SolveError

__all__ = ["round_"]


def round_(
    map_file: MapArgument,
    bag: BagOption,
    tees: TeesOption = None,
    holes: HolesOption = "all",
    target: Annotated[
        int | None, typer.Option(min=1, max=300, help="Total to reach or beat.")
    ] = None,
    form: Annotated[
        float,
        typer.Option(
            min=0.0,
            max=8.0,
            help="How far form moves a round from day to day [strokes, standard deviation].",
        ),
    ] = 0.0,
    simulate: Annotated[
        int,
        typer.Option(
            min=0,
            max=1_000_000,
            metavar="ROUNDS",
            help="Also play so many rounds ball by ball, to see the same numbers come out.",
        ),
    ] = 0,
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
    preview: PreviewOption = False,
    json_out: JsonOption = None,
) -> None:
    """Give the chances of every total: a target, breaking 90, par or better, each hole's scores."""
    with exit_codes():
        from planner.planning.round_plan import check_form, plan_round, score_of_plan
        from planner.planning.round_simulation import simulation_of_plan
        from planner.report.score_json import score_as_json
        from planner.report.score_text import round_score_text
        from planner.report.simulation_text import simulation_text

        check_json_folder(json_out)
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
        check_form(form, len(request.holes))
        with progress_bar() as report:
            plan = plan_round(request, progress=report, scored=True, simulate=simulate)
        score = score_of_plan(plan, target=target, form_sd=form)
        played = simulation_of_plan(plan, score) if simulate else None
        if json_out is not None:
            write_json(json_out, score_as_json(score, plan, played))
        if json_out != STANDARD_OUTPUT:
            print_parts(
                round_score_text(score), *([] if played is None else [simulation_text(played)])
            )
        unsolved = [hole.hole.ref for hole in plan.holes if not hole.converged]
        if unsolved:
            raise SolveError(f"not converged on hole {', '.join(unsolved)}; do not rely on it")
