"""The delivery of a golfer, fitted to the clubs he has hit.

Data are the mean carries of the clubs with their standard errors and, where they are known, runs
on a normal fairway, a head speed, attack angle or loft taken off, and how widely the carries
scatter. The prior is the delivery of golfers of his handicap index (:mod:`.delivery_model`).

No few numbers describe every club of anybody: a shaft that suits, a lie angle, a habit. So each
club's log carry differs from the delivery's by a *discrepancy*, a normal field that clubs of one
kind and clubs of near loft share in part. Its size is not known beforehand either; the data weigh
a range of sizes. Both the parameters and the field are found at once by the method of Gauss and
Newton; their joint distribution is the normal one of the linearised model (Laplace).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky
from scipy.optimize import least_squares

from planner.golfer import skill
from planner.golfer.bag import Delivery
from planner.golfer.club import Club, ClubKind
from planner.golfer.delivery_model import (
    PARAMETERS,
    STRIKE,
    ClubFacts,
    Prior,
    delivered,
    facts_of,
    fly_delivered,
    handicap_prior,
)
from planner.units import RAD_PER_DEG

__all__ = ["DeliveryFit", "discrepancy", "fit_delivery", "log_carries", "whitened"]

FloatArray = NDArray[np.float64]

ASSUMED_KIND_SD = 0.015
"""Discrepancy of the log carry that all clubs of one kind share."""
ASSUMED_NEAR_SD = 0.02
"""Discrepancy that clubs of near loft share."""
ASSUMED_NEAR_LOFT = 5.0 * RAD_PER_DEG
"""Difference of loft over which that sharing fades [rad]."""
ASSUMED_ACROSS = 0.3
"""Share of it that passes between woods or hybrids and irons or wedges of one loft."""
ASSUMED_OWN_SD = 0.025
"""Discrepancy of one club alone."""
_SCALES = np.exp(np.linspace(-1.2, 1.2, 7))
"""Sizes of the discrepancy that are weighed, over the assumed one."""
ASSUMED_LOG_SCALE_SD = 0.6

ASSUMED_SHOTS = 10.0
"""Shots behind a mean carry whose number nobody noted."""
ASSUMED_LEAST_CARRY_ERROR = 0.003
"""No carry is known better than this (log): ranges, balls and eyes differ."""
ASSUMED_RUN_ERRORS = (0.35, 0.4)
"""Error of the log of a run: of one club alone, and of all clubs together, because the turf on
which runs were seen is not the model's."""
ASSUMED_RUN_FLOOR_M = 2.0
"""Added to runs before the logarithm, so that short ones do not count for much [m]."""
ASSUMED_SPEED_ERROR = 0.03
"""Error of a known head speed (log)."""
ASSUMED_ANGLE_ERROR = 1.5 * RAD_PER_DEG
"""Error of a known attack angle or loft taken off [rad]."""
ASSUMED_STRIKE_FROM_SPREAD_ERROR = 0.4
"""Error of the log of the strike's deviation, guessed from how much more the golfer's carries
scatter than is typical for his handicap: the strike is one cause of it."""

_ANGLE_STEP, _LOG_STEP = 0.5 * RAD_PER_DEG, 1e-2
"""Steps of the derivatives; wide, because a run has kinks where a bounce is lost."""
_TOLERANCE = 1e-2
"""Share of the misfit that a step must still gain; below it the mode moves by less than a tenth of
its own deviation."""


@dataclass(frozen=True, eq=False)
class DeliveryFit:
    """Fitted delivery.

    Parameters
    ----------
    parameters, covariance
        Posterior mode in the order of ``PARAMETERS``, and its covariance.
    prior
        What was assumed beforehand.
    clubs
        Facts of the ``n`` clubs that were hit.
    scales, weights
        Sizes of the discrepancy over the assumed one, and their posterior probability.
    surprise, slopes
        Of ``m`` data, carries first: data less what the prior means predict, and derivatives by
        the parameters, ``(m, p)``.
    noise
        Covariance of the data's own errors ``(m, m)``.
    run_share
        What all measured runs have in common over those of the flights; 1 if none is known.
    converged
        Whether the mode was found to tolerance.
    """

    parameters: FloatArray
    covariance: FloatArray
    prior: Prior
    clubs: ClubFacts
    scales: FloatArray
    weights: FloatArray
    surprise: FloatArray
    slopes: FloatArray
    noise: FloatArray
    run_share: float
    converged: bool

    def gain(self, scale: float) -> FloatArray:
        """Cholesky factor of the covariance of the data at one size of the discrepancy."""
        return _factor(self.clubs, self.slopes, self.noise, self.prior.covariance, scale)


