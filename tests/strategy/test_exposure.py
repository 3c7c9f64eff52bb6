"""Exact outcome shares against closed forms, Owen's T and Monte Carlo draws."""

import dataclasses
import itertools
import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from scipy.integrate import quad
from scipy.stats import norm

from planner.course.hole import ElevationProfile, GroundArea, Hole, HoleFrame, Tee
from planner.course.lies import Ground, Lie
from planner.course.reading import read_course
from planner.golfer.bag import read_bag
from planner.golfer.shot_outcome import (
    ASSUMED_CANOPY_STOP_SHARE,
    ASSUMED_TREE_FREE_PATH_M,
    ShotModel,
    Swing,
    SwingStyle,
)
from planner.golfer.shot_pattern import ShotPattern, normal_covariance
from planner.golfer.swing_set import build_shot_model
from planner.numerics.polygon_probability import mixture_probability
from planner.strategy.exposure import outcome_shares
from planner.strategy.grid import label_points
from planner.strategy.ground_lines import ground_partition

COURSES = Path(__file__).parents[2] / "courses_demo"
EVERYWHERE = shapely.box(-3000, -3000, 3000, 3000)
SHARES = ("fairway", "rough", "deep_rough", "sand", "trees", "green", "yellow", "red",
          "out_of_bounds")  # fmt: skip
GROUNDS = {
    "fairway": (Ground.FAIRWAY, Ground.TEE),
    "rough": (Ground.ROUGH,),
    "deep_rough": (Ground.DEEP_ROUGH,),
    "sand": (Ground.SAND,),
    "trees": (Ground.TREES,),
    "green": (Ground.GREEN,),
    "yellow": (Ground.YELLOW,),
    "red": (Ground.RED,),
    "out_of_bounds": (Ground.OUT,),
}
STOPS = (Ground.TREES, Ground.YELLOW, Ground.RED, Ground.SAND, Ground.OUT)


def box_hole(*areas, in_bounds=None, elevation=None):
    return Hole(
        ref="1",
        par=4,
        stroke_index=None,
        line_hole=shapely.LineString([(0, 0), (350, 0)]),
        tees=(Tee("white", (0.0, 0.0)),),
        pin_hole=(350.0, 0.0),
        areas=tuple(
            GroundArea(ground, shape, feature_id=f"f{n}") for n, (ground, shape) in enumerate(areas)
        ),
        in_bounds=in_bounds,
        frame=HoleFrame((0.0, 0.0), 0.3),
        elevation=elevation or ElevationProfile(),
    )


def one_swing(**changes):
    pattern = ShotPattern([1.0], [[200.0, 5.0]], [normal_covariance((12.0, 15.0), -0.3)])
    values = {
        "club": "Driver",
        "style": SwingStyle.FULL,
        "carry_m": 200.0,
        "patterns": {Lie.TEE: pattern},
        "run_m": {},
        "descent": math.radians(40.0),
        "climb_m": 40.0,
        "shadow_m": 0.0,
        "start_sd": 0.06,
    }
    return Swing(**(values | changes))


MIXTURE = ShotPattern(
    [0.8, 0.15, 0.05],
    [[200.0, 5.0], [110.0, 0.0], [170.0, 45.0]],
    [
        normal_covariance((12.0, 15.0), -0.3),
        normal_covariance((35.0, 14.0), 0.2),
        normal_covariance((20.0, 18.0), 0.0),
    ],
    ("stock", "short", "wide"),
)


def model_of(swing, wind_from=None):
    return ShotModel((swing,), np.array([0.0, 50.0]), np.array([1.0, 3.0]), 1.14, wind_from)


def shares(hole, swing, bearing=0.0, *, position=(0.0, 0.0), map_box=None, wind_from=None):
    return outcome_shares(
        ground_partition(hole, map_box=map_box),
        hole,
        model_of(swing, wind_from),
        swing,
        Lie.TEE,
        position,
        bearing,
    )


