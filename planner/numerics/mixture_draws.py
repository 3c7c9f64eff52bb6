"""Draws from the posterior of a small mixture of bivariate normals, many chains side by side.

Gibbs sampling by data augmentation (Diebolt & Robert 1994, Journal of the Royal Statistical
Society B 56, 363-375) for the model of ``normal_mixture``. One sweep draws

1. the component of every point, or the background, given the mixture,
2. the shares given the counts: Dirichlet(alpha + n),
3. the means together given covariances and components: their joint normal,
4. each covariance given its mean and points: IW(nu + n, S + scatter).

Chains run together in arrays, so that a sweep of all of them costs little more than one. Which
component is which stays what the prior says; labels do not switch where the prior keeps the
components apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.numerics.normal_mixture import (
    FloatArray,
    Mixture,
    MixturePrior,
    densities,
    inverse,
    mean_conditional,
    scatter,
    sums,
)

__all__ = ["MixtureDraws", "PredictiveMoments", "sweep"]

_TINY_SHARE = 1e-300


@dataclass(frozen=True, eq=False)
class PredictiveMoments:
    """Moments of the next point, component by component, averaged over draws.

    They are expectations given what each sweep drew before, not the draws themselves, which
    takes out most of the sampling error (Rao-Blackwell; Gelfand & Smith 1990, Journal of the
    American Statistical Association 85, 398-409). Without points they are the prior's, exactly.

    Parameters
    ----------
    weights
        E[w], shape ``(k,)``.
    first
        E[w μ], shape ``(k, 2)``.
    second
        E[w (Σ + μ μ')], shape ``(k, 2, 2)``.
    """

    weights: FloatArray
    first: FloatArray
    second: FloatArray

    @property
    def means(self) -> FloatArray:
        """Mean of the next point if it is of the component, shape ``(k, 2)``."""
        return np.asarray(self.first / self.weights[:, None])

    @property
    def covariances(self) -> FloatArray:
        """Covariance of the next point if it is of the component, shape ``(k, 2, 2)``."""
        square = self.means[:, :, None] * self.means[:, None, :]
        return np.asarray(self.second / self.weights[:, None, None] - square)


@dataclass(frozen=True, eq=False)
class MixtureDraws:
    """Draws of ``sweeps`` sweeps of ``chains`` chains.

    Parameters
    ----------
    weights, means, covariances
        Drawn mixtures, shapes ``(sweeps, chains, k)``, ``(…, k, 2)`` and ``(…, k, 2, 2)``.
    predictive
        Moments of the next point.
    """

    weights: FloatArray
    means: FloatArray
    covariances: FloatArray
    predictive: PredictiveMoments

    @property
    def last(self) -> Mixture:
        """State of all chains, to go on from."""
        return Mixture(self.weights[-1], self.means[-1], self.covariances[-1])

    def mirrored(self) -> MixtureDraws:
        """These draws with the sign of the second coordinate turned."""
        flip = np.array([1.0, -1.0])
        turned = np.outer(flip, flip)
        ours = self.predictive
        return MixtureDraws(
            self.weights,
            self.means * flip,
            self.covariances * turned,
            PredictiveMoments(ours.weights, ours.first * flip, ours.second * turned),
        )

    def joined(self, more: MixtureDraws) -> MixtureDraws:
        """These draws and ``more`` of the same chains after them."""
        part = len(self.weights) / (len(self.weights) + len(more.weights))
        ours, theirs = self.predictive, more.predictive
        return MixtureDraws(
            np.concatenate((self.weights, more.weights)),
            np.concatenate((self.means, more.means)),
            np.concatenate((self.covariances, more.covariances)),
            PredictiveMoments(
                part * ours.weights + (1 - part) * theirs.weights,
                part * ours.first + (1 - part) * theirs.first,
                part * ours.second + (1 - part) * theirs.second,
            ),
        )


def sweep(
    terms: FloatArray,
    prior: MixturePrior,
    state: Mixture,
    *,
    sweeps: int,
    rng: np.random.Generator,
) -> MixtureDraws:
    """Draw ``sweeps`` times from every chain in ``state``.

    ``terms`` are the features of the points, shape ``(n, 6)``; n may be 0. The order of the points
    decides which random number each of them gets, so put them in an order of their own first.
    """
    chains, k = state.weights.shape
    weights = np.empty((sweeps, chains, k))
    means = np.empty((sweeps, chains, k, 2))
    covariances = np.empty((sweeps, chains, k, 2, 2))
    share = np.zeros(k)
    first = np.zeros((k, 2))
    second = np.zeros((k, 2, 2))
    for step in range(sweeps):
        moments = _drawn_sums(terms, prior, state, rng)
        counts = prior.counts + moments[..., 0]
        drawn = np.maximum(rng.standard_gamma(counts), _TINY_SHARE)
        centre, root, spread = mean_conditional(prior, state.covariances, moments)
        noise = rng.standard_normal((chains, 2 * k))
        mean = centre + np.einsum("bji,bj->bi", root, noise).reshape(chains, k, 2)
        scale = prior.scales + scatter(moments, mean)
        degrees = prior.degrees + moments[..., 0]
        state = Mixture(
            drawn / drawn.sum(1, keepdims=True), mean, _inverse_wishart(scale, degrees, rng)
        )
        weights[step], means[step] = state.weights, state.means
        covariances[step] = state.covariances
        expected = counts / counts.sum(1, keepdims=True)
        inner = scale / (degrees - 3.0)[..., None, None]
        inner += spread + centre[..., :, None] * centre[..., None, :]
        share += expected.mean(0)
        first += np.einsum("bk,bki->ki", expected, centre) / chains
        second += np.einsum("bk,bkij->kij", expected, inner) / chains
    predictive = PredictiveMoments(share / sweeps, first / sweeps, second / sweeps)
    return MixtureDraws(weights, means, covariances, predictive)


def _drawn_sums(
    terms: FloatArray, prior: MixturePrior, state: Mixture, rng: np.random.Generator
) -> FloatArray:
    """Draw the component of every point; sums of the features, shape ``(chains, k, 6)``."""
    upper = densities(state, prior, terms)
    for j in range(1, upper.shape[1]):
        upper[:, j] += upper[:, j - 1]
    mark = rng.random((len(upper), len(terms))) * (upper[:, -1] + prior.background)
    up_to = sums((mark[:, None] < upper).astype(float), terms)
    return np.diff(up_to, axis=1, prepend=0.0)


def _inverse_wishart(
    scale: FloatArray, degrees: FloatArray, rng: np.random.Generator
) -> FloatArray:
    """Draws of IW(degrees, scale) by Bartlett's decomposition of the inverse."""
    precision, _ = inverse(scale)
    left = np.sqrt(precision[..., 0, 0])
    low = precision[..., 1, 0] / left
    right = 1.0 / np.sqrt(scale[..., 1, 1])
    one = np.sqrt(2.0 * rng.standard_gamma(degrees / 2))
    other = np.sqrt(2.0 * rng.standard_gamma((degrees - 1) / 2))
    cross = rng.standard_normal(degrees.shape)
    # Rows of the lower root of a Wishart draw: (p, 0), (q, s).
    p, q, s = left * one, low * one + right * cross, right * other
    drawn = np.empty_like(scale)
    drawn[..., 0, 0] = (q**2 + s**2) / (p * s) ** 2
    drawn[..., 1, 1] = 1.0 / s**2
    drawn[..., 0, 1] = drawn[..., 1, 0] = -q / (p * s**2)
    return drawn
