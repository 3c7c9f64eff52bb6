"""Numbers and choices in a golfer's words, the same on the page, the card and the terminal."""

from __future__ import annotations

import math

from planner.ball.conditions import Conditions
from planner.golfer.shot_outcome import SwingStyle
from planner.strategy.advice import TIE_STROKES, HolePlan, Shares, Shot
from planner.units import COMPASS_POINTS, M_PER_FT, MPS_PER_MPH, DistanceUnit

__all__ = [
    "PREDICTED_CLUBS",
    "SHARE_NAMES",
    "aim_offset",
    "chances",
    "conditions",
    "cost",
    "difference",
    "distance",
    "margin",
    "percent",
    "plays_like",
    "plays_like_parts",
    "shot_name",
    "small_change",
    "strokes",
    "what_to_hit",
    "where_to_aim",
]

SHARE_NAMES = (
    ("fairway", "fairway"),
    ("green", "green"),
    ("rough", "rough"),
    ("deep_rough", "deep rough"),
    ("sand", "sand"),
    ("trees", "trees"),
    ("penalty", "penalty area"),
    ("out_of_bounds", "out of bounds"),
)
"""Fields of :class:`Shares` that add up to one, and their names."""

PREDICTED_CLUBS = (
    "A club that was not measured is predicted from those that were, by its loft, length, kind and "
    "the inertia of its head, through the golfer's own delivery. A shaft of another flex, weight "
    "or make changes nothing here unless it changes head speed, attack angle, loft at impact or "
    "strike: hit the club and measure."
)
"""What predictions know of a club, and what they do not."""
MISHIT_NAME = "mishit (any of these)"


def distance(metres: float, unit: DistanceUnit) -> str:
    """Whole units with their symbol, for instance ``"187 yd"``."""
    return f"{unit.from_metres(metres):.0f}\u00a0{unit.symbol}"


def strokes(value: float) -> str:
    """Strokes with two decimals, the accuracy to which hole values are held."""
    return "not known" if math.isnan(value) else f"{value:.2f}"


def percent(share: float) -> str:
    """Write a chance in whole per cent; small ones are not rounded away."""
    if share < 0.0005:
        return "0\u00a0%"
    if share < 0.01:
        return "<1\u00a0%"
    if 0.99 < share < 0.9995:
        return ">99\u00a0%"
    return f"{100 * share:.0f}\u00a0%"


def cost(value: float) -> str:
    """Strokes that a choice costs more than the best; below the tie limit it is a tie."""
    return "tie" if abs(value) < TIE_STROKES else f"{value:+.2f}"


def difference(name: str, more: float) -> str:
    """Say how many strokes more or fewer something named takes; a tie is called a tie."""
    if abs(more) < TIE_STROKES:
        return f"A tie: less than {TIE_STROKES:.2f} strokes apart."
    return f"{name}: {strokes(abs(more))} strokes {'more' if more > 0 else 'fewer'}."


def small_change(value: float) -> str:
    """Strokes that a small change costs or saves, as far as they can be told."""
    if not math.isfinite(value):
        return "out of play"
    return "no change" if abs(value) < 0.005 else f"{value:+.2f}"


def shot_name(shot: Shot, unit: DistanceUnit) -> str:
    """Club, and for less than a full swing how it is played and how far it carries."""
    if shot.swing == -2:
        return "Unplayable ball: drop"
    if shot.style is SwingStyle.FULL:
        return shot.club
    return f"{shot.club}, {shot.style.value} to {distance(shot.carry_m, unit)}"


def aim_offset(offset_m: float, unit: DistanceUnit) -> str:
    """Side and distance from the line of play."""
    if round(abs(unit.from_metres(offset_m))) == 0:
        return "on the line of play"
    side = "right" if offset_m > 0 else "left"
    return f"{distance(abs(offset_m), unit)} {side} of the line of play"


def what_to_hit(shot: Shot, unit: DistanceUnit) -> str:
    """Say the club as an instruction with its carry."""
    if shot.swing == -2:
        return "Declare the ball unplayable and drop"
    if shot.style is SwingStyle.FULL:
        return f"{shot.club}, carries {distance(shot.carry_m, unit)}"
    return shot_name(shot, unit)


