"""The solver's own arithmetic, asked for chances instead of strokes.

A value of one on one kind of ground and zero elsewhere turns expected strokes into the chance to
come to rest there. Those chances must be the exact ones of ``outcome_shares``, which knows no
lattice, and must add up.
"""

import math
from pathlib import Path

import numpy as np
import pytest

from planner.course.lies import Ground, Lie
from planner.course.reading import read_course
from planner.golfer.bag import read_bag
from planner.golfer.shot_outcome import ASSUMED_CANOPY_STOP_SHARE, SwingStyle
from planner.golfer.swing_set import build_shot_model
from planner.strategy.exposure import outcome_shares
from planner.strategy.ground_lines import ground_partition
from planner.strategy.hole_advice import map_box
from planner.strategy.hole_solver import HoleSolver
from planner.strategy.hole_tables import TableOptions, build_tables, longest_runs
from planner.strategy.landing import landing_value
from planner.strategy.relief_values import PLAYED_LIES
from planner.strategy.shot_evaluation import ShotEvaluator
from planner.strategy.solution import HoleSolution, SolveOptions
from planner.strategy.solver_side import SHORT_LONGEST_M

DEMO = Path(__file__).parents[2] / "courses_demo"
SLOTS = {
    "fairway": PLAYED_LIES.index(Lie.FAIRWAY),
    "rough": PLAYED_LIES.index(Lie.ROUGH),
    "deep_rough": PLAYED_LIES.index(Lie.DEEP_ROUGH),
    "sand": PLAYED_LIES.index(Lie.SAND),
    "trees": PLAYED_LIES.index(Lie.TREES),
}
CASES = [("odile_marrow", "1"), ("wren_halvard", "10")]


class Chances:
    """Chances of shots on one hole, by the solver's arithmetic and exactly."""

    def __init__(self, bag: str, ref: str) -> None:
        self.hole = read_course(DEMO / "tarrowick.geojson").hole(ref)
        self.model = build_shot_model(read_bag(DEMO / "bags" / f"{bag}.toml"))
        longest, short = longest_runs(self.model, patch_carry=SHORT_LONGEST_M)
        self.tables = build_tables(
            self.hole,
            # A long sweep's bearings are not needed to ask for single shots.
            TableOptions(
                bearing_step=math.radians(18.0),
                patch_bearing_step=math.radians(30.0),
                club_length=self.model.club_length_m,
                longest_runs=longest,
                patch_longest_runs=short,
            ),
        )
        self.options = SolveOptions(tables=self.tables.options, count_penalties=False)
        self.solver = HoleSolver(self.tables, self.model, self.options)
        self.partition = ground_partition(self.hole, map_box=map_box(self.tables))
        self.evaluators = {
            name: self.asking(name) for name in (*SLOTS, "green", "penalty", "nothing")
        }

    def asking(self, name: str) -> ShotEvaluator:
        """An evaluator for the hole on which only one kind of ground is worth anything."""
        values = self.solver.zero()
        edges = np.zeros(len(self.tables.edges.edges_hole))
        if name in SLOTS:
            values.state[SLOTS[name]] = 1
            values.patch[SLOTS[name]] = 1
        elif name == "green":
            values.green_base[:] = 1
            values.green_patch[:] = 1
        elif name == "penalty":
            edges[:] = 1
        solution = HoleSolution(
            tables=self.tables,
            model=self.model,
            options=self.options,
            values=values,
            penalties=None,
            state_policy=None,
            patch_policy=None,
            edge_values=(edges,),
            converged=True,
            residual=0.0,
            sweeps=0,
        )
        return ShotEvaluator(solution, self.solver)

    def shares(self, swing: int, lie: Lie, place: tuple[float, float], bearing: float):
        """Chances by name. A lost ball is replayed, which costs ``(2 - p + E) / p``, ``p`` the
        chance to stay in play."""
        cost = {
            name: one.value_of(place, lie, swing, bearing).value
            for name, one in self.evaluators.items()
        }
        stays = 2.0 / (1.0 + cost["nothing"])
        found = {name: (value - cost["nothing"]) * stays for name, value in cost.items()}
        return found | {"out_of_bounds": 1.0 - stays}

    def exact(self, swing, lie, place, bearing):
        one = outcome_shares(
            self.partition, self.hole, self.model, self.model.swings[swing], lie, place, bearing
        )
        names = (*SLOTS, "green", "penalty", "out_of_bounds")
        return {name: getattr(one, name) for name in names}

    def tee_shots(self):
        """Full swings aimed at the second part of the hole, and beside it."""
        tee = self.hole.tees[0].position_hole
        full = [
            i
            for i, one in enumerate(self.model.swings)
            if one.style is SwingStyle.FULL and Lie.TEE in one.patterns
        ]
        end = self.hole.line_hole.interpolate(self.model.swings[full[0]].carry_m)
        ahead = math.atan2(end.y - tee[1], end.x - tee[0])
        return [
            (swing, Lie.TEE, tee, ahead + turn)
            for swing in (full[0], full[2], full[5])
            for turn in np.radians([-14.0, -5.0, 0.0, 6.0, 13.0])
        ]

    def short_shots(self):
        """Partial swings from round the green."""
        short = [
            i
            for i, one in enumerate(self.model.swings)
            if one.style is SwingStyle.PARTIAL
            and 6 < one.carry_m < 30
            and Lie.ROUGH in one.patterns
        ][::6]
        pin = self.hole.pin_hole
        return [
            (swing, Lie.ROUGH, (pin[0] + 20.0 * math.cos(way), pin[1] + 20.0 * math.sin(way)),
             way + math.pi)
            for swing in short
            for way in (0.4, 2.0, 3.6)
        ]  # fmt: skip


