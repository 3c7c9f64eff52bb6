"""The shot model built from a bag."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.ball.conditions import Conditions
from planner.course.lies import Lie
from planner.errors import OptionError
from planner.golfer.bag import LOFT_LIMITS_DEG, Bag, Golfer, PuttingSpread
from planner.golfer.club import Club, ClubKind, MeasuredPattern
from planner.golfer.lie_effects import LieEffect, from_lie, full_swing_effect
from planner.golfer.partial_ladder import ladder, punch_carries
from planner.golfer.putting import putting_skill
from planner.golfer.shot_outcome import SwingStyle
from planner.golfer.swing_set import build_shot_model, golfer_putting, pattern_source
from planner.units import RAD_PER_DEG

ALL_BUT_GREEN = [lie for lie in Lie if lie is not Lie.GREEN]


def of_style(model, style, club=None):
    return [s for s in model.swings if s.style is style and club in (None, s.club)]


def check_invariants(model):
    for swing in model.swings:
        assert swing.patterns
        for pattern in swing.patterns.values():
            assert np.linalg.eigvalsh(pattern.covariances).min() > 0
            assert pattern.weights.sum() == pytest.approx(1.0, abs=1e-12)
            assert pattern.means[0, 0] > 0
        assert 0 < swing.descent < math.pi / 2
        assert 0 < swing.start_sd < 0.5
        assert swing.climb_m > 0
        assert 0 <= swing.shadow_m <= swing.carry_m * 1.05
        assert all(run >= 0 for run in swing.run_m.values())
        assert Lie.SAND not in swing.run_m
    for lie in ALL_BUT_GREEN:
        assert any(lie in swing.patterns for swing in model.swings)


@pytest.mark.parametrize("index", [-5.0, 0.0, 18.0, 36.0, 54.0])
def test_every_swing_is_sound(make_bag, index):
    model = build_shot_model(make_bag(index))
    check_invariants(model)
    assert len(of_style(model, SwingStyle.FULL)) == 13
    assert 1 <= len(of_style(model, SwingStyle.PUNCH)) <= 6
    assert len(of_style(model, SwingStyle.PARTIAL)) <= 85


def test_partial_ladder_covers_every_distance(make_bag):
    model = build_shot_model(make_bag(15.0))
    partial = of_style(model, SwingStyle.PARTIAL, "Lob wedge")
    full = of_style(model, SwingStyle.FULL, "Lob wedge")[0].carry_m
    carries = [swing.carry_m for swing in partial]
    sd = {s.carry_m: s.patterns[Lie.FAIRWAY].covariances[0, 0, 0] ** 0.5 for s in partial}
    assert carries[0] == pytest.approx(3.0)
    assert carries[-1] == pytest.approx(0.92 * full)
    for low, high in itertools.pairwise(carries):
        # A step is about one deviation of the stock shot it starts from, a metre at least.
        assert high - low <= max(1.3 * sd[low], 1.0) + 1e-9
    everything = sorted(s.carry_m for s in model.swings if Lie.FAIRWAY in s.patterns)
    assert max(b / a for a, b in itertools.pairwise(everything) if a > 20) < 1.3
    for swing in partial:
        lies = (Lie.TEE, Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.SAND)
        assert set(swing.patterns) == set(lies)


@given(st.floats(2, 30), st.floats(1.01, 6), st.floats(0.02, 0.9), st.floats(0.1, 2.0))
def test_ladder_steps(low, span, share, floor):
    def step(carry):
        return math.hypot(share * carry, floor)

    rungs = ladder(low, low * span, step)
    assert rungs[0] == pytest.approx(low)
    assert rungs[-1] == pytest.approx(low * span)
    assert all(0 < b - a <= step(a) * (1 + 1e-6) for a, b in itertools.pairwise(rungs))


def test_a_club_takes_no_swing_from_another_when_every_wedge_has_its_ladder(make_bag):
    bag = make_bag(15.0)
    labels = [club.label for club in bag.carried()]
    whole = build_shot_model(bag, clubs=labels, every_ladder=True)
    for gone in ("Lob wedge", "Driver", "6 iron"):
        left = build_shot_model(bag, clubs=[x for x in labels if x != gone], every_ladder=True)
        kept = {(s.club, s.style, s.carry_m) for s in whole.swings if s.club != gone}
        assert {(s.club, s.style, s.carry_m) for s in left.swings} == kept


@given(st.floats(5, 200))
def test_punch_outs_stay_below_the_club(full):
    carries = punch_carries(full)
    assert 1 <= len(carries) <= 6
    assert max(carries) <= 0.85 * full + 1e-9
    assert list(carries) == sorted(carries)


def test_punch_out_flies_under_the_wood_and_runs(make_bag):
    model = build_shot_model(make_bag(15.0))
    iron = of_style(model, SwingStyle.FULL, "6 iron")[0]
    for swing in of_style(model, SwingStyle.PUNCH):
        assert swing.club == "6 iron"
        assert set(swing.patterns) == {Lie.TREES}
        assert swing.climb_m == math.inf
        assert swing.shadow_m == 0.0
        assert swing.run_m[Lie.FAIRWAY] > iron.run_m[Lie.FAIRWAY]
        assert swing.start_sd > iron.start_sd


def test_lies_decide_what_may_be_hit(make_bag):
    full = {s.club: s for s in of_style(build_shot_model(make_bag(15.0)), SwingStyle.FULL)}
    assert set(full["Driver"].patterns) == {Lie.TEE}
    assert Lie.DEEP_ROUGH not in full["3 wood"].patterns
    assert Lie.SAND not in full["3 wood"].patterns
    assert Lie.SAND in full["9 iron"].patterns
    for swing in full.values():
        if Lie.ROUGH in swing.patterns:
            fairway, rough = swing.patterns[Lie.FAIRWAY], swing.patterns[Lie.ROUGH]
            assert rough.means[0, 0] < fairway.means[0, 0]
            assert rough.mishit_share > fairway.mishit_share
            assert rough.covariance[1, 1] > fairway.covariance[1, 1]
    open_driver = Club("Driver", ClubKind.DRIVER, 11 * RAD_PER_DEG)
    assert full_swing_effect(open_driver, Lie.FAIRWAY) is not None
    assert full_swing_effect(open_driver, Lie.ROUGH) is None


def test_a_lie_widens_a_wild_golfer_less(make_bag):
    pattern = of_style(build_shot_model(make_bag(15.0)), SwingStyle.FULL, "7 iron")[0].patterns[
        Lie.FAIRWAY
    ]
    effect = LieEffect(1.0, 1.5, 1.0)
    tour = from_lie(pattern, effect, tour_spread=1.0)
    wild = from_lie(pattern, effect, tour_spread=0.5)
    ratio = pattern.covariances[0, 1, 1]
    assert tour.covariances[0, 1, 1] / ratio == pytest.approx(2.25)
    # Added variance: 1 + (1.5^2 - 1) / 4.
    assert wild.covariances[0, 1, 1] / ratio == pytest.approx(1.3125)


def test_left_handed_golfer_is_mirrored(make_bag):
    right = build_shot_model(make_bag(22.0))
    left = build_shot_model(make_bag(22.0, left_handed=True))
    assert left.left_handed
    for a, b in zip(right.swings, left.swings, strict=True):
        assert (a.label, a.carry_m, a.start_sd) == (b.label, b.carry_m, b.start_sd)
        for lie, pattern in a.patterns.items():
            mirrored = b.patterns[lie].mirrored()
            np.testing.assert_allclose(mirrored.means, pattern.means, atol=1e-9)
            np.testing.assert_allclose(mirrored.covariances, pattern.covariances, atol=1e-9)


def test_sources_and_notes(make_bag):
    bag = make_bag(
        15.0,
        patterns={
            "Driver": MeasuredPattern(190.0, 2.0, 10.0, 15.0),
            "7 iron": MeasuredPattern(120.0),
        },
    )
    source = pattern_source(bag)
    assert source["Driver"] == "measured"
    assert source["7 iron"] == "carry only"
    assert source["9 iron"] == "predicted"
    assert "Putter" not in source
    notes = build_shot_model(bag).notes
    assert len(notes) == 3
    assert "Driver" in notes[0]
    assert "7 iron" in notes[1]


def test_measured_run_replaces_the_fairway_run(make_bag):
    given_run = MeasuredPattern(190.0, 0.0, 10.0, 15.0, run_m=12.0)
    own = make_bag(15.0, patterns={"Driver": given_run})
    usual = make_bag(15.0, patterns={"Driver": MeasuredPattern(190.0, 0.0, 10.0, 15.0)})
    a, b = (of_style(build_shot_model(x), SwingStyle.FULL, "Driver")[0] for x in (own, usual))
    assert a.run_m[Lie.FAIRWAY] == pytest.approx(12.0)
    factor = 12.0 / b.run_m[Lie.FAIRWAY]
    # The run also says a little about the delivery, hence about the flight.
    assert a.run_m[Lie.ROUGH] == pytest.approx(b.run_m[Lie.ROUGH] * factor, rel=0.05)
    firm = Conditions(firmness=1.5)
    a2, b2 = (
        of_style(build_shot_model(x, conditions=firm), SwingStyle.FULL, "Driver")[0]
        for x in (own, usual)
    )
    assert a2.run_m[Lie.FAIRWAY] == pytest.approx(b2.run_m[Lie.FAIRWAY] * factor, rel=0.05)
    assert a2.run_m[Lie.FAIRWAY] > 12.0


def test_warm_high_air_lengthens_the_carry(make_bag):
    bag = make_bag(10.0)
    usual = build_shot_model(bag)
    high = build_shot_model(bag, conditions=Conditions(temperature_c=30.0, altitude_m=1500.0))
    for a, b in zip(usual.swings, high.swings, strict=True):
        # A full drive gains some 6 % at 1500 m (about 0.116 % per 100 ft, common practice).
        ratio = b.carry_m / a.carry_m
        # Low punch-outs live on lift and lose a little.
        low = 0.9 if a.style is SwingStyle.PUNCH else 0.99
        assert low <= ratio < 1.15
        lie = next(iter(a.patterns))
        np.testing.assert_allclose(b.patterns[lie].means, a.patterns[lie].means * ratio, rtol=1e-9)
    drives = (of_style(m, SwingStyle.FULL, "Driver")[0].carry_m for m in (high, usual))
    assert next(drives) / next(drives) > 1.02


def test_wind_reaches_the_model(make_bag):
    windy = Conditions(wind_from=1.0, wind_speed=6.0)
    model = build_shot_model(make_bag(10.0, labels=("Driver", "Sand wedge")), conditions=windy)
    assert model.wind_from == 1.0
    drive = of_style(model, SwingStyle.FULL, "Driver")[0]
    assert drive.wind_shift_m is not None
    head, tail = drive.shift([0.0])[0, 0], drive.shift([math.pi])[0, 0]
    assert head < 0 < tail < -head


@pytest.mark.parametrize(
    "labels",
    [("Driver",), ("3 wood",), ("Driver", "7 iron"), ("4 hybrid",), ("Lob wedge",)],
)
def test_thin_bags_can_play_from_every_lie(make_bag, labels):
    model = build_shot_model(make_bag(25.0, labels=labels))
    check_invariants(model)
    if "Driver" in labels and len(labels) == 1:
        assert any("no club of this bag suits" in note for note in model.notes)


def test_without_wedges_the_most_lofted_irons_chip(make_bag):
    model = build_shot_model(make_bag(25.0, labels=("Driver", "5 iron", "7 iron", "9 iron")))
    assert {s.club for s in of_style(model, SwingStyle.PARTIAL)} == {"9 iron", "7 iron"}


def test_a_club_does_not_change_with_its_company(make_bag):
    bag = make_bag(15.0, patterns={"5 iron": MeasuredPattern(140.0)})
    all_clubs = {s.club: s for s in of_style(build_shot_model(bag), SwingStyle.FULL)}
    few = build_shot_model(bag, clubs=["Driver", "7 iron", "Lob wedge", "Putter"])
    for swing in of_style(few, SwingStyle.FULL):
        assert swing.carry_m == all_clubs[swing.club].carry_m
    fewer = [s for s in few.swings if s.club == "Lob wedge"]
    same = [s for s in build_shot_model(bag).swings if s.club == "Lob wedge"]
    assert [s.carry_m for s in fewer] == [s.carry_m for s in same]


def test_putting_and_club_length(make_bag):
    bag = make_bag(15.0, putting=PuttingSpread(distance_sd=0.12))
    usual = putting_skill(15.0)
    own = golfer_putting(bag.golfer)
    assert (own.angle_sd, own.distance_sd) == (usual.angle_sd, 0.12)
    model = build_shot_model(bag)
    assert model.expected_putts(0.0) == 1.0
    putts = model.expected_putts(np.linspace(0, 60, 200))
    assert (np.diff(putts) >= -1e-6).all()
    # Broadie: a golfer averaging 90 needs two putts from 19 ft.
    ninety = build_shot_model(make_bag(15.0))
    assert ninety.expected_putts(19 * 0.3048) == pytest.approx(2.0, abs=0.1)
    # Rules: club-length is that of the longest club but the putter; a driver is about 45 in.
    assert model.club_length_m == pytest.approx(45 * 0.0254)


def test_errors_say_what_to_do(make_bag):
    bag = make_bag(15.0)
    with pytest.raises(OptionError, match='did you mean "Driver"'):
        build_shot_model(bag, clubs=["Drivr"])
    with pytest.raises(OptionError, match="but a putter"):
        build_shot_model(bag, clubs=["Putter"])
    with pytest.raises(OptionError, match="partial step"):
        build_shot_model(bag, partial_step=0.0)
    far = make_bag(15.0, patterns={"Lob wedge": MeasuredPattern(300.0)})
    with pytest.raises(OptionError, match="correct the loft or the carry"):
        build_shot_model(far, clubs=["Lob wedge"])
    extra = tuple(Club(f"iron {i}", ClubKind.IRON, (20 + i) * RAD_PER_DEG) for i in range(3))
    with pytest.raises(OptionError, match="17 clubs are in the bag, 3 too many"):
        build_shot_model(Bag("big", Golfer(), bag.clubs + extra))


@settings(max_examples=10, deadline=None)
@given(
    st.floats(-8, 54),
    st.lists(
        st.tuples(
            st.sampled_from([kind for kind in ClubKind if kind is not ClubKind.PUTTER]),
            st.floats(0, 1),
            st.booleans(),
        ),
        min_size=1,
        max_size=4,
    ),
    st.booleans(),
)
def test_any_bag_gives_a_sound_model(index, rows, left_handed):
    clubs = tuple(
        Club(
            f"club {i}",
            kind,
            float(np.interp(place, (0, 1), LOFT_LIMITS_DEG[kind])) * RAD_PER_DEG,
            tee_only=tee_only,
        )
        for i, (kind, place, tee_only) in enumerate(rows)
    )
    check_invariants(
        build_shot_model(Bag("any", Golfer("g", index, left_handed), clubs), partial_step=2.0)
    )
