"""A shot log and its fits as JSON content, in metres."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from planner.golfer.club_fits import ClubFit, LogFit
from planner.golfer.pattern_fit import Estimate
from planner.golfer.shot_log import LogReading

__all__ = ["fit_as_json"]

ESTIMATES = ("mean_carry", "carry_sd", "offline", "offline_sd", "correlation", "mishit_share")


def fit_as_json(reading: LogReading, fits: LogFit, notes: tuple[str, ...]) -> dict[str, Any]:
    """Everything that was read and fitted; intervals hold nine chances in ten."""
    return {
        "source": reading.text.source,
        "encoding": reading.text.encoding,
        "separator": reading.text.separator,
        "columns": [
            {"field": field, "heading": heading, "unit": unit or None}
            for field, heading, unit in reading.columns.said()
        ],
        "shots": len(reading.log),
        "days": reading.log.days,
        "rejected": [asdict(fault) for fault in reading.rejected],
        "converged": fits.converged,
        "fits": [_fit(found) for found in fits.clubs],
        "notes": [*reading.notes, *notes],
    }


def _fit(found: ClubFit) -> dict[str, Any]:
    fit, pattern = found.fit, found.fit.pattern
    return {
        "club": found.club.label,
        "lie": "good" if found.lie is None else found.lie.words,
        "shots": fit.shots,
        "effective_shots": round(fit.effective_shots, 2),
        "few_shots": found.few,
        "days": found.days,
        "converged": fit.converged,
        "iterations": fit.iterations,
        **{name: _estimate(getattr(fit, name)) for name in ESTIMATES},
        "run": found.run_m,
        "pattern": [
            {
                "name": name,
                "share": float(pattern.weights[i]),
                "mean": pattern.means[i].tolist(),
                "covariance": pattern.covariances[i].tolist(),
            }
            for i, name in enumerate(pattern.names)
        ],
        "notes": list(found.notes),
    }


def _estimate(estimate: Estimate) -> dict[str, float]:
    return {"value": estimate.value, "low": estimate.low, "high": estimate.high}
