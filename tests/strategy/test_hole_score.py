"""Exact chances of a hole's score against closed forms, and against sums along the same policy."""

import dataclasses

import pytest
import shapely

from planner.course.lies import Ground, Lie
from planner.strategy.ground_lines import ground_partition
from planner.strategy.hole_advice import map_box
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.hole_score import count_hole
from planner.strategy.look_ahead import LookAhead
from planner.strategy.plan_mass import PlannedShots
from planner.strategy.policy import PolicyReader, TeeShot
from planner.strategy.shot_evaluation import ShotEvaluator
from planner.strategy.solution import SolveOptions

from .builders import COARSE, PUTTS, box_hole, either, model_of, partial_swings, stock, swing
from .test_whole_hole import HOLE, bag, golfer

LENGTH, FULL = 100.0, 100.0
GREEN = (Ground.GREEN, shapely.box(60, -40, 140, 40))
SHORT = partial_swings(10, 20, 30, 40, sd=0.02)
ONE_PUTT = 0.25
"""With 1.75 expected putts everywhere: one in a quarter of cases, else two."""


def counted(hole, model, *, straight=False, **options):
    values = {"tables": COARSE, "tolerance": 1e-5, "max_sweeps": 100, "refine": False} | options
    solution, solver = solve_hole(build_levels(hole, COARSE), model, SolveOptions(**values))
    tee = hole.tees[0].position_hole
    evaluator = ShotEvaluator(solution, solver)
    first = evaluator.best_by_swing(tee, Lie.TEE)[0]
    if straight:
        first = evaluator.value_of(tee, Lie.TEE, 0, 0.0)
    shot = TeeShot(first.swing, first.bearing, first.value)
    shots = PlannedShots(
        tee,
        first.swing,
        first.bearing,
        LookAhead(solution, solver, shot).decide,
        PolicyReader(solution, solver.builder, shot).value_at,
    )
    partition = ground_partition(hole, map_box=map_box(solution.tables))
    return count_hole(solution, solver, partition, shots), first


@pytest.mark.parametrize("share", [0.6, 0.8])
def test_strokes_to_one_target_are_geometric(share):
    # A miss comes back to where it was struck: the green is reached with stroke j with chance
    # share (1 - share)^(j - 1).
    pattern = either(share, (FULL, 0.0), (0.0, 0.0))
    found, _ = counted(box_hole(LENGTH, GREEN), model_of(swing("Iron", FULL, pattern), *SHORT))
    reach = [share * (1 - share) ** (j - 1) for j in range(1, 9)]
    for score in range(2, 8):
        expected = ONE_PUTT * reach[score - 2] + (1 - ONE_PUTT) * (
            reach[score - 3] if score > 2 else 0
        )
        assert found.score.chance(score) == pytest.approx(expected, abs=2e-4)
    assert found.putts == pytest.approx(PUTTS, abs=1e-3)
    assert found.green == pytest.approx(share, abs=1e-4)
    assert found.penalties == pytest.approx(0.0, abs=1e-6)
    assert 0.0 <= found.score.remainder < 1e-5


@pytest.mark.parametrize("q", [0.1, 0.4])
def test_out_of_bounds_uses_two_strokes_each_time(q):
    pattern = either(1 - q, (FULL, 0.0), (50.0, 85.0))
    hole = box_hole(LENGTH, GREEN, in_bounds=shapely.box(-200, -40, 300, 60))
    found, _ = counted(hole, model_of(swing("Iron", FULL, pattern), *SHORT), straight=True)
    for lost in range(4):
        chance = (1 - q) * q**lost
        assert found.score.chance(2 + 2 * lost) == pytest.approx(ONE_PUTT * chance, abs=1e-4)
        assert found.score.chance(3 + 2 * lost) == pytest.approx((1 - ONE_PUTT) * chance, abs=1e-4)
    assert found.penalties == pytest.approx(q / (1 - q), abs=1e-3)
    assert found.green == pytest.approx(1 - q, abs=1e-4)
    assert found.putts == pytest.approx(PUTTS, abs=1e-3)
    # What was not followed is said, and is in the mean from where it starts.
    assert found.score.mean == pytest.approx(PUTTS + (1 + q) / (1 - q), abs=1e-3)


