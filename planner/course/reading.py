"""Read a course map: the one door into this package for everything above it.

Maps are GeoJSON (RFC 7946) or the public map's ``.osm`` XML, with golf tags as mappers draw
them. Features belong to holes by geometry. Nothing is filled in silently: see
:attr:`Course.assumptions` and :func:`check_map`.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.course.findings import Finding
from planner.course.hole import Course, Hole
from planner.course.map_check import MapReport, report_on
from planner.course.projection import from_proj, to_proj
from planner.errors import CourseMapError

__all__ = ["Finding", "MapReport", "check_map", "read_course", "to_hole", "to_lonlat"]

FloatArray = NDArray[np.float64]


def read_course(path: Path) -> Course:
    """Read the course on a map.

    Raises
    ------
    CourseMapError
        The map cannot be used; names every error in it.
    """
    report = report_on(Path(path))
    if report.course is None:
        errors = [str(f) for f in report.findings if f.severity == "error"]
        raise CourseMapError(report.source, errors)
    return report.course


def check_map(path: Path) -> MapReport:
    """Every problem of a map at once, with the course if it can be used; never raises for it."""
    return report_on(Path(path))


def to_lonlat(course: Course, hole: Hole, points_hole: ArrayLike) -> FloatArray:
    """Turn points of a hole, ``(n, 2)`` along, across [m], into longitude, latitude [degrees]."""
    points = np.asarray(points_hole, dtype=float).reshape(-1, 2)
    return from_proj(course.crs_proj, hole.frame.to_proj(points))


def to_hole(course: Course, hole: Hole, points_lonlat: ArrayLike) -> FloatArray:
    """Turn longitude, latitude [degrees], ``(n, 2)``, into points of a hole along, across [m]."""
    points = np.asarray(points_lonlat, dtype=float).reshape(-1, 2)
    return hole.frame.to_hole(to_proj(course.crs_proj, points))
