"""Bags changed in this session: what is in use instead of a file, and the way back."""

from __future__ import annotations

import streamlit as st

from planner.page.inputs import InputFile, uploaded_file

__all__ = ["bag_before", "bag_in_use", "undo_edit", "use_edit"]

_KEY = "bag_edits"

Edits = list[tuple[str, InputFile]]
"""Changed files with the reason of each change, the latest last."""


def bag_in_use(original: InputFile) -> InputFile:
    """Return the bag file as changed last, or ``original`` itself."""
    edits = _edits(original)
    return edits[-1][1] if edits else original


def bag_before(original: InputFile, reason: str) -> InputFile:
    """Return the bag file as it was before the latest changes for ``reason``."""
    edits = list(_edits(original))
    while edits and edits[-1][0] == reason:
        edits.pop()
    return edits[-1][1] if edits else original


def use_edit(original: InputFile, text: str, reason: str) -> None:
    """Use a changed bag from now on, in place of what was in use for the same reason."""
    edits = _edits(original)
    while edits and edits[-1][0] == reason:
        edits.pop()
    edits.append((reason, uploaded_file(original.name, text.encode())))


def undo_edit(original: InputFile) -> None:
    """Take the latest change back."""
    edits = _edits(original)
    if edits:
        edits.pop()


def _edits(original: InputFile) -> Edits:
    kept: dict[str, Edits] = st.session_state.setdefault(_KEY, {})
    return kept.setdefault(original.digest, [])
