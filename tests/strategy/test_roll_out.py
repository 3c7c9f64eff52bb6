"""Simulated policies against closed forms, on holes of boxes with one swing or two."""

import dataclasses
import math

import numpy as np
import pytest
import shapely

from planner.course.hole import ElevationProfile, GroundArea, Hole, HoleFrame, Tee
from planner.course.lies import Ground, Lie
from planner.golfer.putting import PuttingSkill, expected_putts
from planner.golfer.shot_outcome import ShotModel, Swing, SwingStyle
from planner.golfer.shot_pattern import ShotPattern, normal_covariance
from planner.strategy.exposure import outcome_shares
from planner.strategy.ground_lines import ground_partition
from planner.strategy.roll_out import UNPLAYABLE, roll_out
from planner.strategy.shot_draws import ShotDraws

GREEN = (Ground.GREEN, shapely.box(90, -10, 110, 10))
PUTTS = 1.75
BALLS = 20_000
TIGHT = np.eye(2) * 1e-6


def box_hole(*areas, in_bounds=None, elevation=None):
    return Hole(
        ref="1",
        par=3,
        stroke_index=None,
        line_hole=shapely.LineString([(0, 0), (100, 0)]),
        tees=(Tee("white", (0.0, 0.0)),),
        pin_hole=(100.0, 0.0),
        areas=tuple(GroundArea(ground, shape) for ground, shape in areas),
        in_bounds=in_bounds,
        frame=HoleFrame((0.0, 0.0), 0.0),
        elevation=elevation or ElevationProfile(),
    )


def sure_or_not(share, miss, lies=tuple(Lie)):
    """A swing that reaches 100 m with chance ``share`` and else ends at ``miss``."""
    pattern = ShotPattern([share, 1 - share], [[100.0, 0.0], miss], [TIGHT, TIGHT], ("a", "b"))
    return swing_of({lie: pattern for lie in lies})


def swing_of(patterns, **changes):
    values = {
        "club": "Iron",
        "style": SwingStyle.FULL,
        "carry_m": 100.0,
        "patterns": patterns,
        "run_m": {},
        "descent": 0.8,
        "climb_m": 10.0,
        "shadow_m": 0.0,
        "start_sd": 0.05,
    }
    return Swing(**(values | changes))


def model_of(*swings):
    return ShotModel(swings, np.array([0.0, 50.0]), np.array([PUTTS, PUTTS]), 1.14)


def straight(places, lies, on_tee):
    return np.zeros(len(places), int), np.zeros(len(places))


def at_pin(places, lies, on_tee):
    return np.zeros(len(places), int), np.arctan2(-places[:, 1], 100.0 - places[:, 0])


def never(places, lies):
    raise AssertionError("no relief to choose")


def play(hole, model, decide=straight, value_at=never, *, balls=BALLS, seed=1, **options):
    return roll_out(
        hole,
        model,
        (0.0, 0.0),
        decide=decide,
        value_at=value_at,
        balls=balls,
        rng=np.random.default_rng(seed),
        **options,
    )


def agrees(result, mean):
    assert result.finished.all()
    return abs(result.mean - mean) < 4 * result.standard_error


@pytest.mark.parametrize("share", [0.3, 0.8])
def test_one_target(share):
    # A miss stays where it is, so the strokes to the green are geometric.
    result = play(box_hole(GREEN), model_of(sure_or_not(share, [0.0, 0.0])), max_strokes=200)
    assert agrees(result, 1 / share + PUTTS)
    variance = (1 - share) / share**2
    excess = 6 + share**2 / (1 - share)
    error = variance * math.sqrt((excess + 2) / BALLS)
    assert abs(result.scores.var() - variance) < 4 * error
    assert (result.penalties == 0).all()
    assert (result.putts == PUTTS).all()


@pytest.mark.parametrize("lost", ["boundary", "map"])
def test_out_of_bounds(lost):
    q = 0.35
    side = shapely.box(-20, -50, 150, 50)
    hole = box_hole(GREEN, in_bounds=side if lost == "boundary" else None)
    model = model_of(sure_or_not(1 - q, [50.0, 60.0], (Lie.TEE,)))
    result = play(hole, model, map_box=side if lost == "map" else None, max_strokes=200)
    assert agrees(result, PUTTS + (1 + q) / (1 - q))
    assert result.penalties.mean() == pytest.approx(q / (1 - q), rel=0.05)
    assert (result.scores - result.putts - 2 * result.penalties == 1).all()


