"""Playing for a target in a golfer's words, the same on the page and in the terminal."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from planner.strategy.target_results import Choice, FormPlan, Standing, TargetPlan
from planner.units import DistanceUnit

__all__ = [
    "ACCURACY_SAID",
    "SEEN",
    "Choice",
    "Difference",
    "aim_of",
    "apart",
    "chance",
    "differences",
    "form_said",
    "gain",
    "stand",
    "stand_of",
    "swing_of",
    "target_said",
]

SEEN = 0.005
"""Standings rarer than this on a tee are not told, only kept in the data."""
ACCURACY_SAID = (
    "Chances are held to 0.1 in a hundred; choices nearer than that are not told apart. "
    "Not in them: form from day to day, nerves, and what an opponent does."
)


@dataclass(frozen=True)
class Difference:
    """Standings in a row with which the same is played otherwise than planned.

    Parameters
    ----------
    hole, left
        The hole, and holes to play with it.
    where
        ``"tee"``, or where the ball lies and how often it comes there.
    first, last
        Strokes behind of the standing least and most behind.
    usual
        The standing that comes most often.
    best, planned
        Choices there.
    """

    hole: str
    left: int
    where: str
    first: Standing
    last: Standing
    usual: Standing
    best: Choice
    planned: Choice

    @property
    def stand(self) -> str:
        """How the golfer stands, such as "2 to 4 behind"."""
        return stand(self.first.behind, self.last.behind)


def differences(plan: TargetPlan, unit: DistanceUnit, *, seen: float = SEEN) -> list[Difference]:
    """Where a round is played otherwise for the target, in the order of play."""
    found: list[Difference] = []
    for hole in plan.holes:
        rows = [row for row in hole.standings if row.differs and row.reach >= seen]

        def kind(row: Standing, unit: DistanceUnit = unit) -> tuple[str, ...]:
            best, planned = _choices(row)
            return (
                _where(row, unit),
                *(swing_of(one, unit) + aim_of(one) for one in (best, planned)),
            )

        for _, group in groupby(rows, key=kind):
            same = list(group)
            usual = max(same, key=lambda row: row.reach)
            best, planned = _choices(usual)
            # The fewest in hand come first: that is most behind.
            found.append(
                Difference(
                    hole.ref,
                    hole.left,
                    _where(usual, unit),
                    same[-1],
                    same[0],
                    usual,
                    best,
                    planned,
                )
            )
    return found


def _choices(row: Standing) -> tuple[Choice, Choice]:
    later = None if row.tee_differs else row.later
    return (row.best, row.planned) if later is None else (later.best, later.planned)


def _where(row: Standing, unit: DistanceUnit) -> str:
    if row.tee_differs or row.later is None:
        return "tee"
    there = row.later
    left = unit.from_metres(there.distance_m)
    return f"{there.place}, {left:.0f} {unit.symbol} left"


def stand_of(behind: float) -> str:
    """One standing, such as "3 behind" or "level"."""
    return stand(behind, behind)


def stand(least: float, most: float) -> str:
    """Standings from ``least`` to ``most`` strokes behind what is expected."""
    low, high = round(least), round(most)
    if low > high:
        low, high = high, low
    if low == high:
        if low == 0:
            return "level"
        return f"{abs(low)} {'behind' if low > 0 else 'ahead'}"
    if low >= 0:
        return f"{low or 'level'} to {high} behind"
    if high <= 0:
        return f"{-low} to {-high or 'level'} ahead" if high else f"{-low} ahead to level"
    return f"{-low} ahead to {high} behind"


def swing_of(choice: Choice, unit: DistanceUnit) -> str:
    """The swing in words, a partial one with its carry."""
    if choice.partial_m is None:
        return choice.swing
    return f"{choice.swing} {unit.from_metres(choice.partial_m):.0f} {unit.symbol}"


def aim_of(choice: Choice) -> str:
    """Where a choice is aimed, in words."""
    return "" if choice.aim is None else choice.aim.words


def apart(best: Choice, planned: Choice, unit: DistanceUnit) -> str:
    """How far the aim lies beside the plan's where both are said in the same words."""
    if best.aim is None or planned.aim is None or aim_of(best) != aim_of(planned):
        return ""
    aside = best.aim.offset_m - planned.aim.offset_m
    shown = f"{unit.from_metres(abs(aside)):.0f}"
    if shown == "0" or swing_of(best, unit) != swing_of(planned, unit):
        return ""
    return f", {shown} {unit.symbol} further {'right' if aside > 0 else 'left'}"


def chance(share: float) -> str:
    """A chance in hundredths with one decimal, for small differences."""
    return f"{100 * share:.1f} %"


def gain(share: float) -> str:
    """A difference of chances with its sign."""
    return f"{100 * share:+.1f} %"


def target_said(plan: TargetPlan) -> tuple[str, ...]:
    """The chance of the target in sentences."""
    lines = [
        f"{plan.target} or fewer, par {plan.par}: {chance(plan.chance_planned)} playing for fewest "
        f"strokes ({plan.expected:.1f} expected), {chance(plan.chance)} playing for the target: "
        f"{gain(plan.gain)}."
    ]
    if plan.chance_planned < 0.001 and plan.chance < 0.001:
        lines.append("It is out of reach, so there is hardly anything to play differently for.")
    elif plan.chance > 0.999:
        lines.append("It is all but certain, so there is nothing to play differently for.")
    return tuple(lines)


def form_said(plan: FormPlan) -> str:
    """What another form of play is worth, in a sentence."""
    if plan.unit == "strokes":
        # Strokes that count are worth less the more they are.
        planned, best, aim = -plan.worth_planned, -plan.worth, "for what counts"
    else:
        planned, best, aim = plan.worth_planned, plan.worth, f"for {plan.unit}"
    return (
        f"{planned:.2f} {plan.unit} expected playing for fewest strokes, {best:.2f} playing "
        f"{aim}: {best - planned:+.2f}."
    )
