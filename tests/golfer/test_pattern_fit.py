"""Fit of shot patterns: honest intervals on simulated golfers, symmetries, and hard cases.

Simulated golfers differ from what the skill model predicts for them as real ones are assumed to:
of a golfer of index U(0, 30) with a driver, wood, iron or wedge in turn, drawn independently,

    level of all carries       log-normal, deviation 0.10
    bias of direction          normal, 0.5 of the stock offline deviation, growing with carry
    deviations, each way       log-normal, 0.22 for the stock shot, 0.28 for mishits
    correlation                normal in its Fisher transform, 0.3
    mishits' shares            normal in log odds against the stock shot, 0.65
    mishits' means             normal, 0.5 of their own deviations, on top of level and bias

The sizes are those of the prior, the families are not: the prior's shares are Dirichlet, its
covariances inverse Wishart. ``prior_index_off`` makes the truth a golfer of another index than
the one that the prior is told.
"""

import math
import time
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import invwishart, multivariate_normal
from sklearn.mixture import GaussianMixture

from planner.golfer.club import ClubKind
from planner.golfer.pattern_fit import (
    Estimate,
    PatternFit,
    PatternFitWarning,
    PriorStrength,
    fit_pattern,
)
from planner.golfer.pattern_prior import mixture_prior
from planner.golfer.shot_pattern import ShotPattern, normal_covariance
from planner.golfer.skill import full_swing_skill, typical_pattern
from planner.units import RAD_PER_DEG

CLUBS = (
    (ClubKind.DRIVER, 10.5, 200.0),
    (ClubKind.WOOD, 16.0, 175.0),
    (ClubKind.IRON, 33.0, 135.0),
    (ClubKind.WEDGE, 52.0, 85.0),
)
LENGTHS = (
    "mean_carry",
    "offline",
    "carry_sd",
    "offline_sd",
    "overall_carry",
    "overall_offline",
    "overall_carry_sd",
    "overall_offline_sd",
)
SHARES = ("mishit_share", "correlation")
NAMES = LENGTHS + SHARES


def predicted(club, index):
    kind, loft, carry = club
    return typical_pattern(full_swing_skill(kind, loft * RAD_PER_DEG, index), carry)


def golfer_like(usual, rng):
    """A golfer drawn round the pattern ``usual``, as the module says."""
    odds = np.append(1.0, usual.weights[1:] / usual.weights[0])
    odds[1:] *= np.exp(0.65 * rng.standard_normal(2))
    sd = np.sqrt(np.diagonal(usual.covariances, axis1=1, axis2=2))
    correlation = usual.covariances[:, 0, 1] / sd.prod(1)
    part = usual.means[:, 0] / usual.means[0, 0]
    means = usual.means.copy()
    means[:, 0] *= math.exp(0.10 * rng.standard_normal())
    means[:, 1] += part * 0.5 * sd[0, 1] * rng.standard_normal()
    means[1:] += 0.5 * sd[1:] * rng.standard_normal((2, 2))
    size = np.array([0.22, 0.28, 0.28])[:, None]
    sd = sd * np.exp(size * rng.standard_normal((3, 2)))
    correlation = np.tanh(np.arctanh(correlation) + 0.3 * rng.standard_normal(3))
    covariances = [normal_covariance(*each) for each in zip(sd, correlation, strict=True)]
    return ShotPattern(odds / odds.sum(), means, np.array(covariances), usual.names)


def golfer_of_prior(usual, rng):
    """A golfer drawn from the very prior of the fit."""
    prior = mixture_prior(usual, PriorStrength())
    carry = usual.means[0, 0]
    means = rng.multivariate_normal(prior.mean.ravel(), prior.mean_covariance).reshape(-1, 2)
    covariances = [
        invwishart.rvs(degrees, scale, random_state=rng)
        for degrees, scale in zip(prior.degrees, prior.scales, strict=True)
    ]
    weights = np.maximum(rng.dirichlet(prior.counts), 1e-12)
    return ShotPattern(
        weights / weights.sum(), means * carry, np.array(covariances) * carry**2, usual.names
    )