def beyond(limit, pattern, turn=0.0, shift=(0.0, 0.0), share=1.0):
    """Mass with ``t cos(turn) - c sin(turn) > limit``, summed over the components."""
    axis = np.array([math.cos(turn), -math.sin(turn)])
    mean = (pattern.means + shift) @ axis
    sd = np.sqrt(np.einsum("i,kij,j->k", axis, pattern.covariances, axis))
    return share * float(pattern.weights @ norm.sf(limit, mean, sd))


@pytest.mark.parametrize("bearing", [0.0, 0.4, -1.2, math.pi / 2, 2.5])
def test_half_plane_of_water(bearing):
    swing = one_swing(patterns={Lie.TEE: MIXTURE})
    hole = box_hole((Ground.YELLOW, shapely.box(180, -3000, 3000, 3000)))
    found = shares(hole, swing, bearing)
    assert found.yellow == pytest.approx(beyond(180, MIXTURE, bearing), abs=1e-9)
    assert found.penalty == found.carry_penalty == found.areas[0].carry == found.areas[0].rest
    assert found.total == pytest.approx(1.0, abs=1e-9)
    assert found.mishit == pytest.approx(0.2)


def test_run_into_a_bunker_stops_there():
    swing = one_swing(patterns={Lie.TEE: MIXTURE}, run_m={Lie.FAIRWAY: 25.0})
    hole = box_hole((Ground.FAIRWAY, EVERYWHERE), (Ground.SAND, shapely.box(190, -3000, 200, 3000)))
    found = shares(hole, swing)
    sand = beyond(165, MIXTURE) - beyond(200, MIXTURE)
    assert found.sand == pytest.approx(sand, abs=1e-9)
    assert found.fairway == pytest.approx(1 - sand, abs=1e-9)


def test_run_of_the_landing_turf_crosses_an_edge():
    swing = one_swing(run_m={Lie.FAIRWAY: 20.0, Lie.ROUGH: 8.0})
    hole = box_hole(
        (Ground.FAIRWAY, shapely.box(-3000, -3000, 190, 3000)),
        (Ground.GREEN, shapely.box(205, -3000, 3000, 3000)),
    )
    pattern = swing.patterns[Lie.TEE]
    found = shares(hole, swing)
    # From the fairway 15 m of rough are crossed with a run of 20 m, from the rough 8 m count.
    assert found.fairway == pytest.approx(1 - beyond(170, pattern), abs=1e-9)
    green = beyond(185, pattern) - beyond(190, pattern) + beyond(197, pattern)
    assert found.green == pytest.approx(green, abs=1e-9)


def test_what_is_met_first_on_the_run_stops_the_ball():
    pattern = ShotPattern([1.0], [[200.0, 0.0]], [normal_covariance((12.0, 15.0), 0.0)])
    swing = one_swing(patterns={Lie.TEE: pattern}, run_m={Lie.FAIRWAY: 30.0})
    hole = box_hole(
        (Ground.FAIRWAY, EVERYWHERE),
        (Ground.SAND, shapely.box(200, -3000, 202, 0)),
        (Ground.RED, shapely.box(204, -3000, 260, 3000)),
    )
    found = shares(hole, swing)
    left = beyond(170, pattern) - beyond(202, pattern)
    assert found.sand == pytest.approx(0.5 * left, abs=1e-9)
    wet = 0.5 * (beyond(202, pattern) + beyond(174, pattern)) - beyond(260, pattern)
    assert found.red == pytest.approx(wet, abs=1e-9)
    assert found.carry_penalty == pytest.approx(
        beyond(204, pattern) - beyond(260, pattern), abs=1e-9
    )


