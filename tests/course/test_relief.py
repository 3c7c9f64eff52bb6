"""Drop points against the Rules of Golf 2023, by geometry."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from planner.course import relief
from planner.course.lies import Ground

PIN = (400.0, 0.0)
POND = shapely.box(180, -30, 220, 30)
BUNKER = shapely.Point(300, 20).buffer(6)
FAIRWAY = shapely.box(80, -15, 380, 15)
IN_BOUNDS = shapely.box(-50, -60, 450, 60)
CLUB_LENGTH = 1.15


def distance_to_pin(points: np.ndarray) -> np.ndarray:
    return np.hypot(*(points - PIN).T)


@pytest.mark.parametrize(
    ("shape", "start", "landing", "expected"),
    [
        (POND, (0, 0), (200, 0), (180, 0)),
        (POND, (0, 100), (200, 0), (180, 10)),
        (POND, (160, 100), (200, 0), (188, 30)),
        # Two lakes in a row: the second entry counts.
        (shapely.MultiPolygon([POND, shapely.box(260, -30, 280, 30)]), (0, 0), (270, 0), (260, 0)),
        # The whole path in the water: it never crossed the edge.
        (POND, (190, 0), (210, 0), (190, 0)),
        # A ball a rounding error outside.
        (POND, (0, 0), (180 - 1e-12, 0), (180, 0)),
        # A pond with an island: out and in again.
        (POND.difference(shapely.box(195, -5, 205, 5)), (150, 0), (210, 0), (205, 0)),
    ],
)
def test_crossing_point_is_the_last_entry(
    shape: shapely.Polygon,
    start: tuple[float, float],
    landing: tuple[float, float],
    expected: tuple[float, float],
) -> None:
    assert relief.crossing_point(shape, start, landing) == pytest.approx(expected, abs=1e-9)


@given(
    st.tuples(st.floats(-100, 150), st.floats(-60, 60)),
    st.tuples(st.floats(181, 219), st.floats(-29, 29)),
)
def test_crossing_point_lies_on_the_edge_and_on_the_path(
    start: tuple[float, float], landing: tuple[float, float]
) -> None:
    crossing = shapely.Point(relief.crossing_point(POND, start, landing))
    assert POND.boundary.distance(crossing) < 1e-9
    assert shapely.LineString([start, landing]).distance(crossing) < 1e-9


@given(st.floats(-59, 59), st.floats(0, 350))
def test_17_1d_2_points_are_on_the_line_behind_the_crossing_and_dry(
    across: float, along: float
) -> None:
    crossing = (along, across)
    points = relief.back_on_line_points(
        crossing, PIN, forbidden=POND, in_bounds=IN_BOUNDS, step=5.0, reach=200.0
    )
    if not len(points):
        return
    away = np.subtract(crossing, PIN)
    unit = away / np.hypot(*away)
    off_line = (points - crossing) @ np.array([-unit[1], unit[0]])
    np.testing.assert_allclose(off_line, 0.0, atol=1e-9)
    assert (distance_to_pin(points) >= math.dist(crossing, PIN)).all()
    assert (np.diff(distance_to_pin(points)) > 0).all()
    assert not shapely.intersects_xy(POND, *points.T).any()
    assert shapely.intersects_xy(IN_BOUNDS, *points.T).all()


def test_17_1d_2_nearest_point_is_just_behind_the_water() -> None:
    # In by the far bank after spinning back: the line leads through the pond.
    points = relief.back_on_line_points((220, 0), PIN, forbidden=POND, step=10.0, reach=100.0)
    np.testing.assert_allclose(points[:, 0], [180 - 0.05 - 10 * n for n in range(6)], atol=1e-9)


@given(st.tuples(st.floats(100, 395), st.floats(-50, 50)), st.integers(4, 30))
def test_17_1d_3_points_are_within_two_club_lengths_and_not_nearer(
    reference: tuple[float, float], count: int
) -> None:
    points = relief.lateral_points(
        reference, PIN, club_length=CLUB_LENGTH, forbidden=POND, count=count
    )
    assert len(points) <= count
    assert (np.hypot(*(points - reference).T) <= 2 * CLUB_LENGTH + 1e-9).all()
    assert (distance_to_pin(points) >= math.dist(reference, PIN) - 1e-8).all()
    assert not shapely.intersects_xy(POND, *points.T).any()


def test_17_1d_3_uses_both_sides_and_the_full_two_club_lengths() -> None:
    points = relief.lateral_points((250, 0), PIN, club_length=CLUB_LENGTH, count=20)
    assert len(points) == 20
    assert points[:, 1].min() == pytest.approx(-points[:, 1].max())
    assert points[:, 1].max() == pytest.approx(2 * CLUB_LENGTH, abs=0.05)


@pytest.mark.parametrize(
    ("situation", "expected"),
    [
        # Stroke and distance (17.1d(1), 18.2b, 19.2a, 19.3a(1)) needs no drop point.
        ("ball in a yellow penalty area", {"17.1d(2)": 1}),
        ("ball in a red penalty area", {"17.1d(2)": 1, "17.1d(3)": 1}),
        ("ball unplayable in the general area", {"19.2b": 1, "19.2c": 1}),
        ("ball unplayable in a bunker", {"19.3a(2)": 1, "19.3a(3)": 1, "19.3b": 2}),
        ("ball out of bounds, Local Rule in force", {"E-5": 2}),
    ],
)
def test_rules_decision_table(situation: str, expected: dict[str, int]) -> None:
    def options() -> tuple[relief.ReliefOption, ...]:
        match situation.split(",")[0]:
            case "ball in a yellow penalty area" | "ball in a red penalty area":
                ground = Ground.YELLOW if "yellow" in situation else Ground.RED
                return relief.penalty_area_drops(
                    ground, (180, 0), PIN, shape=POND, club_length=CLUB_LENGTH
                )
            case "ball unplayable in the general area":
                return relief.unplayable_drops((100, 40), PIN, club_length=CLUB_LENGTH)
            case "ball unplayable in a bunker":
                return relief.bunker_unplayable_drops(
                    (300, 20), PIN, bunker=BUNKER, club_length=CLUB_LENGTH
                )
        option = relief.fairway_edge_drops(
            (200, -60), PIN, fairway=FAIRWAY, club_length=CLUB_LENGTH
        )
        return (option,)

    found = options()
    assert {option.rule: option.strokes for option in found} == expected
    assert all(len(option.points_hole) for option in found)


def test_rule_17_is_refused_outside_penalty_areas() -> None:
    with pytest.raises(ValueError, match="Rule 17"):
        relief.penalty_area_drops(Ground.SAND, (180, 0), PIN, shape=POND, club_length=CLUB_LENGTH)


def test_19_3_inside_stays_in_the_sand_and_outside_leaves_it() -> None:
    ball = (298.0, 18.0)
    line, lateral, outside = relief.bunker_unplayable_drops(
        ball, PIN, bunker=BUNKER, club_length=CLUB_LENGTH, in_bounds=IN_BOUNDS
    )
    for option in (line, lateral):
        assert shapely.intersects_xy(BUNKER, *option.points_hole.T).all()
    assert not shapely.intersects_xy(BUNKER, *outside.points_hole.T).any()
    for option in (line, lateral, outside):
        assert (distance_to_pin(option.points_hole) >= math.dist(ball, PIN) - 1e-8).all()


@given(st.floats(100, 390), st.sampled_from([-60.0, 60.0]))
def test_e_5_points_are_at_the_near_edge_of_the_fairway_and_not_nearer(
    along: float, across: float
) -> None:
    option = relief.fairway_edge_drops(
        (along, across), PIN, fairway=FAIRWAY, club_length=CLUB_LENGTH
    )
    points = option.points_hole
    assert len(points)
    assert (distance_to_pin(points) >= math.dist((along, across), PIN) - 1e-9).all()
    assert shapely.intersects_xy(FAIRWAY, *points.T).all()
    edge = FAIRWAY.boundary.distance(shapely.points(points))
    assert (edge <= 2 * CLUB_LENGTH + 1e-9).all()


def test_e_5_exact_place_where_the_fairway_is_abeam() -> None:
    # The nearest fairway point at (200, -15) would be nearer the hole than the boundary at
    # (200, -60), which is sqrt(200^2 + 60^2) away; so the point slides back along the edge.
    option = relief.fairway_edge_drops(
        (200, -60), PIN, fairway=FAIRWAY, club_length=CLUB_LENGTH, count=2
    )
    back = math.sqrt(200**2 + 60**2 - 15**2)
    np.testing.assert_allclose(option.points_hole[0], (400 - back, -15 + 0.05), atol=0.06)
    assert option.points_hole[1, 1] == pytest.approx(-15 + 2 * CLUB_LENGTH, abs=0.06)


def test_e_5_without_fairway_far_enough_from_the_hole() -> None:
    option = relief.fairway_edge_drops((10, -60), PIN, fairway=FAIRWAY, club_length=CLUB_LENGTH)
    assert option.points_hole.shape == (0, 2)


def test_every_drop_costs_well_under_a_millisecond() -> None:
    pond = shapely.Point(200, 0).buffer(30)
    course = shapely.Point(200, 0).buffer(300, quad_segs=40)

    def best_of(repeats: int = 30) -> float:
        times = []
        for _ in range(repeats):
            start = time.perf_counter()
            relief.penalty_area_drops(
                Ground.RED, (170, 0), PIN, shape=pond, club_length=1.1, in_bounds=course
            )
            times.append(time.perf_counter() - start)
        return min(times)

    assert best_of() < 1e-3
