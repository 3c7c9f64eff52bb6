"""Plans as the JSON that was written of them, with the key of their request."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from planner.errors import StoreError
from planner.store.golfers import save_golfer
from planner.store.journal import replace_thing
from planner.store.opening import Work
from planner.store.records import SavedPlan
from planner.store.rows import add_thing, things
from planner.store.schema import plan

__all__ = ["add_plan", "plans", "save_plan"]


def plans(work: Work, golfer_id: str | None = None, *, key: str | None = None) -> list[SavedPlan]:
    """Every plan, a golfer's, or those of a request's key, oldest first."""
    conditions = [] if golfer_id is None else [plan.c.golfer_id == golfer_id]
    if key is not None:
        conditions.append(plan.c.key == key)
    return things(work, plan, SavedPlan, *conditions)


def save_plan(
    work: Work,
    content: Mapping[str, Any],
    *,
    name: str | None = None,
    course_key: str | None = None,
) -> SavedPlan:
    """Save a plan, replacing another of its name.

    Parameters
    ----------
    work
        Transaction.
    content
        As :func:`planner.report.plan_json.plan_as_json` gives it, or read back from JSON.
    name
        Name of the plan; its course and tees if None.
    course_key
        Key of the course's map, if known.

    Raises
    ------
    StoreError
        The content is no plan.
    """
    missing = [word for word in ("key", "golfer", "course", "tee") if not _text(content, word)]
    if missing:
        raise StoreError(f"plan: has no {', '.join(missing)}; save one that planner wrote")
    called = name or f"{_text(content, 'course')}, {_text(content, 'tee')} tees"
    try:
        text = json.dumps(content, ensure_ascii=False, allow_nan=False)
    except (TypeError, ValueError, RecursionError) as error:
        raise StoreError(f"plan: cannot be written as JSON: {error}") from None
    golfer = save_golfer(work, _text(content, "golfer"))
    made = SavedPlan(
        golfer_id=golfer.id,
        name=called,
        key=_text(content, "key"),
        course_key=course_key,
        text=text,
    )
    same_name = things(work, plan, SavedPlan, plan.c.golfer_id == golfer.id, plan.c.name == called)
    old = same_name[0] if same_name else None
    if old is not None and (old.text, old.course_key) == (text, course_key):
        return old
    add_plan(work, made, made_by=replace_thing(work, plan, old, f'replacing plan "{called}"'))
    return made


def add_plan(work: Work, made: SavedPlan, *, made_by: str | None = None) -> None:
    """Insert a plan."""
    add_thing(work, plan, made, made_by=made_by)


def _text(content: Mapping[str, Any], word: str) -> str:
    value = content.get(word)
    return value if isinstance(value, str) else ""