def plays_like(shot: Shot, unit: DistanceUnit) -> str:
    """Say what the distance plays like, for instance ``"138 m plays like 152 m"``.

    Empty where slope and weather make no whole unit's difference.
    """
    found = shot.plays_like
    if found is None:
        return ""
    ground, usual = distance(found.ground_m, unit), distance(found.total_m, unit)
    return "" if ground == usual else f"{ground} plays like {usual}"


def plays_like_parts(shot: Shot, unit: DistanceUnit) -> str:
    """Say how much of it is the slope and how much wind and air; empty like the above."""
    found = shot.plays_like
    if found is None or not plays_like(shot, unit):
        return ""
    parts = (("slope", found.slope_m), ("wind and air", found.weather_m))
    said = [
        f"{name} {unit.from_metres(value):+.0f}\u00a0{unit.symbol}"
        for name, value in parts
        if round(abs(unit.from_metres(value)))
    ]
    return f"{plays_like(shot, unit)} ({', '.join(said)})" if said else plays_like(shot, unit)


def where_to_aim(shot: Shot, unit: DistanceUnit) -> str:
    """Aim point as a golfer says it, its place beside the line of play and its azimuth."""
    if shot.aim is None:
        return ""
    azimuth = round(math.degrees(shot.aim.azimuth)) % 360
    place = aim_offset(shot.aim.offset_m, unit)
    words = shot.aim.words.strip()
    first = [words] if words and words != place else []
    return "; ".join([*first, place, f"bearing {azimuth:03d}°"])


def conditions(day: Conditions, unit: DistanceUnit = DistanceUnit.METRES) -> str:
    """Weather, and of altitude and turf only what is not usual.

    Speeds and heights go with the unit of distances: m/s and m, or mph and ft.
    """
    metric, usual = unit is DistanceUnit.METRES, Conditions()
    parts = [_wind(day, metric=metric), f"{day.temperature_c:.0f}\u00a0°C"]
    if day.altitude_m != usual.altitude_m:
        height = day.altitude_m if metric else day.altitude_m / M_PER_FT
        parts.append(f"{height:.0f}\u00a0{'m' if metric else 'ft'} above the sea")
    if day.firmness != usual.firmness:
        parts.append(f"turf {day.firmness:g}\u00a0times as firm as usual")
    if day.green_speed_ft != usual.green_speed_ft:
        parts.append(f"greens {day.green_speed_ft:g}\u00a0ft")
    if day.rough_length_m != usual.rough_length_m:
        parts.append(f"rough {100 * day.rough_length_m:.0f}\u00a0cm")
    return ", ".join(parts)


def _wind(day: Conditions, *, metric: bool) -> str:
    if day.wind_from is None or day.is_still:
        return "still air"
    speed = day.wind_speed if metric else day.wind_speed / MPS_PER_MPH
    turn = round(day.wind_from / math.tau * len(COMPASS_POINTS))
    point = COMPASS_POINTS[turn % len(COMPASS_POINTS)]
    return f"wind {speed:.2g}\u00a0{'m/s' if metric else 'mph'} from {point}"


def margin(plan: HolePlan, unit: DistanceUnit) -> str:
    """Say what the runner-up from the tee costs; a tie is called a tie."""
    if not plan.others:
        return "No other club can be played from here."
    tied = plan.tied
    if tied:
        names = _listed([shot_name(shot, unit) for shot in tied])
        return f"A tie with {names}: less than {TIE_STROKES:.2f} strokes apart. Play what you like."
    runner_up = plan.others[0]
    return f"Next best: {shot_name(runner_up, unit)}, {strokes(runner_up.cost)} strokes more."


def chances(shares: Shares) -> tuple[tuple[str, float], ...]:
    """Name and chance of every place where the ball can end, then the mishits among them."""
    found = [(name, float(getattr(shares, key))) for key, name in SHARE_NAMES]
    return (*found, (MISHIT_NAME, shares.mishit))


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
