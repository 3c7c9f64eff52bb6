"""Side panel: course, tees, bag, weather and aim; what they add up to as a plan request."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import streamlit as st

from planner.ball.conditions import Conditions
from planner.course.hole import Course
from planner.course.map_check import MapReport
from planner.course.map_limits import MAX_FILE_MB
from planner.demo_data import DEMO_TEES
from planner.golfer.bag import Bag
from planner.page.access import is_public
from planner.page.bag_edits import bag_in_use
from planner.page.choices import choices_of, choose, put_choices_in_address
from planner.page.inputs import (
    InputFile,
    bag_of,
    demo_maps,
    map_report,
    uploaded_file,
)
from planner.page.kept_bags import (
    bags_at_hand,
    forget_button,
    golfer_of,
    is_kept,
    keep,
    say_fault,
)
from planner.page.kept_maps import delete_map, keep_map, maps_at_hand, say_map_fault
from planner.page.map_edits import map_in_use
from planner.page.more_options import choose_clubs, read_more
from planner.page.own_bag import made_bag
from planner.page.plain import plain
from planner.planning.request import PlanRequest, request_key
from planner.report import words
from planner.units import COMPASS_POINTS, MPS_PER_MPH, DistanceUnit

__all__ = [
    "BAG_TYPES",
    "Setup",
    "choices_now",
    "choose_again",
    "chosen_course",
    "read_setup",
    "refuse",
    "with_bag",
]

OWN = "own"
POINTS = COMPASS_POINTS[::2]
FIRMNESS = {"soaked": 0.5, "soft": 0.75, "normal": 1.0, "firm": 1.4, "baked": 2.0}
CALM = "calm"
ASSUMED_FORWARD_FROM = (8.0, 18.0, 28.0)
"""Handicap indexes above which the next shorter tees are usual; common practice."""
_TEE_OF = "tee_of"
AIMS = ("strokes", "penalties")
MAP_TYPES, BAG_TYPES = ["geojson", "json", "osm", "xml"], ["toml"]


@dataclass(frozen=True)
class Setup:
    """Everything chosen.

    ``key`` is a digest of everything that decides a plan: two setups with one key have the
    same plan, whoever asks. ``bag_file`` is the bag's file as chosen, before any change in this
    session.
    """

    request: PlanRequest
    key: str
    unit: DistanceUnit
    map_report: MapReport
    summary: str
    bag_file: InputFile | None = None


def read_setup() -> Setup | None:
    """Show the side panel; None while something is missing or unusable, which is then said."""
    put_choices_in_address()
    with st.sidebar:
        st.subheader("Your round")
        original = _course_file()
        course_file = None if original is None else map_in_use(original)
        report = None if course_file is None else map_report(course_file)
        course = None if report is None else report.course
        bag_file = _bag_file()
        in_use = None if bag_file is None else bag_in_use(bag_file)
        bag_report = None if in_use is None else bag_of(in_use)
        bag = None if bag_report is None else bag_report.bag
        tee = None if course is None else _tee(course)
        unit = _unit()
        aim_for, give_up = _aim_for()
        weather = _conditions(unit)
        more = read_more(unit, bag, "" if bag_file is None else bag_file.digest)
        conditions = replace(
            weather, altitude_m=more.altitude_m, green_speed_ft=more.green_speed_ft
        )
    if report is None or course_file is None:
        _ask("map", "GeoJSON (.geojson) or the public map's export (.osm)")
    elif course is None:
        problems = [str(f) for f in report.findings if f.severity == "error"]
        refuse(course_file.name, "map", problems)
    if bag_report is None or bag_file is None:
        _ask("bag", "a TOML file, or answer the few questions there")
    elif bag is None:
        refuse(bag_file.name, "bag", bag_report.problems)
    if course is None or bag is None or course_file is None or bag_file is None or report is None:
        return None
    request = PlanRequest(
        course,
        bag,
        tee=tee,
        conditions=conditions,
        aim_for=aim_for,
        give_up=give_up,
        local_rule_e5=more.local_rule_e5,
        clubs=more.clubs,
    )
    if is_public():
        # At home one hole has all threads. In public as many are solved at once as there are.
        request = replace(request, threads=1)
    return Setup(
        request,
        request_key(request),
        unit,
        report,
        _summary(request, unit)
        + ("" if course_file is original else " · map changed, see Map")
        + ("" if in_use is bag_file else " · bag changed, see Shots"),
        bag_file,
    )


def _course_file() -> InputFile | None:
    maps, kept = demo_maps(), maps_at_hand()
    names = {stem: _course_name(stem) for stem in maps} | _kept_names(kept) | {OWN: "My own map …"}
    choice = st.selectbox(
        "Course",
        list(names),
        format_func=names.__getitem__,
        key="course",
        bind="query-params",
        filter_mode=None,
    )
    say_map_fault()
    if choice in kept:
        _delete_course_button(str(choice), kept[str(choice)][0])
        return kept[str(choice)][1]
    if choice != OWN:
        path = maps[choice]
        return uploaded_file(path.name, path.read_bytes())
    upload = st.file_uploader(
        "Map of the course", MAP_TYPES, key="map_upload", max_upload_size=MAX_FILE_MB
    )
    if upload is None:
        return None
    file = uploaded_file(upload.name, upload.getvalue())
    course = map_report(file).course
    if course is not None:
        st.button("Keep this map", key="map_keep", on_click=_keep_map, args=(course.name, file))
    return file


def _kept_names(kept: dict[str, tuple[str, InputFile]]) -> dict[str, str]:
    """What kept maps are called in the list; two of one name are told apart."""
    counted: Counter[str] = Counter()
    names = {}
    for choice, (name, _) in kept.items():
        counted[name] += 1
        number = f" {counted[name]}" if counted[name] > 1 else ""
        names[choice] = f"{name} (kept{number})"
    return names


def _delete_course_button(choice: str, name: str) -> None:
    with st.popover("Delete"):
        st.markdown(f"Delete the map of {plain(name)}? It can be taken back under Help and limits.")
        st.button("Yes, delete it", key="course_delete", on_click=_delete_map, args=(choice,))


def _delete_map(choice: str) -> None:
    if delete_map(choice):
        st.session_state["course"] = next(iter(demo_maps()))


def _keep_map(name: str, file: InputFile) -> None:
    choice = keep_map(name, file)
    if choice is not None:
        st.session_state["course"] = choice


def chosen_course() -> InputFile | None:
    """Map chosen in the side panel, as its file is; None while none is uploaded."""
    choice = st.session_state.get("course")
    maps, kept = demo_maps(), maps_at_hand()
    if choice in maps:
        return uploaded_file(maps[choice].name, maps[choice].read_bytes())
    if choice in kept:
        return kept[choice][1]
    upload = st.session_state.get("map_upload")
    return None if upload is None else uploaded_file(upload.name, upload.getvalue())


def _course_name(stem: str) -> str:
    path = demo_maps()[stem]
    course = map_report(uploaded_file(path.name, path.read_bytes())).course
    return stem.title() if course is None else course.name


def _bag_file() -> InputFile | None:
    bags = bags_at_hand()
    names = {one: golfer_of(one, file) for one, file in bags.items()} | {OWN: "My own bag …"}
    choice = st.selectbox(
        "Bag",
        list(names),
        format_func=names.__getitem__,
        key="bag",
        bind="query-params",
        filter_mode=None,
    )
    say_fault()
    if choice != OWN:
        if is_kept(choice):
            forget_button(choice, bags[choice])
        return bags[choice]
    upload = st.file_uploader("Bag file", BAG_TYPES, key="bag_upload", max_upload_size=1)
    if upload is None:
        return made_bag()
    file = uploaded_file(upload.name, upload.getvalue())
    if bag_of(file).bag is not None:
        st.button("Keep this bag", key="bag_keep", on_click=_keep, args=(file,))
    return file


def _keep(file: InputFile) -> None:
    choice = keep(file)
    if choice is not None:
        st.session_state["bag"] = choice


def _usual_tee(names: tuple[str, ...], choice: str) -> str:
    """Tees of a bag while none are chosen: a demo golfer's own, else by the handicap index."""
    usual = DEMO_TEES.get(choice)
    if usual in names:
        return str(usual)
    file = bags_at_hand().get(choice)
    bag = None if file is None else bag_of(file).bag
    if bag is None:
        return names[0]
    forward = sum(bag.golfer.handicap_index > limit for limit in ASSUMED_FORWARD_FROM)
    return names[min(forward, len(names) - 1)]


