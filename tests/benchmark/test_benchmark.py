"""The benchmark's own parts: what is typed, tables, counts, and the plain Monte Carlo."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from rich.console import Console
from scipy.stats import norm

from planner.benchmark.__main__ import PARTS, main, parser, parts_of
from planner.benchmark.accuracy import Reference, single_changes, usual_words
from planner.benchmark.action_rate import Action, exact_value, root_mean_square_error
from planner.benchmark.bag_search import EXTRA_CLUBS, with_candidates
from planner.benchmark.evaluation_count import EvaluationCount, counted_evaluations
from planner.benchmark.plain_monte_carlo import PlainMonteCarlo
from planner.benchmark.resting_worth import Estimate, replayed_mean
from planner.benchmark.result_table import ResultTable
from planner.benchmark.solved_hole import chosen_holes, finer, player
from planner.course.hole import ElevationProfile, GroundArea, Hole, HoleFrame, Tee
from planner.course.lies import Ground, Lie
from planner.errors import OptionError
from planner.golfer.club import ClubKind
from planner.golfer.shot_outcome import (
    ASSUMED_CANOPY_STOP_SHARE,
    ASSUMED_TREE_FREE_PATH_M,
    ShotModel,
    Swing,
    SwingStyle,
)
from planner.golfer.shot_pattern import ShotPattern, normal_covariance
from planner.planning.bag_bench import hit_labels
from planner.strategy import sweep_run
from planner.strategy.ground_lines import ground_partition
from planner.strategy.hole_tables import TableOptions
from planner.strategy.shot_draws import ShotDraws
from planner.strategy.sweep_types import Actions

SAMPLES = 40_000
MAP = shapely.box(-60, -90, 240, 90)
SEED = 7
WORTH = np.array([2.6, 2.8, 3.2, 2.5, 2.5, 4.1, 3.7, 3.0, 1.8, 1.0])
"""Made-up strokes still to play from each ground; a replay costs its penalty stroke."""


class WorthOfGround:
    """Worth that depends on the ground alone, so that expected strokes have a closed form."""

    def costs(self, rest_hole, ground, crossing):
        return WORTH[ground]


class WorthOfPlace:
    """Worth that changes with everything a simulation says about a ball."""

    def costs(self, rest_hole, ground, crossing):
        found = WORTH[ground] + np.where(ground == Ground.GREEN, 0.002, 0.004) * (
            200.0 - rest_hole[:, 0]
        )
        wet = np.isin(ground, (Ground.YELLOW, Ground.RED))
        found[wet] = 4.0 + 0.01 * crossing[wet, 0] + 0.02 * crossing[wet, 1]
        found[ground == Ground.OUT] = 1.0
        return found


def hole_of(*areas, in_bounds=None, elevation=None):
    return Hole(
        ref="1",
        par=4,
        stroke_index=None,
        line_hole=shapely.LineString([(0, 0), (180, 0)]),
        tees=(Tee("white", (0.0, 0.0)),),
        pin_hole=(180.0, 0.0),
        areas=tuple(GroundArea(ground, shape) for ground, shape in areas),
        in_bounds=in_bounds,
        frame=HoleFrame((0.0, 0.0), 0.0),
        elevation=elevation or ElevationProfile(),
    )


def swing_of(means=((100.0, 0.0),), sds=((15.0, 10.0),), weights=(1.0,), **changes):
    pattern = ShotPattern(
        list(weights),
        [list(mean) for mean in means],
        [normal_covariance(sd, 0.0) for sd in sds],
        tuple(f"part {n}" for n in range(len(weights))),
    )
    values = {
        "club": "Iron",
        "style": SwingStyle.FULL,
        "carry_m": means[0][0],
        "patterns": {Lie.TEE: pattern},
        "run_m": {},
        "descent": 0.8,
        "climb_m": 0.0,
        "shadow_m": 0.0,
        "start_sd": 0.0,
    }
    return Swing(**(values | changes))


def model_of(swing):
    return ShotModel((swing,), np.array([0.0, 50.0]), np.array([1.0, 3.0]), 1.14)


def plain_value(hole, swing, *, worth=None, bearing=0.0, place=(0.0, 0.0)):
    plain = PlainMonteCarlo(hole, model_of(swing), map_box=MAP, worth=worth or WorthOfGround())
    rng = np.random.default_rng(SEED)
    return plain.value(place, Lie.TEE, 0, bearing, samples=SAMPLES, rng=rng)


def agrees(estimate, value):
    return abs(estimate.value - value) < 4 * estimate.standard_error


def inside(low, high, mean=100.0, sd=15.0):
    return norm.cdf(high, mean, sd) - norm.cdf(low, mean, sd)


# -- the plain Monte Carlo ----------------------------------------------------------------------


def test_plain_run_is_stopped_by_sand_and_out_of_bounds_is_replayed() -> None:
    # Sand across the hole from 95 m to 110 m, out of bounds from 120 m; balls run 12 m.
    hole = hole_of(
        (Ground.SAND, shapely.box(95, -80, 110, 80)), in_bounds=shapely.box(-60, -80, 120, 80)
    )
    run = 12.0
    out = 1 - norm.cdf(120 - run, 100, 15) - inside(120 - run, 110)
    sand = inside(95 - run, 110)
    rough = 1 - out - sand
    value = (1 + rough * WORTH[Ground.ROUGH] + sand * WORTH[Ground.SAND] + out) / (1 - out)
    found = plain_value(hole, swing_of(run_m={Lie.ROUGH: run}))
    assert found.samples == SAMPLES
    assert agrees(found, value)


def test_plain_canopy_stops_its_share() -> None:
    hole = hole_of((Ground.TREES, shapely.box(80, -80, 90, 80)))
    shadow = 10.0
    trees = inside(80, 90) + ASSUMED_CANOPY_STOP_SHARE * inside(90, 90 + shadow)
    value = 1 + trees * WORTH[Ground.TREES] + (1 - trees) * WORTH[Ground.ROUGH]
    assert agrees(plain_value(hole, swing_of(shadow_m=shadow, climb_m=1.0)), value)


def test_plain_wood_near_the_start_stops_low_balls() -> None:
    hole = hole_of((Ground.TREES, shapely.box(10, -80, 60, 80)))
    low = 30.0
    stopped = 1 - math.exp(-(low - 10) / ASSUMED_TREE_FREE_PATH_M)
    swing = swing_of(sds=((5.0, 5.0),), climb_m=low)
    value = 1 + stopped * WORTH[Ground.TREES] + (1 - stopped) * WORTH[Ground.ROUGH]
    assert agrees(plain_value(hole, swing), value)


@pytest.mark.parametrize("bearing", [0.0, 0.17])
def test_plain_agrees_with_exact_draws(bearing: float) -> None:
    # Slopes, canopy, wood near the start, sand, both penalty areas, edges, two components.
    hole = hole_of(
        (Ground.TREES, shapely.box(12, -30, 20, 3)),
        (Ground.TREES, shapely.box(70, 8, 90, 40)),
        (Ground.FAIRWAY, shapely.box(75, -15, 130, 12)),
        (Ground.YELLOW, shapely.box(105, -25, 118, 6)),
        (Ground.RED, shapely.Polygon([(60, -12), (110, -30), (140, -60), (60, -60)])),
        (Ground.SAND, shapely.Point(112, 14).buffer(6)),
        (Ground.GREEN, shapely.Point(130, 0).buffer(12)),
        in_bounds=shapely.box(-50, -55, 150, 45),
        elevation=ElevationProfile((0.0, 80.0, 140.0), (0.0, 5.0, -2.0)),
    )
    swing = swing_of(
        means=((100.0, 2.0), (60.0, 5.0)),
        sds=((14.0, 12.0), (25.0, 15.0)),
        weights=(0.8, 0.2),
        run_m={Lie.FAIRWAY: 14.0, Lie.ROUGH: 6.0, Lie.GREEN: 9.0},
        climb_m=40.0,
        shadow_m=15.0,
        start_sd=0.05,
    )
    worth = WorthOfPlace()
    plain = plain_value(hole, swing, worth=worth, bearing=bearing)
    draws = ShotDraws(ground_partition(hole, map_box=MAP), hole, model_of(swing))
    action = Action((0.0, 0.0), Lie.TEE, 0, bearing, math.nan)
    exact = exact_value(draws, worth, action, 4 * SAMPLES, np.random.default_rng(SEED))
    error = math.hypot(plain.standard_error, exact.standard_error)
    assert abs(plain.value - exact.value) < 4 * error
    assert plain.spread == pytest.approx(exact.spread, rel=0.05)


def test_replayed_mean_of_a_known_share() -> None:
    # A quarter out, the rest 2 strokes more: Q = 1 + Q / 4 + 1 / 4 + 3 / 4 * 2, so Q = 11 / 3.
    out = np.arange(1000) % 4 == 0
    found = replayed_mean(np.where(out, 1.0, 2.0), out)
    assert found.value == pytest.approx(11 / 3)
    # Each draw then costs 3 with chance 3/4, else 2 and all over again.
    one = np.where(out, 2.0, 3.0 - 11 / 3)
    assert found.spread == pytest.approx(one.std(ddof=1) / 0.75)
    with pytest.raises(ValueError, match="out of bounds"):
        replayed_mean(np.ones(3), np.ones(3, bool))


def test_error_of_the_solver_has_the_draws_own_error_taken_off() -> None:
    def compared(errors, spread, samples):
        chosen = [Action((0.0, 0.0), Lie.TEE, 0, 0.0, 3.0 + error) for error in errors]
        return root_mean_square_error(chosen, [Estimate(3.0, spread, samples)] * len(errors))

    assert compared([0.03, -0.05], 0.2, 400) == pytest.approx(math.sqrt(0.0017 - 0.0001))
    assert compared([0.0, 0.0], 0.2, 400) == pytest.approx(0.01)


# -- counting -----------------------------------------------------------------------------------


def test_evaluations_are_counted_by_place_and_component() -> None:
    window = np.zeros((3, 2, 4, 4), np.int32)
    window[0, 0, 1] = (2, 5, 1, 3)  # six places
    window[0, 1, 1] = (0, 1, 0, 9)  # nine, from a lie that does not allow the swing
    window[1, 1, 3] = (4, 4, 0, 9)  # none
    window[2, 0, 0] = (0, 9, 0, 9)  # not among the swings of this sweep
    weight = np.zeros((3, 2, 4))
    weight[0, 0, :3] = (0.8, 0.1, 0.1)
    weight[1, 1, :2] = (0.9, 0.1)
    weight[2, 0, 0] = 1.0
    empty = np.empty(0)
    actions = Actions(empty, empty, empty, weight, empty, empty, empty, window)
    count = EvaluationCount()
    count.add(np.array([0, 1]), actions)
    assert (count.actions, count.components) == (6, 18)


def test_counting_leaves_the_solver_as_it_was() -> None:
    before = vars(sweep_run)["sweep"]
    with counted_evaluations():
        assert vars(sweep_run)["sweep"] is not before
    assert vars(sweep_run)["sweep"] is before


# -- tables -------------------------------------------------------------------------------------

TABLE = ResultTable(
    "Strokes [red]", ("hole", "value"), [["4", "4.2345"], ["a|b", "-0.1"]], ["Two  words."]
)


def test_table_in_markdown() -> None:
    assert TABLE.markdown().splitlines() == [
        "**Strokes [red]**",
        "",
        "| hole |  value |",
        "| ---- | -----: |",
        "| 4    | 4.2345 |",
        "| a\\|b |   -0.1 |",
        "",
        "Two words.",
    ]


def test_table_in_a_terminal() -> None:
    console = Console(width=60, color_system=None)
    with console.capture() as captured:
        console.print(TABLE.rich())
    lines = [line.rstrip() for line in captured.get().splitlines()]
    assert lines == [
        "Strokes [red]",
        "hole   value",
        "4     4.2345",
        "a|b     -0.1",
        "Two  words.",
        "",
    ]


def test_rows_must_fit_the_columns() -> None:
    with pytest.raises(ValueError, match="2 columns"):
        ResultTable("", ("a", "b"), [["1"]])


# -- what is typed and what is solved -----------------------------------------------------------


def test_parts() -> None:
    assert parts_of([]) == tuple(PARTS)
    assert parts_of(["accuracy", "speed"]) == ("speed", "accuracy")
    with pytest.raises(ValueError, match="no part fast"):
        parts_of(["fast", "speed"])


def test_options() -> None:
    given = parser().parse_args(
        ["accuracy", "--holes", "4, 9", "--cell", "1", "--golfer", "a", "--golfer", "b"]
    )
    assert (given.parts, given.holes, given.cell) == (["accuracy"], ("4", "9"), 1.0)
    assert given.golfer == ["a", "b"]
    assert parser().parse_args(["--holes", "all"]).holes == ()
    assert isinstance(parser().parse_args(["--markdown", "x.md"]).markdown, Path)


@pytest.mark.parametrize(
    "typed",
    [
        ["fast"],
        ["--cell", "0"],
        ["--cell", "inf"],
        ["--cell", "wide"],
        ["--threads", "0"],
        ["--balls", "1.5"],
        ["--holes", ","],
    ],
)
def test_wrong_options_end_with_usage(typed: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(typed)
    assert stopped.value.code == 2
    assert typed[-1] in capsys.readouterr().err


def test_unknown_golfer_and_hole_are_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["agreement", "--golfer", "nobody"]) == 1
    assert 'no demo golfer "nobody"' in capsys.readouterr().err
    with pytest.raises(OptionError, match="no hole 99"):
        chosen_holes(player("wren").course, ["4", "99"])


def test_reference_is_the_usual_plan_on_finer_lattices() -> None:
    usual = TableOptions(club_length=1.1, longest_runs=(40.0, 20.0, 10.0, 40.0), threads=1)
    found = Reference(0.7, 2, 1.0, 2.0).options(usual)
    assert found.grid == replace(usual.grid, cell=0.7, patch_ratio=2)
    assert found.bearing_step == pytest.approx(math.pi / 180)
    assert found.patch_bearing_step == pytest.approx(math.pi / 90)
    back = replace(
        found,
        grid=usual.grid,
        bearing_step=usual.bearing_step,
        patch_bearing_step=usual.patch_bearing_step,
        bearing_ratio=usual.bearing_ratio,
        patch_bearing_ratio=usual.patch_bearing_ratio,
    )
    assert (found.bearing_ratio, found.patch_bearing_ratio) == (1, 1)
    assert back == usual
    assert "0.7 m cells, 0.35 m round the pin" in usual_words(found)


def test_single_changes_change_one_thing() -> None:
    usual = TableOptions()
    changes = single_changes(usual, Reference())
    names = [name for name, _, _ in changes]
    assert len(set(names)) == len(names)
    for _, options, asked in changes:
        assert (options == usual) != (asked == type(asked)())
    cells = {
        (round(options.grid.cell, 9), round(options.grid.cell / options.grid.patch_ratio, 9))
        for _, options, _ in changes
    }
    h, patch = usual.grid.cell, usual.grid.cell / usual.grid.patch_ratio
    known = [(h, patch), (h, patch / 2), (h - patch, patch)]
    assert cells == {(round(cell, 9), round(part, 9)) for cell, part in known}


def test_nothing_given_changes_nothing() -> None:
    assert finer(TableOptions()) == TableOptions()


def test_bags_are_filled_up_or_cut_to_so_many_candidates() -> None:
    bag = player("odile_marrow").bag
    labels = hit_labels(bag)
    for number in (5, len(labels), len(labels) + len(EXTRA_CLUBS)):
        found = with_candidates(bag, number)
        assert len(hit_labels(found)) == number
        assert hit_labels(found)[: len(labels)] == labels[:number]
        assert sum(club.kind is ClubKind.PUTTER for club in found.clubs) == 1
    with pytest.raises(OptionError, match="99 candidates"):
        with_candidates(bag, 99)
