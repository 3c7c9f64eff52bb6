"""Mass of bivariate normals over a polygon, exact to rounding.

Method. Move the mean to the origin and whiten, so that the density is the standard normal and
depends on the radius alone. The mass over a polygon is then a sum over its directed edges
(outer rings counterclockwise, inner rings clockwise) of the signed mass of the triangle
between the origin and the edge:

    f = angle / (2 pi) - [T(d, s1 / d) - T(d, s0 / d)]

where ``angle`` is the signed angle the edge subtends, ``d`` the signed distance from the
origin to the edge's line, ``s0`` and ``s1`` the offsets of its ends from the foot of that
distance, and ``T`` the function of Owen (1956, "Tables for computing bivariate normal
probabilities", Ann. Math. Statist. 27, 1075-1090), here from scipy, which uses the methods of
Patefield & Tandy (2000, "Fast and accurate calculation of Owen's T-function", J. Statist.
Software 5(5)). No clipping and no convexity are needed.

``d`` and ``angle`` come from one cross product, so that their signs agree when the mean is
within rounding of an edge; an edge whose line holds the mean adds nothing, which is exact for
means on edges and vertices. The error is absolute, about 1e-16 for each edge, so the relative
accuracy of masses below about 1e-15 is lost.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from scipy.special import owens_t

__all__ = ["mixture_probability", "polygon_probability"]

FloatArray = NDArray[np.float64]
Shape: TypeAlias = shapely.Polygon | shapely.MultiPolygon

_BLOCK = 1 << 17
"""Distributions times edges worked on at once; bounds the memory at about 20 MB."""
_EIGENVALUE_FLOOR = 1e-24
"""Least eigenvalue as a share of the largest: a deviation ratio of 1e-12."""
_POINT_FLOOR = 1e-12
"""Least standard deviation as a share of the polygon's size, for a mass at one point."""