def test_canopy_behind_the_landing():
    swing = one_swing(shadow_m=14.0)
    pattern = swing.patterns[Lie.TEE]
    hole = box_hole(
        (Ground.TREES, shapely.box(180, -3000, 190, 3000)),
        (Ground.SAND, shapely.box(200, -3000, 3000, 3000)),
    )
    found = shares(hole, swing)
    under = ASSUMED_CANOPY_STOP_SHARE * (beyond(190, pattern) - beyond(204, pattern))
    assert found.canopy == pytest.approx(under, abs=1e-9)
    assert found.trees == pytest.approx(
        beyond(180, pattern) - beyond(190, pattern) + under, abs=1e-9
    )
    in_shadow = beyond(200, pattern) - beyond(204, pattern)
    sand = beyond(204, pattern) + (1 - ASSUMED_CANOPY_STOP_SHARE) * in_shadow
    assert found.sand == pytest.approx(sand, abs=1e-9)


def test_low_flight_has_no_canopy():
    swing = one_swing(shadow_m=14.0, climb_m=math.inf, start_sd=1e-6)
    hole = box_hole((Ground.TREES, shapely.box(180, -3000, 190, 3000)))
    found = shares(hole, swing)
    assert found.canopy == 0.0
    assert found.blocked == pytest.approx(-math.expm1(-10 / ASSUMED_TREE_FREE_PATH_M), abs=1e-9)


def test_wood_near_the_start():
    swing = one_swing()
    hole = box_hole((Ground.TREES, shapely.box(25, -1, 3000, 3000)))

    # A start line turned left far enough leaves the wood again by its side across = -1.
    def whole(turn):
        leave = 1 / -math.sin(turn) if turn < -1e-12 else math.inf
        wood = max(min(40.0, leave) - 25 / math.cos(turn), 0.0)
        return -math.expm1(-wood / ASSUMED_TREE_FREE_PATH_M) * norm.pdf(turn, 0, 0.06)

    corners = [-0.3, -math.atan(1 / 25), -math.asin(1 / 40), 0.3]
    expected = sum(quad(whole, low, high)[0] for low, high in itertools.pairwise(corners))
    assert shares(hole, swing).blocked == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("bearing", [0.0, 0.7, -2.0])
@pytest.mark.parametrize("grade", [-0.2, 0.15])
def test_plane_slope(bearing, grade):
    swing = one_swing(patterns={Lie.TEE: MIXTURE})
    ends = (-3000.0, 3000.0)
    hole = box_hole(
        (Ground.YELLOW, shapely.box(150, -3000, 3000, 3000)),
        elevation=ElevationProfile(ends, tuple(grade * end for end in ends)),
    )
    # The datum crossing at along a' = t cos - c sin and the landing a obey
    # a (1 + cot(descent) grade cos(bearing)) = a'.
    stretch = 1 + grade * math.cos(bearing) / math.tan(swing.descent)
    found = shares(hole, swing, bearing)
    assert found.yellow == pytest.approx(beyond(150 * stretch, MIXTURE, bearing), abs=1e-9)


def test_cliff_hides_the_ground_below_it():
    swing = one_swing(descent=math.pi / 4)
    hole = box_hole(
        (Ground.SAND, shapely.box(201, -3000, 211, 3000)),
        (Ground.YELLOW, shapely.box(211, -3000, 3000, 3000)),
        elevation=ElevationProfile((0.0, 200.0, 201.0), (0.0, 0.0, -10.0)),
    )
    found = shares(hole, swing)
    # Over the edge at 200 the ball comes down at 210 or more.
    pattern = swing.patterns[Lie.TEE]
    assert found.sand == pytest.approx(beyond(200, pattern) - beyond(201, pattern), abs=1e-9)
    assert found.yellow == pytest.approx(beyond(201, pattern), abs=1e-9)


def test_wind_moves_the_pattern_by_its_angle_to_the_aim():
    angle = np.arange(36) * 2 * np.pi / 36
    wind = np.column_stack((-20 * np.cos(angle), -9 * np.sin(angle)))
    swing = one_swing(wind_shift_m=wind)
    hole = box_hole((Ground.YELLOW, shapely.box(180, -3000, 3000, 3000)))
    # From azimuth 0.3 + 0.5 with the hole's axis at 0.3 and an aim of 0.5: straight against.
    found = shares(hole, swing, 0.5, wind_from=0.8)
    expected = beyond(180, swing.patterns[Lie.TEE], 0.5, shift=(-20.0, 0.0))
    assert found.yellow == pytest.approx(expected, abs=1e-9)


