"""The plan and the map check as text for a terminal: tables and sentences, no arithmetic.

Everything returned is a ``rich`` renderable without box characters, so that it reads the same
in a terminal and in a pipe. Text of maps and bags is never read as markup.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.course.findings import WHOLE_FILE, Finding, Severity
from planner.course.map_check import MapReport
from planner.report import words
from planner.report.cautions import CAUTIONS
from planner.strategy.advice import HolePlan, NextShot, RoundPlan, Shares, Shot
from planner.units import DistanceUnit

__all__ = ["closing_text", "findings_text", "hole_text", "round_text", "tee_shots_text"]

INDENT = 2
OFF_THE_LINE = "off the line of play"
STYLES: dict[Severity, str] = {"error": "bold red", "warning": "bold yellow", "note": ""}
"""How a finding's severity is shown, worst first."""
FULL_ROUND, HALF_ROUND = 18, 9


def round_text(plan: RoundPlan, unit: DistanceUnit) -> RenderableType:
    """Heading and one line for each hole, with totals (and halves of a full round)."""
    return Group(_round_heading(plan, unit), Text(), _round_table(plan, unit))


def tee_shots_text(plan: RoundPlan, unit: DistanceUnit) -> RenderableType:
    """The tee shot of every hole in a few lines each."""
    table = _table(("Hole", "right"), ("From the tee", "left"))
    for hole in plan.holes:
        best = hole.best
        lines = [
            f"{words.what_to_hit(best, unit)}: {words.where_to_aim(best, unit)}",
            f"{_ends(best.shares)}; leaves {_leave(best, unit)}",
            words.margin(hole, unit),
        ]
        table.add_row(Text(hole.hole.ref), _text("\n".join(lines)))
        table.add_row("", "")
    return table


def hole_text(plan: HolePlan, unit: DistanceUnit, *, tee: str = "") -> RenderableType:
    """Everything about one hole; ``tee`` is the round's tee set, named only where it differs."""
    best = plan.best
    lines = [
        f"{words.what_to_hit(best, unit)}.",
        f"Aim: {words.where_to_aim(best, unit)}.",
        *_distance_line(best, unit),
        f"Expected: {words.strokes(plan.expected_strokes)} strokes, "
        f"{_strokes(plan.expected_penalties)} of them penalties."
        + _caution_price(plan.price_of_caution),
        f"Ends: {_ends(best.shares)}.",
        f"Usual leave: {_leave(best, unit)}.",
        words.margin(plan, unit),
    ]
    parts: list[RenderableType] = [
        _text(_hole_heading(plan, unit, tee), style="bold"),
        *(_hanging(line) for line in lines),
    ]
    if not plan.converged:
        parts.append(_hanging(_unconverged(plan), style="bold red"))
    if plan.next_shots:
        parts += [Text(), _hanging("Then", style="bold"), _indented(_next_table(plan, unit))]
    if plan.others:
        title = "Other choices from the tee"
        parts += [Text(), _hanging(title, style="bold"), _indented(_choice_table(plan, unit))]
    return Group(*parts)


def closing_text(notes: Iterable[str], attribution: str) -> RenderableType:
    """What was assumed, the cautions and the source of the map."""
    parts: list[RenderableType] = []
    listed = [_bullet(note.removeprefix(f"{WHOLE_FILE}: ")) for note in notes]
    if listed:
        parts += [_text("What was assumed", style="bold"), *listed, Text()]
    parts += [_text("Before you play", style="bold"), *map(_bullet, CAUTIONS)]
    if attribution:
        parts += [Text(), _text(f"Map: {attribution}")]
    return Group(*parts)


def findings_text(report: MapReport) -> RenderableType:
    """Every finding about a map, worst first, and whether it can be used."""
    parts: list[RenderableType] = []
    parts += [_finding(finding) for finding in report.findings]
    counts = Counter(finding.severity for finding in report.findings)
    said = ", ".join(f"{counts[kind]} {kind}{'' if counts[kind] == 1 else 's'}" for kind in STYLES)
    parts += [Text(), _text(said)] if parts else []
    if report.course is not None:
        holes = report.course.holes
        tees = ", ".join(report.course.tee_names)
        verdict = f"{report.source}: usable. {report.course.name}, {len(holes)} holes, tees: {tees}"
        parts.append(_text(verdict, style="bold"))
    else:
        parts.append(_text(f"{report.source}: cannot be used; mend the errors", style="bold red"))
    return Group(*parts)