def polygon_probability(polygon: Shape, mean: ArrayLike, covariance: ArrayLike) -> FloatArray:
    """Mass of bivariate normals over a polygon.

    Parameters
    ----------
    polygon
        Valid polygon or multipolygon, with or without holes, in any plane axes. Rings may run
        either way. An empty geometry of any type has mass 0.
    mean
        Means in the axes of the polygon, shape ``(..., 2)``.
    covariance
        Covariances, shape ``(..., 2, 2)``; broadcast against ``mean``. A singular one stands
        for mass on a line or at a point; a point on an edge counts half.

    Returns
    -------
    Mass of each normal inside, between 0 and 1, shape ``(...)``.

    Raises
    ------
    TypeError
        ``polygon`` is neither a polygon nor a multipolygon nor empty.
    ValueError
        Shapes do not fit, a value is not finite, or a covariance is not symmetric or has a
        negative eigenvalue.
    """
    centre, spread = _broadcast(mean, covariance)
    start, end = _edges(polygon)
    shape = centre.shape[:-1]
    if len(start) == 0:
        return np.zeros(shape)
    flat_centre, flat_spread = centre.reshape(-1, 2), spread.reshape(-1, 2, 2)
    size = float(np.ptp(start, axis=0).max())
    whiten = _whitening(flat_spread, size)
    mass = np.empty(len(flat_centre))
    step = max(1, _BLOCK // max(len(start), 1))
    for first in range(0, len(mass), step):
        block = slice(first, first + step)
        mass[block] = _mass(start, end, flat_centre[block], whiten[block])
    return np.asarray(np.clip(mass, 0.0, 1.0).reshape(shape))


def mixture_probability(
    polygon: Shape, weights: ArrayLike, means: ArrayLike, covariances: ArrayLike
) -> FloatArray:
    """Mass of mixtures of ``k`` bivariate normals over a polygon.

    Parameters
    ----------
    polygon
        As for :func:`polygon_probability`.
    weights
        Shares of the components, shape ``(..., k)``, not negative.
    means, covariances
        Shapes ``(..., k, 2)`` and ``(..., k, 2, 2)``; broadcast against ``weights``.

    Returns
    -------
    Mass of each mixture inside, shape ``(...)``.

    Raises
    ------
    ValueError
        As for :func:`polygon_probability`, or the weights do not fit or are negative.
    """
    share = np.asarray(weights, dtype=float)
    if share.ndim < 1 or not np.isfinite(share).all() or (share < 0).any():
        raise ValueError(f"weights must be finite, not negative, shape (..., k), got {share!r}")
    inside = polygon_probability(polygon, means, covariances)
    if inside.ndim < 1 or inside.shape[-1] != share.shape[-1]:
        raise ValueError(
            f"weights of shape {share.shape} do not fit {inside.shape} components; "
            "the last axis of both must be the components"
        )
    try:
        return np.asarray(np.einsum("...k,...k->...", share, inside))
    except ValueError as error:
        raise ValueError(
            f"weights of shape {share.shape} do not broadcast against {inside.shape}"
        ) from error


def _broadcast(mean: ArrayLike, covariance: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Check both and give them one common leading shape."""
    centre = np.asarray(mean, dtype=float)
    spread = np.asarray(covariance, dtype=float)
    if centre.ndim < 1 or centre.shape[-1] != 2:
        raise ValueError(f"mean must have shape (..., 2), got {centre.shape}")
    if spread.ndim < 2 or spread.shape[-2:] != (2, 2):
        raise ValueError(f"covariance must have shape (..., 2, 2), got {spread.shape}")
    if not (np.isfinite(centre).all() and np.isfinite(spread).all()):
        raise ValueError("mean and covariance must be finite")
    scale = np.abs(spread).max(axis=(-2, -1), initial=0.0)
    if (np.abs(spread[..., 0, 1] - spread[..., 1, 0]) > 1e-9 * scale).any():
        raise ValueError("every covariance must be symmetric")
    try:
        shape = np.broadcast_shapes(centre.shape[:-1], spread.shape[:-2])
    except ValueError as error:
        raise ValueError(
            f"mean {centre.shape} and covariance {spread.shape} do not broadcast"
        ) from error
    return np.broadcast_to(centre, (*shape, 2)), np.broadcast_to(spread, (*shape, 2, 2))


def _edges(polygon: Shape) -> tuple[FloatArray, FloatArray]:
    """Start and end of every edge, shape ``(edges, 2)``, the inside on the left."""
    if shapely.is_empty(polygon):
        return np.empty((0, 2)), np.empty((0, 2))
    if not isinstance(polygon, shapely.Polygon | shapely.MultiPolygon):
        raise TypeError(f"polygon must be a Polygon or MultiPolygon, got {type(polygon).__name__}")
    starts, ends = [np.empty((0, 2))], [np.empty((0, 2))]
    for part in shapely.get_parts(polygon):
        for number, ring in enumerate(shapely.get_rings(part)):
            points = shapely.get_coordinates(ring)
            if len(points) == 0:
                continue
            if shapely.is_ccw(ring) != (number == 0):
                points = points[::-1]
            starts.append(points[:-1])
            ends.append(points[1:])
    start, end = np.concatenate(starts), np.concatenate(ends)
    if not np.isfinite(start).all():
        raise ValueError("the polygon has a coordinate that is not finite")
    return start, end


def _whitening(spread: FloatArray, size: float) -> FloatArray:
    """Matrices that whiten ``(n, 2, 2)`` covariances and keep the sense of rotation."""
    values, vectors = np.linalg.eigh((spread + np.swapaxes(spread, -1, -2)) / 2)
    largest = values[:, 1]
    if (values[:, 0] < -1e-9 * np.abs(values).max(axis=1)).any():
        raise ValueError("every covariance must have eigenvalues of 0 or more")
    point = (_POINT_FLOOR * (size or 1.0)) ** 2
    values = np.maximum(values, np.maximum(_EIGENVALUE_FLOOR * largest, point)[:, None])
    # A reflection would turn every ring round, so the first axis is flipped where needed.
    turn = np.sign(np.linalg.det(vectors))
    rows = np.swapaxes(vectors, -1, -2) / np.sqrt(values)[:, :, None]
    rows[:, 0, :] *= turn[:, None]
    return np.asarray(rows)


def _mass(start: FloatArray, end: FloatArray, centre: FloatArray, whiten: FloatArray) -> FloatArray:
    """Sum of the edge terms for ``(n, 2)`` centres; see the module's text."""
    ax, ay = _turned(start, centre, whiten)
    bx, by = _turned(end, centre, whiten)
    ex, ey = bx - ax, by - ay
    length = np.hypot(ex, ey)
    cross = ax * by - ay * bx
    angle = np.arctan2(cross, ax * bx + ay * by)
    # An edge that rounding shortens to nothing subtends nothing.
    distance = np.divide(cross, length, out=np.zeros_like(cross), where=length > 0.0)
    apart = distance != 0.0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        near = (ax * ex + ay * ey) / length / distance
        far = (bx * ex + by * ey) / length / distance
        owen = owens_t(distance, far) - owens_t(distance, near)
    return np.asarray(np.where(apart, angle / (2 * np.pi) - owen, 0.0).sum(axis=1))


def _turned(
    points: FloatArray, centre: FloatArray, whiten: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Whitened coordinates of ``(edges, 2)`` points about ``(n, 2)`` centres, ``(n, edges)``.

    The centre is subtracted first, which is exact near it, also for coordinates of a map grid.
    """
    x = points[:, 0] - centre[:, :1]
    y = points[:, 1] - centre[:, 1:]
    return (
        whiten[:, :1, 0] * x + whiten[:, :1, 1] * y,
        whiten[:, 1:, 0] * x + whiten[:, 1:, 1] * y,
    )
