"""A coach's sheet of practice on one page: strokes lost, what to practise, the road to a target."""

from __future__ import annotations

from collections.abc import Sequence

from planner import __version__
from planner.report import practice_text as text
from planner.report.imposition import PAPERS
from planner.report.panel import Panel, Stroke
from planner.report.pdf_page import pdf_of_panels
from planner.report.typesetting import LEADING, Block, Box, Run, TextLine, column, one_line
from planner.strategy.practice_results import PracticePlan, PracticeRoad, StrokeAccounts
from planner.strategy.reference_gains import Gain

__all__ = ["practice_panel", "practice_sheet_pdf"]

MARGIN, SIZE = 40.0, 9.0
NUMBER_WIDTH = 52.0
"""Width of a column of numbers [pt]."""
GAP = 12.0
MOST_GAINS = 8
Rows = Sequence[tuple[str, tuple[str, ...]]]


def practice_sheet_pdf(plan: PracticePlan, accounts: StrokeAccounts | None, *, paper: str) -> bytes:
    """Write the sheet as a PDF of one page on ``paper``."""
    panel = practice_panel(plan, accounts, paper=paper)
    return pdf_of_panels([panel], title=f"{plan.course}: practice sheet of {plan.golfer}")


def practice_panel(plan: PracticePlan, accounts: StrokeAccounts | None, *, paper: str) -> Panel:
    """Lay out the sheet from the top downward; what finds no room at the foot is left out."""
    width, height = PAPERS[paper]
    page = Box(MARGIN, MARGIN, width - MARGIN, height - MARGIN)
    setter = _Setter(page)
    setter.blocks(
        [
            Block((Run(f"{plan.golfer}: what to practise", bold=True),), 15.0, 2, 0),
            Block(
                (
                    Run(
                        f"{plan.course}, {plan.tee} tees, {len(plan.holes)} holes, par {plan.par}; "
                        f"{plan.expected:.1f} strokes expected."
                    ),
                ),
                SIZE,
                2,
                1,
                2.0,
            ),
        ]
    )
    if plan.road is not None:
        _road(setter, plan.road)
    setter.table(
        "What a step of each is worth",
        ("strokes", "hours", "in 10 h"),
        [
            (
                f"{step.name}: {step.unit}",
                (f"{step.strokes:.2f}", f"{step.hours:.0f}", f"{step.strokes_in_ten_hours:.3f}"),
            )
            for step in plan.steps
        ],
    )
    if not plan.own_hours:
        setter.say("Hours are assumptions, not measurements.")
    if accounts is not None:
        _accounts(setter, accounts)
    setter.notes()
    closing = one_line(f"planner, version {__version__}", page, page.bottom, 6.5)
    return Panel(
        "Practice sheet",
        width,
        height,
        page,
        (*setter.lines, closing),
        tuple(setter.strokes),
    )


def _road(setter: _Setter, road: PracticeRoad) -> None:
    rows = [
        (f"{stage.name}: {stage.step}", (f"{stage.steps}", f"{stage.hours:.0f}"))
        for stage in road.stages
    ]
    title = f"The road to {road.goal.target}"
    if rows:
        setter.table(title, ("steps", "hours"), rows, before=" ".join(text.road_said(road)))
    else:
        setter.heading(title)
        setter.say(" ".join(text.road_said(road)))
    setter.say(text.search_said(road))


def _accounts(setter: _Setter, accounts: StrokeAccounts) -> None:
    split = accounts.split
    rows = [
        (part.name, (f"{part.alone:.2f}", f"{part.last:.2f}", f"{part.share:.2f}"))
        for part in split.parts
    ]
    rows.append(("several together", ("", "", f"{split.together:+.2f}")))
    rows.append(("the rest", ("", "", f"{split.rest:.2f}")))
    setter.table(
        "Where the strokes go",
        ("alone", "last", "share"),
        rows,
        before=" ".join(text.split_said(split, exact=accounts.exact)),
    )
    rival = accounts.reference
    if rival is not None:
        setter.table(
            f"Strokes gained on {rival.name}, by distance",
            ("shots", "gained", "each"),
            _gain_rows(rival.by_distance),
        )


def _gain_rows(gains: Sequence[Gain]) -> Rows:
    return [
        (gain.name, (f"{gain.shots:.1f}", text.signed(gain.gained), text.signed(gain.each)))
        for gain in gains[:MOST_GAINS]
    ]


class _Setter:
    """Sets blocks and tables one below the other while there is room."""

    def __init__(self, page: Box) -> None:
        self._page = page
        self._y = page.top
        self._foot = page.bottom + 2 * SIZE
        self.lines: list[TextLine] = []
        self.strokes: list[Stroke] = []

    def blocks(self, blocks: Sequence[Block]) -> None:
        """Paragraphs across the page."""
        box = Box(self._page.left, self._foot, self._page.right, self._y)
        lines, self._y = column(blocks, box)
        self.lines += lines

    def heading(self, words: str) -> None:
        """Title of a part."""
        self._y -= GAP
        self.blocks([Block((Run(words, bold=True),), 11.0, 1, 0)])

    def say(self, words: str) -> None:
        """Paragraph."""
        self.blocks([Block((Run(words),), SIZE, 5, 1, 2.0)])

    def table(self, title: str, headings: tuple[str, ...], rows: Rows, *, before: str = "") -> None:
        """Rows of a name and numbers, with a rule below the headings."""
        step = LEADING * SIZE + 1.5
        if self._y - self._foot < (len(rows) + 6) * step:
            return
        self.heading(title)
        if before:
            self.say(before)
        names_right = self._page.right - NUMBER_WIDTH * len(headings)
        self._row("", headings, names_right, bold=True)
        y = self._y - 3.0
        self.strokes.append(Stroke(self._page.left, y, self._page.right, y, 0.6))
        self._y -= 2.0
        for name, numbers in rows:
            self._row(name, numbers, names_right)
        # Rows count base lines, paragraphs the room below them.
        self._y -= 0.5 * SIZE

    def notes(self) -> None:
        """Ruled lines for writing in what room is left."""
        if self._y - self._foot < 60.0:
            return
        self.heading("Notes")
        y = self._y - 18.0
        while y > self._foot + 4.0:
            self.strokes.append(Stroke(self._page.left, y, self._page.right, y, 0.35))
            y -= 18.0

    def _row(
        self, name: str, numbers: tuple[str, ...], names_right: float, *, bold: bool = False
    ) -> None:
        self._y -= LEADING * SIZE + 1.5
        names = Box(self._page.left, 0.0, names_right - 6.0, 0.0)
        self.lines.append(one_line(name, names, self._y, SIZE, bold=bold))
        for i, number in enumerate(numbers):
            left = names_right + i * NUMBER_WIDTH
            box = Box(left, 0.0, left + NUMBER_WIDTH, 0.0)
            self.lines.append(one_line(number, box, self._y, SIZE, bold=bold, align="right"))
