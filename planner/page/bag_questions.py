"""What is asked about bags on their page: rounds to play them on, clubs, and money."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import streamlit as st

from planner.demo_data import DEMO_TEES
from planner.golfer.bag import CLUB_LIMIT, Bag
from planner.page.inputs import bag_of, demo_maps, map_report, uploaded_file
from planner.page.kept_bags import bags_at_hand, golfer_of
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.planning.bag_bench import hit_labels
from planner.planning.bag_choosing import ChooseOptions
from planner.planning.bag_comparison import NamedBag, called_by_change
from planner.planning.bag_rounds import rounds_over
from planner.planning.borrowed_clubs import with_borrowed
from planner.planning.request import PlanRequest
from planner.strategy.purchase_frontier import YearsOfUse
from planner.units import COMPASS_POINTS

__all__ = ["ask_bags", "ask_choice", "ask_rounds"]

WINDS = {"calm": (None, 0.0)} | {
    f"{point}, 6 m/s": (number * math.tau / 4.0, 6.0)
    for number, point in enumerate(COMPASS_POINTS[::4])
}
MOST_BAGS = 4

NOBODY = "nobody else"
LENDER_HELP = (
    "Another golfer's clubs in your hands: how you would hit them is predicted from your own. How "
    "the other plays with his own you see under Golfers."
)
FINE_HELP = "The search looks at coarse cells. Fine ones take some minutes more."


def ask_rounds(setup: Setup) -> tuple[PlanRequest, ...]:
    """Rounds that bags are valued over: the one in the side panel, and others asked for."""
    # Bags are told apart by strokes; a few clubs chosen for a plan are no bag to choose from.
    request = replace(setup.request, aim_for="strokes", clubs=None, preview=True)
    course = request.course
    maps = demo_maps()
    with st.expander("More courses, tees and winds"):
        st.caption("A round then counts as the mean of all; the work grows with their number.")
        tees = st.multiselect(
            "Other tees",
            [tee for tee in course.tee_names if tee != request.tee],
            key=f"bags_tees/{course.name}/{request.tee}",
            filter_mode=None,
        )
        courses = st.multiselect(
            "Other courses",
            [stem for stem in maps if _name_of(stem) != course.name],
            format_func=_name_of,
            key=f"bags_courses/{course.name}",
            filter_mode=None,
        )
        winds = st.pills(
            "Other winds", list(WINDS), selection_mode="multi", key="bags_winds", width="stretch"
        )
    places = [(course, str(tee)) for tee in tees]
    for stem in courses:
        other = map_report(uploaded_file(maps[stem].name, maps[stem].read_bytes())).course
        if other is not None:
            usual = DEMO_TEES.get(st.session_state.get("bag", ""))
            known = (usual, request.tee)
            tee = next((name for name in known if name in other.tee_names), other.tee_names[0])
            places.append((other, tee))
    return rounds_over(request, places=places, winds=[WINDS[wind] for wind in winds])


def _name_of(stem: str) -> str:
    path = demo_maps()[stem]
    course = map_report(uploaded_file(path.name, path.read_bytes())).course
    return stem.title() if course is None else course.name


def ask_choice(setup: Setup) -> tuple[ChooseOptions, bool] | None:
    """What may be chosen, and whether the best is solved on fine cells; None while it cannot be."""
    bag = setup.request.bag
    scope = _scope(setup)
    labels = list(hit_labels(bag))
    chosen = st.pills(
        "Clubs in question (the putter has its place)",
        labels,
        format_func=plain,
        selection_mode="multi",
        default=labels,
        key=f"bags_candidates/{scope}",
        width="stretch",
    )
    with st.container(horizontal=True):
        limit = st.number_input(
            "Most clubs, putter included", 2, CLUB_LIMIT, CLUB_LIMIT, key="bags_limit", width=200
        )
        budget = st.number_input(
            f"Money to spend ({plain(bag.currency)})" if bag.currency else "Money to spend",
            0.0,
            None,
            None,
            10.0,
            placeholder="no limit",
            key=f"bags_budget/{scope}",
            width=200,
        )
    with st.expander("Must and must not, years, techniques"):
        must = st.multiselect(
            "Must be carried", list(chosen), key=f"bags_must/{scope}", filter_mode=None
        )
        with st.container(horizontal=True):
            years = st.number_input(
                "Years a bought club is kept", 0.5, 30.0, 3.0, 0.5, key="bags_years", width=200
            )
            rounds = st.number_input(
                "Rounds a year", 1.0, 400.0, 40.0, 5.0, key="bags_rounds", width=200
            )
        technique = st.toggle("Set changes of technique beside", True, key="bags_technique")
        fine = st.toggle(
            "Solve the best bags again on fine cells", True, key="bags_fine", help=FINE_HELP
        )
        again = st.number_input("Best bags to solve again", 0, 8, 2, key="bags_again", width=200)
    if not chosen:
        st.info("Choose some clubs.")
        return None
    options = ChooseOptions(
        candidates=tuple(label for label in labels if label in chosen),
        limit=int(limit),
        must=tuple(must),
        budget=math.inf if budget is None else float(budget),
        use=YearsOfUse(float(years), float(rounds)),
        shortlist=int(again),
        technique=technique,
    )
    return options, fine


def ask_bags(setup: Setup) -> tuple[Bag, tuple[NamedBag, ...]]:
    """Bags to compare: the one carried, and others of its file's clubs or of somebody else's."""
    bag = setup.request.bag
    scope = _scope(setup)
    carried = _carried(bag, setup)
    own = None if setup.bag_file is None else setup.bag_file.digest
    files = {one: file for one, file in bags_at_hand().items() if file.digest != own}
    lender = st.selectbox(
        "Against the clubs of",
        [NOBODY, *files],
        format_func=lambda one: NOBODY if one == NOBODY else golfer_of(one, files[one]),
        key=f"bags_lender/{scope}",
        filter_mode=None,
        help=LENDER_HELP,
    )
    theirs: Sequence[str] = carried
    lent = None if lender == NOBODY else bag_of(files[str(lender)]).bag
    if lent is not None:
        bag, theirs = with_borrowed(bag, lent)
    labels = [club.label for club in bag.clubs]
    count = st.segmented_control(
        "Bags", list(range(2, MOST_BAGS + 1)), default=2, required=True, key="bags_number"
    )
    others = []
    st.caption(plain(f"First bag: {bag.name}, {len(carried)} clubs."))
    for i in range(2, int(count or 2) + 1):
        clubs = st.pills(
            f"Bag {i}",
            labels,
            format_func=plain,
            selection_mode="multi",
            default=theirs,
            key=f"bags_set/{i}/{scope}" + ("" if lent is None else f"/{lender}"),
            width="stretch",
        )
        st.caption(f"{len(clubs)} clubs")
        others.append(tuple(clubs))
    found = called_by_change(bag, carried, others, name=bag.name)
    if lent is None:
        return bag, found
    # A dozen exchanges are no name.
    whose = f"clubs of {lent.golfer.name or lent.name}"
    return bag, tuple(
        NamedBag(whose, one.clubs) if number and set(one.clubs) == set(theirs) else one
        for number, one in enumerate(found)
    )


def _carried(bag: Bag, setup: Setup) -> list[str]:
    if setup.request.clubs is not None:
        return [bag.club(label).label for label in setup.request.clubs]
    return [club.label for club in bag.clubs if club.carried]


def _scope(setup: Setup) -> str:
    """Choices of clubs are made for each bag anew."""
    return "" if setup.bag_file is None else setup.bag_file.digest
