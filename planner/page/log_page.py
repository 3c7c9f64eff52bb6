"""After the round: shots entered hole by hole on a phone, saved at once, then valued."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date

import streamlit as st

from planner.course.hole import Course, Hole
from planner.course.lies import Lie
from planner.errors import PlannerError, ShotLogError
from planner.golfer.club import Club, ClubKind
from planner.golfer.round_file import HOLED, RoundRow, round_rows
from planner.golfer.shot_log_text import split_rows
from planner.page.access import owner
from planner.page.background import Jobs
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.page.waiting import result_of
from planner.planning.progress import Progress
from planner.planning.round_keeping import (
    Card,
    keep_round,
    new_card,
    rounds_of,
    with_row,
    without_last,
)
from planner.planning.round_logging import round_accounts
from planner.report import round_log_text as text
from planner.report.practice_text import signed
from planner.store.opening import Store, open_store
from planner.strategy.strokes_gained import HoleAccount, RoundAccounts
from planner.units import M_PER_FT, DistanceUnit

__all__ = ["show_log"]

KEPT = 128
"""Results of all sessions; each is small."""
LIES = (Lie.TEE, Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH, Lie.SAND, Lie.TREES)
CARD = "log_card"
MOST_PUTTS = 8


@st.cache_resource(show_spinner=False)
def log_jobs() -> Jobs:
    """Jobs of all sessions; a reload finds its own again."""
    return Jobs(KEPT)


def show_log(setup: Setup) -> None:
    """Page of a played round."""
    enter, read = st.tabs(["Enter shots", "From a file"])
    with enter:
        card = _card(setup)
        if card is not None:
            _enter(setup, card)
    with read:
        _file(setup)


# -- entering ---------------------------------------------------------------------------------


def _card(setup: Setup) -> Card | None:
    """The round under way: the latest one saved for this golfer, course and day, or a new one."""
    golfer, course = setup.request.bag.golfer.name, setup.request.course.name
    day = st.date_input("Day of the round", date.today(), key="log_day", width=160)
    held = st.session_state.get(CARD)
    scope = (golfer, course, day)
    if isinstance(held, Card) and (held.golfer, held.course, held.played_on) == scope:
        return held
    try:
        saved = [one for one in _saved(golfer, course) if one.played_on == day]
    except PlannerError as error:
        st.error(plain(str(error)))
        return None
    card = saved[0] if saved else new_card(golfer, course, setup.request.tee or "", day)
    st.session_state[CARD] = card
    return card


def _saved(golfer: str, course: str) -> Sequence[Card]:
    with _store() as store:
        return rounds_of(store, golfer, course, owner=owner())


def _store() -> Store:
    return open_store()


def _keep(card: Card, course: Course) -> None:
    """Save the card and show it from then on; what cannot be saved is not shown as if it were."""
    try:
        with _store() as store:
            st.session_state[CARD] = keep_round(store, card, course=course, owner=owner())
        st.session_state["log_fault"] = ""
    except PlannerError as error:
        st.session_state["log_fault"] = str(error)


def _enter(setup: Setup, card: Card) -> None:
    if st.session_state.get("log_fault"):
        st.error(plain(f"Not saved: {st.session_state['log_fault']}"))
    hole = _hole(setup.request.course)
    shots = card.shots(hole.ref)
    done = bool(shots) and shots[-1].outcome == HOLED
    st.markdown(
        f"### Hole {plain(hole.ref)}, par {hole.par}: {card.strokes(hole.ref)} "
        f"{'strokes' if card.strokes(hole.ref) != 1 else 'stroke'}{' ✓' if done else ''}"
    )
    if shots:
        st.markdown("  \n".join(_line(row, setup.unit) for row in shots))
    if done:
        st.success("Holed. Go to the next hole.")
    else:
        _next_shot(setup, card, hole)
    st.button(
        "Undo the last shot",
        key="log_undo",
        disabled=not shots,
        width="stretch",
        on_click=_undo,
        args=(setup.request.course, card, hole.ref),
    )
    _total(setup, card)


def _hole(course: Course) -> Hole:
    refs = [hole.ref for hole in course.holes]
    with st.container(horizontal=True, wrap=False, width="content"):
        st.button("◀", key="log_before", on_click=_step, args=(refs, -1), help="Hole before")
        ref = st.selectbox(
            "Hole",
            refs,
            key="log_hole",
            filter_mode=None,
            label_visibility="collapsed",
            width=96,
            persist_state="session",
        )
        st.button("▶", key="log_after", on_click=_step, args=(refs, 1), help="Next hole")
    return course.hole(str(ref))


def _step(refs: list[str], by: int) -> None:
    now = refs.index(st.session_state["log_hole"])
    st.session_state["log_hole"] = refs[(now + by) % len(refs)]


def _next_shot(setup: Setup, card: Card, hole: Hole) -> None:
    """Big controls for the shot that comes next; their keys change with every shot."""
    unit, shots = setup.unit, card.shots(hole.ref)
    scope = f"{hole.ref}/{len(shots)}/{card.played_on}"
    on_green = st.segmented_control(
        "Where is the ball?",
        [*(lie.words for lie in LIES), Lie.GREEN.words],
        default=Lie.TEE.words if not shots else Lie.FAIRWAY.words,
        required=True,
        key=f"log_lie/{scope}",
        width="stretch",
    )
    if on_green == Lie.GREEN.words:
        _putts(setup, card, hole, scope)
        return
    lie = next(one for one in LIES if one.words == on_green)
    away = None
    if shots:
        away = st.number_input(
            f"To the pin, {unit.value}", 0, 700, None, 1, key=f"log_away/{scope}"
        )
    clubs = [club.label for club in _clubs(setup)]
    club = st.pills("Club", clubs, key=f"log_club/{scope}", width="stretch")
    penalty = st.segmented_control(
        "Penalty strokes", [0, 1, 2], default=0, required=True, key=f"log_penalty/{scope}"
    )
    row = RoundRow(
        hole=hole.ref,
        line=len(shots) + 1,
        lie=lie,
        to_pin_m=None if away is None else unit.to_metres(float(away)),
        club=str(club or ""),
        penalties=int(penalty or 0),
    )
    ready = bool(club) and (away is not None or lie is Lie.TEE)
    course = setup.request.course
    with st.container(horizontal=True):
        st.button(
            "Add the shot",
            type="primary",
            key="log_add",
            disabled=not ready,
            width="stretch",
            on_click=_add,
            args=(course, card, row),
        )
        st.button(
            "It went in",
            key="log_in",
            disabled=not ready,
            width="stretch",
            on_click=_add,
            args=(course, card, replace(row, outcome=HOLED, penalties=0)),
        )
    if not ready:
        st.caption("Choose the club and say how far the pin is.")


def _putts(setup: Setup, card: Card, hole: Hole, scope: str) -> None:
    unit = setup.unit
    length = M_PER_FT if unit is DistanceUnit.YARDS else 1.0
    away = st.number_input(
        f"First putt, {'feet' if unit is DistanceUnit.YARDS else 'metres'}",
        0.0,
        300.0,
        None,
        1.0,
        key=f"log_putt/{scope}",
    )
    putts = st.segmented_control(
        "Putts", list(range(1, MOST_PUTTS + 1)), default=2, required=True, key=f"log_putts/{scope}"
    )
    row = RoundRow(
        hole=hole.ref,
        line=len(card.shots(hole.ref)) + 1,
        lie=Lie.GREEN,
        to_pin_m=None if away is None else float(away) * length,
        outcome=HOLED,
        strokes=int(putts or 1),
    )
    st.button(
        "Holed",
        type="primary",
        key="log_holed",
        disabled=away is None,
        width="stretch",
        on_click=_add,
        args=(setup.request.course, card, row),
    )


def _clubs(setup: Setup) -> Sequence[Club]:
    bag = setup.request.bag
    carried = bag.carried() if setup.request.clubs is None else map(bag.club, setup.request.clubs)
    return [club for club in carried if club.kind is not ClubKind.PUTTER]


def _add(course: Course, card: Card, row: RoundRow) -> None:
    _keep(with_row(card, row), course)


def _undo(course: Course, card: Card, ref: str) -> None:
    _keep(without_last(card, ref), course)


def _line(row: RoundRow, unit: DistanceUnit) -> str:
    lie = "" if row.lie is None else row.lie.words
    away = "" if row.to_pin_m is None else f", {unit.from_metres(row.to_pin_m):.0f} {unit.symbol}"
    club = row.club or (f"{row.strokes} {'putts' if row.strokes != 1 else 'putt'}")
    lost = f", {row.penalties} penalty" if row.penalties else ""
    return plain(f"{row.line}. {lie}{away}: {club}{lost}")


def _total(setup: Setup, card: Card) -> None:
    st.divider()
    finished = {ref: rows for ref, rows in card.rows.items() if rows[-1].outcome == HOLED}
    if not finished:
        st.caption("Every shot is saved as soon as it is added; a reload loses nothing.")
        return
    st.markdown(f"**{card.total} strokes so far, {len(finished)} holes finished.**")
    _value(setup, finished, card.played_on, "logged")


# -- from a file --------------------------------------------------------------------------------


def _file(setup: Setup) -> None:
    upload = st.file_uploader(
        "Round (CSV): hole, lie, to pin (m) or lon and lat, club, penalty, putts",
        ["csv", "txt", "tsv"],
        key="log_upload",
        max_upload_size=5,
    )
    if upload is None:
        st.caption("It stays on the computer that serves this page.")
        return
    try:
        reading = round_rows(split_rows(upload.name, upload.getvalue()), unit=setup.unit)
    except ShotLogError as error:
        st.error("This round cannot be used:")
        st.markdown("\n".join(f"- {plain(line)}" for line in error.problems))
        return
    if reading.rejected:
        with st.expander(f"{len(reading.rejected)} rows cannot be used", expanded=True):
            st.markdown("\n".join(f"- {plain(str(fault))}" for fault in reading.rejected))
    for note in reading.notes:
        st.caption(plain(note))
    _value(setup, dict(reading.holes), None, "file")


# -- what it was worth --------------------------------------------------------------------------


def _value(
    setup: Setup, rows: dict[str, tuple[RoundRow, ...]], day: date | None, name: str
) -> None:
    request = replace(setup.request, aim_for="strokes", preview=True)
    digest = hashlib.sha256(repr(sorted(rows.items())).encode()).hexdigest()[:16]

    def work(report: Callable[[Progress], None], cancelled: threading.Event) -> RoundAccounts:
        return round_accounts(request, rows, progress=report, cancelled=cancelled)

    found = result_of(
        log_jobs(),
        f"{setup.key}/{digest}/{day}",
        work,
        start="What was every shot worth?",
        name=f"value_{name}",
    )
    if found is not None:
        _worth(found, setup, day, name)


def _worth(found: RoundAccounts, setup: Setup, day: date | None, name: str) -> None:
    with st.container(horizontal=True, gap="large"):
        st.metric("Score", found.score, width="content")
        st.metric("Expected", f"{found.expected:.1f}", width="content")
        st.metric("Leaving the plan cost", f"{found.leaving:.2f}", width="content")
    st.table([_hole_row(hole) for hole in found.holes], border="horizontal", hide_index=True)
    refs = [hole.ref for hole in found.holes]
    chosen = st.selectbox("Shots of hole", refs, key=f"worth_hole/{name}", filter_mode=None)
    hole = found.holes[refs.index(str(chosen))]
    pin = setup.request.course.hole(hole.ref).pin_hole
    cells = [text.shot_cells(shot, pin, setup.unit) for shot in hole.shots]
    headings = text.SHOT_HEADINGS
    st.table(
        [dict(zip(headings, map(plain, row), strict=True)) for row in cells],
        border="horizontal",
        hide_index=True,
    )
    st.caption(plain(text.FORMULA_SAID))
    for note in found.notes:
        st.caption(plain(note))
    if found.swings:
        st.download_button(
            f"Full swings as a shot log ({len(found.swings)})",
            text.swings_csv(found.swings, day="" if day is None else day.isoformat()),
            "swings.csv",
            "text/csv",
            key=f"swings/{name}",
            on_click="ignore",
            help="Load it under Shots, together with older shots, to renew your patterns.",
        )


def _hole_row(hole: HoleAccount) -> dict[str, str]:
    return {
        "Hole": f"**{plain(hole.ref)}** par {hole.par}",
        "Score": f"{hole.score}",
        "Expected": f"{hole.expected:.2f}",
        "Gained": plain(signed(hole.gained)),
        "Leaving the plan": "" if hole.leaving < 0.005 else f"{hole.leaving:.2f}",
    }
