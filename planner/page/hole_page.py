"""One hole: what to hit and where to aim, drawn, and what every other choice would cost."""

from __future__ import annotations

import streamlit as st

from planner.course.hole import Course, Hole, Point, Tee
from planner.errors import PlannerError
from planner.page.ball_choice import TEE, Start, choose_start, put_ball
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.page.shot_choice import aim_at, choose_shot, show_answer
from planner.page.side_by_side import show_side_by_side
from planner.page.solving import first_look, hole_desk, solved_hole
from planner.page.tables import choices_table, hazards_table, next_table, shares_table
from planner.page.tap_drawing import still_drawing, tap_drawing
from planner.planning.ball_places import hazards_near, hole_layers
from planner.planning.hole_desk import HoleDesk
from planner.planning.request import tee_of
from planner.report import words
from planner.report.drawing import xy
from planner.report.figures import chance_chart
from planner.report.hole_drawing import draw_bare_hole, draw_hole
from planner.report.hole_svg import hole_svg
from planner.report.legend import legend
from planner.report.palette import Palette, palette
from planner.report.view import WIDTH_PX, Focus, view_of
from planner.strategy.advice import Shot
from planner.units import DistanceUnit

__all__ = ["pick_hole", "show_hole"]

FOCUS: dict[Focus, str] = {"hole": "whole hole", "landing": "landing", "green": "green"}
AIM, BALL = "aim", "ball"
TAPS = {AIM: "moves the aim", BALL: "puts the ball"}
CONTOURS, SHOTS = "contours", "shots"
LAYERS = {CONTOURS: "expected strokes", SHOTS: "100 shots"}


def show_hole(setup: Setup) -> None:
    """Page of one hole, picked by number."""
    top = st.container(horizontal=True, vertical_alignment="center")
    with top:
        ref = pick_hole(setup.request.course)
    hole = setup.request.course.hole(ref)
    tee = tee_of(hole, setup.request.tee)
    top.markdown(_hole_line(hole, tee, setup.unit), width="content")
    desk = solved_hole(setup, ref)
    if desk is None:
        waiting = st.empty()
        try:
            with waiting.container():
                _wait_with(hole, tee, setup)
                desk = hole_desk(setup, ref)
        except PlannerError as error:
            waiting.empty()
            st.error(f"Hole {plain(ref)} cannot be planned with this bag: {plain(str(error))}")
            return
        waiting.empty()
    if not desk.plan.converged:
        st.warning(
            f"This hole is not fully solved: its values still moved by "
            f"{words.strokes(desk.plan.residual)} strokes. Do not rely on it."
        )
    _study(desk, hole, setup)


def pick_hole(course: Course) -> str:
    """Show the choice of a hole, the same on every page that has it."""
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


def _hole_line(hole: Hole, tee: Tee, unit: DistanceUnit) -> str:
    """Card line of a hole, as Markdown."""
    title = f"Hole {hole.ref}, {hole.name}" if hole.name else f"Hole {hole.ref}"
    length = words.distance(hole.length_from(tee), unit)
    parts = [f"par {hole.par}", f"{length} from {tee.name}"]
    if hole.stroke_index is not None:
        parts.append(f"stroke index {hole.stroke_index}")
    return f"**{plain(title)}** · {plain(' · '.join(parts))}"


def _wait_with(hole: Hole, tee: Tee, setup: Setup) -> None:
    """Show what is known while the hole is solved: its map at once, then a first look."""
    unit = setup.unit
    colours = palette(dark=st.context.theme.type == "dark")
    look, picture = st.empty(), st.empty()
    look.caption("Solving this hole. The very first time takes up to a minute.")
    with picture:
        still_drawing(draw_bare_hole(hole, tee.position_hole, unit=unit), colours)
    desk = first_look(setup, hole.ref)
    if desk is not None:
        best = desk.plan.best
        with look.container(gap="xsmall"):
            st.markdown(f"### {plain(words.what_to_hit(best, unit))}")
            st.markdown(f"**Aim:** {plain(words.where_to_aim(best, unit))}")
            st.caption("First look, on coarse cells. The exact numbers follow in a moment.")
        with picture:
            still_drawing(draw_hole(hole, best, unit=unit), colours)


