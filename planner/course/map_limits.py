"""How much a map may hold, so that no file can make its reader hang or fill the memory.

Every limit is several times what a course with its surroundings needs. The number of corners
alone says little: a thousand corners drawn at random make a third of a million crossings, each
of which becomes a corner when the outline is repaired.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.course.features import RawFeature
from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.tags import Kind, meaning_of

FloatArray = NDArray[np.float64]

MAX_FILE_MB = 25
"""Size of a file [MB]: the public map exports at most 50,000 nodes at a time, below 15 MB."""
MAX_ELEMENTS = 1_000_000
"""Objects of JSON or elements of XML in a file."""
MAX_NUMBERS = 3_000_000
"""Numbers and texts of a JSON file."""
MAX_DEPTH = 100
"""Elements of XML within one another; exports have four."""
MAX_FEATURES = 50_000
"""Features of a file."""
MAX_PLAYED = 20_000
"""Features on the course that mean something for play."""
MAX_CORNERS = 100_000
"""Corners of those."""
MAX_OF_KIND = {Kind.HOLE: 200, Kind.GREEN: 1_000, Kind.TEE: 3_000, Kind.PIN: 1_000}
"""Features of one kind: the largest resorts have a tenth of these (common practice)."""
MAX_BOUNDARY_CUTS = 5_000
"""Out-of-bounds marks times holes: every mark is set against every hole."""
MAX_OWN_CROSSINGS = 2_000
"""Places where outlines and lines cross themselves, on the whole map."""
MAX_CROSSINGS = 50_000
"""Places where outlines and lines cross at all."""
MAX_CLOSE_PAIRS = 20_000_000
"""Pairs of edges whose boxes overlap; more are not even counted out."""
_EXPORT_LESS = "export one course and its surroundings only"
_FIRST_CHUNK, _MOST_PAIRS_AT_ONCE = 16, 500_000


def too_many_parts(text: str) -> str:
    """Why a JSON text is too much to be parsed; empty if it is not."""
    objects = text.count("{") + text.count("[")
    if objects > MAX_ELEMENTS:
        return f"{objects:,} objects and lists, more than {MAX_ELEMENTS:,}"
    values = text.count(",")
    if values > MAX_NUMBERS:
        return f"{values:,} values, more than {MAX_NUMBERS:,}"
    return ""


def within_limits(features: Sequence[RawFeature], log: FindingLog) -> bool:
    """Whether the features on the course can be worked on; if not, an error says why."""
    played = []
    kinds: Counter[Kind] = Counter()
    for feature in features:
        meaning = meaning_of(feature.tags)
        if meaning is not None and meaning.kind is not Kind.IGNORED:
            played.append(feature)
            kinds[meaning.kind] += 1
    problems = [
        f"{kinds[kind]:,} features of the kind {kind.value}, more than {most:,}"
        for kind, most in MAX_OF_KIND.items()
        if kinds[kind] > most
    ]
    cuts = kinds[Kind.OUT_OF_BOUNDS] * kinds[Kind.HOLE]
    if cuts > MAX_BOUNDARY_CUTS:
        problems.append(
            f"{kinds[Kind.OUT_OF_BOUNDS]:,} out-of-bounds marks on {kinds[Kind.HOLE]:,} holes, "
            f"more than {MAX_BOUNDARY_CUTS:,} pairs"
        )
    if len(played) > MAX_PLAYED:
        problems.append(f"{len(played):,} features that mean something, more than {MAX_PLAYED:,}")
    shapes = np.array([feature.geometry_lonlat for feature in played], dtype=object)
    corners = int(shapely.get_num_coordinates(shapes).sum()) if len(shapes) else 0
    if corners > MAX_CORNERS:
        problems.append(f"{corners:,} corners on the course, more than {MAX_CORNERS:,}")
    for problem in problems:
        log.error(WHOLE_FILE, problem, _EXPORT_LESS)
    return not problems and _crossings_within_limits(played, shapes, log)


def _crossings_within_limits(
    features: Sequence[RawFeature], shapes: NDArray[np.object_], log: FindingLog
) -> bool:
    found = count_crossings(shapes)
    if found.own.sum() > MAX_OWN_CROSSINGS:
        worst = int(found.own.argmax())
        log.error(
            features[worst].feature_id,
            f"crosses itself in {found.own[worst]:,} places or more; at most "
            f"{MAX_OWN_CROSSINGS:,} such places are repaired on a map",
            "draw it again or remove it",
        )
        return False
    if found.too_many:
        log.error(
            WHOLE_FILE,
            "outlines cross or lie on top of one another in too many places "
            f"(at most {MAX_CROSSINGS:,})",
            "remove what is drawn many times over",
        )
        return False
    return True


@dataclass(frozen=True)
class Crossings:
    """Crossings of edges: ``own`` of each shape with itself, and whether there are too many.

    Counting stops where the limits of this module are passed.
    """

    own: NDArray[np.int64]
    too_many: bool


def count_crossings(shapes: NDArray[np.object_]) -> Crossings:
    """Count where outlines and lines cross, shape ``(n,)``, without joining them."""
    own = np.zeros(len(shapes), dtype=np.int64)
    edges, owners = _edges(shapes)
    if not len(edges):
        return Crossings(own, False)
    tree = shapely.STRtree(shapely.linestrings(edges))
    crossings = pairs = start = 0
    size = _FIRST_CHUNK
    while start < len(edges):
        chunk = np.arange(start, min(start + size, len(edges)))
        first, second = tree.query(tree.geometries[chunk])
        first = chunk[first]
        pairs += len(first)
        # Few neighbours let many edges be asked for at once; many must not fill the memory.
        start += size
        size = max(1, min(2 * size, _MOST_PAIRS_AT_ONCE * size // max(len(first), 1)))
        ordered = first < second
        first, second = first[ordered], second[ordered]
        crossed = _cross(edges[first], edges[second])
        crossings += int(crossed.sum())
        same = crossed & (owners[first] == owners[second])
        np.add.at(own, owners[first[same]], 1)
        passed = crossings > MAX_CROSSINGS or pairs > MAX_CLOSE_PAIRS
        if passed or own.sum() > MAX_OWN_CROSSINGS:
            return Crossings(own, True)
    return Crossings(own, False)


def _edges(shapes: NDArray[np.object_]) -> tuple[FloatArray, NDArray[np.int64]]:
    """Edges ``(n, 2, 2)`` of all lines and outlines [degrees], and which shape each is of."""
    parts, owners = shapely.get_parts(shapes, return_index=True)
    while (shapely.get_type_id(parts) > 3).any():
        parts, inner = shapely.get_parts(parts, return_index=True)
        owners = owners[inner]
    rings, of_part = shapely.get_rings(parts, return_index=True)
    is_line = shapely.get_type_id(parts) == 1
    lines = np.concatenate([rings, parts[is_line]])
    owners = np.concatenate([owners[of_part], owners[is_line]])
    points, of_line = shapely.get_coordinates(lines, return_index=True)
    joined = of_line[1:] == of_line[:-1]
    edges = np.stack([points[:-1][joined], points[1:][joined]], axis=1)
    return edges, owners[of_line[1:][joined]].astype(np.int64)


def _cross(first: FloatArray, second: FloatArray) -> NDArray[np.bool_]:
    """Whether edges cross at a point inside both; arrays of shape ``(n, 2, 2)``."""

    def side(edge: FloatArray, point: FloatArray) -> FloatArray:
        along, to = edge[:, 1] - edge[:, 0], point - edge[:, 0]
        return np.asarray(along[:, 0] * to[:, 1] - along[:, 1] * to[:, 0])

    parted = side(first, second[:, 0]) * side(first, second[:, 1]) < 0
    other = side(second, first[:, 0]) * side(second, first[:, 1]) < 0
    return np.asarray(parted & other)
