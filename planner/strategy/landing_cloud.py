"""Some shots of a pattern, drawn at random, to show what ellipses sum up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.strategy.advice import PatternOnGround

__all__ = ["LandingCloud", "landing_cloud"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LandingCloud:
    """Where shots land, in the hole frame [m]: ``solid`` ``(n, 2)`` and ``mishit`` ``(m, 2)``."""

    solid: FloatArray
    mishit: FloatArray


def landing_cloud(
    pattern: PatternOnGround, count: int, *, rng: np.random.Generator
) -> LandingCloud:
    """Draw ``count`` shots.

    Every component gets its share of them to the nearest whole shot, the stock shot what is
    left, so that mishits are as many as the pattern says and not by chance more or fewer.
    """
    share = np.asarray(pattern.weights, dtype=float) / np.sum(pattern.weights)
    counts = np.floor(count * share + 0.5).astype(int)
    counts[0] = max(count - int(counts[1:].sum()), 0)
    parts = [
        rng.multivariate_normal(mean, covariance, size=number, method="cholesky")
        for mean, covariance, number in zip(
            pattern.means_hole, pattern.covariances_hole, counts, strict=True
        )
    ]
    return LandingCloud(parts[0], np.concatenate([np.empty((0, 2)), *parts[1:]]))