def true_values(truth):
    along, across = np.sqrt(np.diag(truth.covariances[0]))
    overall = np.sqrt(np.diag(truth.covariance))
    return {
        "mean_carry": truth.means[0, 0],
        "offline": truth.means[0, 1],
        "carry_sd": along,
        "offline_sd": across,
        "correlation": truth.covariances[0, 0, 1] / (along * across),
        "mishit_share": truth.mishit_share,
        "overall_carry": truth.mean[0],
        "overall_offline": truth.mean[1],
        "overall_carry_sd": overall[0],
        "overall_offline_sd": overall[1],
    }


def coverage(shots, repeats, *, drawn=golfer_like, prior_index_off=0.0, seed=11):
    """Share of golfers whose truth lies in the 90 % interval, by quantity."""
    rng = np.random.default_rng(seed)
    inside = dict.fromkeys(NAMES, 0)
    for repeat in range(repeats):
        club, index = CLUBS[repeat % len(CLUBS)], rng.uniform(0.0, 30.0)
        truth = drawn(predicted(club, index + prior_index_off), rng)
        fit = fit_pattern(truth.sample(rng, shots)[0], predicted(club, index))
        assert fit.converged
        for name, value in true_values(truth).items():
            found = getattr(fit, name)
            inside[name] += found.low <= value <= found.high
    return {name: count / repeats for name, count in inside.items()}


@pytest.mark.parametrize("shots", [12, 60])
def test_intervals_cover_the_truth_on_few_golfers(shots):
    found = coverage(shots, 48)
    # 43 of 48 are expected; 35 or fewer of one quantity come by chance once in 1100 times.
    assert min(found.values()) >= 36 / 48
    assert 0.85 <= np.mean(list(found.values())) <= 0.95


@pytest.mark.slow
@pytest.mark.parametrize("shots", [5, 10, 20, 50, 150, 500])
def test_intervals_cover_the_truth(shots):
    # 400 golfers: by chance a 90 % interval covers 86 to 94 % (2.7 standard errors).
    found = coverage(shots, 400)
    print(shots, found)
    assert all(0.85 <= share <= 0.95 for share in found.values()), found


@pytest.mark.slow
@pytest.mark.parametrize("shots", [5, 50])
def test_intervals_cover_golfers_of_the_prior_itself(shots):
    # Posterior intervals cover golfers drawn from the prior at exactly their level, whatever the
    # number of shots, if the sampler is right (Cook, Gelman & Rubin 2006).
    found = coverage(shots, 1000, drawn=golfer_of_prior)
    print(shots, found)
    # Twenty figures are held to 3.8 standard errors: one of them errs once in 350 times.
    error = math.sqrt(0.9 * 0.1 / 1000)
    assert all(abs(share - 0.9) < 3.8 * error for share in found.values()), found


@pytest.mark.slow
@pytest.mark.parametrize("off", [-8.0, 8.0])
@pytest.mark.parametrize(("shots", "least"), [(10, 0.65), (50, 0.75), (500, 0.82)])
def test_intervals_recover_from_a_wrong_handicap(off, shots, least):
    found = coverage(shots, 200, prior_index_off=off)
    print(off, shots, found)
    assert min(found.values()) >= least, found
    assert np.mean(list(found.values())) >= least + 0.07