def log_carries(
    parameters: FloatArray, facts: ClubFacts
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Log carries [m] and runs [m] of clubs, shape ``(n,)``, and their slopes ``(n, p)``.

    The slopes of runs are those of their logs, floor added.
    """
    now = delivered(parameters, facts)
    steps = np.vstack((np.zeros(3), np.diag((_LOG_STEP, _ANGLE_STEP, _ANGLE_STEP))))
    carry, run = fly_delivered(
        facts,
        now.log_speed + steps[:, :1],
        now.attack + steps[:, 1:2],
        now.loft_off + steps[:, 2:],
    )
    size = np.diag(steps[1:])[:, None]
    by_carry = (carry[1:] - carry[0]) / size
    logs = np.log(run + ASSUMED_RUN_FLOOR_M)
    by_run = (logs[1:] - logs[0]) / size
    return (
        carry[0],
        run[0],
        np.einsum("kn,knp->np", by_carry, now.slopes),
        np.einsum("kn,knp->np", by_run, now.slopes),
    )


def discrepancy(one: ClubFacts, other: ClubFacts, *, same: bool = False) -> FloatArray:
    """Covariance ``(n, k)`` of the discrepancies of clubs; ``same`` if both are the same clubs."""
    kind = np.array([a is b for a in one.kinds for b in other.kinds], dtype=bool)
    short = (one.family[:, None] == 2) == (other.family == 2)
    apart = (one.loft[:, None] - other.loft) / ASSUMED_NEAR_LOFT
    near = np.exp(-0.5 * apart**2) * np.where(short, 1.0, ASSUMED_ACROSS)
    own = ASSUMED_OWN_SD**2 * np.eye(len(one.kinds)) if same else 0.0
    return np.asarray(
        ASSUMED_KIND_SD**2 * kind.reshape(apart.shape) + ASSUMED_NEAR_SD**2 * near + own
    )


def whitened(factor: FloatArray, right: FloatArray) -> FloatArray:
    """Solve for ``right`` with a Cholesky factor.

    By the general solver: the triangular one of some libraries starts threads for each of these
    few rows, which takes a hundred times as long while others use the processor.
    """
    return np.asarray(np.linalg.solve(factor, right))


def fit_delivery(
    clubs: Sequence[Club],
    handicap_index: float,
    *,
    known: tuple[Club, Delivery] | None = None,
    start: FloatArray | None = None,
) -> DeliveryFit:
    """Fit a delivery.

    Parameters
    ----------
    clubs
        Clubs with a measured carry, ``n`` of them, none a putter.
    handicap_index
        Decides the prior.
    known
        A club with its known delivery.
    start
        Parameters to start from, those of a similar fit; the prior's if not given.

    Raises
    ------
    ValueError
        A club has no pattern or is a putter, or nothing is known at all.
    """
    if any(club.pattern is None or club.kind is ClubKind.PUTTER for club in clubs):
        raise ValueError("only clubs with a measured carry can be fitted, and no putter")
    if not clubs and known is None:
        raise ValueError("nothing to fit: no club was measured and no delivery is known")
    data = _Data(clubs, handicap_index, known)
    prior = handicap_prior(handicap_index)
    prior_factor = cholesky(prior.covariance, lower=True)
    spread = data.noise.copy()
    count = len(clubs)
    spread[:count, :count] += discrepancy(data.facts, data.facts, same=True)
    noise_factor = cholesky(spread, lower=True)
    seen: dict[bytes, tuple[FloatArray, FloatArray]] = {}

    def model(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        key = parameters.tobytes()
        if key not in seen:
            seen[key] = data.model(parameters)
        return seen[key]

    def misfit(step: FloatArray) -> FloatArray:
        predicted, _ = model(prior.mean + prior_factor @ step)
        off = whitened(noise_factor, data.values - predicted)
        return np.concatenate((off, step))

    def slope(step: FloatArray) -> FloatArray:
        _, slopes = model(prior.mean + prior_factor @ step)
        off = whitened(noise_factor, -slopes @ prior_factor)
        return np.vstack((off, np.eye(len(step))))

    first = prior.mean if start is None else start
    step = whitened(prior_factor, first - prior.mean)
    found = least_squares(misfit, step, jac=slope, method="lm", ftol=_TOLERANCE, max_nfev=25)
    parameters = prior.mean + prior_factor @ found.x
    predicted, slopes = model(parameters)
    surprise = data.values - predicted - slopes @ (prior.mean - parameters)
    weights = _weights(data.facts, slopes, surprise, data.noise, prior.covariance)
    covariance = np.zeros_like(prior.covariance)
    across = slopes @ prior.covariance
    for scale, weight in zip(_SCALES, weights, strict=True):
        factor = _factor(data.facts, slopes, data.noise, prior.covariance, scale)
        learned = whitened(factor, across)
        covariance += weight * (prior.covariance - learned.T @ learned)
    return DeliveryFit(
        parameters=parameters,
        covariance=covariance,
        prior=prior,
        clubs=data.facts,
        scales=_SCALES,
        weights=weights,
        surprise=surprise,
        slopes=slopes,
        noise=data.noise,
        run_share=data.run_share(predicted),
        converged=bool(found.success),
    )


class _Data:
    """What is known of a golfer: values ``(m,)``, their noise, and the model of them."""

    def __init__(
        self, clubs: Sequence[Club], handicap_index: float, known: tuple[Club, Delivery] | None
    ) -> None:
        self.facts = facts_of(clubs)
        patterns = [club.pattern for club in clubs if club.pattern is not None]
        carries = np.array([pattern.carry_m for pattern in patterns])
        runs = [pattern.run_m for pattern in patterns]
        self._ran = np.flatnonzero([run is not None for run in runs])
        run = np.array([run for run in runs if run is not None], dtype=float)
        errors = [_carry_error(club, handicap_index) ** 2 for club in clubs]
        values = [*np.log(carries), *np.log(run + ASSUMED_RUN_FLOOR_M)]
        shared = len(errors) + np.arange(len(run))
        errors += [ASSUMED_RUN_ERRORS[0] ** 2] * len(run)

        self._known = None if known is None else facts_of([known[0]])
        self._told: list[int] = []
        if known is not None:
            told = (math.log(known[1].speed_mps), known[1].attack, known[1].loft_taken_off)
            error = (ASSUMED_SPEED_ERROR, ASSUMED_ANGLE_ERROR, ASSUMED_ANGLE_ERROR)
            self._told = [i for i, value in enumerate(told) if value is not None]
            values += [value for value in told if value is not None]
            errors += [error[i] ** 2 for i in self._told]

        scatter = _scatter(clubs, handicap_index)
        self._has_scatter = scatter is not None
        if scatter is not None:
            values.append(scatter + handicap_prior(handicap_index).mean[STRIKE])
            errors.append(ASSUMED_STRIKE_FROM_SPREAD_ERROR**2)
        self.values = np.array(values)
        self.noise = np.diag(errors)
        self.noise[np.ix_(shared, shared)] += ASSUMED_RUN_ERRORS[1] ** 2

    def model(self, parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What the data would be ``(m,)``, and the slopes ``(m, p)``."""
        carry, run, by_carry, by_run = log_carries(parameters, self.facts)
        values = [carry, np.log(run[self._ran] + ASSUMED_RUN_FLOOR_M)]
        slopes = [by_carry, by_run[self._ran]]
        if self._known is not None:
            now = delivered(parameters, self._known)
            # A head speed is measured before impact: what the strike costs is not in it.
            by_speed = now.slopes[0, 0] * (np.arange(len(PARAMETERS)) != STRIKE)
            every = np.array((by_speed @ parameters, now.attack[0], now.loft_off[0]))
            values.append(every[self._told])
            slopes.append(np.vstack((by_speed, now.slopes[1:, 0]))[self._told])
        if self._has_scatter:
            values.append(parameters[STRIKE:])
            slopes.append(np.eye(len(PARAMETERS))[STRIKE:])
        return np.concatenate(values), np.vstack(slopes)

    def run_share(self, predicted: FloatArray) -> float:
        """Posterior mean of what the runs have in common, given all predictions ``(m,)``."""
        own, common = (error**2 for error in ASSUMED_RUN_ERRORS)
        start, count = len(self.facts.kinds), len(self._ran)
        more = (self.values - predicted)[start : start + count]
        return math.exp(common * float(more.sum()) / (own + count * common))


def _carry_error(club: Club, handicap_index: float) -> float:
    """Standard error of the log of a mean carry."""
    pattern = club.pattern
    assert pattern is not None
    share = skill.full_swing_skill(club.kind, club.loft, handicap_index).carry_sd
    if pattern.carry_sd_m is not None:
        share = pattern.carry_sd_m / pattern.carry_m
    shots = ASSUMED_SHOTS if pattern.shots is None else pattern.shots
    return math.hypot(share / math.sqrt(shots), ASSUMED_LEAST_CARRY_ERROR)


def _scatter(clubs: Sequence[Club], handicap_index: float) -> float | None:
    """Mean log of the clubs' carry deviations over the typical ones, None if none is known."""
    ratios = [
        math.log(
            club.pattern.carry_sd_m
            / club.pattern.carry_m
            / skill.full_swing_skill(club.kind, club.loft, handicap_index).carry_sd
        )
        for club in clubs
        if club.pattern is not None and club.pattern.carry_sd_m is not None
    ]
    return sum(ratios) / len(ratios) if ratios else None


def _factor(
    clubs: ClubFacts, slopes: FloatArray, noise: FloatArray, prior: FloatArray, scale: float
) -> FloatArray:
    spread = noise + slopes @ prior @ slopes.T
    count = len(clubs.kinds)
    spread[:count, :count] += scale**2 * discrepancy(clubs, clubs, same=True)
    return np.asarray(cholesky(spread, lower=True))


def _weights(
    clubs: ClubFacts,
    slopes: FloatArray,
    surprise: FloatArray,
    noise: FloatArray,
    prior: FloatArray,
) -> FloatArray:
    """Posterior probability of every size of the discrepancy."""
    logs = -0.5 * (np.log(_SCALES) / ASSUMED_LOG_SCALE_SD) ** 2
    for i, scale in enumerate(_SCALES):
        factor = _factor(clubs, slopes, noise, prior, scale)
        off = whitened(factor, surprise)
        logs[i] -= 0.5 * off @ off + np.log(np.diag(factor)).sum()
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())