def _finding(finding: Finding) -> RenderableType:
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=max(map(len, STYLES)))
    grid.add_column()
    problem = _text(f"{finding.feature_id}: {finding.problem}")
    grid.add_row(_text(finding.severity, STYLES[finding.severity]), problem)
    grid.add_row("", _text(f"-> {finding.remedy_or_assumption}"))
    return grid


def _round_heading(plan: RoundPlan, unit: DistanceUnit) -> RenderableType:
    length = words.distance(sum(hole.length_m for hole in plan.holes), unit)
    aims = {"strokes": "fewest strokes", "penalties": "fewest penalties"}
    title = f"{plan.course}, {plan.tee} tees, {length}, par {plan.par}"
    hand = ", left-handed" if plan.left_handed else ""
    golfer = f'{plan.golfer}{hand}; bag "{plan.bag}"; aims for {aims[plan.aim_for]}'
    lines = [_text(title, style="bold"), _text(golfer)]
    if plan.conditions:
        lines.append(_text(plan.conditions))
    return Group(*lines)


def _round_table(plan: RoundPlan, unit: DistanceUnit) -> Table:
    table = _table(
        ("Hole", "right"),
        ("Par", "right"),
        ("SI", "right"),
        ("Length", "right"),
        ("Strokes", "right"),
        ("Penalties", "right"),
        ("From the tee", "left"),
        ("Next best", "left"),
    )
    has_halves = len(plan.holes) == FULL_ROUND
    for number, hole in enumerate(plan.holes, start=1):
        table.add_row(*_round_row(hole, unit))
        if has_halves and number % HALF_ROUND == 0:
            half = plan.holes[number - HALF_ROUND : number]
            table.add_row(*_total_row("Out" if number == HALF_ROUND else "In", half, unit))
            table.add_row()
    table.add_row(*_total_row("All", plan.holes, unit))
    return table


def _round_row(plan: HolePlan, unit: DistanceUnit) -> list[Text]:
    hole = plan.hole
    runner_up = "-"
    if plan.others:
        other = plan.others[0]
        runner_up = f"{words.shot_name(other, unit)} {words.cost(other.cost)}"
    cells = [
        hole.ref,
        f"{hole.par}",
        "-" if hole.stroke_index is None else f"{hole.stroke_index}",
        words.distance(plan.length_m, unit),
        words.strokes(plan.expected_strokes) + ("" if plan.converged else "?"),
        _strokes(plan.expected_penalties),
        words.shot_name(plan.best, unit),
        runner_up,
    ]
    return [_text(cell) for cell in cells]


def _total_row(name: str, plans: Iterable[HolePlan], unit: DistanceUnit) -> list[Text]:
    plans = tuple(plans)
    cells = [
        name,
        f"{sum(plan.hole.par for plan in plans)}",
        "",
        words.distance(sum(plan.length_m for plan in plans), unit),
        words.strokes(sum(plan.expected_strokes for plan in plans)),
        _strokes(sum(plan.expected_penalties for plan in plans)),
    ]
    return [_text(cell, style="bold") for cell in cells]


def _hole_heading(plan: HolePlan, unit: DistanceUnit, tee: str) -> str:
    hole = plan.hole
    parts = [f"Hole {hole.ref}"]
    if hole.name:
        parts.append(hole.name)
    parts.append(f"par {hole.par}")
    if hole.stroke_index is not None:
        parts.append(f"stroke index {hole.stroke_index}")
    if plan.tee != tee:
        parts.append(f"{plan.tee} tee")
    parts.append(words.distance(plan.length_m, unit))
    return ", ".join(parts)


