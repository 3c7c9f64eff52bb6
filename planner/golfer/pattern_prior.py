"""How far a golfer may differ from the skill model's pattern: the prior for his own shots.

The prior is centred on a pattern (stock shot first, mishits after it). Golfers with one handicap
index and one predicted carry still differ in level, direction, spread and mishits. The numbers
here say by how much, free of units: shares of the carry, of a component's own deviation, or
counts of shots.

With c the prior's stock carry, m_j, V_j and w_j its means, covariances and shares, r_j = m_j,along
/ c (a mishit's carry as a share of the stock carry) and d_j = 0 for the stock shot, 1 for mishits:

    shares             Dirichlet(share_shots · w)
    mean carries       normal round m, covariance (carry_level_sd · c)² r_i r_j
                       + [i = j] d_j mishit_mean_sd² V_j,along
    mean offlines      normal round m, covariance (offline_level_sd)² V_1,across r_i r_j
                       + [i = j] d_j mishit_mean_sd² V_j,across
    covariance j       inverse Wishart with mean V_j; each variance is known as from
                       spread_shots shots (inverse gamma of shape spread_shots / 2)

so that a golfer who carries the club farther, or pulls it, does so with his mishits too.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from planner.golfer.shot_pattern import ShotPattern
from planner.numerics.normal_mixture import MixturePrior

__all__ = ["PriorStrength", "mixture_prior"]

ASSUMED_CARRY_LEVEL_SD = 0.10
"""Deviation of a golfer's stock carry from the predicted one, as a share of it. A carry guessed
from the handicap alone is worse than this, one guessed from the golfer's other clubs better."""
ASSUMED_OFFLINE_LEVEL_SD = 0.5
"""Deviation of the stock shot's mean offline from the predicted one, over the stock offline
deviation: a habitual pull or push is smaller than the scatter round it."""
ASSUMED_MISHIT_MEAN_SD = 0.5
"""Deviation of a mishit's mean, beyond that of the stock shot, over the mishit's deviation."""
ASSUMED_STOCK_SPREAD_SHOTS = 8.0
"""What the predicted stock spread counts for, in shots: golfers of one index differ by about a
quarter in standard deviation, and a deviation from m shots errs by 1 / sqrt(2 m)."""
ASSUMED_MISHIT_SPREAD_SHOTS = 6.0
"""The same for mishits, which differ by about 0.3."""
ASSUMED_SHARE_SHOTS = 25.0
"""What the predicted shares count for, in shots: a short-mishit share of 0.12 is then uncertain
by 0.06 (one standard deviation)."""
ASSUMED_STRAY_SHARE = 0.002
"""Share of records that are no shot with this club: a mistyped number, a wrong label."""
ASSUMED_STRAY_WIDTH = 2.0
"""Strays are taken to lie anywhere with the density of a square of this side, in stock carries.
A shot counts as one of them when it is some four deviations from every part of the pattern."""


@dataclass(frozen=True)
class PriorStrength:
    """Weight of the skill model against the golfer's own shots.

    Parameters
    ----------
    carry_level_sd
        Standard deviation of the stock carry round the prior's, as a share of that carry.
    offline_level_sd
        Standard deviation of the stock mean offline round the prior's, over the prior's stock
        offline deviation.
    mishit_mean_sd
        Standard deviation of each mishit's mean round the prior's, once moved along with the
        stock shot, over the mishit's own deviations.
    stock_spread_shots, mishit_spread_shots
        Number of shots that the prior covariances count for; above 2.
    share_shots
        Number of shots that the prior shares count for.
    stray_share
        Share of records that belong to no component (gross errors), between 0 and 1.
    """

    carry_level_sd: float = ASSUMED_CARRY_LEVEL_SD
    offline_level_sd: float = ASSUMED_OFFLINE_LEVEL_SD
    mishit_mean_sd: float = ASSUMED_MISHIT_MEAN_SD
    stock_spread_shots: float = ASSUMED_STOCK_SPREAD_SHOTS
    mishit_spread_shots: float = ASSUMED_MISHIT_SPREAD_SHOTS
    share_shots: float = ASSUMED_SHARE_SHOTS
    stray_share: float = ASSUMED_STRAY_SHARE

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            least = 2.0 if field.name.endswith("spread_shots") else 0.0
            if not least < value < np.inf:
                raise ValueError(f"{field.name} must be above {least:g} and finite, got {value!r}")
        if self.stray_share >= 1.0:
            raise ValueError(f"stray_share must be below 1, got {self.stray_share!r}")


def mixture_prior(pattern: ShotPattern, strength: PriorStrength) -> MixturePrior:
    """Prior centred on ``pattern``, in units of its stock carry, which must be positive.

    Every share of ``pattern`` must be positive: a kind of mishit it rules out cannot be learnt.
    """
    carry = float(pattern.means[0, 0])
    if carry <= 0:
        raise ValueError(f"the prior's stock carry must be positive, got {carry} m")
    if (pattern.weights <= 0).any():
        raise ValueError(f"every share of the prior must be positive, got {pattern.weights}")
    k = len(pattern.weights)
    means, covariances = pattern.means / carry, pattern.covariances / carry**2
    together = np.outer(means[:, 0], means[:, 0])
    level = np.array([strength.carry_level_sd**2, strength.offline_level_sd**2])
    level[1] *= covariances[0, 1, 1]
    spread = np.zeros((k, 2, k, 2))
    for axis in (0, 1):
        own = strength.mishit_mean_sd**2 * covariances[:, axis, axis]
        own[0] = 0.0
        spread[:, axis, :, axis] = level[axis] * together + np.diag(own)
    # A variance has one degree of freedom less than its 2 by 2 inverse-Wishart matrix.
    degrees = np.full(k, strength.mishit_spread_shots + 1.0)
    degrees[0] = strength.stock_spread_shots + 1.0
    return MixturePrior(
        strength.share_shots * pattern.weights,
        means,
        spread.reshape(2 * k, 2 * k),
        degrees,
        (degrees - 3.0)[:, None, None] * covariances,
        strength.stray_share,
        1.0 / ASSUMED_STRAY_WIDTH**2,
    )
