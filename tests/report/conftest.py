from __future__ import annotations

import importlib.util
import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from planner.course.hole import GroundArea, Hole, HoleFrame, Tee
from planner.course.lies import Ground, Lie
from planner.course.reading import read_course
from planner.demo_data import DEMO_COURSE, demo_bag, demo_folder
from planner.golfer.bag import read_bag
from planner.golfer.shot_outcome import SwingStyle
from planner.planning.request import PlanRequest
from planner.strategy.advice import (
    AimPoint,
    HolePlan,
    NextShot,
    PatternOnGround,
    RoundPlan,
    Shares,
    Shot,
)

BEARING = 0.1
STAND_IN = Path(__file__).resolve().parents[1] / "page" / "stand_in.py"


def make_shot(club: str = "Driver", cost: float = 0.0) -> Shot:
    along, across = 200.0 * math.cos(BEARING), 200.0 * math.sin(BEARING)
    pattern = PatternOnGround(
        np.array([0.8, 0.2]),
        np.array([[along, across], [100.0, -8.0]]),
        np.array([[[100.0, -40.0], [-40.0, 225.0]], [[400.0, 0.0], [0.0, 100.0]]]),
        ("stock", "short"),
        18.0,
    )
    aim = AimPoint((along, across), "left edge of the right bunker", across, BEARING, 4.0)
    shares = Shares(0.55, 0.25, 0.02, 0.05, 0.03, 0.0, 0.08, 0.02, 0.2)
    return Shot(
        0,
        club,
        SwingStyle.FULL,
        200.0,
        Lie.TEE,
        (0.0, 0.0),
        aim,
        4.31 + cost,
        0.12,
        cost,
        shares,
        152.0,
        pattern,
    )


@pytest.fixture
def shot() -> Shot:
    return make_shot()


@pytest.fixture
def hole() -> Hole:
    def area(ground: Ground, shape: shapely.Polygon, name: str = "") -> GroundArea:
        return GroundArea(ground, shape, f"way/{int(ground)}", name)

    return Hole(
        "7",
        4,
        3,
        shapely.LineString([(0, 0), (210, 15), (350, 0)]),
        (Tee("white", (0.0, 0.0)),),
        (350.0, 0.0),
        (
            area(Ground.FAIRWAY, shapely.box(130, -15, 320, 20)),
            area(Ground.GREEN, shapely.Point(350, 0).buffer(12)),
            area(Ground.SAND, shapely.Point(330, 14).buffer(5)),
            area(Ground.RED, shapely.box(150, 40, 250, 60), 'Mill <"&> pond'),
            area(Ground.YELLOW, shapely.box(150, -60, 250, -40)),
            area(Ground.TREES, shapely.box(40, 35, 130, 60)),
            area(Ground.DEEP_ROUGH, shapely.box(40, -60, 130, -35)),
            area(Ground.TEE, shapely.box(-5, -5, 5, 5)),
        ),
        shapely.box(-60, -75, 420, 75),
        HoleFrame((0.0, 0.0), 0.0),
        name="Long <b>Walk</b>",
    )


@pytest.fixture
def plan(hole: Hole, shot: Shot) -> HolePlan:
    place = NextShot("left half of the fairway", 0.41, Lie.FAIRWAY, (215.0, 5.0), 135.0, shot, None)
    others = (make_shot("3 wood", 0.05), make_shot("5 iron", 0.21))
    return HolePlan(
        hole, "white", (0.0, 0.0), 351.0, shot, others, (place,), 4.31, 0.12, True, 1e-4, 4
    )


@pytest.fixture(scope="session")
def demo_round() -> RoundPlan:
    """Eighteen holes of the demo course with made-up shots, planned in no time."""
    spec = importlib.util.spec_from_file_location("report_stand_in", STAND_IN)
    assert spec is not None
    assert spec.loader is not None
    stand_in = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = stand_in
    spec.loader.exec_module(stand_in)
    folder = demo_folder()
    request = PlanRequest(
        read_course(folder / DEMO_COURSE), read_bag(demo_bag("odile_marrow")), tee="red"
    )
    plan: RoundPlan = stand_in.plan_round(request)
    return replace(plan, conditions="still air, 15\u00a0°C", key="0123456789abcdef")
