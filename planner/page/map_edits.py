"""Maps changed in this session: every state of each, the way back, and which is planned on."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import streamlit as st

from planner.course.map_document import MapDocument
from planner.course.map_sheet import MapSheet, centre_of_document, map_sheet
from planner.page.inputs import InputFile, uploaded_file
from planner.planning.map_work import map_bytes, open_map

__all__ = ["MapEdits", "edits_of", "map_in_use", "map_is_changed", "new_map"]

_KEY, _NEW = "map_edits", "map_new"
MOST_STEPS = 100


@dataclass
class MapEdits:
    """States of a map, the present one last; ``used`` is the file planned on instead of its own."""

    states: list[MapDocument]
    centre: tuple[float, float]
    used: InputFile | None = None
    sheets: dict[int, MapSheet] = field(default_factory=dict)

    @property
    def document(self) -> MapDocument:
        """The map as it is now."""
        return self.states[-1]

    @property
    def sheet(self) -> MapSheet:
        """The map as it is now, in metres."""
        key = id(self.document)
        if key not in self.sheets:
            self.sheets = {key: map_sheet(self.document, centre_lonlat=self.centre)}
        return self.sheets[key]

    @property
    def steps(self) -> int:
        """Changes that can be undone."""
        return len(self.states) - 1

    def change(self, document: MapDocument) -> None:
        """Go on with a changed map."""
        self.states.append(document)
        # The first state, the file itself, stays: it is what undoing everything leads to.
        del self.states[1 : len(self.states) - MOST_STEPS]

    def undo(self) -> None:
        """Take the latest change back."""
        if self.steps:
            self.states.pop()

    def file(self) -> InputFile:
        """The map as a file."""
        return uploaded_file(self.file_name(".geojson"), map_bytes(self.document, ".geojson"))

    def file_name(self, ending: str) -> str:
        """Name of a file of the map that any folder can hold."""
        return uploaded_file(f"{self.document.name}{ending}", b"").name

    def use(self) -> None:
        """Plan on the map as it is now."""
        self.used = self.file()


def edits_of(original: InputFile) -> MapEdits:
    """Changes to a file; raises :class:`planner.errors.CourseMapError` for what is no map."""
    kept = _kept()
    if original.digest not in kept:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / original.name
            path.write_bytes(original.content)
            document = open_map(path)
        kept[original.digest] = MapEdits([document], centre_of_document(document))
    return kept[original.digest]


def map_in_use(original: InputFile) -> InputFile:
    """File to plan on: as changed and chosen for it, or ``original`` itself."""
    edits = _kept().get(original.digest)
    return edits.used if edits is not None and edits.used is not None else original


def map_is_changed(original: InputFile) -> bool:
    """Whether a changed map is planned on."""
    return map_in_use(original) is not original


def new_map(document: MapDocument | None) -> MapEdits | None:
    """The map begun from nothing, started anew with ``document``; None if there is none."""
    if document is not None:
        st.session_state[_NEW] = MapEdits([document], centre_of_document(document))
    found: MapEdits | None = st.session_state.get(_NEW)
    return found


def _kept() -> dict[str, MapEdits]:
    kept: dict[str, MapEdits] = st.session_state.setdefault(_KEY, {})
    return kept
