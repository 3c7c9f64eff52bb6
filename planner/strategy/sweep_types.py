"""Arrays that the kernels of a sweep work on, bundled by what they describe."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int32]
F64 = NDArray[np.float64]


class Actions(NamedTuple):
    """Swings in arrays: ``s`` swings, ``l`` lies, ``k`` components, ``b`` bearings.

    What the wind changes has an axis ``w``: as many as bearings in a wind, else one for all.
    ``mean`` [m] (s, w, l, k, 2); ``covariance`` [m2] (s, w, l, k, 3) as along, across, both;
    ``weight`` (s, l, k), all zero where a swing is not allowed; ``run`` [m] (s, w, 4) by turf;
    ``cot_descent`` and ``shadow`` [m] (s,);
    ``window`` (s, l, b, 4) first and last + 1 row and column of the target lattice from which
    it is tried; empty windows are skipped. ``bearings`` [rad] (b,): evenly spaced all round, of
    which every so-manieth, the first among them, has landing tables; or one alone.
    """

    bearings: F64
    mean: F64
    covariance: F64
    weight: F64
    run: F64
    cot_descent: F64
    shadow: F64
    window: IntArray


class Geometry(NamedTuple):
    """Landing lattice, target lattice and heights.

    ``stride`` and ``front`` describe the flat layout of landing fields: values a row, and
    values before the first row. Heights [m] are by row of each lattice.
    """

    start_along: float
    start_across: float
    cell: float
    rows: int
    columns: int
    stride: int
    front: int
    target_start_along: float
    target_start_across: float
    target_cell: float
    target_rows: int
    target_columns: int
    level: bool
    landing_height: F64
    target_height: F64
    level_ratio: float
    levels: int


class LandingFields(NamedTuple):
    """Values at rest on the landing lattice, flat layout; ``f`` fields.

    ``rest`` (f, n): value of a ball that ends on turf in the cell.
    ``still`` (f, n): value in sand and trees, times their share of the cell.
    ``turf`` (4, n): shares of the running grounds; ``turf_rows`` (4, 2): first and
    last + 1 row that has any. ``special`` (f, m): see transition.
    ``relief`` (cells,): share of each landing cell from which relief is taken.
    """

    rest: NDArray[np.floating]
    still: NDArray[np.floating]
    turf: NDArray[np.floating]
    turf_rows: IntArray
    special: NDArray[np.floating]
    relief: NDArray[np.floating]


class Quantities(NamedTuple):
    """What the ``f`` fields count.

    ``stroke`` (f,): cost of every stroke; ``lost`` (f,): cost of a lost ball beside it, the ball
    being replayed until it is in play. If ``again`` (f, l, rows, columns) is not empty it is the
    value of having lost the ball instead, and nothing is replayed.
    """

    stroke: F64
    lost: F64
    again: NDArray[np.floating]


class Followed(NamedTuple):
    """A policy by place (l, rows, columns): swing of the side, nearest bearing, turn from it.

    ``turn`` is in bearing steps; ``swing`` is negative where there is no action.
    """

    swing: NDArray[np.int16]
    centre: IntArray
    turn: NDArray[np.float32]


def strokes_and_penalties(count: int, penalty_price: float, kind: type[np.floating]) -> Quantities:
    """Strokes, a penalty costing ``penalty_price`` extra, then penalties, ``count`` fields."""
    return Quantities(
        np.array([1.0, 0.0][:count]),
        np.array([1.0 + penalty_price, 1.0][:count]),
        np.empty((0, 0, 0, 0), dtype=kind),
    )


def nothing_followed() -> Followed:
    """No policy to follow."""
    return Followed(
        np.empty((0, 0, 0), np.int16),
        np.empty((0, 0, 0), np.int32),
        np.empty((0, 0, 0), np.float32),
    )


class InPlay(NamedTuple):
    """Chance to stay in play for each swing, lie and bearing, over its window.

    ``offset`` (s, l, b) points into ``share``; -1 means certain. ``window`` (s, l, b, 4) is
    that of the actions when the shares were found; later windows lie within it.
    """

    window: IntArray
    offset: NDArray[np.int64]
    share: NDArray[np.floating]


class Blocked(NamedTuple):
    """CSR list by ``swing * bearings + bearing``: target cell, stop chance, place.

    ``passed`` and ``stays`` belong to a ball in trees and are written by every sweep: its cost
    is ``(passed + chance * value at place) / stays``; ``stays`` is zero where it does not apply.
    """

    start: NDArray[np.int64]
    cell: IntArray
    chance: NDArray[np.floating]
    place: IntArray
    passed: NDArray[np.floating]
    stays: NDArray[np.floating]
