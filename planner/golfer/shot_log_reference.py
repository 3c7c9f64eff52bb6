"""The shot log that a bag file names: ``[shot_log]`` with its file and how to read it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath

from planner.errors import BagFileError, OptionError
from planner.golfer.shot_log_columns import map_from_text
from planner.golfer.toml_table import TomlTable
from planner.units import DistanceUnit

__all__ = ["ShotLogReference", "log_file", "read_reference"]


@dataclass(frozen=True)
class ShotLogReference:
    """A shot log named in a bag file.

    Parameters
    ----------
    file
        Path below the bag file's folder, as written.
    unit
        Unit of distances whose headings name none, or None.
    columns
        Field and heading of the columns that are not to be guessed.
    club
        Club of every shot where the log has no column for it.
    """

    file: str
    unit: DistanceUnit | None = None
    columns: tuple[tuple[str, str], ...] = ()
    club: str = ""

    @property
    def chosen(self) -> Mapping[str, str]:
        """Heading of each column that is known, by field."""
        return dict(self.columns)


def read_reference(table: TomlTable) -> ShotLogReference | None:
    """Read ``[shot_log]``; faults are noted in the table."""
    file = table.text("file", required="name the shot log (.csv), relative to this bag file")
    unit = table.choice("units", [unit.value for unit in DistanceUnit])
    text, club = table.text("columns"), table.text("club") or ""
    table.finish()
    columns: Mapping[str, str] = {}
    if text is not None:
        try:
            columns = map_from_text([text])
        except OptionError as error:
            table.fault("columns", str(error).removeprefix("--map "))
    if file is None:
        return None
    if _leads_out(file):
        table.fault(
            "file",
            f'"{file}" leads out of the folder of the bag; put the log beside the bag and name it '
            "by its path from there, or give it with --shots",
        )
        return None
    return ShotLogReference(
        file, None if unit is None else DistanceUnit(unit), tuple(columns.items()), club
    )


def log_file(reference: ShotLogReference, bag_file: Path) -> Path:
    """Path of the log that ``bag_file`` names, inside the folder of that file.

    Raises
    ------
    BagFileError
        A link leads out of the folder.
    """
    folder = bag_file.absolute().parent
    path = folder / PurePosixPath(reference.file.replace("\\", "/"))
    if not path.resolve().is_relative_to(folder.resolve()):
        problem = f'shot_log: "{reference.file}" leads out of the folder of the bag; '
        raise BagFileError(str(bag_file), [f"{problem}put the log itself there, or use --shots"])
    return path


def _leads_out(file: str) -> bool:
    """Whether a path could name anything that is not below a folder, on any system."""
    windows, posix = PureWindowsPath(file), PurePosixPath(file)
    rooted = windows.drive or windows.root or posix.is_absolute() or file.startswith("~")
    return bool(rooted) or ".." in windows.parts
