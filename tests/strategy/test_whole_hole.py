"""What must hold for any golfer on any hole: symmetry, monotony, convergence."""

import dataclasses
import math

import numpy as np
import pytest
import shapely

from planner.course.hole import ElevationProfile
from planner.course.lies import Ground, Lie
from planner.golfer.shot_pattern import ShotPattern, normal_covariance
from planner.strategy.grid import GridOptions
from planner.strategy.relief_values import PLAYED_LIES

from .builders import (
    COARSE,
    box_hole,
    mirrored,
    model_of,
    partial_swings,
    solve,
    stock,
    swing,
)

LENGTH = 190.0
AREAS = (
    (Ground.FAIRWAY, shapely.box(30, -14, 168, 20)),
    (Ground.GREEN, shapely.box(172, -14, 206, 16)),
    (Ground.SAND, shapely.box(150, -34, 180, -13)),
    (Ground.RED, shapely.box(60, 24, 130, 70)),
    (Ground.TREES, shapely.box(40, -60, 120, -26)),
)
BOUNDS = shapely.box(-60, -90, 260, 62)
TREES_CLIMB = {"climb_m": 40.0, "shadow_m": 14.0}


def wild(carry, offline=0.0, *, short=0.1, spread=1.0, correlation=-0.2):
    """A stock pattern in proportion to its carry, and short mishits."""
    sd = (0.05 * carry * spread, 0.075 * carry * spread)
    return ShotPattern(
        [1.0 - short, short],
        [[carry, offline], [0.55 * carry, 1.5 * offline]],
        [normal_covariance(sd, correlation), normal_covariance((0.15 * carry, 0.12 * carry), 0.0)],
        ("stock", "short"),
    )


def bag(*, offline=3.0, correlation=-0.2, clubs=(150.0, 120.0, 90.0, 62.0)):
    """A golfer whose clubs carry so far, with runs, punches and a short game."""
    turf = (Lie.TEE, Lie.FAIRWAY, Lie.ROUGH, Lie.SAND)
    full = [
        swing(
            f"{carry:.0f}",
            carry,
            {
                lie: wild(carry * factor, offline, correlation=correlation)
                for lie, factor in zip(turf, (1.0, 0.98, 0.92, 0.8), strict=True)
            },
            run_m={Lie.FAIRWAY: 0.08 * carry, Lie.ROUGH: 0.03 * carry, Lie.GREEN: 3.0},
            **TREES_CLIMB,
        )
        for carry in clubs
    ]
    punch = swing(
        "Punch", 40.0, wild(40.0, 0.0), lies=(Lie.TREES, Lie.ROUGH), climb_m=math.inf, shadow_m=0.0
    )
    short = partial_swings(8, 16, 26, 36, 46, sd=0.08)
    return (*full, dataclasses.replace(punch, style=type(punch.style).PUNCH), *short)


def golfer(*swings, **changes):
    return model_of(*swings, putts=None, **changes)


HOLE = box_hole(LENGTH, *AREAS, in_bounds=BOUNDS)


@pytest.fixture(scope="module")
def plain():
    return solve(HOLE, golfer(*bag()), tolerance=1e-4, refine=True, count_penalties=True)


def places(solved, name, *, within=np.inf):
    """Where values of a lattice are its own, kept exact and in use, near the line of play [m]."""
    state = name == "state"
    side = solved.solver.state_side if state else solved.solver.patch_side
    builder = solved.solver.builder
    own = ~builder.inner_state if state else builder.inner_patch
    return side.wanted() & side.occurs & own & (np.abs(side.target.across) < within)


def flipped(one):
    return dataclasses.replace(
        one, patterns={lie: pattern.mirrored() for lie, pattern in one.patterns.items()}
    )


def test_mirrored_hole_and_golfer_give_the_mirrored_plan():
    options = {"tolerance": 1e-6, "refine": True, "double_precision": True}
    one = solve(HOLE, golfer(*bag()), **options)
    two = solve(mirrored(HOLE), golfer(*map(flipped, bag())), **options)
    for name, lattice in (("state", "state"), ("patch", "patch")):
        here = getattr(one.solution.values, name)
        there = getattr(two.solution.values, name)[..., ::-1]
        assert getattr(one.solution.tables.grid, lattice).shape == here.shape[1:]
        # Relief of a cell is that of the first of its parts found in a penalty area or wood, so
        # coarse cells at such an edge differ; elsewhere values agree to rounding.
        seen = places(one, name)
        off = np.abs(there - here)
        for slot, lie in enumerate(PLAYED_LIES):
            if seen[slot].any():
                assert off[slot][seen[slot]].max() < 0.03
                assert np.median(off[slot][seen[slot]]) < (2e-3 if lie is Lie.TREES else 2e-4)
    shots, others = one.tee_shots(), two.tee_shots()
    assert [shot.swing for shot in shots] == [shot.swing for shot in others]
    for shot, other in zip(shots, others, strict=True):
        assert other.value == pytest.approx(shot.value, abs=3e-4)
        assert other.bearing == pytest.approx(-shot.bearing, abs=2e-3)
    assert abs(shots[0].bearing) > 5e-3


