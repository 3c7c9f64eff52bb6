"""Two shots from one place side by side: another club, or the same hole with another bag."""

from __future__ import annotations

import streamlit as st

from planner.errors import PlannerError
from planner.page.ball_choice import TEE, Start
from planner.page.inputs import InputFile, bag_of, uploaded_file
from planner.page.kept_bags import bags_at_hand, golfer_of
from planner.page.plain import plain
from planner.page.setup import BAG_TYPES, Setup, refuse, with_bag
from planner.page.solving import hole_desk
from planner.page.tap_drawing import still_drawing
from planner.planning.hole_desk import HoleDesk
from planner.report import words
from planner.report.hole_drawing import draw_hole
from planner.report.palette import Palette
from planner.strategy.advice import Shot

__all__ = ["show_side_by_side"]

NOTHING, OWN = "nothing", "own"
CLUB, BAG = "club", "bag"


def show_side_by_side(
    desk: HoleDesk, start: Start, shot: Shot, setup: Setup, colours: Palette
) -> None:
    """Choice of what to compare with, and the two."""
    st.subheader("Side by side")
    clubs = {f"{CLUB}/{other.label}": other for other in start.listed if other.club != shot.club}
    bags = {f"{BAG}/{name}": file for name, file in bags_at_hand().items()}
    if setup.bag_file is not None:
        bags = {key: file for key, file in bags.items() if file.digest != setup.bag_file.digest}

    def name(option: str) -> str:
        if option in clubs:
            return words.shot_name(clubs[option], setup.unit)
        if option in bags:
            golfer = golfer_of(option.removeprefix(f"{BAG}/"), bags[option])
            return f"this hole with the bag of {golfer}"
        return "this hole with another bag file …" if option == OWN else option

    option = st.selectbox(
        "Compare with",
        [NOTHING, *clubs, *bags, OWN],
        format_func=name,
        key="compare_with",
        filter_mode=None,
        persist_state="session",
    )
    if option in clubs:
        other = clubs[str(option)]
        _pair(
            setup,
            colours,
            (words.shot_name(shot, setup.unit), desk, shot),
            (words.shot_name(other, setup.unit), desk, other),
        )
    elif option in bags:
        _with_bag(bags[str(option)], desk, start, shot, setup, colours)
    elif option == OWN:
        upload = st.file_uploader("Other bag file", BAG_TYPES, key="compare_bag", max_upload_size=1)
        if upload is not None:
            file = uploaded_file(upload.name, upload.getvalue())
            _with_bag(file, desk, start, shot, setup, colours)


def _bag_name(file: InputFile) -> str:
    bag = bag_of(file).bag
    return file.name if bag is None else bag.golfer.name or bag.name


def _with_bag(
    file: InputFile, desk: HoleDesk, start: Start, shot: Shot, setup: Setup, colours: Palette
) -> None:
    report = bag_of(file)
    if report.bag is None:
        refuse(file.name, "bag", report.problems)
        return
    theirs = with_bag(setup, report.bag)
    try:
        with st.spinner("Solving the hole with this bag."):
            other = hole_desk(theirs, desk.hole.ref)
        if start.place == TEE:
            best = other.plan.best
        else:
            (best, *_) = other.best_shots(start.position_hole, start.lie, count=1)
    except PlannerError as error:
        st.error(plain(str(error)))
        return
    _pair(
        setup,
        colours,
        (setup.request.bag.golfer.name, desk, shot),
        (_bag_name(file), other, best),
    )


def _pair(setup: Setup, colours: Palette, *two: tuple[str, HoleDesk, Shot]) -> None:
    unit = setup.unit
    for column, (title, desk, shot) in zip(st.columns(2, gap="medium"), two, strict=True):
        with column:
            st.markdown(f"**{plain(title)}**")
            st.markdown(
                f"{plain(words.what_to_hit(shot, unit))}  \n{plain(words.where_to_aim(shot, unit))}"
            )
            still_drawing(draw_hole(desk.hole, shot, unit=unit), colours)
            with st.container(horizontal=True, gap="medium"):
                st.metric("Strokes", words.strokes(shot.expected_strokes), width="content")
                st.metric("Penalties", words.strokes(shot.expected_penalties), width="content")
                st.metric("Leave", words.distance(shot.leave_m, unit), width="content")
    (_, _, first), (_, _, second) = two
    more = second.expected_strokes - first.expected_strokes
    st.markdown(plain(words.difference(two[1][0], more)))
