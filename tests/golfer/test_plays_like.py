"""What distances play like: closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.course.lies import Lie
from planner.golfer.plays_like import ground_covered, plays_like, slope_distance
from planner.golfer.shot_outcome import Swing, SwingStyle
from planner.golfer.shot_pattern import ShotPattern

DESCENT = math.radians(45.0)


def swing(carry=150.0, *, shift=None, air_ratio=1.0, descent=DESCENT):
    table = None if shift is None else np.tile(shift, (36, 1))
    pattern = ShotPattern(np.ones(1), np.array([[carry, 0.0]]), np.eye(2)[None])
    return Swing(
        "7 iron",
        SwingStyle.FULL,
        carry,
        {Lie.FAIRWAY: pattern},
        {},
        descent,
        30.0,
        20.0,
        0.05,
        wind_shift_m=table,
        air_ratio=air_ratio,
    )


def like(one, rise_at=lambda _: 0.0):
    return plays_like(one, Lie.FAIRWAY, wind_from=0.0, rise_at=rise_at)


@pytest.mark.parametrize(
    ("rise", "degrees", "more"), [(10.0, 45.0, 10.0), (-10.0, 45.0, -10.0), (6.0, 30.0, 10.3923)]
)
def test_slope_is_height_over_tangent_of_descent(rise, degrees, more):
    assert slope_distance(rise, math.radians(degrees)) == pytest.approx(more, abs=1e-4)


@pytest.mark.parametrize("descent", [0.0, -0.1, math.pi / 2])
def test_descent_must_be_one(descent):
    with pytest.raises(ValueError, match="descent"):
        slope_distance(1.0, descent)


@given(st.floats(-15.0, 15.0), st.floats(0.5, 1.0))
def test_a_green_on_a_shelf_plays_like_the_height_over_the_tangent(rise, descent):
    # A shelf from 100 m on: the shot of 150 m lands there h / tan(descent) sooner.
    found = like(swing(descent=descent), lambda distance: rise if distance > 100.0 else 0.0)
    assert found.slope_m == pytest.approx(rise / math.tan(descent), abs=0.01)
    assert found.ground_m == pytest.approx(150.0 - rise / math.tan(descent), abs=0.01)
    assert found.total_m == pytest.approx(150.0, abs=1e-9)
    assert found.weather_m == pytest.approx(0.0, abs=0.01)


@given(st.floats(-0.15, 0.15))
def test_an_even_slope_has_a_closed_form(slope):
    # Landing where (carry - g) tan(descent) = slope g.
    found = like(swing(), lambda distance: slope * distance)
    assert found.ground_m == pytest.approx(150.0 / (1.0 + slope), abs=0.01)
    assert found.slope_m == pytest.approx(slope * found.ground_m, abs=0.01)


def test_the_first_ground_on_the_way_down_counts():
    # A ridge 20 m high at 140-145 m is met before the level ground behind it.
    landing, rise = ground_covered(150.0, DESCENT, lambda d: 20.0 if 135.0 < d < 145.0 else 0.0)
    assert (landing, rise) == (pytest.approx(135.0, abs=0.01), 20.0)


def test_level_and_still_is_itself():
    found = like(swing())
    assert (found.ground_m, found.slope_m, found.weather_m) == pytest.approx((150, 0, 0), abs=1e-3)


def test_wind_and_air_add_what_they_cost():
    # Into the wind 150 m of carry make 130: what is 130 away plays like 150.
    found = like(swing(shift=(-20.0, 3.0)))
    assert (found.ground_m, found.weather_m) == pytest.approx((130.0, 20.0), abs=1e-3)
    # A swing that carries 150 m today carries 150 / 1.05 on a standard day.
    found = like(swing(air_ratio=1.05))
    assert found.total_m == pytest.approx(150.0 / 1.05)
    assert found.weather_m == pytest.approx(150.0 / 1.05 - 150.0, abs=1e-3)


def test_a_high_shot_is_moved_less_by_a_slope():
    low, high = (like(swing(descent=math.radians(d)), lambda _: 8.0).slope_m for d in (30.0, 50.0))
    assert low == pytest.approx(8.0 / math.tan(math.radians(30.0)))
    assert high < 0.5 * low
