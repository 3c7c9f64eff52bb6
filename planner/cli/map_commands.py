"""``planner check`` and ``planner convert``: what a map says and lacks, and other formats of it."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from planner.cli.arguments import JsonOption, MapArgument
from planner.cli.run import STANDARD_OUTPUT, ExitCode, exit_codes, print_parts, write_json

__all__ = ["check", "convert"]


def check(map_file: MapArgument, json_out: JsonOption = None) -> None:
    """Report every problem of a map at once, and what was assumed."""
    with exit_codes():
        from planner.course.reading import check_map
        from planner.report import text
        from planner.report.cautions import CAUTIONS

        report = check_map(map_file)
        attribution = report.course.attribution if report.course is not None else ""
        if json_out is not None:
            content = {
                "source": report.source,
                "usable": report.usable,
                "findings": [asdict(finding) for finding in report.findings],
                "attribution": attribution,
                "cautions": list(CAUTIONS),
            }
            write_json(json_out, content)
        if json_out != STANDARD_OUTPUT:
            print_parts(text.findings_text(report), "", text.closing_text((), attribution))
        raise typer.Exit(ExitCode.OK if report.usable else ExitCode.UNUSABLE)


def convert(
    map_file: MapArgument,
    out: Annotated[
        Path, typer.Argument(metavar="OUT", help="File to write: .geojson or .gpkg (GeoPackage).")
    ],
) -> None:
    """Write a map as GeoJSON or GeoPackage, for other programs."""
    with exit_codes():
        from planner.planning.map_work import convert_map

        count = convert_map(map_file, out)
        typer.echo(f"{out}: {count} features")