@pytest.fixture(scope="module", params=CASES, ids=lambda case: "-".join(case))
def chances(request):
    return Chances(*request.param)


def differences(chances, shots):
    return np.array(
        [
            [chances.shares(*shot)[name] - share for name, share in chances.exact(*shot).items()]
            for shot in shots
        ]
    )


def test_tee_shots_have_the_exact_shares(chances):
    off = np.abs(differences(chances, chances.tee_shots()))
    assert np.quantile(off, 0.97) < 0.012
    # Beside a wood a cell is half canopy and half turf, and the lattice knows it as one.
    assert off.max() < 0.02
    assert off.mean() < 2.5e-3


def test_short_shots_have_the_exact_shares(chances):
    # A carry of 6 m spreads less than a patch cell, and the lip of a bunker cuts through it.
    off = np.abs(differences(chances, chances.short_shots()))
    assert np.quantile(off, 0.95) < 0.01
    assert off.max() < 0.05
    assert off.mean() < 2e-3


def test_shares_of_a_shot_add_up_to_one(chances):
    for shot in (*chances.tee_shots(), *chances.short_shots()):
        found = chances.shares(*shot)
        del found["nothing"]
        assert sum(found.values()) == pytest.approx(1.0, abs=2e-5)


@pytest.mark.parametrize("patch", [False, True])
@pytest.mark.parametrize("run", [0.0, 7.0, 23.0])
def test_no_mass_is_lost_or_gained_at_landing(chances, patch, run):
    # What stays in play and what is lost, out of bounds or off the map, make one ball in every
    # cell, for every bearing, run and canopy.
    tables, solver = chances.tables, chances.solver
    side = solver.patch_side if patch else solver.state_side
    held = tables.patch if patch else tables.base
    landings = held.of_rows(np.tile((0, held.lattice.shape[0]), (len(held.bearings), 1)))
    geo = side.geometry
    in_play = solver.landing_fields([], [], in_play=True)[1 if patch else 0]
    coverage = tables.grid.patch_coverage if patch else tables.grid.coverage
    relief = tables.patch_relief if patch else tables.base_relief
    lost_rest = np.ones_like(in_play.rest)
    lost_still = np.zeros_like(in_play.still)
    body = slice(geo.front, geo.front + geo.rows * geo.stride)
    inside = (geo.rows, geo.stride)
    lost_rest[0, body].reshape(inside)[:, : geo.columns] = 0
    gone = coverage[[Ground.OUT, Ground.YELLOW, Ground.RED]].sum(axis=0) - relief
    assert gone.min() > -1e-9
    lost_still[0, body].reshape(inside)[:, : geo.columns] = gone
    special = np.zeros_like(in_play.special)
    special[0, -1] = 1
    lost = in_play._replace(rest=lost_rest, still=lost_still, special=special)

    def landed(fields, bearing_index):
        out = np.zeros((geo.rows, geo.columns), in_play.rest.dtype)
        landing_value(
            0, bearing_index, landings.bearings[bearing_index],
            np.array([run, 0.5 * run, 0.0, run]),
            12.0, ASSUMED_CANOPY_STOP_SHARE, 0, geo.rows, fields, landings, geo,
            np.zeros(in_play.rest.shape[1], in_play.rest.dtype),
            np.zeros((4, in_play.rest.shape[1]), in_play.rest.dtype), out,
        )  # fmt: skip
        return out

    for bearing_index in range(0, len(landings.bearings), 3):
        stays, goes = landed(in_play, bearing_index), landed(lost, bearing_index)
        np.testing.assert_allclose(stays + goes, 1.0, atol=1e-5)
        # The quadratic of a shift overshoots an edge by an eighth at most, on each axis.
        assert stays.min() > -0.27
        assert stays.max() < 1.0 + 0.27