@pytest.mark.parametrize("seed", range(4))
def test_adding_a_club_never_raises_a_value(seed):
    # 3e-3 is what the parabola between bearings and the tolerance of a solve may turn round.
    rng = np.random.default_rng(seed)
    carry = float(rng.uniform(50, 170))
    added = swing(
        "Added",
        carry,
        wild(
            carry,
            float(rng.uniform(-6, 6)),
            short=float(rng.uniform(0, 0.2)),
            spread=float(rng.uniform(0.7, 1.5)),
        ),
        lies=(Lie.TEE, Lie.FAIRWAY, Lie.ROUGH),
        **TREES_CLIMB,
    )
    swings = bag(clubs=(140.0, 100.0, 66.0))
    before = solve(HOLE, golfer(*swings), tolerance=1e-4)
    after = solve(HOLE, golfer(*swings, added), tolerance=1e-4)
    # On these coarse cells a corner of the map behind the wood may lose its best action between
    # the exploring cells and the fine ones; nearly no ball ends there.
    for name in ("state", "patch"):
        old, new = (getattr(one.solution.values, name) for one in (before, after))
        assert (new - old)[places(before, name, within=38.0)].max() < 3e-3
    assert after.tee_value < before.tee_value + 2e-3


def test_finer_cells_and_bearings_converge():
    hole = box_hole(120.0, (Ground.FAIRWAY, shapely.box(30, -14, 104, 18)),
                    (Ground.GREEN, shapely.box(106, -12, 134, 12)),
                    (Ground.SAND, shapely.box(96, -24, 118, -11)))  # fmt: skip
    model = golfer(*bag(clubs=(118.0, 95.0, 70.0)))

    def value(cell, step):
        tables = dataclasses.replace(
            COARSE,
            grid=GridOptions(cell=cell, margin=48.0, behind=20.0, beyond=48.0),
            bearing_step=math.radians(step),
            patch_bearing_step=math.radians(2 * step),
            threads=2,
        )
        return solve(hole, model, tables, tolerance=1e-3, refine=True).tee_value

    found = {
        (cell, step): value(cell, step)
        for cell, step in ((4.0, 3.0), (2.0, 3.0), (1.5, 3.0), (1.5, 1.0))
    }
    print(found)
    finest = found[1.5, 1.0]
    errors = [abs(v - finest) for v in found.values()]
    assert errors[1] < errors[0] + 4e-3
    assert errors[2] < errors[1] + 4e-3
    assert abs(found[2.0, 3.0] - found[1.5, 3.0]) < 0.01
    assert errors[2] < 0.01


def windy(speed_shift, across_shift):
    """Shift of the carry by winds from 36 directions: so much shorter against, so much aside."""
    angle = np.radians(10.0) * np.arange(36)
    return np.column_stack((-speed_shift * np.cos(angle), -across_shift * np.sin(angle)))


STRAIGHT = box_hole(
    LENGTH,
    (Ground.FAIRWAY, shapely.box(30, -17, 168, 17)),
    (Ground.GREEN, shapely.box(172, -15, 206, 15)),
    (Ground.SAND, shapely.box(150, -34, 180, -18)),
    (Ground.SAND, shapely.box(150, 18, 180, 34)),
    azimuth=0.5,
)


def in_wind(degrees_from):
    """A golfer without a side, in wind from so many degrees to the right of straight ahead."""
    blown = [
        dataclasses.replace(one, wind_shift_m=windy(0.12 * one.carry_m, 0.1 * one.carry_m))
        for one in bag(offline=0.0, correlation=0.0)
    ]
    wind = None if degrees_from is None else STRAIGHT.frame.azimuth + math.radians(degrees_from)
    return golfer(*blown, wind_from=wind)