def _next_table(plan: HolePlan, unit: DistanceUnit) -> Table:
    table = _table(
        ("Chance", "right"),
        ("From", "left"),
        ("Left", "right"),
        (f"Hit, at ({OFF_THE_LINE})", "left"),
        ("Strokes", "right"),
    )
    for place in plan.next_shots:
        table.add_row(
            _text(words.percent(place.chance)),
            _text(place.place),
            _text(words.distance(place.distance_m, unit)),
            _text(_next_words(place, unit)),
            _text(words.strokes(place.best.expected_strokes)),
        )
    return table


def _next_words(place: NextShot, unit: DistanceUnit) -> str:
    aim = _short_aim(place.best, unit)
    said = words.shot_name(place.best, unit) + (f": {aim}" if aim else "")
    like = words.plays_like(place.best, unit)
    said += f"; {like}" if like else ""
    if place.runner_up is None:
        return said
    other = words.shot_name(place.runner_up, unit)
    return f"{said}\nelse {other}: {words.cost(place.runner_up.cost)}"


def _distance_line(shot: Shot, unit: DistanceUnit) -> list[str]:
    said = words.plays_like_parts(shot, unit)
    return [f"Landing: {said}."] if said else []


def _short_aim(shot: Shot, unit: DistanceUnit) -> str:
    """Aim point with its distance off the line of play, which the column's title explains."""
    if shot.aim is None:
        return ""
    offset = words.aim_offset(shot.aim.offset_m, unit).removesuffix(" of the line of play")
    place = shot.aim.words.strip()
    return f"{place} ({offset})" if place and place != offset else offset


def _choice_table(plan: HolePlan, unit: DistanceUnit) -> Table:
    table = _table(
        ("Club", "left"),
        ("Cost", "right"),
        ("Penalty area", "right"),
        ("Out of bounds", "right"),
        ("Penalties", "right"),
        ("Leave", "right"),
        (f"Aim ({OFF_THE_LINE})", "left"),
    )
    for shot in plan.others:
        table.add_row(*(_text(cell) for cell in _choice_cells(shot, unit)))
    return table


def _choice_cells(shot: Shot, unit: DistanceUnit) -> list[str]:
    return [
        words.shot_name(shot, unit),
        words.cost(shot.cost),
        words.percent(shot.shares.penalty),
        words.percent(shot.shares.out_of_bounds),
        _strokes(shot.expected_penalties),
        _leave(shot, unit),
        _short_aim(shot, unit),
    ]


def _ends(shares: Shares) -> str:
    *rests, (mishit_name, mishit) = words.chances(shares)
    always = ("penalty area", "out of bounds")
    parts = [
        f"{name} {words.percent(share)}"
        for name, share in rests
        if name in always or words.percent(share) != words.percent(0.0)
    ]
    return f"{', '.join(parts)}; {mishit_name} {words.percent(mishit)}"


def _caution_price(price: float) -> str:
    return f" Fewer penalties cost {words.strokes(price)} strokes here." if price > 0 else ""


def _unconverged(plan: HolePlan) -> str:
    return (
        f"Not solved: values still moved by {plan.residual:.3f} strokes after {plan.sweeps} "
        "sweeps. Do not rely on this hole."
    )


def _strokes(value: float) -> str:
    """Strokes, or a dash where they were not counted."""
    return words.strokes(value) if math.isfinite(value) else "-"


def _leave(shot: Shot, unit: DistanceUnit) -> str:
    """Usual leave, or a dash if the shot never stays in play."""
    return words.distance(shot.leave_m, unit) if math.isfinite(shot.leave_m) else "-"


def _table(*columns: tuple[str, str]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for title, side in columns:
        table.add_column(title, justify="right" if side == "right" else "left", overflow="fold")
    return table


def _bullet(line: str) -> RenderableType:
    grid = Table.grid(padding=(0, 1))
    grid.add_row(Text("  -"), _text(line))
    return grid


def _hanging(line: str, style: str = "") -> RenderableType:
    return _indented(_text(line, style))


def _indented(part: RenderableType) -> RenderableType:
    return Padding(part, (0, 0, 0, INDENT))


def _text(line: str, style: str = "") -> Text:
    """Plain text: no markup, and ordinary spaces so that a pipe can be searched."""
    return Text(line.replace("\u00a0", " "), style=style)
