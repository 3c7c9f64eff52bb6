"""From a log to patterns and a bag: units, hands, lies, pooled shots and what is left out."""

from __future__ import annotations

import dataclasses
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from planner.course.lies import Lie
from planner.demo_data import demo_bag, demo_folder
from planner.errors import OptionError, ShotLogError
from planner.golfer.bag import Bag, Golfer, bag_from_text, bag_text, read_bag
from planner.golfer.club import Club, ClubKind
from planner.golfer.club_fits import MIN_LIE_SHOTS, ClubFit, LogFit, fit_clubs, measured_pattern
from planner.golfer.lie_effects import full_swing_effect
from planner.golfer.shot_log import LogReading, ShotLog
from planner.golfer.shot_log_columns import find_columns
from planner.golfer.shot_log_reading import read_shot_log, read_shots
from planner.golfer.shot_log_text import split_rows
from planner.golfer.skill import full_swing_skill, typical_pattern
from planner.planning.pattern_fitting import ShotFit, fit_shots, log_clubs, patterned_bag
from planner.units import RAD_PER_DEG, DistanceUnit

IRON = Club("7 iron", ClubKind.IRON, 33 * RAD_PER_DEG)
DRIVER = Club("Driver", ClubKind.DRIVER, 10.5 * RAD_PER_DEG, tee_only=True)
GOLFER = Golfer(handicap_index=20.0)


def shots(club: Club, carry: float, count: int, seed: int = 1) -> NDArray[np.float64]:
    truth = typical_pattern(full_swing_skill(club.kind, club.loft, 20.0), carry)
    points, _ = truth.sample(np.random.default_rng(seed), count)
    return np.asarray(np.maximum(points, (0.0, -300.0)))


def log_of(
    points: NDArray[np.float64], club: str = "7 iron", lies: list[Lie | None] | None = None
) -> ShotLog:
    n = len(points)
    return ShotLog(
        (club,) * n,
        points[:, 0],
        points[:, 1],
        points[:, 0] + 8.0,
        tuple(lies or [None] * n),
        ("",) * n,
        ("",) * n,
        np.arange(2, n + 2),
    )


def joined(*logs: ShotLog) -> ShotLog:
    texts = [
        sum((getattr(log, name) for log in logs), ()) for name in ("club", "lie", "outcome", "date")
    ]
    arrays = [
        np.concatenate([getattr(log, name) for log in logs])
        for name in ("carry_m", "offline_m", "total_m")
    ]
    count = len(texts[0])
    return ShotLog(texts[0], *arrays, texts[1], texts[2], texts[3], np.arange(2, count + 2))


def only(fits: LogFit) -> ClubFit:
    (found,) = fits.clubs
    return found


@cache
def demo(stem: str) -> tuple[LogReading, Bag, ShotFit]:
    reading = read_shot_log(demo_folder() / "shots" / f"{stem}.csv")
    bag = read_bag(demo_bag(stem))
    return reading, bag, fit_shots(reading, bag=bag)


def reading_of(text: str) -> LogReading:
    split = split_rows("log.csv", text.encode())
    return read_shots(split, find_columns(split), unit=DistanceUnit.METRES)


def test_the_prior_stands_where_the_bag_puts_the_carry() -> None:
    points = shots(IRON, 120.0, 12)
    found = only(fit_clubs(log_of(points), [IRON], GOLFER))
    measured = measured_pattern(found, DistanceUnit.METRES)
    known = only(fit_clubs(log_of(points), [dataclasses.replace(IRON, pattern=measured)], GOLFER))
    assert known.prior.means[0, 0] == measured.carry_m
    # Spread and mishits of the prior are those of the handicap, never the bag's own.
    share = full_swing_skill(IRON.kind, IRON.loft, 20.0)
    assert known.prior.weights[1] == pytest.approx(share.short_share)


def test_other_clubs_of_the_log_tell_the_carry_of_one_hit_twice() -> None:
    # A golfer who hits everything a third farther than his handicap lets expect.
    alone = only(fit_clubs(log_of(shots(IRON, 165.0, 2)), [IRON, DRIVER], GOLFER))
    log = joined(log_of(shots(IRON, 165.0, 2)), log_of(shots(DRIVER, 250.0, 40), "Driver"))
    with_driver = fit_clubs(log, [IRON, DRIVER], GOLFER).clubs[0]
    assert with_driver.prior.means[0, 0] > 1.15 * alone.prior.means[0, 0]
    assert with_driver.fit.shots == 2
    assert with_driver.few


def test_what_a_club_did_never_enters_its_own_prior() -> None:
    priors = [
        only(fit_clubs(log_of(shots(IRON, carry, 30)), [IRON], GOLFER)).prior.means[0, 0]
        for carry in (100.0, 160.0)
    ]
    assert priors[0] == priors[1]


