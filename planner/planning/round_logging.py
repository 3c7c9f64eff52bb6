"""After the round: logged shots put on their holes, strokes gained, new rows for the patterns."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count

import numpy as np
import shapely

from planner.course.hole import Course, Hole, Point
from planner.course.lies import Ground, Lie
from planner.course.reading import to_hole
from planner.errors import OptionError, SolveError
from planner.golfer.bag import Bag
from planner.golfer.club_names import matching_club
from planner.golfer.round_file import RoundRow
from planner.golfer.shot_outcome import ShotModel, SwingStyle
from planner.planning.hole_bench import each_hole, open_bench
from planner.planning.hole_desk import shot_model
from planner.planning.progress import Progress
from planner.planning.request import PlanRequest, chosen_holes, tee_of
from planner.strategy.grid import label_points
from planner.strategy.shot_evaluation import ShotValue
from planner.strategy.strokes_gained import (
    FullSwing,
    HoleAccount,
    HoleWorth,
    PlayedShot,
    RoundAccounts,
    account,
)

__all__ = ["PlacedHole", "place_shots", "round_accounts"]

LEAST_FULL_SHARE = 0.85
"""A shot is taken for a full swing if the pin was at least this share of the club's usual total
away: with less room the golfer may have meant a partial one."""


@dataclass(frozen=True)
class PlacedHole:
    """A hole's shots on the ground.

    ``sided`` says of each shot whether its place was known to the sides, and not only by its
    distance to the pin.
    """

    hole: Hole
    shots: tuple[PlayedShot, ...]
    sided: tuple[bool, ...]


def round_accounts(
    request: PlanRequest,
    rows: Mapping[str, Sequence[RoundRow]],
    *,
    progress: Callable[[Progress], None] | None = None,
    cancelled: threading.Event | None = None,
) -> RoundAccounts:
    """Solve the holes of a logged round and value every shot.

    Parameters
    ----------
    request
        Course, bag, tees and conditions; its ``holes`` are replaced by those that were logged.
    rows
        Shots by hole.

    Raises
    ------
    OptionError
        A hole is unknown, or a shot has no place and no lie.
    SolveError
        No hole can be solved.
    planner.strategy.solution.Cancelled
        ``cancelled`` was set.
    """
    refs = tuple(hole.ref for hole in request.course.holes if hole.ref in rows)
    unknown = [ref for ref in rows if ref not in refs]
    if unknown:
        raise OptionError(
            f"{request.course.name} has no hole {', '.join(unknown)}; its holes are "
            f"{', '.join(hole.ref for hole in request.course.holes)}"
        )
    request = replace(request, holes=refs)
    holes = chosen_holes(request)
    stop = cancelled or threading.Event()
    model = shot_model(request)
    notes: list[str] = []
    placed = {
        hole.ref: place_shots(request, hole, _with_labels(rows[hole.ref], request.bag, notes))
        for hole in holes
    }
    done = count(1)

    def one(hole: Hole) -> tuple[HoleAccount, list[FullSwing]] | str:
        bench = open_bench(request, hole, [model])
        adviser = bench.solve(model, cancelled=stop)
        shots = placed[hole.ref]
        try:
            found = account(hole.ref, hole.par, shots.shots, HoleWorth(adviser))
        except SolveError as error:
            return f"{error}; the hole is left out"
        if progress is not None:
            progress(Progress(next(done), len(holes), f"hole {hole.ref}"))
        return found, _full_swings(shots, model, adviser.place_values)

    results = each_hole(holes, one, threads=request.threads, cancelled=stop)
    accounts = [found for found in results if not isinstance(found, str)]
    notes += [found for found in results if isinstance(found, str)]
    if not accounts:
        raise SolveError("no hole of this round can be solved: " + "; ".join(notes))
    guessed = sum(
        not known and shot.lie is not Lie.GREEN
        for one_hole in placed.values()
        for shot, known in zip(one_hole.shots, one_hole.sided, strict=True)
    )
    if guessed:
        notes.append(
            f"{guessed} places are known by their distance to the pin only; they are taken to lie "
            "on the line of play"
        )
    return RoundAccounts(
        course=request.course.name,
        golfer=request.bag.golfer.name,
        tee=request.tee or "longest",
        holes=tuple(found for found, _ in accounts),
        swings=tuple(swing for _, found in accounts for swing in found),
        notes=tuple(dict.fromkeys(notes)),
    )


def place_shots(request: PlanRequest, hole: Hole, rows: Sequence[RoundRow]) -> PlacedHole:
    """Put the shots of a hole on the ground.

    The first shot is played from the tee where nothing else is said. A place known by its distance
    to the pin only lies on the line of play. A lie that is not said is that of the map.

    Raises
    ------
    OptionError
        A shot after the first has no place.
    """
    shots, sided = [], []
    for number, row in enumerate(rows, start=1):
        tee = tee_of(hole, request.tee).position_hole
        place, known = _place(request.course, hole, tee, row, first=number == 1)
        lie = row.lie
        if lie is None:
            at_tee = number == 1 and place == tee
            lie = Lie.TEE if at_tee else _lie_at(hole, place)
        if lie is Lie.TEE and number > 1 and row.to_pin_m is None and not known:
            place = tee
        shots.append(PlayedShot(number, place, lie, row.club, row.strokes, row.penalties))
        sided.append(known)
    return PlacedHole(hole, tuple(shots), tuple(sided))


def _place(
    course: Course, hole: Hole, tee: Point, row: RoundRow, *, first: bool
) -> tuple[Point, bool]:
    if row.place_hole is not None:
        return row.place_hole, True
    if row.place_lonlat is not None:
        along, across = to_hole(course, hole, [row.place_lonlat])[0].tolist()
        if math.dist((along, across), hole.pin_hole) > 2.0 * hole.line_hole.length + 200.0:
            raise OptionError(
                f"line {row.line}: {row.place_lonlat} is not on hole {hole.ref}; "
                "longitude comes first, then latitude"
            )
        return (along, across), True
    if first or (row.lie is Lie.TEE and row.to_pin_m is None):
        return tee, True
    if row.to_pin_m is None:
        raise OptionError(
            f"line {row.line}, hole {hole.ref}: does not say where the ball lay; write its "
            "distance to the pin, or its longitude and latitude"
        )
    return _on_line(hole, row.to_pin_m), False


def _on_line(hole: Hole, to_pin_m: float) -> Point:
    """Point of the line of play this far from the pin, the last one of several."""
    line = hole.line_hole
    steps = np.linspace(0.0, line.length, max(int(line.length), 2))
    points = shapely.get_coordinates(shapely.line_interpolate_point(line, steps))
    away = np.hypot(*(points - np.asarray(hole.pin_hole)).T)
    beyond = np.flatnonzero(away >= to_pin_m)
    if not len(beyond):
        start = points[0] - np.asarray(hole.pin_hole)
        found = np.asarray(hole.pin_hole) + start / np.hypot(*start) * to_pin_m
        return float(found[0]), float(found[1])
    at = int(beyond[-1])
    if at + 1 == len(points):
        return float(points[at, 0]), float(points[at, 1])
    part = (away[at] - to_pin_m) / max(away[at] - away[at + 1], 1e-12)
    found = points[at] + part * (points[at + 1] - points[at])
    return float(found[0]), float(found[1])


def _lie_at(hole: Hole, place: Point) -> Lie:
    return Ground(int(label_points(hole, np.array([place]))[0])).lie


def _with_labels(rows: Sequence[RoundRow], bag: Bag, notes: list[str]) -> tuple[RoundRow, ...]:
    """Rows whose clubs have the labels of the bag; an unknown club is no club, and said."""
    found = []
    for row in rows:
        label = ""
        if row.club:
            club = matching_club(row.club, bag.clubs)
            if club is None:
                notes.append(f'"{row.club}" is no club of the bag; what it cost is not known')
            else:
                label = club.label
        found.append(replace(row, club=label))
    return tuple(found)


def _full_swings(
    placed: PlacedHole, model: ShotModel, values: Callable[[Point, Lie], Sequence[ShotValue]]
) -> list[FullSwing]:
    """Full swings of a hole as carries and distances off the line to the plan's aim.

    A ball's carry is what it went less the club's usual run on the turf where it came to rest. Left
    out are shots whose place is not known to the sides at both ends, those that brought a penalty,
    those that may have been partial, and those from trees and sand.
    """
    found = []
    swings = {
        swing.club: (number, swing)
        for number, swing in enumerate(model.swings)
        if swing.style is SwingStyle.FULL
    }
    pin = placed.hole.pin_hole
    for shot, after, here, there in zip(
        placed.shots, placed.shots[1:], placed.sided, placed.sided[1:], strict=False
    ):
        known = swings.get(shot.club)
        if known is None or not (here and there) or shot.penalties or shot.strokes != 1:
            continue
        number, swing = known
        if shot.lie not in (Lie.TEE, Lie.FAIRWAY, Lie.ROUGH, Lie.DEEP_ROUGH):
            continue
        if shot.lie not in swing.patterns or math.dist(shot.position_hole, pin) < (
            LEAST_FULL_SHARE * swing.carry_m
        ):
            continue
        bearing = _bearing(values(shot.position_hole, shot.lie), number)
        if bearing is None:
            continue
        way = np.subtract(after.position_hole, shot.position_hole)
        along = float(way @ (math.cos(bearing), math.sin(bearing)))
        across = float(way @ (-math.sin(bearing), math.cos(bearing)))
        total = max(along, 0.0)
        run = swing.run_m.get(after.lie, 0.0)
        # A ball that went less than it usually runs never flew.
        carry = total - run if total > run else 0.0
        found.append(FullSwing(shot.club, shot.lie, carry, across, total))
    return found


def _bearing(values: Sequence[ShotValue], number: int) -> float | None:
    """Bearing of the best shot with a full swing [rad]; None if another swing is better."""
    return next((value.bearing for value in values if value.swing == number), None)
