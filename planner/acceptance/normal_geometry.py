"""Masses of normal distributions over areas, against closed forms and published tables."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache, partial

import numpy as np
import shapely

from planner.acceptance.claim import Area, Claim
from planner.numerics.mixture_draws import sweep
from planner.numerics.normal_mixture import Mixture, MixturePrior, features
from planner.numerics.polygon_probability import polygon_probability

__all__ = ["AREA"]

ROUNDING = "both are exact but for rounding; masses are good to about 1e-12"
NIST = "NIST/SEMATECH e-Handbook 1.3.6.7.4, chi-square with 2 degrees of freedom"
PATEFIELD = "Patefield & Tandy 2000, J. Statist. Software 5(5)"
OWEN = (
    (0.0625, 0.25, 3.89119302347013669e-2),
    (6.5, 0.4375, 2.00057730485083154e-11),
    (7.0, 0.96875, 6.39906271938986853e-13),
    (4.78125, 0.0625, 1.06329748046874638e-7),
    (2.0, 0.5, 8.62507798552150713e-3),
    (1.0, 1.0, 0.06674188216570097),
)
FAR = 60.0
"""Deviations beyond which a standard normal has no mass that a double can hold."""
CORNERS = 4096
"""Corners of the polygons drawn for circles and ellipses."""
SPREAD = np.array([[81.0, -30.0], [-30.0, 144.0]])
"""A slanted covariance [m2], so that ellipses are not circles in disguise."""
CENTRE = (183.0, -7.0)
FITTED = ((10, 0.688, 1.826), (20, 0.761, 1.461), (50, 0.835, 1.246))
"""Shots, and the ends of the 95 % interval of a deviation over the one found in them."""
NO_PRIOR = 1e-12
CHAINS, SWEEPS, BURN_IN = 400, 250, 20
"""Draws behind an interval: 100,000, which puts its ends right to about 0.005."""


def _ellipse(k: float, mean: tuple[float, float], covariance: np.ndarray) -> shapely.Polygon:
    """Polygon of the same area as the ``k``-sigma ellipse."""
    angle = np.arange(CORNERS) * (2 * math.pi / CORNERS)
    # A polygon inside the circle is smaller than it; this makes the areas equal.
    radius = k * math.sqrt(2 * math.pi / CORNERS / math.sin(2 * math.pi / CORNERS))
    circle = radius * np.column_stack((np.cos(angle), np.sin(angle)))
    return shapely.Polygon(circle @ np.linalg.cholesky(covariance).T + mean)


def _inside_ellipse(k: float) -> float:
    return float(polygon_probability(_ellipse(k, CENTRE, SPREAD), CENTRE, SPREAD))


def _owen(h: float, a: float) -> float:
    """Owen's T is the mass of the wedge beyond x = h between y = 0 and y = a x."""
    wedge = shapely.Polygon([(h, 0.0), (FAR, 0.0), (FAR, a * FAR), (h, a * h)])
    return float(polygon_probability(wedge, (0.0, 0.0), np.eye(2)))


@cache
def _fitted_interval(shots: int) -> tuple[float, float]:
    """Ends of a posterior deviation's 95 % interval over the deviation of so many shots."""
    points = np.random.default_rng(5).normal(size=(shots, 2))
    # A matrix of one degree of freedom leaves n - 1 to each variance once the mean is known.
    says_nothing = MixturePrior(
        counts=np.ones(1),
        mean=np.zeros((1, 2)),
        mean_covariance=np.eye(2) / NO_PRIOR,
        degrees=np.ones(1),
        scales=np.eye(2)[None] * NO_PRIOR,
        background_share=1e-15,
        background_density=1e-15,
    )
    start = Mixture(
        np.ones((CHAINS, 1)), np.zeros((CHAINS, 1, 2)), np.tile(np.eye(2), (CHAINS, 1, 1, 1))
    )
    rng = np.random.default_rng(6)
    begun = sweep(features(points), says_nothing, start, sweeps=BURN_IN, rng=rng)
    drawn = sweep(features(points), says_nothing, begun.last, sweeps=SWEEPS, rng=rng)
    found = np.sqrt(drawn.covariances[..., 0, 0, 0].ravel()) / points[:, 0].std(ddof=1)
    low, high = np.quantile(found, (0.025, 0.975))
    return float(low), float(high)


