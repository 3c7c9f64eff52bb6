"""Course maps and bags for the page: the demo's or uploaded, read once for each content."""

from __future__ import annotations

import hashlib
import tempfile
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

import streamlit as st

from planner.course.map_check import MapReport
from planner.course.reading import check_map
from planner.demo_data import demo_bag_names, demo_folder
from planner.errors import BagFileError
from planner.golfer.bag import Bag, read_bag
from planner.page.work import in_turn

__all__ = [
    "BagReport",
    "InputFile",
    "bag_of",
    "demo_bags",
    "demo_maps",
    "map_report",
    "uploaded_file",
]

MAX_NAME, MAX_ENDING = 50, 10
"""Characters kept of an uploaded file's name and of its ending."""


@dataclass(frozen=True)
class InputFile:
    """Content of a file under the name its owner gave it; ``digest`` is SHA-256 of both."""

    name: str
    content: bytes
    digest: str


@dataclass(frozen=True)
class BagReport:
    """A bag, or every problem that keeps its file from being used."""

    bag: Bag | None
    problems: tuple[str, ...] = ()


def uploaded_file(name: str, content: bytes) -> InputFile:
    """File as uploaded; of its name only what any folder can hold is kept."""
    base = _file_name(name)
    return InputFile(base, content, hashlib.sha256(base.encode() + b"\0" + content).hexdigest())


def _file_name(name: str) -> str:
    """Last part of a name, without what would lead elsewhere or no file system takes."""
    last = PurePosixPath(name.replace("\\", "/")).name
    plain = "".join(c for c in last if c.isprintable() and c not in '/:*?"<>|').strip(". ")
    stem, dot, ending = plain.rpartition(".")
    if not dot:
        stem, ending = ending, ""
    # File systems count bytes, of which a character has up to four.
    return f"{stem[:MAX_NAME] or 'file'}{dot}{ending[:MAX_ENDING]}"


def demo_maps() -> dict[str, Path]:
    """Demo maps by stem, the main one first."""
    found = [
        path
        for pattern in ("*.geojson", "*.osm")
        for path in sorted(demo_folder().glob(pattern), key=lambda p: -p.stat().st_size)
    ]
    return {path.stem: path for path in found}


def demo_bags() -> dict[str, Path]:
    """Demo bags by stem, the default first."""
    return {name: demo_folder() / "bags" / f"{name}.toml" for name in demo_bag_names()}


def map_report(file: InputFile) -> MapReport:
    """Read a map; the report is shared by all sessions and must not be changed."""
    return _map_report(file.digest, file)


@st.cache_resource(max_entries=16, show_spinner=False)
def _map_report(digest: str, _file: InputFile) -> MapReport:
    return in_turn(_read_map, _file)


def _read_map(file: InputFile) -> MapReport:
    with tempfile.TemporaryDirectory() as folder:
        return check_map(_stored(file, folder))


def bag_of(file: InputFile) -> BagReport:
    """Read a bag; the report is shared by all sessions and must not be changed."""
    return _bag_of(file.digest, file)


@st.cache_resource(max_entries=32, show_spinner=False)
def _bag_of(digest: str, _file: InputFile) -> BagReport:
    return in_turn(_read_bag, _file)


def _read_bag(file: InputFile) -> BagReport:
    with tempfile.TemporaryDirectory() as folder:
        try:
            return BagReport(read_bag(_stored(file, folder)))
        except BagFileError as error:
            return BagReport(None, error.problems)


def _stored(file: InputFile, folder: str) -> Path:
    """Put the content into a file of the same name, which readers take titles from."""
    path = Path(folder) / file.name
    path.write_bytes(file.content)
    return path
