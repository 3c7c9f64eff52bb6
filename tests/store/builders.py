"""Things to keep, and everything kept as one value."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from planner.planning.map_drafts import DrawnMap, draft_text
from planner.planning.map_work import empty_map
from planner.store.bags import bags, save_bag
from planner.store.courses import course_key, course_source, courses, save_course
from planner.store.drafts import drafts, save_draft
from planner.store.golfers import golfers, save_golfer
from planner.store.opening import LOCAL_OWNER, Store, Work
from planner.store.plans import plans, save_plan
from planner.store.records import RoundHole, RoundShot, SavedRound, SavedShot
from planner.store.rounds import rounds, save_round
from planner.store.shots import save_shots, shot_logs

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "courses_demo"
GOLFER = "Ilka Vantongeren"
DRAFT = draft_text(DrawnMap((empty_map("Grasmoor", 1.5, -2.25),)))
MAP = b'{"type": "FeatureCollection", "features": []}\n'


def bag_file(name: str = "plain bag", golfer: str = GOLFER, carry: float = 190.0) -> str:
    """Text of a small bag file."""
    return f"""format = 1
name = "{name}"
[golfer]
name = "{golfer}"
handicap_index = 18.4
[[club]]
label = "Driver"
kind = "driver"
loft_deg = 10.5
[club.pattern]
carry = {carry}
[[club]]
label = "7 iron"
kind = "iron"
loft_deg = 33.0
status = "candidate"
price = 80.5
[[club]]
label = "Putter"
kind = "putter"
"""


def plan_content(key: str = "0123456789abcdef", golfer: str = GOLFER) -> dict[str, Any]:
    """What a plan's JSON must have to be kept."""
    return {
        "format": 1,
        "key": key,
        "course": "Grasmoor",
        "golfer": golfer,
        "tee": "red",
        "holes": [{"ref": "1", "expected_strokes": 4.123456}],
    }


def shots(count: int, club: str = "Driver") -> list[SavedShot]:
    """Shots that differ."""
    return [
        SavedShot(
            club=club,
            source_row=i + 2,
            carry_m=180.0 + i / 7,
            offline_m=-3.0 + i / 3,
            total_m=None if i % 3 else 201.25,
            lie="tee" if i % 2 else None,
            outcome="=SUM(1)" if i == 1 else None,
            date="2026-05-01",
        )
        for i in range(count)
    ]


def played(golfer_id: str, strokes: int = 5) -> SavedRound:
    """Round of two holes."""
    return SavedRound(
        golfer_id=golfer_id,
        date=date(2026, 5, 2),
        course_name="Grasmoor",
        course_key=course_key(MAP),
        tee="red",
        notes="wind from the sea\nsecond line",
        holes=(
            RoundHole(ref="1", par=4, strokes=strokes, putts=2, penalties=0),
            RoundHole(ref="2", par=3, strokes=4),
        ),
        shots=(
            RoundShot(hole_ref="1", number=1, club="Driver", lon_deg=1.5, lat_deg=-2.25),
            RoundShot(hole_ref="1", number=2, to_pin_m=130.5, penalties=1, plan_kept=True),
        ),
    )


def fill(store: Store, owner: str = LOCAL_OWNER, golfer: str = GOLFER) -> None:
    """Save one of everything."""
    with store.writing(owner) as work:
        one = save_golfer(work, golfer)
        save_bag(work, bag_file(golfer=golfer), source="bag")
        save_course(work, MAP, name="Grasmoor", file_name="grasmoor.geojson")
        save_shots(work, one.id, "range", shots(5))
        save_round(work, played(one.id))
        save_plan(work, plan_content(golfer=golfer), course_key=course_key(MAP))
        save_draft(work, None, name="Grasmoor", source="0123", text=DRAFT)


def contents(store: Store, owner: str = LOCAL_OWNER) -> dict[str, Any]:
    """Everything that is kept and not deleted."""
    with store.reading(owner) as work:
        return contents_of(work)


def contents_of(work: Work) -> dict[str, Any]:
    """Everything that is kept and not deleted, as one transaction sees it."""
    maps = courses(work)
    return {
        "golfers": golfers(work),
        "bags": bags(work),
        "courses": maps,
        "sources": [course_source(work, one) for one in maps],
        "shot logs": shot_logs(work),
        "rounds": rounds(work),
        "plans": plans(work),
        "drafts": drafts(work),
    }


NOTHING: dict[str, Any] = {
    "golfers": [],
    "bags": [],
    "courses": [],
    "sources": [],
    "shot logs": [],
    "rounds": [],
    "plans": [],
    "drafts": [],
}
