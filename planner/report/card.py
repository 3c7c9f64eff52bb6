"""The pocket card: a booklet to fold, or single leaves, as a PDF file."""

from __future__ import annotations

from collections.abc import Mapping

from planner.report.card_covers import closing_panel, notes_panel, round_panels
from planner.report.card_layout import BOOKLET, LEAF, CardSize, Carries, hole_panel
from planner.report.imposition import PAGES_A_LEAF, imposed
from planner.report.panel import Panel
from planner.report.pdf_page import pdf_of_panels, pdf_of_sheets
from planner.strategy.advice import RoundPlan
from planner.units import DistanceUnit

__all__ = ["card_pages", "card_pdf"]


def card_pages(
    plan: RoundPlan, carries: Mapping[str, Carries], *, unit: DistanceUnit, size: CardSize
) -> list[Panel]:
    """Pages of a card in reading order: the round, every hole, the closing page."""
    return [
        *round_panels(plan, size=size, unit=unit),
        *(
            hole_panel(
                hole,
                carries.get(hole.hole.ref, ()),
                size=size,
                unit=unit,
                round_tee=plan.tee,
            )
            for hole in plan.holes
        ),
        closing_panel(plan, size=size),
    ]


def card_pdf(
    plan: RoundPlan,
    carries: Mapping[str, Carries],
    *,
    unit: DistanceUnit,
    paper: str = "a4",
    single: bool = False,
) -> bytes:
    """Write the card as PDF.

    Parameters
    ----------
    plan
        The round.
    carries
        Hazards of each hole, by its ref.
    unit
        Unit of every distance.
    paper
        Sheet of the booklet, a key of :data:`planner.report.imposition.PAPERS`.
    single
        Pages of 4 1/4 by 7 inches, one for each hole, in larger print, instead of a booklet.
    """
    title = f"{plan.course}: pocket card of {plan.golfer}"
    if single:
        return pdf_of_panels(card_pages(plan, carries, unit=unit, size=LEAF), title=title)
    pages = card_pages(plan, carries, unit=unit, size=BOOKLET)
    spare = -len(pages) % PAGES_A_LEAF
    pages[-1:-1] = [notes_panel(size=BOOKLET) for _ in range(spare)]
    return pdf_of_sheets(imposed(pages, paper), title=title)