@pytest.mark.parametrize(("par", "greens"), [(3, 0.0), (4, 0.0), (5, 1.0)])
def test_a_drop_counts_a_stroke(par, greens):
    # A ball in the pond is on the green with its third stroke, the penalty counted.
    q = 0.4
    green = (Ground.GREEN, shapely.box(50, -45, 145, 45))
    pond = (Ground.RED, shapely.box(20, -30, 40, 30))
    tee_shot = swing("Iron", FULL, either(1 - q, (FULL, 0.0), (30.0, 0.0)), lies=(Lie.TEE,))
    sure = swing("Rescue", 105.0, stock(105.0, sd=(2.0, 2.0)), lies=(Lie.FAIRWAY, Lie.ROUGH))
    hole = dataclasses.replace(box_hole(LENGTH, green, pond), par=par)
    found, _ = counted(hole, model_of(tee_shot, sure, *SHORT))
    expected = {2: ONE_PUTT * (1 - q), 3: (1 - ONE_PUTT) * (1 - q)}
    expected |= {4: ONE_PUTT * q, 5: (1 - ONE_PUTT) * q, 6: 0.0}
    for score, chance in expected.items():
        assert found.score.chance(score) == pytest.approx(chance, abs=1e-4)
    assert found.penalties == pytest.approx(q, abs=1e-4)
    assert found.green == pytest.approx((1 - q) + q * greens, abs=1e-4)


def test_an_unplayable_ball_costs_its_drop():
    share = 0.25
    wood = (Ground.TREES, shapely.box(24, 22, 50, 46))
    tee_shot = swing("Wood", FULL, either(1 - share, (FULL, 0.0), (37.0, 34.0)), lies=(Lie.TEE,))
    turf = (Lie.FAIRWAY, Lie.ROUGH)
    sure = swing("Iron", 105.0, stock(105.0, sd=(2.0, 2.0)), lies=turf, climb_m=0.0)
    short = partial_swings(10, 20, 30, 40, 55, 70, 85, sd=0.01, lies=turf)
    green = (Ground.GREEN, shapely.box(54, -45, 146, 45))
    found, _ = counted(
        box_hole(LENGTH, green, wood), model_of(tee_shot, sure, *short), straight=True
    )
    # Stroke, penalty, stroke, then one or two putts.
    assert found.score.chance(4) == pytest.approx(ONE_PUTT * share, abs=0.005)
    assert found.score.chance(5) == pytest.approx((1 - ONE_PUTT) * share, abs=0.01)
    assert found.penalties == pytest.approx(share, abs=0.01)


@pytest.mark.parametrize("price", [0.0, 1.0])
def test_chances_add_up_to_the_expected_strokes(price):
    # Sand, trees, a pond and a boundary. Expected strokes are those of the solve where it
    # minimised them, within what its cells of 6 m cost.
    found, shot = counted(
        HOLE,
        golfer(*bag()),
        tolerance=1e-4,
        refine=True,
        count_penalties=True,
        penalty_price=price,
    )
    assert found.score.remainder < 1e-5
    assert found.score.mean == pytest.approx(found.expected, abs=2e-3)
    assert found.expected + price * found.penalties == pytest.approx(shot.value, abs=1e-2)
    assert found.penalties == pytest.approx(shot.penalties, abs=2e-3)
    strokes_off_the_green = found.expected - found.penalties - found.putts
    assert 1.0 < strokes_off_the_green < found.expected
    assert found.score.cumulative()[-1] + found.score.remainder == pytest.approx(1.0, abs=1e-12)
