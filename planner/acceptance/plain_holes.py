"""Holes of a few boxes and golfers of a few swings, on which answers are known."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.course.hole import GroundArea, Hole, HoleFrame, Tee
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import ShotModel, Swing, SwingStyle
from planner.golfer.shot_pattern import ShotPattern
from planner.strategy.grid import GridOptions
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.hole_tables import TableOptions
from planner.strategy.shot_evaluation import ShotEvaluator, ShotValue
from planner.strategy.solution import HoleSolution, SolveOptions

__all__ = [
    "COARSE",
    "SolvedPlain",
    "box_hole",
    "either",
    "golfer",
    "short_swings",
    "solved",
    "swing",
]

EVERY_LIE = (Lie.TEE, Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.SAND, Lie.TREES)
CLUB_LENGTH_M = 1.143
COARSE = TableOptions(
    grid=GridOptions(cell=6.0, margin=48.0, beyond=48.0),
    bearing_step=math.radians(6.0),
    patch_bearing_step=math.radians(10.0),
    longest_runs=(10.0, 10.0, 10.0, 10.0),
    patch_longest_runs=(10.0, 10.0, 10.0, 10.0),
    threads=1,
)
"""Cells and steps at which a short hole is solved in a fraction of a second."""


def box_hole(
    length_m: float,
    *areas: tuple[Ground, shapely.Polygon],
    in_bounds: shapely.Polygon | None = None,
    par: int = 4,
) -> Hole:
    """A straight, level hole from (0, 0) to a pin ``length_m`` [m] away."""
    return Hole(
        ref="1",
        par=par,
        stroke_index=None,
        line_hole=shapely.LineString([(0.0, 0.0), (length_m, 0.0)]),
        tees=(Tee("white", (0.0, 0.0)),),
        pin_hole=(length_m, 0.0),
        areas=tuple(GroundArea(ground, shape) for ground, shape in areas),
        in_bounds=in_bounds,
        frame=HoleFrame((0.0, 0.0), 0.0),
    )


def normal(carry: float, offline: float, sd: float) -> ShotPattern:
    """A round pattern without mishits [m]."""
    return ShotPattern(np.array([1.0]), np.array([[carry, offline]]), np.array([np.eye(2) * sd**2]))


def either(
    share: float, good: tuple[float, float], bad: tuple[float, float], *, sd: float = 2.0
) -> ShotPattern:
    """A pattern that ends near ``good`` with chance ``share``, else near ``bad`` [m]."""
    spread = np.eye(2) * sd**2
    return ShotPattern(
        np.array([share, 1.0 - share]),
        np.array([good, bad]),
        np.array([spread, spread]),
        ("stock", "wide"),
    )


def swing(
    club: str,
    carry: float,
    pattern: ShotPattern,
    *,
    lies: Iterable[Lie] = EVERY_LIE,
    style: SwingStyle = SwingStyle.FULL,
) -> Swing:
    """A swing with one pattern from every lie, and no run."""
    return Swing(
        club=club,
        style=style,
        carry_m=carry,
        patterns=dict.fromkeys(lies, pattern),
        run_m={},
        descent=0.8,
        climb_m=20.0,
        shadow_m=0.0,
        start_sd=0.05,
    )


def short_swings(*carries: float, sd: float, lies: Iterable[Lie] = EVERY_LIE) -> tuple[Swing, ...]:
    """Partial swings whose spread is 1 m and ``sd`` times the carry."""
    lies = tuple(lies)
    return tuple(
        swing(
            "Wedge",
            carry,
            normal(carry, 0.0, 1.0 + sd * carry),
            lies=lies,
            style=SwingStyle.PARTIAL,
        )
        for carry in carries
    )


def golfer(*swings: Swing, putts: float) -> ShotModel:
    """A golfer who needs ``putts`` from everywhere on the green."""
    distance: NDArray[np.float64] = np.array([0.0, 60.0])
    return ShotModel(tuple(swings), distance, np.full(2, putts), CLUB_LENGTH_M)


class SolvedPlain:
    """A solved hole and its shots from the tee."""

    def __init__(self, solution: HoleSolution, evaluator: ShotEvaluator) -> None:
        self.solution = solution
        self._evaluator = evaluator

    def shot(self, swing: int, bearing: float = 0.0) -> ShotValue:
        """Cost of a swing from the tee along exactly ``bearing`` [rad]."""
        place = self.solution.hole.tees[0].position_hole
        found = self._evaluator.value_of(place, Lie.TEE, swing, bearing)
        if found is None:
            raise ValueError(f"swing {swing} cannot stay in play")
        return found

    def best(self) -> ShotValue:
        """Best shot from the tee."""
        place = self.solution.hole.tees[0].position_hole
        return self._evaluator.best_by_swing(place, Lie.TEE)[0]


def solved(
    hole: Hole,
    model: ShotModel,
    *,
    tables: TableOptions = COARSE,
    count_penalties: bool = False,
    refine: bool = False,
) -> SolvedPlain:
    """Solve a hole from coarse to fine, as a plan does."""
    options = SolveOptions(
        tables=tables,
        tolerance=1e-5,
        max_sweeps=100,
        refine=refine,
        count_penalties=count_penalties,
    )
    solution, solver = solve_hole(build_levels(hole, tables), model, options)
    if not solution.converged:
        raise ValueError(f"the solve did not converge: residual {solution.residual}")
    return SolvedPlain(solution, ShotEvaluator(solution, solver))
