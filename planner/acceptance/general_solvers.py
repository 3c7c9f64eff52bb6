"""Small holes as explicit decision problems, solved by libraries that know nothing of golf.

Two problems. *Stations*: tight patterns, so that every ball lies at one of three places, and the
problem is a table of nine actions. *Strip*: a hole on which only the distance along it matters
(green and pond reach from side to side), so that it is a problem in one dimension, written down
again on cells of a metre with normal distribution functions and nothing from the planner. The
planner solves both as holes in the plane.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_array, vstack
from scipy.special import ndtr

from planner.acceptance.claim import Area, Claim
from planner.acceptance.plain_holes import (
    COARSE,
    SolvedPlain,
    box_hole,
    either,
    golfer,
    normal,
    short_swings,
    solved,
    swing,
)
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import SwingStyle

__all__ = ["AREA"]

FloatArray = NDArray[np.float64]
PUTTS = 1.75

# Stations: tee, 100 m and 200 m down a hole of 300 m.
STATIONS = 3
LONG_GOOD, MIDDLE_GOOD, CARRY_GOOD = 0.75, 0.95, 0.35
DISCOUNT = 1.0 - 1e-10
"""quantecon solves discounted problems; so near 1 the discount costs less than 1e-9 strokes."""


@dataclass(frozen=True)
class _Action:
    """What one club does at one station: chances of the stations and the green, and of a loss."""

    state: int
    club: str
    moves: tuple[float, float, float]
    lost: float


STATION_ACTIONS = (
    _Action(0, "Carry", (0.0, 1 - CARRY_GOOD, 0.0), 0.0),
    _Action(0, "Long", (0.0, 0.0, LONG_GOOD), 1 - LONG_GOOD),
    _Action(0, "Middle", (1 - MIDDLE_GOOD, MIDDLE_GOOD, 0.0), 0.0),
    _Action(1, "Long", (0.0, 0.0, 0.0), 1 - LONG_GOOD),
    _Action(1, "Middle", (0.0, 1 - MIDDLE_GOOD, MIDDLE_GOOD), 0.0),
    _Action(2, "Middle", (0.0, 0.0, 1 - MIDDLE_GOOD), 0.0),
)


def _station_rows() -> tuple[FloatArray, FloatArray, NDArray[np.intp]]:
    """Moves (actions, states), costs and states of the actions; losses are two strokes and stay."""
    moves = np.array([action.moves for action in STATION_ACTIONS])
    state = np.array([action.state for action in STATION_ACTIONS])
    lost = np.array([action.lost for action in STATION_ACTIONS])
    moves[np.arange(len(state)), state] += lost
    to_green = 1.0 - moves.sum(axis=1)
    return moves, 1.0 + lost + PUTTS * to_green, state


def _program(rows: csr_array, costs: FloatArray, size: int) -> FloatArray:
    """Greatest values that no action undercuts: ``rows @ values <= costs``."""
    # The stubs know no sparse matrices; the function takes them.
    found = linprog(  # type: ignore[call-overload]
        -np.ones(size),
        A_ub=rows,
        b_ub=costs,
        bounds=(0.0, 60.0),
        method="highs",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    if found.status != 0:
        raise ValueError(f"the linear programme was not solved: {found.message}")
    return np.asarray(found.x, dtype=np.float64)


@cache
def _stations_by_program() -> tuple[float, ...]:
    moves, costs, state = _station_rows()
    own = np.eye(STATIONS)[state]
    values = _program(csr_array(own - moves), costs, STATIONS)
    return tuple(float(value) for value in values)


def _station_value(station: int) -> float:
    return _stations_by_program()[station]


def _stations_by_quantecon() -> float:
    from quantecon.markov import DiscreteDP

    moves, costs, state = _station_rows()
    # The green is a state of its own, from which nothing is paid any more.
    whole = np.column_stack((moves, 1.0 - moves.sum(axis=1)))
    whole = np.vstack((whole, [0.0, 0.0, 0.0, 1.0]))
    states = np.append(state, STATIONS)
    numbers = np.concatenate([np.arange((states == s).sum()) for s in range(STATIONS + 1)])
    problem = DiscreteDP(-np.append(costs, 0.0), whole, DISCOUNT, states, numbers)
    return -float(problem.solve(method="policy_iteration").v[0])


@cache
def _stations_by_planner() -> SolvedPlain:
    aside = (200.0, 140.0)
    swings = (
        swing("Carry", 300.0, either(CARRY_GOOD, (300.0, 0.0), (100.0, 0.0)), lies=(Lie.TEE,)),
        swing("Long", 200.0, either(LONG_GOOD, (200.0, 0.0), aside)),
        swing("Middle", 100.0, either(MIDDLE_GOOD, (100.0, 0.0), (0.0, 0.0))),
        *short_swings(10, 20, 30, 40, sd=0.02),
    )
    hole = box_hole(300.0, (Ground.GREEN, shapely.box(255, -45, 345, 45)))
    return solved(hole, golfer(*swings, putts=PUTTS))


# Strip: a pond from side to side and a green behind it.
STRIP_M = 260.0
POND_M, GREEN_M = (150.0, 172.0), (240.0, 284.0)
BEHIND_M, BEYOND_M = 30.0, 60.0
FULL_SWINGS = ((115.0, 9.0), (80.0, 6.5), (55.0, 5.0))
PART_SWINGS = (10.0, 20.0, 32.0, 44.0)
PART_SD = 0.06
BEARING_DEG = 12.0
WIDEST_DEG = 60.0
DROP_STEP_M, DROP_REACH_M, DROP_MARGIN_M = 5.0, 120.0, 0.05
CELL_M = 1.0


@cache
def _strip_by_program() -> float:
    """V(tee) of the strip on cells of a metre, from normal distribution functions alone."""
    edges = np.arange(-BEHIND_M, STRIP_M + BEYOND_M + 1e-9, CELL_M)
    middle = (edges[:-1] + edges[1:]) / 2
    green = (middle > GREEN_M[0]) & (middle < GREEN_M[1])
    pond = (middle > POND_M[0]) & (middle < POND_M[1])
    place = np.flatnonzero(~green & ~pond)
    number = np.full(len(middle), -1)
    number[place] = np.arange(len(place))
    start, starts = middle[place], len(place)
    # The best drop from the pond is a value of its own, the last unknown.
    size = starts + 1
    blocks, costs = [], []
    swings = [*FULL_SWINGS, *((carry, 1.0 + PART_SD * carry) for carry in PART_SWINGS)]
    bearings = np.radians(np.arange(-WIDEST_DEG, WIDEST_DEG + 1, BEARING_DEG))
    for carry, sd in swings:
        for ahead in np.unique(np.round(np.cos(bearings), 12)):
            for way in (1.0, -1.0):
                reach = start + way * carry * ahead
                share = np.diff(ndtr((edges - reach[:, None]) / sd), axis=1)
                lost = 1.0 - share.sum(axis=1)
                wet = share[:, pond].sum(axis=1)
                moves = np.zeros((starts, size))
                moves[:, :starts] = share[:, place]
                moves[:, starts] = wet
                moves[np.arange(starts), np.arange(starts)] += lost
                own = np.eye(starts, size)
                blocks.append(csr_array(own - moves))
                costs.append(1.0 + lost + wet + PUTTS * share[:, green].sum(axis=1))
    drops = POND_M[0] - DROP_MARGIN_M - np.arange(0.0, DROP_REACH_M, DROP_STEP_M)
    cells = number[np.searchsorted(edges, drops) - 1]
    cells = cells[cells >= 0]
    rows = np.zeros((len(cells), size))
    rows[:, starts] = 1.0
    rows[np.arange(len(cells)), cells] = -1.0
    blocks.append(csr_array(rows))
    costs.append(np.zeros(len(cells)))
    values = _program(vstack(blocks).tocsr(), np.concatenate(costs), size)
    return float(np.interp(0.0, start, values[:starts]))


@cache
def _strip_by_planner() -> float:
    side = 1000.0
    swings = [
        *(swing(f"Iron {c:g}", c, normal(c, 0.0, sd)) for c, sd in FULL_SWINGS),
        *(
            swing("Wedge", c, normal(c, 0.0, 1.0 + PART_SD * c), style=SwingStyle.PARTIAL)
            for c in PART_SWINGS
        ),
    ]
    tables = dataclasses.replace(
        COARSE,
        grid=dataclasses.replace(
            COARSE.grid, cell=3.0, margin=180.0, behind=BEHIND_M, beyond=BEYOND_M
        ),
        bearing_step=math.radians(BEARING_DEG),
        patch_bearing_step=math.radians(BEARING_DEG),
    )
    hole = box_hole(
        STRIP_M,
        (Ground.GREEN, shapely.box(GREEN_M[0], -side, GREEN_M[1], side)),
        (Ground.YELLOW, shapely.box(POND_M[0], -side, POND_M[1], side)),
    )
    found = solved(hole, golfer(*swings, putts=PUTTS), tables=tables)
    steps = np.radians(np.arange(-WIDEST_DEG, WIDEST_DEG + 1, BEARING_DEG))
    return min(found.shot(i, b).value for i in range(len(swings)) for b in steps)


def _club_of_program() -> str:
    """Club that the linear programme plays from the tee."""
    values = np.array(_stations_by_program())
    moves, costs, state = _station_rows()
    worth = np.where(state == 0, costs + moves @ values, np.inf)
    return STATION_ACTIONS[int(worth.argmin())].club


def _club_of_planner() -> str:
    found = _stations_by_planner()
    return found.solution.model.swings[found.best().swing].club


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    lattice = "0.01 strokes, to which the planner's values are held"
    return (
        Claim("stations: strokes from the tee", "scipy.optimize.linprog (HiGHS)",
              partial(_station_value, 0), lambda: _stations_by_planner().shot(0).value, "strokes",
              1e-3, "tight patterns leave no lattice error"),
        Claim("stations: the same by policy iteration", "quantecon DiscreteDP",
              partial(_station_value, 0), _stations_by_quantecon, "strokes", 1e-7,
              "the second library agrees with the first; its discount is 1e-10"),
        Claim("stations: club from the tee", "scipy.optimize.linprog (HiGHS)", _club_of_program,
              _club_of_planner),
        Claim("strip with a pond: strokes from the tee",
              "scipy.optimize.linprog (HiGHS) on cells of a metre", _strip_by_program,
              _strip_by_planner, "strokes", 0.01, lattice),
    )  # fmt: skip


AREA = Area(
    "solvers",
    "The same small problem by a general solver",
    "Explicit decision problems, written down without the planner and solved by libraries that "
    "know nothing of golf, beside the holes as the planner solves them.",
    claims,
)
