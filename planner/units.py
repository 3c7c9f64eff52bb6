"""Exact unit factors. Inside the package every value is in metres, seconds and radians.

Yards, miles an hour and degrees appear only at the edges and in names that end in
``_yd``, ``_ft``, ``_in``, ``_mph`` or ``_deg``.
"""

from __future__ import annotations

import math
from enum import Enum

M_PER_YD = 0.9144
"""Metres in an international yard (exact; 1959 agreement)."""
M_PER_FT = 0.3048
M_PER_IN = 0.0254
MPS_PER_MPH = 0.44704
RAD_PER_DEG = math.pi / 180.0
KG_M2_PER_G_CM2 = 1e-7
RPM_PER_RAD_S = 60.0 / (2.0 * math.pi)
COMPASS_POINTS = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
    "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip
"""Names of directions, clockwise from north, 22.5 degrees apart."""


class DistanceUnit(Enum):
    """Unit in which distances are shown to a person."""

    METRES = "metres"
    YARDS = "yards"

    @property
    def metres(self) -> float:
        """Length of one unit [m]."""
        return M_PER_YD if self is DistanceUnit.YARDS else 1.0

    @property
    def symbol(self) -> str:
        """Short name shown after a number."""
        return "yd" if self is DistanceUnit.YARDS else "m"

    def from_metres(self, distance_m: float) -> float:
        """Convert ``distance_m`` [m] to this unit."""
        return distance_m / self.metres

    def to_metres(self, distance: float) -> float:
        """Convert ``distance`` in this unit to metres."""
        return distance * self.metres