def _tee(course: Course) -> str:
    """Choice of the tees. A bag that is put in another's place comes with its own.

    An address leaves out what is usual, so that must follow from the bag and nothing else.
    """
    names, choice = course.tee_names, str(st.session_state.get("bag", ""))
    usual = _usual_tee(names, choice)
    if st.session_state.setdefault(_TEE_OF, choice) != choice:
        st.session_state[_TEE_OF] = choice
        st.session_state["tee"] = usual
    return str(
        st.selectbox(
            "Tees",
            names,
            names.index(usual),
            key="tee",
            bind="query-params",
            filter_mode=None,
        )
    )


def _unit() -> DistanceUnit:
    shown = st.segmented_control(
        "Distances in",
        [unit.value for unit in DistanceUnit],
        default=DistanceUnit.METRES.value,
        required=True,
        key="units",
        bind="query-params",
    )
    return DistanceUnit(shown)


def _aim_for() -> tuple[str, float]:
    aim = st.segmented_control(
        "Play for fewest",
        AIMS,
        default="strokes",
        required=True,
        key="aim",
        bind="query-params",
        help="Fewest penalties: the safest plan that gives up no more strokes a hole than you say.",
    )
    if aim == "strokes":
        return "strokes", 0.1
    give_up = st.slider(
        "Strokes a hole given up at most", 0.0, 0.5, 0.1, 0.05, key="give_up", bind="query-params"
    )
    return "penalties", float(give_up)


