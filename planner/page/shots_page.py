"""Own shots: a log uploaded, its columns put right, every club fitted, the bag filled in."""

from __future__ import annotations

from pathlib import PurePath

import streamlit as st

from planner.golfer.bag import Bag
from planner.golfer.club import ClubKind
from planner.golfer.club_fits import ClubFit
from planner.golfer.shot_log import LogReading
from planner.golfer.shot_log_columns import FIELDS, LogColumns
from planner.golfer.shot_log_text import MAX_FILE_BYTES
from planner.page.bag_edits import bag_before, bag_in_use, undo_edit, use_edit
from planner.page.inputs import InputFile, bag_of, uploaded_file
from planner.page.own_shots import demo_golfer, keep_shots
from planner.page.plain import plain
from planner.page.setup import Setup
from planner.page.shot_files import Fitted, Read, demo_logs, fitted, opened, read
from planner.planning.pattern_fitting import NewBag
from planner.report import fit_words
from planner.report.palette import palette
from planner.report.shots_chart import shots_alt, shots_chart
from planner.units import DistanceUnit

__all__ = ["show_shots"]

OWN = "own"
LOG_TYPES = ["csv", "txt", "tsv", "tab"]
SHOWN_REJECTIONS = 100
NO_COLUMN = None


def show_shots(setup: Setup) -> None:
    """Page of the golfer's own shots."""
    original = setup.bag_file
    if original is None:
        return
    st.markdown(
        "Load a log of your shots, bad ones included: every club's pattern is fitted to them and "
        "can be used in the plan. What few shots do not say comes from your handicap."
    )
    file = _pick_log(setup.request.bag)
    if file is None:
        st.info(
            "Upload a text export of your shots (CSV) with at least carry and offline; any "
            "separator, unit and order of columns will do. It stays on the computer that serves "
            "this page."
        )
        return
    shots = _read(file)
    if shots is None or shots.reading is None:
        return
    _left_out(shots.reading)
    base = bag_before(original, file.digest)
    bag = bag_of(base).bag
    club = _club_of_all(shots.reading, bag, file)
    if bag is None or club is None:
        return
    with st.spinner("Fitting"):
        found = fitted(shots, base, bag, club)
    if found.fit is None or found.new_bag is None:
        _refuse("These shots cannot be fitted", found.problems)
        return
    if _is_his(setup.request.bag):
        keep_shots(original, file, found)
    _use(original, found.new_bag, file)
    _fits(found, setup.unit, file)


def _pick_log(bag: Bag) -> InputFile | None:
    logs = demo_logs()
    names = {stem: f"Demo: {demo_golfer(stem)}" for stem in logs} | {OWN: "My own log …"}
    own = [stem for stem in logs if demo_golfer(stem) == bag.golfer.name]
    choice = st.pills(
        "Shot log",
        list(names),
        format_func=names.__getitem__,
        default=own[0] if own else OWN,
        required=True,
        key="shot_log",
        persist_state="session",
    )
    if choice != OWN:
        path = logs[str(choice)]
        if demo_golfer(path.stem) != bag.golfer.name:
            st.warning(
                f"These are the shots of {plain(demo_golfer(path.stem))}, and the bag is that of "
                f"{plain(bag.golfer.name)}. Choose the bag in the side panel."
            )
        return uploaded_file(path.name, path.read_bytes())
    upload = st.file_uploader(
        "Shot log", LOG_TYPES, key="shots_upload", max_upload_size=MAX_FILE_BYTES // 1_000_000
    )
    return None if upload is None else uploaded_file(upload.name, upload.getvalue())


def _is_his(bag: Bag) -> bool:
    """Whether the log chosen is not that of another demo golfer."""
    choice = str(st.session_state["shot_log"])
    return choice == OWN or demo_golfer(choice) == bag.golfer.name


def _read(file: InputFile) -> Read | None:
    """Read a log with its columns as set, which are shown to be put right; None if it cannot."""
    log = opened(file)
    if log.columns is None:
        _refuse(f"The log **{plain(file.name)}** cannot be used yet", log.problems)
        return None
    summary = st.container()
    chosen = _columns(log.columns, file)
    columns = log.columns.with_fields(chosen)
    if columns.missing:
        st.warning(f"Choose the column of {' and of '.join(columns.missing)} above.")
        return None
    shots = read(file, chosen, None)
    if shots.unknown:
        headings = " and ".join(f"“{plain(heading)}”" for heading in shots.unknown)
        st.warning(f"The log does not say in which unit {headings} are given.")
        unit = st.segmented_control(
            "They are in",
            [unit.value for unit in DistanceUnit],
            key=f"shots_unit/{file.digest}",
            persist_state="session",
        )
        if unit is None:
            return None
        shots = read(file, chosen, DistanceUnit(unit))
    if shots.reading is None:
        _refuse(f"The log **{plain(file.name)}** cannot be used yet", shots.problems)
        return None
    with summary:
        st.markdown(f"**{plain(fit_words.reading_said(shots.reading))}**")
        st.caption(plain(f"Read: {fit_words.columns_said(shots.reading.columns)}"))
        for note in shots.reading.notes:
            st.caption(plain(note))
    return shots