def _fitted_end(shots: int, end: int) -> float:
    return _fitted_interval(shots)[end]


def _offset_circle(distance: float) -> float:
    circle = _ellipse(1.0, (0.0, 0.0), np.eye(2))
    return float(polygon_probability(circle, (distance, 0.0), np.eye(2)))


def _box(low: tuple[float, float], high: tuple[float, float], correlation: float = 0.0) -> float:
    covariance = [[1.0, correlation], [correlation, 1.0]]
    return float(polygon_probability(shapely.box(*low, *high), (0.0, 0.0), covariance))


def _near(
    name: str,
    source: str,
    published: float,
    measure: Callable[[], float],
    tolerance: float = 1e-9,
    reason: str = ROUNDING,
) -> Claim:
    return Claim(name, source, published, measure, "", tolerance, reason)


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    polygon = f"a polygon of {CORNERS} corners stands for the ellipse"
    found = [
        _near(
            f"mass inside the {k:g}-sigma ellipse of a slanted normal",
            "closed form 1 - exp(-k²/2)",
            -math.expm1(-(k**2) / 2),
            partial(_inside_ellipse, k),
            1e-6,
            polygon,
        )
        for k in (1.0, 2.0, 3.0)
    ]
    found += [
        _near(
            f"mass inside the ellipse of squared radius {squared}",
            NIST,
            level,
            partial(_inside_ellipse, math.sqrt(squared)),
            2e-6,
            f"the table has six digits; {polygon}",
        )
        for level, squared in ((0.5, 1.38629), (0.9, 4.60517), (0.95, 5.99146), (0.99, 9.21034))
    ]
    found.append(
        _near(
            "mass inside the circular error probable, 1.1774100 sigma",
            "definition, half of all points",
            0.5,
            lambda: _inside_ellipse(1.1774100),
            1e-6,
            polygon,
        )
    )
    found += [
        Claim(
            f"Owen's T({h:g}, {a:g}) as the mass of a wedge",
            PATEFIELD,
            value,
            partial(_owen, h, a),
            "",
            1e-15 + 1e-9 * value,
            "a mass is a sum of a few terms, each exact to about 1e-16",
        )
        for h, a, value in OWEN
    ]
    found += [
        _near(
            "mass of the square [-1, 1]²",
            "erf(1/√2)²",
            0.4660649,
            lambda: _box((-1.0, -1.0), (1.0, 1.0)),
            1e-7,
            "seven digits are given",
        ),
        _near(
            "mass of a quadrant at correlation 1/2",
            "closed form 1/4 + asin(1/2)/(2π)",
            1.0 / 3.0,
            lambda: _box((0.0, 0.0), (FAR, FAR), 0.5),
        ),
        _near(
            "mass of the half-plane x > 1",
            "standard normal table",
            0.1586553,
            lambda: _box((1.0, -FAR), (FAR, FAR)),
            1e-7,
            "seven digits are given",
        ),
    ]
    found += [
        _near(
            f"mass of a unit circle {distance:g} sigma off the mean",
            "noncentral chi-square, 2 degrees of freedom",
            value,
            partial(_offset_circle, distance),
            6e-6,
            "five digits are given",
        )
        for distance, value in ((0.0, 0.39347), (1.0, 0.26712), (2.0, 0.08189))
    ]
    found += [
        Claim(
            f"deviation fitted to {shots} shots without a prior: {word} end of its 95 % interval",
            "chi-square table, n - 1 degrees of freedom: over the deviation found",
            ends[end],
            partial(_fitted_end, shots, end),
            "",
            0.02,
            "the interval is drawn; its ends are good to about 0.005",
        )
        for shots, *ends in FITTED
        for end, word in enumerate(("lower", "upper"))
    ]
    return tuple(found)


AREA = Area(
    "geometry",
    "Chances of a shot over an area",
    "The exact mass of a bivariate normal over a polygon, the function behind every chance of "
    "water, sand or green that is reported for one shot; and the draws behind the intervals of "
    "fitted patterns.",
    claims,
)