POND = shapely.box(40, -20, 70, 20)


@pytest.mark.parametrize("ground", [Ground.YELLOW, Ground.RED])
def test_water_with_a_drop_behind_it(ground):
    q = 0.4
    hole = box_hole(GREEN, (ground, POND))
    second = swing_of(
        {lie: ShotPattern([1.0], [[63.0, 0.0]], [TIGHT]) for lie in (Lie.ROUGH, Lie.FAIRWAY)}
    )
    model = model_of(sure_or_not(1 - q, [55.0, 0.0], (Lie.TEE,)), second)
    seen = []

    def decide(places, lies, on_tee):
        seen.append(places[~on_tee])
        return np.where(on_tee, 0, 1), at_pin(places, lies, on_tee)[1]

    def value_at(places, lies):
        return np.where(lies == Lie.TEE, 9.0, 1 + PUTTS + np.hypot(*(places - (38, 0)).T))

    result = play(hole, model, decide, value_at)
    # The drop is near 38 m: the ball crossed the edge at 40 m and the value is best there.
    worth = 1 + PUTTS
    assert agrees(result, 1 + q * (1 + worth) + (1 - q) * PUTTS)
    dropped = np.concatenate(seen)
    assert len(dropped) == (result.penalties == 1).sum()
    away = np.hypot(*(dropped - (40, 0)).T)
    assert away.max() < (2 * 1.14 if ground is Ground.RED else 5.0) + 0.01
    assert (np.hypot(*(dropped - (100, 0)).T) >= 60 - 1e-6).all()


def test_stroke_and_distance_where_the_drop_is_worse():
    q = 0.4
    hole = box_hole(GREEN, (Ground.YELLOW, POND))
    model = model_of(sure_or_not(1 - q, [55.0, 0.0], (Lie.TEE,)))
    result = play(
        hole,
        model,
        value_at=lambda places, lies: np.where(lies == Lie.TEE, 2.0, 9.0),
        max_strokes=200,
    )
    assert agrees(result, PUTTS + (1 + q) / (1 - q))


def test_running_into_water_is_dropped_where_it_went_in():
    hole = box_hole(GREEN, (Ground.RED, POND), (Ground.FAIRWAY, shapely.box(-10, -40, 89, 40)))
    pattern = {Lie.TEE: ShotPattern([1.0], [[30.0, 3.0]], [TIGHT])}
    lob = {lie: ShotPattern([1.0], [[62.0, 0.0]], [TIGHT]) for lie in (Lie.FAIRWAY, Lie.ROUGH)}
    model = model_of(swing_of(pattern, run_m={Lie.FAIRWAY: 15.0}), swing_of(lob))

    def decide(places, lies, on_tee):
        if not on_tee.all():
            assert np.hypot(*(places - (40, 3)).T).max() < 2 * 1.14 + 0.36
            assert (lies == Lie.FAIRWAY).all()
        return np.where(on_tee, 0, 1), at_pin(places, lies, on_tee)[1]

    result = play(
        hole,
        model,
        decide,
        lambda places, lies: np.where(lies == Lie.TEE, 9.0, np.hypot(*(places - (40, 3)).T)),
        balls=50,
    )
    assert (result.scores == 3 + PUTTS).all()


