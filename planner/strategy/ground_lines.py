"""Ground met along a straight line, exact against the polygons of a hole.

After the carry everything that happens to a ball happens on one line: the canopy behind the
landing, the descent onto a slope, the run, the first ground that stops it and the edge it last
crossed. So the ground is kept as directed edges, and a line is cut where it crosses them. No
polygon is ever intersected with another, so overlaps and invalid polygons do no harm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numba import njit
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.hole import Hole
from planner.course.lies import Ground, Lie

FloatArray = NDArray[np.float64]

MOST_CUTS = 2048
"""Most edges that a line may cross."""

STOPS = -1
"""Turf index of ground on which a ball does not run."""
TURF_LIES = (Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.GREEN)
"""Lies whose run a landing ball takes, in the order of the ``turf`` indices."""
_TURF_OF_GROUND = {
    Ground.FAIRWAY: 0,
    Ground.TEE: 0,
    Ground.ROUGH: 1,
    Ground.DEEP_ROUGH: 2,
    Ground.GREEN: 3,
}


@dataclass(frozen=True)
class GroundClass:
    """One kind of ground, or one penalty area by itself; ``lost`` is the place off the map."""

    ground: Ground
    feature_id: str = ""
    name: str = ""
    lost: bool = False


@dataclass(frozen=True, eq=False)
class GroundPartition:
    """Ground of a hole as directed edges, in paint order; built once for a hole.

    Parameters
    ----------
    edges_hole
        Start and end (along, across) of every edge [m], shape ``(e, 4)``.
    edge_class
        Class that each edge bounds, index into ``classes``.
    edge_sign
        +1 where the class lies to the left of the edge (along forward, across up), else -1.
    classes
        Later ones cover earlier ones; the first, rough, is everywhere.
    base
        Number of times each class covers a point far away.
    turf
        Run index of each class (:data:`TURF_LIES`), ``STOPS`` where a ball stops.
    """

    edges_hole: FloatArray
    edge_class: NDArray[np.int64]
    edge_sign: NDArray[np.int64]
    classes: tuple[GroundClass, ...]
    base: NDArray[np.int64]
    turf: NDArray[np.int64]

    @property
    def grounds(self) -> NDArray[np.int64]:
        """Ground of each class."""
        return np.array([item.ground for item in self.classes], dtype=np.int64)

    @property
    def lost_class(self) -> int:
        """Class of the place off the map, -1 if the map has no end."""
        return len(self.classes) - 1 if self.classes[-1].lost else -1

    @property
    def tree_class(self) -> int:
        """Class of woods, -1 if there are none."""
        found = [i for i, item in enumerate(self.classes) if item.ground is Ground.TREES]
        return found[0] if found else -1


def ground_partition(hole: Hole, *, map_box: shapely.Polygon | None = None) -> GroundPartition:
    """Edges of all ground of a hole.

    Parameters
    ----------
    hole
        The hole. Its ground is read as in ``grid.label_points``: later kinds of ``Ground``
        cover earlier ones, what nothing covers is rough, outside ``in_bounds`` is out.
    map_box
        A ball that ends outside it is lost and counts as out of bounds; None for no end.
    """
    classes = [GroundClass(Ground.ROUGH)]
    base = [1]
    edges: list[FloatArray] = []
    owner: list[NDArray[np.int64]] = []
    sign: list[NDArray[np.int64]] = []

    def add(shape: BaseGeometry, index: int, side: int) -> None:
        found = _directed_edges(shape)
        edges.append(found)
        owner.append(np.full(len(found), index, dtype=np.int64))
        sign.append(np.full(len(found), side, dtype=np.int64))

    def new(item: GroundClass, covers: int) -> int:
        classes.append(item)
        base.append(covers)
        return len(classes) - 1

    for ground in Ground:
        areas = hole.areas_of(ground)
        if ground.is_penalty_area:
            for area in areas:
                add(area.shape_hole, new(GroundClass(ground, area.feature_id, area.name), 0), 1)
            continue
        bounded = ground is Ground.OUT and hole.in_bounds is not None
        if not areas and not bounded:
            continue
        if ground is Ground.ROUGH:
            continue  # it is everywhere already
        index = new(GroundClass(ground), 0)
        for area in areas:
            add(area.shape_hole, index, 1)
        if bounded:
            base[index] = 1
            add(hole.in_bounds, index, -1)
    if map_box is not None:
        add(map_box, new(GroundClass(Ground.OUT, lost=True), 1), -1)
    return GroundPartition(
        np.concatenate([np.empty((0, 4)), *edges]),
        np.concatenate([np.empty(0, np.int64), *owner]),
        np.concatenate([np.empty(0, np.int64), *sign]),
        tuple(classes),
        np.array(base, dtype=np.int64),
        np.array([_TURF_OF_GROUND.get(item.ground, STOPS) for item in classes], dtype=np.int64),
    )


def _directed_edges(shape: BaseGeometry) -> FloatArray:
    found = [np.empty((0, 4))]
    for part in shapely.get_parts(shape):
        for number, ring in enumerate(shapely.get_rings(part)):
            points = shapely.get_coordinates(ring)
            if shapely.is_ccw(ring) != (number == 0):
                points = points[::-1]
            found.append(np.hstack((points[:-1], points[1:])))
    return np.concatenate(found)


@njit(cache=True, nogil=True)
def insert_cut(count, t, kind, begins, at, what, turn):  # type: ignore[no-untyped-def]
    """Add a cut to the ``count`` there are, which stay in order along the line."""
    k = count
    while k > 0 and at[k - 1] > t:
        at[k] = at[k - 1]
        what[k] = what[k - 1]
        turn[k] = turn[k - 1]
        k -= 1
    at[k] = t
    what[k] = kind
    turn[k] = begins


@njit(cache=True, nogil=True)
def cut_line(along, across, ca, sa, edges, owner, sign, at, what, turn):  # type: ignore[no-untyped-def]
    """Cut the line through a point where it crosses edges.

    Fills ``at`` (signed distance from the point [m]), ``what`` (class) and ``turn`` (+1 where
    the class begins, -1 where it ends), in order along the line; returns their number.
    """
    count = 0
    origin = along * -sa + across * ca
    start = along * ca + across * sa
    for e in range(edges.shape[0]):
        c0 = edges[e, 1] * ca - edges[e, 0] * sa - origin
        c1 = edges[e, 3] * ca - edges[e, 2] * sa - origin
        if (c0 <= 0.0) == (c1 <= 0.0):
            continue
        t0 = edges[e, 0] * ca + edges[e, 1] * sa
        t1 = edges[e, 2] * ca + edges[e, 3] * sa
        if count >= at.shape[0]:
            raise ValueError("a line crosses more edges than MOST_CUTS")
        t = t0 + (t1 - t0) * (c0 / (c0 - c1)) - start
        begins = sign[e] if c1 < c0 else -sign[e]
        insert_cut(count, t, owner[e], begins, at, what, turn)
        count += 1
    return count


@njit(cache=True, nogil=True)
def label_line(count, at, what, turn, base, covers, start, label):  # type: ignore[no-untyped-def]
    """Turn cuts into stretches of one class each, returned by number.

    Stretch ``i`` runs from ``start[i]`` to ``start[i + 1]`` (the last without end, the first
    without beginning) and has class ``label[i]``. ``covers`` is scratch of the length of
    ``base``.
    """
    top = 0
    for k in range(len(base)):
        covers[k] = base[k]
        if covers[k] > 0:
            top = k
    start[0] = -math.inf
    label[0] = top
    found = 1
    for n in range(count):
        k = what[n]
        covers[k] += turn[n]
        if covers[k] > 0 and k > top:
            top = k
        elif k == top and covers[k] <= 0:
            while top > 0 and covers[top] <= 0:
                top -= 1
        if found > 1 and at[n] <= start[found - 1]:
            label[found - 1] = top
        elif top != label[found - 1]:
            start[found] = at[n]
            label[found] = top
            found += 1
        if found > 1 and label[found - 1] == label[found - 2]:
            found -= 1
    start[found] = math.inf
    return found


@njit(cache=True, nogil=True)
def height_at(along, known_along, known_height):  # type: ignore[no-untyped-def]
    """Height of the ground [m] at ``along`` [m]: linear between known points, constant beyond."""
    n = len(known_along)
    if n == 0:
        return 0.0
    if along <= known_along[0]:
        return known_height[0]
    if along >= known_along[n - 1]:
        return known_height[n - 1]
    k = 0
    while known_along[k + 1] < along:
        k += 1
    part = (along - known_along[k]) / (known_along[k + 1] - known_along[k])
    return known_height[k] + part * (known_height[k + 1] - known_height[k])
