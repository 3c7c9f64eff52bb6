"""The same quantities by other libraries: quadrature over shapely, scikit-learn, geodesics.

Nothing of the planner's arithmetic is used on the other side: shapely says what lies where, a sum
over a dense lattice of points makes a mass of it; scikit-learn has its own densities and its own
fit; ``pyproj.Geod`` knows the ellipsoid and no projection.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import Geod

from planner import demo_data
from planner.acceptance.claim import Area, Claim
from planner.acceptance.plain_holes import golfer, swing
from planner.course.hole import Course, ElevationProfile, Hole, Point
from planner.course.lies import Ground, Lie
from planner.course.reading import read_course, to_lonlat
from planner.golfer.club import ClubKind
from planner.golfer.shot_outcome import Swing
from planner.golfer.shot_pattern import ShotPattern, normal_covariance
from planner.golfer.skill import full_swing_skill, typical_pattern
from planner.numerics.normal_mixture import Mixture, MixturePrior, climb, densities, features
from planner.numerics.polygon_probability import mixture_probability
from planner.strategy.exposure import OutcomeShares, outcome_shares
from planner.strategy.ground_lines import ground_partition
from planner.units import RAD_PER_DEG

__all__ = ["AREA"]

FloatArray = NDArray[np.float64]
STEPS_M = (2.0, 1.0)
"""Sides of the quadrature's cells [m]; the two are extrapolated to cells of no size."""
REACH_SD = 7.0
QUADRATURE_ERROR = 1e-5
QUADRATURE_REASON = (
    "cells of 2 and 1 m, cut exactly at every edge and extrapolated: what is left is of the fourth "
    "order in cell over deviation, (1/11)^4, times a share of edge cells below a tenth"
)
GEODESICS = (
    ("40.6 N 73.8 W to 51.6 N 0.5 W", "GeographicLib, WGS 84", 5551759.400319, 1e-5,
     (-73.8, 40.6), (-0.5, 51.6), "WGS84"),
    ("Flinders Peak to Buninyong", "GDA technical manual, GRS 80", 54972.271, 1e-3,
     (144 + 25 / 60 + 29.52440 / 3600, -(37 + 57 / 60 + 3.72030 / 3600)),
     (143 + 55 / 60 + 35.38390 / 3600, -(37 + 39 / 60 + 10.15610 / 3600)), "GRS80"),
)  # fmt: skip
"""Published lines: name, source, length and tolerance [m], ends and ellipsoid. Coordinates of the
second from memory of that manual."""
BEHIND_M, BEYOND_M, ASIDE_M = 60.0, 90.0, 140.0


@dataclass(frozen=True)
class _Shot:
    """A shot whose chances are compared: map, hole, place, aim and pattern."""

    name: str
    course: str
    ref: str
    bearing_deg: float
    pattern: ShotPattern


def _mixture(carry: float, short: float) -> ShotPattern:
    """A slanted stock shot with a short mishit."""
    return ShotPattern(
        np.array([0.85, 0.15]),
        np.array([[carry, 4.0], [short, -6.0]]),
        np.array([normal_covariance((11.0, 17.0), -0.3), normal_covariance((25.0, 15.0), 0.1)]),
        ("stock", "short"),
    )


SHOTS = (
    _Shot("links, hole 12", "tarrowick.geojson", "12", -4.0, _mixture(165.0, 100.0)),
    _Shot("park, hole 3", "mossquern.osm", "3", 8.0, _mixture(200.0, 120.0)),
    _Shot("short course, hole 2", "pebblecote.geojson", "2", 0.0, _mixture(120.0, 70.0)),
)
SHARES = {
    "fairway": (Ground.FAIRWAY, Ground.TEE),
    "rough": (Ground.ROUGH,),
    "deep_rough": (Ground.DEEP_ROUGH,),
    "sand": (Ground.SAND,),
    "trees": (Ground.TREES,),
    "penalty": (Ground.YELLOW, Ground.RED),
    "green": (Ground.GREEN,),
    "out_of_bounds": (Ground.OUT,),
}


