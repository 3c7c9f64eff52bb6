"""``planner store``: keep golfers, bags, shots, rounds, courses and plans, and nothing lost."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.arguments import EPILOG, JsonOption
from planner.cli.run import STANDARD_OUTPUT, exit_codes, print_parts, write_json
from planner.errors import OptionError
from planner.units import DistanceUnit

if TYPE_CHECKING:
    from rich.console import RenderableType

    from planner.store.listing import Listed
    from planner.store.opening import Store

__all__ = ["store_app"]

WhereOption = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="WHERE",
        help="File or postgresql:// URL; PLANNER_STORE or your data folder if not given.",
    ),
]
OwnerOption = Annotated[str, typer.Option(help="Whose things; on a shared server each his own.")]
GolferOption = Annotated[str | None, typer.Option(help="Golfer, where several have such a one.")]
KindArgument = Annotated[
    str, typer.Argument(metavar="KIND", help="golfer, bag, course, shots, round or plan.")
]
CalledArgument = Annotated[
    str, typer.Argument(metavar="NAME", help="Its name, or the first 4 or more letters of its id.")
]
OverwriteOption = Annotated[bool, typer.Option("--overwrite", help="Replace a file that is there.")]
LOCAL = "local"

store_app = typer.Typer(
    name="store",
    help="Keep golfers, bags, courses, shots, rounds and plans.",
    epilog=EPILOG,
    no_args_is_help=True,
)


def _open(where: str | None) -> Store:
    from planner.store.opening import open_store

    return open_store(where)


@store_app.command(epilog=EPILOG)
def save(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE...", help="Bags, maps, shot logs, plans of plan --json."),
    ],
    golfer: Annotated[str | None, typer.Option(help="Who hit the shots of a shot log.")] = None,
    name: Annotated[str | None, typer.Option(help="Name of the shots or the plan.")] = None,
    club: Annotated[str, typer.Option(help="Club of a shot log that names none.")] = "",
    units: Annotated[
        DistanceUnit | None, typer.Option(help="Unit of a shot log that names none.")
    ] = None,
    where: WhereOption = None,
    owner: OwnerOption = LOCAL,
) -> None:
    """Save bags (.toml), maps (.geojson, .osm), shot logs (.csv) and plans (.json)."""
    with exit_codes():
        from planner.planning.saved_work import save_file

        with _open(where) as store:
            for path in files:
                saved = save_file(
                    store, path, owner=owner, golfer=golfer, name=name, club=club, unit=units
                )
                print_parts(_plain(f'saved {saved.kind} "{saved.name}"'))
                if saved.left_out:
                    print_parts(_plain("Rows that were left out:"))
                    print_parts(*(_plain(f"  {one}") for one in saved.left_out))


@store_app.command("list", epilog=EPILOG)
def list_(
    kinds: Annotated[
        list[str] | None, typer.Argument(metavar="KIND...", help="Only these kinds.")
    ] = None,
    where: WhereOption = None,
    owner: OwnerOption = LOCAL,
    json_out: JsonOption = None,
) -> None:
    """List what is saved, and what can be undone."""
    with exit_codes():
        from planner.planning.saved_work import list_saved, undoable

        with _open(where) as store:
            found = list_saved(store, tuple(kinds or ()), owner=owner)
            waiting = [entry.what for entry in undoable(store, owner=owner)]
            place = str(store.location)
        if json_out is not None:
            things = [
                {
                    "kind": one.kind,
                    "id": one.id,
                    "name": one.name,
                    "golfer": one.golfer,
                    "detail": one.detail,
                    "saved_at": one.saved_at.isoformat(timespec="seconds"),
                }
                for one in found
            ]
            write_json(json_out, {"store": place, "things": things, "undo": waiting})
        if json_out != STANDARD_OUTPUT:
            print_parts(_plain(f"Store: {place}"), "", _table(found))
            if waiting:
                print_parts("", _plain(f"Undo would take back: {waiting[0]}"))


@store_app.command(epilog=EPILOG)
def get(
    kind: KindArgument,
    called: CalledArgument,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Where to write it; else printed.")
    ] = None,
    golfer: GolferOption = None,
    overwrite: OverwriteOption = False,
    where: WhereOption = None,
    owner: OwnerOption = LOCAL,
) -> None:
    """Get a saved bag, map, shot log, round or plan back as a file."""
    with exit_codes():
        from planner.planning.saved_work import content_of
        from planner.store.whole_file import whole_file

        with _open(where) as store:
            _ending, content = content_of(store, kind, called, owner=owner, golfer=golfer)
        if out is None or out == STANDARD_OUTPUT:
            typer.echo(content, nl=False)
            return
        with whole_file(out, overwrite=overwrite) as path:
            path.write_bytes(content)
        print_parts(_plain(f"written to {out}"))


@store_app.command(epilog=EPILOG)
def delete(
    kind: KindArgument,
    called: CalledArgument,
    golfer: GolferOption = None,
    where: WhereOption = None,
    owner: OwnerOption = LOCAL,
) -> None:
    """Delete a saved thing; a golfer with all that is his. Can be undone."""
    with exit_codes():
        from planner.planning.saved_work import delete_saved

        with _open(where) as store:
            one = delete_saved(store, kind, called, owner=owner, golfer=golfer)
        print_parts(_plain(f'deleted {one.kind} "{one.name}"; planner store undo brings it back'))


@store_app.command(epilog=EPILOG)
def undo(where: WhereOption = None, owner: OwnerOption = LOCAL) -> None:
    """Undo the last delete or replacement; again for the one before."""
    with exit_codes():
        from planner.planning.saved_work import undo_last

        with _open(where) as store:
            entry = undo_last(store, owner=owner)
        print_parts(_plain(f"undone: {entry.what}"))


@store_app.command(epilog=EPILOG)
def erase(
    golfer: Annotated[
        str | None, typer.Option(help="Erase this golfer and all that belongs to him.")
    ] = None,
    everything: Annotated[
        bool, typer.Option("--everything", help="Erase all that is saved.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    where: WhereOption = None,
    owner: OwnerOption = LOCAL,
) -> None:
    """Erase for good, what was deleted too. Cannot be undone; backups keep what they have."""
    with exit_codes():
        from planner.store.erasing import erase_golfer, erase_owner

        if (golfer is None) == (not everything):
            raise OptionError("erase what? give either --golfer NAME or --everything")
        asked = "everything" if golfer is None else f'everything of "{golfer}"'
        if not yes and not typer.confirm(f"Erase {asked} for good?", err=True):
            raise OptionError("nothing was erased")
        with _open(where) as store:
            if golfer is None:
                erase_owner(store, owner)
            else:
                erase_golfer(store, golfer, owner)
        print_parts(_plain(f"erased {asked}"))


@store_app.command(epilog=EPILOG)
def export(
    archive: Annotated[Path, typer.Argument(metavar="ZIP", help="Archive to write.")],
    overwrite: OverwriteOption = False,
    where: WhereOption = None,
    owner: OwnerOption = LOCAL,
) -> None:
    """Write everything into a zip of TOML, CSV, GeoJSON and JSON."""
    with exit_codes():
        from planner.planning.saved_work import export_to

        with _open(where) as store:
            counts = export_to(store, archive, owner=owner, overwrite=overwrite)
        said = ", ".join(f"{count} {kind.replace('_', ' ')}" for kind, count in counts.items())
        print_parts(_plain(f"written to {archive}: {said}"))


@store_app.command("import", epilog=EPILOG)
def import_(
    archive: Annotated[Path, typer.Argument(metavar="ZIP", help="Archive of an export.")],
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace what differs under the same name.")
    ] = False,
    where: WhereOption = None,
    owner: OwnerOption = LOCAL,
) -> None:
    """Add what an archive holds: all of it, or nothing if anything is wrong with it."""
    with exit_codes():
        from planner.planning.saved_work import import_from

        with _open(where) as store:
            counts = import_from(store, archive, owner=owner, replace=replace)
        print_parts(
            _plain(
                f"added {counts.added}, there already {counts.there}, replaced {counts.replaced}"
            )
        )


@store_app.command(epilog=EPILOG)
def backup(
    target: Annotated[Path, typer.Argument(metavar="FILE", help="Backup to write.")],
    overwrite: OverwriteOption = False,
    where: WhereOption = None,
) -> None:
    """Copy the store to one file, checked, while others may use it."""
    with exit_codes():
        from planner.store.backup import back_up

        with _open(where) as store:
            back_up(store, target, overwrite=overwrite)
        print_parts(_plain(f"written to {target}"))


@store_app.command(epilog=EPILOG)
def restore(
    source: Annotated[Path, typer.Argument(metavar="FILE", help="Backup to bring back.")],
    where: WhereOption = None,
) -> None:
    """Put a checked backup in the store's place; what was there is kept beside it."""
    with exit_codes():
        from planner.store import backup as backups
        from planner.store.location import locate

        location = locate(where)
        kept = backups.restore(location, source)
        print_parts(_plain(f"restored {location}"))
        if kept is not None:
            print_parts(_plain(f"what was there is in {kept}"))


@store_app.command(epilog=EPILOG)
def verify(where: WhereOption = None) -> None:
    """Check that the store is sound."""
    with exit_codes():
        from planner.store.backup import check_store

        with _open(where) as store:
            check_store(store)
            print_parts(_plain(f"store {store.location}: sound"))


def _plain(text: str) -> RenderableType:
    from rich.text import Text

    return Text(_on_one_line(text))  # what people named is no markup


def _table(found: list[Listed]) -> RenderableType:
    from rich.table import Table
    from rich.text import Text

    if not found:
        return Text("Nothing is saved yet.")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for heading in ("Kind", "Name", "Golfer", "", "Saved", "Id"):
        table.add_column(heading)
    for one in found:
        day = one.saved_at.date().isoformat()
        cells = (one.kind, one.name, one.golfer, one.detail, day, one.id[:8])
        table.add_row(*(Text(_on_one_line(cell)) for cell in cells))
    return table


def _on_one_line(text: str) -> str:
    """Text whose control characters cannot move a terminal's cursor."""
    return "".join(one if one.isprintable() else " " for one in text)
