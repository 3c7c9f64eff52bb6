"""What an error in the patterns of clubs would do to the value of a hole, to first order.

At the best policy a small change of patterns moves the value by the change of what each shot
leads to, shot by shot, the policy held: that the policy would change too is of second order.
Shots are gathered by playing balls with the solved policy. Each of them is then drawn again from
the patterns off to either side, with the same random numbers, and what it leads to is valued by the
solution.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from planner.course.hole import Point
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import ShotModel
from planner.strategy.ground_lines import GroundPartition
from planner.strategy.hole_tables import HoleTables
from planner.strategy.policy import PolicyReader
from planner.strategy.relief_values import GREEN_SLOT, PLAYED_LIES
from planner.strategy.shot_draws import DrawnShots, ShotDraws
from planner.strategy.solution import UNPLAYABLE, HoleSolution

__all__ = ["ShotSlopes", "shot_slopes"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
MOST_SHOTS = 12
"""Shots after which a ball is followed no more."""
_LIE_OF_GROUND = np.array([ground.lie for ground in Ground], dtype=np.int64)
_LIE_OF_SLOT = np.array([*(int(lie) for lie in PLAYED_LIES), int(Lie.GREEN)], dtype=np.int64)


@dataclass(frozen=True, eq=False)
class ShotSlopes:
    """Effect of changes on the value of a hole.

    Parameters
    ----------
    clubs
        Labels of the clubs that are played.
    strokes
        Strokes by which one step of each change, with each club alone, raises the value; shape
        ``(changes, clubs)``.
    shots
        Shots with each club a round, ``(clubs,)``.
    """

    clubs: tuple[str, ...]
    strokes: FloatArray
    shots: FloatArray


def shot_slopes(
    solution: HoleSolution,
    policy: PolicyReader,
    partition: GroundPartition,
    tee_hole: Point,
    changes: Sequence[tuple[ShotModel, ShotModel]],
    edge_values: FloatArray,
    *,
    balls: int = 2000,
    rng: np.random.Generator,
) -> ShotSlopes:
    """Value changes of patterns from one step below to one step above.

    Parameters
    ----------
    solution, policy
        The solved hole and its policy.
    partition
        Ground of the hole.
    tee_hole
        Where it is started [m].
    changes
        For each change the model with every club one step below, and one above; swings as in
        the solution's model.
    edge_values
        Cost of the best relief at every edge sample of the tables, as the solver has it.
    balls
        Balls played.
    rng
        Draws the shots.
    """
    after = _Aftermath(solution, policy, partition, edge_values)
    draws = ShotDraws(partition, solution.hole, solution.model)
    played = _gather(after, draws, policy, tee_hole, balls, rng)
    points, lies, swings, bearings = played
    owner = np.array([swing.club for swing in solution.model.swings])[swings]
    clubs = tuple(dict.fromkeys(owner.tolist()))
    number = {club: i for i, club in enumerate(clubs)}
    of_club = np.array([number[club] for club in owner.tolist()], dtype=np.int64)
    seed = int(rng.integers(2**63))
    strokes = np.zeros((len(changes), len(clubs)))
    for i, pair in enumerate(changes):
        ends = []
        for model in pair:
            again = ShotDraws(partition, solution.hole, model)
            shots = again.draw(points, lies, swings, bearings, rng=np.random.default_rng(seed))
            ends.append(after.cost(shots, points, lies)[0])
        half = 0.5 * (ends[1] - ends[0]) / balls
        strokes[i] = np.bincount(of_club, weights=half, minlength=len(clubs))
    shots_each = np.bincount(of_club, minlength=len(clubs)) / balls
    return ShotSlopes(clubs, strokes, shots_each)


def _gather(
    after: _Aftermath,
    draws: ShotDraws,
    policy: PolicyReader,
    tee_hole: Point,
    balls: int,
    rng: np.random.Generator,
) -> tuple[FloatArray, IntArray, IntArray, FloatArray]:
    """Every shot of some balls: places [m], lies, swings and bearings [rad]."""
    points = np.tile(np.asarray(tee_hole, dtype=float), (balls, 1))
    lies = np.full(balls, int(Lie.TEE), dtype=np.int64)
    found: list[tuple[FloatArray, IntArray, IntArray, FloatArray]] = []
    for _ in range(MOST_SHOTS):
        if len(points) == 0:
            break
        chosen, aims = policy.decide(points, lies, lies == int(Lie.TEE))
        # A ball declared unplayable is no shot; the few there are end here.
        played = (chosen != UNPLAYABLE) & (chosen >= 0)
        played &= draws.allowed[np.maximum(chosen, 0), lies]
        if not played.any():
            break
        points, lies = points[played], lies[played]
        swings, bearings = chosen[played].astype(np.int64), aims[played]
        found.append((points, lies, swings, bearings))
        shots = draws.draw(points, lies, swings, bearings, rng=rng)
        _, points, lies = after.cost(shots, points, lies)
        going = lies != int(Lie.GREEN)
        points, lies = points[going], lies[going]
    every = [np.concatenate(column) for column in zip(*found, strict=True)]
    return every[0], every[1], every[2], every[3]


class _Aftermath:
    """What a drawn shot leads to: cost to hole out, place and lie of the next shot."""

    def __init__(
        self,
        solution: HoleSolution,
        policy: PolicyReader,
        partition: GroundPartition,
        edge_values: FloatArray,
    ) -> None:
        tables: HoleTables = solution.tables
        self.model = solution.model
        self.policy = policy
        self.partition = partition
        self.pin = np.asarray(tables.pin)
        edges = tables.edges
        self.trees = {
            ground: (chosen, cKDTree(edges.edges_hole[chosen]))
            for ground in (Ground.YELLOW, Ground.RED, Ground.OUT)
            if (chosen := np.flatnonzero(edges.grounds == int(ground))).size
        }
        self.edge_values = edge_values
        self.drop_points, self.drop_lies = self._drops(tables)

    def _drops(self, tables: HoleTables) -> tuple[FloatArray, IntArray]:
        """Best drop of every edge sample."""
        drops = tables.edges.drops
        if len(drops.start) == 1:
            return np.empty((0, 2)), np.empty(0, dtype=np.int64)
        lies = _LIE_OF_SLOT[np.minimum(drops.slot, GREEN_SLOT)]
        cost = self._values(drops.points_hole, lies) + drops.strokes
        best = drops.best(cost)[1]
        return drops.points_hole[best], lies[best]

    def _values(self, points: FloatArray, lies: IntArray) -> FloatArray:
        found = np.empty(len(points))
        green = lies == int(Lie.GREEN)
        away = points[green] - self.pin
        found[green] = self.model.expected_putts(np.hypot(away[:, 0], away[:, 1]))
        found[~green] = self.policy.value_at(points[~green], lies[~green])
        return found

    def cost(
        self, shots: DrawnShots, before: FloatArray, lies_before: IntArray
    ) -> tuple[FloatArray, FloatArray, IntArray]:
        """Expected strokes after the shots, penalties included, and where they leave the ball."""
        ground = self.partition.grounds[shots.ground_class]
        lost = shots.ground_class == self.partition.lost_class
        points = shots.rest_hole.copy()
        lies = _LIE_OF_GROUND[ground]
        cost = np.empty(len(points))
        replayed = lost | np.isin(ground, (Ground.YELLOW, Ground.RED, Ground.OUT))
        for kind, (edges, tree) in self.trees.items():
            ours = np.flatnonzero((ground == kind) & ~lost)
            edge = edges[tree.query(shots.crossing_hole[ours])[1]]
            points[ours], lies[ours] = self.drop_points[edge], self.drop_lies[edge]
            cost[ours] = self.edge_values[edge]
            replayed[ours] = False
        points[replayed], lies[replayed] = before[replayed], lies_before[replayed]
        cost[replayed] = 1.0 + self._values(points[replayed], lies[replayed])
        dry = ~replayed & ~np.isin(ground, (Ground.YELLOW, Ground.RED, Ground.OUT))
        cost[dry] = self._values(points[dry], lies[dry])
        return cost, points, lies