@pytest.mark.parametrize("off", [0.0, pytest.param(8.0, marks=pytest.mark.slow)])
def test_predicts_held_out_shots_better_than_prior_or_likelihood_alone(off):
    # Mean log density of 300 further shots of each of 24 golfers, 10 shots seen.
    rng = np.random.default_rng(7)
    scores = []
    for repeat in range(24):
        club, index = CLUBS[repeat % len(CLUBS)], rng.uniform(0.0, 30.0)
        prior, truth = predicted(club, index), golfer_like(predicted(club, index + off), rng)
        seen, unseen = truth.sample(rng, 10)[0], truth.sample(rng, 300)[0]
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            mixture = GaussianMixture(
                3,
                reg_covar=0.01,
                weights_init=prior.weights,
                means_init=prior.means,
                precisions_init=np.linalg.inv(prior.covariances),
            ).fit(seen)
        one = multivariate_normal(seen.mean(0), np.cov(seen.T))
        scores.append(
            (
                log_density(fit_pattern(seen, prior).pattern, unseen),
                log_density(prior, unseen),
                log_density(fit_pattern([], prior).pattern, unseen),
                mixture.score(unseen),
                one.logpdf(unseen).mean(),
            )
        )
    fitted, *others = np.array(scores).T
    for other in others:
        gain = fitted - other
        assert (gain > 0).sum() >= 18
        assert gain.mean() > 0.2


def log_density(pattern, points):
    density = sum(
        weight * multivariate_normal(mean, covariance).pdf(points)
        for weight, mean, covariance in zip(
            pattern.weights, pattern.means, pattern.covariances, strict=True
        )
    )
    return np.log(density).mean()


@pytest.fixture(scope="module")
def iron():
    return predicted(CLUBS[2], 18.0)


@pytest.fixture(scope="module")
def shots(iron):
    return golfer_like(iron, np.random.default_rng(3)).sample(np.random.default_rng(4), 40)[0]


def same(one: PatternFit, other: PatternFit, *, length=1.0):
    close = {"rtol": 1e-9, "atol": 1e-12}
    np.testing.assert_allclose(other.pattern.weights, one.pattern.weights, **close)
    np.testing.assert_allclose(other.pattern.means, one.pattern.means * length, **close)
    np.testing.assert_allclose(
        other.pattern.covariances, one.pattern.covariances * length**2, **close
    )
    for name in NAMES:
        power = length if name in LENGTHS else 1.0
        ends = [[e.value, e.low, e.high] for e in (getattr(one, name), getattr(other, name))]
        np.testing.assert_allclose(ends[1], np.array(ends[0]) * power, **close)


@settings(max_examples=10, deadline=None)
@given(st.randoms(use_true_random=False))
def test_order_of_shots_does_not_matter(iron, shots, random):
    order = list(range(len(shots)))
    random.shuffle(order)
    one, other = fit_pattern(shots, iron), fit_pattern(shots[order], iron)
    assert [getattr(one, name) for name in NAMES] == [getattr(other, name) for name in NAMES]
    np.testing.assert_array_equal(one.pattern.covariances, other.pattern.covariances)
    np.testing.assert_array_equal(one.responsibilities[order], other.responsibilities)
    np.testing.assert_array_equal(one.stray[order], other.stray)


def straight(pattern):
    """The same without bias to a side."""
    flat = pattern.covariances * np.eye(2)
    return ShotPattern(pattern.weights, pattern.means * (1.0, 0.0), flat, pattern.names)


@pytest.mark.parametrize("case", ["shots", "none", "ties", "symmetric", "straight none"])
def test_mirror_image_gives_the_mirrored_fit_exactly(iron, shots, case):
    prior = straight(iron) if case in ("symmetric", "straight none") else iron
    points = {
        "shots": shots,
        "none": np.empty((0, 2)),
        "ties": np.array([(130.0, 4.0), (130.0, -4.0), (130.0, 4.0), (120.0, 0.0)]),
        "symmetric": np.array([(130.0, 4.0), (130.0, -4.0), (120.0, 0.0)]),
        "straight none": np.empty((0, 2)),
    }[case]
    one = fit_pattern(points, prior)
    other = fit_pattern(points * (1.0, -1.0), prior.mirrored())
    np.testing.assert_array_equal(other.pattern.weights, one.pattern.weights)
    np.testing.assert_array_equal(other.pattern.means, one.pattern.mirrored().means)
    np.testing.assert_array_equal(other.pattern.covariances, one.pattern.mirrored().covariances)
    np.testing.assert_array_equal(other.responsibilities, one.responsibilities)
    for name in NAMES:
        found, turned = getattr(one, name), getattr(other, name)
        if name in ("offline", "overall_offline", "correlation"):
            turned = Estimate(-turned.value, -turned.high, -turned.low)
        if "straight" in case or case == "symmetric":
            assert turned.value == pytest.approx(found.value, abs=1e-12)
        assert (turned.low, turned.high) == pytest.approx((found.low, found.high), abs=1e-12)


