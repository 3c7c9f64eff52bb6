"""Strokes gained against a reference golfer, by club and by distance.

A golfer plays his own plan, ball by ball, off any lattice (:mod:`planner.strategy.roll_out`). Each
of his shots from x to y with w penalty strokes is valued by what the *reference* golfer would need
from x and from y, R::

    gained = R(x) - R(y) - 1 - w,    on the green   R_putts(d) - own expected putts(d)

Added up over all shots of a ball this is R(tee) less its score, so the means add up to the
reference's expected score less the golfer's. It is strokes gained with the reference in the place
of a tour field (M. Broadie, Interfaces 42(2), 2012).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.golfer.shot_outcome import SwingStyle
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.roll_out import UNPLAYABLE, Moment, roll_out

__all__ = [
    "PUTTING",
    "RELIEF",
    "TEE_SHOTS",
    "Gain",
    "HoleGains",
    "gains_on_hole",
    "gains_per_round",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

PUTTING, RELIEF, TEE_SHOTS = "putting", "relief taken", "tee shots, par 4 and 5"
"""Names beside those of clubs and of distance bands."""


@dataclass(frozen=True)
class Gain:
    """Shots of one kind in a round.

    Parameters
    ----------
    name
        The kind.
    shots
        How many a round; putts count as one green each.
    gained
        Strokes a round gained against the reference; negative where he is better.
    """

    name: str
    shots: float
    gained: float

    @property
    def each(self) -> float:
        """Strokes gained with one such shot."""
        return self.gained / self.shots if self.shots else math.nan


@dataclass(frozen=True, eq=False)
class HoleGains:
    """Simulated shots of a hole, one entry for each, over ``balls`` balls.

    Parameters
    ----------
    clubs
        Name of each shot's club, ``PUTTING`` or ``RELIEF``.
    distance_m
        Distance to the pin before it [m].
    from_tee
        Whether it was a tee shot of a par 4 or 5.
    gained
        Strokes gained by it.
    reference
        Strokes the reference expects from the tee.
    scores
        Score of every ball that was holed, shape ``(balls,)``.
    """

    clubs: NDArray[np.str_]
    distance_m: FloatArray
    from_tee: NDArray[np.bool_]
    gained: FloatArray
    reference: float
    scores: FloatArray

    @property
    def balls(self) -> int:
        """Balls that were holed."""
        return len(self.scores)

    @property
    def total(self) -> float:
        """Strokes gained on the hole on average: the reference's strokes less the golfer's."""
        return self.reference - float(self.scores.mean())

    @property
    def standard_error(self) -> float:
        """Standard error of :attr:`total` from the number of balls."""
        return float(self.scores.std(ddof=1)) / math.sqrt(self.balls) if self.balls > 1 else 0.0


def gains_on_hole(
    own: HoleAdviser,
    reference: HoleAdviser,
    *,
    balls: int,
    rng: np.random.Generator,
    local_rule_e5: bool = False,
) -> HoleGains:
    """Play ``balls`` balls by a golfer's plan and value every shot by the reference's strokes.

    Parameters
    ----------
    own, reference
        The same hole solved for both golfers.
    """
    moments: list[Moment] = []
    played = roll_out(
        own.hole,
        own.model,
        own.tee.position_hole,
        decide=own.policy.decide,
        value_at=own.policy.value_at,
        balls=balls,
        rng=rng,
        local_rule_e5=local_rule_e5,
        partition=own.partition,
        watch=moments.append,
    )
    ball = np.concatenate([moment.ball for moment in moments])
    turn = np.concatenate([np.full(len(one.ball), i) for i, one in enumerate(moments)])
    order = np.lexsort((turn, ball))
    order = order[played.finished[ball[order]]]
    ball = ball[order]
    points = np.concatenate([moment.points for moment in moments])[order]
    lies = np.concatenate([moment.lies for moment in moments])[order]
    swings = np.concatenate([moment.swings for moment in moments])[order]
    spent = np.concatenate([moment.spent for moment in moments])[order]
    away = points - np.asarray(own.hole.pin_hole)
    distance = np.hypot(away[:, 0], away[:, 1])
    worth = np.asarray(reference.policy.value_at(points, lies), dtype=float)
    on_green = lies == Lie.GREEN
    worth[on_green] = reference.model.expected_putts(distance[on_green])
    at_start = np.r_[True, ball[1:] != ball[:-1]]
    worth[at_start] = reference.tee_value
    # After the last entry of a ball comes the hole; its putts were spent on the way.
    last = np.r_[at_start[1:], True]
    after = np.where(last, 0.0, np.r_[worth[1:], 0.0])
    cost = np.where(last, 0.0, np.r_[spent[1:], 0.0] - spent)
    cost[last] = own.model.expected_putts(distance[last])
    # From the tee itself a swing is a shot; a ball played again from there is one, too.
    from_tee = (lies == Lie.TEE) & (own.hole.par > 3)
    return HoleGains(
        clubs=_names(own, swings, on_green),
        distance_m=distance,
        from_tee=from_tee,
        gained=worth - after - cost,
        reference=reference.tee_value,
        scores=played.scores[played.finished],
    )


def gains_per_round(
    holes: Sequence[HoleGains], edges_m: Sequence[float], band_names: Sequence[str]
) -> tuple[tuple[Gain, ...], tuple[Gain, ...]]:
    """Strokes gained a round by club, and by band of the distance to the pin.

    Parameters
    ----------
    edges_m
        Ends of the bands [m], rising; shots from the tee of par 4s and 5s, putts and relief have
        their own names.
    band_names
        One more than ``edges_m``, from near to far.
    """
    if len(band_names) != len(edges_m) + 1:
        raise ValueError(f"{len(edges_m)} edges need {len(edges_m) + 1} names")
    clubs = _summed(holes, lambda hole: hole.clubs)

    def band(hole: HoleGains) -> NDArray[np.str_]:
        found = np.asarray(band_names)[np.digitize(hole.distance_m, edges_m)]
        own_name = (hole.clubs == PUTTING) | (hole.clubs == RELIEF)
        found = np.where(hole.from_tee, TEE_SHOTS, found)
        return np.asarray(np.where(own_name, hole.clubs, found))

    bands = {gain.name: gain for gain in _summed(holes, band)}
    wanted = (TEE_SHOTS, *reversed(band_names), PUTTING, RELIEF)
    return (
        tuple(sorted(clubs, key=lambda gain: gain.gained)),
        tuple(bands[name] for name in wanted if name in bands),
    )


def _names(own: HoleAdviser, swings: IntArray, on_green: NDArray[np.bool_]) -> NDArray[np.str_]:
    labels = []
    for swing in own.model.swings:
        partial = swing.style is SwingStyle.PARTIAL
        labels.append(f"{swing.club}, partial" if partial else swing.club)
    named = np.asarray(labels)[np.maximum(swings, 0)]
    named = np.where(swings == UNPLAYABLE, RELIEF, named)
    return np.asarray(np.where(on_green, PUTTING, named))


def _summed(holes: Iterable[HoleGains], key: Callable[[HoleGains], NDArray[np.str_]]) -> list[Gain]:
    shots: dict[str, float] = {}
    gained: dict[str, float] = {}
    for hole in holes:
        names, back = np.unique(key(hole), return_inverse=True)
        counts = np.bincount(back.ravel(), minlength=len(names)) / hole.balls
        sums = np.bincount(back.ravel(), hole.gained, minlength=len(names)) / hole.balls
        for name, count, total in zip(names.tolist(), counts, sums, strict=True):
            shots[name] = shots.get(name, 0.0) + float(count)
            gained[name] = gained.get(name, 0.0) + float(total)
    return [Gain(name, shots[name], gained[name]) for name in shots]
