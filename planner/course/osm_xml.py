"""XML exports of the public map (``.osm``) to raw features.

The parser is expat, fed from the file. A document type or an entity is refused, because no
export has one and they are the way to make a small file huge in memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import BinaryIO
from xml.parsers import expat

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from planner.course.features import RawFeature, named_source
from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.map_limits import MAX_DEPTH, MAX_ELEMENTS, count_crossings
from planner.course.tags import closed_way_is_area, number

FloatArray = NDArray[np.float64]

_BORING_KEYS = {"created_by", "source", "note", "type", "fixme", "attribution", "import_uuid"}
_AREA_RELATIONS = ("multipolygon", "boundary")
_EXPORT_HINT = "export the map again as .osm XML"


_MAX_NOTE = 10_000
"""Characters of notes that are read for the source."""


class _RefusedError(Exception):
    """The document has what no export has; the text says what."""


@dataclass
class _Way:
    nodes: list[str] = field(default_factory=list)
    tags: dict[str, str] = field(default_factory=dict)


@dataclass
class _Relation:
    members: list[tuple[str, str, str]] = field(default_factory=list)
    tags: dict[str, str] = field(default_factory=dict)


@dataclass
class _Document:
    """What expat has read so far."""

    root: str = ""
    source: str = ""
    note: list[str] = field(default_factory=list)
    nodes: dict[str, tuple[float, float]] = field(default_factory=dict)
    node_tags: dict[str, dict[str, str]] = field(default_factory=dict)
    ways: dict[str, _Way] = field(default_factory=dict)
    relations: dict[str, _Relation] = field(default_factory=dict)
    bad_nodes: int = 0
    _tags: dict[str, str] | None = None
    _way: _Way | None = None
    _relation: _Relation | None = None
    _in_note: bool = False
    _depth: int = 0
    _elements: int = 0
    _note_left: int = _MAX_NOTE

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        self._depth += 1
        self._elements += 1
        if self._depth > MAX_DEPTH:
            raise _RefusedError(f"XML with elements nested more than {MAX_DEPTH} deep, refused")
        if self._elements > MAX_ELEMENTS:
            raise _RefusedError(f"XML with more than {MAX_ELEMENTS:,} elements, refused")
        if not self.root:
            self.root = name
            self.source = named_source(attributes)
        match name:
            case "node" | "way" | "relation":
                self._start_object(name, attributes)
            case "tag" if self._tags is not None:
                self._tags[attributes.get("k", "")] = attributes.get("v", "")
            case "nd" if self._way is not None:
                self._way.nodes.append(attributes.get("ref", ""))
            case "member" if self._relation is not None:
                member = (attributes.get(key, "") for key in ("type", "ref", "role"))
                kind, ref, role = member
                self._relation.members.append((kind, ref, role))
            case "note":
                self._in_note = True

    def text(self, part: str) -> None:
        if self._in_note and self._note_left > 0:
            self.note.append(part[: self._note_left])
            self._note_left -= len(part)

    def end(self, name: str) -> None:
        self._depth -= 1
        self._in_note = False
        if name in ("node", "way", "relation"):
            self._tags = self._way = self._relation = None

    def _start_object(self, name: str, attributes: Mapping[str, str]) -> None:
        self._tags = {}
        deleted = attributes.get("action") == "delete" or attributes.get("visible") == "false"
        ref = attributes.get("id", "")
        if deleted or not ref:
            return
        if name == "node":
            try:
                place = float(attributes["lon"]), float(attributes["lat"])
            except (KeyError, ValueError):
                place = (math.nan, math.nan)
            if not all(map(math.isfinite, place)):
                self.bad_nodes += 1
                return
            self.nodes[ref] = place
            self.node_tags[ref] = self._tags
        elif name == "way":
            self._way = self.ways[ref] = _Way(tags=self._tags)
        else:
            self._relation = self.relations[ref] = _Relation(tags=self._tags)


def features_of_osm_xml(stream: BinaryIO, log: FindingLog) -> tuple[list[RawFeature], str]:
    """Read an XML export.

    Returns
    -------
    Tagged nodes as points, ways as lines or areas, multipolygon relations as areas; and the
    source that the file names.
    """
    document = _parse(stream, log)
    if document is None:
        return [], ""
    if document.root != "osm":
        log.error(WHOLE_FILE, f"XML, but its root is <{document.root}>, not <osm>", _EXPORT_HINT)
        return [], ""
    if document.bad_nodes:
        log.warning(
            WHOLE_FILE,
            f"{document.bad_nodes} nodes without a finite lon and lat",
            "left out of every way that uses them",
        )
    features, used_ways = _relation_features(document, log)
    features = _way_features(document, used_ways, log) + features
    features = _node_features(document) + features
    if not features:
        log.error(WHOLE_FILE, "no tagged node, way or relation", _EXPORT_HINT)
    # Query services name it in a <note>, not in the attributes.
    return features, document.source or named_source({"attribution": "".join(document.note)})


def _parse(stream: BinaryIO, log: FindingLog) -> _Document | None:
    document = _Document()
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = document.start
    parser.EndElementHandler = document.end
    parser.CharacterDataHandler = document.text
    parser.StartDoctypeDeclHandler = _refuse
    parser.EntityDeclHandler = _refuse
    try:
        # In one piece: fed in small ones, older parsers start a long token again at each.
        parser.Parse(stream.read(), True)
    except _RefusedError as fault:
        log.error(WHOLE_FILE, str(fault), _EXPORT_HINT)
        return None
    except (expat.ExpatError, ValueError, LookupError) as fault:
        log.error(WHOLE_FILE, f"not well-formed XML ({fault})", _EXPORT_HINT)
        return None
    return document


def _refuse(*_: object) -> None:
    raise _RefusedError("XML with a document type or entities, refused")


def _node_features(document: _Document) -> list[RawFeature]:
    return [
        RawFeature(f"node/{ref}", tags, shapely.Point(document.nodes[ref]))
        for ref, tags in document.node_tags.items()
        if set(tags) - _BORING_KEYS
    ]


def _way_features(document: _Document, used_ways: set[str], log: FindingLog) -> list[RawFeature]:
    features = []
    for ref, way in document.ways.items():
        if ref in used_ways or not set(way.tags) - _BORING_KEYS:
            continue
        feature_id = f"way/{ref}"
        missing = sum(node not in document.nodes for node in way.nodes)
        places = _places(document, way.nodes)
        if missing:
            log.warning(
                feature_id,
                f"{missing} of its nodes are not in the file (cut off at the export's edge?)",
                "drawn through the others" if len(places) > 1 else "left out",
            )
        if len(places) < 2:
            if not missing:
                log.warning(feature_id, "way with fewer than two nodes", "left out")
            continue
        features.append(RawFeature(feature_id, way.tags, _way_shape(way, places)))
    return features


def _way_shape(way: _Way, places: FloatArray) -> BaseGeometry:
    closed = len(places) >= 4 and way.nodes[0] == way.nodes[-1]
    if closed and closed_way_is_area(way.tags):
        return shapely.Polygon(places)
    return shapely.LineString(places)


def _places(document: _Document, nodes: Sequence[str]) -> FloatArray:
    """Places of the known nodes, ``(n, 2)``, or ``(n, 3)`` if any has a height."""
    known = [node for node in nodes if node in document.nodes]
    flat = np.array([document.nodes[node] for node in known], dtype=float).reshape(-1, 2)
    heights = [number(document.node_tags[node].get("ele"), metres=True) for node in known]
    if all(height is None for height in heights):
        return flat
    return np.column_stack((flat, [math.nan if h is None else h for h in heights]))


def _relation_features(document: _Document, log: FindingLog) -> tuple[list[RawFeature], set[str]]:
    """Areas of the multipolygon relations, and the ways that must not be drawn again."""
    features: list[RawFeature] = []
    used_ways: set[str] = set()
    for ref, relation in document.relations.items():
        if relation.tags.get("type") not in _AREA_RELATIONS:
            continue
        feature_id = f"relation/{ref}"
        outer = [way for kind, way, role in relation.members if kind == "way" and role != "inner"]
        inner = [way for kind, way, role in relation.members if kind == "way" and role == "inner"]
        tags = {key: value for key, value in relation.tags.items() if key != "type"}
        if not set(tags) - _BORING_KEYS:
            # Older maps tag the outer way and leave the relation bare.
            tagged = [document.ways[way] for way in outer if way in document.ways]
            tagged = [way for way in tagged if set(way.tags) - _BORING_KEYS]
            if not tagged:
                continue
            tags = tagged[0].tags
            used_ways.update(way for way in outer if way in document.ways)
        shape = _relation_shape(document, outer, inner, feature_id, log)
        if shape is not None:
            features.append(RawFeature(feature_id, tags, shape))
    return features, used_ways


def _relation_shape(
    document: _Document,
    outer: Sequence[str],
    inner: Sequence[str],
    feature_id: str,
    log: FindingLog,
) -> BaseGeometry | None:
    absent = sum(way not in document.ways for way in (*outer, *inner))
    if absent:
        log.warning(
            feature_id,
            f"{absent} of its ways are not in the file (cut off at the export's edge?)",
            "drawn from the others, gaps closed with straight lines",
        )
    shells = _rings(document, outer, feature_id, log)
    if shells is None:
        log.warning(feature_id, "multipolygon without a ring", "left out")
        return None
    holes = _rings(document, inner, feature_id, log)
    shape = shells if holes is None else shapely.difference(shells, holes)
    return None if shape.is_empty else shape


def _rings(
    document: _Document, ways: Sequence[str], feature_id: str, log: FindingLog
) -> BaseGeometry | None:
    """Area inside the rings that the ways form when joined end to end; None if there is none."""
    lines = []
    for way in ways:
        places = _places(document, document.ways[way].nodes if way in document.ways else ())
        if len(places) > 1:
            lines.append(shapely.LineString(places[:, :2]))
    if not lines:
        return None
    if count_crossings(np.array([shapely.multilinestrings(lines)], dtype=object)).too_many:
        log.warning(feature_id, "its ways cross one another in too many places", "left out")
        return None
    noded = shapely.get_parts(shapely.union_all(lines))
    faces, cuts, dangles, _ = shapely.polygonize_full(noded)
    rings = list(shapely.get_parts(faces))
    loose = shapely.line_merge(shapely.union(cuts, dangles))
    for line in shapely.get_parts(loose):
        corners = shapely.get_coordinates(line)
        if len(corners) >= 3:
            log.warning(feature_id, "its ways do not join to a ring", "closed with a straight line")
            rings.append(shapely.make_valid(shapely.Polygon(corners)))
    return shapely.union_all(rings) if rings else None
