"""Maps being drawn, with the way back, as text that can be kept and opened again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from planner.course.features import RawFeature
from planner.course.map_document import MapDocument
from planner.errors import CourseMapError
from planner.planning.map_work import map_bytes
from planner.store.drafts import drafts, drop_draft, save_draft
from planner.store.opening import LOCAL_OWNER, Store
from planner.store.records import SavedDraft

__all__ = [
    "DrawnMap",
    "draft_of",
    "draft_text",
    "drop_kept_draft",
    "keep_draft",
    "kept_drafts",
    "latest_map",
]

FORMAT = 1
MOST_STATES = 100
MOST_PLACES = 500_000
"""Features of all states together that are kept; of a large map fewer states are."""
FARTHEST_DEG = (180.0, 90.0)
_BROKEN = (
    ValueError,
    KeyError,
    TypeError,
    IndexError,
    AttributeError,
    RecursionError,
    shapely.GEOSException,
)
"""What a text that was not written here makes reading it raise."""


@dataclass(frozen=True, eq=False)
class DrawnMap:
    """States of a map, the present one last, and the one that is planned on, if any is."""

    states: tuple[MapDocument, ...]
    planned_on: MapDocument | None = None


def draft_text(drawn: DrawnMap) -> str:
    """Everything as JSON: each feature once, and each state as a list of features.

    Of a large map the older states are left out, but for the first, which is the map as it was.
    """
    states = _kept_states(drawn.states)
    numbers: dict[int, int] = {}
    features: list[dict[str, Any]] = []

    def listed(document: MapDocument) -> list[int]:
        for feature in document.features:
            if id(feature) not in numbers:
                numbers[id(feature)] = len(features)
                features.append(
                    {
                        "id": feature.feature_id,
                        "tags": dict(feature.tags),
                        "shape": shapely.to_wkb(feature.geometry_lonlat, hex=True),
                    }
                )
        return [numbers[id(feature)] for feature in document.features]

    content = {
        "format": FORMAT,
        "name": states[-1].name,
        "attribution": states[-1].attribution,
        "states": [listed(one) for one in states],
        "planned_on": None if drawn.planned_on is None else listed(drawn.planned_on),
        "features": features,
    }
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"))


def draft_of(text: str) -> DrawnMap:
    """States that a text holds.

    Raises
    ------
    CourseMapError
        It is no text of :func:`draft_text`.
    """
    try:
        content = json.loads(text)
        if content["format"] != FORMAT or not content["states"]:
            raise ValueError("another format")
        features = [_feature(one) for one in content["features"]]
        name, attribution = str(content["name"]), str(content["attribution"])

        def document(places: Any) -> MapDocument:
            if any(place < 0 for place in places):
                raise ValueError("a feature before the first")
            return MapDocument(tuple(features[place] for place in places), name, attribution)

        planned_on = content["planned_on"]
        return DrawnMap(
            tuple(document(places) for places in content["states"]),
            None if planned_on is None else document(planned_on),
        )
    except _BROKEN:
        problem = "is no map that was being drawn here, or a damaged one"
        raise CourseMapError("kept map", [problem]) from None


def latest_map(drawn: DrawnMap) -> bytes:
    """The present state as a GeoJSON file."""
    return map_bytes(drawn.states[-1], ".geojson")


def keep_draft(
    store: Store,
    one: str | None,
    drawn: DrawnMap,
    *,
    source: str | None,
    owner: str = LOCAL_OWNER,
) -> SavedDraft:
    """Keep a map being drawn, in the place of the one with an id.

    Raises
    ------
    StoreError
        It cannot be kept; what was kept stays.
    """
    text, name = draft_text(drawn), drawn.states[-1].name or "map"
    with store.writing(owner) as work:
        return save_draft(work, one, name=name, source=source, text=text)


def drop_kept_draft(store: Store, one: str, *, owner: str = LOCAL_OWNER) -> None:
    """Remove a map whose changes were all taken back; there is nothing to bring back."""
    with store.writing(owner) as work:
        drop_draft(work, one)


def kept_drafts(store: Store, *, owner: str = LOCAL_OWNER) -> list[SavedDraft]:
    """Every map being drawn, the one changed longest ago first."""
    with store.reading(owner) as work:
        return drafts(work)


def _kept_states(states: Sequence[MapDocument]) -> Sequence[MapDocument]:
    size = max(len(states[-1].features), 1)
    most = max(2, min(MOST_STATES, MOST_PLACES // size))
    return states if len(states) <= most else (states[0], *states[len(states) - most + 1 :])


def _feature(row: Any) -> RawFeature:
    shape = shapely.from_wkb(row["shape"])
    places = shapely.get_coordinates(shape)
    if not len(places) or not (np.abs(places) <= FARTHEST_DEG).all():
        raise ValueError("a place that is none")
    tags = {str(key): str(value) for key, value in row["tags"].items()}
    return RawFeature(str(row["id"]), tags, shape)
