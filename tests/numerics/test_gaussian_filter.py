"""Averages of fields over normals against closed forms: a normal over a normal is a normal."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr

from planner.numerics.gaussian_filter import (
    CELL_VARIANCE,
    LOOK_UP_VARIANCE,
    MAX_TAPS,
    add_look_up,
    add_shifted,
    halve,
    normal_average,
    normal_taps,
    scratch_size,
)

ROWS, COLUMNS = 72, 88
CENTRE = (35.3, 43.6)
KNOWN = CELL_VARIANCE + LOOK_UP_VARIANCE


def bump(covariance, *, centre=CENTRE, height=1.0):
    """Density-shaped hill ``height * exp(-q / 2)`` and its value at points, shape ``(n, 2)``."""
    inverse = np.linalg.inv(covariance)

    def at(points):
        away = np.asarray(points, dtype=float) - centre
        return height * np.exp(-0.5 * np.einsum("...i,ij,...j->...", away, inverse, away))

    return at


def averaged(covariance, by):
    """The hill averaged over a normal: wider by its covariance, and lower."""
    wide = np.asarray(covariance) + np.asarray(by)
    height = math.sqrt(np.linalg.det(covariance) / np.linalg.det(wide))
    return bump(wide, height=height)


def cell_averages(function):
    """Averages of a smooth function over unit cells, by 4 x 4 Gauss points."""
    node, weight = np.polynomial.legendre.leggauss(4)
    field = np.zeros((ROWS, COLUMNS))
    i, j = np.meshgrid(np.arange(ROWS), np.arange(COLUMNS), indexing="ij")
    for x, wx in zip(node / 2, weight / 2, strict=True):
        for y, wy in zip(node / 2, weight / 2, strict=True):
            field += wx * wy * function(np.stack((i + x, j + y), axis=-1))
    return field


def average(field, by, *, known=KNOWN, tail=6.0, rows=None):
    out = np.full(field.shape, np.nan, dtype=field.dtype)
    first, last = rows or (0, field.shape[0])
    normal_average(
        field, 0, field.shape[0], out, first, last, by[0][0], by[1][1], by[0][1], known, tail,
        np.zeros(scratch_size(*field.shape), field.dtype), np.zeros(MAX_TAPS), np.zeros(MAX_TAPS),
    )  # fmt: skip
    return out


def looked_up(field, offset, *, stride=1.0, window=(0, ROWS, 0, COLUMNS), weight=1.0):
    out = np.zeros((ROWS, COLUMNS), field.dtype)
    add_look_up(
        field, out, np.array(window, np.int32), stride * np.arange(ROWS) + offset[0],
        np.full(ROWS, offset[1]), stride, weight, np.zeros(field.shape[1] + 8, field.dtype),
    )  # fmt: skip
    return out


def grid_points(offset, stride=1.0):
    i, j = np.meshgrid(np.arange(ROWS), np.arange(COLUMNS), indexing="ij")
    return np.stack((stride * i + offset[0], stride * j + offset[1]), axis=-1)


HILL = np.array([[30.0, 8.0], [8.0, 22.0]])
SPREADS = [
    ([[9.0, 0.0], [0.0, 9.0]], 1e-4),
    ([[16.0, 9.0], [9.0, 12.0]], 1e-4),
    ([[5.0, -3.0], [-3.0, 14.0]], 1e-4),
    ([[2.0, 0.6], [0.6, 1.5]], 5e-4),
    ([[1.0, 0.0], [0.0, 1.0]], 5e-4),
]


@pytest.mark.parametrize("offset", [(0.0, 0.0), (0.5, -0.5), (0.21, 0.37), (-7.3, 4.9)])
@pytest.mark.parametrize(("by", "error"), SPREADS)
def test_a_normal_over_a_normal(by, error, offset):
    field = cell_averages(bump(HILL))
    found = looked_up(average(field, by), offset)
    inside = (slice(20, 52), slice(20, 68))
    expected = averaged(HILL, by)(grid_points(offset))
    np.testing.assert_allclose(found[inside], expected[inside], atol=error)


@settings(max_examples=30)
@given(
    st.floats(1.5, 25.0),
    st.floats(1.5, 25.0),
    st.floats(-0.8, 0.8),
    st.floats(-1, 1),
    st.floats(-1, 1),
)
def test_every_step_takes_its_own_spread_off(s_rr, s_cc, correlation, d_row, d_col):
    # Moments of the weights of one place: mass one, mean the offset, covariance as asked for,
    # once a cell's own variance is added. Read from the averages of three parabolas.
    s_rc = correlation * math.sqrt(s_rr * s_cc)
    by = [[s_rr, s_rc], [s_rc, s_cc]]
    i, j = np.meshgrid(np.arange(ROWS) - 36.0, np.arange(COLUMNS) - 44.0, indexing="ij")
    at = (36, 44)
    # Shear wants room; outside counts as zero, so the tail is kept short.
    moments = [
        looked_up(average(field, by, tail=3.5), (d_row, d_col))[at]
        for field in (np.ones_like(i), i, j, i * i + CELL_VARIANCE, j * j + CELL_VARIANCE, i * j)
    ]
    one, row, col, rr, cc, rc = moments
    assert one == pytest.approx(1.0, abs=1e-12)
    assert row == pytest.approx(d_row, abs=1e-9)
    assert col == pytest.approx(d_col, abs=1e-9)
    # A normal cut at 3.5 deviations has lost 0.8 % of its variance, and narrow taps are sampled.
    assert rr - row**2 == pytest.approx(s_rr, rel=0.012)
    assert cc - col**2 == pytest.approx(s_cc, rel=0.025)
    assert rc - row * col == pytest.approx(s_rc, rel=0.012, abs=0.012 * math.sqrt(s_rr * s_cc))


@settings(max_examples=40)
@given(
    st.floats(0.3, 1.5),
    st.floats(0.3, 1.5),
    st.floats(-1.0, 1.0),
    st.floats(-0.5, 0.5),
    st.floats(-0.5, 0.5),
)
def test_a_narrow_slanting_normal_stays_near_its_place(s_rr, s_cc, correlation, d_row, d_col):
    # Once the spread of other steps is off, less is left than the correlation asks for. No mass
    # may then be carried far along the shear: all of it is within a few deviations.
    by = [[s_rr, correlation * math.sqrt(s_rr * s_cc)], [0.0, s_cc]]
    known = KNOWN + LOOK_UP_VARIANCE
    near = np.zeros((ROWS, COLUMNS))
    near[36 - 7 : 36 + 8, 44 - 9 : 44 + 10] = 1.0
    found = looked_up(average(near, by, known=known, tail=3.9), (d_row, d_col))[36, 44]
    assert found == pytest.approx(1.0, abs=2e-4)


@pytest.mark.parametrize("variance", [0.0, 0.05, 0.3, 0.36, 0.5, 1.0, 7.0, 150.0])
def test_taps_have_mass_one_and_their_variance(variance):
    taps = np.zeros(MAX_TAPS)
    half = normal_taps(variance, 7.0, taps)
    offset = np.arange(-half, half + 1)
    weights = taps[: 2 * half + 1]
    assert weights.sum() == pytest.approx(1.0, abs=1e-14)
    assert weights @ offset == pytest.approx(0.0, abs=1e-12)
    assert weights @ offset**2 == pytest.approx(variance, rel=0.025, abs=1e-8)


def test_outside_counts_as_zero():
    # So many cells inside the edge of a field of ones, the rest of a normal lies outside.
    by = [[16.0, 0.0], [0.0, 16.0]]
    found = looked_up(average(np.ones((ROWS, COLUMNS)), by), (0.0, 0.0))
    for row in (1, 2, 4, 9):
        inside = ndtr((row + 0.5) / 4.0)
        np.testing.assert_allclose(found[row, 30:50], inside, atol=2e-3)
    far = looked_up(average(np.ones((ROWS, COLUMNS)), by), (-60.0, 0.0))
    assert np.abs(far[:30]).max() == 0.0
    beyond = looked_up(average(np.ones((ROWS, COLUMNS)), by), (0.0, COLUMNS + 30.0))
    assert np.abs(beyond).max() == 0.0


def test_mass_is_kept():
    field = np.zeros((ROWS, COLUMNS))
    field[33:38, 40:47] = np.arange(35.0).reshape(5, 7)
    found = average(field, [[12.0, 5.0], [5.0, 9.0]], tail=4.0)
    assert found.sum() == pytest.approx(field.sum(), rel=1e-12)
    assert looked_up(found, (0.3, -0.4)).sum() == pytest.approx(field.sum(), rel=1e-12)


def test_only_the_rows_asked_for_are_written():
    field = cell_averages(bump(HILL))
    by = [[9.0, 3.0], [3.0, 7.0]]
    whole, part = average(field, by), average(field, by, rows=(25, 40))
    np.testing.assert_array_equal(np.isnan(part).all(axis=1), (np.arange(ROWS) < 25)
                                  | (np.arange(ROWS) >= 40))  # fmt: skip
    np.testing.assert_allclose(part[25:40], whole[25:40], atol=1e-15)


def test_a_window_and_a_weight_of_a_look_up():
    field = cell_averages(bump(HILL))
    window = (10, 60, 15, 70)
    found = looked_up(field, (0.2, 0.3), window=window, weight=0.25)
    whole = looked_up(field, (0.2, 0.3))
    inside = np.zeros((ROWS, COLUMNS), bool)
    inside[10:60, 15:70] = True
    np.testing.assert_allclose(found[inside], 0.25 * whole[inside], atol=1e-15)
    assert (found[~inside] == 0).all()


@pytest.mark.parametrize("stride", [2.0, 0.5])
def test_look_ups_at_other_spacings(stride):
    # A field that is linear is read back exactly.
    i, j = np.meshgrid(np.arange(ROWS), np.arange(COLUMNS), indexing="ij")
    field = 1.0 + 0.25 * i - 0.125 * j
    found = looked_up(field, (3.3, 2.6), stride=stride)
    points = grid_points((3.3, 2.6), stride)
    inside = (
        (points > 1).all(axis=-1) & (points[..., 0] < ROWS - 2) & (points[..., 1] < COLUMNS - 2)
    )
    expected = 1.0 + 0.25 * points[..., 0] - 0.125 * points[..., 1]
    np.testing.assert_allclose(found[inside], expected[inside], atol=1e-12)


def test_halving_keeps_the_mean():
    field = cell_averages(bump(HILL))
    out = np.zeros((ROWS // 2, COLUMNS // 2))
    halve(field, out, 3, 30)
    expected = field.reshape(ROWS // 2, 2, COLUMNS // 2, 2).mean(axis=(1, 3))
    np.testing.assert_allclose(out[3:30], expected[3:30], atol=1e-15)
    assert (out[:3] == 0).all()
    assert (out[30:] == 0).all()


@pytest.mark.parametrize("shift", [(0.0, 0.0), (2.0, -3.0), (1.3, 0.6), (-4.8, 2.2)])
def test_a_shift_adds_no_spread(shift):
    # Three-point parabolas read a quadratic field back exactly.
    i, j = np.meshgrid(np.arange(ROWS), np.arange(COLUMNS), indexing="ij")

    def quadratic(r, c):
        return 2.0 + 0.1 * r - 0.2 * c + 0.01 * r * r - 0.02 * r * c + 0.005 * c * c

    stride = COLUMNS + 12
    flat = np.zeros(12 * stride + (ROWS + 12) * stride + 12)
    front = 10 * stride
    flat[front : front + ROWS * stride].reshape(ROWS, stride)[:, :COLUMNS] = quadratic(i, j)
    out, total = np.zeros_like(flat), np.ones_like(flat)
    share = np.full_like(flat, 0.25)
    add_shifted(flat, share, out, total, front, front + ROWS * stride, stride, *shift)
    found = out[front : front + ROWS * stride].reshape(ROWS, stride)[:, :COLUMNS]
    inside = (slice(8, ROWS - 8), slice(8, COLUMNS - 8))
    expected = quadratic(i + shift[0], j + shift[1])
    np.testing.assert_allclose(found[inside], expected[inside], atol=1e-9)
    body = slice(front, front + ROWS * stride)
    np.testing.assert_allclose(total[body], 1.0 + 0.25 * out[body], atol=1e-12)


def test_single_precision_is_close_to_double():
    field = cell_averages(bump(HILL))
    by = [[9.0, 3.0], [3.0, 7.0]]
    single = looked_up(average(field.astype(np.float32), by), (0.3, 0.1))
    assert single.dtype == np.float32
    np.testing.assert_allclose(single, looked_up(average(field, by), (0.3, 0.1)), atol=1e-6)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from((0.25, 0.5, 1.0, 2.0, 4.0)),
    st.floats(-10.0, 14.0),
    st.floats(-10.0, 14.0),
    st.integers(0, 2**32 - 1),
)
def test_a_look_up_is_the_sum_over_nine_cells_whatever_the_stride(stride, row, column, seed):
    rng = np.random.default_rng(seed)
    field = rng.normal(size=(11, 9))
    out = np.zeros((14, 17))
    window = (2, 13, 1, 16)
    line = np.full(field.shape[1] + 8, 1e9)
    rows_at = row + stride * np.arange(14)
    columns_at = np.full(14, column)
    add_look_up(field, out, np.array(window, np.int32), rows_at, columns_at, stride, 0.7, line)
    expected = np.zeros_like(out)
    for i in range(window[0], window[1]):
        for j in range(window[2], window[3]):
            along, across = rows_at[i], column + stride * j
            for r in range(11):
                for c in range(9):
                    expected[i, j] += 0.7 * _spline(along - r) * _spline(across - c) * field[r, c]
    np.testing.assert_allclose(out, expected, atol=1e-12)


def _spline(x):
    """Quadratic B-spline."""
    x = abs(x)
    return 0.75 - x * x if x <= 0.5 else 0.5 * (1.5 - x) ** 2 if x <= 1.5 else 0.0
