"""Handicaps against the published worked examples, each with its source."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import betainc

from planner.golfer.expected_index import index_chances
from planner.golfer.handicap import (
    Cap,
    CourseRating,
    adjusted_gross_score,
    counting_scores,
    course_handicap,
    exceptional_reduction,
    handicap_index,
    maximum_hole_score,
    playing_handicap,
    record_with_reductions,
    score_differential,
    strokes_received,
    target_score,
    unrounded_course_handicap,
)
from planner.golfer.yardage_rating import RatedFor, yardage_rating
from planner.units import M_PER_YD

NEUTRAL = CourseRating(72.0, 113)


# Rules of Handicapping, Rule 5 interpretations (The R&A), worked examples.
@pytest.mark.parametrize(
    ("differentials", "index"),
    [
        ([15.3, 15.2, 16.6], 13.2),
        ([40.7, 42.4, 36.1], 34.1),
        ([40.7, 42.4, 36.1, 45.9, 43.6, 45.0], 37.4),
    ],
)
def test_short_records_of_the_rules(differentials: list[float], index: float) -> None:
    assert handicap_index(differentials).value == index


# Rules of Handicapping 5.2a, table.
@pytest.mark.parametrize(
    ("scores", "low", "adjustment"),
    [
        (3, 1, -2), (4, 1, -1), (5, 1, 0), (6, 2, -1), (7, 2, 0), (8, 2, 0), (9, 3, 0),
        (10, 3, 0), (11, 3, 0), (12, 4, 0), (13, 4, 0), (14, 4, 0), (15, 5, 0), (16, 5, 0),
        (17, 6, 0), (18, 6, 0), (19, 7, 0), (20, 8, 0), (35, 8, 0),
    ],
)  # fmt: skip
def test_how_many_scores_count(scores: int, low: int, adjustment: int) -> None:
    assert counting_scores(scores) == (low, adjustment)
    record = [float(10 + i) for i in range(scores)]
    found = handicap_index(record)
    start = max(scores - 20, 0)
    assert found.counting == tuple(range(start, start + low))
    assert found.value == pytest.approx(10 + start + (low - 1) / 2 + adjustment)
    assert found.considered == min(scores, 20)


def test_two_scores_give_no_index() -> None:
    with pytest.raises(ValueError, match="needs 3 scores"):
        handicap_index([10.0, 11.0])


def test_only_the_last_twenty_are_looked_at() -> None:
    assert handicap_index([0.0] * 5 + [20.0] * 20).value == 20.0


def test_of_equal_scores_the_later_counts() -> None:
    assert handicap_index([12.0, 11.0, 11.0, 13.0]).counting == (2,)


def test_index_ends_at_54() -> None:
    # Rule 5.3 and Rule 5.2a (i): greater than 54.0 is 54.0.
    assert handicap_index([70.0, 71.0, 72.0]).value == 54.0


# Rule 5.1c: rounding of minus differentials is upward towards 0.
@pytest.mark.parametrize(("over", "rounded"), [(-1.54, -1.5), (-1.55, -1.5), (-1.56, -1.6)])
def test_minus_differentials_round_towards_zero(over: float, rounded: float) -> None:
    assert score_differential(72.0 + over, NEUTRAL) == rounded


def test_differential_by_hand() -> None:
    # (113 / 125) x (85 - 71.2 - 1.0) = 11.5712.
    assert score_differential(85, CourseRating(71.2, 125), pcc=1.0) == 11.6
    # Rule 5.1a: .5 rounded upwards; 113/113 x (80 - 69.95) would be 10.05 in binary 10.0499...
    assert score_differential(80, CourseRating(69.95, 113)) == 10.1


@pytest.mark.parametrize("pcc", [-1.5, 3.5])
def test_playing_conditions_have_a_range(pcc: float) -> None:
    # Rule 5.1a, note: -1.0 to +3.0.
    with pytest.raises(ValueError, match="PCC"):
        score_differential(80, NEUTRAL, pcc=pcc)


# Rule 5.8, example of the USGA's questions and answers on safeguards: low 10.0, 13.4 -> 13.2.
# The others by the Rule: half above 3.0, never more than 5.0 above the low index.
@pytest.mark.parametrize(
    ("low", "found", "index", "cap"),
    [
        (10.0, 13.4, 13.2, Cap.SOFT),
        (10.0, 13.0, 13.0, Cap.NONE),
        (10.0, 14.0, 13.5, Cap.SOFT),
        (10.0, 17.0, 15.0, Cap.SOFT),
        (10.0, 17.2, 15.0, Cap.HARD),
        (10.0, 25.0, 15.0, Cap.HARD),
        (10.0, 8.0, 8.0, Cap.NONE),
    ],
)
def test_caps(low: float, found: float, index: float, cap: Cap) -> None:
    result = handicap_index([found] * 20, low_index=low)
    assert (result.value, result.cap, result.before_cap) == (index, cap, found)


def test_caps_need_a_full_record() -> None:
    assert handicap_index([25.0] * 19, low_index=10.0).value == 25.0


# Rule 5.9, table: 7.0 to 9.9 under the index -1.0, 10.0 or more -2.0.
@pytest.mark.parametrize(
    ("differential", "change"), [(13.1, 0), (13.0, -1), (10.1, -1), (10.0, -2), (2.0, -2)]
)
def test_exceptional_scores(differential: float, change: int) -> None:
    assert exceptional_reduction(differential, 20.0) == change


def test_exceptional_score_reduces_the_whole_record() -> None:
    found = record_with_reductions([20.0] * 20 + [12.5])
    assert found.differentials[0] == 20.0
    assert found.differentials[1:] == (19.0,) * 19 + (11.5,)
    assert found.exceptional == (20,)
    assert handicap_index(found.differentials).value == 18.1  # (7 x 19.0 + 11.5) / 8 = 18.06


def test_ordinary_and_first_scores_are_not_exceptional() -> None:
    ordinary = [20.0, 9.0, 21.0, 22.0]
    assert record_with_reductions(ordinary).differentials == tuple(ordinary)


def test_a_second_exceptional_score_is_held_against_the_reduced_index() -> None:
    # The index after the first is 18.1: 11.0 is 7.1 under it, 11.2 only 6.9. Without reductions
    # it is (7 x 20.0 + 12.5) / 8 = 19.1, and 11.2 is 7.9 under.
    twice = [20.0] * 20 + [12.5, 11.0]
    assert record_with_reductions(twice).exceptional == (20, 21)
    assert record_with_reductions([*twice[:-1], 11.2]).exceptional == (20,)
    assert record_with_reductions([*twice[:-1], 11.2], reduce=False).exceptional == (20, 21)
    assert record_with_reductions(twice, reduce=False).differentials == tuple(twice)


def test_nine_hole_course_handicap_of_the_guidance() -> None:
    # USGA, Local Guidance for Rule 6: 8.7 / 2 = 4.35 -> 4.4; 4.4 x 121 / 113 - 0.7 = 4.011.
    nine = CourseRating(35.3, 121)
    full = unrounded_course_handicap(8.7, nine, 36, nine_holes=True)
    assert float(full) == pytest.approx(4.4 * 121 / 113 - 0.7)
    assert math.floor(1000 * full) == 4011
    assert course_handicap(8.7, nine, 36, nine_holes=True) == 4


@pytest.mark.parametrize(
    ("index", "rating", "slope", "par", "handicap"),
    [
        (18.4, 71.2, 128, 72, 20),  # 20.84 - 0.8 = 20.04
        (10.5, 72.0, 113, 72, 11),  # .5 upwards
        (-1.5, 72.0, 113, 72, -1),  # and for plus handicaps towards zero
        (-2.0, 74.0, 140, 72, 0),  # -2.48 + 2.0 = -0.48
    ],
)
def test_course_handicap(index: float, rating: float, slope: int, par: int, handicap: int) -> None:
    # Rule 6.1: index x slope / 113 + (rating - par), rounded with .5 upwards.
    assert course_handicap(index, CourseRating(rating, slope), par) == handicap


def test_playing_handicap_takes_the_unrounded_course_handicap() -> None:
    # Rule 6.2 and the USGA's answer on rounding: 10.5 x 0.95 = 9.975 -> 10, 11 x 0.95 would be
    # 10.45 -> 10 as well; 11.4 tells them apart: 10.83 -> 11, rounded first 10.45 -> 10.
    assert playing_handicap(10.5, NEUTRAL, 72) == 10
    assert playing_handicap(11.4, NEUTRAL, 72) == 11
    assert playing_handicap(11.4, NEUTRAL, 72, allowance=1.0) == 11
    assert playing_handicap(20.0, NEUTRAL, 72, allowance=0.85) == 17


def test_target_score() -> None:
    # USGA, Local Guidance for Rule 6: target score = course handicap + par.
    assert target_score(20, 72) == 92


@pytest.mark.parametrize("slope", [54, 156])
def test_slope_has_a_range(slope: int) -> None:
    with pytest.raises(ValueError, match="slope"):
        CourseRating(72.0, slope)


def test_24_strokes_go_twice_to_the_six_hardest() -> None:
    received = strokes_received(24, list(range(1, 19)))
    assert received == (2,) * 6 + (1,) * 12


def test_plus_handicap_gives_back_from_the_highest_index() -> None:
    # Appendix E.
    received = dict(
        zip(range(18, 0, -1), strokes_received(-2, list(range(18, 0, -1))), strict=True)
    )
    assert [index for index, strokes in received.items() if strokes] == [18, 17]
    assert received[18] == -1


def test_nine_holes_with_odd_stroke_indices() -> None:
    received = strokes_received(11, [7, 3, 15, 1, 11, 17, 9, 5, 13])
    assert received == (1, 2, 1, 2, 1, 1, 1, 1, 1)


@given(st.integers(-10, 60), st.permutations(list(range(1, 19))))
def test_all_strokes_are_given(handicap: int, indices: list[int]) -> None:
    received = strokes_received(handicap, indices)
    assert sum(received) == handicap
    assert max(received) - min(received) <= 1
    hardest_first = [strokes for _, strokes in sorted(zip(indices, received, strict=True))]
    assert hardest_first == sorted(received, reverse=True)


def test_equal_stroke_indices_are_refused() -> None:
    with pytest.raises(ValueError, match="different"):
        strokes_received(5, [1, 1, 2])


# Rule 3.1: par + 2 + strokes received; par + 5 without an index. 3.1b from memory: par + 5 where
# four strokes or more are received.
@pytest.mark.parametrize(
    ("par", "received", "maximum"), [(4, 0, 6), (3, 1, 6), (5, 2, 9), (4, -1, 5), (4, None, 9),
                                     (4, 4, 9)]
)  # fmt: skip
def test_maximum_hole_score(par: int, received: int | None, maximum: int) -> None:
    assert maximum_hole_score(par, received) == maximum


def test_adjusted_gross_score() -> None:
    assert adjusted_gross_score([4, 9, 8], [4, 4, 3], [1, 1, 0]) == 4 + 7 + 5


def test_yardage_rating_of_6500_yards() -> None:
    # USGA yardage rating: men L/220 + 40.9, bogey L/160 + 50.7: 70.45 / 91.33 / 112.
    found = yardage_rating(6500 * M_PER_YD, RatedFor.MEN)
    assert (round(found.scratch, 2), round(found.bogey, 3), found.slope) == (70.45, 91.325, 112)
    assert found.course == CourseRating(70.4, 112)


def test_yardage_rating_for_women() -> None:
    # L/180 + 40.1, L/120 + 51.3, slope factor 4.24.
    found = yardage_rating(5400 * M_PER_YD, RatedFor.WOMEN)
    assert found.scratch == pytest.approx(70.1)
    assert found.bogey == pytest.approx(96.3)
    assert found.slope == 111


@pytest.mark.parametrize("rated_for", list(RatedFor))
def test_nine_holes_are_half_of_them_twice(rated_for: RatedFor) -> None:
    nine, twice = yardage_rating(2800.0, rated_for, holes=9), yardage_rating(5600.0, rated_for)
    assert 2 * nine.scratch == pytest.approx(twice.scratch)
    assert nine.slope == twice.slope


@pytest.mark.parametrize(("length", "holes"), [(0.0, 18), (math.nan, 18), (5000.0, 12)])
def test_yardage_rating_needs_a_course(length: float, holes: int) -> None:
    with pytest.raises(ValueError, match=r"length|holes"):
        yardage_rating(length, RatedFor.MEN, holes=holes)


def lattice_chances(size: int) -> np.ndarray:
    weights = np.arange(1.0, size + 1)
    return weights / weights.sum()


@pytest.mark.parametrize("rounds", [3, 4, 5, 6])
def test_expected_index_is_that_of_enumeration(rounds: int) -> None:
    course, scores, chances = (
        CourseRating(71.3, 127),
        np.array([80, 84, 85, 97]),
        lattice_chances(4),
    )
    expected: dict[float, float] = {}
    for record in itertools.product(range(4), repeat=rounds):
        index = handicap_index([score_differential(int(scores[i]), course) for i in record]).value
        expected[index] = expected.get(index, 0.0) + math.prod(float(chances[i]) for i in record)
    found = index_chances(scores, chances, course, rounds=rounds)
    told = {i: c for i, c in zip(found.indices.tolist(), found.chances.tolist(), strict=True) if c}
    assert told == pytest.approx(expected, abs=1e-12)


def test_expected_index_of_a_full_record_follows_order_statistics() -> None:
    # The j-th lowest of 20 is at most x with the chance of at least j successes in 20 trials.
    course, scores = CourseRating(72.0, 120), np.arange(78, 112)
    chances = np.exp(-0.5 * ((scores - 92) / 4.0) ** 2)
    chances /= chances.sum()
    differentials = [score_differential(int(score), course) for score in scores]
    below = np.cumsum(chances)
    lowest = [
        float(np.diff(betainc(j, 21 - j, np.minimum(below, 1.0)), prepend=0.0) @ differentials)
        for j in range(1, 9)
    ]
    found = index_chances(scores, chances, course)
    assert float(found.chances.sum()) == pytest.approx(1.0, abs=1e-12)
    # Means of eight tenths fall on an eighth of a tenth; halves up make 0.00625 on average.
    assert found.mean == pytest.approx(np.mean(lowest) + 0.00625, abs=5e-4)


def test_expected_index_against_simulation() -> None:
    course, scores = CourseRating(70.5, 131), np.arange(80, 104)
    chances = lattice_chances(24)[::-1].copy()
    rng = np.random.default_rng(5)
    drawn = rng.choice(scores, size=(2000, 20), p=chances)
    by_score = {int(s): score_differential(int(s), course) for s in scores}
    held = [handicap_index([by_score[int(s)] for s in record]).value for record in drawn]
    found = index_chances(scores, chances, course)
    assert np.mean(held) == pytest.approx(found.mean, abs=4 * found.sd / math.sqrt(2000))
    assert np.std(held) == pytest.approx(found.sd, rel=0.08)
    assert found.quantile(0.5) == pytest.approx(np.median(held), abs=0.2)


def test_steady_golfer_holds_his_differential() -> None:
    found = index_chances([90], [1.0], CourseRating(72.0, 113))
    assert (found.mean, found.sd, found.quantile(1.0)) == (18.0, 0.0, 18.0)


@pytest.mark.parametrize(
    ("scores", "chances", "rounds"),
    [([90, 90], [0.5, 0.5], 20), ([90], [0.9], 20), ([90], [1.0], 21), ([90], [1.0], 2)],
)
def test_expected_index_needs_chances(scores: list[int], chances: list[float], rounds: int) -> None:
    with pytest.raises(ValueError, match=r"ascend|add up|rounds|needs"):
        index_chances(scores, chances, NEUTRAL, rounds=rounds)