def _columns(guessed: LogColumns, file: InputFile) -> dict[str, int | None]:
    """Column of every field, as guessed until it is put right."""
    options = [NO_COLUMN, *range(len(guessed.headings))]

    def name(column: int | None) -> str:
        return "no column" if column is None else guessed.name(column)

    chosen: dict[str, int | None] = {}
    with (
        st.expander("Columns: put right what is wrong", expanded=bool(guessed.missing)),
        st.container(horizontal=True),
    ):
        for field in FIELDS:
            chosen[field] = st.selectbox(
                field.capitalize(),
                options,
                options.index(guessed.index.get(field, NO_COLUMN)),
                format_func=name,
                key=f"column/{file.digest}/{field}",
                filter_mode=None,
                width=160,
                persist_state="session",
            )
    return chosen


def _left_out(reading: LogReading) -> None:
    rejected = reading.rejected
    if not rejected:
        return
    with st.expander(f"Rows left out, and what to mend ({len(rejected)})"):
        lines = [f"- {plain(str(fault))}" for fault in rejected[:SHOWN_REJECTIONS]]
        if len(rejected) > SHOWN_REJECTIONS:
            lines.append(f"- and {len(rejected) - SHOWN_REJECTIONS} more")
        st.markdown("\n".join(lines))


def _club_of_all(reading: LogReading, bag: Bag | None, file: InputFile) -> str | None:
    """Club of a log that names none; empty where it names them, None while it is not known."""
    if "club" in reading.columns.index or bag is None:
        return ""
    labels = [club.label for club in bag.clubs if club.kind is not ClubKind.PUTTER]
    return st.selectbox(
        "The log names no club. Which one was hit?",
        labels,
        None,
        key=f"shots_club/{file.digest}",
        filter_mode=None,
        persist_state="session",
    )


def _use(original: InputFile, new: NewBag, file: InputFile) -> None:
    """Buttons that put the patterns into the session's bag, take them out, and save the bag."""
    in_use = bag_in_use(original)
    is_used = in_use.content == new.text.encode()
    with st.container(horizontal=True):
        st.button(
            "In use in the plan" if is_used else "Use these patterns in the plan",
            type="primary",
            key="use_patterns",
            disabled=is_used,
            on_click=use_edit,
            args=(original, new.text, file.digest),
        )
        st.button(
            "Undo",
            key="undo_patterns",
            disabled=in_use is original,
            help="Take the latest change of the bag back.",
            on_click=undo_edit,
            args=(original,),
        )
        st.download_button(
            "Download the new bag",
            new.text,
            f"{PurePath(original.name).stem}_measured.toml",
            "application/toml",
            key="save_bag",
            on_click="ignore",
        )
    if is_used:
        st.caption(
            plain(f"The plan uses measured patterns of {', '.join(new.changed)}.")
            + " They last until the page is reloaded; download the bag to keep them."
        )


def _fits(found: Fitted, unit: DistanceUnit, file: InputFile) -> None:
    assert found.fit is not None
    clubs = found.fit.fits.clubs
    left, right = st.columns([400, 560], gap="medium")
    with left:
        index = st.selectbox(
            "Club",
            range(len(clubs)),
            format_func=lambda i: f"{clubs[i].title} ({clubs[i].fit.shots})",
            key=f"shots_shown/{file.digest}",
            filter_mode=None,
            persist_state="session",
        )
        _one(clubs[min(int(index or 0), len(clubs) - 1)], unit)
    with right:
        st.table([_row(club, unit) for club in clubs], border="horizontal", hide_index=True)
        st.caption(fit_words.interval_said(unit, place="In brackets"))
    few = fit_words.few_said(found.fit.fits)
    notes = [*([few] if few else []), *found.fit.notes]
    notes += [f"{club.title}: {line}" for club in clubs for line in fit_words.fit_remarks(club)]
    if notes:
        with st.expander(f"To be known: {len(notes)} remarks"):
            st.markdown("\n".join(f"- {plain(line)}" for line in notes))


def _one(club: ClubFit, unit: DistanceUnit) -> None:
    """Chart of one club."""
    st.altair_chart(
        shots_chart(club, unit, palette(dark=st.context.theme.type == "dark")),
        width="content",
        theme=None,
        key="shots_chart",
        alt=shots_alt(club, unit),
    )
    st.caption(
        "Dots: solid shots; crosses: mishits. Five and nine of ten solid shots land in the "
        "ellipses, half of each kind of mishit in the dashed ones. Dotted: the aim line."
    )
    if club.few:
        st.badge(f"{fit_words.FEW_SHOTS_SAID}: {club.fit.shots}", color="orange")
    if not club.fit.converged:
        st.warning("This fit did not settle; do not rely on it.")


def _row(club: ClubFit, unit: DistanceUnit) -> dict[str, str]:
    cells = dict(zip(fit_words.FIT_HEADINGS, fit_words.fit_cells(club, unit), strict=True))
    few = f" :orange-badge[{fit_words.FEW_SHOTS_SAID}]" if club.few else ""
    row = {"Club": f"**{plain(club.title)}** {cells['Shots'][0]}{few}"}
    for title, value, spread in (
        ("Carry", "Carry", "Spread"),
        ("Offline", "Offline", "Sideways spread"),
    ):
        row[title] = (
            f"**{plain(cells[value][0])}** ({plain(cells[value][1])}), "
            f"±\u00a0{plain(cells[spread][0])} ({plain(cells[spread][1])})"
        )
    row["Mishits"] = f"**{plain(cells['Mishits'][0])}** ({plain(cells['Mishits'][1])})"
    return row


def _refuse(title: str, problems: tuple[str, ...]) -> None:
    st.error(f"{title}:")
    st.markdown("\n".join(f"{i}. {plain(line)}" for i, line in enumerate(problems, start=1)))
