"""Where the shot is played from: the tee, a likely next place, or wherever the ball is put."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import streamlit as st

from planner.course.hole import Hole, Point
from planner.course.lies import Ground, Lie
from planner.errors import PlannerError
from planner.page.address import opened_with, put_in_address
from planner.planning.ball_places import (
    BallPlace,
    ball_place,
    place_beside_line,
    within_map,
)
from planner.planning.hole_desk import HoleDesk
from planner.report import words
from planner.report.hole_drawing import LETTERS
from planner.strategy.advice import Shot
from planner.strategy.relief_values import PLAYED_LIES
from planner.units import DistanceUnit

__all__ = ["BALL", "TEE", "Start", "choose_start", "put_ball"]

TEE, BALL = "tee", "ball"
NAMES = {TEE: "tee", BALL: "my ball"}
AS_MAPPED = "as on the map"
SHOWN_CLUBS = 8
FARTHEST = 700
"""Limit of the distance inputs, in either unit."""


@dataclass(frozen=True)
class Start:
    """Where a shot starts: the choice's name, what is said of it, and the shots, best first."""

    place: str
    position_hole: Point
    lie: Lie
    says: str
    listed: tuple[Shot, ...]
    trouble: str = ""


def choose_start(desk: HoleDesk, hole: Hole, unit: DistanceUnit, scope: str) -> Start:
    """Show the choice of places; of a ball put somewhere, the inputs that put it."""
    plan = desk.plan
    places = dict(zip(LETTERS, plan.next_shots, strict=False))
    key = f"place/{scope}"
    ball = _ball(desk, hole, scope)
    options = [TEE, *places, BALL]
    first = opened_with("from", scope)
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        st.markdown("Shot from", width="content")
        place = str(
            st.segmented_control(
                "Shot from",
                options,
                default=first if first in options else TEE,
                required=True,
                key=key,
                format_func=lambda name: NAMES.get(name, name),
                label_visibility="collapsed",
                persist_state="session",
            )
        )
    put_in_address("from", "" if place == TEE else place)
    if place == TEE:
        put_in_address("ball", "")
        best = plan.best
        return Start(place, best.position_hole, best.lie, "", (best, *plan.others))
    if place == BALL:
        return _from_ball(desk, hole, ball, unit, scope)
    put_in_address("ball", "")
    there = places[place]
    says = (
        f"From {place}: {there.place}, {words.distance(there.distance_m, unit)} to the pin. "
        f"{words.percent(there.chance)} of tee shots end near here."
    )
    return _shots(desk, Start(place, there.position_hole, there.lie, says, ()))


def put_ball(scope: str, hole: Hole, position_hole: Point) -> None:
    """Put the ball somewhere; called before the page is run again."""
    if not within_map(hole, position_hole):
        return
    place = ball_place(hole, position_hole)
    st.session_state[f"ball/{scope}"] = position_hole
    st.session_state[f"place/{scope}"] = BALL
    st.session_state[f"lie/{scope}"] = AS_MAPPED
    for unit in DistanceUnit:
        st.session_state[f"to_go/{scope}/{unit.value}"] = round(unit.from_metres(place.to_go_m))
        st.session_state[f"right/{scope}/{unit.value}"] = round(unit.from_metres(place.right_m))


def _ball(desk: HoleDesk, hole: Hole, scope: str) -> Point:
    """Where the ball was put last; at first where the plan's tee shot is aimed."""
    kept: Point | None = st.session_state.get(f"ball/{scope}")
    if kept is not None:
        return kept
    aim = desk.plan.best.aim
    return _read(opened_with("ball", scope), hole) or (
        desk.plan.tee_hole if aim is None else aim.point_hole
    )


def _read(text: str, hole: Hole) -> Point | None:
    """Place in an address, written along and across [m]."""
    try:
        along, across = (float(part) for part in text.split(",")[:2])
    except ValueError:
        return None
    # Comparisons with what is no number are false.
    return (along, across) if within_map(hole, (along, across)) else None


def _from_ball(
    desk: HoleDesk, hole: Hole, position: Point, unit: DistanceUnit, scope: str
) -> Start:
    place = ball_place(hole, position)
    lie = _ball_inputs(hole, place, unit, scope)
    along, across = position
    said = "" if lie is place.lie or lie is None else f",{lie.name.lower()}"
    put_in_address("ball", f"{along:.0f},{across:.0f}{said}")
    away = words.distance(place.to_pin_m, unit)
    if not within_map(hole, position):
        trouble = f"That is too far from this hole, {away} from its pin. Put the ball nearer."
        return Start(BALL, position, Lie.ROUGH, "", (), trouble)
    if lie is not None:
        says = f"Your ball: {lie.words}, {away} to the pin."
        return _shots(desk, Start(BALL, position, lie, says, ()))
    return Start(BALL, position, Lie.ROUGH, "", (), _no_shot(desk, place, unit))


def _ball_inputs(hole: Hole, place: BallPlace, unit: DistanceUnit, scope: str) -> Lie | None:
    """Inputs that do what a tap does; returns the lie, None where no ball is played from."""
    keys = [f"{name}/{scope}/{unit.value}" for name in ("to_go", "right")]
    values = [round(unit.from_metres(value)) for value in (place.to_go_m, place.right_m)]
    moved = partial(_move, keys, scope, hole, unit)
    with st.container(horizontal=True, gap="small"):
        for key, value, label in zip(
            keys,
            values,
            (f"To go along the line, {unit.symbol}", f"Right of it (left -), {unit.symbol}"),
            strict=True,
        ):
            st.session_state.setdefault(key, min(max(value, -FARTHEST), FARTHEST))
            st.number_input(label, -FARTHEST, FARTHEST, step=1, key=key, on_change=moved, width=170)
        named = {lie.name.lower(): lie for lie in PLAYED_LIES}
        opened = opened_with("ball", scope).rpartition(",")[2]
        lies = [AS_MAPPED, *named]
        lie = st.selectbox(
            "Lie",
            lies,
            lies.index(opened) if opened in named else 0,
            format_func=lambda name: name if name == AS_MAPPED else named[name].words,
            key=f"lie/{scope}",
            filter_mode=None,
            width=230,
        )
    return place.lie if lie == AS_MAPPED else named[str(lie)]


def _move(keys: list[str], scope: str, hole: Hole, unit: DistanceUnit) -> None:
    to_go, right = (unit.to_metres(float(st.session_state[key] or 0)) for key in keys)
    st.session_state[f"ball/{scope}"] = place_beside_line(hole, to_go, right)


def _shots(desk: HoleDesk, start: Start) -> Start:
    try:
        listed = desk.best_shots(start.position_hole, start.lie, count=SHOWN_CLUBS)
    except PlannerError as error:
        return Start(start.place, start.position_hole, start.lie, start.says, (), str(error))
    trouble = "" if listed else "No club of this bag can be played from here."
    return Start(start.place, start.position_hole, start.lie, start.says, listed, trouble)


def _no_shot(desk: HoleDesk, place: BallPlace, unit: DistanceUnit) -> str:
    away = words.distance(place.to_pin_m, unit)
    if place.ground is Ground.GREEN:
        putts = float(desk.strokes_at([place.position_hole])[0])
        return f"On the green, {away} from the hole: {words.strokes(putts)} putts to be expected."
    if place.ground is Ground.OUT:
        return "Out of bounds: play again from where the last stroke was made, with one penalty."
    return (
        f"In a {place.ground.area.value}, {away} from the pin. Put the ball where you would drop "
        "it, with one penalty stroke, or choose the lie to play it as it lies."
    )
