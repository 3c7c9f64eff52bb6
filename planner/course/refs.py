"""What the card calls each hole: refs, loops of 27 holes, par and stroke index."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from planner.course.findings import WHOLE_FILE, FindingLog
from planner.course.hole_lines import DrawnHole
from planner.course.map_features import MapFeature

PAR_UP_TO_M = ((230.0, 3), (430.0, 4), (630.0, 5))
"""Longest hole [m] of each par; above is par 6.

Middles of the overlaps of the men's lengths in the Rules of Handicapping, Appendix F: par 3 up
to 240 m, par 4 220 to 450 m, par 5 410 to 650 m, par 6 from 610 m."""

_DIGITS = re.compile(r"\d+")


@dataclass(frozen=True)
class CardHole:
    """A hole as the card has it; ``loop`` is the nine it belongs to, empty if there is one."""

    drawn: DrawnHole
    ref: str
    order: int
    loop: str = ""
    name: str = ""


def card_holes(
    holes: Sequence[DrawnHole], outlines: Sequence[MapFeature], log: FindingLog
) -> list[CardHole]:
    """Holes with refs that differ, in playing order."""
    named = [_card_hole(hole, log) for hole in holes]
    named = _fill_missing(named, log)
    counts = Counter(hole.ref for hole in named)
    if max(counts.values(), default=0) > 1:
        named = _told_apart(named, outlines, log)
    return sorted(named, key=lambda hole: (hole.loop, hole.order, hole.ref))


def par_of(hole: CardHole, length: float, log: FindingLog) -> int:
    """Par as mapped, else by the hole's ``length`` [m]."""
    tags = hole.drawn.feature.tags
    feature_id = hole.drawn.feature_id
    texts = [tags["par"]] if "par" in tags else _by_colour(tags, "par")
    numbers = [int(text) for text in _DIGITS.findall(texts[0])] if texts else []
    by_length = next((par for limit, par in PAR_UP_TO_M if length <= limit), 6)
    plausible = [par for par in numbers if 2 <= par <= 7]
    if not plausible:
        problem = f"par {texts[0]!r} is not a par" if texts else "no par"
        log.assume(
            "warning",
            feature_id,
            f"hole {hole.ref}: {problem}",
            f"par {by_length} from its length of {length:.0f} m",
        )
        return by_length
    if len(numbers) > 1:
        log.assume(
            "warning", feature_id, f"hole {hole.ref}: par {texts[0]!r}", f"par {plausible[0]} used"
        )
    if abs(plausible[0] - by_length) > 1:
        log.warning(
            feature_id,
            f"hole {hole.ref}: par {plausible[0]} on a line of {length:.0f} m",
            "kept; check par and line",
        )
    return plausible[0]


def stroke_index_of(hole: CardHole, log: FindingLog) -> int | None:
    """Stroke index as mapped, or None."""
    tags = hole.drawn.feature.tags
    texts = [tags["handicap"]] if "handicap" in tags else _by_colour(tags, "handicap")
    if not texts:
        return None
    text = texts[0].strip()
    if text.isdecimal() and 1 <= int(text) <= 18:
        return int(text)
    log.warning(
        hole.drawn.feature_id,
        f"hole {hole.ref}: handicap {text!r} is not a stroke index from 1 to 18",
        "read as missing",
    )
    return None


def report_repeated_indices(
    indices: Sequence[tuple[CardHole, int | None]], log: FindingLog
) -> None:
    """Tell of holes of one loop that have the same stroke index."""
    refs: dict[tuple[str, int], list[str]] = defaultdict(list)
    for hole, index in indices:
        if index is not None:
            refs[hole.loop, index].append(hole.ref)
    for (_, index), same in refs.items():
        if len(same) > 1:
            log.warning(
                WHOLE_FILE,
                f"holes {', '.join(same)} have the same stroke index {index}",
                "kept; handicap strokes cannot be given hole by hole until it is mended",
            )


def _by_colour(tags: Mapping[str, str], key: str) -> list[str]:
    return [value for name, value in tags.items() if re.match(rf"{key}[:_]", name)]


def _card_hole(hole: DrawnHole, log: FindingLog) -> CardHole:
    tags = hole.feature.tags
    name = tags.get("name", "")
    ref = tags.get("ref", "").strip()
    if not ref and _DIGITS.search(name):
        ref = _DIGITS.findall(name)[0].lstrip("0") or "0"
        log.assume("note", hole.feature_id, "hole without ref", f"ref {ref} from its name")
    several = [part.strip() for part in re.split(r"[;/,]", ref) if part.strip()]
    if len(several) > 1:
        ref = several[0]
        log.assume(
            "note",
            hole.feature_id,
            f"hole with the refs {', '.join(several)}",
            f"planned once, as {ref}",
        )
    number = _DIGITS.search(ref)
    shown = "" if name.isdecimal() else name
    return CardHole(hole, ref, int(number[0][:9]) if number else 0, name=shown)


