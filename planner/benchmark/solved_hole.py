"""Demo golfers on the demo course, solved with any cells and bearing steps."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner import demo_data
from planner.ball.conditions import Conditions
from planner.course.hole import Course, Hole, Tee
from planner.course.lies import Lie
from planner.course.reading import read_course
from planner.errors import OptionError
from planner.golfer.bag import Bag, read_bag
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.swing_set import build_shot_model
from planner.planning.request import PlanRequest, tee_of
from planner.strategy.grid import GridOptions
from planner.strategy.hole_advice import HoleAdviser
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.hole_tables import TableOptions, longest_climb, longest_runs
from planner.strategy.look_ahead import LookAhead
from planner.strategy.solution import HoleSolution, SolveOptions
from planner.strategy.solver_side import SHORT_LONGEST_M


@dataclass(frozen=True, eq=False)
class Player:
    """A demo golfer with tees on a course."""

    name: str
    course: Course
    bag: Bag
    tee: str
    model: ShotModel

    def request(self, holes: Sequence[Hole], *, threads: int) -> PlanRequest:
        """What planning is asked for these holes."""
        return PlanRequest(
            course=self.course,
            bag=self.bag,
            tee=self.tee,
            holes=tuple(hole.ref for hole in holes),
            threads=threads,
        )

    def table_options(self, *, threads: int) -> TableOptions:
        """Table options with which this golfer's holes are planned."""
        longest, short = longest_runs(self.model, patch_carry=SHORT_LONGEST_M)
        return TableOptions(
            club_length=self.model.club_length_m,
            longest_runs=longest,
            patch_longest_runs=short,
            longest_climb=longest_climb(self.model),
            threads=threads,
        )

    def tee_of(self, hole: Hole) -> Tee:
        """Where this golfer starts a hole."""
        return tee_of(hole, self.tee)


@dataclass(frozen=True, eq=False)
class SolvedHole:
    """A solved hole, its adviser and solver, and how long tables and solve took [s]."""

    adviser: HoleAdviser
    solver: HoleSolver
    tables_s: float
    solve_s: float

    @property
    def solution(self) -> HoleSolution:
        """Value and policy."""
        return self.adviser.solution

    @property
    def ahead(self) -> LookAhead:
        """What to play off the lattice."""
        return LookAhead(self.solution, self.solver, self.adviser.tee_shot)

    @property
    def tee_value(self) -> float:
        """Expected strokes from the tee."""
        start = np.array([self.adviser.tee.position_hole])
        return float(self.adviser.policy.value_at(start, np.array([Lie.TEE]))[0])


def player(name: str) -> Player:
    """Read a demo golfer (any unique beginning of the bag's name) and the demo course.

    Raises
    ------
    OptionError
        There is no such demo golfer.
    """
    try:
        path = demo_data.demo_bag(name)
    except KeyError:
        known = ", ".join(demo_data.demo_bag_names())
        raise OptionError(f'no demo golfer "{name}"; there are {known}') from None
    course = read_course(demo_data.demo_folder() / demo_data.DEMO_COURSE)
    bag = read_bag(path)
    model = build_shot_model(bag, conditions=Conditions())
    return Player(path.stem, course, bag, demo_data.DEMO_TEES[path.stem], model)


def chosen_holes(course: Course, refs: Sequence[str]) -> tuple[Hole, ...]:
    """Holes by ref; all if ``refs`` is empty.

    Raises
    ------
    OptionError
        The course has no such hole.
    """
    known = [hole.ref for hole in course.holes]
    unknown = [ref for ref in refs if ref not in known]
    if unknown:
        raise OptionError(
            f"{course.name} has no hole {', '.join(unknown)}; its holes are {', '.join(known)}"
        )
    return tuple(course.hole(ref) for ref in refs) or course.holes


def finer(
    options: TableOptions,
    *,
    cell: float | None = None,
    patch_ratio: int | None = None,
    bearing_step_deg: float | None = None,
    patch_bearing_step_deg: float | None = None,
) -> TableOptions:
    """Table options with other cells [m] and bearing steps."""
    grid: GridOptions = options.grid
    if cell is not None:
        grid = replace(grid, cell=cell)
    if patch_ratio is not None:
        grid = replace(grid, patch_ratio=patch_ratio)
    options = replace(options, grid=grid)
    if bearing_step_deg is not None:
        options = replace(options, bearing_step=math.radians(bearing_step_deg))
    if patch_bearing_step_deg is not None:
        options = replace(options, patch_bearing_step=math.radians(patch_bearing_step_deg))
    return options


def solve(
    golfer: Player,
    hole: Hole,
    options: TableOptions,
    solve_options: SolveOptions | None = None,
) -> SolvedHole:
    """Build the tables of a hole and solve it, as planning does."""
    begun = time.perf_counter()
    levels = build_levels(hole, options)
    built = time.perf_counter()
    asked = replace(solve_options or SolveOptions(), tables=options)
    solution, solver = solve_hole(levels, golfer.model, asked)
    solved = time.perf_counter()
    adviser = HoleAdviser(solution, solver, golfer.tee_of(hole))
    return SolvedHole(adviser, solver, built - begun, solved - built)
