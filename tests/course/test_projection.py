"""Distances on the projected plane against geodesics of the ellipsoid."""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import Geod

from planner.course.projection import centre_of, crs_centred_on, from_proj, to_proj

GEOD = Geod(ellps="WGS84")


@pytest.mark.parametrize("centre", [(-30.0, 45.0), (151.2, -33.9), (10.0, 69.6), (179.999, -17.0)])
@pytest.mark.parametrize("azimuth", [0.0, 45.0, 90.0, 200.0])
def test_a_400_m_hole_3_km_from_the_centre_is_right_to_a_millimetre(
    centre: tuple[float, float], azimuth: float
) -> None:
    # Geodesics: Karney 2013, as pyproj.Geod has them.
    crs = crs_centred_on(*centre)
    lon, lat, _ = GEOD.fwd(*centre, 100.0, 3000.0)
    end_lon, end_lat, _ = GEOD.fwd(lon, lat, azimuth, 400.0)
    start, end = to_proj(crs, [(lon, lat), (end_lon, end_lat)])
    assert np.hypot(*(end - start)) == pytest.approx(400.0, abs=1e-3)


def test_there_and_back_is_within_a_hundredth_of_a_millimetre() -> None:
    crs = crs_centred_on(-30.0, 45.0)
    points = [(-30.01, 45.02), (-29.99, 44.99)]
    np.testing.assert_allclose(from_proj(crs, to_proj(crs, points)), points, atol=1e-10)


def test_centre_on_the_date_line() -> None:
    lon, lat = centre_of([(179.99, -17.0), (-179.99, -17.0), (-179.98, -17.0)])
    assert lon == pytest.approx(-179.99)
    assert lat == -17.0
