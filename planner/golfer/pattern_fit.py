"""Fit of a shot pattern to a golfer's own shots, with the skill model as prior.

Model
-----
A shot with one club from one lie belongs to the stock component or to one of the mishits of the
prior pattern, in shares w; component j is normal with mean μ_j and covariance Σ_j. Very few
records (``stray_share``) are no shot of this club at all and lie anywhere. Shares, means and
covariances have Dirichlet, joint normal and inverse-Wishart priors centred on the pattern that
the skill model predicts; ``pattern_prior`` says how wide they are and ``normal_mixture`` gives
the formulas and their sources (penalised EM after Fraley & Raftery 2007; conjugate blocks after
Murphy 2007). The prior on the means is not tied to the covariances, because the level of a
golfer's carry says little about his scatter; mishits move along with the stock shot.

Method
------
Penalised EM climbs to the most probable pattern from three starts: the prior as it is, and the
prior moved to the middle and to the upper quartile of the shots. It gives the responsibilities.
From there Gibbs chains (``mixture_draws``) draw from the posterior. Intervals are quantiles of the
draws: a normal approximation at the maximum is too narrow for the few shots most clubs have, and
blind to shots that may or may not be mishits. The pattern is the posterior predictive:

    weight_j = E[w_j],   mean_j = E[w_j μ_j] / weight_j,
    covariance_j = E[w_j (Σ_j + μ_j μ_j')] / weight_j - mean_j mean_j'

so that mean and covariance of the whole pattern are those of the golfer's next shot, what is not
known about him included. Without shots this is the prior widened by its own doubt.

The result is a function of the shots as a set: they are put in an order of their own, and into
the one of two mirror images that comes first, before anything is summed or drawn.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.golfer.pattern_prior import PriorStrength, mixture_prior
from planner.golfer.shot_pattern import ShotPattern
from planner.numerics.mixture_draws import MixtureDraws, sweep
from planner.numerics.normal_mixture import Climb, Mixture, MixturePrior, climb, features

__all__ = ["Estimate", "PatternFit", "PatternFitWarning", "PriorStrength", "fit_pattern"]

FloatArray = NDArray[np.float64]

DEFAULT_SEED = 1
_FLIP = np.array([1.0, -1.0])
_TAILS = (0.05, 0.5, 0.95)
_FARTHEST = 1e3
"""Records beyond this many stock carries are moved to it: as stray there as anywhere."""

_BURN_IN = 40
_ROUND = 40
_MOST_ROUNDS = 6
"""Sweeps dropped, sweeps of one round, and rounds at most. Chains forget their start in 1 to 55
sweeps (integrated autocorrelation time, measured on 5 to 5000 shots of simulated golfers)."""
_MOST_DRAWN = 6_000_000
"""No further round when chains times shots times sweeps have reached this."""
_CHAINS = (16, 64)
_CHAIN_SHOTS = 16_000
"""Fewest and most chains, and shots times chains to aim at in between."""
_ENOUGH = 0.1
_UNSETTLED = 0.3
"""Monte Carlo error of a posterior mean, over the posterior deviation: rounds stop below the
first; above the second, after the last round, the fit counts as not converged."""


class PatternFitWarning(UserWarning):
    """A fit did not settle within its iterations; its numbers are provisional."""


@dataclass(frozen=True)
class Estimate:
    """Posterior median, and the ends of the central 90 % credible interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class PatternFit:
    """Shot pattern fitted to shots.

    Parameters
    ----------
    pattern
        Posterior predictive pattern, components named as in the prior: what the next shot may do,
        so that few shots give a wide pattern. Plan with this one.
    mean_carry, offline
        Mean carry and mean offline (+ right) of the stock shot [m].
    carry_sd, offline_sd
        Standard deviations of the stock shot [m].
    correlation
        Correlation of carry and offline in the stock shot.
    mishit_share
        Share of all shots that are mishits.
    overall_carry, overall_offline
        Mean carry and mean offline of all shots, mishits included [m].
    overall_carry_sd, overall_offline_sd
        Standard deviations of all shots, mishits included [m].
    responsibilities
        Chance that each shot belongs to each component of the pattern, shape ``(n, k)``, in the
        order of the shots given. A row adds up to 1 less its ``stray``.
    stray
        Chance that a record is no shot with this club (a typing error), shape ``(n,)``.
    shots
        Number of shots given, n.
    effective_shots
        Expected number of them that are stock shots: what the stock figures rest on.
    converged
        Whether the climb to the most probable pattern and the intervals both settled.
    iterations
        Steps of the climb.
    """

    pattern: ShotPattern
    mean_carry: Estimate
    offline: Estimate
    carry_sd: Estimate
    offline_sd: Estimate
    correlation: Estimate
    mishit_share: Estimate
    overall_carry: Estimate
    overall_offline: Estimate
    overall_carry_sd: Estimate
    overall_offline_sd: Estimate
    responsibilities: FloatArray
    stray: FloatArray
    shots: int
    effective_shots: float
    converged: bool
    iterations: int


