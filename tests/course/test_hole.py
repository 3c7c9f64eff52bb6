"""Lengths and frames of a hole."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from planner.course.hole import Hole, HoleFrame, Tee, playing_length

DOGLEG = shapely.LineString([(0, 0), (200, 0), (300, 100)])
SECOND_LEG = math.hypot(100, 100)


def hole_along(line: shapely.LineString) -> Hole:
    end = line.coords[-1]
    return Hole("1", 4, 1, line, (Tee("back", (0, 0)),), end, (), None, HoleFrame((0, 0), 0.0))


@pytest.mark.parametrize(
    ("place", "length"),
    [
        ((0, 0), 200 + SECOND_LEG),
        ((-30, 0), 230 + SECOND_LEG),
        ((50, 0), 150 + SECOND_LEG),
        # Beside the line: straight to the bend.
        ((0, 10), math.hypot(200, 10) + SECOND_LEG),
        ((-40, -30), math.hypot(240, 30) + SECOND_LEG),
        ((120, 16), math.hypot(80, 16) + SECOND_LEG),
        # Past the bend only the second leg is left.
        ((200, 0), SECOND_LEG),
        ((250, 50), SECOND_LEG / 2),
        ((300, 100), 0.0),
    ],
)
def test_playing_length_goes_straight_to_the_next_bend(
    place: tuple[float, float], length: float
) -> None:
    assert hole_along(DOGLEG).length_from(Tee("x", place)) == pytest.approx(length, abs=1e-9)


@given(st.floats(-80, 190))
def test_a_tee_on_the_first_leg_changes_the_length_by_its_own_offset(along: float) -> None:
    assert playing_length(DOGLEG, (along, 0.0)) == pytest.approx(DOGLEG.length - along)


@given(
    st.floats(0, 2 * math.pi),
    st.lists(st.tuples(st.floats(-500, 500), st.floats(-500, 500)), min_size=1, max_size=5),
)
def test_frame_there_and_back(azimuth: float, points: list[tuple[float, float]]) -> None:
    frame = HoleFrame((1234.5, -99.0), azimuth)
    np.testing.assert_allclose(frame.to_proj(frame.to_hole(points)), points, atol=1e-9)


def test_across_is_to_the_right() -> None:
    # Towards the east, right is south.
    frame = HoleFrame((0, 0), math.pi / 2)
    np.testing.assert_allclose(frame.to_hole([(100, -5)]), [(100, 5)], atol=1e-12)
