"""Golfers made up for tests, whose clubs do not follow the fitted model.

Their truth has what the model leaves out: a speed of its own for every club, a random loss of
ball speed by club, a head speed that is curved in the length, an attack angle and a loft taken
off for every club, and a spin that is off. Flights are those of the usual step.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planner.ball.flight import Launch, fly
from planner.golfer.club import Club, ClubKind, MeasuredPattern
from planner.golfer.launch import ASSUMED_MAKES, strikes
from planner.golfer.typical_carry import standard_length
from planner.units import M_PER_IN, MPS_PER_MPH, RAD_PER_DEG

SET = (
    ("Driver", "driver", 10.5),
    ("3 wood", "wood", 15.0),
    ("5 wood", "wood", 18.5),
    ("4 hybrid", "hybrid", 22.0),
    ("4 iron", "iron", 22.5),
    ("5 iron", "iron", 26.0),
    ("6 iron", "iron", 29.5),
    ("7 iron", "iron", 33.0),
    ("8 iron", "iron", 37.0),
    ("9 iron", "iron", 41.0),
    ("Pitching wedge", "wedge", 46.0),
    ("Gap wedge", "wedge", 51.0),
    ("Sand wedge", "wedge", 56.0),
    ("Lob wedge", "wedge", 60.0),
)
SHOTS = (6, 60)
"""Fewest and most shots of a measured club."""


@dataclass(frozen=True)
class SimulatedGolfer:
    """A golfer's index, his clubs as measured, and the carries that are true of them [m]."""

    handicap_index: float
    clubs: tuple[Club, ...]
    true_carry_m: dict[str, float]


def simulated_golfer(rng: np.random.Generator) -> SimulatedGolfer:
    """Draw a golfer with 14 measured clubs."""
    index = float(rng.uniform(0.0, 32.0))
    clubs = [Club(label, ClubKind(kind), loft * RAD_PER_DEG) for label, kind, loft in SET]
    kinds = [club.kind.value for club in clubs]
    longer = np.array([standard_length(club) for club in clubs]) / M_PER_IN - 37.0
    middle = (80.0 - 0.6 * index) * math.exp(rng.normal(0.0, 0.10)) * MPS_PER_MPH
    growth = rng.normal(0.031, 0.004)
    curve = rng.normal(0.0, 0.0006)
    speed = middle * np.exp(growth * longer + curve * longer**2)
    speed *= np.exp(rng.normal(0.0, 0.012, len(clubs)))
    loss = rng.exponential(0.012, len(clubs))
    steep = rng.normal(0.0, 1.5)
    usual = [ASSUMED_MAKES[kind] for kind in kinds]
    attack = np.array([make.attack for make in usual])
    attack += (steep + rng.normal(0.0, 0.7, len(clubs))) * RAD_PER_DEG
    loft_off = np.array([make.loft_taken_off for make in usual])
    loft_off += (rng.normal(-0.6 * steep, 1.5) + rng.normal(0.0, 0.7, len(clubs))) * RAD_PER_DEG
    struck = strikes(
        kinds, [club.loft for club in clubs], speed, attack=attack, loft_taken_off=loft_off
    )
    spin = struck.spin * np.exp(rng.normal(0.0, 0.06, len(clubs)))
    carry = fly(Launch.of(struck.speed * (1.0 - loss), struck.angle, spin)).carry
    spread = (0.05 + 0.002 * index) * carry
    shots = rng.integers(*SHOTS, len(clubs))
    seen = carry + spread / np.sqrt(shots) * rng.standard_normal(len(clubs))
    measured = tuple(
        Club(
            club.label,
            club.kind,
            club.loft,
            pattern=MeasuredPattern(
                float(seen[i]), carry_sd_m=float(spread[i]), shots=int(shots[i])
            ),
        )
        for i, club in enumerate(clubs)
    )
    truth = {club.label: float(carry[i]) for i, club in enumerate(clubs)}
    return SimulatedGolfer(index, measured, truth)
