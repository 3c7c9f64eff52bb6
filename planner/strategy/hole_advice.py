"""From a solved hole to what a golfer reads: shots, their consequences and what comes next."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.course.hole import Point, Tee
from planner.course.lies import Ground, Lie
from planner.errors import SolveError
from planner.golfer.plays_like import PlaysLike, plays_like
from planner.golfer.shot_outcome import Swing, SwingStyle
from planner.strategy.advice import AimPoint, HolePlan, NextShot, PatternOnGround, Shares, Shot
from planner.strategy.aim_words import aim_words
from planner.strategy.exposure import outcome_shares
from planner.strategy.ground_lines import ground_partition
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.hole_tables import HoleTables
from planner.strategy.policy import PolicyReader, TeeShot
from planner.strategy.relief_values import GREEN_SLOT, PLAYED_LIES, unplayable_relief
from planner.strategy.shot_draws import ShotDraws
from planner.strategy.shot_evaluation import ShotEvaluator, ShotValue
from planner.strategy.solution import UNPLAYABLE, HoleSolution

_DRAWS = 2000
"""Draws from which the next places are grouped."""
_LEAVE_DRAWS = 300
"""Draws for the median leave; its standard error is a twelfth of the spread."""
_DRAW_SEED = 20230101
_NEXT_PLACES = 5
_LEAST_PLACE = 0.03
_PLACE_LENGTH_M = 30.0
_PLACE_WIDTH_M = 24.0
_EXACT_TEE_SHOTS = 3
_SHOWN_SWINGS = 12
_LIE_OF_SLOT = {**dict(enumerate(PLAYED_LIES)), GREEN_SLOT: Lie.GREEN}


def map_box(tables: HoleTables) -> shapely.Polygon:
    """Edge of the map of a hole: a ball beyond it is lost."""
    base = tables.grid.base
    return shapely.box(
        base.start[0],
        base.start[1],
        base.start[0] + base.cell * base.shape[0],
        base.start[1] + base.cell * base.shape[1],
    )


class HoleAdviser:
    """Answers questions about one solved hole.

    Parameters
    ----------
    solution, solver
        The solved hole and the solver that solved it.
    tee
        Where the hole is started.
    """

    def __init__(self, solution: HoleSolution, solver: HoleSolver, tee: Tee) -> None:
        self.solution = solution
        self.tee = tee
        self.hole = solution.hole
        self.model = solution.model
        self.evaluator = ShotEvaluator(solution, solver)
        self.partition = ground_partition(self.hole, map_box=map_box(solution.tables))
        self._draws = ShotDraws(self.partition, self.hole, self.model)
        self._tee_values = self._exact_tee_values(
            self._best_of_clubs(
                self.evaluator.best_by_swing(tee.position_hole, Lie.TEE, self.tee_swings())
            )
        )
        if not self._tee_values:
            raise SolveError(
                f"hole {self.hole.ref}: no club can be played from the {tee.name} tee; "
                "the bag needs a club allowed from the tee"
            )
        first = self._tee_values[0]
        self.policy = PolicyReader(
            solution, solver.builder, TeeShot(first.swing, first.bearing, first.value)
        )

    @property
    def tee_shot(self) -> TeeShot:
        """The plan's shot from the tee."""
        best = self._tee_values[0]
        return TeeShot(best.swing, best.bearing, best.value)

    @property
    def tee_value(self) -> float:
        """Expected cost from the tee."""
        return self._tee_values[0].value

    def plan(self) -> HolePlan:
        """The plan of the hole from the tee."""
        best, *others = self._shots(self.tee.position_hole, Lie.TEE, self._tee_values)
        return HolePlan(
            hole=self.hole,
            tee=self.tee.name,
            tee_hole=self.tee.position_hole,
            length_m=self.hole.length_from(self.tee),
            best=best,
            others=tuple(others),
            next_shots=self._next_shots(best),
            expected_strokes=best.expected_strokes,
            expected_penalties=best.expected_penalties,
            converged=self.solution.converged,
            residual=self.solution.residual,
            sweeps=self.solution.sweeps,
        )

    def best_shots(self, position_hole: Point, lie: Lie, *, count: int) -> tuple[Shot, ...]:
        """Best shot with each of the ``count`` best clubs from anywhere, best first."""
        values = self._place_values(position_hole, lie)[:count]
        return tuple(self._shots(position_hole, lie, values))

    def evaluate(self, position_hole: Point, lie: Lie, swing: int, aim_hole: Point) -> Shot | None:
        """One swing aimed at a point; None if it can hardly stay in play.

        The cost is against the best shot from the same place.
        """
        bearing = math.atan2(aim_hole[1] - position_hole[1], aim_hole[0] - position_hole[0])
        value = self.evaluator.value_of(position_hole, lie, swing, bearing)
        if value is None:
            return None
        if lie is Lie.TEE and position_hole == self.tee.position_hole:
            best = self._tee_values[0].value
        else:
            best = self._place_values(position_hole, lie)[0].value
        return self._shot(position_hole, lie, value, min(best, value.value))

    def place_values(self, position_hole: Point, lie: Lie) -> tuple[ShotValue, ...]:
        """Best shot of every club from anywhere but the green, least cost first, values only.

        An unplayable ball, from trees and sand, is one of them.

        Raises
        ------
        SolveError
            No shot is possible from there.
        """
        if lie is Lie.TEE and position_hole == self.tee.position_hole:
            return tuple(self._tee_values)
        return tuple(self._place_values(position_hole, lie))

    def tee_swings(self) -> list[int]:
        """Swings worth trying from the tee: partial ones only on very short holes."""
        longest = math.dist(self.tee.position_hole, self.hole.pin_hole)
        return [
            i
            for i, swing in enumerate(self.model.swings)
            if swing.style is SwingStyle.FULL
            or (swing.style is SwingStyle.PARTIAL and abs(swing.carry_m - longest) < 0.3 * longest)
        ]

    def aim_point(self, position_hole: Point, lie: Lie, swing: Swing, bearing: float) -> AimPoint:
        """Where a swing along a bearing [rad] is aimed, in words too."""
        carry = float(swing.patterns[lie].means[0, 0])
        point = (
            position_hole[0] + carry * math.cos(bearing),
            position_hole[1] + carry * math.sin(bearing),
        )
        line = self.hole.line_hole
        at = line.project(shapely.Point(point))
        ahead = np.asarray(line.interpolate(min(at + 0.5, line.length)).coords[0])
        behind = np.asarray(line.interpolate(max(at - 0.5, 0.0)).coords[0])
        along = (ahead - behind) / max(float(np.hypot(*(ahead - behind))), 1e-9)
        away = np.asarray(point) - np.asarray(line.interpolate(at).coords[0])
        return AimPoint(
            point_hole=point,
            words=aim_words(self.hole, position_hole, point),
            offset_m=float(along[0] * away[1] - along[1] * away[0]),
            bearing=bearing,
            azimuth=(self.hole.frame.azimuth + bearing) % (2 * math.pi),
        )

    # -- shots --------------------------------------------------------------------------------

    def _exact_tee_values(self, values: list[ShotValue]) -> list[ShotValue]:
        """The best few shots from the tee, valued along exactly their bearing.

        Between bearings of the tables the least point of a parabola is believed, which near
        trees and boundaries may promise some thousandths of a stroke too much.
        """
        place = self.tee.position_hole
        exact = [
            self.evaluator.value_of(place, Lie.TEE, one.swing, one.bearing) or one
            for one in values[:_EXACT_TEE_SHOTS]
        ]
        return sorted([*exact, *values[_EXACT_TEE_SHOTS:]], key=lambda shot: shot.value)

    def _place_values(self, position_hole: Point, lie: Lie) -> list[ShotValue]:
        distance = math.dist(position_hole, self.hole.pin_hole)
        slack = max(0.45 * distance, 6.0)
        swings = [
            i
            for i, swing in enumerate(self.model.swings)
            if swing.style is not SwingStyle.PARTIAL
            or (
                swing.carry_m < distance + slack
                and swing.carry_m + max(map(swing.longest_run_on, Lie)) > distance - slack
            )
        ]
        values = self._best_of_clubs(self.evaluator.best_by_swing(position_hole, lie, swings))
        if lie in (Lie.TREES, Lie.SAND):
            value = self._unplayable(position_hole, lie)
            if value is not None:
                values = sorted([*values, value], key=lambda shot: shot.value)
        if not values:
            raise SolveError(
                f"hole {self.hole.ref}: no shot is possible from {lie.words} at this place"
            )
        return values

    def _unplayable(self, position_hole: Point, lie: Lie) -> ShotValue | None:
        drops, index = unplayable_relief(
            self.hole,
            self.solution.tables.grid,
            np.array([position_hole]),
            lie,
            club_length=self.solution.tables.options.club_length,
        )
        if len(index) == 0:
            return None
        lies = np.array([_LIE_OF_SLOT[slot] for slot in drops.slot])
        cost = self.policy.value_at(drops.points_hole, lies) + drops.strokes
        return ShotValue(UNPLAYABLE, math.nan, float(cost.min()), math.nan)

    def _best_of_clubs(self, values: Sequence[ShotValue]) -> list[ShotValue]:
        """The best swing of every club, least cost first."""
        seen: set[str] = set()
        kept = []
        for value in sorted(values, key=lambda shot: shot.value):
            club = self.model.swings[value.swing].club
            if club not in seen:
                seen.add(club)
                kept.append(value)
        return kept

    def _shots(
        self, position_hole: Point, lie: Lie, values: Sequence[ShotValue], *, exact: int = 1
    ) -> list[Shot]:
        """What is said of some values; the shares of the first ``exact`` are within 1e-9."""
        if not values:
            return []
        least = values[0].value
        return [
            self._shot(position_hole, lie, value, least, exact=number < exact)
            for number, value in enumerate(values)
        ]

    def _shot(
        self, position_hole: Point, lie: Lie, value: ShotValue, least: float, *, exact: bool = True
    ) -> Shot:
        if value.swing == UNPLAYABLE:
            return Shot(
                swing=UNPLAYABLE,
                club="declare it unplayable",
                style=SwingStyle.FULL,
                carry_m=0.0,
                lie=lie,
                position_hole=position_hole,
                aim=None,
                expected_strokes=self._strokes(value),
                expected_penalties=value.penalties,
                cost=value.value - least,
                shares=Shares(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0),
                leave_m=math.dist(position_hole, self.hole.pin_hole),
            )
        swing = self.model.swings[value.swing]
        pattern = self._pattern(position_hole, lie, swing, value.bearing)
        aim = self.aim_point(position_hole, lie, swing, value.bearing)
        found = outcome_shares(
            self.partition,
            self.hole,
            self.model,
            swing,
            lie,
            position_hole,
            value.bearing,
            exact=exact,
        )
        rest, _ = self._draw(position_hole, lie, value, _LEAVE_DRAWS)
        pin = np.asarray(self.hole.pin_hole)
        return Shot(
            swing=value.swing,
            club=swing.club,
            style=swing.style,
            carry_m=float(np.hypot(*(pattern.means_hole[0] - np.asarray(position_hole)))),
            lie=lie,
            position_hole=position_hole,
            aim=aim,
            expected_strokes=self._strokes(value),
            expected_penalties=value.penalties,
            cost=value.value - least,
            shares=Shares(
                fairway=found.fairway,
                rough=found.rough,
                deep_rough=found.deep_rough,
                sand=found.sand,
                trees=found.trees,
                green=found.green,
                penalty=found.penalty,
                out_of_bounds=found.out_of_bounds,
                mishit=found.mishit,
            ),
            leave_m=float(np.median(np.hypot(*(rest - pin).T))) if len(rest) else math.nan,
            pattern=pattern,
            plays_like=self._plays_like(position_hole, lie, swing, value.bearing),
        )

    def _plays_like(
        self, position_hole: Point, lie: Lie, swing: Swing, bearing: float
    ) -> PlaysLike:
        height, start = self.hole.elevation, position_hole[0]

        def rise_at(distance: float) -> float:
            return float(height(start + distance * math.cos(bearing)) - height(start))

        return plays_like(swing, lie, wind_from=self._wind(bearing), rise_at=rise_at)

    def _wind(self, bearing: float) -> float:
        """Where the wind comes from against a bearing [rad]; 0 in still air."""
        wind_from = self.model.wind_from
        return 0.0 if wind_from is None else wind_from - self.hole.frame.azimuth - bearing

    def _strokes(self, value: ShotValue) -> float:
        """Expected strokes: the cost without the extra price of penalties."""
        price = self.solution.options.penalty_price
        return value.value - price * value.penalties if price > 0 else value.value

    def _pattern(
        self, position_hole: Point, lie: Lie, swing: Swing, bearing: float
    ) -> PatternOnGround:
        pattern = swing.patterns[lie]
        cos, sin = math.cos(bearing), math.sin(bearing)
        turn = np.array([[cos, -sin], [sin, cos]])
        wind = self._wind(bearing)
        blown = [swing.blown(mean, wind) for mean in pattern.means]
        moved = np.array([mean[0] for mean, _ in blown])
        turns = turn @ np.array([matrix[0] for _, matrix in blown])
        return PatternOnGround(
            pattern.weights,
            np.asarray(position_hole) + moved @ turn.T,
            turns @ pattern.covariances @ turns.swapaxes(1, 2),
            pattern.names,
            float(swing.runs((Lie.FAIRWAY,), wind)[0, 0]),
        )

    # -- what comes next ------------------------------------------------------------------------

    def _draw(
        self, position_hole: Point, lie: Lie, value: ShotValue, count: int
    ) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """Resting places in play without penalty [m], shape ``(n, 2)``, and their ground."""
        shots = self._draws.draw(
            np.tile(np.asarray(position_hole, dtype=float), (count, 1)),
            np.full(count, int(lie)),
            np.full(count, value.swing),
            np.full(count, value.bearing),
            rng=np.random.default_rng(_DRAW_SEED),
        )
        ground = self.partition.grounds[shots.ground_class]
        kept = ~np.isin(ground, [Ground.YELLOW, Ground.RED, Ground.OUT])
        return shots.rest_hole[kept], ground[kept]

    def _next_shots(self, shot: Shot) -> tuple[NextShot, ...]:
        """Most likely neighbourhoods for the next shot: by lie, distance left and side."""
        value = ShotValue(
            shot.swing, shot.aim.bearing if shot.aim else 0.0, shot.expected_strokes, math.nan
        )
        rest, ground = self._draw(shot.position_hole, shot.lie, value, _DRAWS)
        if len(rest) == 0:
            return ()
        pin = np.asarray(self.hole.pin_hole)
        away = rest - pin
        distance = np.hypot(away[:, 0], away[:, 1])
        lies = np.array([int(Ground(g).lie) for g in ground])
        keys = np.column_stack(
            (
                lies,
                np.floor(distance / _PLACE_LENGTH_M),
                np.floor(rest[:, 1] / _PLACE_WIDTH_M + 0.5),
            )
        )
        keys[lies == Lie.GREEN, 1:] = 0
        found: list[NextShot] = []
        groups, member, counts = np.unique(keys, axis=0, return_inverse=True, return_counts=True)
        member = member.ravel()
        for group in np.argsort(-counts, kind="stable"):
            chance = counts[group] / _DRAWS
            lie = Lie(int(groups[group, 0]))
            if chance < _LEAST_PLACE or len(found) == _NEXT_PLACES:
                break
            if lie is Lie.GREEN:
                continue
            ours = rest[member == group]
            centre = ours[np.argmin(np.hypot(*(ours - ours.mean(axis=0)).T))]
            place = (float(centre[0]), float(centre[1]))
            shots = self._shots(place, lie, self._place_values(place, lie)[:2], exact=0)
            found.append(
                NextShot(
                    place=self._place_words(place, lie),
                    chance=float(chance),
                    lie=lie,
                    position_hole=place,
                    distance_m=math.dist(place, self.hole.pin_hole),
                    best=shots[0],
                    runner_up=shots[1] if len(shots) > 1 else None,
                )
            )
        return tuple(found)

    def _place_words(self, place: Point, lie: Lie) -> str:
        line = self.hole.line_hole
        at = line.project(shapely.Point(place))
        ahead = np.asarray(line.interpolate(min(at + 0.5, line.length)).coords[0])
        behind = np.asarray(line.interpolate(max(at - 0.5, 0.0)).coords[0])
        away = np.asarray(place) - np.asarray(line.interpolate(at).coords[0])
        along = ahead - behind
        side = float(along[0] * away[1] - along[1] * away[0])
        if abs(side) < 8.0:
            return lie.words
        return f"{lie.words}, {'right' if side > 0 else 'left'}"