@pytest.mark.parametrize("length", [0.9144, 4.0])
def test_units_do_not_matter(iron, shots, length):
    bigger = ShotPattern(
        iron.weights, iron.means * length, iron.covariances * length**2, iron.names
    )
    same(fit_pattern(shots, iron), fit_pattern(shots * length, bigger), length=length)


def test_no_shots_give_the_prior_and_its_doubt(iron):
    found = fit_pattern([], iron)
    assert (found.shots, found.effective_shots, found.converged) == (0, 0.0, True)
    assert found.responsibilities.shape == (0, 3)
    np.testing.assert_allclose(found.pattern.weights, iron.weights, rtol=1e-9)
    np.testing.assert_allclose(found.pattern.means, iron.means, rtol=1e-9, atol=1e-9)
    carry, wide = iron.means[0, 0], iron.covariances[0, 1, 1]
    doubt = np.diag(((0.10 * carry) ** 2, 0.5**2 * wide))
    np.testing.assert_allclose(found.pattern.covariances[0], iron.covariances[0] + doubt)
    # Normal with deviation 10 % of the carry; variance inverse gamma with 8 degrees of freedom.
    assert found.mean_carry.high - found.mean_carry.low == pytest.approx(
        2 * 1.645 * 0.10 * carry, rel=0.05
    )
    assert found.carry_sd.low < math.sqrt(iron.covariances[0, 0, 0]) < found.carry_sd.high
    assert found.mishit_share.low < iron.mishit_share < found.mishit_share.high


def test_more_shots_narrow_pattern_and_intervals(iron):
    points = iron.sample(np.random.default_rng(8), 400)[0]
    fits = [fit_pattern(points[:n], iron) for n in (0, 6, 25, 100, 400)]
    for name in ("mean_carry", "offline", "carry_sd", "offline_sd", "mishit_share"):
        widths = [getattr(fit, name).high - getattr(fit, name).low for fit in fits]
        assert widths == sorted(widths, reverse=True), name
        assert widths[4] < widths[0] / 2
    # Few shots may lie close together by chance, so those of several samples are looked at.
    few = [
        fit_pattern(iron.sample(np.random.default_rng(seed), 6)[0], iron) for seed in range(10, 18)
    ]
    variance = iron.covariances[0, 0, 0]
    excess = [fit.pattern.covariances[0, 0, 0] / variance for fit in fits]
    assert excess[0] > np.mean([fit.pattern.covariances[0, 0, 0] for fit in few]) / variance > 1.0
    assert excess[4] == pytest.approx(1.0, abs=0.15)


def test_one_shot_moves_the_level_and_leaves_the_rest(iron):
    found = fit_pattern([(145.0, -6.0)], iron)
    none = fit_pattern([], iron)
    # Normal prior and one observation of known spread, were it certain to be a stock shot.
    level, noise = 0.01 * 135.0**2, iron.covariances[0, 0, 0]
    expected = 135.0 + 10.0 * level / (level + noise)
    assert found.mean_carry.value == pytest.approx(expected, abs=1.5)
    assert -6.0 < found.offline.value < none.offline.value
    assert found.carry_sd.value == pytest.approx(none.carry_sd.value, rel=0.1)
    assert found.mishit_share.value < none.mishit_share.value
    assert found.effective_shots > 0.8