def test_local_rule_for_a_ball_out_of_bounds():
    hole = box_hole(
        GREEN,
        (Ground.FAIRWAY, shapely.box(-10, -15, 85, 15)),
        in_bounds=shapely.box(-20, -50, 150, 50),
    )
    model = model_of(
        swing_of({Lie.TEE: ShotPattern([1.0], [[50.0, 60.0]], [TIGHT])}),
        swing_of({Lie.FAIRWAY: ShotPattern([1.0], [[77.0, 0.0]], [TIGHT])}),
    )
    # The ball crosses the boundary at (41.7, 50), as far from the pin as the fairway's edge here.
    away = math.hypot(100 - 125 / 3, 50)
    reference = (100 - math.sqrt(away**2 - 15**2), 15)

    def decide(places, lies, on_tee):
        if not on_tee.all():
            assert np.hypot(*(places - reference).T).max() < 2 * 1.14 + 0.8
        return np.where(on_tee, 0, 1), at_pin(places, lies, on_tee)[1]

    result = play(
        hole,
        model,
        decide,
        lambda places, lies: np.where(lies == Lie.TEE, 9.0, 1.0 + PUTTS),
        balls=100,
        local_rule_e5=True,
    )
    assert (result.penalties == 2).all()
    assert (result.scores == 1 + 2 + 1 + PUTTS).all()


def test_unplayable_in_trees_and_in_sand():
    hole = box_hole(
        GREEN,
        (Ground.TREES, shapely.box(30, -40, 50, 0)),
        (Ground.SAND, shapely.box(30, 0, 50, 40)),
    )
    first = ShotPattern([0.5, 0.5], [[40.0, -4.0], [40.0, 4.0]], [TIGHT, TIGHT], ("a", "b"))
    playable = {Lie.ROUGH: ShotPattern([1.0], [[72.0, 0.0]], [TIGHT])}
    model = model_of(swing_of({Lie.TEE: first}), swing_of(playable, climb_m=0.0))

    def decide(places, lies, on_tee):
        lost = np.isin(lies, (Lie.TREES, Lie.SAND))
        swing = np.where(on_tee, 0, np.where(lost, UNPLAYABLE, 1))
        return swing, np.where(on_tee, 0.0, at_pin(places, lies, on_tee)[1])

    def value_at(places, lies):
        return np.where(lies == Lie.ROUGH, np.hypot(*(places - (28, 0)).T) / 20, 50.0)

    result = play(hole, model, decide, value_at, balls=400)
    assert result.finished.all()
    # One stroke in the wood (19.2); two to leave the sand (19.3b).
    assert set(np.unique(result.penalties)) == {1.0, 2.0}
    assert (result.scores == 2 + PUTTS + result.penalties).all()


def test_the_same_draws_give_the_same_scores():
    hole = box_hole(GREEN)
    model = model_of(sure_or_not(0.5, [0.0, 0.0]))
    one, two, other = (play(hole, model, balls=500, seed=seed) for seed in (4, 4, 5))
    np.testing.assert_array_equal(one.scores, two.scores)
    assert not np.array_equal(one.scores, other.scores)


def test_strokes_allowed_run_out():
    result = play(box_hole(GREEN), model_of(sure_or_not(0.5, [0.0, 0.0])), max_strokes=2)
    assert 1 - result.finished.mean() == pytest.approx(0.25, abs=0.02)
    assert (result.putts[~result.finished] == 0).all()
    assert result.scores[result.finished].max() == 2 + PUTTS
    none = play(box_hole(), model_of(sure_or_not(0.5, [0.0, 0.0])), balls=3, max_strokes=2)
    assert math.isnan(none.mean)
    assert math.isnan(none.standard_error)


def test_whole_putts_have_the_expected_mean():
    skill = PuttingSkill(math.radians(1.5), 0.08)
    wide = ShotPattern([1.0], [[100.0, 0.0]], [np.eye(2) * 4.0])
    hole = box_hole((Ground.GREEN, shapely.box(50, -50, 150, 50)))
    model = model_of(swing_of({Lie.TEE: wide}))
    result = play(hole, model, putting=skill)
    assert set(np.unique(result.putts)) <= {1.0, 2.0, 3.0}
    distance = np.hypot(*np.random.default_rng(2).normal(0, 2.0, (2, 20_000)))
    expected = expected_putts(distance, skill).mean()
    assert result.putts.mean() == pytest.approx(expected, abs=0.02)


def test_a_policy_without_a_shot_is_refused():
    model = model_of(sure_or_not(0.5, [0.0, 0.0], (Lie.TEE,)))
    with pytest.raises(ValueError, match="no shot from tee"):
        play(
            box_hole(GREEN),
            model,
            lambda places, lies, on_tee: (np.full(len(places), -1), np.zeros(len(places))),
        )
    with pytest.raises(ValueError, match="Iron is not played from rough"):
        play(box_hole(GREEN), model)


