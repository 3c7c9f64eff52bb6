"""Small holes of boxes and small shot models for tests of the solver."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Mapping

import numpy as np
import shapely

from planner.course.hole import ElevationProfile, GroundArea, Hole, HoleFrame, Tee
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import ShotModel, Swing, SwingStyle
from planner.golfer.shot_pattern import ShotPattern, normal_covariance
from planner.strategy.grid import GridOptions
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.hole_tables import TableOptions
from planner.strategy.shot_evaluation import ShotEvaluator, ShotValue
from planner.strategy.solution import HoleSolution, SolveOptions

PUTTS = 1.75
EVERY_LIE = (Lie.TEE, Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.SAND, Lie.TREES)
COARSE = TableOptions(
    grid=GridOptions(cell=6.0, patch_ratio=2, margin=48.0, beyond=48.0),
    bearing_step=math.radians(6.0),
    patch_bearing_step=math.radians(10.0),
    bearing_ratio=1,
    patch_bearing_ratio=2,
    longest_runs=(10.0, 10.0, 10.0, 10.0),
    patch_longest_runs=(10.0, 10.0, 10.0, 10.0),
    threads=1,
)
"""Cells and steps at which a hole of 150 m is solved in a fraction of a second."""


def box_hole(
    length: float,
    *areas: tuple[Ground, shapely.Polygon],
    in_bounds: shapely.Polygon | None = None,
    elevation: ElevationProfile | None = None,
    azimuth: float = 0.0,
) -> Hole:
    """A straight hole from (0, 0) to a pin ``length`` [m] away."""
    return Hole(
        ref="1",
        par=3,
        stroke_index=None,
        line_hole=shapely.LineString([(0, 0), (length, 0)]),
        tees=(Tee("white", (0.0, 0.0)),),
        pin_hole=(length, 0.0),
        areas=tuple(GroundArea(ground, shape) for ground, shape in areas),
        in_bounds=in_bounds,
        frame=HoleFrame((0.0, 0.0), azimuth),
        elevation=elevation or ElevationProfile(),
    )


def mirrored(hole: Hole) -> Hole:
    """The hole with left and right exchanged."""

    def flip(shape: shapely.Geometry) -> shapely.Geometry:
        return shapely.transform(shape, lambda points: points * [1.0, -1.0])

    return dataclasses.replace(
        hole,
        line_hole=flip(hole.line_hole),
        tees=tuple(
            Tee(tee.name, (tee.position_hole[0], -tee.position_hole[1])) for tee in hole.tees
        ),
        pin_hole=(hole.pin_hole[0], -hole.pin_hole[1]),
        areas=tuple(
            dataclasses.replace(area, shape_hole=flip(area.shape_hole)) for area in hole.areas
        ),
        in_bounds=None if hole.in_bounds is None else flip(hole.in_bounds),
    )


def stock(
    carry: float,
    offline: float = 0.0,
    *,
    sd: tuple[float, float] = (6.0, 8.0),
    correlation: float = 0.0,
) -> ShotPattern:
    """A pattern without mishits."""
    return ShotPattern([1.0], [[carry, offline]], [normal_covariance(sd, correlation)])


def either(
    share: float, good: tuple[float, float], bad: tuple[float, float], *, sd: float = 2.0
) -> ShotPattern:
    """A pattern that ends near ``good`` with chance ``share``, else near ``bad`` [m]."""
    spread = np.eye(2) * sd**2
    return ShotPattern([share, 1.0 - share], [good, bad], [spread, spread], ("stock", "wide"))


def swing(
    club: str,
    carry: float,
    patterns: Mapping[Lie, ShotPattern] | ShotPattern,
    *,
    lies: Iterable[Lie] = EVERY_LIE,
    **changes: object,
) -> Swing:
    """A full swing (unless ``style`` is given) with one pattern or one for each lie."""
    if isinstance(patterns, ShotPattern):
        patterns = dict.fromkeys(lies, patterns)
    values: dict[str, object] = {
        "club": club,
        "style": SwingStyle.FULL,
        "carry_m": carry,
        "patterns": patterns,
        "run_m": {},
        "descent": 0.8,
        "climb_m": 20.0,
        "shadow_m": 0.0,
        "start_sd": 0.05,
    }
    return Swing(**(values | changes))  # type: ignore[arg-type]


def partial_swings(
    *carries: float, club: str = "Wedge", sd: float = 0.06, lies: Iterable[Lie] = EVERY_LIE
) -> tuple[Swing, ...]:
    """Partial swings whose spread is 1 m and ``sd`` of the carry."""
    lies = tuple(lies)
    return tuple(
        swing(
            club,
            carry,
            stock(carry, sd=(1.0 + sd * carry, 1.0 + sd * carry)),
            lies=lies,
            style=SwingStyle.PARTIAL,
        )
        for carry in carries
    )


def model_of(*swings: Swing, putts: float | None = PUTTS, **changes: object) -> ShotModel:
    """A golfer with the same expected ``putts`` from everywhere, or a rising number if None."""
    distance = np.array([0.0, 1.0, 5.0, 20.0, 60.0])
    expected = np.array([1.0, 1.1, 1.6, 2.0, 2.4]) if putts is None else np.full(5, putts)
    return ShotModel(tuple(swings), distance, expected, 1.14, **changes)  # type: ignore[arg-type]


@dataclasses.dataclass(frozen=True, eq=False)
class Solved:
    """A solved hole with what tests ask of it."""

    solution: HoleSolution
    solver: HoleSolver
    evaluator: ShotEvaluator

    def tee_shot(self, swing: int, bearing: float = 0.0) -> ShotValue:
        """Cost of a swing from the first tee along exactly ``bearing`` [rad]."""
        place = self.solution.hole.tees[0].position_hole
        found = self.evaluator.value_of(place, Lie.TEE, swing, bearing)
        assert found is not None
        return found

    def tee_shots(self) -> list[ShotValue]:
        """Best bearing of every swing from the first tee, least cost first."""
        return self.evaluator.best_by_swing(self.solution.hole.tees[0].position_hole, Lie.TEE)

    @property
    def tee_value(self) -> float:
        """Least expected strokes from the first tee."""
        return self.tee_shots()[0].value


def solve(hole: Hole, model: ShotModel, tables: TableOptions = COARSE, **options: object) -> Solved:
    """Solve a hole from coarse to fine, as a plan does."""
    values: dict[str, object] = {
        "tables": tables,
        "tolerance": 1e-5,
        "max_sweeps": 100,
        "refine": False,
    }
    solution, solver = solve_hole(
        build_levels(hole, tables),
        model,
        SolveOptions(**(values | options)),  # type: ignore[arg-type]
    )
    return Solved(solution, solver, ShotEvaluator(solution, solver))
