"""Landing tables of a lattice for many bearings, built where they are needed and kept."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from planner.course.lies import Ground
from planner.strategy.grid import Lattice
from planner.strategy.transition import (
    TURF,
    IntArray,
    LandingTables,
    RayGeometry,
    tables_of_bearing,
)

__all__ = ["BearingTables"]


class BearingTables:
    """Landing tables of a lattice, built bearing by bearing for the rows that are asked for.

    What was built once is kept, so that one hole serves many solves.

    Parameters
    ----------
    lattice, coverage
        Landing lattice and its ground shares, shape ``(len(Ground), rows, columns)``.
    relief
        Share of each cell from which relief is taken, shape ``(rows, columns)``.
    tried
        Bearings that shots are tried along [rad], shape ``(m,)``.
    ratio
        Every so-manieth of them, the first among them, has tables: those of ``bearings``.
    reach
        Longest run on each kind of turf [m], in the order of ``TURF``.
    shadow_reach
        Longest low part of a descent [m].
    """

    def __init__(
        self,
        lattice: Lattice,
        coverage: NDArray[np.float64],
        relief: NDArray[np.float64],
        geometry: RayGeometry,
        tried: NDArray[np.float64],
        *,
        ratio: int,
        reach: Sequence[float],
        shadow_reach: float,
    ) -> None:
        self.lattice = lattice
        self.tried = np.asarray(tried, dtype=float)
        self.bearings = self.tried[::ratio]
        self._geometry = geometry
        self._relief = relief
        turf = coverage[list(TURF)].copy()
        turf[0] += coverage[Ground.TEE]
        # A ball runs at most as far as the longest run on any turf of its cell.
        self._reach = np.where(turf > 0, np.asarray(reach)[:, None, None], 0.0).max(axis=0)
        self._shadow_reach = shadow_reach
        self._parts: list[tuple[NDArray[np.generic], ...] | None] = [None] * len(self.bearings)
        self._rows = np.zeros((len(self.bearings), 2), dtype=np.int64)
        self._all: LandingTables | None = None

    def of_rows(self, rows: NDArray[np.integer], *, threads: int = 1) -> LandingTables:
        """Tables that hold at least ``rows`` of each bearing: first and last + 1, ``(m, 2)``."""
        wanted = np.clip(rows, 0, self.lattice.shape[0]).astype(np.int64)
        missing = []
        for b, (first, last) in enumerate(wanted):
            held = self._rows[b]
            if first >= last or (
                self._parts[b] is not None and held[0] <= first and last <= held[1]
            ):
                continue
            if self._parts[b] is not None:
                first, last = min(first, held[0]), max(last, held[1])
            missing.append((b, int(first), int(last)))

        def build(job: tuple[int, int, int]) -> tuple[NDArray[np.generic], ...]:
            return self._build(float(self.bearings[job[0]]), job[1], job[2])

        if threads > 1 and len(missing) > 1:
            with ThreadPoolExecutor(threads) as pool:
                built = list(pool.map(build, missing))
        else:
            built = [build(job) for job in missing]
        for (b, first, last), part in zip(missing, built, strict=True):
            self._parts[b] = part
            self._rows[b] = first, last
        if missing or self._all is None:
            empty = self._build(0.0, 0, 0)
            self._all = _joined(self.bearings, [part or empty for part in self._parts])
        return self._all

    def along(self, bearing: float, rows: NDArray[np.integer]) -> LandingTables:
        """Tables of rows, first and last + 1, for one bearing [rad] of any size, not kept."""
        first, last = np.clip(rows, 0, self.lattice.shape[0]).tolist()
        return _joined(np.array([bearing]), [self._build(bearing, first, last)])

    def _build(self, bearing: float, first: int, last: int) -> tuple[NDArray[np.generic], ...]:
        lattice = self.lattice
        result: tuple[NDArray[np.generic], ...] = tables_of_bearing(
            bearing,
            lattice.start[0],
            lattice.start[1],
            lattice.cell,
            first,
            last,
            lattice.shape[1],
            round(lattice.cell / self._geometry.label_cell),
            self._reach,
            self._shadow_reach,
            self._relief,
            self._geometry,
        )
        return result


def _joined(
    bearings: NDArray[np.float64], parts: list[tuple[NDArray[np.generic], ...]]
) -> LandingTables:
    columns = [list(column) for column in zip(*parts, strict=True)]

    def starts(column: list[NDArray[np.generic]]) -> IntArray:
        return np.concatenate(([0], np.cumsum([len(part) for part in column]))).astype(np.int32)

    joined = [np.concatenate(column) for column in columns]
    return LandingTables(
        bearings,
        starts(columns[0]),
        joined[0],
        joined[1],
        joined[2],
        starts(columns[3]),
        joined[3],
        joined[4],
        joined[5],
        starts(columns[6]),
        joined[6],
        joined[7],
    )