@cache
def _course(name: str) -> Course:
    return read_course(demo_data.demo_folder() / name)


def _hole(shot: _Shot) -> Hole:
    """The hole, level: without run and slope a ball stays where its carry ends."""
    hole = _course(shot.course).hole(shot.ref)
    return dataclasses.replace(hole, elevation=ElevationProfile())


def _box(hole: Hole) -> shapely.Polygon:
    return shapely.box(-BEHIND_M, -ASIDE_M, hole.pin_hole[0] + BEYOND_M, ASIDE_M)


def _swing(shot: _Shot) -> Swing:
    carry = float(shot.pattern.means[0, 0])
    # No wood stops it: it climbs at once and comes down steeply.
    return dataclasses.replace(swing("Club", carry, shot.pattern), climb_m=0.0)


@cache
def _exact(number: int) -> OutcomeShares:
    shot = SHOTS[number]
    hole = _hole(shot)
    one = _swing(shot)
    partition = ground_partition(hole, map_box=_box(hole))
    model = golfer(one, putts=2.0)
    place = hole.tees[0].position_hole
    return outcome_shares(
        partition, hole, model, one, Lie.TEE, place, shot.bearing_deg * RAD_PER_DEG
    )


def _turn(shot: _Shot) -> FloatArray:
    """Rows of the aim's axes in the hole frame, (2, 2)."""
    angle = shot.bearing_deg * RAD_PER_DEG
    return np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])


def _dense_mass(shape: shapely.Geometry, pattern: ShotPattern) -> float:
    """Mass of a pattern over a shape in the pattern's own axes, extrapolated from two sums."""
    coarse, fine = (_cell_sum(shape, pattern, step) for step in STEPS_M)
    return fine + (fine - coarse) / ((STEPS_M[0] / STEPS_M[1]) ** 2 - 1.0)


def _cell_sum(shape: shapely.Geometry, pattern: ShotPattern, step: float) -> float:
    """Density at the middle of every cell or piece of one, times its area."""
    if shape.is_empty:
        return 0.0
    shapely.prepare(shape)
    edge = shape.boundary
    shapely.prepare(edge)
    total = 0.0
    for weight, mean, covariance in zip(
        pattern.weights, pattern.means, pattern.covariances, strict=True
    ):
        size = REACH_SD * np.sqrt(np.diag(covariance))
        axes = [np.arange(-s, s, step) + step / 2 for s in size]
        centres = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2) + mean
        reach = step * math.sqrt(0.5)
        cut = shapely.dwithin(edge, shapely.points(centres), reach)
        whole = centres[~cut]
        whole = whole[shapely.contains_xy(shape, *whole.T)]
        x, y = centres[cut].T
        half = step / 2
        pieces = shapely.intersection(shapely.box(x - half, y - half, x + half, y + half), shape)
        pieces = pieces[~shapely.is_empty(pieces)]
        middle = shapely.get_coordinates(shapely.centroid(pieces))
        places = np.concatenate((whole, middle)) - mean
        areas = np.concatenate((np.full(len(whole), step**2), shapely.area(pieces)))
        inverse = np.linalg.inv(covariance)
        exponent = -0.5 * np.einsum("ni,ij,nj->n", places, inverse, places)
        scale = 2 * math.pi * math.sqrt(float(np.linalg.det(covariance)))
        total += float(weight) * float(np.exp(exponent) @ areas) / scale
    return total


@cache
def _painted(number: int) -> dict[Ground, shapely.Geometry]:
    """Disjoint shapes of every ground in the aim's axes, later kinds over earlier ones."""
    shot = SHOTS[number]
    hole = _hole(shot)
    left: shapely.Geometry = _box(hole)
    far = left.buffer(1000.0)
    if hole.in_bounds is not None:
        left = left.intersection(hole.in_bounds)
    shapes: dict[Ground, shapely.Geometry] = {Ground.OUT: far.difference(left)}
    for ground in sorted(Ground, reverse=True)[1:]:
        shape = shapely.union_all([area.shape_hole for area in hole.areas_of(ground)])
        shapes[ground] = left.intersection(shape) if ground is not Ground.ROUGH else left
        left = left.difference(shapes[ground])
    place, turn = np.array(hole.tees[0].position_hole), _turn(shot)
    return {
        ground: shapely.transform(shape, lambda points: (points - place) @ turn.T)
        for ground, shape in shapes.items()
    }


