"""How far a club will carry that the golfer never hit, with an interval.

The prediction of :func:`predict_carries` is the delivery's carry for that club plus what the
discrepancies of the clubs that were hit say about its own. Its interval holds what is not known
of the delivery and what no delivery knows of a club; it widens away from the clubs that were hit.

A prediction asks for loft, length, kind and, where it is known, the inertia of the head. Nothing
else of a club is in the physics: a shaft of another flex changes nothing here unless it changes
the speed of the head or how it is delivered.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from planner.golfer.bag import Delivery
from planner.golfer.club import Club, ClubKind
from planner.golfer.delivery_fit import (
    DeliveryFit,
    discrepancy,
    fit_delivery,
    log_carries,
    whitened,
)
from planner.golfer.delivery_model import delivered, facts_of

__all__ = [
    "CarryPrediction",
    "fit_bag",
    "leave_one_out",
    "predict_carries",
]

FloatArray = NDArray[np.float64]

INTERVAL = 0.90
"""Probability of the intervals."""


@dataclass(frozen=True)
class CarryPrediction:
    """Predicted mean carry of the stock shot with one club, in still standard air.

    Parameters
    ----------
    label
        The club.
    carry_m
        Median of the prediction [m].
    low_m, high_m
        Ends of its interval of probability ``INTERVAL`` [m].
    log_sd
        Standard deviation of the log of the carry.
    delivery_carry_m
        What the fitted delivery alone gives, without the discrepancies of its neighbours [m].
    club_speed
        Speed of the head [m/s], less what strikes beside the centre cost.
    attack, loft_taken_off
        How the club comes to the ball [rad].
    run_share
        Run over the flight's run that the golfer's measured runs have in common.
    """

    label: str
    carry_m: float
    low_m: float
    high_m: float
    log_sd: float
    delivery_carry_m: float
    club_speed: float
    attack: float
    loft_taken_off: float
    run_share: float


def predict_carries(fit: DeliveryFit, clubs: Sequence[Club]) -> tuple[CarryPrediction, ...]:
    """Predict clubs, putters excepted, as if none of them had been measured.

    Returns
    -------
    One for each club.
    """
    if not clubs:
        return ()
    facts = facts_of(clubs)
    now = delivered(fit.parameters, facts)
    carry, _, slopes, _ = log_carries(fit.parameters, facts)
    prior = fit.prior.covariance
    expected = carry + slopes @ (fit.prior.mean - fit.parameters)
    count = len(fit.clubs.kinds)
    field = discrepancy(fit.clubs, facts)
    alone = np.diag(discrepancy(facts, facts, same=True))
    known = np.einsum("np,pq,nq->n", slopes, prior, slopes)
    means, variances = [], []
    for scale in fit.scales:
        factor = fit.gain(float(scale))
        across = fit.slopes @ prior @ slopes.T
        across[:count] += scale**2 * field
        learned = whitened(factor, across)
        off = whitened(factor, fit.surprise)
        means.append(expected + learned.T @ off)
        variances.append(known + scale**2 * alone - (learned**2).sum(axis=0))
    mean = fit.weights @ np.array(means)
    variance = fit.weights @ (np.array(variances) + (np.array(means) - mean) ** 2)
    sd = np.sqrt(variance)
    reach = float(ndtri(0.5 + INTERVAL / 2.0)) * sd
    return tuple(
        CarryPrediction(
            label=club.label,
            carry_m=float(np.exp(mean[i])),
            low_m=float(np.exp(mean[i] - reach[i])),
            high_m=float(np.exp(mean[i] + reach[i])),
            log_sd=float(sd[i]),
            delivery_carry_m=float(np.exp(carry[i])),
            club_speed=float(np.exp(now.log_speed[i])),
            attack=float(now.attack[i]),
            loft_taken_off=float(now.loft_off[i]),
            run_share=fit.run_share,
        )
        for i, club in enumerate(clubs)
    )


def fit_bag(
    clubs: Sequence[Club],
    handicap_index: float,
    *,
    delivery: Delivery | None = None,
    start: FloatArray | None = None,
) -> DeliveryFit | None:
    """Fit the delivery to all that is known of some clubs; None if nothing is.

    ``delivery`` counts if its club is among them; ``start`` is for :func:`fit_delivery`.
    """
    measured = [c for c in clubs if c.pattern is not None and c.kind is not ClubKind.PUTTER]
    known = None
    if delivery is not None:
        wanted = delivery.club.casefold()
        named = [c for c in clubs if c.label.casefold() == wanted and c.kind is not ClubKind.PUTTER]
        known = (named[0], delivery) if named else None
    if not measured and known is None:
        return None
    return fit_delivery(measured, handicap_index, known=known, start=start)


def leave_one_out(
    clubs: Sequence[Club], handicap_index: float, *, delivery: Delivery | None = None
) -> tuple[CarryPrediction, ...]:
    """Predict every measured club from all others, in their order."""
    found: list[CarryPrediction] = []
    whole = fit_bag(clubs, handicap_index, delivery=delivery)
    if whole is None:
        return ()
    for club in clubs:
        if club.pattern is None or club.kind is ClubKind.PUTTER:
            continue
        others = [c if c is not club else dataclasses.replace(c, pattern=None) for c in clubs]
        fit = fit_bag(others, handicap_index, delivery=delivery, start=whole.parameters)
        if fit is not None:
            found += predict_carries(fit, [club])
    return tuple(found)
