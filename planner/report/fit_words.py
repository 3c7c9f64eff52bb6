"""Fits of a shot log in words, the same on the page and in the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from planner.golfer.club_fits import ClubFit, LogFit
from planner.golfer.pattern_fit import Estimate
from planner.golfer.shot_log import LogReading
from planner.golfer.shot_log_columns import LogColumns
from planner.report import words
from planner.units import DistanceUnit

__all__ = [
    "FEW_SHOTS_SAID",
    "FIT_HEADINGS",
    "columns_said",
    "few_said",
    "fit_cells",
    "fit_remarks",
    "interval_said",
    "reading_said",
]

FIT_HEADINGS = ("Shots", "Carry", "Spread", "Offline", "Sideways spread", "Mishits")
"""Columns of the table of fits, after the club."""
FEW_SHOTS_SAID = "few shots"


def reading_said(reading: LogReading) -> str:
    """Say how many shots were read, from how many days, and how many rows were left out."""
    log = reading.log
    parts = [f"{len(log)} {_shots(len(log))}"]
    if log.days:
        parts[0] += f" on {log.days} {'day' if log.days == 1 else 'days'}"
    left_out = len({fault.line for fault in reading.rejected})
    if left_out:
        parts.append(f"{left_out} {'row' if left_out == 1 else 'rows'} left out")
    return ", ".join(parts)


def columns_said(columns: LogColumns) -> str:
    """Say which column is read as what."""
    return ", ".join(
        f'{field} from "{heading}"' + (f" in {unit}" if unit else "")
        for field, heading, unit in columns.said()
    )


def fit_cells(found: ClubFit, unit: DistanceUnit) -> tuple[tuple[str, str], ...]:
    """Value and 90 % interval for each of ``FIT_HEADINGS``; shots have none."""
    fit = found.fit
    return (
        (f"{fit.shots}", ""),
        _distances(fit.mean_carry, unit),
        _distances(fit.carry_sd, unit, decimals=1),
        (_side(fit.offline.value, unit), _between(fit.offline, unit)),
        _distances(fit.offline_sd, unit, decimals=1),
        (
            words.percent(fit.mishit_share.value),
            f"{100 * fit.mishit_share.low:.0f} to {100 * fit.mishit_share.high:.0f}\u00a0%",
        ),
    )


def interval_said(unit: DistanceUnit, *, place: str = "Below each value") -> str:
    """Explain the table; ``place`` says where its intervals stand."""
    return (
        f"Carry, spread and offline are those of solid shots in {unit.value}; spread is one "
        "standard deviation. Below each value: the interval in which it lies with nine chances "
        "in ten."
    )


def few_said(fits: LogFit) -> str:
    """Name the fits that rest on few shots and say what that means; empty if there are none."""
    few = [f"{found.title} ({found.fit.shots})" for found in fits.clubs if found.few]
    if not few:
        return ""
    return (
        f"few shots: {', '.join(few)}. These are mostly what is usual for the handicap, with wide "
        "intervals and a wide pattern"
    )


def fit_remarks(found: ClubFit) -> Sequence[str]:
    """What has to be known about one fit, one line each; nothing for a plain one."""
    fit = found.fit
    remarks = []
    if not fit.converged:
        remarks.append(f"the fit did not settle in {fit.iterations} steps; do not rely on it")
    if found.lie is not None:
        remarks.append("not written to the bag, which holds one pattern a club, from a good lie")
    return (*remarks, *found.notes)


def _shots(count: int) -> str:
    return "shot" if count == 1 else "shots"


def _distances(estimate: Estimate, unit: DistanceUnit, decimals: int = 0) -> tuple[str, str]:
    value, low, high = (
        f"{unit.from_metres(each):.{decimals}f}"
        for each in (estimate.value, estimate.low, estimate.high)
    )
    return f"{value}\u00a0{unit.symbol}", f"{low} to {high}"


def _side(metres: float, unit: DistanceUnit, *, symbol: bool = True) -> str:
    size = abs(round(unit.from_metres(metres)))
    shown = f"{size}\u00a0{unit.symbol}" if symbol else f"{size}"
    return shown if size == 0 else f"{shown} {'right' if metres > 0 else 'left'}"


def _between(estimate: Estimate, unit: DistanceUnit) -> str:
    low, high = (_side(each, unit, symbol=False) for each in (estimate.low, estimate.high))
    side = low.partition(" ")[2]
    if side and side == high.partition(" ")[2]:
        # Both ends on one side: the side is said once.
        return f"{low.partition(' ')[0]} to {high}"
    return f"{low} to {high}"
