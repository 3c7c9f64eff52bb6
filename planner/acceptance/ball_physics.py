"""Impact, flight, air and bounce against closed forms and published formulas."""

from __future__ import annotations

import math
from functools import cache, partial

import numpy as np

from planner.acceptance.claim import Area, Claim, Sense
from planner.ball.conditions import Air, Conditions, air
from planner.ball.flight import Flight, Launch, fly
from planner.ball.run import Turf, TurfFeel, rolling_resistance, run_distance, turf_feel
from planner.golfer.impact import launch, off_centre_speed_share
from planner.units import (
    KG_M2_PER_G_CM2,
    M_PER_FT,
    M_PER_YD,
    MPS_PER_MPH,
    RAD_PER_DEG,
    RPM_PER_RAD_S,
)

__all__ = ["AREA"]

IMPACT = "rigid-body impact with rolling release, closed form"
PENNER = "Penner 2002, Can. J. Phys. 80, 931-940"
ICAO = "ICAO Standard Atmosphere, Doc 7488"
RIGID = "two rigid bodies meeting off the centre, closed form"
ROUNDED = "given to so many digits"
GRAVITY_PUBLISHED, GRAVITY_HERE = 9.81, 9.80665
"""The published range without air was worked out with the first [m/s2]."""
IMPACTS = (
    ("driver", (100.0, 10.5, 0.83, 0.200), (146.41, 8.588, 2444.2)),
    ("30° iron", (100.0, 30.0, 0.78, 0.270), (132.44, 24.096, 6814.8)),
)
"""Club speed [mph], spin loft [degrees], restitution, mass of the head [kg]; ball speed [mph],
launch [degrees], spin [rpm]."""


def _launched(speed_mph: float, loft_deg: float, restitution: float, mass: float) -> Launch:
    return launch(
        speed_mph * MPS_PER_MPH,
        loft_deg * RAD_PER_DEG,
        head_mass_kg=mass,
        restitution=restitution,
    )


def _impact(case: tuple[float, float, float, float], what: int) -> float:
    found = _launched(*case)
    figures = (
        float(found.speed) / MPS_PER_MPH,
        float(found.angle) / RAD_PER_DEG,
        float(found.spin) * RPM_PER_RAD_S,
    )
    return figures[what]


def _loss(inertia_g_cm2: float) -> float:
    share = off_centre_speed_share(
        0.02, head_mass_kg=0.200, inertia_kg_m2=inertia_g_cm2 * KG_M2_PER_G_CM2
    )
    return 100.0 * (1.0 - float(share))


def _range_without_air() -> float:
    ball = Launch.of(160 * MPS_PER_MPH, 12 * RAD_PER_DEG, 300.0)
    flown = fly(ball, air=Air(density=0.0, viscosity=1.8e-5))
    return float(flown.carry) / M_PER_YD * GRAVITY_HERE / GRAVITY_PUBLISHED


@cache
def _standard_drive() -> Flight:
    return fly(Launch.of(176 * MPS_PER_MPH, 10 * RAD_PER_DEG, 2520 / RPM_PER_RAD_S))


def _overall_distance() -> float:
    flown = _standard_drive()
    feel = turf_feel(Turf.FAIRWAY, Conditions())
    run = run_distance(flown.landing_speed, flown.descent, flown.landing_spin, feel)
    return float(flown.carry + run) / M_PER_YD


def _wind_asymmetry() -> float:
    """Carry lost against 10 mph less carry gained with it [yd]."""
    ball = Launch.of(160 * MPS_PER_MPH, 11 * RAD_PER_DEG, 2700 / RPM_PER_RAD_S)
    still = fly(ball).carry
    against = fly(ball, wind_speed=10 * MPS_PER_MPH, wind_from=0.0).carry
    behind = fly(ball, wind_speed=10 * MPS_PER_MPH, wind_from=np.pi).carry
    return float((still - against) - (behind - still)) / M_PER_YD


def _density(altitude_m: float) -> float:
    return air(altitude_m).density


def _altitude() -> float:
    """Carry gained for each 100 ft between sea level and 1000 m [%]."""
    ball = Launch.of(160 * MPS_PER_MPH, 11 * RAD_PER_DEG, 2700 / RPM_PER_RAD_S)
    high = float(fly(ball, air=air(1000.0)).carry / fly(ball).carry)
    return 100.0 * (high - 1.0) / (1000.0 / (100 * M_PER_FT))


