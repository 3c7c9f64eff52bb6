"""Makes the sketch of a hole from its solution with every club.

Places are the solver's own lattice cells, each with a lie, found by following balls from the tee:
from every place each club that comes near the best is played a number of times with the
independent draws of :mod:`planner.strategy.shot_draws`. The costs of the clubs are the solver's.
A ball in a penalty area, or declared unplayable, may be dropped in several places, because what
is the best place for it depends on the bag.
"""

from __future__ import annotations

import itertools
import threading
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from scipy.spatial import cKDTree

from planner.course.hole import Tee
from planner.course.lies import Lie
from planner.strategy.club_costs import ClubCosts, club_costs
from planner.strategy.ground_lines import ground_partition
from planner.strategy.hole_advice import map_box
from planner.strategy.hole_sketch import ANY_BAG, HoleSketch
from planner.strategy.hole_solver import HoleSolver, check_cancelled
from planner.strategy.relief_values import PLAYED_LIES, TREES_SLOT
from planner.strategy.shot_draws import ShotDraws
from planner.strategy.shot_evaluation import ShotEvaluator
from planner.strategy.sketch_places import HOLED, RELIEF_SLOT, Drop, SketchPlaces
from planner.strategy.solution import HoleSolution
from planner.strategy.values import inner_mask

