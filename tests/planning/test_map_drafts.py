"""Maps being drawn come back with the way back."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import shapely

from planner.course.map_document import MapDocument, added, removed, retagged
from planner.demo_data import demo_folder
from planner.errors import CourseMapError
from planner.planning import map_drafts
from planner.planning.map_drafts import (
    DrawnMap,
    draft_of,
    draft_text,
    keep_draft,
    kept_drafts,
    latest_map,
)
from planner.planning.map_work import empty_map, map_bytes, open_map
from planner.planning.saved_work import content_of, delete_saved, undo_last
from planner.store.opening import open_store

SQUARE = [(-30.2, 46.1), (-30.1995, 46.1), (-30.1995, 46.1005)]


def states() -> list[MapDocument]:
    first = open_map(demo_folder() / "pebblecote.geojson")
    second = added(first, "area", SQUARE, {"golf": "bunker"})
    third = retagged(second, 0, {"leisure": "golf_course", "name": "Näher <b>"})
    return [first, second, third, removed(third, 1)]


def told(document: MapDocument) -> Any:
    return [
        (one.feature_id, dict(one.tags), shapely.to_wkb(one.geometry_lonlat, hex=True))
        for one in document.features
    ]


def test_every_state_comes_back_exactly() -> None:
    before = states()
    after = draft_of(draft_text(DrawnMap(tuple(before), before[2])))
    assert [told(one) for one in after.states] == [told(one) for one in before]
    assert after.planned_on is not None
    assert told(after.planned_on) == told(before[2])
    assert after.states[-1].attribution == before[-1].attribution
    assert latest_map(after) == map_bytes(before[-1], ".geojson")


def test_what_states_share_is_written_once() -> None:
    one, all_of_them = states()[:1], states()
    alone = len(draft_text(DrawnMap(tuple(one))))
    assert len(draft_text(DrawnMap(tuple(all_of_them)))) < 1.3 * alone


def test_of_a_large_map_fewer_states_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    before = states()
    monkeypatch.setattr(map_drafts, "MOST_PLACES", 3 * len(before[-1].features))
    after = draft_of(draft_text(DrawnMap(tuple(before))))
    assert [told(one) for one in after.states] == [told(before[i]) for i in (0, 2, 3)]


def spoilt(**changes: Any) -> str:
    content = json.loads(draft_text(DrawnMap((empty_map("a", 1.0, 2.0),))))
    return json.dumps({**content, **changes})


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        "[" * 100_000,
        spoilt(format=2),
        spoilt(states=[]),
        spoilt(states=[[1]]),
        spoilt(states=[[-1]]),
        spoilt(states=[["a"]]),
        spoilt(states=5),
        spoilt(features=[{"id": "a", "tags": {}, "shape": "00"}]),
        spoilt(features=[{"id": "a", "tags": {}, "shape": shapely.Point(500, 0).wkb_hex}]),
        spoilt(features=[{"id": "a", "tags": {}, "shape": shapely.Point().wkb_hex}]),
        spoilt(features=[{"id": "a", "tags": [], "shape": shapely.Point(1, 1).wkb_hex}]),
    ],
)
def test_what_was_not_written_here_is_refused(text: str) -> None:
    with pytest.raises(CourseMapError, match="no map that was being drawn"):
        draft_of(text)


def test_a_kept_map_is_one_however_often_it_is_changed(tmp_path: Path) -> None:
    before = states()
    with open_store(tmp_path / "s.sqlite") as store:
        first = keep_draft(store, None, DrawnMap(tuple(before[:2])), source="abc")
        again = keep_draft(store, first.id, DrawnMap(tuple(before)), source="abc")
        (kept,) = kept_drafts(store)
        assert kept == again
        assert kept.id == first.id
        assert len(draft_of(kept.text).states) == 4
        assert kept_drafts(store, owner="another") == []
        assert content_of(store, "draft", kept.name)[1] == map_bytes(before[-1], ".geojson")
        delete_saved(store, "draft", kept.id)
        assert kept_drafts(store) == []
        # Whoever still has it open goes on under another id, and what was deleted comes back too.
        other = keep_draft(store, kept.id, DrawnMap(tuple(before)), source="abc")
        assert other.id != kept.id
        undo_last(store)
        assert {one.id for one in kept_drafts(store)} == {kept.id, other.id}
