"""Where strokes go: the expected score taken apart, and set beside a reference golfer's."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Sequence
from itertools import count, pairwise

import numpy as np

from planner.course.hole import Hole
from planner.course.lies import Lie
from planner.golfer.reference_golfer import reference_bag, reference_name
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.stroke_causes import CAUSES, PENALTIES, model_without
from planner.golfer.swing_set import build_shot_model
from planner.planning.hole_bench import HoleBench, each_hole, open_bench
from planner.planning.hole_desk import shot_model
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest, chosen_holes
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.practice_results import HoleSplit, ReferenceGains, StrokeAccounts
from planner.strategy.reference_gains import HoleGains, gains_on_hole, gains_per_round
from planner.strategy.stroke_split import (
    StrokeSplit,
    every_set,
    shapley_split,
    summed,
    two_ended_sets,
    two_ended_split,
)
from planner.units import M_PER_YD, DistanceUnit

__all__ = ["stroke_accounts"]

BAND_EDGES = {
    DistanceUnit.YARDS: (50.0, 100.0, 150.0, 200.0),
    DistanceUnit.METRES: (45.0, 90.0, 135.0, 180.0),
}
"""Ends of the bands of distance to the pin, in the unit that is shown."""
BALLS = 4000
"""Balls that are played on every hole to count shots against the reference."""
SEED = 20230102


def stroke_accounts(
    request: PlanRequest,
    *,
    reference: float | None = None,
    exact: bool = False,
    balls: int = BALLS,
    unit: DistanceUnit = DistanceUnit.METRES,
    progress: Callable[[Progress], None] | None = None,
    cancelled: threading.Event | None = None,
) -> StrokeAccounts:
    """Solve every hole as it is and with causes of lost strokes taken away.

    Penalty strokes are a cause that cannot be taken away: what they cost is their expected number
    under the plan, of the golfer as he is and of one without the other causes.

    Parameters
    ----------
    reference
        Handicap index of a golfer to compare with; None for nobody.
    exact
        Solve for every set of causes, four times as long, instead of each alone and each last.
    balls
        Balls a hole for the comparison.
    unit
        Unit of the bands of distance.

    Raises
    ------
    OptionError
        A tee, hole or club is unknown.
    SolveError
        A hole cannot be solved.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set.
    """
    holes = chosen_holes(request)
    stop = cancelled or threading.Event()
    model = shot_model(request)
    golfer = request.bag.golfer
    sets = every_set(len(CAUSES)) if exact else two_ended_sets(len(CAUSES))
    models = {causes: model_without(model, golfer, causes) for causes in sets}
    other: ShotModel | None = None
    if reference is not None:
        other = build_shot_model(
            reference_bag(request.bag, reference),
            conditions=request.conditions,
            clubs=request.clubs,
        )
    steps = len(holes) * (len(sets) + (other is not None))
    done = count(1)

    def tell(hole: Hole) -> None:
        if progress is not None:
            progress(Progress(next(done), steps, f"hole {hole.ref}"))

    def one(hole: Hole) -> tuple[HoleSplit, HoleGains | None]:
        bench = open_bench(request, hole, [*models.values(), *([other] if other else [])])
        without, own = _solved(bench, models, stop, lambda: tell(hole), exact=exact)
        split = _split_of(without, exact=exact)
        gains = None
        if other is not None:
            rival = bench.solve(other, cancelled=stop)
            gains = gains_on_hole(
                own,
                rival,
                balls=balls,
                rng=np.random.default_rng([SEED, holes.index(hole)]),
                local_rule_e5=own.solution.tables.options.local_rule_e5,
            )
            tell(hole)
        return HoleSplit(hole.ref, hole.par, split, _penalties(own)), gains

    found = each_hole(holes, one, threads=request.threads, cancelled=stop)
    splits = tuple(split for split, _ in found)
    gains = [gain for _, gain in found if gain is not None]
    return StrokeAccounts(
        course=request.course.name,
        golfer=golfer.name,
        tee=request.tee or "longest",
        holes=splits,
        split=summed(hole.split for hole in splits),
        penalties=sum(hole.penalties for hole in splits),
        exact=exact,
        reference=None if reference is None else _reference(reference, gains, splits, unit),
    )


Values = dict[frozenset[int], tuple[float, float]]
"""Expected strokes, and the penalty strokes among them, without some causes."""


def _solved(
    bench: HoleBench,
    models: dict[frozenset[int], ShotModel],
    stop: threading.Event,
    tell: Callable[[], None],
    *,
    exact: bool,
) -> tuple[Values, HoleAdviser]:
    values: Values = {}
    own: HoleAdviser | None = None
    for causes, model in models.items():
        # What a single cause does to penalties is asked only where every set is solved for.
        counts = exact or len(causes) != 1
        adviser = bench.solve(model, count_penalties=counts, cancelled=stop)
        values[causes] = (adviser.tee_value, _penalties(adviser))
        own = own or adviser
        tell()
    assert own is not None, "none of the causes comes first"
    return values, own


def _split_of(values: Values, *, exact: bool) -> StrokeSplit:
    """Split by the causes, with penalty strokes as the last of them."""
    last = len(CAUSES)
    without = {causes: strokes for causes, (strokes, _) in values.items()}
    without |= {
        causes | {last}: strokes - lost
        for causes, (strokes, lost) in values.items()
        if not math.isnan(lost)
    }
    names = [*(cause.name for cause in CAUSES), PENALTIES]
    return (shapley_split if exact else two_ended_split)(names, without)


def _penalties(adviser: HoleAdviser) -> float:
    return adviser.place_values(adviser.tee.position_hole, Lie.TEE)[0].penalties


def _reference(
    index: float, gains: Sequence[HoleGains], holes: Sequence[HoleSplit], unit: DistanceUnit
) -> ReferenceGains:
    edges = BAND_EDGES[unit]
    length = M_PER_YD if unit is DistanceUnit.YARDS else 1.0
    names = [f"under {edges[0]:g} {unit.symbol}"]
    names += [f"{low:g} to {high:g} {unit.symbol}" for low, high in pairwise(edges)]
    names.append(f"over {edges[-1]:g} {unit.symbol}")
    clubs, bands = gains_per_round(gains, [edge * length for edge in edges], names)
    return ReferenceGains(
        index=index,
        name=reference_name(index),
        reference=sum(gain.reference for gain in gains),
        own=sum(hole.split.whole for hole in holes),
        by_club=clubs,
        by_distance=bands,
        total=sum(gain.total for gain in gains),
        standard_error=float(np.hypot.reduce([gain.standard_error for gain in gains])),
    )
