"""Effects of errors of patterns, to first order, against solving the hole again."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planner.course.lies import Ground, Lie
from planner.golfer.pattern_doubt import PatternDoubt, shifted
from planner.golfer.shot_outcome import ShotModel
from planner.golfer.shot_pattern import ShotPattern, normal_covariance
from planner.strategy.ground_lines import ground_partition
from planner.strategy.hole_advice import HoleAdviser, map_box
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.pattern_slopes import ShotSlopes, shot_slopes
from planner.strategy.solution import SolveOptions
from tests.strategy.builders import COARSE, box_hole, model_of, partial_swings, swing

HOLE = box_hole(
    170.0,
    (Ground.FAIRWAY, shapely.box(20, -14, 160, 14)),
    (Ground.GREEN, shapely.box(160, -11, 182, 11)),
    (Ground.RED, shapely.box(138, -40, 152, 30)),
)
DOUBTS = {
    "Iron": PatternDoubt(0.02, 0.15, 0.15, 0.3),
    "Wedge": PatternDoubt(0.02, 0.15, 0.15, 0.3),
}


def with_mishits(carry: float) -> ShotPattern:
    return ShotPattern(
        [0.85, 0.15],
        [[carry, 0.0], [0.5 * carry, 0.0]],
        [
            normal_covariance((0.06 * carry, 0.06 * carry), 0.0),
            normal_covariance((0.12 * carry, 0.08 * carry), 0.0),
        ],
        ("stock", "short"),
    )


def golfer() -> ShotModel:
    full = [
        swing(club, carry, with_mishits(carry))
        for club, carry in (("Iron", 166.0), ("Wedge", 92.0))
    ]
    return model_of(*full, *partial_swings(6.0, 14.0, 26.0, 40.0, 58.0), putts=None)


def adviser_of(levels, model: ShotModel) -> HoleAdviser:  # type: ignore[no-untyped-def]
    options = SolveOptions(tables=COARSE, tolerance=1e-4, count_penalties=False)
    solution, solver = solve_hole(levels, model, options)
    return HoleAdviser(solution, solver, HOLE.tees[0])


@pytest.fixture(scope="module")
def levels():  # type: ignore[no-untyped-def]
    return build_levels(HOLE, COARSE)


def slopes_of(adviser: HoleAdviser, doubt: str, balls: int = 8000) -> ShotSlopes:
    model = adviser.model
    pair = (shifted(model, DOUBTS, doubt, -1.0), shifted(model, DOUBTS, doubt, 1.0))
    return shot_slopes(
        adviser.solution,
        adviser.policy,
        ground_partition(HOLE, map_box=map_box(adviser.solution.tables)),
        HOLE.tees[0].position_hole,
        [pair],
        adviser.solution.edge_values[0],
        balls=balls,
        rng=np.random.default_rng(5),
    )


@pytest.mark.parametrize("doubt", ["mishits", "carry_sd", "offline_sd", "carry"])
def test_all_clubs_together_change_the_value_as_solving_again_does(levels, doubt: str) -> None:  # type: ignore[no-untyped-def]
    adviser = adviser_of(levels, golfer())
    found = slopes_of(adviser, doubt)
    low, high = (
        adviser_of(levels, shifted(golfer(), DOUBTS, doubt, sign)).tee_value for sign in (-1, 1)
    )
    change = 0.5 * (high - low)
    # Lattice, policy between its points and draws each add about a hundredth.
    assert float(found.strokes.sum()) == pytest.approx(change, abs=0.015)


def test_more_mishits_and_more_spread_cost_strokes(levels) -> None:  # type: ignore[no-untyped-def]
    adviser = adviser_of(levels, golfer())
    assert slopes_of(adviser, "mishits").strokes.sum() > 0.04
    assert slopes_of(adviser, "offline_sd").strokes.sum() > 0.0


def test_shots_are_counted_by_club(levels) -> None:  # type: ignore[no-untyped-def]
    adviser = adviser_of(levels, golfer())
    found = slopes_of(adviser, "carry", balls=1000)
    shots = dict(zip(found.clubs, found.shots, strict=True))
    first = adviser.place_values(HOLE.tees[0].position_hole, Lie.TEE)[0]
    assert shots[adviser.model.swings[first.swing].club] >= 1.0
    assert sum(shots.values()) < adviser.tee_value


def test_nothing_changes_with_the_same_patterns(levels) -> None:  # type: ignore[no-untyped-def]
    adviser = adviser_of(levels, golfer())
    found = shot_slopes(
        adviser.solution,
        adviser.policy,
        adviser.partition,
        HOLE.tees[0].position_hole,
        [(adviser.model, adviser.model)],
        adviser.solution.edge_values[0],
        balls=200,
        rng=np.random.default_rng(5),
    )
    assert (found.strokes == 0.0).all()
