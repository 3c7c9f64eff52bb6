"""``planner calibrate``: the skill model beside published scores."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli.arguments import JsonOption
from planner.cli.run import (
    STANDARD_OUTPUT,
    ExitCode,
    check_json_folder,
    exit_codes,
    print_parts,
    write_json,
)

__all__ = ["calibrate"]


def calibrate(
    threads: Annotated[int, typer.Option(min=1, max=64, help="Threads used.")] = 2,
    json_out: JsonOption = None,
) -> None:
    """Hold typical golfers to published scores: table, error, source. Exit code 1 on a miss."""
    with exit_codes():
        from planner.planning.calibration import calibrate as compare
        from planner.report.calibration_text import calibration_as_json, calibration_text

        check_json_folder(json_out)
        result = compare(threads=threads, tell=lambda line: typer.echo(line, err=True))
        if json_out is not None:
            write_json(json_out, calibration_as_json(result))
        if json_out != STANDARD_OUTPUT:
            print_parts(calibration_text(result))
        if result.misses:
            raise typer.Exit(ExitCode.UNUSABLE)