def test_off_the_map_and_out_of_bounds():
    swing = one_swing()
    pattern = swing.patterns[Lie.TEE]
    hole = box_hole(in_bounds=shapely.box(-3000, -3000, 205, 3000))
    found = shares(hole, swing, map_box=shapely.box(-100, -3000, 215, 3000))
    assert found.out_of_bounds == pytest.approx(beyond(205, pattern), abs=1e-9)
    assert found.lost == pytest.approx(beyond(215, pattern), abs=1e-9)
    assert shares(box_hole(), swing).out_of_bounds == 0.0


def test_agrees_with_owens_t_over_overlapping_polygons():
    rng = np.random.default_rng(8)
    swing = one_swing(patterns={Lie.TEE: MIXTURE})

    def blob(centre, size, corners):
        angle = np.sort(rng.uniform(0, 2 * np.pi, corners))
        radius = size * rng.uniform(0.4, 1.0, corners)
        ring = np.column_stack((np.cos(angle), np.sin(angle))) * radius[:, None] + centre
        return shapely.make_valid(shapely.Polygon(ring)).buffer(0)

    red, sand, green = blob((180, 10), 60, 40), blob((200, 0), 30, 25), blob((205, 5), 20, 15)
    red = red.difference(shapely.box(150, 0, 165, 20))
    hole = box_hole((Ground.GREEN, green), (Ground.RED, red), (Ground.SAND, sand))
    for bearing in (0.0, 0.3, -0.4):
        found = shares(hole, swing, bearing)
        cos, sin = math.cos(bearing), math.sin(bearing)
        turn = np.array([[cos, -sin], [sin, cos]])
        means = MIXTURE.means @ turn.T
        covariances = turn @ MIXTURE.covariances @ turn.T
        for share, shape in (
            (found.green, green),
            (found.sand, sand.difference(green)),
            (found.red, red.difference(sand).difference(green)),
        ):
            exact = mixture_probability(shape, MIXTURE.weights, means, covariances)
            assert share == pytest.approx(float(exact), abs=1e-9)


def test_a_lie_without_a_pattern_is_refused():
    hole, swing = box_hole(), one_swing()
    with pytest.raises(ValueError, match="not played from sand"):
        outcome_shares(
            ground_partition(hole), hole, model_of(swing), swing, Lie.SAND, (0.0, 0.0), 0.0
        )


@pytest.fixture(scope="module")
def golfer():
    return build_shot_model(read_bag(COURSES / "bags" / "bram_oskel.toml"))


@pytest.fixture(scope="module")
def links():
    return read_course(COURSES / "tarrowick.geojson")


@pytest.fixture(scope="module")
def park():
    return read_course(COURSES / "mossquern.osm")


def map_box(hole):
    return shapely.box(-30.0, -100.0, hole.pin_hole[0] + 66.0, 100.0)


@pytest.mark.parametrize("ref", ["1", "8", "9"])
def test_shares_of_real_shots_add_up_to_one(links, golfer, ref):
    hole = links.hole(ref)
    partition = ground_partition(hole, map_box=map_box(hole))
    for swing in (golfer.swings[0], golfer.swings[5], golfer.swings[20], golfer.swings[-1]):
        lie = Lie.TREES if swing.style is SwingStyle.PUNCH else min(swing.patterns)
        for bearing in (-0.3, 0.0, 0.2):
            found = outcome_shares(
                partition, hole, golfer, swing, lie, hole.tees[0].position_hole, bearing
            )
            assert found.total == pytest.approx(1.0, abs=1e-9)
            assert min(getattr(found, name) for name in SHARES) >= -1e-12
            assert sum(area.rest for area in found.areas) == pytest.approx(found.penalty, abs=1e-12)