ROUGH_COUNTRY = box_hole(
    GREEN,
    (Ground.FAIRWAY, shapely.box(20, -25, 88, 12)),
    (Ground.TREES, shapely.box(15, 14, 80, 40)),
    (Ground.SAND, shapely.box(82, -20, 88, 0)),
    (Ground.RED, shapely.Polygon([(60, -60), (95, -60), (95, -22), (70, -26)])),
    in_bounds=shapely.box(-30, -70, 160, 38),
    elevation=ElevationProfile((0.0, 60.0, 100.0), (0.0, -4.0, 2.0)),
)
WILD = ShotPattern(
    [0.8, 0.2],
    [[96.0, 2.0], [60.0, 5.0]],
    [normal_covariance((8.0, 14.0), -0.3), normal_covariance((16.0, 12.0), 0.0)],
    ("stock", "short"),
)


def wild_swing(pattern):
    return swing_of(
        {lie: pattern for lie in Lie},
        run_m={Lie.FAIRWAY: 9.0, Lie.ROUGH: 4.0, Lie.GREEN: 5.0},
        climb_m=35.0,
        shadow_m=12.0,
    )


def test_mirrored_hole_and_golfer_give_the_mirrored_result():
    def flip(shape):
        return shapely.transform(shape, lambda points: points * [1.0, -1.0])

    hole = ROUGH_COUNTRY
    other = dataclasses.replace(
        hole,
        areas=tuple(dataclasses.replace(a, shape_hole=flip(a.shape_hole)) for a in hole.areas),
        in_bounds=flip(hole.in_bounds),
    )
    short = ShotPattern([1.0], [[25.0, 1.0]], [normal_covariance((7.0, 4.0), 0.3)])

    def decide(places, lies, on_tee):
        near = np.hypot(*(places - (100, 0)).T) < 60
        return np.where(near, 1, 0), at_pin(places, lies, on_tee)[1]

    def value_at(places, lies):
        return 2.5 + np.hypot(*(places - (100, 0)).T) / 60

    one = play(hole, model_of(wild_swing(WILD), wild_swing(short)), decide, value_at)
    two = play(
        other,
        model_of(wild_swing(WILD.mirrored()), wild_swing(short.mirrored())),
        decide,
        value_at,
        seed=2,
    )
    assert one.finished.all()
    assert one.penalties.mean() > 0.01
    for name in ("scores", "penalties"):
        a, b = getattr(one, name), getattr(two, name)
        error = math.sqrt((a.var() + b.var()) / BALLS)
        assert abs(a.mean() - b.mean()) < 4 * error


@pytest.mark.parametrize("bearing", [0.0, 0.2, -0.3])
def test_draws_have_the_exact_shares(bearing):
    size = 100_000
    hole, swing = ROUGH_COUNTRY, wild_swing(WILD)
    model = model_of(swing)
    partition = ground_partition(hole)
    shots = ShotDraws(partition, hole, model).draw(
        np.zeros((size, 2)),
        np.full(size, Lie.TEE),
        np.zeros(size, dtype=int),
        np.full(size, bearing),
        rng=np.random.default_rng(3),
    )
    exact = outcome_shares(partition, hole, model, swing, Lie.TEE, (0.0, 0.0), bearing)
    ground = partition.grounds[shots.ground_class]
    for kind, expected in (
        (Ground.FAIRWAY, exact.fairway),
        (Ground.ROUGH, exact.rough),
        (Ground.SAND, exact.sand),
        (Ground.TREES, exact.trees),
        (Ground.GREEN, exact.green),
        (Ground.RED, exact.red),
        (Ground.OUT, exact.out_of_bounds),
    ):
        error = math.sqrt(max(expected * (1 - expected), 1e-9) / size)
        assert abs((ground == kind).mean() - expected) < 4 * error + 1e-6
    wet = ground == Ground.RED
    # A path last entered the water on its edge.
    edge = shapely.boundary(hole.areas_of(Ground.RED)[0].shape_hole)
    assert shapely.distance(edge, shapely.points(shots.crossing_hole[wet])).max() < 1e-9