@pytest.mark.parametrize("n", [2, 30, 1000])
def test_equal_shots_keep_a_spread(iron, n):
    found = fit_pattern(np.tile((140.0, 3.0), (n, 1)), iron)
    assert found.converged
    assert found.pattern.covariances[0, 0, 0] > 0
    assert found.mean_carry.low < 140.0 < found.mean_carry.high or n == 2
    assert found.carry_sd.value < fit_pattern([], iron).carry_sd.value
    assert np.ptp(found.responsibilities, axis=0).max() < 1e-9
    assert found.responsibilities[0, 0] > 0.9


@pytest.mark.parametrize("typed", [(900.0, 5.0), (135.0, -700.0), (0.0, 1350.0), (1e300, -1e300)])
@pytest.mark.parametrize("n", [6, 40])
def test_a_typing_error_changes_next_to_nothing(iron, shots, typed, n):
    clean = fit_pattern(shots[:n], iron)
    soiled = fit_pattern(np.vstack((shots[:n], typed)), iron)
    assert soiled.stray[-1] > 0.999
    assert soiled.shots == n + 1
    assert soiled.effective_shots == pytest.approx(clean.effective_shots, abs=1e-3)
    for name in NAMES:
        one, other = getattr(clean, name), getattr(soiled, name)
        width = one.high - one.low
        assert abs(other.value - one.value) < 0.1 * width
        assert abs(other.low - one.low) < 0.15 * width
        assert abs(other.high - one.high) < 0.15 * width


def test_duffs_and_shanks_are_mishits_and_no_strays(iron):
    stock = iron.means[0] + np.array(
        [(5, 2), (-4, 6), (0, -7), (8, -3), (-9, 1), (3, 9), (-2, -4), (6, 0)]
    )
    bad = np.array([(20.0, 0.0), (45.0, -8.0), (70.0, 30.0), (118.0, 55.0)])
    found = fit_pattern(np.vstack((stock, bad)), iron)
    assert found.stray.max() < 0.2
    assert (found.responsibilities[:8, 0] > 0.7).all()
    assert (found.responsibilities[8:, 0] < 0.05).all()
    assert (found.responsibilities[8:11, 1] > 0.5).all()
    assert found.responsibilities[11, 2] > 0.5
    np.testing.assert_allclose(found.responsibilities.sum(1) + found.stray, 1.0)
    assert found.mishit_share.value > fit_pattern(stock, iron).mishit_share.value + 0.05


@pytest.mark.parametrize("factor", [0.65, 0.8, 1.25])
def test_a_wrong_predicted_carry_is_given_up(iron, factor):
    truth = ShotPattern(iron.weights, iron.means * factor, iron.covariances, iron.names)
    found = fit_pattern(truth.sample(np.random.default_rng(2), 60)[0], iron)
    assert found.mean_carry.value == pytest.approx(truth.means[0, 0], rel=0.03)
    assert found.effective_shots > 35


def test_agrees_with_scikit_learn_on_many_shots(iron):
    truth = golfer_like(iron, np.random.default_rng(31))
    points = truth.sample(np.random.default_rng(22), 20_000)[0]
    reference = GaussianMixture(
        3,
        tol=1e-9,
        max_iter=2000,
        weights_init=truth.weights,
        means_init=truth.means,
        precisions_init=np.linalg.inv(truth.covariances),
    ).fit(points)
    # Strays are no part of that library's mixture.
    found = fit_pattern(points, iron, strength=PriorStrength(stray_share=1e-9))
    assert found.converged
    # Tolerances: 0.003 in shares, 0.005 of the stock deviation and 0.03 of the mishits' in means,
    # 3 % in covariances, 0.02 in responsibilities.
    np.testing.assert_allclose(found.pattern.weights, reference.weights_, atol=0.003)
    sd = np.sqrt(np.diagonal(reference.covariances_, axis1=1, axis2=2))
    away = (found.pattern.means - reference.means_) / sd
    assert (np.abs(away) < [[0.005], [0.03], [0.03]]).all()
    area = sd[:, :, None] * sd[:, None, :]
    differ = (found.pattern.covariances - reference.covariances_) / area
    np.testing.assert_allclose(differ, 0.0, atol=0.03)
    np.testing.assert_allclose(found.responsibilities, reference.predict_proba(points), atol=0.02)