def _conditions(unit: DistanceUnit) -> Conditions:
    st.subheader("Weather and turf")
    origin = st.selectbox(
        "Wind from", [CALM, *POINTS], key="wind", bind="query-params", filter_mode=None
    )
    wind_from, speed = None, 0.0
    if origin != CALM:
        wind_from = POINTS.index(origin) * math.tau / len(POINTS)
        if unit is DistanceUnit.YARDS:
            mph = st.slider("Wind speed, mph", 1, 35, 10, key="wind_mph", bind="query-params")
            speed = mph * MPS_PER_MPH
        else:
            speed = float(
                st.slider("Wind speed, m/s", 1, 15, 5, key="wind_mps", bind="query-params")
            )
    celsius = st.slider("Temperature, °C", -5, 40, 15, key="celsius", bind="query-params")
    turf = st.select_slider("Turf", list(FIRMNESS), "normal", key="turf", bind="query-params")
    return Conditions(wind_from, speed, float(celsius), firmness=FIRMNESS[str(turf)])


def _summary(request: PlanRequest, unit: DistanceUnit) -> str:
    golfer = request.bag.golfer
    hand = ", left-handed" if golfer.left_handed else ""
    parts = [
        request.course.name,
        f"{request.tee} tees",
        f"{golfer.name}, index {golfer.handicap_index:g}{hand}",
        words.conditions(request.conditions, unit),
        f"fewest {request.aim_for}",
    ]
    if request.local_rule_e5:
        parts.append("Local Rule E-5")
    if request.clubs is not None:
        parts.append(f"{len(request.clubs)} clubs chosen")
    return " · ".join(parts)


def _ask(what: str, kinds: str) -> None:
    st.info(
        f"Upload your {what} in the side panel ({kinds}), or choose one of the demo's there. "
        "The file stays on the computer that serves this page."
    )


def choices_now(setup: Setup) -> dict[str, object]:
    """What is chosen in the side panel, to be kept and chosen again."""
    clubs = setup.request.clubs
    return choices_of(st.session_state.to_dict()) | (
        {} if clubs is None else {"clubs": list(clubs)}
    )


def choose_again(kept: Mapping[str, Any]) -> list[str]:
    """Choose what was kept; what is not here any more, in a golfer's words."""
    maps, bags = demo_maps(), bags_at_hand()
    courses = {stem: uploaded_file(p.name, p.read_bytes()) for stem, p in maps.items()}
    courses |= {choice: file for choice, (_, file) in maps_at_hand().items()}
    course, bag = courses.get(str(kept.get("course"))), bags.get(str(kept.get("bag")))
    missing = [what for what, found in (("the map", course), ("the bag", bag)) if found is None]
    plays_on = None if course is None else map_report(map_in_use(course)).course
    allowed: dict[str, Callable[[str], bool]] = {
        "course": courses.__contains__,
        "bag": bags.__contains__,
        "tee": lambda name: plays_on is not None and name in plays_on.tee_names,
        "units": [unit.value for unit in DistanceUnit].__contains__,
        "aim": AIMS.__contains__,
        "wind": [CALM, *POINTS].__contains__,
        "turf": FIRMNESS.__contains__,
    }
    choose(kept, allowed)
    st.session_state[_TEE_OF] = st.session_state.get("bag", "")
    if bag is not None:
        choose_clubs(bag_of(bag).bag, bag.digest, kept.get("clubs"))
    return missing


def with_bag(setup: Setup, bag: Bag) -> Setup:
    """Everything as chosen, but for another golfer's bag with all the clubs it carries."""
    request = replace(setup.request, bag=bag, clubs=None)
    return replace(setup, request=request, key=request_key(request), bag_file=None)


def refuse(name: str, what: str, problems: list[str] | tuple[str, ...]) -> None:
    """Say everything that keeps a file from being used."""
    count = "one thing" if len(problems) == 1 else f"{len(problems)} things"
    st.error(f"The {what} **{plain(name)}** cannot be used yet; {count} to mend:")
    st.markdown("\n".join(f"{i}. {plain(line)}" for i, line in enumerate(problems, start=1)))
