"""Distances to hazards against closed forms."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given
from hypothesis import strategies as st

from planner.course.hole import GroundArea, Hole, HoleFrame, Tee
from planner.course.lies import Ground, Lie
from planner.golfer.shot_outcome import SwingStyle
from planner.strategy.advice import AimPoint, PatternOnGround, Shares, Shot
from planner.strategy.hazard_carries import HazardCarry, carries_from

LONGEST = 230.0


def hole_with(*areas: tuple[Ground, shapely.Geometry], pin: float = 350.0) -> Hole:
    return Hole(
        "1",
        4,
        None,
        shapely.LineString([(0, 0), (pin, 0)]),
        (Tee("white", (0.0, 0.0)),),
        (pin, 0.0),
        tuple(GroundArea(ground, shape) for ground, shape in areas),
        None,
        HoleFrame((0.0, 0.0), 0.0),
    )


def shot_to(
    carry: float = 200.0, *, bearing: float = 0.0, start: tuple[float, float] = (0.0, 0.0)
) -> Shot:
    """A shot with standard deviations of 10 m along and 15 m across its aim line."""
    unit = np.array([math.cos(bearing), math.sin(bearing)])
    turn = np.column_stack((unit, [-unit[1], unit[0]]))
    mean = np.asarray(start) + carry * unit
    pattern = PatternOnGround(
        np.array([1.0]),
        mean[None],
        (turn @ np.diag([100.0, 225.0]) @ turn.T)[None],
        ("stock",),
        10.0,
    )
    aim = AimPoint((float(mean[0]), float(mean[1])), "", 0.0, bearing, 0.0)
    shares = Shares(1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    return Shot(
        0, "Driver", SwingStyle.FULL, carry, Lie.TEE, start, aim, 4.0, 0.0, 0.0, shares, 150.0,
        pattern,
    )  # fmt: skip


def told(hole: Hole, shot: Shot | None = None, **options: float) -> tuple[HazardCarry, ...]:
    return carries_from(hole, shot or shot_to(), longest_m=LONGEST, **options)  # type: ignore[arg-type]


def test_a_bunker_beside_the_line() -> None:
    (bunker,) = told(hole_with((Ground.SAND, shapely.box(180, 10, 200, 20))))
    assert (bunker.ground, bunker.side) == (Ground.SAND, 1)
    assert bunker.reach_m == pytest.approx(math.hypot(180, 10))
    assert bunker.carry_m == pytest.approx(math.hypot(200, 20))


def test_water_across_the_line_is_measured_in_a_band_along_it() -> None:
    (water,) = told(hole_with((Ground.YELLOW, shapely.box(100, -60, 120, 60))))
    assert (water.ground, water.side) == (Ground.YELLOW, 0)
    assert water.reach_m == pytest.approx(100.0)
    assert water.carry_m == pytest.approx(math.hypot(120, 5))


def test_water_round_an_island_is_carried_where_it_first_ends() -> None:
    ring = shapely.box(80, -60, 200, 60) - shapely.box(130, -20, 160, 20)
    (water,) = told(hole_with((Ground.RED, ring), pin=145.0), shot_to(145.0))
    assert water.reach_m == pytest.approx(80.0)
    assert water.carry_m == pytest.approx(math.hypot(130, 5))


def test_what_ends_beyond_the_longest_carry_cannot_be_carried() -> None:
    (water,) = told(hole_with((Ground.RED, shapely.box(150, 12, 400, 30))))
    assert water.reach_m == pytest.approx(math.hypot(150, 12))
    assert math.isinf(water.carry_m)


@pytest.mark.parametrize(
    "shape",
    [
        shapely.box(240, 0, 260, 10),  # beyond the longest carry
        shapely.box(-60, -5, -40, 5),  # behind the ball
        shapely.box(180, 80, 200, 95),  # five standard deviations away
        shapely.box(180, 10, 181, 10.5),  # not deep enough to speak of
    ],
)
def test_what_does_not_matter_is_left_out(shape: shapely.Polygon) -> None:
    assert told(hole_with((Ground.SAND, shape))) == ()


def test_what_lies_beyond_the_pin_is_left_out() -> None:
    behind = (Ground.SAND, shapely.box(160, -5, 170, 5))
    assert told(hole_with(behind, pin=130.0), shot_to(130.0)) == ()
    assert len(told(hole_with(behind, pin=150.0), shot_to(150.0))) == 1


def test_only_sand_and_penalty_areas_are_told() -> None:
    box = shapely.box(150, -10, 170, 10)
    for ground in set(Ground) - {Ground.OUT, Ground.SAND, Ground.RED, Ground.YELLOW}:
        assert told(hole_with((ground, box))) == ()


def test_touching_areas_are_one_hazard_and_parts_are_several() -> None:
    touching = [(Ground.SAND, shapely.box(a, 5, a + 10, 15)) for a in (150, 160)]
    assert len(told(hole_with(*touching))) == 1
    apart = shapely.MultiPolygon([shapely.box(150, 5, 160, 15), shapely.box(170, 5, 180, 15)])
    assert len(told(hole_with((Ground.SAND, apart)))) == 2


def test_the_nearest_to_the_landing_are_kept_in_the_order_of_distance() -> None:
    bunkers = [(Ground.SAND, shapely.box(a, 4, a + 8, 12)) for a in (40, 90, 140, 195, 215)]
    found = told(hole_with(*bunkers), count=3)
    assert [round(bunker.reach_m) for bunker in found] == [140, 195, 215]


def test_without_an_aim_there_is_nothing_to_say() -> None:
    hole = hole_with((Ground.SAND, shapely.box(180, 10, 200, 20)))
    assert told(hole, replace(shot_to(), aim=None)) == ()


def test_without_a_pattern_the_corridor_is_assumed() -> None:
    plain = replace(shot_to(), pattern=None)
    assert len(told(hole_with((Ground.SAND, shapely.box(180, 30, 200, 40))), plain)) == 1
    assert told(hole_with((Ground.SAND, shapely.box(180, 60, 200, 70))), plain) == ()


@given(st.floats(-0.5, 0.5), st.floats(-50.0, 50.0), st.floats(-50.0, 50.0))
def test_turning_and_moving_everything_changes_nothing(
    angle: float, along: float, across: float
) -> None:
    areas = [
        (Ground.SAND, shapely.box(180, 10, 200, 20)),
        (Ground.RED, shapely.box(90, -30, 99, 9)),
    ]

    def moved(shape: shapely.Geometry) -> shapely.Geometry:
        turned = shapely.affinity.rotate(shape, angle, origin=(0, 0), use_radians=True)
        return shapely.affinity.translate(turned, along, across)

    hole = hole_with(*((ground, moved(shape)) for ground, shape in areas))
    pin = moved(shapely.Point(350, 0))
    hole = replace(hole, pin_hole=(pin.x, pin.y))
    shot = shot_to(bearing=angle, start=(along, across))
    assert_same(told(hole, shot), told(hole_with(*areas)))


@given(st.floats(20.0, 220.0), st.floats(-40.0, 40.0), st.floats(3.0, 30.0), st.floats(3.0, 30.0))
def test_a_mirrored_hole_has_mirrored_hazards(
    along: float, across: float, deep: float, wide: float
) -> None:
    box = shapely.box(along, across, along + deep, across + wide)
    mirror = shapely.affinity.scale(box, 1, -1, origin=(0, 0))
    one = told(hole_with((Ground.SAND, box)))
    other = told(hole_with((Ground.SAND, mirror)))
    assert_same(one, [replace(hazard, side=-hazard.side) for hazard in other])


def assert_same(found: Sequence[HazardCarry], wanted: Sequence[HazardCarry]) -> None:
    assert [(h.ground, h.side) for h in found] == [(h.ground, h.side) for h in wanted]
    for one, other in zip(found, wanted, strict=True):
        assert one.reach_m == pytest.approx(other.reach_m, abs=1e-6)
        assert one.carry_m == pytest.approx(other.carry_m, abs=1e-6)