def mirrored(hole):
    def flip(shape):
        return shapely.transform(shape, lambda points: points * [1.0, -1.0])

    return dataclasses.replace(
        hole,
        areas=tuple(dataclasses.replace(a, shape_hole=flip(a.shape_hole)) for a in hole.areas),
        in_bounds=flip(hole.in_bounds),
        pin_hole=(hole.pin_hole[0], -hole.pin_hole[1]),
    )


def test_mirrored_hole_and_golfer_give_mirrored_shares(links, golfer):
    hole = links.hole("9")
    swing = golfer.swings[0]
    other = dataclasses.replace(
        swing, patterns={lie: pattern.mirrored() for lie, pattern in swing.patterns.items()}
    )
    place = hole.tees[0].position_hole
    one = outcome_shares(ground_partition(hole), hole, golfer, swing, Lie.TEE, place, 0.08)
    flipped = mirrored(hole)
    two = outcome_shares(
        ground_partition(flipped), flipped, golfer, other, Lie.TEE, (place[0], -place[1]), -0.08
    )
    for name in (*SHARES, "blocked", "canopy", "carry_penalty"):
        assert getattr(two, name) == pytest.approx(getattr(one, name), abs=1e-9)


def painted(hole, box):
    """Disjoint shapes of every ground, by set operations."""
    shapes, left = {}, box
    bounds = hole.in_bounds if hole.in_bounds is not None else box
    shapes[Ground.OUT] = EVERYWHERE.difference(bounds.intersection(box))
    left = left.intersection(bounds)
    for ground in sorted(Ground, reverse=True)[1:]:
        shape = shapely.union_all([a.shape_hole.buffer(0) for a in hole.areas_of(ground)])
        shapes[ground] = left.intersection(shape)
        left = left.difference(shape)
    return shapes


def drawn_shares(hole, box, model, swing, lie, position, bearing, size, rng):
    """Shares by drawing, marching and labelling: nothing in common with the exact way."""
    shapes = painted(hole, box)
    stops = shapely.union_all([shapes[ground] for ground in STOPS])
    woods = shapes[Ground.TREES]
    shapely.prepare(stops)
    shapely.prepare(woods)
    forward = np.array([math.cos(bearing), math.sin(bearing)])
    right = np.array([-math.sin(bearing), math.cos(bearing)])
    place = np.asarray(position)
    trees = np.zeros(size, dtype=bool)
    if not woods.is_empty:
        turn = bearing + swing.start_sd * rng.standard_normal(size)
        reach = min(swing.climb_m, swing.carry_m)
        step = (np.arange(math.ceil(reach)) + 0.5) / math.ceil(reach) * reach
        way = np.stack((np.cos(turn), np.sin(turn)), axis=-1)
        low = place + step[None, :, None] * way[:, None, :]
        wood = shapely.contains_xy(woods, low[..., 0], low[..., 1]).mean(axis=1) * reach
        trees = rng.random(size) < -np.expm1(-wood / ASSUMED_TREE_FREE_PATH_M)
    carry, _ = swing.patterns[lie].sample(rng, size)
    level = place + carry[:, :1] * forward + carry[:, 1:] * right
    height = hole.elevation
    # The descent line against the ground, by bisection along the aim.
    fall = math.tan(swing.descent)
    short, far = np.full(size, -60.0), np.full(size, 60.0)
    for _ in range(40):
        middle = 0.5 * (short + far)
        above = height(place[0]) - fall * middle > height(level[:, 0] + middle * forward[0])
        short, far = np.where(above, middle, short), np.where(above, far, middle)
    points = level + (0.5 * (short + far))[:, None] * forward
    landed = label_points(hole, points)
    landed[~shapely.contains_xy(box, *points.T)] = Ground.OUT
    if not woods.is_empty and swing.canopy_shadow_m > 0:
        steps = np.linspace(0, swing.canopy_shadow_m, 60)
        near = np.flatnonzero(shapely.dwithin(woods, shapely.points(points), swing.canopy_shadow_m))
        behind = points[near, None, :] - steps[None, :, None] * forward
        shaded = shapely.contains_xy(woods, behind[..., 0], behind[..., 1]).any(axis=1)
        trees[near] |= (
            shaded & (landed[near] != Ground.TREES)
            & shapely.contains_xy(box, *points[near].T)
            & (rng.random(len(near)) < ASSUMED_CANOPY_STOP_SHARE)
        )  # fmt: skip
    for turf, grounds in (
        (Lie.FAIRWAY, (Ground.FAIRWAY, Ground.TEE)),
        (Lie.ROUGH, (Ground.ROUGH,)),
        (Lie.DEEP_ROUGH, (Ground.DEEP_ROUGH,)),
        (Lie.GREEN, (Ground.GREEN,)),
    ):
        run = swing.run_m.get(turf, 0.0)
        ours = np.flatnonzero(np.isin(landed, grounds))
        steps = np.linspace(0, run, max(2, math.ceil(run / 0.2)))
        close = shapely.dwithin(stops, shapely.points(points[ours]), run + 0.1)
        for chunk in np.array_split(ours[close], 10):
            way = points[chunk, None, :] + steps[None, :, None] * forward
            stopped = shapely.contains_xy(stops, way[..., 0], way[..., 1])
            first = np.where(stopped.any(axis=1), stopped.argmax(axis=1), len(steps) - 1)
            points[chunk] = way[np.arange(len(chunk)), first]
        points[ours[~close]] += run * forward
    labels = label_points(hole, points)
    labels[~shapely.contains_xy(box, *points.T)] = Ground.OUT
    labels[trees] = Ground.TREES
    return {name: np.isin(labels, grounds).mean() for name, grounds in GROUNDS.items()}


