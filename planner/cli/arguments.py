"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.run import ExitCode
from planner.units import DistanceUnit

__all__ = [
    "EPILOG",
    "BagOption",
    "DetailOption",
    "HolesOption",
    "JsonOption",
    "MapArgument",
    "PreviewOption",
    "TeesOption",
    "UnitsOption",
]

EPILOG = "Exit codes: " + "; ".join(f"{code.value} {code.meaning}" for code in ExitCode) + "."

MapArgument = Annotated[
    Path, typer.Argument(metavar="MAP", help="Course map: GeoJSON, or .osm XML of the public map.")
]
HolesOption = Annotated[str, typer.Option(help='Holes, such as "1-9" or "1,4,10-12".')]
UnitsOption = Annotated[
    DistanceUnit | None, typer.Option(help="Unit of distances; the bag file's if not given.")
]
DetailOption = Annotated[
    bool, typer.Option("--detail/--brief", help="Every hole in full, or the round on one page.")
]
PreviewOption = Annotated[bool, typer.Option(help="Coarser cells: quicker, less exact.")]
JsonOption = Annotated[
    Path | None,
    typer.Option("--json", metavar="OUT", help="Write the result as JSON; - is standard output."),
]
BagOption = Annotated[Path, typer.Option("--bag", metavar="BAG", help="Bag file (TOML).")]
TeesOption = Annotated[str | None, typer.Option(help="Tee set; each hole's longest if not given.")]