@cache
def _quadrature(number: int, share: str) -> float:
    shapes = _painted(number)
    pattern = SHOTS[number].pattern
    return sum(_dense_mass(shapes[ground], pattern) for ground in SHARES[share])


def _ours(number: int, share: str) -> float:
    return float(getattr(_exact(number), share))


def _over_green(number: int) -> tuple[shapely.Geometry, ShotPattern]:
    """Green of the hole about its own middle, and the pattern laid over it."""
    shot = SHOTS[number]
    green = shapely.union_all([a.shape_hole for a in _hole(shot).areas_of(Ground.GREEN)])
    middle = np.array([green.centroid.x, green.centroid.y])
    pattern = shot.pattern
    moved = dataclasses.replace(pattern, means=pattern.means - pattern.means[0])
    return shapely.transform(green, lambda points: points - middle), moved


def _green_elsewhere(number: int) -> float:
    return _dense_mass(*_over_green(number))


def _green_here(number: int) -> float:
    green, pattern = _over_green(number)
    return float(mixture_probability(green, pattern.weights, pattern.means, pattern.covariances))


# Mixtures.
SHOTS_DRAWN = 1500
DRAWN_INDEX = 14.0
FIGURES = ("mean carry", "mean offline", "carry deviation", "offline deviation", "share of mishits")
NO_PRIOR = 1e-9
"""Counts, degrees and scales of a prior that says nothing."""


def _truth() -> ShotPattern:
    skill = full_swing_skill(ClubKind.IRON, 33.0 * RAD_PER_DEG, DRAWN_INDEX)
    return typical_pattern(skill, 135.0)


@cache
def _sample() -> FloatArray:
    return np.asarray(_truth().sample(np.random.default_rng(5), SHOTS_DRAWN)[0])


def _figures(weights: FloatArray, means: FloatArray, covariances: FloatArray) -> dict[str, float]:
    values = (
        float(means[0, 0]),
        float(means[0, 1]),
        math.sqrt(covariances[0, 0, 0]),
        math.sqrt(covariances[0, 1, 1]),
        1.0 - float(weights[0]),
    )
    return dict(zip(FIGURES, values, strict=True))


def _prior(truth: ShotPattern) -> MixturePrior:
    k = len(truth.weights)
    return MixturePrior(
        counts=np.full(k, NO_PRIOR),
        mean=truth.means,
        mean_covariance=np.eye(2 * k) / NO_PRIOR,
        degrees=np.full(k, NO_PRIOR),
        scales=np.broadcast_to(np.eye(2) * NO_PRIOR, (k, 2, 2)).copy(),
        background_share=1e-15,
        background_density=1e-15,
    )


@cache
def _fitted_elsewhere() -> dict[str, float]:
    from sklearn.mixture import GaussianMixture

    truth = _truth()
    found = GaussianMixture(
        len(truth.weights),
        tol=1e-9,
        reg_covar=0.0,
        max_iter=20_000,
        weights_init=truth.weights,
        means_init=truth.means,
        precisions_init=np.linalg.inv(truth.covariances),
    ).fit(_sample())
    return _figures(found.weights_, found.means_, found.covariances_)


@cache
def _fitted_here() -> dict[str, float]:
    truth = _truth()
    start = Mixture(truth.weights[None], truth.means[None], truth.covariances[None])
    found = climb(_sample(), _prior(truth), start, tolerance=1e-9, max_iterations=20_000)
    mixture = found.mixture
    return _figures(mixture.weights[0], mixture.means[0], mixture.covariances[0])


