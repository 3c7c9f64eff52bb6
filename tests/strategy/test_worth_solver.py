"""Best play of a hole for a worth of its score, against closed forms and every policy."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely

from planner.course.lies import Ground, Lie
from planner.strategy.hole_plan import build_levels, solve_hole
from planner.strategy.policy import TeeShot
from planner.strategy.score_distribution import ScoreDistribution, distribution
from planner.strategy.score_worth import (
    ScoreWorth,
    match_worth,
    maximum_worth,
    points_worth,
    target_worth,
    worth_of_scores,
)
from planner.strategy.shot_evaluation import ShotEvaluator
from planner.strategy.solution import SolveOptions
from planner.strategy.worth_solver import GAP, WorthSolver, narrowed

from .builders import COARSE, box_hole, either, model_of, partial_swings, stock, swing
from .test_general_solver import GOLFER, HOLE

LENGTH, FULL = 100.0, 100.0
GREEN = (Ground.GREEN, shapely.box(60, -40, 140, 40))
SHORT = partial_swings(10, 20, 30, 40, sd=0.02)
ONE_PUTT = 0.25
"""With 1.75 expected putts everywhere: one in a quarter of cases, else two."""


def worth_solver(hole, model, *, gap: float = GAP, refine: bool = False) -> WorthSolver:
    levels = build_levels(hole, COARSE)
    options = SolveOptions(tables=COARSE, tolerance=1e-5, max_sweeps=100, refine=refine)
    solver, solution = narrowed(levels, solve_hole(levels, model, options)[0], gap=gap)
    tee = hole.tees[0].position_hole
    first = ShotEvaluator(solution, solver).best_by_swing(tee, Lie.TEE)[0]
    return WorthSolver(
        solver,
        solution,
        tee,
        TeeShot(first.swing, first.bearing, first.value),
        range(len(model.swings)),
        most=12,
        gap=gap,
    )


def best(solver: WorthSolver, worth: ScoreWorth, in_hand: int) -> float:
    found = solver.solve(worth, first=in_hand - 10, last=in_hand)
    return found.tee_shot(in_hand).value


@pytest.mark.parametrize("share", [0.6, 0.8])
def test_one_policy_has_its_own_chances(share):
    # Strokes to the green are geometric, and where they were missed the green is as easy to reach.
    model = model_of(swing("Iron", FULL, either(share, (FULL, 0.0), (0.0, 0.0))), *SHORT)
    solver = worth_solver(box_hole(LENGTH, GREEN), model)
    found = solver.solve(target_worth(), first=0, last=9)
    for k in range(10):
        reached = [1.0 - (1.0 - share) ** n for n in (max(k - 1, 0), max(k - 2, 0))]
        known = ONE_PUTT * reached[0] + (1.0 - ONE_PUTT) * reached[1]
        assert solver.score.chance_at_most(k) == pytest.approx(known, abs=1e-3)
        assert found.tee_shot(k).value == pytest.approx(solver.score.chance_at_most(k), abs=1e-3)


def by_every_policy(q: float, in_hand: int) -> float:
    """Wood or iron at each number of strokes in hand; a lost wood costs two and is replayed."""

    def holed(left: int) -> float:
        return {1: ONE_PUTT}.get(left, 1.0 if left > 1 else 0.0)

    def chance(woods: tuple[bool, ...], left: int) -> float:
        if left <= 0:
            return 0.0
        if woods[left - 1]:
            return (1 - q) * holed(left - 1) + q * chance(woods, left - 2)
        return holed(left - 2)

    return max(chance(woods, in_hand) for woods in itertools.product((False, True), repeat=in_hand))


@pytest.mark.parametrize("q", [0.2, 0.37, 0.6])
@pytest.mark.parametrize("in_hand", [2, 3, 4, 5, 6])
def test_a_risk_is_taken_where_it_pays(q, in_hand):
    wood = swing("Wood", FULL, either(1 - q, (FULL, 0.0), (50.0, 200.0)), lies=(Lie.TEE,))
    iron = swing("Iron", 50.0, stock(50.0, sd=(2.0, 2.0)))
    hole = box_hole(LENGTH, (Ground.GREEN, shapely.box(65, -35, 135, 35)))
    solver = worth_solver(hole, model_of(wood, iron, *SHORT), gap=3.0)
    known = by_every_policy(q, in_hand)
    assert best(solver, target_worth(), in_hand) == pytest.approx(known, abs=2e-3)
    # Fewest strokes alone: the wood up to q = 1/3, whatever the stand.
    planned = solver.score.chance_at_most(in_hand)
    assert planned <= known + 1e-3


def worth_by_every_policy(q: float, worth: ScoreWorth, most: int) -> float:
    """Best expected worth of the score of the same hole, by trying every policy.

    Scores from ``most`` on are worth the same.
    """

    def of(score: int) -> float:
        return float(worth.at(-min(score, most)))

    def reached(spent: int) -> float:
        return ONE_PUTT * of(spent + 1) + (1 - ONE_PUTT) * of(spent + 2)

    def expected(woods: tuple[bool, ...], spent: int) -> float:
        if spent >= most:
            return of(most)
        if woods[spent]:
            return (1 - q) * reached(spent + 1) + q * expected(woods, spent + 2)
        return reached(spent + 2)

    return max(expected(woods, 0) for woods in itertools.product((False, True), repeat=most))


THEIRS = distribution([0.3, 0.4, 0.3], first=3)


@pytest.mark.parametrize("q", [0.2, 0.45, 0.7])
@pytest.mark.parametrize(
    ("worth", "most"),
    [
        (points_worth(3), 5),
        (points_worth(4), 6),
        (maximum_worth(4), 4),
        (maximum_worth(6), 6),
        (match_worth(THEIRS, win=1.0, half=0.5, loss=0.0), 6),
        (match_worth(THEIRS, win=1.0, half=0.5, loss=0.0, received=1), 7),
    ],
    ids=[
        "points of par 3",
        "points of par 4",
        "at most 4",
        "at most 6",
        "match",
        "match with a stroke",
    ],
)
def test_other_forms_against_every_policy(q, worth, most):
    wood = swing("Wood", FULL, either(1 - q, (FULL, 0.0), (50.0, 200.0)), lies=(Lie.TEE,))
    iron = swing("Iron", 50.0, stock(50.0, sd=(2.0, 2.0)))
    hole = box_hole(LENGTH, (Ground.GREEN, shapely.box(65, -35, 135, 35)))
    solver = worth_solver(hole, model_of(wood, iron, *SHORT), gap=9.0)
    known = worth_by_every_policy(q, worth, most)
    assert best(solver, worth, 0) == pytest.approx(known, abs=4e-3)


@pytest.fixture(scope="module")
def general() -> WorthSolver:
    return worth_solver(HOLE, GOLFER, refine=True)


def test_counting_strokes_is_fewest_strokes(general):
    fewest = general.tee_shot.value
    worth = worth_of_scores(-np.arange(1.0, 21.0))
    found = general.solve(worth, first=-16, last=0)
    assert -found.tee_shot(0).value == pytest.approx(fewest, abs=3e-3)
    # Cells of 6 m and bearings 6 degrees apart: the plan's turns between them cost that much.
    assert general.score.mean == pytest.approx(fewest, abs=8e-3)


def test_a_wider_choice_changes_nothing(general):
    wide = worth_solver(HOLE, GOLFER, gap=2.0, refine=True)
    for worth, first, last in ((target_worth(), 1, 9), (points_worth(3), -6, 0)):
        near, far = (solver.solve(worth, first=first, last=last) for solver in (general, wide))
        for s in range(first, last + 1):
            assert near.tee_shot(s).value == pytest.approx(far.tee_shot(s).value, abs=1e-4)


def test_more_in_hand_is_never_worth_less_and_best_play_never_less_than_the_plan(general):
    found = general.solve(target_worth(), first=0, last=9)
    worths = [found.tee_shot(s).value for s in range(10)]
    assert np.all(np.diff(worths) >= -1e-6)
    for s, worth in enumerate(worths):
        assert worth >= general.score.chance_at_most(s) - 2e-4


def test_the_best_shot_followed_by_best_play_has_the_best_worth(general):
    found = general.solve(target_worth(), first=0, last=8)
    for s in (3, 4, 5):
        shot = found.tee_shot(s)
        left = general.tee_shot.value
        after = found.after_shot(general.tee, Lie.TEE, shot.swing, shot.bearing, left=left)
        assert after[s] == pytest.approx(shot.value, abs=2e-3)


def test_fewer_strokes_followed_changes_little(general):
    # Below what is followed the plan goes on.
    whole = general.solve(target_worth(), first=0, last=6).tee_shot(6).value
    part = general.solve(target_worth(), first=2, last=6).tee_shot(6).value
    planned = general.score.chance_at_most(6)
    assert planned - 1e-4 <= part <= whole + 1e-4


def test_forms_of_play_count_the_plan_as_scores_do(general):
    score = general.score
    assert points_worth(3).expected(score, 0) == pytest.approx(
        sum(score.chance(k) * max(5 - k, 0) for k in range(1, 13)), abs=1e-9
    )
    assert -maximum_worth(5).expected(score, 0) == pytest.approx(score.capped(5).mean, abs=1e-9)
    for worth in (points_worth(3), maximum_worth(5)):
        assert best(general, worth, 0) >= worth.expected(score, 0) - 1e-3


def test_match_play_on_one_hole():
    theirs = distribution([0.2, 0.5, 0.3], first=3)
    worth = match_worth(theirs, win=1.0, half=0.5, loss=0.0)
    assert worth.at([-2, -3, -4, -5, -6, -9]).tolist() == pytest.approx(
        [1.0, 0.9, 0.55, 0.15, 0.0, 0.0]
    )
    assert match_worth(theirs, win=1.0, half=0.5, loss=0.0, received=1).at(-4) == pytest.approx(0.9)
    # Against a sure three the match score does not matter, only the chance of three.
    sure = match_worth(distribution([1.0], first=3), win=1.0, half=1.0, loss=0.0)
    mine: ScoreDistribution = distribution([0.25, 0.75], first=3)
    assert sure.expected(mine, 0) == pytest.approx(0.25)
    with pytest.raises(ValueError, match="followed"):
        match_worth(distribution([0.5], first=3), win=1.0, half=0.5, loss=0.0)
    with pytest.raises(ValueError, match="ever less"):
        match_worth(theirs, win=0.0, half=0.5, loss=1.0)


def test_worth_must_rise():
    with pytest.raises(ValueError, match="worth less"):
        ScoreWorth(0, np.array([1.0, 0.0]))
    with pytest.raises(ValueError, match="finite"):
        ScoreWorth(0, np.array([np.nan]))
    with pytest.raises(ValueError, match="at least 1"):
        maximum_worth(0)
