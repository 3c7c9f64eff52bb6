"""Simulated holes and rounds beside their exact chances: what agrees, and what is found out."""

from __future__ import annotations

import numpy as np
import pytest

from planner.strategy.roll_out import RollOut
from planner.strategy.round_result import HoleScore
from planner.strategy.score_distribution import convolve, distribution
from planner.strategy.simulated_round import simulated_hole, simulated_round

CHANCES = np.array([0.02, 0.3, 0.45, 0.18, 0.0499, 0.0001])
BALLS = 40_000


def hole(ref: str, chances: np.ndarray = CHANCES) -> HoleScore:
    return HoleScore(ref, 4, distribution(chances, first=3))


def drawn(seed: int, chances: np.ndarray = CHANCES) -> RollOut:
    rng = np.random.default_rng(seed)
    scores = rng.choice(np.arange(3.0, 9.0), size=BALLS, p=chances)
    return RollOut(scores, np.zeros(BALLS), np.full(BALLS, 2.0), np.ones(BALLS, dtype=bool))


def test_draws_of_the_chances_agree() -> None:
    holes = [simulated_hole(hole(str(n)), drawn(n), seconds=1.5) for n in range(1, 19)]
    assert max(abs(one.errors) for one in holes) < 3.0
    # Four balls of 40,000 are too few to compare a chance with.
    assert [check.score for check in holes[0].chances] == [3, 4, 5, 6, 7]
    assert max(abs(one.worst.errors) for one in holes if one.worst) < 4.0
    # They are standard errors: over all scores of all holes their square is about one.
    squares = [check.errors**2 for one in holes for check in one.chances]
    assert np.mean(squares) == pytest.approx(1.0, abs=0.35)
    total = convolve([hole(str(n)).score for n in range(1, 19)])
    played = simulated_round(holes, total, [79, 89])
    assert played.rounds == BALLS
    assert played.seconds == pytest.approx(27.0)
    assert abs(played.errors) < 3.0
    assert all(abs(check.errors) < 3.5 for check in played.within)
    assert played.within[1].exact == pytest.approx(total.chance_at_most(89))


def test_a_chance_off_by_a_hundredth_is_found() -> None:
    other = CHANCES + np.array([0.0, 0.01, -0.01, 0.0, 0.0, 0.0])
    found = simulated_hole(hole("1", other), drawn(1), seconds=0.0)
    assert found.worst is not None
    assert abs(found.worst.errors) > 3.5


def test_a_chance_of_none_that_happens_is_beyond_all_errors() -> None:
    sure = simulated_hole(hole("1", np.array([1.0])), drawn(1), seconds=0.0)
    assert sure.worst is not None
    assert sure.worst.errors == -np.inf
    always = RollOut(np.full(100, 3.0), np.zeros(100), np.ones(100), np.ones(100, dtype=bool))
    same = simulated_hole(hole("1", np.array([1.0])), always, seconds=0.0)
    assert (same.errors, same.standard_error) == (0.0, 0.0)


def test_holes_played_unequally_often_make_no_round() -> None:
    one = simulated_hole(hole("1"), drawn(1), seconds=0.0)
    few = RollOut(np.full(9, 3.0), np.zeros(9), np.ones(9), np.ones(9, dtype=bool))
    with pytest.raises(ValueError, match="equally often"):
        simulated_round([one, simulated_hole(hole("2"), few, seconds=0.0)], convolve([]), [80])
