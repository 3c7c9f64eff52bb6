"""What adds up, or may happen, along the policy of a solved hole.

The policy is held, and other quantities than the one it was chosen by are carried along it with
the arithmetic of the sweep. Something that adds up, ``s`` for a stroke and ``w`` for a penalty::

    N(x) = s + E[ w penalty(Z) + N(next(x, policy(x), Z)) ]

and the chance to hole out within ``k`` strokes, penalties included::

    F_k(x) = E[ F_(k - 1 - penalty)(next(x, policy(x), Z)) ]

where a lost ball uses two strokes and leads back to ``x``. Bearings between those of the tables
are read from the parabola through the three values round them.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from planner.numerics.fixed_point import anderson
from planner.strategy.hole_solver import HoleSolver, check_cancelled
from planner.strategy.hole_tables import Unplayable
from planner.strategy.relief_values import PLAYED_LIES, DropPoints
from planner.strategy.solution import UNPLAYABLE, Policy
from planner.strategy.solver_side import Side
from planner.strategy.sweep import NO_SWING
from planner.strategy.sweep_run import run_sweep
from planner.strategy.sweep_types import Actions, Followed, LandingFields, Quantities
from planner.strategy.values import PointIndex, Values, edge_costs, point_values

__all__ = ["PolicyEvaluation", "Within", "as_followed"]

FloatArray = NDArray[np.float64]

MOST_SWEEPS, TOLERANCE = 30, 2e-3
"""Most sweeps that follow a quantity, and the change at which it is settled."""
_NO_TURN = 1e-3
"""Turn from a bearing of the tables, in steps, that is rounding."""


@dataclass(frozen=True, eq=False)
class Within:
    """Chance to hole out within so many strokes, penalties included.

    ``values`` holds it for every place, ``edges`` for every edge sample, where relief comes first.
    """

    values: Values
    edges: FloatArray


@dataclass(frozen=True, eq=False)
class _Declared:
    """Cells whose ball is declared unplayable, and the drop each of them takes."""

    unplayable: Unplayable
    cells: NDArray[np.intp]
    drops: NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class _Followed:
    """The policy on one side: what is played where, and what is declared unplayable."""

    side: Side
    policy: Followed
    actions: Actions
    declared: tuple[_Declared, ...]
    ours: NDArray[np.bool_]
    wanted: NDArray[np.bool_]


class PolicyEvaluation:
    """Follows the last policy of a solver.

    Parameters
    ----------
    solver
        A solver whose sweeps have settled.
    values
        The values at which they settled.
    """

    def __init__(self, solver: HoleSolver, values: Values) -> None:
        self._solver = solver
        self._values = values
        self._edge_drops = solver.edge_values(values)[1]
        self._sides = tuple(self._follow_side(side, values) for side in solver.sides)

    def additive(
        self,
        *,
        stroke: float,
        penalty: float,
        start: Values | None = None,
        tolerance: float = TOLERANCE,
        most: int = MOST_SWEEPS,
        cancelled: threading.Event | None = None,
    ) -> Values:
        """Expected sum of ``stroke`` for every stroke and ``penalty`` for every penalty stroke.

        Expected putts count as strokes. ``start`` is a first guess, which is kept where the
        policy does not reach. ``tolerance`` is the change at which the quantity is settled,
        ``most`` the number of strokes that are followed at most.
        """
        solver = self._solver
        found = solver.zero()
        green = solver.green()
        found.green_base[:] = stroke * green.green_base
        found.green_patch[:] = stroke * green.green_patch
        if start is not None:
            found.patch[:], found.state[:] = start.patch, start.state
        counts = Quantities(
            np.array([stroke]), np.array([penalty]), np.empty((0, 0, 0, 0), dtype=solver.kind)
        )
        drops = solver.tables.edges.drops

        def image(point: FloatArray) -> FloatArray:
            check_cancelled(cancelled)
            self._write(found, point)
            for one in self._sides:
                edges = self._at(found, solver.tables.edge_index, stroke)[self._edge_drops]
                edges += penalty * drops.strokes[self._edge_drops]
                fields = solver.landing_fields([found], [edges], in_play=False)
                new = self._sweep(one, fields[0 if one.side.is_state else 1], counts)
                for declared in one.declared:
                    relief = self._at(found, declared.unplayable.index, stroke)
                    relief += penalty * declared.unplayable.drops.strokes
                    flat = new[declared.unplayable.slot].reshape(-1)
                    flat[declared.cells] = relief[declared.drops]
                self._take(one, found, new, fill=start is None)
            return self._read(found)

        seen = np.concatenate([one.wanted[one.ours] for one in self._sides])
        settled, _, _ = anderson(
            image, self._read(found), seen=seen, tolerance=tolerance, most=most
        )
        self._write(found, settled)
        return found

    def _read(self, found: Values) -> FloatArray:
        """A quantity's values at the places of both sides that are their own, flat."""
        return np.concatenate(
            [
                (found.state if one.side.is_state else found.patch)[one.ours].astype(float)
                for one in self._sides
            ]
        )

    def _write(self, found: Values, flat: FloatArray) -> None:
        at = 0
        for one in self._sides:
            held = found.state if one.side.is_state else found.patch
            size = int(one.ours.sum())
            held[one.ours] = flat[at : at + size]
            at += size
        self._solver.builder.exchange(found)

    def edge_penalties(self, penalties: Values) -> FloatArray:
        """Expected penalties after the relief taken at every edge sample, its own included."""
        tables = self._solver.tables
        at = self._at(penalties, tables.edge_index, 0.0) + tables.edges.drops.strokes
        return np.asarray(at[self._edge_drops])

    def holed_within(self, most: int, *, cancelled: threading.Event | None = None) -> list[Values]:
        """Chance to hole out within 0, 1, ... ``most`` strokes from every place, as values."""
        steps = self.holing(cancelled=cancelled)
        return [next(steps).values for _ in range(most + 1)]

    def holing(self, *, cancelled: threading.Event | None = None) -> Iterator[Within]:
        """Chance to hole out within 0, 1, 2, ... strokes, without end."""
        solver = self._solver
        edge_index, edge_drops = solver.tables.edge_index, solver.tables.edges.drops
        found: list[Values] = []
        edges = np.empty(0)
        while True:
            check_cancelled(cancelled)
            k = len(found)
            chance = solver.zero()
            chance.green_base[:], chance.green_patch[:] = solver.putts_within(k)
            if k:
                fields = solver.landing_fields([found[-1]], [edges], in_play=False)
                for one in self._sides:
                    self._step(one, found, chance, fields[0 if one.side.is_state else 1])
            found.append(chance)
            edges = self._after_drop(found, edge_index, edge_drops, k)[self._edge_drops]
            yield Within(chance, edges)

    def _step(
        self,
        one: _Followed,
        found: list[Values],
        chance: Values,
        fields: LandingFields,
    ) -> None:
        """Write the next of the chances ``found`` to a side of ``chance``."""
        k = len(found)
        lost = found[max(k - 2, 0)]
        again = lost.state if one.side.is_state else lost.patch
        new = self._sweep(one, fields, Quantities(np.zeros(1), np.zeros(1), again[None]))
        for declared in one.declared:
            # To declare is no stroke, so what is left is that of the relief.
            unplayable = declared.unplayable
            relief = self._after_drop(found, unplayable.index, unplayable.drops, k)
            new[unplayable.slot].reshape(-1)[declared.cells] = relief[declared.drops]
        known = self._take(one, chance, new, fill=False)
        self._continue(one, [*found, chance], known)

    def relief_within(self, found: list[Values], left: int) -> FloatArray:
        """Chance to hole out with ``left`` strokes from the relief taken at every edge sample.

        Parameters
        ----------
        found
            What :meth:`holed_within` found.
        left
            Strokes left once the ball is there, the penalty not yet counted.
        """
        tables = self._solver.tables
        after = self._after_drop(found, tables.edge_index, tables.edges.drops, left)
        return np.asarray(after[self._edge_drops])

    # -- one step ---------------------------------------------------------------------------

    def _follow_side(self, side: Side, values: Values) -> _Followed:
        solver = self._solver
        policy = solver.policies[side.name]
        builder = solver.builder
        ours = ~builder.inner_state if side.is_state else builder.inner_patch
        kept = np.where(ours & side.followed, policy.swing, NO_SWING).astype(np.int16)
        followed, actions = as_followed(side, replace(policy, swing=kept))
        declared = []
        for unplayable in solver.unplayable_of(side):
            flat = policy.swing[unplayable.slot].reshape(-1)[unplayable.cell]
            chosen = np.flatnonzero(flat == UNPLAYABLE)
            if chosen.size:
                cost = solver.cost_at(values, unplayable.index)
                drops = edge_costs(unplayable.drops, cost, solver.options.penalty_price)[1]
                declared.append(_Declared(unplayable, unplayable.cell[chosen], drops[chosen]))
        return _Followed(
            side,
            followed,
            actions,
            tuple(declared),
            ours,
            side.wanted() & side.occurs,
        )

    def _sweep(
        self, one: _Followed, fields: LandingFields, counts: Quantities
    ) -> NDArray[np.floating]:
        """Quantity from every place of a side after one stroke of the policy; NaN if unknown."""
        new, _, _ = run_sweep(
            one.side,
            fields,
            counts,
            actions=one.actions,
            followed=one.policy,
            threads=self._solver.threads,
        )
        return np.asarray(new[0])

    def _take(
        self, one: _Followed, found: Values, new: NDArray[np.floating], *, fill: bool = True
    ) -> NDArray[np.bool_]:
        """Write what a sweep found to a side's own places; returns which it knew.

        It does not know those that sweeps of the solve left at the values of coarser lattices:
        their policy may lack the best actions. With ``fill`` they, all of them remote, get the
        value of the nearest place with the same lie that is known.
        """
        held = found.state if one.side.is_state else found.patch
        known: NDArray[np.bool_] = one.ours & one.side.followed & np.isfinite(new)
        held[known] = new[known]
        if fill:
            self._fill(one, held, known)
        self._solver.builder.exchange(found)
        return known

    def _continue(self, one: _Followed, found: list[Values], known: NDArray[np.bool_]) -> None:
        """Fill the last of the chances to hole out within 0, 1, ... strokes where unknown.

        There they are those of the known place with the same lie whose value is the next below,
        later by the difference of the two.
        """
        name = "state" if one.side.is_state else "patch"
        values = getattr(self._values, name)
        chances = [getattr(chance, name) for chance in found]
        last = len(chances) - 1
        for slot in range(len(PLAYED_LIES)):
            missing = one.ours[slot] & ~known[slot]
            if not missing.any() or not known[slot].any():
                continue
            worths = values[slot][known[slot]]
            order = np.argsort(worths)
            place = np.searchsorted(worths[order], values[slot][missing], side="right") - 1
            like = order[np.maximum(place, 0)]
            later = np.maximum(values[slot][missing] - worths[like], 0.0)
            whole = np.floor(later).astype(int)
            part = later - whole
            filled = np.zeros(len(like))
            for strokes in range(min(last, int(whole.max()) + 1) + 1):
                share = np.where(whole == strokes, 1.0 - part, 0.0)
                share += np.where(whole == strokes - 1, part, 0.0)
                filled += share * chances[last - strokes][slot][known[slot]][like]
            chances[last][slot][missing] = filled
        self._solver.builder.exchange(found[-1])

    @staticmethod
    def _fill(one: _Followed, held: NDArray[np.floating], known: NDArray[np.bool_]) -> None:
        for slot in range(len(PLAYED_LIES)):
            missing = one.ours[slot] & ~known[slot]
            if missing.any() and known[slot].any():
                rows, columns = distance_transform_edt(
                    ~known[slot], return_distances=False, return_indices=True
                )
                held[slot][missing] = held[slot][rows[missing], columns[missing]]

    def _at(self, found: Values, index: PointIndex, putt: float) -> FloatArray:
        """A quantity at fixed points; on the green ``putt`` for each expected putt."""
        green = putt * self._solver.model.expected_putts(index.pin_distance)
        base = self._solver.builder.base_values(found)
        return point_values(index, base, found.patch, green)

    def _after_drop(
        self, found: list[Values], index: PointIndex, drops: DropPoints, left: int
    ) -> FloatArray:
        """Chance to hole out from every drop with ``left`` strokes less its penalty."""
        chance = np.zeros(len(drops.strokes))
        for strokes in np.unique(drops.strokes):
            k = left - int(strokes)
            if k < 0:
                continue
            green = self._solver.model.putts_within(index.pin_distance, k)
            base = self._solver.builder.base_values(found[k])
            at = point_values(index, base, found[k].patch, green)
            chosen = drops.strokes == strokes
            chance[chosen] = at[chosen]
        return chance


