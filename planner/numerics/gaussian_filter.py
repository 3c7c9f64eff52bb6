"""Averages of gridded fields over bivariate normals, with contiguous memory access only.

A field holds *cell averages* on a square lattice. The average of the field under a normal
with covariance ``S`` is found in two passes (Cholesky in the order rows, columns)::

    e_row ~ N(0, S_rr),   e_col = (S_rc / S_rr) e_row + N(0, S_cc - S_rc^2 / S_rr)

that is a one-dimensional filter along the columns and a sheared one along the rows. Three
sources of added spread are taken off the covariance beforehand, so that the result is that of
the exact normal up to fourth order: the cell average (1/12 cell^2 on each axis), the linear
look-up of the shear (f (1 - f) for the taps actually used), and the look-up of the average at
a point by the quadratic B-spline (1/4 cell^2 on each axis, wherever the point lies).
Interpolating look-ups would add no spread but an error of third order that changes with the
place, which a search over actions then exploits.

Everything outside a field counts as zero. The kernels release the GIL.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

CELL_VARIANCE = 1.0 / 12.0
"""Variance of a uniform distribution over one cell [cell^2]."""
LOOK_UP_VARIANCE = 1.0 / 4.0
"""Variance that a quadratic B-spline look-up adds on each axis [cell^2]."""
MAX_TAPS = 1201
"""Longest tap vector; buffers given to the kernels have this length."""
_SMALLEST_SAMPLED_VARIANCE = 0.36


@njit(cache=True, nogil=True)
def normal_taps(variance: float, tail: float, taps: NDArray[np.float64]) -> int:
    """Write normalised weights of a normal at whole cells; return the half width.

    ``variance`` [cell^2]; the normal is cut ``tail`` standard deviations from its centre.

    Below 0.6 cells a sampled normal has the wrong variance, so three weights that match the
    variance are used instead.
    """
    if variance < 1e-9:
        taps[0] = 1.0
        return 0
    if variance < _SMALLEST_SAMPLED_VARIANCE:
        taps[0] = 0.5 * variance
        taps[1] = 1.0 - variance
        taps[2] = 0.5 * variance
        return 1
    half = int(math.ceil(tail * math.sqrt(variance)))
    half = min(half, (MAX_TAPS - 1) // 2)
    total = 0.0
    for k in range(2 * half + 1):
        weight = math.exp(-0.5 * (k - half) ** 2 / variance)
        taps[k] = weight
        total += weight
    for k in range(2 * half + 1):
        taps[k] /= total
    return half


@njit(cache=True, nogil=True, fastmath=True)
def _add_four(out, a, b, c, d, wa, wb, wc, wd):  # type: ignore[no-untyped-def]
    for j in range(out.shape[0]):
        out[j] += wa * a[j] + wb * b[j] + wc * c[j] + wd * d[j]


def scratch_size(rows: int, columns: int) -> int:
    """Length of the scratch buffer that :func:`normal_average` needs for a field."""
    return 2 * (3 * rows + 8) * (2 * columns + 8)


_TILE = 2048
"""Cells summed at a time, so that the running sum stays in the first-level cache."""


@njit(cache=True, nogil=True)
def normal_average(  # type: ignore[no-untyped-def]
    source,
    valid_start,
    valid_stop,
    out,
    row_start,
    row_stop,
    s_rr,
    s_cc,
    s_rc,
    known,
    tail,
    scratch,
    taps_row,
    taps_col,
):
    """Average ``source`` under a centred normal, for rows ``row_start`` to ``row_stop``.

    The average is meant to be read with :func:`add_look_up`.

    Rows are laid end to end with zeros between them, so that one tap is one long
    multiply-and-add over many rows.

    Parameters
    ----------
    source, out
        Fields of one shape ``(rows, columns)`` and one floating type; the rows used of ``out``
        are overwritten.
    valid_start, valid_stop
        Rows of ``source`` that hold values; all others count as zero.
    s_rr, s_cc, s_rc
        Covariance [cell^2].
    known
        Variance that other steps add on each axis [cell^2], to be taken off.
    tail
        Half width of the normal in standard deviations; the mass beyond is shared out.
    scratch
        Buffer of length ``scratch_size(rows, columns)``, of the type of ``source``.
    taps_row, taps_col
        Buffers of length ``MAX_TAPS``, float64.
    """
    rows, columns = source.shape
    kind = source.dtype.type
    row_start = max(row_start, 0)
    row_stop = min(row_stop, rows)
    if row_start >= row_stop:
        return
    v_rr = max(s_rr - known, 1e-6)
    taps_half_row = normal_taps(v_rr, tail, taps_row)
    half_row = min(taps_half_row, rows)
    # What is left of a narrow normal has less spread than its correlation asks for: the shear is
    # held to what the columns can bear, and where one row stands for all to two deviations.
    v_col = max(s_cc - known, 0.0)
    steepest = math.sqrt(v_col) * min(1.0 / math.sqrt(v_rr), 2.0)
    slope = min(max(s_rc / v_rr, -steepest), steepest)
    look_up = 0.0
    for m in range(-half_row, half_row + 1):
        shift = slope * m
        part = shift - math.floor(shift)
        look_up += taps_row[m + taps_half_row] * part * (1.0 - part)
    v_cc = max(v_col - slope * slope * v_rr - look_up, 0.0)
    taps_half_col = normal_taps(v_cc, tail, taps_col)
    half_col = min(taps_half_col, columns)
    reach = min(int(math.ceil(abs(slope) * half_row)) + 1, columns)
    pad = max(half_col, reach) + 4
    stride = columns + pad
    first = row_start - half_row
    count = row_stop + half_row - first
    length = (count + 1) * stride
    padded = scratch[:length]
    smooth = scratch[length : 2 * length]
    padded[:] = 0
    smooth[:] = 0
    inner_first = max(first, valid_start)
    inner_last = min(row_stop + half_row, valid_stop)
    if inner_first >= inner_last:
        for i in range(row_start, row_stop):
            out[i] = 0
        return
    for i in range(inner_first, inner_last):
        at = (i - first) * stride + pad
        padded[at : at + columns] = source[i]

    begin = (inner_first - first) * stride + pad
    end = (inner_last - 1 - first) * stride + pad + columns
    tile = begin
    while tile < end:
        size = min(_TILE, end - tile)
        line = smooth[tile : tile + size]
        k = -half_col
        while k <= half_col:
            w0 = kind(taps_col[taps_half_col + k])
            w1 = kind(taps_col[taps_half_col + k + 1]) if k + 1 <= half_col else kind(0.0)
            w2 = kind(taps_col[taps_half_col + k + 2]) if k + 2 <= half_col else kind(0.0)
            w3 = kind(taps_col[taps_half_col + k + 3]) if k + 3 <= half_col else kind(0.0)
            at = tile + k
            _add_four(
                line,
                padded[at : at + size],
                padded[at + 1 : at + 1 + size],
                padded[at + 2 : at + 2 + size],
                padded[at + 3 : at + 3 + size],
                w0,
                w1,
                w2,
                w3,
            )
            k += 4
        tile += size
    for i in range(inner_first, inner_last + 1):
        at = (i - first) * stride
        smooth[at : at + pad] = 0

    total = (row_stop - row_start - 1) * stride + columns
    begin = half_row * stride + pad
    sums = padded
    tile = 0
    while tile < total:
        size = min(_TILE, total - tile)
        line = sums[tile : tile + size]
        line[:] = 0
        m = -half_row
        while m <= half_row:
            shift = slope * m
            whole = int(math.floor(shift))
            part = shift - whole
            whole = min(max(whole, -reach), reach - 1)
            at = begin + tile + m * stride + whole
            weight = taps_row[m + taps_half_row]
            low0 = kind(weight * (1.0 - part))
            high0 = kind(weight * part)
            at1 = at
            low1 = kind(0.0)
            high1 = kind(0.0)
            if m + 1 <= half_row:
                shift = slope * (m + 1)
                whole = int(math.floor(shift))
                part = shift - whole
                whole = min(max(whole, -reach), reach - 1)
                at1 = begin + tile + (m + 1) * stride + whole
                weight = taps_row[m + 1 + taps_half_row]
                low1 = kind(weight * (1.0 - part))
                high1 = kind(weight * part)
            _add_four(
                line,
                smooth[at : at + size],
                smooth[at + 1 : at + 1 + size],
                smooth[at1 : at1 + size],
                smooth[at1 + 1 : at1 + 1 + size],
                low0,
                high0,
                low1,
                high1,
            )
            m += 2
        tile += size
    for i in range(row_start, row_stop):
        at = (i - row_start) * stride
        out[i] = sums[at : at + columns]


@njit(cache=True, nogil=True, fastmath=True)
def add_look_up(  # type: ignore[no-untyped-def]
    field, out, window, row_at, col_at, stride, weight, line
):
    """Add ``weight * field(position)`` to a window of ``out`` by the quadratic B-spline.

    Output cell ``(i, j)`` reads ``field`` at row ``row_at[i]`` and column
    ``col_at[i] + stride * j`` (in cells of ``field``, cell centres at whole numbers).

    Parameters
    ----------
    window
        First row, last row + 1, first column, last column + 1 of ``out``.
    stride
        A whole number, or one over a whole number.
    line
        Buffer of at least ``field`` columns + 4, of the type of ``field``.
    """
    rows, columns = field.shape
    kind = field.dtype.type
    row0, row1, col0, col1 = window[0], window[1], window[2], window[3]
    for i in range(row0, row1):
        centre = int(math.floor(row_at[i] + 0.5))
        if centre < -1 or centre > rows:
            continue
        part = row_at[i] - centre
        low = int(math.floor(col_at[i] + stride * col0 + 0.5)) - 1
        high = int(math.floor(col_at[i] + stride * (col1 - 1) + 0.5)) + 2
        for k in range(min(max(low, -2), columns + 2) + 2, max(min(high, columns + 2), -2) + 2):
            line[k] = 0
        low = max(low, 0)
        high = min(high, columns)
        if low >= high:
            continue
        target = line[low + 2 : high + 2]
        for m in range(-1, 2):
            r = centre + m
            if r < 0 or r >= rows:
                continue
            if m == 0:
                w = kind(weight * (0.75 - part * part))
            else:
                w = kind(weight * 0.5 * (0.5 + m * part) ** 2)
            source = field[r, low:high]
            for j in range(target.shape[0]):
                target[j] += w * source[j]
        if stride == 1.0:
            first = int(math.floor(col_at[i] + 0.5))
            f = col_at[i] - first
            wl = kind(0.5 * (0.5 - f) ** 2)
            wc = kind(0.75 - f * f)
            wr = kind(0.5 * (0.5 + f) ** 2)
            base = first + 2
            start = max(col0, 1 - base)
            stop = min(col1, columns + 3 - base)
            if start < stop:
                into = out[i, start:stop]
                left = line[start + base - 1 : stop + base - 1]
                middle = line[start + base : stop + base]
                right = line[start + base + 1 : stop + base + 1]
                for j in range(into.shape[0]):
                    into[j] += wl * left[j] + wc * middle[j] + wr * right[j]
        else:
            # Every ``steps``-th cell has the same weights, ``hop`` cells of the field farther on.
            steps = max(int(1.0 / stride + 0.5), 1)
            hop = max(int(stride + 0.5), 1)
            for phase in range(steps):
                x = col_at[i] + stride * (col0 + phase)
                c = int(math.floor(x + 0.5))
                f = x - c
                wl = kind(0.5 * (0.5 - f) ** 2)
                wc = kind(0.75 - f * f)
                wr = kind(0.5 * (0.5 + f) ** 2)
                skipped = max((hop - 2 - c) // hop, 0)
                beyond = max((columns + hop - c) // hop, 0)
                count = min((col1 - col0 - phase + steps - 1) // steps, beyond) - skipped
                if count <= 0:
                    continue
                k = c + 2 + hop * skipped
                last = k + hop * (count - 1) + 1
                into = out[i, col0 + phase + steps * skipped : col1 : steps]
                left = line[k - 1 : last - 1 : hop]
                middle = line[k:last:hop]
                right = line[k + 1 : last + 1 : hop]
                for j in range(count):
                    into[j] += wl * left[j] + wc * middle[j] + wr * right[j]


@njit(cache=True, nogil=True, fastmath=True)
def _nine_taps(  # type: ignore[no-untyped-def]
    above, here, below, wa, wb, wc, wd, we, wf, wg, wh, wi, shifted
):
    # One array is written and no more, or the compiler does not trust it to be disjoint.
    for j in range(shifted.shape[0]):
        shifted[j] = (
            (wa * above[j] + wb * above[j + 1] + wc * above[j + 2])
            + (wd * here[j] + we * here[j + 1] + wf * here[j + 2])
            + (wg * below[j] + wh * below[j + 1] + wi * below[j + 2])
        )


@njit(cache=True, nogil=True, fastmath=True)
def _add_product(total, a, b):  # type: ignore[no-untyped-def]
    for j in range(total.shape[0]):
        total[j] += a[j] * b[j]


@njit(cache=True, nogil=True)
def add_shifted(  # type: ignore[no-untyped-def]
    source, share, shifted, total, start, stop, stride, d_row, d_col
):
    """Write ``source`` shifted by ``(d_row, d_col)`` cells, and add ``share`` times it to total.

    By the three-point quadratic, which reproduces parabolas and so adds no spread. Only
    ``shifted[start:stop]`` and ``total[start:stop]`` are touched.

    All are fields laid end to end with ``stride`` values a row and enough zeros between and
    around the rows that a shift never reaches the next row.
    """
    kind = source.dtype.type
    row = int(math.floor(d_row + 0.5))
    col = int(math.floor(d_col + 0.5))
    p = d_row - row
    f = d_col - col
    ra, rb, rc = 0.5 * p * (p - 1.0), 1.0 - p * p, 0.5 * p * (p + 1.0)
    ca, cb, cc = 0.5 * f * (f - 1.0), 1.0 - f * f, 0.5 * f * (f + 1.0)
    size = stop - start
    at = start + row * stride + col - 1
    _nine_taps(
        source[at - stride : at - stride + size + 2],
        source[at : at + size + 2],
        source[at + stride : at + stride + size + 2],
        kind(ra * ca),
        kind(ra * cb),
        kind(ra * cc),
        kind(rb * ca),
        kind(rb * cb),
        kind(rb * cc),
        kind(rc * ca),
        kind(rc * cb),
        kind(rc * cc),
        shifted[start:stop],
    )
    _add_product(total[start:stop], share[start:stop], shifted[start:stop])


@njit(cache=True, nogil=True, fastmath=True)
def halve(source, out, row_start, row_stop):  # type: ignore[no-untyped-def]
    """Average 2 x 2 cells of ``source`` into rows of ``out`` (half the shape)."""
    kind = source.dtype.type
    quarter = kind(0.25)
    for i in range(max(row_start, 0), min(row_stop, out.shape[0])):
        a = source[2 * i]
        b = source[2 * i + 1]
        target = out[i]
        for j in range(out.shape[1]):
            target[j] = quarter * (a[2 * j] + a[2 * j + 1] + b[2 * j] + b[2 * j + 1])
