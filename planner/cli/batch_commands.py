"""``planner batch``: many golfers on many courses, on every core or on a cluster."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli import typed
from planner.cli.plan_options import (
    AimFor,
    AimForOption,
    AltitudeOption,
    FirmnessOption,
    GiveUpOption,
    GreenSpeedOption,
    LocalRuleE5Option,
    RoughOption,
    TemperatureOption,
    WindOption,
    typed_conditions,
)
from planner.cli.run import exit_codes, print_parts, progress_bar
from planner.errors import InputFileError, OptionError, SolveError

if TYPE_CHECKING:
    from rich.console import RenderableType

    from planner.planning.batch import BatchReport

__all__ = ["batch"]

SHOWN_FAULTS = 20
MOST_HOLES = 36
"""Holes that ``--holes`` may number."""


def batch(
    maps: Annotated[
        list[Path], typer.Argument(metavar="MAP...", help="Course maps, or folders of maps.")
    ],
    bag: Annotated[
        list[Path],
        typer.Option("--bag", metavar="BAG", help="Bag file or folder of bags; once for each."),
    ],
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="Folder of the results.")],
    tees: Annotated[
        list[str] | None,
        typer.Option(help="Tee set, once for each; all for every set of each course."),
    ] = None,
    holes: Annotated[str, typer.Option(help="Numbers such as 1-9, or all.")] = "all",
    scheduler: Annotated[
        str | None,
        typer.Option(help="Address of a Dask scheduler; none: processes of this computer."),
    ] = None,
    workers: Annotated[
        int | None, typer.Option(min=1, max=1024, help="Processes here; as many as cores.")
    ] = None,
    aim_for: AimForOption = AimFor.STROKES,
    give_up: GiveUpOption = 0.1,
    wind: WindOption = "calm",
    temperature: TemperatureOption = "15",
    altitude: AltitudeOption = "0",
    firmness: FirmnessOption = 1.0,
    green_speed: GreenSpeedOption = 9.0,
    rough: RoughOption = 5.0,
    local_rule_e5: LocalRuleE5Option = False,
    preview: Annotated[bool, typer.Option("--preview", help="Coarser cells: quicker.")] = False,
) -> None:
    """Plan many golfers on many courses; what is planned already is not planned again."""
    with exit_codes():
        if scheduler is not None and workers is not None:
            raise OptionError("--workers starts processes here; leave it out with --scheduler")
        from planner.planning.batch import (
            BAG_ENDINGS,
            MAP_ENDINGS,
            BatchOptions,
            Results,
            batch_files,
            make_pairs,
            run_batch,
        )
        from planner.planning.batch_cluster import Cluster

        options = BatchOptions(
            holes=() if holes.strip().casefold() in ("", "all") else _numbers(holes),
            conditions=typed_conditions(
                wind=wind,
                temperature=temperature,
                altitude=altitude,
                firmness=firmness,
                green_speed=green_speed,
                rough=rough,
            ),
            aim_for=aim_for.value,
            give_up=give_up,
            local_rule_e5=local_rule_e5,
            preview=preview,
        )
        map_files = batch_files(maps, MAP_ENDINGS, "map")
        bag_files = batch_files(bag, BAG_ENDINGS, "bag")
        pairs, unusable = make_pairs(map_files, bag_files, tees or (), options)
        results = Results(out)
        with progress_bar() as show, Cluster(scheduler, workers=workers) as cluster:
            cores = cluster.cores
            report = run_batch(pairs, options, results, cluster, progress=show)
        print_parts(*_said(report, unusable, out, cores))
        if report.unsolved:
            raise SolveError(f"some rounds cannot be solved; {out / 'results.csv'} names them")
        if report.failed or unusable:
            raise InputFileError(str(out / "results.csv"), ["names what failed"])


def _numbers(text: str) -> tuple[str, ...]:
    return typed.hole_refs(text, [str(number) for number in range(1, MOST_HOLES + 1)])


def _said(
    report: BatchReport, unusable: dict[str, str], out: Path, cores: int
) -> list[RenderableType]:
    from rich.text import Text

    lines = [f"{report.planned} rounds planned, {report.there} were there already: {out}"]
    if report.planned:
        each = report.cpu_s / report.planned
        lines.append(
            f"Throughput: {3600 * report.planned / report.cpu_s:,.0f} rounds an hour and core "
            f"({each:.1f} s of a core for a round, {report.cpu_s / report.holes:.2f} s for a hole)"
        )
        spent = report.wall_s * max(cores, 1)
        lines.append(
            f"Cores: {max(cores, 1)}; {report.cpu_s / spent:.0%} of their time was planning, "
            f"{report.wall_s:.0f} s in all"
        )
    faults = [
        f"{pair.map_file.path} for {pair.bag_file.path}, {pair.tee or 'longest'} tees: {fault}"
        for pair, fault in report.failed
    ]
    faults += [f"{path}: {fault}" for path, fault in unusable.items()]
    if faults:
        lines.append(f"Failed: {len(faults)}")
        lines += [f"  {fault}" for fault in faults[:SHOWN_FAULTS]]
    if len(faults) > SHOWN_FAULTS:
        lines.append(f"  and {len(faults) - SHOWN_FAULTS} more, see {out / 'results.csv'}")
    return [Text(line) for line in lines]
