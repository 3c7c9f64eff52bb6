"""Tables of the page: rows of ready words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.page.plain import plain
from planner.report import card_words, words
from planner.report.hole_drawing import LETTERS
from planner.strategy.advice import HolePlan, NextShot, Shares, Shot
from planner.strategy.hazard_carries import HazardCarry
from planner.units import DistanceUnit

__all__ = [
    "choices_table",
    "clubs_table",
    "golfers_table",
    "hazards_table",
    "next_table",
    "round_table",
    "shares_table",
    "tee_shot_lines",
]

Rows = list[dict[str, str]]
FULL_ROUND, HALF_ROUND = 18, 9


def shares_table(shares: Shares) -> Rows:
    """Chance of every place where the ball can end."""
    return [
        {"Place": name, "Chance": words.percent(share)} for name, share in words.chances(shares)
    ]


def choices_table(shots: Sequence[Shot], unit: DistanceUnit) -> Rows:
    """One row for each club, the best first; penalty areas and out of bounds are one chance."""
    return [
        {
            "Hit and aim": _hit_and_aim(shot, unit),
            "Costs": "best" if i == 0 else plain(words.cost(shot.cost)),
            "Penalty": words.percent(shot.shares.penalty + shot.shares.out_of_bounds),
            "Leaves": words.distance(shot.leave_m, unit),
        }
        for i, shot in enumerate(shots)
    ]


def hazards_table(hazards: Sequence[HazardCarry], unit: DistanceUnit) -> Rows:
    """One row for each hazard near the aim line, nearest first."""
    return [
        {"What": plain(name), "Reached at": reach, "Carried at": carry}
        for name, reach, carry in (card_words.carry_parts(hazard, unit) for hazard in hazards)
    ]


def golfers_table(golfers: Sequence[tuple[str, HolePlan]], unit: DistanceUnit) -> Rows:
    """One row for each golfer on the same hole."""
    return [
        {
            "Golfer": f"**{plain(name)}**, {plain(plan.tee)} tees · "
            + plain(words.shot_name(plan.best, unit)),
            "Strokes": words.strokes(plan.expected_strokes),
            "Penalty": words.strokes(plan.expected_penalties),
            "Fairway": words.percent(plan.best.shares.fairway),
            "Leaves": words.distance(plan.best.leave_m, unit),
        }
        for name, plan in golfers
    ]


def clubs_table(rows: Sequence[Mapping[str, str]]) -> Rows:
    """Rows of the clubs with fewer columns, so that they stand on a telephone."""
    found = []
    for row in rows:
        cells = {name: plain(cell) for name, cell in row.items()}
        source, interval = cells.pop("Pattern"), cells.pop("90 %")
        cells["Club"] = f"**{cells['Club']}** · {source}"
        cells["Carry"] = f"**{cells['Carry']}** ({interval})"
        found.append(cells)
    return found


def next_table(places: Sequence[NextShot], unit: DistanceUnit) -> Rows:
    """One row for each likely next place, in the letters of the drawing."""
    return [
        {
            "From": f"**{letter}** {plain(place.place)}, {words.percent(place.chance)}",
            "To pin": words.distance(place.distance_m, unit),
            "Hit and aim": _hit_and_aim(place.best, unit),
            "Next best": _runner_up(place, unit),
        }
        for letter, place in zip(LETTERS, places, strict=False)
    ]


def _hit_and_aim(shot: Shot, unit: DistanceUnit) -> str:
    aim = plain(words.where_to_aim(shot, unit))
    like = plain(words.plays_like(shot, unit))
    return " · ".join(
        part for part in (f"**{plain(words.shot_name(shot, unit))}**", aim, like) if part
    )


def _runner_up(place: NextShot, unit: DistanceUnit) -> str:
    if place.runner_up is None:
        return "none"
    said = words.cost(place.runner_up.cost)
    return plain(f"{words.shot_name(place.runner_up, unit)}, {said}")


def round_table(plans: Sequence[HolePlan], unit: DistanceUnit, *, partial: bool = False) -> Rows:
    """One row for each hole, halves of a full round, and the total.

    The total of a ``partial`` list says that it is one.
    """
    rows: Rows = []
    for number, plan in enumerate(plans, start=1):
        rows.append(_hole_row(plan, unit))
        if len(plans) == FULL_ROUND and number % HALF_ROUND == 0:
            half = plans[number - HALF_ROUND : number]
            rows.append(_total_row("Out" if number == HALF_ROUND else "In", half, unit))
    return [*rows, _total_row("So far" if partial else "All", plans, unit)]


def _hole_row(plan: HolePlan, unit: DistanceUnit) -> dict[str, str]:
    runner_up = "none"
    if plan.others:
        other = plan.others[0]
        runner_up = plain(f"{words.shot_name(other, unit)}, {words.cost(other.cost)}")
    length = words.distance(plan.length_m, unit)
    return {
        "Hole": f"**{plain(plan.hole.ref)}** par {plan.hole.par}, {length}",
        "Hit": plain(words.shot_name(plan.best, unit)),
        "Strokes": words.strokes(plan.expected_strokes) + ("" if plan.converged else " ?"),
        "Penalties": words.strokes(plan.expected_penalties),
        "Next best": runner_up,
    }


def _total_row(name: str, plans: Sequence[HolePlan], unit: DistanceUnit) -> dict[str, str]:
    par = sum(plan.hole.par for plan in plans)
    length = words.distance(sum(plan.length_m for plan in plans), unit)
    return {
        "Hole": f"**{name} par {par}, {length}**",
        "Hit": "",
        "Strokes": f"**{words.strokes(sum(plan.expected_strokes for plan in plans))}**",
        "Penalties": f"**{words.strokes(sum(plan.expected_penalties for plan in plans))}**",
        "Next best": "",
    }


def tee_shot_lines(plans: Sequence[HolePlan], unit: DistanceUnit) -> str:
    """Tee shot and aim of every hole as a Markdown list."""
    return "\n".join(
        f"- **{plain(plan.hole.ref)}** {_hit_and_aim(plan.best, unit)}" for plan in plans
    )
