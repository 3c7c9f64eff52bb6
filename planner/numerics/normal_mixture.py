"""Mixture of bivariate normals on few points: a prior on every part, and the climb to its mode.

Model of points y_1 ... y_n in the plane, with k components and a background::

    p(y) = e u + (1 - e) sum_j w_j N(y; mu_j, C_j)

    (w_1 ... w_k)    ~ Dirichlet(a_1 ... a_k)
    (mu_1 ... mu_k)  ~ N(m, L)                   one joint normal of all 2 k coordinates
    C_j              ~ IW(nu_j, S_j)             density as |C|^(-(nu + 3) / 2) exp(-tr(S C^-1) / 2)

The background is a constant density u with a fixed share e. It takes points that are far from
everything, so that one of them cannot drag a component along: the noise component of Banfield &
Raftery (1993, Biometrics 49, 803-821) in the improper form studied by C. Hennig (2004, Annals of
Statistics 32, 1313-1340).

Covariances have the inverse-Wishart prior by which Fraley & Raftery (2007, Journal of
Classification 24, 155-181) keep the EM of a mixture off its singularities. Their prior on a mean
is tied to its covariance, N(m, C / kappa); here all means have a joint normal of their own,
because they may be uncertain together (a common level) whatever the spread. Each block then
still has its conjugate conditional (K. Murphy 2007, Conjugate Bayesian analysis of the Gaussian
distribution; Gelman et al., Bayesian Data Analysis, 3rd ed., sections 3.4 to 3.6).

:func:`climb` raises the objective::

    sum_i log p(y_i) + sum_j a_j log w_j - (mu - m)' L^-1 (mu - m) / 2
                     - sum_j (nu_j log |C_j| + tr(S_j C_j^-1)) / 2

which is, up to a constant, the log of the posterior density with respect to the scale-free
measures prod dw_j / w_j and |C|^(-3/2) dC. Unlike the maximum of the plain density it lies inside
for any positive a, and a change of units moves it along (compare D. MacKay 1998, Machine Learning
33, 77-86, on the choice of basis). The steps are EM with conditional maximisation (Dempster, Laird
& Rubin 1977; Meng & Rubin 1993, Biometrika 80, 267-278) and never lower it::

    r_ij = (1 - e) w_j N(y_i; mu_j, C_j) / p(y_i),    n_j = sum_i r_ij
    w_j  = (a_j + n_j) / sum_l (a_l + n_l)
    mu   = (L^-1 + D)^-1 (L^-1 m + b),  D = diag(n_j C_j^-1),  b_j = C_j^-1 sum_i r_ij y_i
    C_j  = (S_j + sum_i r_ij (y_i - mu_j)(y_i - mu_j)') / (nu_j + n_j)

Arrays have a leading axis ``b`` of mixtures that are worked on side by side: starts of the climb
here, chains in ``mixture_draws``. Points come as ``features``, their monomials up to degree 2, so
that all densities are one matrix product.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Climb",
    "Mixture",
    "MixturePrior",
    "climb",
    "densities",
    "features",
    "inverse",
    "mean_conditional",
    "objective",
    "scatter",
    "sums",
]

FloatArray = NDArray[np.float64]
_LOG_2PI = math.log(2.0 * math.pi)


@dataclass(frozen=True, eq=False)
class Mixture:
    """``b`` mixtures of ``k`` bivariate normals.

    Parameters
    ----------
    weights
        Shares, shape ``(b, k)``, each row with sum 1.
    means
        Means, shape ``(b, k, 2)``.
    covariances
        Covariances, shape ``(b, k, 2, 2)``.
    """

    weights: FloatArray
    means: FloatArray
    covariances: FloatArray

    def pick(self, index: int | NDArray[np.intp]) -> Mixture:
        """Mixtures at ``index`` of the leading axis; one is kept as an axis of length 1."""
        rows = np.atleast_1d(index)
        return Mixture(self.weights[rows], self.means[rows], self.covariances[rows])


@dataclass(frozen=True, eq=False)
class MixturePrior:
    """Prior on a mixture, as in the module's formulas.

    Parameters
    ----------
    counts
        Dirichlet counts (alpha), shape ``(k,)``, positive.
    mean
        Prior means m, shape ``(k, 2)``.
    mean_covariance
        Covariance (Lambda) of the means laid end to end, shape ``(2 k, 2 k)``, positive definite.
    degrees
        Degrees of freedom (nu), shape ``(k,)``; above 3 to draw, so that a covariance has a
        mean, any positive value to climb.
    scales
        Scale matrices S, shape ``(k, 2, 2)``, positive definite.
    background_share, background_density
        Share in (0, 1), and density u in points per unit of area.
    """

    counts: FloatArray
    mean: FloatArray
    mean_covariance: FloatArray
    degrees: FloatArray
    scales: FloatArray
    background_share: float
    background_density: float

    @cached_property
    def mean_precision(self) -> FloatArray:
        """Inverse of ``mean_covariance``, shape ``(2 k, 2 k)``."""
        precision = np.linalg.inv(self.mean_covariance)
        return np.asarray((precision + precision.T) / 2)

    @property
    def background(self) -> float:
        """Share times density of the background."""
        return self.background_share * self.background_density


@dataclass(frozen=True, eq=False)
class Climb:
    """Result of :func:`climb`.

    Parameters
    ----------
    mixture
        The mixture at the highest maximum found, leading axis of length 1.
    responsibilities
        Chance of each component for each point, shape ``(n, k)``; a row lacks the background's.
    objective
        Objective at the winning start and after each step from it.
    converged
        Whether no more than the tolerance was left to gain.
    """

    mixture: Mixture
    responsibilities: FloatArray
    objective: FloatArray
    converged: bool

    @property
    def iterations(self) -> int:
        """Number of steps of the winning start."""
        return len(self.objective) - 1


def climb(
    points: FloatArray,
    prior: MixturePrior,
    starts: Mixture,
    *,
    tolerance: float = 1e-5,
    max_iterations: int = 2000,
) -> Climb:
    """Climb from every start to a maximum of the objective and take the highest.

    ``tolerance`` bounds what is left to gain, estimated by Aitken's rule from the last three
    values (Böhning et al. 1994, Annals of the Institute of Statistical Mathematics 46, 373-388).
    An objective that is higher by 1e-5 moves a parameter by some 0.005 of its standard error.
    """
    terms = features(points)
    mixture, history = starts, []
    for step in range(max_iterations + 1):
        density = densities(mixture, prior, terms)
        history.append(objective(mixture, prior, density))
        now, left = history[-1], _left_to_gain(history)
        best = int(np.argmax(now))
        # Starts that cannot overtake the best one any more are not waited for.
        done = left[best] <= tolerance and (now + left <= now[best] + tolerance).all()
        if done or step == max_iterations:
            break
        mixture = _raised(mixture, prior, density, terms)
    shares = density[best] / (density[best].sum(0) + prior.background)
    path = np.array([value[best] for value in history])
    return Climb(mixture.pick(best), shares.T, path, bool(left[best] <= tolerance))


def _left_to_gain(history: list[FloatArray]) -> FloatArray:
    """Estimated distance of the objective from its limit, for each start."""
    if len(history) < 3:
        return np.full_like(history[-1], np.inf)
    first, second = history[-2] - history[-3], history[-1] - history[-2]
    # Near the maximum the gains fall like a geometric series; before that no limit is in sight.
    rounding = 1e-12 * (1.0 + np.abs(history[-1]))
    settled = second <= rounding
    series = ~settled & (second < first)
    rate = np.divide(second, first, out=np.zeros_like(second), where=series)
    left = np.where(series, second * rate / (1.0 - rate), np.inf)
    return np.where(settled, 0.0, left)


def _raised(
    mixture: Mixture, prior: MixturePrior, density: FloatArray, terms: FloatArray
) -> Mixture:
    """One step of the climb."""
    shares = density / (density.sum(1, keepdims=True) + prior.background)
    moments = sums(shares, terms)
    count = moments[..., 0]
    weights = prior.counts + count
    means, _, _ = mean_conditional(prior, mixture.covariances, moments)
    covariances = prior.scales + scatter(moments, means)
    covariances /= (prior.degrees + count)[..., None, None]
    return Mixture(weights / weights.sum(1, keepdims=True), means, covariances)


def objective(mixture: Mixture, prior: MixturePrior, density: FloatArray) -> FloatArray:
    """Objective of the module's formula for each mixture, shape ``(b,)``.

    ``density`` is what :func:`densities` gives for it at the points.
    """
    value = np.log(density.sum(1) + prior.background).sum(1)
    away = (mixture.means - prior.mean).reshape(len(value), -1)
    precision, determinant = inverse(mixture.covariances)
    value += np.log(mixture.weights) @ prior.counts
    value -= 0.5 * np.einsum("bi,ij,bj->b", away, prior.mean_precision, away)
    value -= 0.5 * np.log(determinant) @ prior.degrees
    value -= 0.5 * np.einsum("kij,bkij->b", prior.scales, precision)
    return np.asarray(value)


def sums(shares: FloatArray, terms: FloatArray) -> FloatArray:
    """Sums of the features over points in shares ``(b, k, n)``, shape ``(b, k, 6)``."""
    batch, k, count = shares.shape
    return np.asarray((shares.reshape(batch * k, count) @ terms).reshape(batch, k, 6))


def features(points: FloatArray) -> FloatArray:
    """Monomials 1, x, y, x², xy, y² of points of shape ``(n, 2)``; shape ``(n, 6)``."""
    x, y = points.T
    return np.stack((np.ones_like(x), x, y, x * x, x * y, y * y), axis=1)


def densities(mixture: Mixture, prior: MixturePrior, terms: FloatArray) -> FloatArray:
    """Density times share of each component at each point, shape ``(b, k, n)``."""
    precision, determinant = inverse(mixture.covariances)
    slope = np.einsum("bkij,bkj->bki", precision, mixture.means)
    constant = (
        np.log((1.0 - prior.background_share) * mixture.weights)
        - _LOG_2PI
        - 0.5 * np.log(determinant)
        - 0.5 * np.einsum("bki,bki->bk", slope, mixture.means)
    )
    rows = np.stack(
        (
            constant,
            slope[..., 0],
            slope[..., 1],
            -0.5 * precision[..., 0, 0],
            -precision[..., 0, 1],
            -0.5 * precision[..., 1, 1],
        ),
        axis=-1,
    )
    batch, k = mixture.weights.shape
    exponents = (rows.reshape(batch * k, 6) @ terms.T).reshape(batch, k, len(terms))
    return np.exp(exponents, out=exponents)


def scatter(moments: FloatArray, centres: FloatArray) -> FloatArray:
    """Sum of squares and products round ``centres``, shape ``(b, k, 2, 2)``.

    ``moments`` are sums of the features of each component's points, shape ``(b, k, 6)``.
    """
    second = moments[..., [[3, 4], [4, 5]]]
    cross = moments[..., 1:3, None] * centres[..., None, :]
    square = centres[..., :, None] * centres[..., None, :]
    return np.asarray(
        second - cross - np.swapaxes(cross, -1, -2) + moments[..., 0, None, None] * square
    )


def mean_conditional(
    prior: MixturePrior, covariances: FloatArray, moments: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Normal of all means given covariances and the points of each component.

    Returns its mean ``(b, k, 2)``, the root R ``(b, 2 k, 2 k)`` with R' R its covariance, and the
    covariance of each component's mean ``(b, k, 2, 2)``.
    """
    batch, k = moments.shape[:2]
    precision, _ = inverse(covariances)
    blocks = np.zeros((batch, k, 2, k, 2))
    index = np.arange(k)
    blocks[:, index, :, index, :] = np.moveaxis(moments[..., 0, None, None] * precision, 1, 0)
    total = prior.mean_precision + blocks.reshape(batch, 2 * k, 2 * k)
    pull = np.einsum("bkij,bkj->bki", precision, moments[..., 1:3]).reshape(batch, 2 * k)
    pull += prior.mean_precision @ prior.mean.ravel()
    root = np.linalg.inv(np.linalg.cholesky(total))
    mean = np.einsum("bji,bj->bi", root, np.einsum("bij,bj->bi", root, pull))
    own = root.reshape(batch, 2 * k, k, 2)
    spread = np.einsum("bpki,bpkj->bkij", own, own)
    return mean.reshape(batch, k, 2), root, spread


def inverse(matrices: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Inverse and determinant of symmetric 2 by 2 matrices, shapes ``(…, 2, 2)`` and ``(…,)``."""
    a, b, d = matrices[..., 0, 0], matrices[..., 0, 1], matrices[..., 1, 1]
    determinant = a * d - b * b
    turned = np.empty_like(matrices)
    turned[..., 0, 0], turned[..., 1, 1] = d, a
    turned[..., 0, 1] = turned[..., 1, 0] = -b
    return turned / determinant[..., None, None], determinant
