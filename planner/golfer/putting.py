"""Putting: chance to hole, and expected putts, from an angle error and a distance error.

A putt is holed if its direction is within the angle that the hole offers and its length is
between just reaching the hole and passing it by no more than a firm roll (Gelman & Nolan 2002,
"A probability model for golf putting", Teaching Statistics 24(3), for the angle; Gelman 2019,
"Model building and expansion for golf putting", Stan case study, for the length). The golfer
aims at the hole and at a length one foot past it; the error of length is proportional to the
intended length.

A missed putt stops where the same two errors put it. Expected putts then follow by dynamic
programming over the distance that is left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize
from scipy.special import ndtr, xlog1py, xlogy

from planner.units import M_PER_FT, M_PER_IN, RAD_PER_DEG

__all__ = [
    "TOUR_PUTTING",
    "PuttingFit",
    "PuttingSkill",
    "drawn_putts",
    "expected_putts",
    "fit_putting",
    "holed_probability",
    "putting_skill",
    "putts_distribution",
    "putts_within",
]

FloatArray = NDArray[np.float64]

HOLE_RADIUS_M = 4.25 / 2 * M_PER_IN
"""Rules of Golf 2023, definition of a hole: 4 1/4 in across."""
_OFFERED_HALF_WIDTH_M = HOLE_RADIUS_M - 1.68 / 2 * M_PER_IN
"""Hole radius less ball radius [m], as in Gelman & Nolan 2002."""
_AIM_PAST_M = 1.0 * M_PER_FT
"""How far past the hole the golfer means to roll the ball [m]; Gelman 2019."""
_FIRM_LIMIT_M = 2.0 * M_PER_FT
"""How much longer than meant a putt may be and still drop [m]; Gelman 2019."""


@dataclass(frozen=True)
class PuttingSkill:
    """A golfer's errors on the green.

    Parameters
    ----------
    angle_sd
        Standard deviation of the start direction [rad], above 0.
    distance_sd
        Standard deviation of the length as a share of the intended length, 0 or more.
    """

    angle_sd: float
    distance_sd: float

    def __post_init__(self) -> None:
        if not 0.0 < self.angle_sd < 1.0:
            raise ValueError(f"angle_sd must be between 0 and 1 rad, got {self.angle_sd}")
        if not 0.0 <= self.distance_sd < 1.0:
            raise ValueError(f"distance_sd must be at least 0 and below 1, got {self.distance_sd}")


TOUR_PUTTING = PuttingSkill(angle_sd=1.02 * RAD_PER_DEG, distance_sd=0.080)
"""Tour professionals; Gelman 2019, fitted to Broadie's tour data."""

_NINETY_GOLFER = PuttingSkill(angle_sd=1.7645 * RAD_PER_DEG, distance_sd=0.0856)
"""Solves the two facts published for a golfer who averages 90: half of the 5 ft putts holed, and
2.0 putts from 19 ft (Broadie 2014)."""

ASSUMED_TOUR_INDEX = -5.0
"""Handicap index at which a golfer putts like a tour professional; assumed."""
ASSUMED_NINETY_INDEX = 15.0
"""Handicap index of a golfer who averages 90: par 72, and about 3 over the handicap as an average
round is (Knuth, USGA)."""


def putting_skill(handicap_index: float) -> PuttingSkill:
    """Typical putting of a golfer with this handicap index (plus handicaps negative).

    Both errors are linear in the index through tour professionals and golfers averaging 90;
    better than tour is cut off.
    """
    if not math.isfinite(handicap_index):
        raise ValueError(f"handicap_index must be finite, got {handicap_index}")
    share = (handicap_index - ASSUMED_TOUR_INDEX) / (ASSUMED_NINETY_INDEX - ASSUMED_TOUR_INDEX)
    share = max(share, 0.0)
    tour, ninety = TOUR_PUTTING, _NINETY_GOLFER
    return PuttingSkill(
        angle_sd=tour.angle_sd + share * (ninety.angle_sd - tour.angle_sd),
        distance_sd=tour.distance_sd + share * (ninety.distance_sd - tour.distance_sd),
    )


def holed_probability(distance_m: ArrayLike, skill: PuttingSkill) -> FloatArray:
    """Chance to hole a putt of ``distance_m`` [m], same shape."""
    distance = _distances(distance_m)
    short, firm = _length_window(distance, skill)
    return np.asarray(_line_share(distance, skill.angle_sd) * (ndtr(firm) - ndtr(short)))


def expected_putts(distances_m: ArrayLike, skill: PuttingSkill) -> FloatArray:
    """Give the expected putts to hole out from ``distances_m`` [m], same shape; at least 1."""
    distance = _distances(distances_m)
    values = _node_values(skill)
    return np.asarray(1.0 + (_leaves(distance.ravel(), skill) @ values).reshape(distance.shape))


