"""``planner acceptance``: published values beside the program's own, on one page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.run import exit_codes

__all__ = ["acceptance"]


def acceptance(
    out: Annotated[
        Path,
        typer.Option("--out", metavar="FILE", help="Page to write: .html, or .md for Markdown."),
    ],
    area: Annotated[
        list[str] | None,
        typer.Option("--area", help="Only this area; may be repeated."),
    ] = None,
    full: Annotated[
        bool, typer.Option("--full", help="The long checks too; else they are listed as not run.")
    ] = False,
) -> None:
    """Compute what others have published and write down where the program agrees, and where not."""
    with exit_codes():
        from datetime import date

        from planner.acceptance.areas import chosen_areas, run_areas, tally
        from planner.acceptance.result_page import as_html, as_markdown
        from planner.errors import OptionError

        pages = {".html": as_html, ".md": as_markdown}
        if out.suffix.lower() not in pages:
            raise OptionError(f"--out {out}: name a file that ends in .html or .md")
        areas = chosen_areas(area or ())
        results = run_areas(areas, long=full, tell=lambda line: typer.echo(line, err=True))
        chosen = "".join(f" --area {key}" for key in area or ())
        named = out.name if out.is_absolute() else out.as_posix()
        made_by = f"planner acceptance{' --full' * full}{chosen} --out {named}"
        text = pages[out.suffix.lower()](results, date.today(), made_by=made_by)
        try:
            out.write_text(text, encoding="utf-8")
        except OSError as error:
            raise OptionError(f"--out {out}: cannot be written: {error.strerror}") from None
        typer.echo(f"{out}: {tally(*results)}")
