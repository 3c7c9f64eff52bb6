"""One hole: what to hit and where to aim, drawn, and what every other choice would cost."""

from __future__ import annotations

import streamlit as st

from planner.course.hole import Course, Hole, Point
from planner.course.lies import Lie
from planner.errors import PlannerError
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.page.solving import hole_desk
from planner.page.tables import choices_table, next_table, shares_table
from planner.planning.hole_desk import HoleDesk
from planner.report import words
from planner.report.figures import chance_chart, hole_chart
from planner.report.hole_drawing import LETTERS, draw_hole
from planner.report.hole_svg import hole_svg
from planner.report.legend import legend
from planner.report.palette import Palette, palette
from planner.report.view import WIDTH_PX, Focus
from planner.strategy.advice import HolePlan, Shot
from planner.units import DistanceUnit

__all__ = ["show_hole"]

TEE = "tee"
WIDEST_AIM = 60
"""Reach of the aim slider to either side [units of distance]."""
FOCUS: dict[Focus, str] = {"hole": "whole hole", "landing": "landing", "green": "green"}


def show_hole(setup: Setup) -> None:
    """Page of one hole, picked by number."""
    top = st.container(horizontal=True, vertical_alignment="center")
    with top:
        ref = _pick_hole(setup.request.course)
    hole = setup.request.course.hole(ref)
    try:
        with st.spinner("Solving this hole. The very first time takes up to a minute."):
            desk = hole_desk(setup, ref)
    except PlannerError as error:
        st.error(f"Hole {plain(ref)} cannot be planned with this bag: {plain(str(error))}")
        return
    top.markdown(_hole_line(desk.plan, setup.unit), width="content")
    if not desk.plan.converged:
        st.warning(
            f"This hole is not fully solved: its values still moved by "
            f"{words.strokes(desk.plan.residual)} strokes. Do not rely on it."
        )
    _study(desk, hole, setup)


def _pick_hole(course: Course) -> str:
    refs = [hole.ref for hole in course.holes]
    with st.container(horizontal=True, wrap=False, width="content"):
        st.button("◀", on_click=_step, args=(refs, -1), key="previous", help="Hole before this one")
        ref = st.selectbox(
            "Hole",
            refs,
            key="hole",
            bind="query-params",
            filter_mode=None,
            label_visibility="collapsed",
            width=96,
        )
        st.button("▶", on_click=_step, args=(refs, 1), key="next", help="Next hole")
    return str(ref)


def _step(refs: list[str], by: int) -> None:
    now = refs.index(st.session_state["hole"])
    st.session_state["hole"] = refs[(now + by) % len(refs)]


def _hole_line(plan: HolePlan, unit: DistanceUnit) -> str:
    """Card line of a hole, as Markdown."""
    hole = plan.hole
    title = f"Hole {hole.ref}, {hole.name}" if hole.name else f"Hole {hole.ref}"
    parts = [f"par {hole.par}", f"{words.distance(plan.length_m, unit)} from {plan.tee}"]
    if hole.stroke_index is not None:
        parts.append(f"stroke index {hole.stroke_index}")
    return f"**{plain(title)}** · {plain(' · '.join(parts))}"


@st.fragment
def _study(desk: HoleDesk, hole: Hole, setup: Setup) -> None:
    """Everything below the picker; a changed club or aim redraws only this."""
    plan, unit = desk.plan, setup.unit
    colours = palette(dark=st.context.theme.type == "dark")
    scope = f"{setup.key}/{hole.ref}"
    place = _pick_place(desk, scope)
    position, lie, listed = _shots_from(desk, place)
    if not listed:
        st.error("No club of this bag can be played from here.")
        return
    scope = f"{scope}/{place}"
    answer = st.container(gap="xsmall")
    left, right = st.columns([WIDTH_PX + 40, 480], gap="medium")
    with right:
        shot = _chosen_shot(desk, position, lie, listed, unit, scope)
    with answer:
        _answer(desk, place, shot, listed, unit)
    with left:
        _drawing(desk, hole, shot, unit, colours)
    with right:
        _numbers(shot, unit, colours)
    st.subheader(f"Every choice from {'the tee' if place == TEE else place}")
    st.table(choices_table(listed, unit), border="horizontal", hide_index=True)
    if place == TEE and plan.next_shots:
        st.subheader("What to hit next, after the planned tee shot")
        st.table(next_table(plan.next_shots, unit), border="horizontal", hide_index=True)


def _pick_place(desk: HoleDesk, scope: str) -> str:
    places = dict(zip(LETTERS, desk.plan.next_shots, strict=False))
    if not places:
        return TEE

    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        st.markdown("Shot from", width="content")
        place = st.segmented_control(
            "Shot from",
            [TEE, *places],
            default=TEE,
            required=True,
            key=f"place/{scope}",
            label_visibility="collapsed",
            persist_state="session",
        )
    return str(place)


def _shots_from(desk: HoleDesk, place: str) -> tuple[Point, Lie, tuple[Shot, ...]]:
    """Where the ball is and the best shot with each club from there, best first."""
    plan = desk.plan
    if place == TEE:
        return plan.best.position_hole, plan.best.lie, (plan.best, *plan.others)
    there = plan.next_shots[LETTERS.index(place)]
    return there.position_hole, there.lie, desk.best_shots(there.position_hole, there.lie, count=8)


