"""``planner fit``: shot patterns from a golfer's own shots, printed or put into a bag."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import typer

from planner.cli.arguments import JsonOption
from planner.cli.run import STANDARD_OUTPUT, check_json_folder, exit_codes, print_parts, write_json
from planner.errors import OptionError
from planner.units import DistanceUnit

__all__ = ["fit"]


def fit(
    shots: Annotated[
        Path, typer.Argument(metavar="SHOTS", help="Shot log: CSV, any separator and encoding.")
    ],
    columns: Annotated[
        list[str] | None,
        typer.Option(
            "--map",
            metavar="FIELD=HEADING,...",
            help="Columns of carry, offline, club, total, lie, outcome, date; else guessed.",
        ),
    ] = None,
    units: Annotated[
        DistanceUnit | None, typer.Option(help="Unit of distances whose headings name none.")
    ] = None,
    bag: Annotated[
        Path | None, typer.Option("--bag", metavar="BAG", help="Bag whose clubs were hit (TOML).")
    ] = None,
    handicap: Annotated[
        float | None,
        typer.Option(min=-10.0, max=54.0, help="Handicap index, where no bag gives it."),
    ] = None,
    left_handed: Annotated[
        bool, typer.Option("--left-handed", help="The golfer is, where no bag says it.")
    ] = False,
    club: Annotated[
        str, typer.Option(help="Club of all shots, where the log has no column for it.")
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="NEWBAG", help="Write the bag with the patterns filled in."),
    ] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Let --out replace a file that is there.")
    ] = False,
    json_out: JsonOption = None,
) -> None:
    """Fit shot patterns to a log of your own shots, mishits included."""
    with exit_codes():
        check_json_folder(json_out)
        _check_out(out, bag, overwrite=overwrite)
        from planner.golfer.bag import bag_from_text, bag_text
        from planner.golfer.shot_log_columns import map_from_text
        from planner.golfer.shot_log_reading import read_shot_log
        from planner.planning.pattern_fitting import fit_shots, patterned_bag
        from planner.report import fit_text
        from planner.report.fit_json import fit_as_json

        text = None if bag is None else bag_text(bag)
        named = None if text is None else bag_from_text(text, source=str(bag), name=_stem(bag))
        reading = read_shot_log(shots, chosen=map_from_text(columns), unit=units)
        found = fit_shots(
            reading, bag=named, handicap_index=handicap, left_handed=left_handed, club=club
        )
        unit = named.unit if named is not None else units or _unit_of(reading.columns.unit_m)
        if json_out is not None:
            write_json(json_out, fit_as_json(reading, found.fits, found.notes))
        if json_out != STANDARD_OUTPUT:
            print_parts(fit_text.reading_text(reading), "")
            print_parts(fit_text.fits_text(found.fits, unit), "")
            if found.notes:
                print_parts(fit_text.notes_text(found.notes))
        if out is not None and text is not None:
            new = patterned_bag(text, found.fits, source=str(bag), name=_stem(bag))
            try:
                out.write_text(new.text, encoding="utf-8")
            except OSError as error:
                raise OptionError(f"--out {out}: cannot be written: {error.strerror}") from None
            if json_out != STANDARD_OUTPUT:
                print_parts(f"\nWritten to {out}: {', '.join(new.changed)}")


def _stem(bag: Path | None) -> str:
    return "bag" if bag is None else bag.stem


def _unit_of(units_m: Mapping[str, float]) -> DistanceUnit:
    """Unit to print in: yards for a log in yards."""
    wanted = units_m.get("carry", 1.0)
    return min(DistanceUnit, key=lambda unit: abs(unit.metres - wanted))


def _check_out(out: Path | None, bag: Path | None, *, overwrite: bool) -> None:
    """Find what is wrong with --out before anything is computed."""
    if out is None:
        return
    if bag is None:
        raise OptionError("--out fills in a bag; name the one to start from with --bag")
    if out.exists() and not overwrite:
        same = " (the bag itself)" if bag.exists() and out.samefile(bag) else ""
        raise OptionError(f"--out {out}{same}: is there already; add --overwrite to replace it")
    if not out.absolute().parent.is_dir():
        raise OptionError(f"--out {out}: there is no folder {out.absolute().parent}")