_QUANTITIES = (
    ("mean_carry", 1, False),
    ("offline", 1, True),
    ("carry_sd", 1, False),
    ("offline_sd", 1, False),
    ("correlation", 0, True),
    ("mishit_share", 0, False),
    ("overall_carry", 1, False),
    ("overall_offline", 1, True),
    ("overall_carry_sd", 1, False),
    ("overall_offline_sd", 1, False),
)
"""Estimated quantities: name, power of a length, whether a mirror turns the sign."""


def fit_pattern(
    points_m: ArrayLike,
    prior: ShotPattern,
    *,
    strength: PriorStrength | None = None,
    seed: int = DEFAULT_SEED,
    max_iterations: int = 2000,
) -> PatternFit:
    """Fit the pattern of one club from one lie to shots, with ``prior`` for what they do not say.

    Parameters
    ----------
    points_m
        (along, across) of each carry from the ball and aim line [m], + right, shape ``(n, 2)``,
        finite. n may be 0. All shots belong in, the bad ones above all.
    prior
        Pattern predicted for this golfer and club; its first component is the stock shot.
    strength
        How far golfers may differ from the prior; as assumed if None.
    seed
        Seed of the draws behind the intervals. The same shots, in any order, and the same seed
        give the same result.
    max_iterations
        Most steps of the climb.

    Raises
    ------
    ValueError
        If the shots are not finite pairs, or the prior has no positive stock carry or a share
        of zero.

    Warns
    -----
    PatternFitWarning
        If the fit is not ``converged``.
    """
    points = np.array(points_m, dtype=float)
    if points.size == 0:
        points = points.reshape(0, 2)
    if points.ndim != 2 or points.shape[1] != 2 or not np.isfinite(points).all():
        raise ValueError(f"points_m must be finite with shape (n, 2), got shape {points.shape}")
    strength = strength or PriorStrength()
    side = _side(points, prior)
    if side < 0:
        points, prior = points * _FLIP, prior.mirrored()
    unit = float(prior.means[0, 0])
    parts = mixture_prior(prior, strength)
    order = np.lexsort((points[:, 1], points[:, 0]))
    ordered = np.clip(points[order] / unit, -_FARTHEST, _FARTHEST)

    found = climb(ordered, parts, _starts(ordered, prior), max_iterations=max_iterations)
    draws, settled = _draws(ordered, parts, found, symmetric=side == 0, seed=seed)
    converged = found.converged and settled
    if not converged:
        what = "the intervals" if found.converged else f"the climb in {max_iterations} steps"
        warnings.warn(
            f"fit of {len(points)} shots: {what} did not settle; its numbers are provisional",
            PatternFitWarning,
            stacklevel=2,
        )
    responsibilities = np.empty_like(found.responsibilities)
    responsibilities[order] = found.responsibilities
    return PatternFit(
        pattern=_predictive(draws, prior.names, unit, side),
        **_estimates(_quantities(draws), unit, side),
        responsibilities=responsibilities,
        stray=1.0 - responsibilities.sum(1),
        shots=len(points),
        effective_shots=float(found.responsibilities[:, 0].sum()),
        converged=converged,
        iterations=found.iterations,
    )


def _side(points: FloatArray, prior: ShotPattern) -> int:
    """1 if shots and prior are worked on as they are, -1 if mirrored, 0 if both are the same."""
    for one, other in zip(
        _as_row(points, prior), _as_row(points * _FLIP, prior.mirrored()), strict=True
    ):
        differ = np.flatnonzero(one != other)
        if len(differ):
            return 1 if one[differ[0]] > other[differ[0]] else -1
    return 0


