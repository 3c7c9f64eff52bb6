"""Maps being drawn: every state of each, the way back, and which is planned on.

Each change is kept in the store at once, so that neither a reload nor a lost connection takes it.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import streamlit as st

from planner.course.map_document import MapDocument
from planner.course.map_sheet import MapSheet, centre_of_document, map_sheet
from planner.errors import CourseMapError
from planner.page.inputs import InputFile, uploaded_file
from planner.page.kept_maps import drop_drawn, keep_drawn, maps_being_drawn
from planner.planning.map_drafts import DrawnMap, draft_of
from planner.planning.map_work import map_bytes, open_map
from planner.store.records import SavedDraft

__all__ = ["MapEdits", "edits_of", "forget_edits", "kept_edits", "map_in_use", "new_map"]

_KEY, _NEW = "map_edits", "map_new"
MOST_STEPS = 100


@dataclass
class MapEdits:
    """States of a map, the present one last; ``used`` is the file planned on instead of its own.

    ``source`` is the digest of the file it began from, ``draft`` the id under which it is kept.
    """

    states: list[MapDocument]
    centre: tuple[float, float]
    source: str | None = None
    draft: str | None = None
    used: InputFile | None = None
    planned_on: MapDocument | None = None
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
        self._keep()

    def undo(self) -> None:
        """Take the latest change back."""
        if self.steps:
            self.states.pop()
            self._keep()

    def file(self) -> InputFile:
        """The map as a file."""
        return self.file_of(self.document)

    def file_of(self, document: MapDocument) -> InputFile:
        """One of its states as a file."""
        return uploaded_file(self.file_name(".geojson"), map_bytes(document, ".geojson"))

    def file_name(self, ending: str) -> str:
        """Name of a file of the map that any folder can hold."""
        return uploaded_file(f"{self.document.name}{ending}", b"").name

    def use(self) -> None:
        """Plan on the map as it is now."""
        self.used, self.planned_on = self.file(), self.document
        self._keep()

    def _keep(self) -> None:
        if self.source is not None and not self.steps and self.planned_on is None:
            # It is the file again.
            self.draft = drop_drawn(self.draft)
            return
        drawn = DrawnMap(tuple(self.states), self.planned_on)
        self.draft = keep_drawn(self.draft, drawn, self.source)


def edits_of(original: InputFile) -> MapEdits:
    """Changes to a file; raises :class:`planner.errors.CourseMapError` for what is no map."""
    kept = _kept()
    if original.digest not in kept:
        draft = _draft_from(original.digest)
        if draft is not None:
            kept[original.digest] = _opened(draft)
            return kept[original.digest]
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / original.name
            path.write_bytes(original.content)
            document = open_map(path)
        kept[original.digest] = MapEdits(
            [document], centre_of_document(document), source=original.digest
        )
    return kept[original.digest]


def kept_edits(draft: str) -> MapEdits:
    """A kept map by its id; raises :class:`planner.errors.CourseMapError` for a damaged one."""
    open_ones = [*_kept().values(), *([new] if (new := new_map(None)) is not None else [])]
    for edits in open_ones:
        if edits.draft == draft:
            return edits
    _kept()[draft] = _opened(maps_being_drawn()[draft])
    return _kept()[draft]


def forget_edits(draft: str | None = None) -> None:
    """Close a map, or every one, because it was deleted or brought back."""
    kept = _kept()
    for key in [key for key, one in kept.items() if draft is None or one.draft == draft]:
        del kept[key]
    new: MapEdits | None = st.session_state.get(_NEW)
    if new is not None and (draft is None or new.draft == draft):
        del st.session_state[_NEW]


def map_in_use(original: InputFile) -> InputFile:
    """File to plan on: as changed and chosen for it, or ``original`` itself."""
    edits = _kept().get(original.digest)
    if edits is None and _draft_from(original.digest) is not None:
        try:
            edits = edits_of(original)
        except CourseMapError:
            return original  # the page of the map says what is wrong
    return edits.used if edits is not None and edits.used is not None else original


def new_map(document: MapDocument | None) -> MapEdits | None:
    """The map begun from nothing, started anew with ``document``; None if there is none."""
    if document is not None:
        st.session_state[_NEW] = MapEdits([document], centre_of_document(document))
    found: MapEdits | None = st.session_state.get(_NEW)
    return found


def _draft_from(digest: str) -> SavedDraft | None:
    """The latest map being drawn that began from a file."""
    found = [one for one in maps_being_drawn().values() if one.source == digest]
    return found[-1] if found else None


def _opened(draft: SavedDraft) -> MapEdits:
    drawn = draft_of(draft.text)
    edits = MapEdits(
        list(drawn.states),
        centre_of_document(drawn.states[0]),
        source=draft.source,
        draft=draft.id,
        planned_on=drawn.planned_on,
    )
    if drawn.planned_on is not None:
        edits.used = edits.file_of(drawn.planned_on)
    return edits


def _kept() -> dict[str, MapEdits]:
    kept: dict[str, MapEdits] = st.session_state.setdefault(_KEY, {})
    return kept