@st.fragment
def _study(desk: HoleDesk, hole: Hole, setup: Setup) -> None:
    """Everything below the picker; a changed ball, club or aim redraws only this."""
    plan, unit = desk.plan, setup.unit
    colours = palette(dark=st.context.theme.type == "dark")
    scope = f"{setup.key}/{hole.ref}"
    start = choose_start(desk, hole, unit, scope)
    if start.trouble:
        st.info(plain(start.trouble))
        _drawing(desk, hole, None, unit, colours, scope)
        return
    here = f"{scope}/{start.place}"
    answer = st.container(gap="xsmall")
    left, right = st.columns([WIDTH_PX + 40, 480], gap="medium")
    with right:
        shot, base = choose_shot(desk, start, unit, here)
    with answer:
        show_answer(desk, start, shot, unit)
    with left:
        _drawing(desk, hole, (start, shot, base), unit, colours, scope)
    with right:
        _numbers(desk, shot, unit, colours)
    st.subheader(f"Every choice from {'the tee' if start.place == TEE else 'there'}")
    st.table(choices_table(start.listed, unit), border="horizontal", hide_index=True)
    if start.place == TEE and plan.next_shots:
        st.subheader("What to hit next, after the planned tee shot")
        st.table(next_table(plan.next_shots, unit), border="horizontal", hide_index=True)
    show_side_by_side(desk, start, shot, setup, colours)


def _drawing(
    desk: HoleDesk,
    hole: Hole,
    chosen: tuple[Start, Shot, Shot] | None,
    unit: DistanceUnit,
    colours: Palette,
    scope: str,
) -> None:
    """The drawing with its controls; without a shot a tap only puts the ball."""
    picture = st.container(gap="xsmall")
    does = AIM
    if chosen is not None:
        does = str(
            st.segmented_control(
                "A tap on the drawing",
                list(TAPS),
                default=AIM,
                required=True,
                format_func=TAPS.__getitem__,
                key="tap_does",
                persist_state="session",
            )
        )
    focus = st.segmented_control(
        "Show",
        list(FOCUS),
        default="hole",
        required=True,
        format_func=FOCUS.__getitem__,
        key="focus",
        bind="query-params",
        label_visibility="collapsed",
        persist_state="session",
    )
    shown = st.pills(
        "Layers",
        list(LAYERS),
        selection_mode="multi",
        format_func=LAYERS.__getitem__,
        key="layers",
        bind="query-params",
        label_visibility="collapsed",
        persist_state="session",
    )
    shot = desk.plan.best if chosen is None else chosen[1]
    # They belong to the planned shot; on the whole hole they would lie on top of one another.
    has_places = shot is desk.plan.best and focus == "landing"
    next_shots = desk.plan.next_shots if has_places else ()
    layers = hole_layers(
        desk, shot, view_of(hole, shot, focus), contours=CONTOURS in shown, shots=SHOTS in shown
    )
    drawing = draw_hole(hole, shot, unit=unit, next_shots=next_shots, focus=focus, layers=layers)

    def tapped(place: Point, dragged: bool) -> None:
        if chosen is not None and (dragged or does == AIM):
            start, _, base = chosen
            aim_at(base, start, xy(place), unit, f"{scope}/{start.place}")
        else:
            put_ball(scope, hole, xy(place))

    with picture:
        tap_drawing(
            drawing,
            colours,
            key="drawing",
            on_tap=tapped,
            about=f"{scope}/{unit.value}",
            handle=None if chosen is None or shot.aim is None else xy(shot.aim.point_hole),
            start=xy(shot.position_hole),
        )
        letters = " Letters: likely places of the next shot." if next_shots else ""
        st.caption(
            "Tap or click anywhere; drag the aim. "
            f"Arcs: {unit.value} to the pin. Bold: carry to the aim point.{letters}"
        )
    with st.expander("Key to the drawing"):
        st.image(hole_svg(legend(), colours), width=legend().view.width_px)


def _numbers(desk: HoleDesk, shot: Shot, unit: DistanceUnit, colours: Palette) -> None:
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
    hazards = hazards_near(desk.plan, shot)
    if hazards:
        st.markdown(f"**Near the aim line, {unit.value} from the ball**")
        st.table(hazards_table(hazards, unit), border="horizontal", hide_index=True)