def _first_bounce_share(speed: float) -> float:
    """Rebound over arrival of a ball dropped straight down, found from the run of a long hop.

    A ball that arrives upright without spin and leaves with ``e v`` runs nowhere, so the share is
    read off the run of one that comes in at a small angle onto turf that does not give: between
    two bounces it travels twice its forward speed times the upward speed over g.
    """
    feel = TurfFeel(liveliness=1.0, give=0.0, friction=0.0, resistance=1e9)
    forward = 1e-3
    angle = math.atan2(speed, forward)
    run = float(run_distance(math.hypot(speed, forward), angle, 0.0, feel))
    # Without friction every hop keeps the forward speed; the published shares give all hops.
    low, high = 0.0, 0.9
    for _ in range(60):
        first = (low + high) / 2
        up, total = first * speed, 0.0
        while up > math.sqrt(2 * GRAVITY_HERE * 0.005):
            total += 2 * forward * up / GRAVITY_HERE
            up *= _published_share(up)
        low, high = (first, high) if total < run else (low, first)
    return (low + high) / 2


def _published_share(speed: float) -> float:
    return 0.510 - 0.0375 * speed + 0.000903 * speed**2 if speed <= 20.0 else 0.120


def claims() -> tuple[Claim, ...]:
    """Claims of this area."""
    found = []
    for name, case, published in IMPACTS:
        for what, (word, unit, within) in enumerate(
            (("ball speed", "mph", 0.006), ("launch", "degrees", 6e-4), ("spin", "rpm", 0.06))
        ):
            found.append(
                Claim(f"{name} at 100 mph, {word}", IMPACT, published[what],
                      partial(_impact, case, what), unit, within, ROUNDED)
            )  # fmt: skip
    found += [
        Claim("ball speed lost 2 cm off the centre, inertia 4000 g cm²", RIGID, 3.6,
              partial(_loss, 4000.0), "%", 0.06, "given to a tenth"),
        Claim("the same, inertia 5900 g cm²", RIGID, 2.5, partial(_loss, 5900.0), "%", 0.06,
              "given to a tenth"),
        Claim("range without air, 160 mph at 12°", "parabola", 231.97, _range_without_air, "yd",
              0.01, ROUNDED),
        Claim("overall distance at the test's launch, 176 mph, 10°, 2520 rpm",
              "Equipment Rules, overall distance standard: 317 yd and 3 yd tolerance", 320.0,
              _overall_distance, "yd", 0.0,
              "no ball may go farther; the coefficients are those of a ball of 1994, and carries "
              "are scaled to the golfer's own", Sense.AT_MOST),
        Claim("10 mph of wind: carry lost against it less carry gained with it",
              "MacDonald & Hanzely 1991, Am. J. Phys. 59, 213: a head wind costs more", 0.0,
              _wind_asymmetry, "yd", 0.0, "a sign", Sense.AT_LEAST),
        Claim("carry gained for each 100 ft of altitude", "common practice", 0.116, _altitude, "%",
              0.116, "a rule of thumb, believed within a factor of two"),
    ]  # fmt: skip
    found += [
        Claim(f"density of standard air at {altitude:g} m", ICAO, density,
              partial(_density, altitude), "kg/m³", 6e-5,
              "four decimals are given")
        for altitude, density in ((0.0, 1.2250), (1000.0, 1.1116), (2000.0, 1.0065))
    ]  # fmt: skip
    found += [
        Claim(f"share of {speed:g} m/s given back by turf", PENNER, _published_share(speed),
              partial(_first_bounce_share, speed), "", 1e-4,
              "read off a run, found by bisection")
        for speed in (5.0, 12.0, 19.0, 25.0)
    ]  # fmt: skip
    found += [
        Claim(f"rolling resistance of a green of {feet:g} ft", PENNER, resistance,
              partial(rolling_resistance, feet), "", 6e-4, "three decimals are given")
        for feet, resistance in ((12.0, 0.065), (4.0, 0.196))
    ]  # fmt: skip
    return tuple(found)


AREA = Area(
    "ball",
    "Impact, flight and bounce",
    "Launch from club speed, carry through air, and run on turf.",
    claims,
)