def _fit_elsewhere(figure: str) -> float:
    return _fitted_elsewhere()[figure]


def _fit_here(figure: str) -> float:
    return _fitted_here()[figure]


def _log_likelihood_elsewhere() -> float:
    from sklearn.mixture import GaussianMixture

    truth = _truth()
    other = GaussianMixture(len(truth.weights))
    other.weights_, other.means_ = truth.weights, truth.means
    other.covariances_ = truth.covariances
    other.precisions_cholesky_ = np.linalg.cholesky(np.linalg.inv(truth.covariances))
    return float(other.score_samples(_sample()).mean())


def _log_likelihood_here() -> float:
    truth = _truth()
    mixture = Mixture(truth.weights[None], truth.means[None], truth.covariances[None])
    density = densities(mixture, _prior(truth), features(_sample()))[0].sum(axis=0)
    return float(np.log(density).mean())


# Geodesics.
@cache
def _geodesic_gap(name: str) -> float:
    """Largest difference of a hole's length along its line from the geodesics [m]."""
    geod = Geod(ellps="WGS84")
    course = _course(name)
    worst = 0.0
    for hole in course.holes:
        corners = shapely.get_coordinates(hole.line_hole)
        lonlat = to_lonlat(course, hole, corners)
        worst = max(worst, abs(float(geod.line_length(*lonlat.T)) - hole.line_hole.length))
    return worst


def _geodesic(start_lonlat: Point, end_lonlat: Point, ellipsoid: str) -> float:
    return float(Geod(ellps=ellipsoid).inv(*start_lonlat, *end_lonlat)[2])


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    found = [
        Claim(
            f"{shot.name}: chance of {share.replace('_', ' ')}",
            "dense quadrature, ground by shapely",
            partial(_quadrature, number, share),
            partial(_ours, number, share),
            "",
            QUADRATURE_ERROR,
            QUADRATURE_REASON,
        )
        for number, shot in enumerate(SHOTS)
        for share in SHARES
    ]
    found += [
        Claim(
            f"{shot.name}: mass over its green",
            "dense quadrature, green by shapely",
            partial(_green_elsewhere, number),
            partial(_green_here, number),
            "",
            QUADRATURE_ERROR,
            QUADRATURE_REASON,
        )
        for number, shot in enumerate(SHOTS)
    ]
    found.append(
        Claim(
            "mixture of a middle iron: mean log-likelihood of shots",
            "scikit-learn GaussianMixture.score_samples",
            _log_likelihood_elsewhere, _log_likelihood_here, "", 1e-9, "rounding",
        )
    )  # fmt: skip
    found += [
        Claim(
            f"mixture fitted to {SHOTS_DRAWN} shots without a prior: {name}",
            "scikit-learn GaussianMixture.fit",
            partial(_fit_elsewhere, name), partial(_fit_here, name),
            "" if name.startswith("share") else "m",
            1e-3 if name.startswith("share") else 0.02,
            "both climb to the same maximum and stop short of it, far less than the standard "
            "error of 0.3 m",
        )
        for name in FIGURES
    ]  # fmt: skip
    found += [
        Claim(
            f"the geodesics compared with: {name}", source, metres,
            partial(_geodesic, start, end, ellipsoid), "m", within, "digits given",
        )
        for name, source, metres, within, start, end, ellipsoid in GEODESICS
    ]  # fmt: skip
    found += [
        Claim(
            f"lengths of the holes of {name}: largest difference",
            "pyproj.Geod, geodesics of Karney 2013",
            0.0, partial(_geodesic_gap, name), "m", 1e-3, "a hole is to be right to a millimetre",
        )
        for name in ("tarrowick.geojson", "mossquern.osm", "pebblecote.geojson")
    ]  # fmt: skip
    return tuple(found)


AREA = Area(
    "libraries",
    "The same by other libraries",
    "Chances over real ground by dense quadrature, mixtures by scikit-learn, lengths by geodesics.",
    claims,
)
