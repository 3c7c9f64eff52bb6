"""Weather and turf of the day, and the air they make.

Air: the barometric formula and constants of the ICAO Standard Atmosphere (Doc 7488, troposphere)
give the pressure, the ideal gas law the density, Sutherland's formula the viscosity. Humidity
is left out (below 1 % of the density in golf weather).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["STANDARD_AIR", "Air", "Conditions", "air", "standard_temperature_c"]

_SEA_LEVEL_PRESSURE_PA = 101_325.0
_SEA_LEVEL_TEMPERATURE_K = 288.15
_LAPSE_K_PER_M = 0.0065
_GAS_CONSTANT_AIR = 287.05287
_STANDARD_GRAVITY = 9.80665
_SUTHERLAND_BETA = 1.458e-6
_SUTHERLAND_K = 110.4
_ZERO_CELSIUS_K = 273.15


@dataclass(frozen=True)
class Air:
    """Air a ball flies through: ``density`` [kg/m3] and ``viscosity`` [Pa s]."""

    density: float
    viscosity: float


def standard_temperature_c(altitude_m: float) -> float:
    """ICAO standard temperature [deg C] at ``altitude_m`` [m] above the sea."""
    return _SEA_LEVEL_TEMPERATURE_K - _ZERO_CELSIUS_K - _LAPSE_K_PER_M * altitude_m


def air(altitude_m: float = 0.0, temperature_c: float | None = None) -> Air:
    """Air at an altitude [m] and temperature [deg C]; None is the standard temperature there.

    Raises
    ------
    ValueError
        The altitude is outside -500..6000 m or the temperature outside -30..60 deg C.
    """
    if temperature_c is None:
        temperature_c = standard_temperature_c(altitude_m)
    if not -500.0 <= altitude_m <= 6000.0:
        raise ValueError(f"altitude must be between -500 and 6000 m, got {altitude_m}")
    if not -30.0 <= temperature_c <= 60.0:
        raise ValueError(f"temperature must be between -30 and 60 deg C, got {temperature_c}")
    standard_k = _SEA_LEVEL_TEMPERATURE_K - _LAPSE_K_PER_M * altitude_m
    exponent = _STANDARD_GRAVITY / (_GAS_CONSTANT_AIR * _LAPSE_K_PER_M)
    pressure = _SEA_LEVEL_PRESSURE_PA * (standard_k / _SEA_LEVEL_TEMPERATURE_K) ** exponent
    kelvin = temperature_c + _ZERO_CELSIUS_K
    return Air(
        density=pressure / (_GAS_CONSTANT_AIR * kelvin),
        viscosity=_SUTHERLAND_BETA * kelvin**1.5 / (kelvin + _SUTHERLAND_K),
    )


STANDARD_AIR = air()
"""Sea level, 15 deg C."""


@dataclass(frozen=True)
class Conditions:
    """Weather and turf of the day.

    Parameters
    ----------
    wind_from
        Azimuth the wind comes from [rad clockwise from north]; None in still air.
    wind_speed
        Speed of the wind where the ball flies, taken as the same at every height [m/s].
    temperature_c
        Air temperature [deg C].
    altitude_m
        Height above the sea [m].
    firmness
        Turf firmness: 1 normal, 2 as firm as turf gets, 0.5 soaked.
    green_speed_ft
        Length a ball rolls from the standard ramp on a level green [ft].
    rough_length_m
        Height of the rough [m].
    """

    wind_from: float | None = None
    wind_speed: float = 0.0
    temperature_c: float = 15.0
    altitude_m: float = 0.0
    firmness: float = 1.0
    green_speed_ft: float = 9.0
    rough_length_m: float = 0.05

    def __post_init__(self) -> None:
        wanted = (
            ("wind_speed", self.wind_speed, 0.0, 30.0, "m/s"),
            ("temperature_c", self.temperature_c, -30.0, 60.0, "deg C"),
            ("altitude_m", self.altitude_m, -500.0, 6000.0, "m"),
            ("firmness", self.firmness, 0.3, 2.0, "times normal"),
            ("green_speed_ft", self.green_speed_ft, 4.0, 16.0, "ft"),
            ("rough_length_m", self.rough_length_m, 0.01, 0.30, "m"),
        )
        problems = [
            f"{name} must be between {low:g} and {high:g} {unit}, got {value}"
            for name, value, low, high, unit in wanted
            if not low <= value <= high
        ]
        if self.wind_from is not None and not math.isfinite(self.wind_from):
            problems.append(f"wind_from must be a finite angle [rad] or None, got {self.wind_from}")
        if self.wind_speed > 0.0 and self.wind_from is None:
            problems.append("wind_from is missing: a wind needs the direction it comes from")
        if problems:
            raise ValueError("; ".join(problems))

    @property
    def air(self) -> Air:
        """Air of the day."""
        return air(self.altitude_m, self.temperature_c)

    @property
    def is_still(self) -> bool:
        """Whether there is no wind."""
        return self.wind_from is None or self.wind_speed == 0.0
