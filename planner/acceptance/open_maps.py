"""Maps drawn by hand with the faults of real ones: each plans, or says why not.

Beside every map stands a file of what was drawn: pars, lengths, and the words by which each fault
has to be told. Nothing in it was read off the planner.
"""

from __future__ import annotations

import dataclasses
import tomllib
from collections.abc import Mapping
from functools import cache, partial
from pathlib import Path
from typing import Any

import numpy as np

from planner import demo_data
from planner.acceptance.claim import Area, Claim, NotHereError, Sense
from planner.course.reading import MapReport, check_map, read_course
from planner.errors import CourseMapError
from planner.golfer.bag import read_bag
from planner.planning.request import PlanRequest
from planner.planning.round_plan import plan_round

__all__ = ["AREA", "maps_folder"]

GOLFER = "bram_oskel"
"""Demo golfer who plays the maps: the wildest, who meets most of what is drawn."""
QUICK_HOLES = 2
"""Holes of each map that a quick run plans; a full one plans all."""
MOST_OVER_PAR, MOST_UNDER_PAR = 6.0, 1.0
"""A plan whose strokes lie outside is none that a golfer would believe."""


def maps_folder() -> Path:
    """Folder of the maps in a checkout.

    Raises
    ------
    NotHereError
        This installation has none.
    """
    folder = Path(__file__).resolve().parents[2] / "tests" / "acceptance" / "maps"
    if not folder.is_dir():
        raise NotHereError("the maps come with a checkout, not with an installed package")
    return folder


def _drawn(path: Path) -> Mapping[str, Any]:
    with path.with_suffix(".toml").open("rb") as stream:
        return tomllib.load(stream)


@cache
def _report(path: Path) -> MapReport:
    return check_map(path)


def _outcome(path: Path) -> str:
    """Whether the map can be planned, by its report and by the door that plans go through."""
    course = _report(path).course
    try:
        read = read_course(path)
    except CourseMapError as error:
        return "refused" if course is None and str(error).strip() else "refused without a reason"
    if course is None:
        return "read though reported unusable"
    return f"{len(read.holes)} holes"


def _pars(path: Path) -> str:
    course = _report(path).course
    return "" if course is None else " ".join(str(hole.par) for hole in course.holes)


def _length_gap(path: Path, lengths_m: tuple[float, ...]) -> float:
    """Largest difference of a hole's line from what was drawn [m]."""
    course = _report(path).course
    assert course is not None
    ours = np.array([hole.line_hole.length for hole in course.holes])
    return float(np.abs(ours - lengths_m).max())


def _told(path: Path, words: tuple[str, ...]) -> str:
    """Faults that the report tells of, and by name those it does not."""
    said = [str(finding) for finding in _report(path).findings]
    silent = [word for word in words if not any(word in line for line in said)]
    told = f"{len(words) - len(silent)} told"
    return f"{told}; silent on: {'; '.join(silent)}" if silent else told


def _planned(path: Path, most: int | None) -> str:
    """Plan holes from the first on, and judge each plan.

    A preview is enough; a hole whose preview says that it is not solved is planned in full.
    """
    course = read_course(path)
    refs = tuple(hole.ref for hole in course.holes)[:most]
    bag = read_bag(demo_data.demo_bag(GOLFER))
    asked = PlanRequest(course=course, bag=bag, holes=refs, preview=True)
    plans = list(plan_round(asked).holes)
    again = tuple(one.hole.ref for one in plans if not one.converged)
    if again:
        plans = [one for one in plans if one.converged]
        plans += plan_round(dataclasses.replace(asked, holes=again, preview=False)).holes
    wrong = [
        f"hole {one.hole.ref}: {one.expected_strokes:.2f} strokes"
        for one in plans
        if not one.converged
        or not -MOST_UNDER_PAR <= one.expected_strokes - one.hole.par <= MOST_OVER_PAR
    ]
    return f"{len(plans)} planned" + (f"; {'; '.join(wrong)}" if wrong else "")


def _claims_of(path: Path) -> list[Claim]:
    drawn = _drawn(path)
    source = "drawn by hand with the faults its first lines name"
    words = tuple(drawn["said"])
    name, same = path.name, Sense.SAME
    told = Claim(f"{name}: faults told of", source, f"{len(words)} told",
                 partial(_told, path, words), sense=same)  # fmt: skip
    if not drawn["plans"]:
        return [Claim(f"{name}: outcome", source, "refused", partial(_outcome, path), sense=same),
                told]  # fmt: skip
    lengths = tuple(float(length) for length in drawn["lengths_m"])
    quick = min(QUICK_HOLES, len(lengths))
    found = [
        Claim(f"{name}: outcome", source, f"{len(lengths)} holes", partial(_outcome, path),
              sense=same),
        Claim(f"{name}: pars", source, " ".join(map(str, drawn["pars"])), partial(_pars, path),
              sense=same),
        Claim(f"{name}: largest difference of a hole's length", source, 0.0,
              partial(_length_gap, path, lengths), "m", float(drawn["within_m"]),
              drawn["within_because"], Sense.AT_MOST),
        told,
        Claim(f"{name}: its first holes as plans", source, f"{quick} planned",
              partial(_planned, path, quick), sense=same),
    ]  # fmt: skip
    if len(lengths) > quick:
        found.append(
            Claim(f"{name}: all its holes as plans", source, f"{len(lengths)} planned",
                  partial(_planned, path, None), sense=same, long=True)
        )  # fmt: skip
    return found


def _missing() -> str:
    return str(maps_folder())


def claims() -> tuple[Claim, ...]:
    """Claims of this area; one that is not run where there are no maps."""
    try:
        paths = sorted(maps_folder().glob("*.osm"))
    except NotHereError:
        return (Claim("maps drawn by hand", "tests/acceptance/maps", "read", _missing),)
    return tuple(claim for path in paths for claim in _claims_of(path))


AREA = Area(
    "maps",
    "Maps with the faults of real ones",
    "Courses drawn by hand in the public map's own format. Each is read and planned, or refused "
    "with the reason; every fault that was drawn has to be told of.",
    claims,
)
