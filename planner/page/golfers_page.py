"""One hole, several golfers: patterns and plans side by side, and a sheet of them to print."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st

from planner.demo_data import DEMO_TEES
from planner.errors import PlannerError
from planner.golfer.bag import Bag
from planner.page.hole_page import pick_hole
from planner.page.inputs import InputFile, bag_of, demo_bags, uploaded_file
from planner.page.kept_bags import bags_at_hand, golfer_of
from planner.page.plain import plain
from planner.page.setup import BAG_TYPES, Setup, refuse, with_bag
from planner.page.solving import hole_desk
from planner.page.tables import golfers_table
from planner.page.tap_drawing import still_drawing
from planner.planning.ball_places import hole_layers
from planner.planning.hole_desk import HoleDesk
from planner.planning.printing import PAPER_NAMES, golfers_sheet
from planner.planning.request import request_key
from planner.report import words
from planner.report.hole_drawing import draw_hole
from planner.report.palette import Palette, palette
from planner.report.view import view_of

__all__ = ["show_golfers"]

NOBODY = "nobody"
OTHERS = (2, 3)
"""The first golfer is the one of the side panel."""
PDF = "application/pdf"
MOST_FILES = 6


def show_golfers(setup: Setup) -> None:
    """Page of several golfers on one hole."""
    top = st.container(horizontal=True, vertical_alignment="center")
    with top:
        ref = pick_hole(setup.request.course)
    hole = setup.request.course.hole(ref)
    named = f"Hole {ref}, {hole.name}" if hole.name else f"Hole {ref}"
    top.markdown(f"**{plain(named)}** · par {hole.par}", width="content")
    setups = [setup, *_others(setup)]
    desks: list[tuple[Bag, HoleDesk]] = []
    for one in setups:
        golfer = one.request.bag.golfer.name or one.request.bag.name
        try:
            with st.spinner(f"Solving the hole for {plain(golfer)}."):
                desks.append((one.request.bag, hole_desk(one, ref)))
        except PlannerError as error:
            st.error(f"{plain(golfer)} cannot be planned for: {plain(str(error))}")
    if not desks:
        return
    _side_by_side(desks, setup)
    _sheet(desks, setup)


def _others(setup: Setup) -> list[Setup]:
    """Setups of the other golfers, as chosen."""
    bags = bags_at_hand()
    with st.expander("Who plays, and from where"):
        uploads = st.file_uploader(
            "Bag files of your golfers",
            BAG_TYPES,
            accept_multiple_files=True,
            key="golfers_files",
            max_upload_size=1,
        )
        st.caption(
            "No file? Answer a few questions for each golfer in the side panel: Bag, My own bag. "
            "Every bag made there can be chosen here."
        )
        for upload in (uploads or [])[:MOST_FILES]:
            file = uploaded_file(upload.name, upload.getvalue())
            report = bag_of(file)
            if report.bag is None:
                refuse(file.name, "bag", report.problems)
            else:
                bags[f"{report.bag.golfer.name or report.bag.name} ({file.name})"] = file
        own = None if setup.bag_file is None else setup.bag_file.digest
        # A coach's own golfers come before those of the demo.
        stems = sorted(
            (stem for stem, file in bags.items() if file.digest != own),
            key=lambda stem: stem in demo_bags(),
        )
        return [
            found for number in OTHERS if (found := _golfer(setup, number, stems, bags)) is not None
        ]


def _golfer(
    setup: Setup, number: int, stems: list[str], bags: dict[str, InputFile]
) -> Setup | None:
    tees = setup.request.course.tee_names
    default = stems[number - 2] if number - 2 < len(stems) else NOBODY
    with st.container(horizontal=True, gap="small"):
        options = [NOBODY, *stems]
        choice = st.selectbox(
            f"Golfer {number}",
            options,
            options.index(default),
            format_func=lambda one: NOBODY if one == NOBODY else _name(one, bags[one]),
            key=f"golfer_{number}",
            bind="query-params",
            filter_mode=None,
            width=230,
        )
        usual = DEMO_TEES.get(str(choice), setup.request.tee)
        tee = st.selectbox(
            f"Tees of golfer {number}",
            tees,
            tees.index(usual) if usual in tees else 0,
            key=f"golfer_{number}_tee/{choice}",
            bind="query-params",
            filter_mode=None,
            width=150,
        )
    if choice == NOBODY:
        return None
    bag = bag_of(bags[str(choice)]).bag
    if bag is None:
        return None
    theirs = with_bag(setup, bag)
    request = replace(theirs.request, tee=str(tee))
    return replace(theirs, request=request, key=request_key(request))


def _name(choice: str, file: InputFile) -> str:
    """An uploaded file is chosen by what it is called already."""
    return golfer_of(choice, file) if choice in bags_at_hand() else choice


def _side_by_side(desks: list[tuple[Bag, HoleDesk]], setup: Setup) -> None:
    colours = palette(dark=st.context.theme.type == "dark")
    for column, (bag, desk) in zip(st.columns(len(desks), gap="medium"), desks, strict=True):
        with column:
            _one(bag, desk, setup, colours)
    st.subheader("The same hole in numbers")
    rows = golfers_table([(_said(bag), desk.plan) for bag, desk in desks], setup.unit)
    st.table(rows, border="horizontal", hide_index=True)


def _said(bag: Bag) -> str:
    return bag.golfer.name or bag.name


def _one(bag: Bag, desk: HoleDesk, setup: Setup, colours: Palette) -> None:
    unit, shot = setup.unit, desk.plan.best
    hand = ", left-handed" if bag.golfer.left_handed else ""
    st.markdown(
        f"**{plain(_said(bag))}**, index {bag.golfer.handicap_index:g}{hand}  \n"
        f"{plain(words.what_to_hit(shot, unit))}  \n{plain(words.where_to_aim(shot, unit))}"
    )
    view = view_of(desk.hole, shot)
    layers = hole_layers(desk, shot, view, contours=False, shots=True)
    still_drawing(draw_hole(desk.hole, shot, unit=unit, layers=layers), colours)


def _sheet(desks: list[tuple[Bag, HoleDesk]], setup: Setup) -> None:
    st.subheader("On paper")
    paper = str(
        st.segmented_control(
            "Paper",
            list(PAPER_NAMES),
            format_func=PAPER_NAMES.__getitem__,
            default="a4",
            required=True,
            key="golfers_paper",
        )
    )
    course = setup.request.course
    st.download_button(
        "Same hole, these golfers (PDF)",
        partial(
            golfers_sheet,
            course,
            [(bag, desk.plan) for bag, desk in desks],
            unit=setup.unit,
            paper=paper,
            conditions=setup.request.conditions,
        ),
        uploaded_file(f"{course.name} hole {desks[0][1].hole.ref}.pdf", b"").name,
        PDF,
        on_click="ignore",
        key="golfers_sheet",
    )
