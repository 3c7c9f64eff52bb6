"""Fixed points of contractions that are dear to evaluate.

Anderson's mixing (Walker & Ni 2011, SIAM J. Numer. Anal. 49) takes, in place of the last image,
the combination of the last few whose residuals cancel best. For a linear map it needs about as
many evaluations as GMRES, where plain iteration needs one for every power of the contraction.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def anderson(
    image: Callable[[FloatArray], FloatArray],
    start: FloatArray,
    *,
    seen: NDArray[np.bool_],
    tolerance: float,
    most: int,
    depth: int = 6,
) -> tuple[FloatArray, float, int]:
    """Fixed point of ``image``.

    Parameters
    ----------
    image
        The map; takes and gives arrays of shape ``(n,)``.
    start
        First guess, shape ``(n,)``.
    seen
        Entries whose residuals count, shape ``(n,)``.
    tolerance
        Largest residual of a seen entry at which to stop.
    most
        Most evaluations of the map.
    depth
        Differences kept.

    Returns
    -------
    The last image, its largest seen residual, and the number of evaluations.
    """
    point = np.asarray(start, dtype=float)
    points: list[FloatArray] = []
    images: list[FloatArray] = []
    found, residual = point, np.inf
    for count in range(1, most + 1):
        found = image(point)
        apart = found - point
        residual = float(np.abs(apart[seen]).max(initial=0.0))
        if residual <= tolerance or count == most:
            return found, residual, count
        points, images = [*points[-depth:], point], [*images[-depth:], found]
        if len(points) == 1:
            point = found
            continue
        residuals = np.array([g - x for g, x in zip(images, points, strict=True)])
        steps = np.diff(residuals[:, seen], axis=0).T
        share, *_ = np.linalg.lstsq(steps, apart[seen], rcond=1e-8)
        point = found - share @ np.diff(np.array(images), axis=0)
    return found, residual, most
