"""The command line: every command by name.

Commands read options, call the use cases and print. What is heavy is imported inside them, so
that ``planner --help`` is quick.
"""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from planner import __version__
from planner.cli.acceptance_command import acceptance
from planner.cli.arguments import EPILOG
from planner.cli.bag_commands import choose, compare
from planner.cli.batch_commands import batch
from planner.cli.calibrate_command import calibrate
from planner.cli.card_commands import card, sheet
from planner.cli.fit_commands import fit
from planner.cli.golfers_command import golfers
from planner.cli.handicap_commands import handicap
from planner.cli.log_commands import log
from planner.cli.map_commands import check, convert
from planner.cli.page_command import page
from planner.cli.plan_commands import demo, plan
from planner.cli.practice_commands import practice
from planner.cli.round_commands import round_
from planner.cli.store_commands import store_app
from planner.cli.target_commands import target

__all__ = ["app", "main"]

COMMANDS = (
    demo,
    plan,
    round_,
    check,
    convert,
    page,
    fit,
    handicap,
    card,
    sheet,
    golfers,
    practice,
    log,
    compare,
    choose,
    batch,
    acceptance,
    calibrate,
    target,
)

app = typer.Typer(
    name="planner",
    epilog=EPILOG,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
for command in COMMANDS:
    app.command(command.__name__.rstrip("_"), epilog=EPILOG)(command)
app.add_typer(store_app)


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"planner {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    _version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_show_version, is_eager=True, help="Show the version and exit."
        ),
    ] = False,
) -> None:
    """From a course map and a bag to a hole-by-hole plan."""


def main() -> None:
    """Run the program; the console script's entry."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # A terminal that cannot show a degree sign must not stop a plan.
            stream.reconfigure(errors="replace")
    app()