def _chosen_shot(
    desk: HoleDesk,
    position: Point,
    lie: Lie,
    listed: tuple[Shot, ...],
    unit: DistanceUnit,
    scope: str,
) -> Shot:
    """Club and aim as set by the controls; the recommended ones until they are touched."""

    def name(index: int) -> str:
        said = "best" if index == 0 else words.cost(listed[index].cost)
        return f"{words.shot_name(listed[index], unit)} ({said})"

    with st.container(border=True):
        index = st.selectbox(
            "Try another club",
            range(len(listed)),
            format_func=name,
            key=f"club/{scope}",
            filter_mode=None,
        )
        shot = listed[int(index or 0)]
        if shot.aim is None:
            return shot
        offset = st.slider(
            f"Move the aim, {unit.symbol} left (-) or right (+)",
            -WIDEST_AIM,
            WIDEST_AIM,
            0,
            1,
            format="%+d",
            key=f"offset/{scope}/{index}/{unit.value}",
        )
    if offset == 0 and shot.pattern is not None:
        return shot
    aim = shot.aim.beside(unit.to_metres(offset))
    try:
        return desk.evaluate(position, lie, shot.club, aim, swing=shot.swing)
    except PlannerError as error:
        st.warning(f"{plain(str(error))} Shown is the best aim of this club.")
        return shot


def _answer(
    desk: HoleDesk, place: str, shot: Shot, listed: tuple[Shot, ...], unit: DistanceUnit
) -> None:
    best = listed[0]
    is_best = shot is best
    if place != TEE:
        there = desk.plan.next_shots[LETTERS.index(place)]
        st.caption(
            plain(
                f"From {place}: {there.place}, {words.distance(there.distance_m, unit)} to the "
                f"pin. {words.percent(there.chance)} of tee shots end near here."
            )
        )
    trying = "" if is_best else "You try: "
    st.markdown(f"### {trying}{plain(words.what_to_hit(shot, unit))}")
    if shot.aim is not None:
        st.markdown(f"**Aim:** {plain(words.where_to_aim(shot, unit))}")
    if like := words.plays_like_parts(shot, unit):
        st.markdown(f"**Landing:** {plain(like)}")
    if not is_best:
        st.markdown(
            f"**{plain(_expected(shot))}** :primary-badge[{plain(_against(shot, best))}] "
            f"Best here: {plain(words.shot_name(best, unit))}, "
            f"{words.strokes(best.expected_strokes)} strokes."
        )
    elif place == TEE:
        st.markdown(f"**{plain(_expected(shot))}** {plain(words.margin(desk.plan, unit))}")
    elif len(listed) > 1:
        other = listed[1]
        st.markdown(
            f"**{plain(_expected(shot))}** Next best: {plain(words.shot_name(other, unit))}, "
            f"{plain(words.cost(other.cost))}."
        )


def _expected(shot: Shot) -> str:
    return f"{words.strokes(shot.expected_strokes)} strokes to hole out."


def _against(shot: Shot, best: Shot) -> str:
    said = words.cost(shot.cost)
    return "A tie with the best" if said == "tie" else f"{said} strokes against the best"


def _drawing(desk: HoleDesk, hole: Hole, shot: Shot, unit: DistanceUnit, colours: Palette) -> None:
    picture = st.container(gap="xsmall")
    focus = st.segmented_control(
        "Show",
        list(FOCUS),
        default="hole",
        required=True,
        format_func=FOCUS.__getitem__,
        key="focus",
        label_visibility="collapsed",
        persist_state="session",
    )
    # They belong to the planned shot; on the whole hole they would lie on top of one another.
    has_places = shot is desk.plan.best and focus == "landing"
    next_shots = desk.plan.next_shots if has_places else ()
    drawing = draw_hole(hole, shot, unit=unit, next_shots=next_shots, focus=focus)
    with picture:
        st.altair_chart(
            hole_chart(drawing, colours),
            width="content",
            theme=None,
            key="drawing",
            alt=drawing.alt,
        )
        letters = " Letters: likely places of the next shot." if next_shots else ""
        st.caption(f"Arcs: {unit.value} to the pin. Bold: carry to the aim point.{letters}")
    with st.expander("Key to the drawing"):
        st.image(hole_svg(legend(), colours), width=legend().view.width_px)


def _numbers(shot: Shot, unit: DistanceUnit, colours: Palette) -> None:
    with st.container(horizontal=True, gap="medium"):
        st.metric("Expected strokes", words.strokes(shot.expected_strokes), width="content")
        st.metric("Penalty strokes", words.strokes(shot.expected_penalties), width="content")
        st.metric("Usual leave", words.distance(shot.leave_m, unit), width="content")
    st.markdown("**Where it ends up**")
    shown = ", ".join(f"{n} {words.percent(s)}" for n, s in words.chances(shot.shares))
    st.altair_chart(
        chance_chart(shot.shares, colours),
        width="stretch",
        theme=None,
        key="chances",
        alt=f"Chances of where this shot ends: {shown}",
    )
    with st.expander("The same as a table"):
        st.table(shares_table(shot.shares), border="horizontal", hide_index=True)
