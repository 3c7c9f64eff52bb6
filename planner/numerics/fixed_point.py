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


class Mixing:
    """Anderson's next point from the points and images of a map so far.

    Parameters
    ----------
    depth
        Differences kept.
    """

    def __init__(self, depth: int = 6) -> None:
        self._depth = depth
        self._points: list[FloatArray] = []
        self._images: list[FloatArray] = []

    def next_point(
        self, point: FloatArray, image: FloatArray, seen: NDArray[np.bool_] | slice = slice(None)
    ) -> FloatArray:
        """Where to look next, shape ``(n,)``, after ``image`` of ``point``.

        Residuals of the entries ``seen`` are made to cancel.
        """
        self._points = [*self._points[-self._depth :], point]
        self._images = [*self._images[-self._depth :], image]
        if len(self._points) == 1:
            return image
        residuals = np.array([g - x for g, x in zip(self._images, self._points, strict=True)])
        steps = np.diff(residuals[:, seen], axis=0).T
        share, *_ = np.linalg.lstsq(steps, residuals[-1, seen], rcond=1e-8)
        return np.asarray(image - share @ np.diff(np.array(self._images), axis=0))


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
    mixing = Mixing(depth)
    found, residual = point, np.inf
    for count in range(1, most + 1):
        found = image(point)
        residual = float(np.abs((found - point)[seen]).max(initial=0.0))
        if residual <= tolerance or count == most:
            return found, residual, count
        point = mixing.next_point(point, found, seen)
    return found, residual, most
