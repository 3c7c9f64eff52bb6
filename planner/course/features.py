"""Raw map features, and the shapes in which exports write their tags, ids and source."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from shapely.geometry.base import BaseGeometry

from planner.course.tags import Tags

_HSTORE_PAIR = re.compile(r'"((?:[^"\\]|\\.)*)"\s*=>\s*(?:"((?:[^"\\]|\\.)*)"|NULL)')
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_ID_KEYS = ("@id", "id", "full_id", "osm_id", "osm_way_id")
_SOURCE_KEYS = ("copyright", "attribution", "license")
_NOT_TAGS = {*_ID_KEYS, "tags", "other_tags", "all_tags", "type", "timestamp", "version"}


@dataclass(frozen=True)
class RawFeature:
    """One feature as the file has it.

    ``geometry_lonlat`` is in degrees; third coordinates are heights [m], NaN where unknown.
    """

    feature_id: str
    tags: Tags
    geometry_lonlat: BaseGeometry


def tags_of_properties(properties: object) -> dict[str, str]:
    """Tags from a GeoJSON ``properties`` member, in any of the shapes exports write.

    Flat properties, a ``tags`` object (or its JSON text), and the ``other_tags`` text of
    ``"key"=>"value"`` pairs; the more specific place wins.
    """
    if not isinstance(properties, Mapping):
        return {}
    tags = {
        key: _text(value)
        for key, value in properties.items()
        if key not in _NOT_TAGS and not key.startswith("@") and _is_plain(value)
    }
    for key in ("other_tags", "all_tags", "tags"):
        tags.update(_inner_tags(properties.get(key)))
    return {key.strip(): value.strip() for key, value in tags.items() if value.strip()}


def feature_id_of(feature: Mapping[str, Any], position: int) -> str:
    """Id by which the map knows a feature, else its place in the file."""
    properties = feature.get("properties")
    places = [feature, properties] if isinstance(properties, Mapping) else [feature]
    for place in reversed(places):
        for key in _ID_KEYS:
            value = place.get(key)
            if isinstance(value, str | int) and not isinstance(value, bool) and str(value).strip():
                return _printable(str(value).strip())
    return f"feature {position}"


def named_source(members: Mapping[str, object]) -> str:
    """Source of a map in the words of its file; empty if it names none.

    It stands in ``copyright``, ``attribution`` and ``license`` of the file's outermost object,
    as in exports of the public map. Nothing is concluded from the features: a drawing of one's
    own can have ids and tags like the public map's.
    """
    texts = [members.get(key) for key in _SOURCE_KEYS]
    said = [" ".join(_printable(text).split()) for text in texts if isinstance(text, str)]
    return "; ".join(dict.fromkeys(filter(None, said)))


def _inner_tags(value: object) -> dict[str, str]:
    if isinstance(value, str) and value.lstrip().startswith("{"):
        try:
            value = json.loads(value)
        except (ValueError, RecursionError):
            return {}
    if isinstance(value, Mapping):
        return {str(key): _text(item) for key, item in value.items() if _is_plain(item)}
    if isinstance(value, str):
        return {
            _unescaped(key): _unescaped(item) for key, item in _HSTORE_PAIR.findall(value) if item
        }
    return {}


def _is_plain(value: object) -> bool:
    return isinstance(value, str | int | float) and not isinstance(value, bool)


def _text(value: object) -> str:
    # Tables write whole numbers as 4.0.
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return _printable(str(value))


def _printable(text: str) -> str:
    """Replace what JSON can hold but no output takes: halves of characters, control characters."""
    return _CONTROL.sub("\ufffd", text.encode("utf-8", "replace").decode("utf-8"))


def _unescaped(text: str) -> str:
    return re.sub(r"\\(.)", r"\1", text)