def putts_distribution(distance_m: ArrayLike, skill: PuttingSkill) -> FloatArray:
    """Chances of one, two, and three or more putts.

    Parameters
    ----------
    distance_m
        Distances [m], shape ``(...)``.

    Returns
    -------
    Shape ``(..., 3)``, each row adding up to 1.
    """
    distance = _distances(distance_m)
    one = holed_probability(distance, skill)
    then = _leaves(distance.ravel(), skill) @ holed_probability(_NODES_M, skill)
    two = then.reshape(distance.shape)
    return np.stack((one, two, np.maximum(1.0 - one - two, 0.0)), axis=-1)


def putts_within(distance_m: ArrayLike, skill: PuttingSkill, most: int) -> FloatArray:
    """Chance to hole out within 1, 2, ... ``most`` putts.

    Parameters
    ----------
    distance_m
        Distances [m], shape ``(n,)``.

    Returns
    -------
    Shape ``(most, n)``, growing with the number of putts.
    """
    distance = _distances(distance_m)
    holed, leaves = holed_probability(distance, skill), _leaves(distance, skill)
    node_holed, node_leaves = holed_probability(_NODES_M, skill), _leaves(_NODES_M, skill)
    chance, found = np.zeros(len(_NODES_M)), []
    for _ in range(most):
        found.append(np.minimum(holed + leaves @ chance, 1.0))
        chance = np.minimum(node_holed + node_leaves @ chance, 1.0)
    return np.array(found)


def drawn_putts(
    distance_m: ArrayLike, skill: PuttingSkill, *, rng: np.random.Generator
) -> FloatArray:
    """Putts taken from ``distance_m`` [m], shape ``(n,)``: every putt drawn until it is holed.

    The arithmetic shares nothing with that of the chances but the two errors.
    """
    left = _distances(distance_m).copy()
    putts = np.zeros(len(left))
    playing = np.arange(len(left))
    while playing.size:
        putts[playing] += 1.0
        start = left[playing]
        error = rng.standard_normal((2, len(playing)))
        turn = skill.angle_sd * error[0]
        meant = start + _AIM_PAST_M
        rolled = meant * (1.0 + skill.distance_sd * error[1])
        on_line = (start <= _OFFERED_HALF_WIDTH_M) | (np.abs(turn) < _offered_angle(start))
        holed = on_line & (start <= rolled) & (rolled <= meant + _FIRM_LIMIT_M)
        left[playing] = np.hypot(rolled * np.cos(turn) - start, rolled * np.sin(turn))
        playing = playing[~holed]
    return putts


@dataclass(frozen=True)
class PuttingFit:
    """Skill fitted to counts of putts, with the log likelihood at the fit."""

    skill: PuttingSkill
    log_likelihood: float


def fit_putting(
    distance_m: ArrayLike, tries: ArrayLike, made: ArrayLike, *, with_distance_error: bool = True
) -> PuttingFit:
    """Maximum likelihood fit to putts tried and made at each distance.

    Parameters
    ----------
    distance_m, tries, made
        Distances [m] and counts, all of shape ``(n,)``.
    with_distance_error
        Fit the error of length too; else it is 0 (Gelman & Nolan's model of 2002).

    Raises
    ------
    ValueError
        Shapes differ, counts do not fit, every putt was holed or none, or the fit fails.
    """
    distance = _distances(distance_m)
    total, holed = np.asarray(tries, dtype=float), np.asarray(made, dtype=float)
    if distance.ndim != 1 or not distance.shape == total.shape == holed.shape:
        raise ValueError("distance_m, tries and made must have one shape (n,)")
    if (holed < 0).any() or (holed > total).any() or not np.isfinite(total).all():
        raise ValueError("made must be between 0 and tries")
    if not 0 < holed.sum() < total.sum():
        raise ValueError("a fit needs both holed and missed putts")

    def skill_of(log_sd: FloatArray) -> PuttingSkill:
        sd = np.exp(np.clip(log_sd, math.log(1e-5), math.log(0.99)))
        return PuttingSkill(float(sd[0]), float(sd[1]) if with_distance_error else 0.0)

    def loss(log_sd: FloatArray) -> float:
        chance = np.clip(holed_probability(distance, skill_of(log_sd)), 1e-300, 1 - 1e-16)
        return -float((xlogy(holed, chance) + xlog1py(total - holed, -chance)).sum())

    start = np.log([0.025, 0.08] if with_distance_error else [0.025])
    found = minimize(
        loss, start, method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-9, "maxiter": 2000}
    )
    if not found.success:
        raise ValueError(f"the putting fit did not converge: {found.message}")
    return PuttingFit(skill_of(np.asarray(found.x, dtype=float)), -float(found.fun))


def _distances(distance_m: ArrayLike) -> FloatArray:
    distance = np.asarray(distance_m, dtype=float)
    if not np.isfinite(distance).all() or (distance < 0).any():
        raise ValueError("distances must be finite and not negative")
    return distance


