"""Exact polygon mass against closed forms, published values and other ways to compute it."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad
from scipy.special import ndtr, owens_t
from scipy.stats import multivariate_normal, ncx2
from shapely import affinity

from planner.numerics.polygon_probability import mixture_probability, polygon_probability

UNIT = np.eye(2)
FAR = 1.0e4
STAR = shapely.Polygon(
    [(12, 0), (4, 3), (3, 11), (-2, 4), (-10, 6), (-5, -1), (-8, -9), (1, -4), (9, -8), (5, -2)],
    [[(1, 0), (0, 2), (-2, 1), (-1, -1)]],
)


def covariance(sd_x: float, sd_y: float, correlation: float) -> np.ndarray:
    cross = correlation * sd_x * sd_y
    return np.array([[sd_x**2, cross], [cross, sd_y**2]])


def areas(shape: shapely.Geometry) -> shapely.MultiPolygon:
    """Areas of what two polygons have in common, which may hold points and lines as well."""
    found = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return shapely.MultiPolygon(found)


def regular(sides: int, radius: float) -> shapely.Polygon:
    turn = 2 * np.pi * np.arange(sides) / sides
    return shapely.Polygon(radius * np.column_stack((np.cos(turn), np.sin(turn))))


@pytest.mark.parametrize(
    ("h", "a", "value"),
    [
        (0.0625, 0.25, 3.89119302347013669e-2),
        (6.5, 0.4375, 2.00057730485083154e-11),
        (7.0, 0.96875, 6.39906271938986853e-13),
        (4.78125, 0.0625, 1.06329748046874638e-7),
        (2.0, 0.5, 8.62507798552150713e-3),
        (1.0, 1.0, 0.06674188216570097),
    ],
)
def test_library_gives_the_published_values_of_owens_t(h: float, a: float, value: float) -> None:
    # Patefield & Tandy 2000, table of test values.
    assert owens_t(h, a) == pytest.approx(value, rel=1e-13)


@pytest.mark.parametrize("h", [0.25, 1.0, 2.5])
@pytest.mark.parametrize("a", [0.3, 1.0, 4.0])
def test_wedge_is_owens_t(h: float, a: float) -> None:
    # Owen 1956: T(h, a) is the mass of x > h, 0 < y < a x.
    wedge = shapely.Polygon([(h, 0), (FAR, 0), (FAR, a * FAR), (h, a * h)])
    assert polygon_probability(wedge, (0, 0), UNIT) == pytest.approx(owens_t(h, a), abs=1e-14)


def test_square() -> None:
    square = shapely.box(-1, -1, 1, 1)
    mass = polygon_probability(square, (0, 0), UNIT)
    assert mass == pytest.approx((2 * ndtr(1.0) - 1) ** 2, abs=1e-15)
    assert mass == pytest.approx(0.4660649, abs=5e-8)


def test_quadrant_with_correlation_one_half_is_a_third() -> None:
    # Sheppard: 1/4 + asin(rho) / (2 pi).
    quadrant = shapely.box(0, 0, FAR, FAR)
    assert polygon_probability(quadrant, (0, 0), covariance(1, 1, 0.5)) == pytest.approx(
        1 / 3, abs=1e-14
    )
    for rho in (-0.99, -0.3, 0.0, 0.8, 0.999):
        mass = polygon_probability(quadrant, (0, 0), covariance(2, 0.5, rho))
        assert mass == pytest.approx(0.25 + math.asin(rho) / (2 * math.pi), abs=1e-13)


def test_half_plane() -> None:
    half = shapely.box(1, -FAR, FAR, FAR)
    assert polygon_probability(half, (0, 0), UNIT) == pytest.approx(ndtr(-1.0), abs=1e-14)
    assert polygon_probability(half, (0, 0), UNIT) == pytest.approx(0.1586553, abs=5e-8)


@pytest.mark.parametrize(("k", "percent"), [(1, 39.3469), (2, 86.4665), (3, 98.8891)])
def test_k_sigma_ellipse(k: int, percent: float) -> None:
    # 1 - exp(-k^2/2), chi-square with 2 degrees of freedom (NIST/SEMATECH 1.3.6.7.4). The
    # inscribed polygon of n sides misses at most about r^2 (pi/n)^2 / 3 of it.
    spread = covariance(7, 3, -0.4)
    root = np.linalg.cholesky(spread)
    ellipse = shapely.transform(regular(2000, k), lambda xy: xy @ root.T)
    mass = polygon_probability(ellipse, (0, 0), spread)
    assert mass == pytest.approx(1 - math.exp(-(k**2) / 2), abs=3e-6)
    assert 100 * mass == pytest.approx(percent, abs=5e-4)


@pytest.mark.parametrize("sides", [3, 4, 7, 60])
def test_regular_polygon_is_a_sum_of_triangles(sides: int) -> None:
    # By symmetry 2 n (1/(2n) - T(d, tan(pi/n))) for a centred n-gon at distance d from its edges.
    radius = 1.7
    d = radius * math.cos(math.pi / sides)
    closed = 1 - 2 * sides * owens_t(d, math.tan(math.pi / sides))
    mass = polygon_probability(regular(sides, radius), (0, 0), UNIT)
    assert mass == pytest.approx(closed, abs=1e-13)


@pytest.mark.parametrize(("d", "value"), [(0.0, 0.39347), (1.0, 0.26712), (2.0, 0.08189)])
def test_offset_circle(d: float, value: float) -> None:
    # Noncentral chi-square with 2 degrees of freedom.
    circle = regular(4000, 1.0)
    mass = polygon_probability(circle, (d, 0), UNIT)
    exact = ncx2.cdf(1.0, 2, d * d) if d else 1 - math.exp(-0.5)
    assert mass == pytest.approx(exact, abs=1e-6)
    assert mass == pytest.approx(value, abs=6e-6)


def test_rectangles_against_the_library_distribution() -> None:
    rng = np.random.default_rng(4)
    for _ in range(20):
        spread = covariance(*rng.uniform(0.3, 4, 2), rng.uniform(-0.95, 0.95))
        mean, low = rng.normal(0, 2, 2), rng.normal(0, 2, 2)
        high = low + rng.uniform(0.2, 6, 2)
        other = multivariate_normal(mean, spread, abseps=1e-12, releps=1e-12).cdf(
            high, lower_limit=low
        )
        mass = polygon_probability(shapely.box(*low, *high), mean, spread)
        assert mass == pytest.approx(other, abs=1e-9)


def test_triangle_against_quadrature() -> None:
    spread, mean = covariance(1.5, 0.8, 0.6), np.array([0.4, -0.3])
    density = multivariate_normal(mean, spread).pdf
    triangle = shapely.Polygon([(-1, -1), (2, -1), (2, 2)])
    value, _ = dblquad(lambda y, x: density((x, y)), -1, 2, -1, lambda x: x, epsabs=1e-11)
    assert polygon_probability(triangle, mean, spread) == pytest.approx(value, abs=1e-9)


def test_hole_and_parts_add_up() -> None:
    mean, spread = np.array([[0.5, 0.2], [30, 2], [-4, 9]]), covariance(6, 4, 0.3)
    solid = shapely.Polygon(STAR.exterior)
    hole = shapely.Polygon(STAR.interiors[0])
    islands = shapely.MultiPolygon([STAR, affinity.translate(STAR, 40)])
    of_solid, of_hole, with_hole, of_islands = (
        polygon_probability(shape, mean, spread) for shape in (solid, hole, STAR, islands)
    )
    np.testing.assert_allclose(of_solid - of_hole, with_hole, atol=1e-14)
    second = polygon_probability(STAR, mean - np.array([40, 0]), spread)
    np.testing.assert_allclose(of_islands, with_hole + second, atol=1e-14)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.floats(-12, 12), st.floats(-12, 12), st.floats(0.05, 30), st.floats(0.05, 30),
    st.floats(-0.999, 0.999), st.floats(-8, 8), st.floats(0, math.pi),
)  # fmt: skip
def test_mass_is_a_measure(
    x: float, y: float, sx: float, sy: float, rho: float, cut: float, turn: float
) -> None:
    mean, spread = np.array([x, y]), covariance(sx, sy, rho)
    whole = polygon_probability(STAR, mean, spread)
    assert 0 <= whole <= 1
    # Splitting adds up.
    left, right = shapely.box(-20, -20, cut, 20), shapely.box(cut, -20, 20, 20)
    parts = [areas(shapely.intersection(STAR, side)) for side in (left, right)]
    split = sum(polygon_probability(part, mean, spread) for part in parts)
    assert split == pytest.approx(whole, abs=2e-13)
    # What is left of a box is the rest of its mass.
    rest = shapely.difference(shapely.box(-20, -20, 20, 20), STAR)
    box = polygon_probability(shapely.box(-20, -20, 20, 20), mean, spread)
    assert polygon_probability(rest, mean, spread) == pytest.approx(box - whole, abs=1e-12)
    # Moving and turning everything changes nothing.
    rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    shift = np.array([123.0, -456.0])
    moved = shapely.transform(STAR, lambda xy: xy @ rotation.T + shift)
    turned = polygon_probability(moved, rotation @ mean + shift, rotation @ spread @ rotation.T)
    assert turned == pytest.approx(whole, abs=1e-10)


def test_winding_does_not_matter() -> None:
    turned = shapely.Polygon(STAR.exterior.coords[::-1], [STAR.interiors[0].coords[::-1]])
    spread = covariance(5, 3, 0.2)
    assert polygon_probability(turned, (2, 1), spread) == polygon_probability(STAR, (2, 1), spread)


def test_means_on_edges_and_vertices() -> None:
    square = shapely.box(0, 0, 1, 1)
    for sd in (10.0, 1.0, 1e-2, 1e-5, 1e-8):
        spread = sd**2 * UNIT
        side = ndtr(1 / sd) - 0.5
        on_edge = polygon_probability(square, (0, 0.5), spread)
        assert on_edge == pytest.approx(side * (2 * ndtr(0.5 / sd) - 1), abs=1e-14)
        on_vertex = polygon_probability(square, (0, 0), spread)
        assert on_vertex == pytest.approx(side**2, abs=1e-14)


def test_means_within_rounding_of_an_edge() -> None:
    # The signs of distance and angle must agree there, or the result is off by a half.
    rng = np.random.default_rng(11)
    start, end = np.array([1 / 3, 0.1]), np.array([2.7, 1.9])
    triangle = shapely.Polygon([start, end, (0, 3)])
    outside = shapely.difference(shapely.box(-999, -999, 999, 999), triangle)
    share = rng.uniform(-0.2, 1.2, (400, 1))
    means = start + share * (end - start) + rng.normal(0, 1e-15, (400, 2))
    for sd in (1.0, 1e-2, 1e-5, 1e-8):
        total = polygon_probability(triangle, means, sd**2 * UNIT) + polygon_probability(
            outside, means, sd**2 * UNIT
        )
        np.testing.assert_allclose(total, 1.0, atol=2e-15)


@pytest.mark.parametrize("gap", [1e-4, 1e-8, 1e-12])
def test_nearly_singular(gap: float) -> None:
    # With correlation near 1 the square holds what the line holds.
    mass = polygon_probability(shapely.box(-1, -1, 1, 1), (0, 0), covariance(1, 1, 1 - gap))
    assert mass == pytest.approx(2 * ndtr(1.0) - 1, abs=2 * math.sqrt(gap))


def test_singular_is_mass_on_a_line_or_at_a_point() -> None:
    square = shapely.box(-1, -1, 1, 1)
    on_line = polygon_probability(square, (0, 0), np.ones((2, 2)))
    assert on_line == pytest.approx(2 * ndtr(1.0) - 1, abs=1e-6)
    points = np.array([[0.2, -0.3], [1.5, 0], [1, 0.3], [1, 1]])
    mass = polygon_probability(square, points, np.zeros((2, 2)))
    np.testing.assert_allclose(mass, [1, 0, 0.5, 0.25], atol=1e-9)


def test_far_away() -> None:
    spread = covariance(3, 2, 0.1)
    mass = polygon_probability(STAR, [[200, 0], [1e5, -1e6], [1e12, 0]], spread)
    assert (mass >= 0).all()
    assert (mass < 1e-14).all()


def test_map_sized_coordinates() -> None:
    offset = np.array([512_345.0, 5_812_345.0])
    moved = affinity.translate(STAR, *offset)
    mass = polygon_probability(moved, offset + np.array([1.5, 2.0]), covariance(4, 2, 0.5))
    near = polygon_probability(STAR, (1.5, 2.0), covariance(4, 2, 0.5))
    assert mass == pytest.approx(near, abs=1e-9)


def test_broadcasting_and_blocks_give_the_single_values() -> None:
    rng = np.random.default_rng(2)
    fine = shapely.Point(3, 1).buffer(8, quad_segs=100)
    means = rng.normal(0, 10, (70, 9, 2))
    spread = covariance(5, 2, -0.6)
    mass = polygon_probability(fine, means, spread)
    assert mass.shape == (70, 9)
    assert mass[41, 7] == pytest.approx(polygon_probability(fine, means[41, 7], spread), abs=1e-15)
    pairs = polygon_probability(STAR, means[:4, :1], np.stack([spread, 4 * spread]))
    assert pairs.shape == (4, 2)
    assert pairs[3, 1] == polygon_probability(STAR, means[3, 0], 4 * spread)


def test_empty() -> None:
    for nothing in (shapely.Polygon(), shapely.MultiPolygon(), shapely.GeometryCollection()):
        assert polygon_probability(nothing, (0, 0), UNIT) == 0
    assert polygon_probability(shapely.MultiPolygon(), np.zeros((3, 2)), UNIT).shape == (3,)
    assert polygon_probability(STAR, np.zeros((0, 2)), UNIT).shape == (0,)


def test_mixture_is_the_weighted_sum() -> None:
    weights = np.array([0.8, 0.15, 0.05])
    means = np.array([[0.0, 0], [-8, 1], [3, 12]])
    spreads = np.stack([covariance(3, 2, 0.1), covariance(6, 5, 0), covariance(4, 9, -0.5)])
    parts = polygon_probability(STAR, means, spreads)
    assert mixture_probability(STAR, weights, means, spreads) == pytest.approx(weights @ parts)
    many = mixture_probability(STAR, weights, means + np.zeros((5, 1, 1)), spreads)
    np.testing.assert_allclose(many, weights @ parts, atol=1e-15)


@pytest.mark.parametrize(
    ("mean", "spread", "words"),
    [
        ([0, 0, 0], UNIT, "mean must have shape"),
        ([0, 0], [1, 2], "covariance must have shape"),
        (np.zeros((3, 2)), np.stack([UNIT] * 2), "broadcast"),
        ([np.nan, 0], UNIT, "finite"),
        ([0, 0], [[1, 0.5], [0.1, 1]], "symmetric"),
        ([0, 0], [[1, 2], [2, 1]], "eigenvalues"),
    ],
)
def test_unusable_arguments(mean: object, spread: object, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        polygon_probability(STAR, mean, spread)


def test_unusable_geometry_and_weights() -> None:
    with pytest.raises(TypeError, match="Polygon"):
        polygon_probability(shapely.Point(0, 0), (0, 0), UNIT)
    with pytest.raises(ValueError, match="do not fit"):
        mixture_probability(STAR, [0.5, 0.5], np.zeros((3, 2)), UNIT)
    with pytest.raises(ValueError, match="not negative"):
        mixture_probability(STAR, [1.5, -0.5], np.zeros((2, 2)), UNIT)
