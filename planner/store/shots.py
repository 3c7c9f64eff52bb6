"""Shot logs: shots that came together, such as one file of them."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import ColumnElement

from planner.store.journal import replace_thing
from planner.store.opening import Work
from planner.store.records import SavedShot, SavedShotLog
from planner.store.rows import Parts, add_parts, add_thing, things
from planner.store.schema import shot, shot_log

__all__ = ["add_shot_log", "save_shots", "shot_logs"]

SHOTS = Parts(shot, "shot_log_id", SavedShot)


def shot_logs(work: Work, golfer_id: str | None = None) -> list[SavedShotLog]:
    """Every shot log, or a golfer's, oldest first, with its shots."""
    return _logs(work, *([] if golfer_id is None else [shot_log.c.golfer_id == golfer_id]))


def save_shots(work: Work, golfer_id: str, name: str, shots: Sequence[SavedShot]) -> SavedShotLog:
    """Save shots under a name, replacing others of that name; the same ones are kept."""
    made = SavedShotLog(golfer_id=golfer_id, name=name, shots=tuple(shots))
    same_name = _logs(work, shot_log.c.golfer_id == golfer_id, shot_log.c.name == name)
    if same_name and same_name[0].shots == made.shots:
        return same_name[0]
    old = same_name[0] if same_name else None
    made_by = replace_thing(work, shot_log, old, f'replacing shots "{name}"')
    add_shot_log(work, made, made_by=made_by)
    return made


def add_shot_log(work: Work, made: SavedShotLog, *, made_by: str | None = None) -> None:
    """Insert a shot log with its shots."""
    add_thing(work, shot_log, made, made_by=made_by)
    add_parts(work, SHOTS, made.id, made.shots)


def _logs(work: Work, *conditions: ColumnElement[bool]) -> list[SavedShotLog]:
    return things(work, shot_log, SavedShotLog, *conditions, below={"shots": SHOTS})