def as_followed(side: Side, policy: Policy) -> tuple[Followed, Actions]:
    """A policy of the model's swings as a sweep of ``side`` follows it, with its windows."""
    number = np.full(max([-1, *side.swings, int(policy.swing.max(initial=-1))]) + 2, -1, np.int16)
    number[side.swings] = np.arange(len(side.swings))
    swing = np.where(policy.swing >= 0, number[np.maximum(policy.swing, -1)], -1)
    bearings = side.actions.bearings
    step = bearings[1] - bearings[0]
    at = (policy.bearing - bearings[0]) / step
    centre = np.rint(at).astype(np.int32)
    centre = np.clip(centre, 0, len(bearings) - 1)
    # A turn of more than half a step may come from the bearing beyond the nearest one.
    beyond = np.clip(centre + np.sign(at - centre).astype(np.int32), 0, len(bearings) - 1)
    centre = np.where(_within(side.actions, swing, centre), centre, beyond)
    turn = (at - centre).astype(np.float32)
    turn[np.abs(turn) < _NO_TURN] = 0.0
    window = _policy_windows(side.actions, swing, centre, turn)
    followed = Followed(swing.astype(np.int16), centre, turn)
    return followed, side.actions._replace(window=window)


def _within(
    actions: Actions, swing: NDArray[np.integer], centre: NDArray[np.int32]
) -> NDArray[np.bool_]:
    """Whether the action of each place is tried from there along the bearing ``centre``."""
    lies, rows, columns = np.indices(swing.shape)
    window = actions.window[np.maximum(swing, 0), lies, centre]
    found: NDArray[np.bool_] = (
        (rows >= window[..., 0])
        & (rows < window[..., 1])
        & (columns >= window[..., 2])
        & (columns < window[..., 3])
    )
    return found


def _policy_windows(
    actions: Actions,
    swing: NDArray[np.integer],
    centre: NDArray[np.int32],
    turn: NDArray[np.float32],
) -> NDArray[np.int32]:
    """Least windows that hold a policy's places, with the neighbours a parabola needs."""
    bearings = actions.window.shape[2]
    box = np.zeros_like(actions.window)
    box[..., 0::2] = 1 << 30
    lie, row, column = np.nonzero(swing >= 0)
    chosen, middle = swing[lie, row, column], centre[lie, row, column]
    turned = turn[lie, row, column] != 0
    for aside in (-1, 0, 1):
        used = turned | (aside == 0)
        at = (chosen[used], lie[used], (middle[used] + aside) % bearings)
        for axis, place in ((0, row[used]), (2, column[used])):
            np.minimum.at(box[..., axis], at, place)
            np.maximum.at(box[..., axis + 1], at, place + 1)
    window = actions.window.copy()
    window[..., 0::2] = np.maximum(window[..., 0::2], box[..., 0::2])
    window[..., 1::2] = np.minimum(window[..., 1::2], box[..., 1::2])
    return window