def test_mirrored_shots_of_a_left_hander_give_the_mirrored_fit() -> None:
    points = shots(IRON, 120.0, 40)
    right = only(fit_clubs(log_of(points), [IRON], GOLFER)).fit
    left = only(
        fit_clubs(
            log_of(points * (1.0, -1.0)), [IRON], dataclasses.replace(GOLFER, left_handed=True)
        )
    ).fit
    assert left.offline.value == pytest.approx(-right.offline.value)
    assert left.mean_carry.value == pytest.approx(right.mean_carry.value)
    np.testing.assert_allclose(left.pattern.means, right.pattern.mirrored().means, atol=1e-9)


def test_metres_and_yards_of_one_log_are_one_fit() -> None:
    points = np.round(shots(IRON, 120.0, 15), 1)
    rows = "\n".join(f"7i;{c:.4f};{o:.4f}" for c, o in points)
    in_yards = "\n".join(f"7i;{c / 0.9144:.6f};{o / 0.9144:.6f}" for c, o in points)
    metres = fit_shots(reading_of(f"Club;Carry (m);Side (m)\n{rows}"), handicap_index=20.0)
    yards = fit_shots(reading_of(f"Club;Carry (yd);Side (yd)\n{in_yards}"), handicap_index=20.0)
    one, other = only(metres.fits).fit, only(yards.fits).fit
    assert one.mean_carry.value == pytest.approx(other.mean_carry.value, rel=1e-4)
    assert one.offline_sd.high == pytest.approx(other.offline_sd.high, rel=1e-3)


def test_more_shots_give_a_narrower_interval_and_few_are_called_few() -> None:
    few = only(fit_clubs(log_of(shots(IRON, 120.0, 3)), [IRON], GOLFER))
    many = only(fit_clubs(log_of(shots(IRON, 120.0, 60)), [IRON], GOLFER))
    assert few.few
    assert not many.few
    width = [f.fit.mean_carry.high - f.fit.mean_carry.low for f in (few, many)]
    assert width[0] > 2 * width[1]
    # Little data plans with a wide pattern.
    assert few.fit.pattern.covariances[0, 0, 0] > 1.2 * many.fit.pattern.covariances[0, 0, 0]


# Lies -------------------------------------------------------------------------------------------


def test_enough_shots_from_a_lie_stand_alone() -> None:
    good, rough = shots(IRON, 120.0, 30), shots(IRON, 108.0, MIN_LIE_SHOTS, 2)
    lies: list[Lie | None] = [Lie.FAIRWAY] * 20 + [Lie.TEE] * 5 + [None] * 5
    log = log_of(np.concatenate((good, rough)), lies=[*lies, *[Lie.ROUGH] * len(rough)])
    base, alone = fit_clubs(log, [IRON], GOLFER).clubs
    assert (base.lie, base.fit.shots) == (None, 30)
    assert (alone.lie, alone.fit.shots) == (Lie.ROUGH, MIN_LIE_SHOTS)
    assert alone.title == "7 iron, rough"
    effect = full_swing_effect(IRON, Lie.ROUGH)
    assert effect is not None
    assert alone.prior.means[0, 0] == pytest.approx(base.prior.means[0, 0] * effect.carry)
    assert alone.prior.mishit_share > base.prior.mishit_share


def test_few_shots_from_a_lie_are_pooled_and_it_is_said() -> None:
    points = shots(IRON, 120.0, 20)
    effect = full_swing_effect(IRON, Lie.ROUGH)
    assert effect is not None
    lies: list[Lie | None] = [None] * 16 + [Lie.ROUGH] * 4
    worse = points.copy()
    worse[16:] *= effect.carry
    pooled = only(fit_clubs(log_of(worse, lies=lies), [IRON], GOLFER))
    np.testing.assert_allclose(pooled.points_m, points)
    assert any("4 shots from rough: too few to stand alone, pooled" in n for n in pooled.notes)


def test_sand_and_putts_and_woods_are_no_full_swings() -> None:
    points = np.concatenate((shots(IRON, 120.0, 20), np.full((12, 2), 9.0), np.full((3, 2), 40.0)))
    lies = [None] * 20 + [Lie.SAND] * 12 + [Lie.TREES] * 3
    found = only(fit_clubs(log_of(points, lies=lies), [IRON], GOLFER))
    assert found.fit.shots == 20
    assert any("12 shots from sand: no full swings" in note for note in found.notes)
    assert any("3 shots from trees" in note for note in found.notes)
    putter = Club("Putter", ClubKind.PUTTER, 0.0)
    log = joined(log_of(points[:5]), log_of(points[20:24], "Putter"))
    fits = fit_clubs(log, [IRON, putter], GOLFER)
    assert [f.title for f in fits.clubs] == ["7 iron"]
    assert any("putts" in note for note in fits.notes)


def test_partial_swings_are_pointed_out() -> None:
    points = np.concatenate((shots(IRON, 120.0, 12), np.full((12, 2), (30.0, 1.0))))
    found = only(fit_clubs(log_of(points), [IRON], GOLFER))
    assert any("partial swings count as mishits" in note for note in found.notes)


def test_a_wrong_number_is_named_by_its_line() -> None:
    points = shots(IRON, 120.0, 60)
    points[17] = (390.0, 200.0)
    found = only(fit_clubs(log_of(points), [IRON], GOLFER))
    assert any("line 19" in note for note in found.notes)


