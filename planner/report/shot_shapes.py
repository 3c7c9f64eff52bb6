"""A shot as shapes: its pattern, aim and run, in the frame of the drawing."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from planner.report import words
from planner.report.drawing import Shape, xy
from planner.report.view import View
from planner.strategy.advice import Shot

__all__ = ["CHI_SQUARE_50", "CHI_SQUARE_90", "aim_shapes", "ellipse", "pattern_shapes"]

FloatArray = NDArray[np.float64]

CHI_SQUARE_50, CHI_SQUARE_90 = 2 * math.log(2), 2 * math.log(10)
"""Chi-square quantiles with 2 degrees of freedom, ``-2 ln(1 - p)``: 1.38629 and 4.60517."""


def ellipse(mean: ArrayLike, covariance: ArrayLike, chi_square: float) -> shapely.Polygon:
    """Ellipse of a normal's mass: where the Mahalanobis distance squared is ``chi_square``.

    ``mean`` (2,) [m], ``covariance`` (2, 2) [m2]; 72 corners, same frame.
    """
    factor = np.linalg.cholesky(np.asarray(covariance, dtype=float))
    turn = np.linspace(0.0, 2 * math.pi, 72, endpoint=False)
    circle = np.column_stack((np.cos(turn), np.sin(turn)))
    return shapely.Polygon(
        np.asarray(mean, dtype=float) + math.sqrt(chi_square) * circle @ factor.T
    )


def pattern_shapes(shot: Shot) -> Iterator[Shape]:
    """Mishits first, then the 90 % and 50 % ellipses of the stock shot, which has a pattern."""
    pattern = shot.pattern
    assert pattern is not None
    flip = np.array([[0.0, 1.0], [1.0, 0.0]])
    means = pattern.means_hole @ flip
    covariances = flip @ pattern.covariances_hole @ flip
    for i in range(len(pattern.names) - 1, 0, -1):
        yield Shape(
            "mishit",
            ellipse(means[i], covariances[i], CHI_SQUARE_50),
            f"mishit, {pattern.names[i]}: {words.percent(float(pattern.weights[i]))} of shots, "
            "half of them land in here",
        )
    for role, share, chi_square in (
        ("pattern 90", "nine", CHI_SQUARE_90),
        ("pattern 50", "five", CHI_SQUARE_50),
    ):
        yield Shape(
            role,
            ellipse(means[0], covariances[0], chi_square),
            f"{share} of ten solid shots land in here",
        )


def aim_shapes(shot: Shot, view: View) -> Iterator[Shape]:
    """Aim line, run, aim point and ball."""
    ball = np.array(xy(shot.position_hole))
    pixel = 1 / view.scale
    if shot.aim is not None:
        aim = np.array(xy(shot.aim.point_hole))
        yield Shape("aim line", shapely.LineString([ball, aim]), "aim line")
        if shot.pattern is not None and shot.pattern.run_m > 1.0:
            yield from _run(shot, aim, view)
        yield Shape("aim point", shapely.Point(aim).buffer(5 * pixel), "aim point")
        arms = [
            [aim - step, aim + step]
            for step in (np.array([9 * pixel, 0]), np.array([0, 9 * pixel]))
        ]
        yield Shape("aim line", shapely.MultiLineString(arms), "aim point")
    yield Shape("ball", shapely.Point(ball).buffer(4.5 * pixel), "ball")


def _run(shot: Shot, aim: FloatArray, view: View) -> Iterator[Shape]:
    """Arrow from where the stock shot lands to where it stops on a fairway."""
    assert shot.pattern is not None
    assert shot.aim is not None
    step = np.array([math.sin(shot.aim.bearing), math.cos(shot.aim.bearing)])
    side = np.array([step[1], -step[0]])
    start = shot.pattern.means_hole[0][::-1]
    end = start + shot.pattern.run_m * step
    head = min(6 / view.scale, shot.pattern.run_m)
    lines = [
        [start, end],
        [end - head * (step + 0.6 * side), end],
        [end - head * (step - 0.6 * side), end],
    ]
    yield Shape("run", shapely.MultiLineString(lines), "run on a fairway")
