"""Club and aim as set by the controls or on the drawing, and what they say in words."""

from __future__ import annotations

import streamlit as st

from planner.course.hole import Point
from planner.errors import PlannerError
from planner.page.address import opened_with, put_in_address
from planner.page.ball_choice import TEE, Start
from planner.page.plain import plain
from planner.planning.ball_places import aim_moved_by
from planner.planning.hole_desk import HoleDesk
from planner.report import words
from planner.strategy.advice import Shot
from planner.units import DistanceUnit

__all__ = ["aim_at", "choose_shot", "show_answer"]

WIDEST_AIM = 60
"""Reach of the aim slider to either side [units of distance]."""
NUDGE = 5
"""What the aim's buttons move it by [units of distance]."""


def choose_shot(desk: HoleDesk, start: Start, unit: DistanceUnit, scope: str) -> tuple[Shot, Shot]:
    """Shot as chosen, the recommended one until it is touched; and the same with its best aim."""
    listed = start.listed

    def name(index: int) -> str:
        said = "best" if index == 0 else words.cost(listed[index].cost)
        return f"{words.shot_name(listed[index], unit)} ({said})"

    clubs = [shot.label for shot in listed]
    opened = _opened("club", scope)
    with st.container(border=True):
        index = st.selectbox(
            "Try another club",
            range(len(listed)),
            clubs.index(opened) if opened in clubs else 0,
            format_func=name,
            key=f"club/{scope}/{unit.value}",
            filter_mode=None,
        )
        number = int(index or 0)
        base = listed[number]
        put_in_address("club", clubs[number] if number else "")
        if base.aim is None:
            return base, base
        key = _offset_key(scope, number, unit)
        if key not in st.session_state:
            st.session_state[key] = _read(_opened("aim_right", scope), unit)
        offset = st.slider(
            f"Move the aim, {unit.symbol} left (-) or right (+)",
            -WIDEST_AIM,
            WIDEST_AIM,
            step=1,
            format="%+d",
            key=key,
        )
        put_in_address("aim_right", f"{unit.to_metres(offset):.1f}" if offset else "")
        shot = _aimed(desk, start, base, unit.to_metres(offset) if offset else 0.0)
        _nudges(desk, shot, unit, key)
    return shot, base


def aim_at(base: Shot, start: Start, target_hole: Point, unit: DistanceUnit, scope: str) -> None:
    """Turn the aim line through a place; called before the page is run again."""
    number = next(i for i, shot in enumerate(start.listed) if shot is base)
    right = round(unit.from_metres(aim_moved_by(base, target_hole)))
    st.session_state[_offset_key(scope, number, unit)] = _within(right)


def _aimed(desk: HoleDesk, start: Start, base: Shot, right_m: float) -> Shot:
    if base.aim is None or (right_m == 0.0 and base.pattern is not None):
        return base
    try:
        return desk.evaluate(
            start.position_hole, start.lie, base.club, base.aim.beside(right_m), swing=base.swing
        )
    except PlannerError as error:
        st.warning(f"{plain(str(error))} Shown is the best aim of this club.")
        return base


def _nudges(desk: HoleDesk, shot: Shot, unit: DistanceUnit, key: str) -> None:
    """Two buttons that say what a small step to either side costs, and take it."""
    step = unit.to_metres(NUDGE)
    left, right = desk.aim_costs(shot, (-step, step))
    with st.container(horizontal=True, gap="small"):
        for by, side, cost in ((-NUDGE, "left", left), (NUDGE, "right", right)):
            said = words.small_change(cost)
            st.button(
                f"{NUDGE} {unit.symbol} {side}: {said}",
                key=f"{side}/{key}",
                on_click=_nudge,
                args=(key, by),
                help=f"Strokes that {NUDGE} {unit.value} further {side} cost; press to move there.",
            )


def _nudge(key: str, by: int) -> None:
    st.session_state[key] = _within(st.session_state[key] + by)


def _within(offset: int) -> int:
    return min(max(offset, -WIDEST_AIM), WIDEST_AIM)


def _offset_key(scope: str, number: int, unit: DistanceUnit) -> str:
    return f"offset/{scope}/{number}/{unit.value}"


def _opened(name: str, scope: str) -> str:
    """What an address says of the shot from the place that it names."""
    hole, _, place = scope.rpartition("/")
    is_meant = (opened_with("from", hole) or TEE) == place
    return opened_with(name, hole) if is_meant else ""


def _read(text: str, unit: DistanceUnit) -> int:
    """Aim's move in an address [m] in whole units; none where it is no number."""
    try:
        return _within(round(unit.from_metres(float(text or 0))))
    except (ValueError, OverflowError):
        return 0


def show_answer(desk: HoleDesk, start: Start, shot: Shot, unit: DistanceUnit) -> None:
    """The shot as an instruction, where to aim it, and what it is worth."""
    best = start.listed[0]
    is_best = shot is best
    if start.says:
        st.caption(plain(start.says))
    trying = "" if is_best else "You try: "
    st.markdown(f"### {trying}{plain(words.what_to_hit(shot, unit))}")
    if shot.aim is not None:
        st.markdown(f"**Aim:** {plain(words.where_to_aim(shot, unit))}")
    if like := words.plays_like_parts(shot, unit):
        st.markdown(f"**Landing:** {plain(like)}")
    if not is_best:
        st.markdown(
            f"**{plain(_expected(shot))}** :primary-badge[{plain(_against(shot))}] "
            f"Best here: {plain(words.shot_name(best, unit))}, "
            f"{words.strokes(best.expected_strokes)} strokes."
        )
    elif start.place == TEE:
        st.markdown(f"**{plain(_expected(shot))}** {plain(words.margin(desk.plan, unit))}")
    elif len(start.listed) > 1:
        other = start.listed[1]
        st.markdown(
            f"**{plain(_expected(shot))}** Next best: {plain(words.shot_name(other, unit))}, "
            f"{plain(words.cost(other.cost))}."
        )


def _expected(shot: Shot) -> str:
    return f"{words.strokes(shot.expected_strokes)} strokes to hole out."


def _against(shot: Shot) -> str:
    said = words.cost(shot.cost)
    return "A tie with the best" if said == "tie" else f"{said} strokes against the best"
