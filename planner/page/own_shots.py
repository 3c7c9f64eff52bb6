"""Shots of the bag's golfer, wherever they come from: given under Shots, saved, or the demo's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import PurePosixPath

import streamlit as st

from planner.errors import PlannerError
from planner.golfer.bag import Bag
from planner.golfer.bag_overview import ClubView
from planner.golfer.club_fits import ClubFit, measured_pattern
from planner.golfer.shot_log_columns import FIELDS
from planner.page.access import owner
from planner.page.bag_edits import bag_before
from planner.page.inputs import InputFile, bag_of, demo_bags, uploaded_file
from planner.page.shot_files import Fitted, demo_logs, fitted, opened, read
from planner.planning.saved_work import saved_shots
from planner.store.location import locate
from planner.store.opening import open_store

__all__ = ["OwnShots", "demo_golfer", "is_in_use", "keep_shots", "own_shots"]

_GIVEN, _SAVED = "shots_given", "shots_saved"
KEPT_LOGS = 4
"""Logs given in a visit whose shots are kept for a bag; the oldest go first."""


@dataclass(frozen=True, eq=False)
class OwnShots:
    """Shots of one log with their fits from each club's good lie, by label, or what is wrong."""

    source: str
    fits: Mapping[str, ClubFit] = field(default_factory=dict)
    problems: tuple[str, ...] = ()


Logs = dict[str, OwnShots]
"""Shots by digest of their log, those given last at the end."""


def keep_shots(original: InputFile, file: InputFile, found: Fitted) -> None:
    """Remember for this visit the shots given for a bag, in place of the same log's before."""
    logs = _logs(_GIVEN, original)
    logs.pop(file.digest, None)
    logs[file.digest] = _as_own(file.name, found)
    for digest in list(logs)[:-KEPT_LOGS]:
        del logs[digest]


def own_shots(original: InputFile, bag: Bag) -> tuple[OwnShots, ...]:
    """Every log of the bag's golfer that is at hand, the one that counts first at the front."""
    given = reversed(_logs(_GIVEN, original).values())
    others = (_saved(original, bag), _demo(original, bag))
    return (*given, *(one for one in others if one is not None))


def is_in_use(view: ClubView, found: ClubFit, bag: Bag) -> bool:
    """Whether a club's pattern in the plan is the one fitted to these shots."""
    return view.club.pattern == measured_pattern(found, bag.unit)


def demo_golfer(stem: str) -> str:
    """Name of the golfer of a demo bag or log."""
    path = demo_bags().get(stem)
    bag = None if path is None else bag_of(uploaded_file(path.name, path.read_bytes())).bag
    return stem.replace("_", " ").title() if bag is None else bag.golfer.name


def _saved(original: InputFile, bag: Bag) -> OwnShots | None:
    """Saved shots of the golfer: those the bag names, or else the latest; read once in a visit."""
    logs = _logs(_SAVED, original)
    if logs:
        return next(iter(logs.values()))
    named = None if bag.shot_log is None else PurePosixPath(bag.shot_log.file).stem
    try:
        location = locate()
        if location.file is not None and not location.file.exists():
            return None
        with open_store(location) as store:
            found = saved_shots(store, bag.golfer.name, named, owner=owner())
    except PlannerError as error:
        return OwnShots("saved shots", problems=(str(error),))
    if found is None:
        return None
    name, content = found
    file = uploaded_file(f"{name}.csv", content)
    logs[file.digest] = _fitted(f"saved shots {name}", file, original)
    return logs[file.digest]


def _demo(original: InputFile, bag: Bag) -> OwnShots | None:
    """Shots of a demo golfer."""
    for stem, path in demo_logs().items():
        if demo_golfer(stem) == bag.golfer.name:
            return _fitted(path.name, uploaded_file(path.name, path.read_bytes()), original)
    return None


def _fitted(source: str, file: InputFile, original: InputFile) -> OwnShots:
    """Fit a log whose columns need no putting right, to the bag as it was before that log."""
    log = opened(file)
    base = bag_before(original, file.digest)
    bag = bag_of(base).bag
    if log.columns is None or bag is None:
        return OwnShots(source, problems=log.problems)
    shots = read(file, {name: log.columns.index.get(name) for name in FIELDS}, None)
    if shots.unknown:
        return OwnShots(source, problems=("the unit of its distances is not known",))
    return _as_own(source, fitted(shots, base, bag, ""))


def _as_own(source: str, found: Fitted) -> OwnShots:
    if found.fit is None:
        return OwnShots(source, problems=found.problems)
    return OwnShots(source, {one.club.label: one for one in found.fit.fits.for_bag()})


def _logs(key: str, original: InputFile) -> Logs:
    kept: dict[str, Logs] = st.session_state.setdefault(key, {})
    return kept.setdefault(original.digest, {})