__all__ = ["SketchOptions", "sketch_hole"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
Choice = tuple[int, float, int]
"""Club, cost beyond the best choice's, and number of the row that says where it leads."""


@dataclass(frozen=True)
class SketchOptions:
    """How finely a hole is sketched.

    Parameters
    ----------
    near
        Clubs that cost at most so much more than the best at a place are drawn [strokes]; dearer
        ones are taken to lead where the best one does. At least ``least_clubs`` are drawn.
    least_clubs
        Least number of clubs drawn at a place.
    tee_draws, draws, few_draws
        Draws of each club from the tee; from places reached with a chance of at least
        ``often``; and from others.
    often, least_chance
        Chances to come by. Places reached with less than ``least_chance`` are not followed; they
        are taken for the nearest place followed with the same lie.
    merge
        Patch cells taken for one place, along and across.
    most_drops
        Most drops among which a ball may be taken out of a penalty area or declared unplayable.
    softness
        Clubs that cost so much more than the best are e times rarer in finding places [strokes].
    most_levels
        Shots from the tee after which no new places are looked for.
    seed
        Seed of the draws.
    """

    near: float = 0.3
    least_clubs: int = 3
    tee_draws: int = 384
    draws: int = 48
    few_draws: int = 20
    often: float = 2e-3
    least_chance: float = 2e-4
    merge: int = 2
    most_drops: int = 6
    softness: float = 0.05
    most_levels: int = 9
    seed: int = 1


def sketch_hole(
    solution: HoleSolution,
    solver: HoleSolver,
    tee: Tee,
    clubs: tuple[str, ...],
    *,
    options: SketchOptions | None = None,
    cancelled: threading.Event | None = None,
) -> HoleSketch:
    """Sketch a hole solved with every club.

    Parameters
    ----------
    solution, solver
        The solved hole and its solver; fewest strokes must have been the aim.
    tee
        Where the hole is started.
    clubs
        Labels of the clubs, putters left out, in the order of the sketch.
    options
        How finely.

    Raises
    ------
    ValueError
        The hole was solved at a price of penalties.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set.
    """
    if solution.options.penalty_price != 0.0:
        raise ValueError("a sketch needs a hole solved for fewest strokes")
    return _Sketcher(solution, solver, tee, clubs, options or SketchOptions()).sketch(cancelled)


class _Sketcher:
    def __init__(
        self,
        solution: HoleSolution,
        solver: HoleSolver,
        tee: Tee,
        clubs: tuple[str, ...],
        options: SketchOptions,
    ) -> None:
        self.solution, self.solver, self.tee, self.clubs = solution, solver, tee, clubs
        self.options = options
        tables = solution.tables
        partition = ground_partition(tables.hole, map_box=map_box(tables))
        self.draws = ShotDraws(partition, tables.hole, solution.model)
        self.rng = np.random.default_rng(options.seed)
        self.costs = club_costs(solution, solver, clubs)
        self.nearest = [
            _nearest_known(costs, inner_mask(tables.grid, costs.lattice, tables.pin), ours)
            for costs, ours in zip(self.costs, (True, False), strict=True)
        ]
        self.places = SketchPlaces(
            solution,
            solver,
            partition,
            tee.position_hole,
            merge=options.merge,
            most_drops=options.most_drops,
            near=options.near,
        )
        self.choices: list[list[Choice]] = []
        self.leads: list[tuple[IntArray, FloatArray]] = []

    def sketch(self, cancelled: threading.Event | None) -> HoleSketch:
        value = self._expand_tee()
        for _ in range(self.options.most_levels):
            check_cancelled(cancelled)
            first = len(self.choices)
            waiting = np.arange(first, len(self.places))
            enough = self.places.chances[waiting] >= self.options.least_chance
            if not enough.any():
                break
            order = np.concatenate((np.arange(first), waiting[enough], waiting[~enough]))
            to = self.places.reorder(order)
            self.leads = [
                (np.where(there >= 0, to[np.maximum(there, 0)], HOLED), share)
                for there, share in self.leads
            ]
            self._expand(np.arange(first, first + int(enough.sum())))
        return self._finished(value)

    # -- following balls --------------------------------------------------------------------

    def _expand_tee(self) -> float:
        model = self.solution.model
        evaluator = ShotEvaluator(self.solution, self.solver)
        cost = np.full((1, len(self.clubs)), np.inf)
        swing = np.zeros(cost.shape, dtype=np.int64)
        bearing = np.zeros(cost.shape)
        for shot in evaluator.best_by_swing(self.tee.position_hole, Lie.TEE):
            label = model.swings[shot.swing].club
            if label in self.clubs and shot.value < cost[0, self.clubs.index(label)]:
                club = self.clubs.index(label)
                cost[0, club], swing[0, club] = shot.value, shot.swing
                bearing[0, club] = shot.bearing
        self._play(np.array([0]), np.array([int(Lie.TEE)]), cost, swing, bearing, [[]], tee=True)
        return float(cost.min())

    def _expand(self, numbers: IntArray) -> None:
        """Find the choices of places, which must be the next ones without any."""
        relief = self.places.slots[numbers] == RELIEF_SLOT
        ends = [0, *(np.flatnonzero(np.diff(relief)) + 1).tolist(), len(numbers)]
        for first, last in itertools.pairwise(ends):
            if relief[first]:
                for number in numbers[first:last]:
                    self._take_relief(int(number))
            else:
                self._play_from(numbers[first:last])

    def _play_from(self, numbers: IntArray) -> None:
        places = self.places
        points, slots = places.points[numbers], places.slots[numbers]
        inner = places.inner(points, slots)
        shape = (len(numbers), len(self.clubs))
        cost = np.empty(shape)
        swing = np.empty(shape, dtype=np.int64)
        bearing = np.empty(shape)
        lifted: list[list[Drop]] = [[] for _ in numbers]
        for side, chosen in ((0, inner), (1, ~inner)):
            ours = np.flatnonzero(chosen)
            if ours.size == 0:
                continue
            costs = self.costs[side]
            row, column = costs.lattice.index(points[ours])
            row = np.clip(row, 0, costs.lattice.shape[0] - 1)
            column = np.clip(column, 0, costs.lattice.shape[1] - 1)
            row, column = self.nearest[side][:, slots[ours], row, column]
            at = (slots[ours], row, column)
            cost[ours] = costs.cost[:, *at].T
            swing[ours] = costs.swing[:, *at].T
            centre = np.column_stack((costs.lattice.along[row], costs.lattice.across[column]))
            aims = costs.bearing[:, *at].T.astype(float)
            bearing[ours] = self._aimed(points[ours], slots[ours], centre, swing[ours], aims)
            cells = row * costs.lattice.shape[1] + column
            for i, slot, cell in zip(ours, slots[ours], cells, strict=True):
                lifted[i] = places.unplayable(side, int(slot), int(cell))
        lies = np.array([int(PLAYED_LIES[slot]) for slot in slots])
        self._play(numbers, lies, cost, swing, bearing, lifted)

    def _take_relief(self, number: int) -> None:
        """A ball out of a penalty area may be dropped where the bag likes it best."""
        options = self.places.relief(number)
        extra = np.array([cost for cost, _ in options]) - options[0][0]
        there = np.array([place for _, place in options])
        weights = np.exp(-extra / self.options.softness)
        self.places.arrive(there, self.places.chances[number] * weights / weights.sum())
        self.choices.append(
            [
                (ANY_BAG, float(cost), self._new_row(np.array([place]), np.ones(1)))
                for cost, place in zip(extra, there, strict=True)
            ]
        )

    def _aimed(
        self,
        points: FloatArray,
        slots: IntArray,
        centre: FloatArray,
        swing: IntArray,
        bearing: FloatArray,
    ) -> FloatArray:
        """Bearings from ``points`` to where the shots from the ``centre`` of the cell are aimed."""
        swings = self.solution.model.swings
        carry = np.ones_like(bearing)
        for i, slot in enumerate(slots):
            lie = PLAYED_LIES[slot]
            for j, number in enumerate(swing[i]):
                if number >= 0 and lie in swings[number].patterns:
                    carry[i, j] = max(float(swings[number].patterns[lie].means[0, 0]), 1.0)
        along = centre[:, :1] + carry * np.cos(bearing) - points[:, :1]
        across = centre[:, 1:] + carry * np.sin(bearing) - points[:, 1:]
        return np.asarray(np.arctan2(across, along))

    def _play(
        self,
        numbers: IntArray,
        lies: IntArray,
        cost: FloatArray,
        swing: IntArray,
        bearing: FloatArray,
        lifted: list[list[Drop]],
        *,
        tee: bool = False,
    ) -> None:
        """Play each club that comes near the best from each place, and note where it leads.

        ``cost``, ``swing`` and ``bearing`` have shape ``(places, clubs)``.
        """
        opts, places = self.options, self.places
        lift = np.array([drops[0][0] if drops else np.inf for drops in lifted])
        least = np.minimum(cost.min(axis=1), lift)
        extra = cost - least[:, None]
        rank = np.argsort(np.argsort(cost, axis=1, kind="stable"), axis=1)
        drawn = np.isfinite(cost) & ((extra <= opts.near) | (rank < opts.least_clubs))
        place, club = np.nonzero(drawn)
        chances = places.chances[numbers]
        count = np.where(chances >= opts.often, opts.draws, opts.few_draws)[place]
        if tee:
            count = np.full(len(place), opts.tee_draws)
        ball = np.repeat(np.arange(len(place)), count)
        shots = self.draws.draw(
            places.points[numbers][place][ball],
            lies[place][ball],
            swing[place, club][ball],
            bearing[place, club][ball],
            rng=self.rng,
        )
        leads = places.after(
            shots.rest_hole, shots.ground_class, shots.crossing_hole, numbers[place][ball]
        )
        weight = np.where(drawn, np.exp(-np.where(drawn, extra, 0.0) / opts.softness), 0.0)
        weight /= np.maximum(weight.sum(axis=1, keepdims=True), 1e-300)
        passed = chances[place] * weight[place, club] / count
        places.arrive(leads, passed[ball])
        row_of = np.full(drawn.shape, -1)
        ends = np.cumsum(count)
        for i in range(len(place)):
            there, times = np.unique(leads[ends[i] - count[i] : ends[i]], return_counts=True)
            row_of[place[i], club[i]] = self._new_row(there, times / count[i])
        for i, drops in enumerate(lifted):
            best = int(np.argmin(cost[i]))
            options = [
                (int(j), float(extra[i, j]), int(row_of[i, j] if drawn[i, j] else row_of[i, best]))
                for j in np.flatnonzero(np.isfinite(cost[i]))
            ]
            options += [
                (ANY_BAG, float(value - least[i]), self._new_row(np.array([after]), np.ones(1)))
                for value, after in drops
            ]
            self.choices.append(sorted(options, key=lambda option: option[1]))

    def _new_row(self, there: IntArray, share: FloatArray) -> int:
        self.leads.append((there, share))
        return len(self.leads) - 1

    # -- closing ----------------------------------------------------------------------------

    def _finished(self, value: float) -> HoleSketch:
        """Put the places in order and the rows into arrays."""
        kept = len(self.choices)
        points, slots = self.places.points, self.places.slots
        stands_for = _stand_ins(points, slots, kept)
        pin = np.asarray(self.solution.tables.pin)
        distance = np.hypot(*(points[:kept] - pin).T)
        # News of a rise comes from the pin: places near it first.
        order = np.argsort(distance, kind="stable")
        to = np.empty(kept, dtype=np.int64)
        to[order] = np.arange(kept)
        first, club, cost, row = [0], [], [], []
        first_next: list[int] = [0]
        following: list[IntArray] = [np.empty(0, dtype=np.int64)]
        share: list[FloatArray] = [np.empty(0)]
        again: list[float] = []
        for place in order:
            numbered: dict[int, int] = {}
            for which, extra, lead in self.choices[place]:
                if lead not in numbered:
                    numbered[lead] = len(again)
                    there, chance = self.leads[lead]
                    there = np.where(there >= 0, stands_for[np.maximum(there, 0)], HOLED)
                    stay = there == place
                    gone = ~stay & (there >= 0)
                    again.append(float(chance[stay].sum()))
                    following.append(to[there[gone]])
                    share.append(chance[gone])
                    first_next.append(first_next[-1] + int(gone.sum()))
                club.append(which)
                cost.append(extra)
                row.append(numbered[lead])
            first.append(len(club))
        lies = np.array([int(PLAYED_LIES[max(slot, 0)]) for slot in slots[:kept]], dtype=np.int8)
        lies[0] = int(Lie.TEE)
        return HoleSketch(
            ref=self.solution.hole.ref,
            clubs=len(self.clubs),
            value=value,
            tee=int(to[0]),
            first_choice=np.array(first, dtype=np.int64),
            club=np.array(club, dtype=np.int64),
            cost=np.array(cost, dtype=float),
            row=np.array(row, dtype=np.int64),
            first_next=np.array(first_next, dtype=np.int64),
            next_place=np.concatenate(following),
            share=np.concatenate(share),
            again=np.array(again, dtype=float),
            lie=lies[order],
            distance_m=distance[order],
        )


def _stand_ins(points: FloatArray, slots: IntArray, kept: int) -> IntArray:
    """Place that stands for each: itself, or the nearest one followed, of the same lie if any."""
    found = np.arange(len(points))
    for slot in np.unique(slots[kept:]):
        stray = kept + np.flatnonzero(slots[kept:] == slot)
        same = 1 + np.flatnonzero(slots[1:kept] == slot)
        if same.size == 0:
            same = np.arange(1, kept)
        if same.size == 0:
            found[stray] = HOLED
        else:
            found[stray] = same[cKDTree(points[same]).query(points[stray])[1]]
    return found


def _nearest_known(costs: ClubCosts, inner: NDArray[np.bool_], ours: bool) -> NDArray[np.intp]:
    """Row and column of the nearest cell with a shot, for each lie and cell.

    Shape ``(2, lies, rows, columns)``; only cells that the lattice is used for count.
    """
    found = np.empty((2, *costs.cost.shape[1:]), dtype=np.intp)
    for slot in range(costs.cost.shape[1]):
        here = inner if slot != TREES_SLOT else np.zeros_like(inner)
        any_shot = np.isfinite(costs.cost[:, slot]).any(axis=0)
        usable = any_shot & (here == ours)
        known = np.asarray(usable if usable.any() else any_shot)
        if known.any():
            found[:, slot] = distance_transform_edt(
                ~known, return_distances=False, return_indices=True
            )
        else:
            found[:, slot] = np.indices(costs.lattice.shape)
    return found