def _as_row(points: FloatArray, prior: ShotPattern) -> tuple[FloatArray, FloatArray, FloatArray]:
    order = np.lexsort((points[:, 1], points[:, 0]))
    return prior.means[:, 1], prior.covariances[:, 0, 1], points[order, 1]


def _starts(points: FloatArray, prior: ShotPattern) -> Mixture:
    """The prior at its own level and at two levels of the shots, in stock carries."""
    unit = float(prior.means[0, 0])
    means = prior.means / unit
    levels = [(1.0, 0.0)]
    if len(points):
        across = float(np.median(points[:, 1])) - means[0, 1]
        levels += [(float(np.quantile(points[:, 0], q)), across) for q in (0.5, 0.75)]
    moved = np.array(
        [means * (max(along, 0.05), 1.0) + np.outer(means[:, 0], (0.0, a)) for along, a in levels]
    )
    count = len(levels)
    return Mixture(
        np.repeat(prior.weights[None], count, axis=0),
        moved,
        np.repeat(prior.covariances[None] / unit**2, count, axis=0),
    )


def _draws(
    points: FloatArray, parts: MixturePrior, found: Climb, *, symmetric: bool, seed: int
) -> tuple[MixtureDraws, bool]:
    """Posterior draws, and whether they are enough."""
    terms = features(points)
    rng = np.random.default_rng(seed)
    chains = int(np.clip(_CHAIN_SHOTS // max(len(points), 1), *_CHAINS))
    state = found.mixture.pick(np.zeros(chains, dtype=np.intp))
    draws = sweep(terms, parts, state, sweeps=_BURN_IN, rng=rng)
    draws = sweep(terms, parts, draws.last, sweeps=_ROUND, rng=rng)
    for _ in range(_MOST_ROUNDS - 1):
        drawn = chains * len(points) * len(draws.weights)
        if drawn >= _MOST_DRAWN or _monte_carlo_error(draws) <= _ENOUGH:
            break
        draws = draws.joined(sweep(terms, parts, draws.last, sweeps=_ROUND, rng=rng))
    settled = _monte_carlo_error(draws) <= _UNSETTLED
    return (draws.joined(draws.mirrored()) if symmetric else draws), settled


def _monte_carlo_error(draws: MixtureDraws) -> float:
    """Largest error of a posterior mean over its deviation, from the chains' own means."""
    values = _quantities(draws)
    error = values.mean(0).std(0, ddof=1) / np.sqrt(values.shape[1])
    deviation = values.std((0, 1))
    # The mishit share of a pattern without mishits does not vary.
    return float(np.divide(error, deviation, out=np.zeros_like(error), where=deviation > 0).max())


def _quantities(draws: MixtureDraws) -> FloatArray:
    """Values of the estimated quantities, shape ``(sweeps, chains, quantities)``."""
    weights, means, covariances = draws.weights, draws.means, draws.covariances
    variance = np.diagonal(covariances, axis1=-2, axis2=-1)
    stock_sd = np.sqrt(variance[..., 0, :])
    overall = np.einsum("sck,scki->sci", weights, means)
    away = means - overall[..., None, :]
    overall_sd = np.sqrt(np.einsum("sck,scki->sci", weights, variance + away**2))
    correlation = covariances[..., 0, 0, 1] / stock_sd.prod(-1)
    mishits = weights[..., 1:].sum(-1)
    return np.concatenate(
        (
            means[..., 0, :],
            stock_sd,
            np.stack((correlation, mishits), axis=-1),
            overall,
            overall_sd,
        ),
        axis=-1,
    )


def _estimates(values: FloatArray, unit: float, side: int) -> dict[str, Estimate]:
    low, middle, high = np.quantile(values, _TAILS, axis=(0, 1))
    found = {}
    for index, (name, power, turns) in enumerate(_QUANTITIES):
        ends = [float(end[index]) * unit**power for end in (low, middle, high)]
        if turns and side < 0:
            ends = [-end for end in reversed(ends)]
        found[name] = Estimate(ends[1], ends[0], ends[2])
    return found


def _predictive(draws: MixtureDraws, names: tuple[str, ...], unit: float, side: int) -> ShotPattern:
    moments = draws.predictive
    pattern = ShotPattern(
        moments.weights / moments.weights.sum(),
        moments.means * unit,
        moments.covariances * unit**2,
        names,
    )
    return pattern.mirrored() if side < 0 else pattern
