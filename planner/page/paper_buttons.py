"""The round on paper: the pocket card and the coach's sheet to save, made when asked for."""

from __future__ import annotations

from functools import partial

import streamlit as st

from planner.planning.printing import PAPER_NAMES, coach_sheet, file_stem, pocket_card
from planner.strategy.advice import RoundPlan
from planner.units import DistanceUnit

__all__ = ["paper_buttons"]

PDF = "application/pdf"


def paper_buttons(plan: RoundPlan, unit: DistanceUnit) -> None:
    """Buttons that make and save the PDF files."""
    paper = st.segmented_control(
        "Paper",
        list(PAPER_NAMES),
        format_func=PAPER_NAMES.__getitem__,
        default="a4",
        required=True,
        key="paper",
    )
    stem = file_stem(plan)
    made = {
        "Pocket card, a booklet to fold": (
            f"{stem} card.pdf",
            partial(pocket_card, plan, unit=unit, paper=paper),
        ),
        "Pocket card in larger print": (
            f"{stem} leaves.pdf",
            partial(pocket_card, plan, unit=unit, single=True),
        ),
        "Coach's sheet": (
            f"{stem} sheet.pdf",
            partial(coach_sheet, plan, unit=unit, paper=paper),
        ),
    }
    with st.container(horizontal=True):
        for label, (name, make) in made.items():
            st.download_button(f"{label} (PDF)", make, name, PDF, on_click="ignore", key=name)
    st.caption(
        "Print at 100 %; the booklet on both sides, turned on the long edge. A card made before "
        "the round may be read during it (Rule 4.3a)."
    )
