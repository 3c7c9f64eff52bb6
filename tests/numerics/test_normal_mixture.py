"""Mixture with priors: its climb and its draws against closed forms, a grid and scikit-learn."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta, multivariate_normal, multivariate_t
from sklearn.mixture import GaussianMixture

from planner.numerics.mixture_draws import sweep
from planner.numerics.normal_mixture import (
    Mixture,
    MixturePrior,
    climb,
    densities,
    features,
    inverse,
    objective,
)

MEANS = np.array([(1.0, 0.0), (0.5, 0.1), (0.9, 0.15)])
COVARIANCES = np.array(
    [
        ((0.0100, -0.002), (-0.002, 0.0144)),
        ((0.0400, 0.000), (0.000, 0.0225)),
        ((0.0225, -0.010), (-0.010, 0.0600)),
    ]
)
WEIGHTS = np.array([0.75, 0.15, 0.10])
TRUTH = Mixture(WEIGHTS[None], MEANS[None], COVARIANCES[None])


def prior_of(k=3, *, shots=6.0, shares=10.0, width=0.2, background=0.002):
    degrees = np.full(k, shots + 1.0)
    return MixturePrior(
        shares * WEIGHTS[:k] / WEIGHTS[:k].sum(),
        MEANS[:k],
        width**2 * np.eye(2 * k) + 0.1 * np.kron(np.ones((k, k)), np.diag((0.1, 0.01))),
        degrees,
        (degrees - 3.0)[:, None, None] * COVARIANCES[:k],
        background,
        0.25,
    )


def points_of(n, seed):
    rng = np.random.default_rng(seed)
    component = rng.choice(3, size=n, p=WEIGHTS)
    noise = rng.standard_normal((n, 2))
    return MEANS[component] + np.einsum(
        "nij,nj->ni", np.linalg.cholesky(COVARIANCES)[component], noise
    )


def chains_of(mixture, chains):
    return mixture.pick(np.zeros(chains, dtype=np.intp))


def test_densities_are_those_of_normals():
    points, prior = points_of(40, 1), prior_of()
    found = densities(TRUTH, prior, features(points))[0]
    for j in range(3):
        expected = multivariate_normal(MEANS[j], COVARIANCES[j]).pdf(points) * WEIGHTS[j]
        np.testing.assert_allclose(found[j], (1 - 0.002) * expected, rtol=1e-9)


def test_inverse_and_determinant():
    turned, determinant = inverse(COVARIANCES)
    np.testing.assert_allclose(turned, np.linalg.inv(COVARIANCES), rtol=1e-12)
    np.testing.assert_allclose(determinant, np.linalg.det(COVARIANCES), rtol=1e-12)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 60), st.integers(0, 10_000), st.floats(0.3, 2.0))
def test_climb_never_falls(n, seed, stretch):
    points = points_of(n, seed) * (stretch, 1.0)
    found = climb(points, prior_of(), TRUTH, tolerance=1e-9)
    steps = np.diff(found.objective)
    assert len(steps) == found.iterations
    assert steps.min(initial=0.0) >= -1e-10 * np.abs(found.objective).max()
    assert found.converged


@pytest.mark.parametrize("n", [3, 40, 400])
def test_climb_ends_where_no_direction_rises(n):
    # The objective is a function of free coordinates: log ratios, means, log-Cholesky factors.
    points, prior = points_of(n, 5), prior_of()
    terms = features(points)
    top = climb(points, prior, TRUTH, tolerance=1e-13, max_iterations=20_000).mixture

    def value(step):
        logs = np.log(top.weights[0]) + np.append(step[:2], 0.0)
        root = np.linalg.cholesky(top.covariances[0]).copy()
        root[:, 0, 0] *= np.exp(step[8:11])
        root[:, 1, 1] *= np.exp(step[11:14])
        root[:, 1, 0] += step[14:17] * root[:, 1, 1]
        sd = np.sqrt(np.diagonal(top.covariances[0], axis1=1, axis2=2))
        mixture = Mixture(
            (np.exp(logs) / np.exp(logs).sum())[None],
            top.means + step[2:8].reshape(3, 2) * sd,
            (root @ np.swapaxes(root, 1, 2))[None],
        )
        return objective(mixture, prior, densities(mixture, prior, terms))[0]

    h = 1e-4
    for direction in np.eye(17):
        slope = (value(h * direction) - value(-h * direction)) / (2 * h)
        bend = (value(h * direction) + value(-h * direction) - 2 * value(0 * direction)) / h**2
        assert bend < 0
        assert abs(slope) < 1e-3 * abs(bend)


def test_climb_prefers_the_higher_of_two_maxima():
    points = points_of(60, 3) * (0.6, 1.0)
    low = Mixture(TRUTH.weights, TRUTH.means * (0.6, 1.0), TRUTH.covariances)
    both = Mixture(*(np.concatenate(pair) for pair in zip(parts(TRUTH), parts(low), strict=True)))
    prior = prior_of()
    alone = [climb(points, prior, start).objective[-1] for start in (TRUTH, low)]
    assert climb(points, prior, both).objective[-1] == pytest.approx(max(alone), abs=1e-4)


def parts(mixture):
    return mixture.weights, mixture.means, mixture.covariances


def test_climb_says_when_it_has_not_arrived():
    found = climb(points_of(200, 8), prior_of(), TRUTH, max_iterations=3)
    assert not found.converged
    assert found.iterations == 3


def test_agrees_with_scikit_learn_on_many_points():
    points = points_of(20_000, 4)
    weak = MixturePrior(
        np.full(3, 1e-6), MEANS, 1e6 * np.eye(6), np.full(3, 1e-6), 1e-9 * COVARIANCES, 1e-12, 1.0
    )
    found = climb(points, weak, TRUTH, tolerance=1e-9, max_iterations=20_000)
    reference = GaussianMixture(
        3,
        tol=1e-12,
        reg_covar=0.0,
        max_iter=20_000,
        weights_init=WEIGHTS,
        means_init=MEANS,
        precisions_init=np.linalg.inv(COVARIANCES),
    ).fit(points)
    assert found.converged
    assert reference.converged_
    np.testing.assert_allclose(found.mixture.weights[0], reference.weights_, atol=2e-4)
    np.testing.assert_allclose(found.mixture.means[0], reference.means_, atol=2e-4)
    np.testing.assert_allclose(found.mixture.covariances[0], reference.covariances_, atol=2e-5)
    np.testing.assert_allclose(found.responsibilities, reference.predict_proba(points), atol=2e-3)


def test_draws_without_points_are_the_prior():
    prior = prior_of(shots=12.0)
    draws = sweep(
        np.empty((0, 6)),
        prior,
        chains_of(TRUTH, 200),
        sweeps=100,
        rng=np.random.default_rng(2),
    )
    weights = draws.weights.reshape(-1, 3)
    np.testing.assert_allclose(weights.mean(0), WEIGHTS, atol=0.004)
    spread = WEIGHTS * (1 - WEIGHTS) / (prior.counts.sum() + 1)
    np.testing.assert_allclose(weights.var(0), spread, rtol=0.06)
    means = draws.means.reshape(-1, 6)
    np.testing.assert_allclose(means.mean(0), MEANS.ravel(), atol=0.01)
    np.testing.assert_allclose(np.cov(means.T), prior.mean_covariance, atol=0.003)
    # Inverse Wishart, p = 2: mean S / (nu - 3); a variance is inverse gamma of shape (nu - 1) / 2.
    covariances = draws.covariances.reshape(-1, 3, 2, 2)
    np.testing.assert_allclose(covariances.mean(0), COVARIANCES, rtol=0.03, atol=3e-4)
    relative = covariances[:, :, 0, 0].var(0) / COVARIANCES[:, 0, 0] ** 2
    np.testing.assert_allclose(relative, 1 / (12.0 / 2 - 2), rtol=0.15)
    # The predictive moments are exact here, free of sampling error.
    np.testing.assert_allclose(draws.predictive.weights, WEIGHTS, rtol=1e-12)
    np.testing.assert_allclose(draws.predictive.means, MEANS, atol=1e-12)
    wider = COVARIANCES + np.array(
        [prior.mean_covariance[2 * j : 2 * j + 2, 2 * j : 2 * j + 2] for j in range(3)]
    )
    np.testing.assert_allclose(draws.predictive.covariances, wider, atol=1e-12)


def test_one_component_with_a_flat_mean_is_conjugate():
    # As Murphy 2007, section 9, but with a flat mean that is independent of C: C is
    # IW(nu + n - 1, V), V = S + scatter round the sample mean, and the mean is Student t with
    # nu + n - 2 degrees of freedom and scale V / (n (nu + n - 2)).
    points = points_of(15, 9)
    n, nu = len(points), 6.0
    prior = MixturePrior(
        np.ones(1), MEANS[:1], 1e8 * np.eye(2), np.full(1, nu), 0.05 * np.eye(2)[None], 1e-12, 1.0
    )
    start = Mixture(np.ones((400, 1)), np.ones((400, 1, 2)), np.tile(np.eye(2), (400, 1, 1, 1)))
    rng = np.random.default_rng(5)
    terms = features(points)
    draws = sweep(
        terms, prior, sweep(terms, prior, start, sweeps=5, rng=rng).last, sweeps=50, rng=rng
    )
    away = points - points.mean(0)
    total = 0.05 * np.eye(2) + away.T @ away
    expected = total / (nu + n - 1 - 3)
    np.testing.assert_allclose(draws.covariances.mean((0, 1, 2)), expected, rtol=0.03, atol=5e-5)
    student = multivariate_t(points.mean(0), total / (n * (nu + n - 2)), df=nu + n - 2)
    reference = student.rvs(200_000, random_state=6)
    quantiles = (0.05, 0.25, 0.5, 0.75, 0.95)
    np.testing.assert_allclose(
        np.quantile(draws.means[..., 0, :], quantiles, axis=(0, 1)),
        np.quantile(reference, quantiles, axis=0),
        atol=0.03 * reference.std(0).max(),
    )


def test_shares_of_known_normals_match_a_grid():
    # With means and covariances all but known, only the share is left: integrate it on a grid.
    points = points_of(25, 12)
    prior = MixturePrior(
        np.array([4.0, 2.0]),
        MEANS[:2],
        1e-12 * np.eye(4),
        np.full(2, 1e8),
        (1e8 - 3.0) * COVARIANCES[:2],
        0.002,
        0.25,
    )
    one, other = (multivariate_normal(MEANS[j], COVARIANCES[j]).pdf(points) for j in (0, 1))
    grid = np.linspace(0.0005, 0.9995, 1000)
    share = grid[:, None]
    likelihood = (0.998 * (share * one + (1 - share) * other) + 0.002 * 0.25).prod(1)
    posterior = beta(4.0, 2.0).pdf(grid) * likelihood
    posterior /= posterior.sum()
    start = Mixture(np.array([[0.5, 0.5]]), MEANS[None, :2], COVARIANCES[None, :2])
    draws = sweep(
        features(points), prior, chains_of(start, 300), sweeps=120, rng=np.random.default_rng(3)
    )
    drawn = draws.weights[20:, :, 0]
    mean = grid @ posterior
    sd = np.sqrt((grid - mean) ** 2 @ posterior)
    assert drawn.mean() == pytest.approx(mean, abs=0.03 * sd)
    assert drawn.std() == pytest.approx(sd, rel=0.03)
    for level in (0.05, 0.95):
        assert np.interp(np.quantile(drawn, level), grid, posterior.cumsum()) == pytest.approx(
            level, abs=0.01
        )


def test_joined_draws_average_their_moments():
    prior, terms = prior_of(), features(points_of(30, 2))
    rng = np.random.default_rng(1)
    first = sweep(terms, prior, chains_of(TRUTH, 8), sweeps=10, rng=rng)
    both = first.joined(sweep(terms, prior, first.last, sweeps=30, rng=rng))
    again = sweep(terms, prior, chains_of(TRUTH, 8), sweeps=40, rng=np.random.default_rng(1))
    np.testing.assert_array_equal(both.weights, again.weights)
    np.testing.assert_allclose(both.predictive.second, again.predictive.second, rtol=1e-12)


def test_predictive_moments_are_those_of_the_draws():
    draws = sweep(
        features(points_of(30, 2)),
        prior_of(shots=14.0),
        chains_of(TRUTH, 200),
        sweeps=100,
        rng=np.random.default_rng(1),
    )
    weights = draws.weights.mean((0, 1))
    np.testing.assert_allclose(draws.predictive.weights, weights, atol=0.004)
    first = np.einsum("sck,scki->ki", draws.weights, draws.means) / draws.weights[..., 0].size
    np.testing.assert_allclose(draws.predictive.first, first, atol=0.004)
    inner = draws.covariances + draws.means[..., :, None] * draws.means[..., None, :]
    second = np.einsum("sck,sckij->kij", draws.weights, inner) / draws.weights[..., 0].size
    np.testing.assert_allclose(draws.predictive.second, second, atol=0.004)