def _offered_angle(distance: FloatArray) -> FloatArray:
    """Half the angle [rad] within which a putt meets enough of the hole."""
    reach = np.maximum(distance, _OFFERED_HALF_WIDTH_M)
    return np.asarray(np.arcsin(_OFFERED_HALF_WIDTH_M / reach))


def _line_share(distance: FloatArray, angle_sd: float) -> FloatArray:
    share = 2.0 * ndtr(_offered_angle(distance) / angle_sd) - 1.0
    # Over the hole itself any direction holes.
    return np.asarray(np.where(distance <= _OFFERED_HALF_WIDTH_M, 1.0, share))


def _length_window(distance: FloatArray, skill: PuttingSkill) -> tuple[FloatArray, FloatArray]:
    """Errors of length, in deviations, between which the ball drops."""
    if skill.distance_sd == 0.0:
        return np.full_like(distance, -np.inf), np.full_like(distance, np.inf)
    sd = (distance + _AIM_PAST_M) * skill.distance_sd
    return -_AIM_PAST_M / sd, _FIRM_LIMIT_M / sd


_NODES_M = np.concatenate(([0.0], np.geomspace(0.05, 120.0, 159)))
"""Distances at which the expected putts are solved [m]."""
_ABSCISSAE, _GAUSS = np.polynomial.legendre.leggauss(10)
_REACH_SD = 5.0
"""Deviations beyond which an error is left out; the rest is scaled up to the exact share."""


@lru_cache(maxsize=256)
def _node_values(skill: PuttingSkill) -> FloatArray:
    """Solve the expected putts at the nodes: the fixed point of ``V = 1 + leaves V``."""
    leaves = _leaves(_NODES_M, skill)
    values = np.linalg.solve(np.eye(len(_NODES_M)) - leaves, np.ones(len(_NODES_M)))
    values.setflags(write=False)
    return np.asarray(values, dtype=np.float64)


def _leaves(distance: FloatArray, skill: PuttingSkill) -> FloatArray:
    """Chance to miss and be left near each node, shape ``(n, nodes)``.

    The errors that miss are the plane less a box (angle within the hole's, length within the
    window), so each of the five boxes round it is integrated by itself, free of jumps.
    """
    count = len(distance)
    short, firm = (np.clip(z, -_REACH_SD, _REACH_SD) for z in _length_window(distance, skill))
    line = np.minimum(_offered_angle(distance) / skill.angle_sd, _REACH_SD)
    none, reach = np.zeros(count), np.full(count, _REACH_SD)
    boxes = (
        (none, line, -reach, short),
        (none, line, firm, reach),
        (line, reach, -reach, short),
        (line, reach, short, firm),
        (line, reach, firm, reach),
    )
    matrix = np.zeros(count * len(_NODES_M))
    row = np.arange(count)[:, None, None] * len(_NODES_M)
    for angle_from, angle_to, length_from, length_to in boxes:
        angle, angle_weight = _box_nodes(angle_from, angle_to)
        length, length_weight = _box_nodes(length_from, length_to)
        weight = angle_weight[:, :, None] * length_weight[:, None, :]
        aim = distance + _AIM_PAST_M
        rolled = np.abs(aim[:, None] * (1.0 + skill.distance_sd * length))[:, None, :]
        to_hole = distance[:, None, None]
        half_turn = np.sin(angle * skill.angle_sd / 2.0)[:, :, None]
        left = np.sqrt((rolled - to_hole) ** 2 + 4.0 * rolled * to_hole * half_turn**2)
        node = np.clip(np.searchsorted(_NODES_M, left) - 1, 0, len(_NODES_M) - 2)
        part = (left - _NODES_M[node]) / (_NODES_M[node + 1] - _NODES_M[node])
        part = np.clip(part, 0.0, 1.0)
        for at, share in ((node, 1.0 - part), (node + 1, part)):
            matrix += np.bincount(
                (row + at).ravel(), (weight * share).ravel(), minlength=len(matrix)
            )
    leaves = matrix.reshape(count, len(_NODES_M))
    total = leaves.sum(axis=1)
    miss = 1.0 - holed_probability(distance, skill)
    # So near that only errors beyond the reach miss: such a putt is left about where it is meant.
    lost = total <= 0.0
    leaves[lost, np.searchsorted(_NODES_M, _AIM_PAST_M)] = 1.0
    return np.asarray(leaves * (miss / np.where(lost, 1.0, total))[:, None])


def _box_nodes(low: FloatArray, high: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Gauss-Legendre nodes and normal weights on ``[low, high]``, shape ``(n, nodes)``."""
    half = (high - low)[:, None] / 2.0
    nodes = half * _ABSCISSAE + (high + low)[:, None] / 2.0
    density = np.exp(-(nodes**2) / 2.0) / math.sqrt(2.0 * math.pi)
    return nodes, half * _GAUSS * density
