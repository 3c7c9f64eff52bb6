"""Mass pushed through the plan of a hole, stroke by stroke, from the tee until it is holed.

All mass that has spent the same number of strokes, penalties included, is on its way together.
It lies in small cells, each with a lie and its centre of mass. There the plan decides, as it
would for a ball at that place, and the shot's mass is pushed on to where it comes to rest
(:mod:`planner.strategy.shot_mass`). Nothing is drawn, and no landing lattice is read: the solve
serves only to decide what is played and which relief is taken.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.course.hole import Point
from planner.course.lies import Lie
from planner.strategy.ground_lines import GroundPartition
from planner.strategy.hole_solver import HoleSolver, check_cancelled
from planner.strategy.mass_pusher import Landed, ShotPusher
from planner.strategy.relief_values import GREEN_SLOT, PLAYED_LIES, unplayable_relief
from planner.strategy.solution import UNPLAYABLE, HoleSolution

__all__ = ["Decide", "PlannedShots", "PushedPlan", "push_plan"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
Decide = Callable[[FloatArray, IntArray, NDArray[np.bool_]], tuple[ArrayLike, ArrayLike]]

FINE_MASS = 4e-4, 1e-4
"""Mass below which four cells become one, and below which sixteen do."""
TEE_FINENESS = 0.04
"""Width of the pieces into which the tee shot is cut, in deviations."""
FINEST, COARSEST = 0.3, 0.8
"""The same for later shots: of a thousandth of all mass, and at most."""
_FINE_OF = 1e-3
_MOST_AHEAD = 4
"""A shot and its relief spend fewer strokes than this."""
_LEAST = 1e-12


@dataclass(frozen=True, eq=False)
class PlannedShots:
    """What a plan decides.

    Parameters
    ----------
    position_hole
        The tee [m].
    swing, bearing
        The shot from it: index of the swing, and its aim [rad].
    decide
        Called with places ``(n, 2)`` [m], lies ``(n,)`` (values of ``Lie``) and whether each is
        the tee; returns the index of the swing, or ``UNPLAYABLE``, and the bearing [rad].
    value_at
        Expected cost at places with lies, by which relief is chosen.
    """

    position_hole: Point
    swing: int
    bearing: float
    decide: Decide
    value_at: Callable[[FloatArray, IntArray], FloatArray]


@dataclass(frozen=True, eq=False)
class PushedPlan:
    """What became of the mass.

    Parameters
    ----------
    on_green
        Mass that came to the green with ``k`` strokes spent, by distance to the pin: row ``k``,
        one column for each of ``nodes_m``.
    nodes_m
        Distances to the pin [m]; between two of them mass is shared out.
    strokes, penalties
        Expected strokes before the green, and expected penalty strokes.
    left, left_from
        Mass that was still on its way when it was given up, and the least score it can have.
    """

    on_green: FloatArray
    nodes_m: FloatArray
    strokes: float
    penalties: float
    left: float
    left_from: int


def push_plan(
    solution: HoleSolution,
    solver: HoleSolver,
    partition: GroundPartition,
    shots: PlannedShots,
    *,
    most: int,
    remainder: float,
    threads: int = 1,
    cancelled: threading.Event | None = None,
) -> PushedPlan:
    """Push all mass from the tee.

    Parameters
    ----------
    solution, solver
        The solved hole, and the solver that solved it.
    partition
        Ground of the hole with the edge of its map.
    most
        Strokes after which mass is given up.
    remainder
        Mass that is small enough to be given up before.
    """
    return _Push(solution, solver, partition, shots, threads, cancelled).run(most, remainder)


class _Push:
    def __init__(
        self,
        solution: HoleSolution,
        solver: HoleSolver,
        partition: GroundPartition,
        shots: PlannedShots,
        threads: int,
        cancelled: threading.Event | None,
    ) -> None:
        self.tables = solution.tables
        self.model = solution.model
        self.shots = shots
        self.cancelled = cancelled
        self.pusher = ShotPusher(self.tables, partition, self.model, threads=threads)
        drops = self.tables.edges.drops
        _, best = solver.edge_values(solution.values)
        self.drop_points = drops.points_hole[best]
        self.drop_slots = drops.slot[best]
        self.drop_strokes = drops.strokes[best].astype(np.int64)

    def run(self, most: int, remainder: float) -> PushedPlan:
        tee = np.array([self.shots.position_hole])
        first, lost = self.pusher.push(
            tee,
            np.full(1, int(Lie.TEE)),
            np.ones(1),
            np.full(1, self.shots.swing),
            np.full(1, self.shots.bearing),
            np.full(1, TEE_FINENESS),
        )
        ahead = [self.pusher.nothing() for _ in range(_MOST_AHEAD)]
        on_tee = np.zeros(most + _MOST_AHEAD)
        on_tee[0] = 1.0
        green = np.zeros((most + 1, len(self.pusher.nodes)))
        strokes = penalties = 0.0
        # A stroke to the green and a putt are still to come, or a putt at least.
        left_from = most + 2
        for spent in range(most + 1):
            check_cancelled(self.cancelled)
            here = ahead.pop(0)
            ahead.append(self.pusher.nothing())
            green[spent] = here.green
            if float(green.sum()) > 1.0 - remainder:
                left_from = spent + 2
                break
            if on_tee[spent] > 0.0:
                strokes += on_tee[spent]
                penalties += on_tee[spent] * float(lost[0])
                ahead[0].add(first, on_tee[spent])
                on_tee[spent + 2] += on_tee[spent] * lost[0]
            points, lies, mass = _gathered(here.held, self.pusher.start)
            if len(mass):
                swings, bearings = self.shots.decide(points, lies, np.zeros(len(mass), dtype=bool))
                swing = np.asarray(swings, dtype=np.int64)
                bearing = np.asarray(bearings, dtype=float)
                lifted = swing == UNPLAYABLE
                if lifted.any():
                    penalties += self.lift(points[lifted], lies[lifted], mass[lifted], ahead)
                hit = np.flatnonzero(~lifted)
                strokes += float(mass[hit].sum())
                penalties += self.play(
                    points[hit], lies[hit], mass[hit], swing[hit], bearing[hit], ahead
                )
            # Relief costs its strokes after the one that brought the ball there.
            penalties += self.drop(ahead)
        left = 1.0 - float(green.sum())
        return PushedPlan(green, self.pusher.nodes, strokes, penalties, max(left, 0.0), left_from)

    def play(
        self,
        points: FloatArray,
        lies: IntArray,
        mass: FloatArray,
        swing: IntArray,
        bearing: FloatArray,
        ahead: list[Landed],
    ) -> float:
        """Push shots on; returns the penalty strokes of those that are lost."""
        if not len(mass):
            return 0.0
        fine = np.clip(FINEST * (mass / _FINE_OF) ** (-1 / 3), FINEST, COARSEST)
        landed, lost = self.pusher.push(points, lies, mass, swing, bearing, fine)
        ahead[0].add(landed)
        gone = lost > 0.0
        self.pusher.put(ahead[1], points[gone], _slots(lies[gone]), lost[gone])
        return float(lost.sum())

    def lift(
        self, points: FloatArray, lies: IntArray, mass: FloatArray, ahead: list[Landed]
    ) -> float:
        """Take relief from unplayable lies; returns the penalty strokes."""
        spent = 0.0
        for lie in (Lie.TREES, Lie.SAND):
            ours = np.flatnonzero(lies == lie)
            if not ours.size:
                continue
            drops, index = unplayable_relief(
                self.tables.hole,
                self.tables.grid,
                points[ours],
                lie,
                club_length=self.tables.options.club_length,
            )
            best = np.empty(0, dtype=np.intp)
            if len(index):
                lie_of = np.array([*PLAYED_LIES, Lie.GREEN])[drops.slot].astype(np.int64)
                cost = np.asarray(self.shots.value_at(drops.points_hole, lie_of))
                green = drops.slot == GREEN_SLOT
                away = drops.points_hole[green] - np.asarray(self.tables.pin)
                cost[green] = self.model.expected_putts(np.hypot(away[:, 0], away[:, 1]))
                _, best = drops.best(cost + drops.strokes)
            spent += self.dropped(
                drops.points_hole[best],
                drops.slot[best],
                drops.strokes[best].astype(np.int64),
                mass[ours[index]],
                ahead,
                0,
            )
            stuck = np.setdiff1d(np.arange(len(ours)), index)
            self.pusher.put(
                ahead[0], points[ours[stuck]], _slots(lies[ours[stuck]]), mass[ours[stuck]]
            )
            spent += float(mass[ours[stuck]].sum())
        return spent

    def drop(self, ahead: list[Landed]) -> float:
        """Take relief at edges for what the last stroke brought there; returns the penalties."""
        edges = ahead[0].edges
        used = np.flatnonzero(edges > 0.0)
        mass = edges[used].copy()
        edges[:] = 0.0
        return self.dropped(
            self.drop_points[used],
            self.drop_slots[used],
            self.drop_strokes[used],
            mass,
            ahead,
            1,
        )

    def dropped(
        self,
        points: FloatArray,
        slots: NDArray[np.intp],
        strokes: IntArray,
        mass: FloatArray,
        ahead: list[Landed],
        before: int,
    ) -> float:
        for count in np.unique(strokes):
            ours = strokes == count
            # ``ahead[k]`` has spent ``k + 1`` strokes more than what is played now.
            self.pusher.put(ahead[before + int(count) - 1], points[ours], slots[ours], mass[ours])
        return float((strokes * mass).sum())


def _slots(lies: IntArray) -> NDArray[np.intp]:
    slot = np.zeros(len(Lie), dtype=np.intp)
    for number, lie in enumerate(PLAYED_LIES):
        slot[lie] = number
    return slot[lies]


def _gathered(held: FloatArray, start: Point) -> tuple[FloatArray, IntArray, FloatArray]:
    """Places, lies and mass of all that is held; little mass in larger cells."""
    slot, row, column = np.nonzero(held[..., 0] > _LEAST)
    cells = held[slot, row, column]
    rows, columns = held.shape[1:3]
    for number, least in enumerate(FINE_MASS):
        light = cells[:, 0] < least
        size = 2 ** (number + 1)
        key = (slot * rows + row // size * size) * columns + column // size * size
        kept = ~light
        small, member = np.unique(key[light], return_inverse=True)
        merged = np.zeros((len(small), 3))
        np.add.at(merged, member.ravel(), cells[light])
        cells = np.concatenate((cells[kept], merged))
        slot = np.concatenate((slot[kept], small // (rows * columns)))
        row = np.concatenate((row[kept], small // columns % rows))
        column = np.concatenate((column[kept], small % columns))
    points = cells[:, 1:] / cells[:, :1]
    lies = np.array([int(lie) for lie in PLAYED_LIES])[slot]
    return points, lies, cells[:, 0]
