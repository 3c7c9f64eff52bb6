"""A round's score as text for a terminal: the total's chances, and every hole's; no arithmetic."""

from __future__ import annotations

import math

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.report.words import percent, strokes
from planner.strategy.match_chances import MatchChances
from planner.strategy.round_result import BARRIERS, HoleScore, RoundScore
from planner.strategy.score_distribution import ScoreDistribution

__all__ = [
    "HOLE_RESULTS",
    "chances_said",
    "match_said",
    "results_said",
    "round_score_text",
    "total_said",
]

HOLE_RESULTS: tuple[tuple[str, int, int], ...] = (
    ("Birdie or better", -9, -1),
    ("Par", 0, 0),
    ("Bogey", 1, 1),
    ("Double", 2, 2),
)
"""Results of a hole and the strokes over par they stand for; the rest is worse."""
WORSE = "Worse"
SPREAD_SHARE = 0.8
"""Share of rounds in the range that is named; a tenth lies on either side."""
FULL_ROUND = 18
REMAINDER_SAID = 0.0005
"""Chances left over below this cannot be seen in whole per cent and are not spoken of."""


def round_score_text(score: RoundScore) -> RenderableType:
    """The total in sentences, the chances of barriers and target, and a table of the holes."""
    parts: list[RenderableType] = []
    if score.title:
        parts.append(_text(score.title, "bold"))
    parts += [_text(line) for line in total_said(score)]
    chances = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=False)
    for name, chance in chances_said(score):
        chances.add_row(_text(name), _text(percent(chance)))
    parts += [Padding(chances, (1, 0, 1, 2)), _hole_table(score)]
    remainder = score.total.remainder
    if remainder >= REMAINDER_SAID:
        parts += [
            Text(),
            _text(
                f"In {percent(remainder)} of rounds a hole goes on beyond the strokes that were "
                "followed; every chance above counts them as too many."
            ),
        ]
    return Group(*parts)


def total_said(score: RoundScore) -> tuple[str, ...]:
    """The expected total, its usual range, and what is known of penalties, greens and putts."""
    over = score.expected - score.par
    beside = "level with par" if abs(over) < 0.05 else f"{abs(over):.1f} {_side(over)} par"
    lines = [f"{score.expected:.1f} strokes on average, {beside} {score.par}.{_range(score.total)}"]
    if score.form_sd > 0.0:
        lines.append(
            f"Form moves the golfer by {score.form_sd:.1f} strokes from day to day (one standard "
            "deviation)."
        )
    fairways, counted = score.fairways
    known = [
        (f"{strokes(score.penalties)} penalty strokes", score.penalties),
        (f"{score.putts:.1f} putts", score.putts),
        (f"{fairways:.1f} of {counted} fairways", fairways if counted else math.nan),
        (f"{score.greens:.1f} of {len(score.holes)} greens in two under par", score.greens),
    ]
    said = [words for words, value in known if not math.isnan(value)]
    if said:
        lines.append(f"{', '.join(said)}.")
    lines.append(f"On average {results_said(score)}.")
    return tuple(lines)


def chances_said(score: RoundScore) -> tuple[tuple[str, float], ...]:
    """Names and chances: the target, the barriers of a full round, and par or better."""
    found: list[tuple[str, float]] = []
    if score.target is not None:
        found.append((f"{score.target} or better, the target", score.chance_of_target))
    if len(score.holes) == FULL_ROUND:
        found += [(f"Breaks {total}", score.total.chance_of_breaking(total)) for total in BARRIERS]
    return (*found, (f"Par {score.par} or better", score.chance_of_par))


def results_said(score: RoundScore) -> str:
    """How many birdies or better, pars, bogeys, doubles and worse a round has on average."""
    found = [
        (name, math.fsum(hole.chance_over_par(low, high) for hole in score.holes))
        for name, low, high in HOLE_RESULTS
    ]
    rest = len(score.holes) - math.fsum(number for _, number in found)
    return ", ".join(f"{name.lower()} {number:.1f}" for name, number in (*found, (WORSE, rest)))


def match_said(match: MatchChances) -> tuple[str, ...]:
    """A match's chances, and the ending that is most likely."""
    lines = [
        f"Wins {percent(match.win)}, halves {percent(match.half)}, loses {percent(match.loss)}.",
        f"Dormie at some time: {percent(match.dormie_up)} up, {percent(match.dormie_down)} down.",
    ]
    if match.endings:
        likely = max(match.endings, key=lambda ending: ending.chance)
        lines.append(
            f"Most likely ending: {_ending_said(likely.up, likely.left)} "
            f"({percent(likely.chance)})."
        )
    return tuple(lines)


def _ending_said(up: int, left: int) -> str:
    if up == 0:
        return "all square"
    side = "won" if up > 0 else "lost"
    return f"{side} {abs(up)} and {left}" if left else f"{side} {abs(up)} up"


def _side(over: float) -> str:
    return "over" if over > 0 else "under"


def _range(total: ScoreDistribution) -> str:
    """Range of eight rounds in ten, if the scores were followed that far."""
    edge = (1.0 - SPREAD_SHARE) / 2.0
    if total.remainder >= edge:
        return ""
    low, high = total.quantile(edge), total.quantile(1.0 - edge)
    return f" Eight rounds in ten end between {low} and {high}."


def _hole_table(score: RoundScore) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for title in ("Hole", "Par", "Strokes", *(name for name, _, _ in HOLE_RESULTS), WORSE):
        table.add_column(title, justify="right")
    for hole in score.holes:
        table.add_row(*map(_text, _hole_row(hole)))
    return table


def _hole_row(hole: HoleScore) -> list[str]:
    results = [hole.chance_over_par(low, high) for _, low, high in HOLE_RESULTS]
    worst = max(high for _, _, high in HOLE_RESULTS)
    results.append(hole.score.chance_at_least(hole.par + worst + 1))
    return [hole.ref, f"{hole.par}", strokes(hole.score.mean), *map(percent, results)]


def _text(line: str, style: str = "") -> Text:
    """Plain text: no markup, and ordinary spaces so that a pipe can be searched."""
    return Text(line.replace("\u00a0", " "), style=style)
