"""Shot pattern: where the carry of a shot ends, as a mixture of bivariate normals.

Coordinates are (along, across) [m] from the ball, ``along`` towards the aim point and
``across`` positive to the right. The first component is the stock shot; the others are
mishits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

STOCK, SHORT_MISHIT, WIDE_MISHIT = "stock", "short", "wide"


@dataclass(frozen=True, eq=False)
class ShotPattern:
    """Mixture of ``k`` bivariate normals.

    Parameters
    ----------
    weights
        Shares of the components, shape ``(k,)``, sum 1.
    means
        Mean (along, across) of each component [m], shape ``(k, 2)``.
    covariances
        Covariance of each component [m2], shape ``(k, 2, 2)``, positive definite.
    names
        Name of each component; the first is ``"stock"``.
    """

    weights: FloatArray
    means: FloatArray
    covariances: FloatArray
    names: tuple[str, ...] = (STOCK,)

    def __post_init__(self) -> None:
        k = len(self.names)
        for name, shape in (("weights", (k,)), ("means", (k, 2)), ("covariances", (k, 2, 2))):
            value = np.array(getattr(self, name), dtype=float)
            if value.shape != shape or not np.isfinite(value).all():
                raise ValueError(f"{name} must be finite with shape {shape}, got {value!r}")
            value.setflags(write=False)
            object.__setattr__(self, name, value)
        if (self.weights < 0).any() or abs(self.weights.sum() - 1.0) > 1e-9:
            raise ValueError(f"weights must be shares that add up to 1, got {self.weights}")
        if (np.linalg.eigvalsh(self.covariances) <= 0).any():
            raise ValueError("every covariance must be positive definite")

    @property
    def mishit_share(self) -> float:
        """Share of shots that are mishits."""
        return float(1.0 - self.weights[0])

    @property
    def mean(self) -> FloatArray:
        """Mean (along, across) of all shots [m], shape ``(2,)``."""
        return np.asarray(self.weights @ self.means)

    @property
    def covariance(self) -> FloatArray:
        """Covariance of all shots [m2], shape ``(2, 2)``."""
        spread = self.means - self.mean
        between = np.einsum("k,ki,kj->ij", self.weights, spread, spread)
        return np.asarray(np.einsum("k,kij->ij", self.weights, self.covariances) + between)

    def mirrored(self) -> ShotPattern:
        """The same pattern with left and right exchanged."""
        flip = np.array([1.0, -1.0])
        return ShotPattern(
            self.weights,
            self.means * flip,
            self.covariances * np.outer(flip, flip),
            self.names,
        )

    def scaled(self, carry: float, spread: float, mishits: float) -> ShotPattern:
        """Multiply means by ``carry``, deviations by ``carry * spread``, mishit odds share.

        ``mishits`` multiplies the share of mishits, which is kept at 0.95 or less.
        """
        share = min(self.mishit_share * mishits, 0.95)
        weights = self.weights.copy()
        if self.mishit_share > 0:
            weights[1:] *= share / self.mishit_share
        weights[0] = 1.0 - weights[1:].sum()
        return ShotPattern(
            weights,
            self.means * carry,
            self.covariances * (carry * spread) ** 2,
            self.names,
        )

    def stretched(self, along: float, across: float) -> ShotPattern:
        """Multiply deviations along and across; means stay."""
        factor = np.array([along, across])
        return ShotPattern(
            self.weights, self.means, self.covariances * np.outer(factor, factor), self.names
        )

    def sample(self, rng: np.random.Generator, size: int) -> tuple[FloatArray, NDArray[np.intp]]:
        """Draw ``size`` shots: (along, across) [m] of shape ``(size, 2)`` and component index."""
        component = rng.choice(len(self.weights), size=size, p=self.weights)
        factor = np.linalg.cholesky(self.covariances)
        noise = rng.standard_normal((size, 2))
        return self.means[component] + np.einsum("nij,nj->ni", factor[component], noise), component


def normal_covariance(sd: ArrayLike, correlation: float) -> FloatArray:
    """Covariance [m2] of shape ``(2, 2)`` from the (along, across) deviations [m]."""
    sd_along, sd_across = np.asarray(sd, dtype=float)
    cross = correlation * sd_along * sd_across
    return np.array([[sd_along**2, cross], [cross, sd_across**2]])
