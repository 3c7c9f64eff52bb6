"""``planner golfers``: the same hole for two or three golfers, as a table and on paper."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from planner.cli.arguments import MapArgument, PreviewOption, UnitsOption
from planner.cli.card_commands import Paper, PaperOption, check_out
from planner.cli.plan_options import (
    AltitudeOption,
    FirmnessOption,
    GreenSpeedOption,
    LocalRuleE5Option,
    RoughOption,
    TemperatureOption,
    WindOption,
    plan_request,
)
from planner.cli.run import exit_codes, print_parts, progress_bar, write_bytes
from planner.errors import OptionError, SolveError

__all__ = ["golfers"]


def golfers(
    map_file: MapArgument,
    bag: Annotated[
        list[Path], typer.Option("--bag", metavar="BAG", help="Bag file; once for each golfer.")
    ],
    hole: Annotated[str, typer.Option(help="Number of the hole.")],
    tees: Annotated[
        list[str] | None,
        typer.Option(help="Tee set: one for all golfers, or once for each in order."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="PDF", help="Sheet to print; an older one is replaced."),
    ] = None,
    paper: PaperOption = Paper.A4,
    wind: WindOption = "calm",
    temperature: TemperatureOption = "15",
    altitude: AltitudeOption = "0",
    firmness: FirmnessOption = 1.0,
    green_speed: GreenSpeedOption = 9.0,
    rough: RoughOption = 5.0,
    local_rule_e5: LocalRuleE5Option = False,
    units: UnitsOption = None,
    preview: PreviewOption = False,
) -> None:
    """Put several golfers on the same hole: what each should hit, and a sheet of it to print."""
    with exit_codes():
        from planner.planning import round_plan
        from planner.planning.printing import golfers_sheet
        from planner.report.golfers_sheet import MOST_GOLFERS
        from planner.report.golfers_text import golfers_parts

        if len(bag) > MOST_GOLFERS:
            raise OptionError(f"--bag: given {len(bag)} times; {MOST_GOLFERS} golfers are shown")
        if tees and len(tees) not in (1, len(bag)):
            raise OptionError(
                f"--tees: given {len(tees)} times for {len(bag)} golfers; give it once, or for each"
            )
        if out is not None:
            check_out(out)
        requests = [
            plan_request(
                map_file,
                path,
                None if not tees else tees[number % len(tees)],
                hole,
                wind=wind,
                temperature=temperature,
                altitude=altitude,
                firmness=firmness,
                green_speed=green_speed,
                rough=rough,
                local_rule_e5=local_rule_e5,
                preview=preview,
            )
            for number, path in enumerate(bag)
        ]
        first = requests[0]
        if len(first.holes) != 1:
            raise OptionError(f'--hole "{hole}": name one hole')
        # One course for all, so that it is surely the same hole.
        requests = [replace(request, course=first.course) for request in requests]
        with progress_bar() as report:
            plans = [
                round_plan.plan_round(request, progress=report).holes[0] for request in requests
            ]
        unit = units or first.bag.unit
        bags = [request.bag for request in requests]
        named = [one.golfer.name or one.name for one in bags]
        print_parts(*golfers_parts(first.course.name, list(zip(named, plans, strict=True)), unit))
        if out is not None:
            content = golfers_sheet(
                first.course,
                list(zip(bags, plans, strict=True)),
                unit=unit,
                paper=paper.value,
                conditions=first.conditions,
            )
            write_bytes(out, content, option="--out")
            typer.echo(f"{out}: {len(bags)} golfers.")
        unsolved = [name for name, plan in zip(named, plans, strict=True) if not plan.converged]
        if unsolved:
            raise SolveError(f"not converged for {', '.join(unsolved)}; do not rely on it")
