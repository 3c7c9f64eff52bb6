"""Choices of one drawing kept in the page's address, so that it can be sent to somebody.

Widgets that belong to one hole and bag forget what they were set to when another is chosen; what
the address said when the page was opened is meant for the first of them only.
"""

from __future__ import annotations

import streamlit as st

__all__ = ["opened_with", "put_in_address"]

_OPENED, _SCOPE = "address_opened", "address_scope"


def opened_with(name: str, scope: str) -> str:
    """What the page was opened with for ``name``; empty elsewhere than in the first ``scope``."""
    opened: dict[str, str] = st.session_state.setdefault(_OPENED, st.query_params.to_dict())
    if st.session_state.setdefault(f"{_SCOPE}/{name}", scope) != scope:
        return ""
    return opened.get(name, "")


def put_in_address(name: str, value: str) -> None:
    """Write a choice into the address; an empty one, which is the usual, is left out."""
    if value:
        if st.query_params.get(name) != value:
            st.query_params[name] = value
    elif name in st.query_params:
        del st.query_params[name]