def test_mean_and_covariance_of_the_pattern_are_those_of_the_next_shot(iron, shots):
    # The predictive is one mixture; its moments do not depend on who made which shot.
    found = fit_pattern(shots, iron)
    assert found.pattern.mean[0] == pytest.approx(found.overall_carry.value, abs=1.0)
    assert found.pattern.covariance[0, 0] ** 0.5 > found.overall_carry_sd.value
    assert found.pattern.mishit_share == pytest.approx(found.mishit_share.value, abs=0.02)


def test_a_pattern_with_other_mishits_can_be_the_prior(iron):
    stock_only = ShotPattern(np.ones(1), iron.means[:1], iron.covariances[:1])
    found = fit_pattern([(130.0, 2.0), (141.0, -3.0)], stock_only)
    assert found.pattern.names == ("stock",)
    assert (found.mishit_share.low, found.mishit_share.high) == (0.0, 0.0)
    two = ShotPattern(np.array([0.9, 0.1]), iron.means[:2], iron.covariances[:2], ("stock", "duff"))
    assert fit_pattern([(130.0, 2.0)], two).pattern.names == ("stock", "duff")


def test_says_so_when_it_did_not_settle(iron, shots):
    with pytest.warns(PatternFitWarning, match="climb in 2 steps did not settle"):
        found = fit_pattern(shots, iron, max_iterations=2)
    assert not found.converged
    assert found.iterations == 2


def test_stronger_priors_give_way_more_slowly(iron, shots):
    usual = fit_pattern(shots[:10] * (0.8, 1.0), iron)
    stubborn = PriorStrength(carry_level_sd=0.01, stock_spread_shots=400.0, share_shots=2000.0)
    held = fit_pattern(shots[:10] * (0.8, 1.0), iron, strength=stubborn)
    assert held.mean_carry.value > usual.mean_carry.value + 3.0
    assert held.mishit_share.value == pytest.approx(iron.mishit_share, abs=0.02)


@pytest.mark.parametrize(
    "wrong", [{"share_shots": 0.0}, {"stock_spread_shots": 2.0}, {"stray_share": 1.0}]
)
def test_prior_strength_is_checked(wrong):
    with pytest.raises(ValueError, match=next(iter(wrong))):
        PriorStrength(**wrong)


@pytest.mark.parametrize("points", [[(1.0, math.nan)], [(1.0, 2.0, 3.0)], [1.0, 2.0]])
def test_shots_must_be_finite_pairs(iron, points):
    with pytest.raises(ValueError, match="finite with shape"):
        fit_pattern(points, iron)


def test_prior_must_be_one_that_can_learn(iron):
    with pytest.raises(ValueError, match="share"):
        fit_pattern([], ShotPattern([1.0, 0.0, 0.0], iron.means, iron.covariances, iron.names))
    with pytest.raises(ValueError, match="positive"):
        fit_pattern([], ShotPattern(iron.weights, -iron.means, iron.covariances, iron.names))


def test_five_thousand_shots_take_well_under_a_second(iron):
    points = iron.sample(np.random.default_rng(6), 5000)[0]
    start = time.process_time()
    fit_pattern(points, iron)
    # Some 0.6 s of processor time; the margin is for a busy machine.
    assert time.process_time() - start < 3.0
