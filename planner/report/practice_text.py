"""Where strokes go and what to practise, as text for a terminal; no arithmetic."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.report.words import percent
from planner.strategy.practice_plan import PracticeStep
from planner.strategy.practice_results import PracticePlan, PracticeRoad, StrokeAccounts
from planner.strategy.reference_gains import Gain
from planner.strategy.stroke_split import StrokeSplit

__all__ = [
    "HOURS_SAID",
    "PENALTIES_SAID",
    "PREVIEW_SAID",
    "REFERENCE_FORMULA",
    "accounts_parts",
    "gains_table",
    "plan_parts",
    "road_said",
    "search_said",
    "signed",
    "split_said",
    "split_table",
    "steps_table",
]

PREVIEW_SAID = (
    "Solved on coarse cells: differences hold better than the score itself. --fine solves as a "
    "plan does."
)
PENALTIES_SAID = (
    "Penalty strokes cannot be taken out of a swing: what is counted is their expected number "
    "under the plan."
)
REFERENCE_FORMULA = (
    "Every shot from x to y is worth R(x) - R(y) - 1 - its penalty strokes, where R is what the "
    "reference golfer would need from there; putts are worth his expected putts less yours. The "
    "column adds up to his expected score less yours."
)
HOURS_SAID = (
    "Hours are assumptions, not measurements: put your own in with --hours, such as putting=10."
)


def signed(strokes: float) -> str:
    """Strokes with a sign; the smallest are level."""
    return "0.00" if abs(strokes) < 0.005 else f"{strokes:+.2f}"


def split_said(split: StrokeSplit, *, exact: bool) -> tuple[str, ...]:
    """How the parts of a score add up, in sentences."""
    shares = (
        "A share is the mean of what the cause costs over all orders of taking causes away (its "
        "Shapley value)"
        if exact
        else "A share is the mean of what the cause costs alone, all others staying, and last, all "
        "others gone"
    )
    lines = [
        f"{split.whole:.2f} strokes as things are, {split.rest:.2f} without any of the causes. "
        f"{shares}; shares, what is only lost together, and the rest add up to the score."
    ]
    if abs(split.overlap) >= 0.05:
        more = "more" if split.overlap > 0 else "less"
        lines.append(
            f"Taken away one by one the causes come to {abs(split.overlap):.2f} strokes {more} "
            "than all at once, for they meddle with one another."
        )
    return tuple(lines)


def split_table(split: StrokeSplit) -> Table:
    """One row for each cause, what is lost together, and the rest."""
    table = _table("Lost to", "Alone", "Last", "Share")
    for part in split.parts:
        _row(table, part.name, *(f"{v:.2f}" for v in (part.alone, part.last, part.share)))
    if abs(split.together) >= 0.005:
        _row(table, "several together", "", "", f"{split.together:+.2f}")
    _row(table, "the rest", "", "", f"{split.rest:.2f}")
    _row(table, "Expected score", "", "", f"{split.whole:.2f}", style="bold")
    return table


def gains_table(title: str, gains: Sequence[Gain], total: float) -> Table:
    """Strokes gained by club or by distance, and their sum."""
    table = _table(title, "Shots", "Gained", "Each")
    for gain in gains:
        _row(table, gain.name, f"{gain.shots:.1f}", signed(gain.gained), signed(gain.each))
    _row(table, "All", "", signed(total), "", style="bold")
    return table


def steps_table(steps: Sequence[PracticeStep], *, own_hours: bool = False) -> RenderableType:
    """Abilities by strokes in an hour, with what a step of each is."""
    has_chance = any(not math.isnan(step.chance) for step in steps)
    titles = ["Practise", "Saves", "Hours", "In 10 hours", *(["Chance"] if has_chance else [])]
    table = _table(*titles)
    for step in steps:
        chance = [f"{100 * step.chance:+.1f} %"] if has_chance else []
        _row(
            table,
            f"{step.name}: {step.unit}",
            f"{step.strokes:.2f}",
            f"{step.hours:.0f}",
            f"{step.strokes_in_ten_hours:.3f}",
            *chance,
        )
    return table if own_hours else Group(table, Text(), Text(HOURS_SAID))


def road_said(road: PracticeRoad) -> tuple[str, ...]:
    """The road to a target in sentences."""
    goal = road.goal
    lines = [
        f"{goal.target} or better has a chance of {percent(road.chance_now)} now; "
        f"{percent(goal.chance)} is wanted."
    ]
    if road.reached and not road.stages:
        return (*lines, "Nothing has to change: the chance is there already.")
    there = "as many hours as it takes"
    if goal.by is not None:
        there = f"{road.hours:.0f} hours until {goal.by.isoformat()} ({goal.hours_a_week:g} a week)"
    outcome = f"{percent(road.chance_then)}, and the expected score to {road.expected_then:.1f}"
    if road.reached:
        lines.append(f"{road.hours_needed:.0f} hours of practice bring it to {outcome}:")
        lines[-1] = lines[-1].replace(" of practice", f" of practice, of {there},")
    else:
        lines.append(f"With {there} it is not reached. The best found brings it to {outcome}:")
    return tuple(lines)


def search_said(road: PracticeRoad) -> str:
    """How sure it is that no cheaper road exists."""
    many = "combination" if road.worked_out == 1 else "combinations"
    said = f"{road.looked_at} combinations looked at, {road.worked_out} {many} solved in full"
    if not road.proven:
        return f"{said}; the search stopped there, so a cheaper one may exist."
    if road.reached:
        return f"{said}; by the estimate no cheaper one comes within two points of the chance."
    return f"{said}."


def accounts_parts(accounts: StrokeAccounts) -> tuple[RenderableType, ...]:
    """Where the strokes of a round go."""
    split = accounts.split
    title = f"Where the strokes go: {accounts.golfer}, {accounts.course}, {accounts.tee} tees"
    parts: list[RenderableType] = [
        Text(title, style="bold"),
        paragraph(*split_said(split, exact=accounts.exact)),
        split_table(split),
        Text(),
        paragraph(f"{PENALTIES_SAID} The plan has {accounts.penalties:.2f} of them."),
    ]
    rival = accounts.reference
    if rival is not None:
        parts += [
            Text(f"Against {rival.name}, who expects {rival.reference:.1f}", style="bold"),
            paragraph(
                f"{REFERENCE_FORMULA} Counted over simulated rounds; the sum is uncertain by "
                f"{rival.standard_error:.2f} and differs from the expected scores by "
                f"{abs(rival.total - (rival.reference - rival.own)):.2f}, the error of the lattice."
            ),
            gains_table("By distance to the pin", rival.by_distance, rival.total),
            Text(),
            gains_table("By club", rival.by_club, rival.total),
            Text(),
        ]
    return tuple(parts)


def plan_parts(plan: PracticePlan) -> tuple[RenderableType, ...]:
    """What to practise, and the road to the target."""
    parts: list[RenderableType] = [
        Text("What practice is worth, a step of each", style="bold"),
        paragraph(
            f"{plan.golfer} expects {plan.expected:.1f} strokes, par {plan.par}. Most strokes in "
            "an hour first; a step is solved for by itself, all else as it is."
        ),
        steps_table(plan.steps, own_hours=plan.own_hours),
    ]
    road = plan.road
    if road is not None:
        parts += [Text(), Text(f"The road to {road.goal.target}", style="bold")]
        parts.append(paragraph(*road_said(road)))
        if road.stages:
            table = _table("Practise", "Steps", "Hours")
            for stage in road.stages:
                _row(table, f"{stage.name}: {stage.step}", f"{stage.steps}", f"{stage.hours:.0f}")
            parts += [table, Text()]
        parts.append(Text(search_said(road)))
    return tuple(parts)


def paragraph(*lines: str) -> RenderableType:
    """Lines as plain text with a blank line below."""
    return Padding(Text("\n".join(line.replace("\u00a0", " ") for line in lines)), (0, 0, 1, 0))


def _table(first: str, *titles: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column(first)
    for title in titles:
        table.add_column(title, justify="right")
    return table


def _row(table: Table, *cells: str, **more: Any) -> None:
    table.add_row(*(Text(cell.replace("\u00a0", " ")) for cell in cells), **more)