def test_run_is_that_of_the_solid_shots() -> None:
    found = only(fit_clubs(log_of(shots(IRON, 120.0, 30)), [IRON], GOLFER))
    assert found.run_m == pytest.approx(8.0)
    log = dataclasses.replace(log_of(shots(IRON, 120.0, 30)), total_m=np.full(30, np.nan))
    assert only(fit_clubs(log, [IRON], GOLFER)).run_m is None


# Names ------------------------------------------------------------------------------------------


def test_names_without_a_bag_give_clubs_with_usual_lofts() -> None:
    text = (
        "Club;Carry;Side\n" + "7i;140;1\n" * 3 + "7 Iron;141;2\nSW;70;0\nmystery;90;1\nPutter;9;0\n"
    )
    reading = reading_of(text)
    assert [club.label for club in log_clubs(reading.log)] == ["7 Iron", "SW"]
    found = fit_shots(reading)
    assert {club.title: club.fit.shots for club in found.fits.clubs} == {"7 Iron": 4, "SW": 1}
    assert found.fits.unmatched == {"mystery": 1, "Putter": 1}
    said = "\n".join(found.notes)
    assert "no handicap index is given; 18 is assumed" in said
    assert '"mystery": 1 shot left out; the name tells no kind' in said
    assert "putts are no part" in said


def test_names_that_a_bag_has_not() -> None:
    reading = reading_of("Club;Carry;Side\n7 iron;90;1\n8 wood;99;2\n")
    bag = read_bag(demo_bag("odile"))
    notes = "\n".join(fit_shots(reading, bag=bag).notes)
    assert '"8 wood": 1 shot left out; the bag has no such club; did you mean' in notes
    with pytest.raises(ShotLogError, match="no shot belongs to a club"):
        fit_shots(reading_of("Club;Carry;Side\nstick;90;1\n"), bag=bag)


def test_a_log_without_clubs_needs_one() -> None:
    reading = reading_of("Carry;Side\n140;1\n141;3\n")
    with pytest.raises(OptionError, match="no column for the club"):
        fit_shots(reading)
    assert only(fit_shots(reading, club="7i").fits).fit.shots == 2
    bag = read_bag(demo_bag("odile"))
    assert only(fit_shots(reading, bag=bag, club="5 wood").fits).title == "5 wood"
    with pytest.raises(OptionError, match="tells no kind"):
        fit_shots(reading, club="stick")
    with pytest.raises(OptionError, match="did you mean"):
        fit_shots(reading, bag=bag, club="5 wod")


# The new bag ------------------------------------------------------------------------------------


@pytest.mark.parametrize("stem", ["bram_oskel", "tobias_fennimark"])
def test_the_new_bag_holds_what_was_fitted(stem: str) -> None:
    _, bag, found = demo(stem)
    text = bag_text(demo_bag(stem))
    new = patterned_bag(text, found.fits, source=stem)
    wanted = {fit.club.label: measured_pattern(fit, bag.unit) for fit in found.fits.for_bag()}
    assert set(new.changed) == set(wanted)
    assert new.bag.clubs == tuple(
        dataclasses.replace(club, pattern=wanted.get(club.label, club.pattern))
        for club in bag.clubs
    )
    assert bag_from_text(new.text, source=stem) == new.bag
    for fit in found.fits.for_bag():
        pattern = new.bag.club(fit.club.label).pattern
        assert pattern is not None
        half = bag.unit.to_metres(0.05) + 1e-9
        assert pattern.carry_m == pytest.approx(fit.fit.pattern.means[0, 0], abs=half)
        assert pattern.shots == fit.fit.shots
        assert pattern.mishits is not None
        share = sum(mishit.share for mishit in pattern.mishits)
        assert share == pytest.approx(fit.fit.pattern.mishit_share, abs=2e-3)


def test_a_measured_run_stays_where_the_log_tells_none() -> None:
    bag = read_bag(demo_bag("odile"))
    club = bag.club("Driver")
    log = dataclasses.replace(
        log_of(shots(DRIVER, 150.0, 20), "Driver"), total_m=np.full(20, np.nan)
    )
    found = only(fit_clubs(log, bag.clubs, bag.golfer))
    assert club.pattern is not None
    assert measured_pattern(found, bag.unit).run_m == club.pattern.run_m


def test_the_demo_fits_settle_and_stand_near_what_the_golfers_say() -> None:
    *_, found = demo("bram_oskel")
    assert found.fits.converged
    for fit in found.fits.for_bag():
        assert fit.club.pattern is not None
        said = fit.club.pattern.carry_m
        assert fit.fit.mean_carry.value == pytest.approx(said, rel=0.12)
    driver = next(fit for fit in found.fits.clubs if fit.title == "Driver")
    # Three shots in ten are mishits by his own account.
    assert driver.fit.mishit_share.low < 0.32 < driver.fit.mishit_share.high
    assert driver.fit.offline.value > 0
    assert driver.days == 6