def test_cross_winds_from_left_and_right_mirror_each_other():
    right, left = (
        solve(STRAIGHT, in_wind(side), tolerance=1e-5, refine=True, double_precision=True)
        for side in (90.0, -90.0)
    )
    shot, other = right.tee_shots()[0], left.tee_shots()[0]
    # Wind from the right: aim right of the line of play.
    assert shot.bearing > 0.03
    assert other.bearing == pytest.approx(-shot.bearing, abs=1e-3)
    assert other.value == pytest.approx(shot.value, abs=1e-4)
    slot = PLAYED_LIES.index(Lie.FAIRWAY)
    off = left.solution.values.state[slot][:, ::-1] - right.solution.values.state[slot]
    assert np.abs(off)[places(right, "state")[slot]].max() < 1e-3


def test_a_tail_wind_saves_strokes_and_a_head_wind_none():
    head, none, tail = (solve(STRAIGHT, in_wind(side)).tee_value for side in (0.0, None, 180.0))
    # Down wind the longest club reaches the green; against it what is left is as easy as before.
    assert tail < min(none, head) - 0.2
    assert none < head + 0.01


def test_uphill_asks_for_more_club():
    # One stroke to a green 90 m away, up or down by 8 m: steep descents move the landing point by
    # the height over the tangent of the descent.
    clubs = [
        swing(f"{carry}", float(carry), stock(float(carry), sd=(4.0, 5.0)), descent=0.75)
        for carry in range(70, 115, 4)
    ]
    model = golfer(*clubs, *partial_swings(8, 16, 26, 36, 46, sd=0.08))
    best = {}
    for rise in (-8.0, 0.0, 8.0):
        heights = ElevationProfile((0.0, 70.0, 71.0), (0.0, 0.0, rise))
        hole = box_hole(90.0, (Ground.GREEN, shapely.box(78, -12, 102, 12)), elevation=heights)
        found = solve(hole, model, refine=True)
        best[rise] = found.solution.model.swings[found.tee_shots()[0].swing].carry_m
    slope = 8.0 / math.tan(0.75)
    assert best[0.0] == pytest.approx(90.0, abs=4.0)
    assert best[8.0] - best[0.0] == pytest.approx(slope, abs=4.1)
    assert best[0.0] - best[-8.0] == pytest.approx(slope, abs=4.1)


@pytest.mark.parametrize("fall", [-40.0, 40.0])
def test_a_level_green_is_worth_the_same_however_far_below_or_above_the_tee(fall):
    # A patch holds little more than the green; no ball near it may leave it for the tee's height.
    model = model_of(swing("iron", 90.0, stock(90.0)), *partial_swings(8.0, 16.0, 32.0, sd=0.2))
    cells = dataclasses.replace(COARSE, grid=dataclasses.replace(COARSE.grid, patch_ratio=4))
    green = (Ground.GREEN, shapely.box(140, -10, 160, 10))
    slope = ElevationProfile((0.0, 30.0, 80.0), (0.0, 0.0, fall))
    level, sloping = (
        solve(box_hole(150.0, green, elevation=one), model, cells) for one in (None, slope)
    )
    rough = PLAYED_LIES.index(Lie.ROUGH)
    inner = level.solver.builder.inner_patch[rough]
    wanted = level.solution.values.patch[rough][inner]
    assert sloping.solution.values.patch[rough][inner] == pytest.approx(wanted, abs=0.01)


def test_dearer_penalties_are_fewer_and_cost_strokes(plain):
    found = []
    for price in (0.0, 0.5, 2.0):
        one = (
            plain
            if price == 0
            else solve(
                HOLE,
                golfer(*bag()),
                tolerance=1e-4,
                refine=True,
                count_penalties=True,
                penalty_price=price,
            )
        )
        shot = one.tee_shots()[0]
        found.append((shot.penalties, shot.value - price * shot.penalties))
    print(found)
    penalties, strokes = zip(*found, strict=True)
    assert penalties[0] > penalties[1] - 1e-3 > penalties[2] - 2e-3
    assert penalties[0] > penalties[2] + 0.005
    assert strokes[0] < strokes[1] + 2e-3 < strokes[2] + 4e-3


def test_no_value_is_below_the_strokes_needed(plain):
    # Whatever is found between lattice bearings, a ball off the green takes a stroke and a putt.
    for values in (plain.solution.values.state, plain.solution.values.patch):
        present = [PLAYED_LIES.index(lie) for lie in plain.solution.tables.present]
        assert values[present].min() > 2.0
