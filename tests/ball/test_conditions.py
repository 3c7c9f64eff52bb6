"""Air against the ICAO Standard Atmosphere, and bad conditions."""

from __future__ import annotations

import math

import pytest

from planner.ball.conditions import STANDARD_AIR, Conditions, air


@pytest.mark.parametrize(("altitude", "density"), [(0, 1.2250), (1000, 1.1116), (2000, 1.0065)])
def test_icao_density(altitude: float, density: float) -> None:
    # ICAO Doc 7488.
    assert air(altitude).density == pytest.approx(density, abs=6e-5)


def test_sea_level_viscosity() -> None:
    # ICAO Doc 7488: 1.7894e-5 Pa s.
    assert STANDARD_AIR.viscosity == pytest.approx(1.7894e-5, rel=1e-4)


def test_warm_and_high_air_is_thin() -> None:
    assert Conditions(temperature_c=30).air.density < Conditions(temperature_c=5).air.density
    assert Conditions(altitude_m=800).air.density < Conditions().air.density
    # Ideal gas: density goes as one over the absolute temperature.
    ratio = Conditions(temperature_c=30).air.density / STANDARD_AIR.density
    assert ratio == pytest.approx(288.15 / 303.15, rel=1e-12)


def test_every_problem_is_named() -> None:
    with pytest.raises(ValueError, match="wind_speed") as caught:
        Conditions(wind_speed=-1, firmness=9, green_speed_ft=math.nan, altitude_m=9000)
    for name in ("firmness", "green_speed_ft", "altitude_m"):
        assert name in str(caught.value)
    with pytest.raises(ValueError, match="direction"):
        Conditions(wind_speed=3)
    with pytest.raises(ValueError, match="finite angle"):
        Conditions(wind_from=math.inf)
    with pytest.raises(ValueError, match="temperature"):
        air(0, 200)
    with pytest.raises(ValueError, match="altitude"):
        air(20_000)


def test_still() -> None:
    assert Conditions().is_still
    assert Conditions(wind_from=1.0).is_still
    assert not Conditions(wind_from=1.0, wind_speed=2.0).is_still