@pytest.mark.parametrize(
    ("course", "ref", "swing", "lie", "place", "bearing", "size"),
    [
        ("park", "4", 0, Lie.TEE, None, 0.04, 150_000),
        ("links", "9", 0, Lie.TEE, None, 0.05, 400_000),
        ("links", "7", 6, Lie.FAIRWAY, (150.0, 5.0), -0.1, 100_000),
    ],
)
def test_agrees_with_monte_carlo_on_real_ground(
    request, golfer, course, ref, swing, lie, place, bearing, size
):
    hole = request.getfixturevalue(course).hole(ref)
    box = map_box(hole)
    swing, place = golfer.swings[swing], place or hole.tees[0].position_hole
    drawn = drawn_shares(
        hole, box, golfer, swing, lie, place, bearing, size, np.random.default_rng(5)
    )
    partition = ground_partition(hole, map_box=box)
    exact = outcome_shares(partition, hole, golfer, swing, lie, place, bearing)
    for name, share in drawn.items():
        expected = getattr(exact, name)
        error = math.sqrt(max(expected * (1 - expected), 1e-9) / size)
        assert abs(share - expected) < 4 * error + 1e-6, name


@pytest.mark.parametrize("ref", ["2", "4", "11"])
def test_rough_shares_are_near_the_exact_ones(links, golfer, ref):
    hole = links.hole(ref)
    partition = ground_partition(hole, map_box=map_box(hole))
    tee = hole.tees[0].position_hole
    for swing in golfer.swings[::3]:
        if Lie.TEE not in swing.patterns:
            continue
        for bearing in (-0.15, 0.0, 0.2):
            shot = (partition, hole, golfer, swing, Lie.TEE, tee, bearing)
            exact, rough = outcome_shares(*shot), outcome_shares(*shot, exact=False)
            assert rough.total == pytest.approx(1.0, abs=1e-9)
            for name in SHARES:
                assert getattr(rough, name) == pytest.approx(getattr(exact, name), abs=1e-3)