def _fill_missing(holes: Sequence[CardHole], log: FindingLog) -> list[CardHole]:
    """Give holes without a ref the lowest numbers that are free."""
    taken = {hole.order for hole in holes if hole.ref}
    filled = []
    for hole in holes:
        if not hole.ref:
            free = next(number for number in range(1, len(holes) + 99) if number not in taken)
            taken.add(free)
            log.assume(
                "warning", hole.drawn.feature_id, "hole without ref or number", f"called {free}"
            )
            hole = replace(hole, ref=str(free), order=free)
        filled.append(hole)
    return filled


def _told_apart(
    holes: Sequence[CardHole], outlines: Sequence[MapFeature], log: FindingLog
) -> list[CardHole]:
    """Make repeated refs different: by outline, by name, else by the walk from hole to hole."""
    for loops, reason in (
        (_loops_by_outline(holes, outlines), "the course outlines they lie in"),
        (_loops_by_name(holes), "their names"),
    ):
        called = _with_loops(holes, loops)
        if len({hole.ref for hole in called}) == len(called):
            _report_loops(called, reason, log)
            return called
    called = _with_loops(holes, _loops_by_walk(holes))
    _report_loops(called, "the shortest walk from green to tee", log)
    return called


def _with_loops(holes: Sequence[CardHole], loops: Sequence[str]) -> list[CardHole]:
    counts = Counter(hole.ref for hole in holes)
    whole_loops = {loop for hole, loop in zip(holes, loops, strict=True) if counts[hole.ref] > 1}
    called = []
    for hole, loop in zip(holes, loops, strict=True):
        if loop and (counts[hole.ref] > 1 or loop in whole_loops):
            ref = f"{loop} {hole.ref}" if len(loop) > 1 else f"{hole.ref}{loop}"
            called.append(replace(hole, ref=ref, loop=loop))
        else:
            called.append(hole)
    return called


def _report_loops(holes: Sequence[CardHole], reason: str, log: FindingLog) -> None:
    loops = defaultdict(list)
    for hole in holes:
        if hole.loop:
            loops[hole.loop].append(hole.ref)
    texts = [f"{refs[0]} to {refs[-1]}" if len(refs) > 1 else refs[0] for refs in loops.values()]
    log.assume(
        "warning",
        WHOLE_FILE,
        "several holes have the same ref",
        f"told apart by {reason}: {', '.join(texts)}",
    )


def _loops_by_outline(holes: Sequence[CardHole], outlines: Sequence[MapFeature]) -> list[str]:
    """Name (or a letter) of the smallest outline round the middle of each hole."""
    by_size = sorted(
        (outline for outline in outlines if outline.is_area),
        key=lambda outline: outline.shape_proj.area,
    )
    found = []
    for hole in holes:
        middle = hole.drawn.line_proj.interpolate(0.5, normalized=True)
        around = (n for n, o in enumerate(by_size) if shapely.intersects(o.shape_proj, middle))
        found.append(next(around, -1))
    names = [outline.name for outline in by_size]
    ids = sorted({number for number in found if number >= 0})
    labels = {
        number: names[number]
        if len(names[number]) > 1 and names.count(names[number]) == 1
        else chr(ord("a") + position)
        for position, number in enumerate(ids)
    }
    return [labels.get(number, "") for number in found]


def _loops_by_name(holes: Sequence[CardHole]) -> list[str]:
    """Words of the hole's name without its number, when the name holds that number."""
    loops = []
    for hole in holes:
        name = hole.name
        words = " ".join(_DIGITS.sub(" ", name).split()).strip(" -:,") if name else ""
        own = hole.drawn.feature.tags.get("golf:course:name", "") or words
        number = _DIGITS.findall(name)
        is_loop = own and (not name or str(hole.order) in number or own != words)
        loops.append(own if is_loop else "")
    return loops


def _loops_by_walk(holes: Sequence[CardHole]) -> list[str]:
    """Letters of loops chained by the shortest total walk from each green to the next tee."""
    # Rarely needed, and slow to import.
    from scipy.optimize import linear_sum_assignment

    by_ref: dict[str, list[int]] = defaultdict(list)
    for index, hole in enumerate(holes):
        by_ref[hole.ref].append(index)
    repeated = sorted(
        (group for group in by_ref.values() if len(group) > 1),
        key=lambda group: holes[group[0]].order,
    )
    letters: dict[int, str] = {}
    ends: dict[str, np.ndarray] = {}
    for group in repeated:
        starts = np.array([holes[index].drawn.line_proj.coords[0] for index in group])
        known = sorted(ends)
        fresh = iter(chr(ord("a") + n) for n in range(26) if chr(ord("a") + n) not in ends)
        chosen: dict[int, str] = {}
        if known:
            walks = np.array([np.hypot(*(starts - ends[letter]).T) for letter in known])
            rows, columns = linear_sum_assignment(walks)
            chosen = {int(c): known[int(r)] for r, c in zip(rows, columns, strict=True)}
        for place, index in enumerate(group):
            letter = chosen.get(place) or next(fresh, f"loop {index}")
            letters[index] = letter
            ends[letter] = np.array(holes[index].drawn.line_proj.coords[-1])
    return [letters.get(index, "") for index in range(len(holes))]
