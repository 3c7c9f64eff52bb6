"""Logged rounds in a store: saved shot by shot, found again, and as the rows of a round file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from planner.course.hole import Course
from planner.course.lies import Lie
from planner.course.reading import to_lonlat
from planner.errors import StoreError
from planner.golfer.round_file import RoundRow
from planner.golfer.shot_log_values import lie_of
from planner.store.golfers import golfers, save_golfer
from planner.store.opening import LOCAL_OWNER, Store
from planner.store.records import RoundHole, RoundShot, SavedRound
from planner.store.rounds import rewrite_round, rounds
from planner.strategy.strokes_gained import HoleAccount

__all__ = [
    "Card",
    "holes_of",
    "keep_round",
    "new_card",
    "rounds_of",
    "with_row",
    "without_last",
]

Rows = Mapping[str, tuple[RoundRow, ...]]


@dataclass(frozen=True)
class Card:
    """A round that is being logged: what it is, and its shots by hole.

    ``id`` is that of the saved round; None before it was saved.
    """

    golfer: str
    course: str
    tee: str
    played_on: date
    rows: Rows
    id: str | None = None

    def shots(self, ref: str) -> tuple[RoundRow, ...]:
        """Shots of a hole so far."""
        return self.rows.get(ref, ())

    def strokes(self, ref: str) -> int:
        """Strokes and penalty strokes on a hole so far."""
        return sum(row.strokes + row.penalties for row in self.shots(ref))

    @property
    def total(self) -> int:
        """Strokes and penalty strokes so far."""
        return sum(self.strokes(ref) for ref in self.rows)


def new_card(golfer: str, course: str, tee: str, played_on: date) -> Card:
    """Empty card."""
    return Card(golfer, course, tee, played_on, {})


def with_row(card: Card, row: RoundRow) -> Card:
    """Card with one more shot at the end of its hole."""
    return replace(card, rows={**card.rows, row.hole: (*card.shots(row.hole), row)})


def without_last(card: Card, ref: str) -> Card:
    """Card without the last shot of a hole."""
    rows = {**card.rows, ref: card.shots(ref)[:-1]}
    return replace(card, rows={name: shots for name, shots in rows.items() if shots})


def keep_round(
    store: Store,
    card: Card,
    *,
    course: Course | None = None,
    accounts: Sequence[HoleAccount] = (),
    owner: str = LOCAL_OWNER,
) -> Card:
    """Save a card as it is now, over what was saved of it before.

    Parameters
    ----------
    course
        The map, for places that are known along and across a hole.
    accounts
        Holes that were valued, which say where the plan was kept.

    Raises
    ------
    StoreError
        It cannot be saved; what was saved before is still there.
    """
    kept = {(hole.ref, shot.played.number): shot.kept for hole in accounts for shot in hole.shots}
    with store.writing(owner) as work:
        golfer = save_golfer(work, card.golfer)
        made = SavedRound(
            golfer_id=golfer.id,
            date=card.played_on,
            course_name=card.course,
            tee=card.tee,
            holes=tuple(_hole(card, ref, course) for ref in card.rows),
            shots=tuple(
                shot for ref in card.rows for shot in _strokes(ref, card.shots(ref), course, kept)
            ),
        )
        if card.id is not None:
            made = replace(made, id=card.id)
        rewrite_round(work, made)
    return replace(card, id=made.id)


def rounds_of(
    store: Store, golfer: str, course: str, *, owner: str = LOCAL_OWNER
) -> tuple[Card, ...]:
    """Saved rounds of a golfer on a course, the latest first.

    Raises
    ------
    StoreError
        The store cannot be read.
    """
    with store.reading(owner) as work:
        names = {one.id: one.name for one in golfers(work)}
        found = [
            one
            for one in rounds(work)
            if names.get(one.golfer_id) == golfer.strip() and one.course_name == course
        ]
    found.sort(key=lambda one: (one.date, one.saved_at), reverse=True)
    return tuple(
        Card(golfer, one.course_name, one.tee or "", one.date, holes_of(one), one.id)
        for one in found
    )


def holes_of(saved: SavedRound) -> Rows:
    """Shots of a saved round by hole, as the rows of a round file.

    Raises
    ------
    StoreError
        A lie is no lie that is known.
    """
    rows: dict[str, list[RoundRow]] = {}
    for shot in saved.shots:
        lie = lie_of(shot.lie or "")
        if lie is not None and not isinstance(lie, Lie):
            raise StoreError(
                f'round "{saved.name}", hole {shot.hole_ref}: lie "{shot.lie}" is not known'
            )
        has_place = shot.lon_deg is not None and shot.lat_deg is not None
        before = rows.setdefault(shot.hole_ref, [])
        follows = lie is Lie.GREEN and shot.to_pin_m is None and not has_place and before
        if follows and before[-1].lie is Lie.GREEN:
            before[-1] = replace(before[-1], strokes=before[-1].strokes + 1)
            continue
        place = (
            (shot.lon_deg, shot.lat_deg)
            if shot.lon_deg is not None and shot.lat_deg is not None
            else None
        )
        before.append(
            RoundRow(
                hole=shot.hole_ref,
                line=shot.number,
                lie=lie,
                to_pin_m=shot.to_pin_m,
                place_lonlat=place,
                club=shot.club or "",
                outcome=shot.outcome or "",
                penalties=shot.penalties or 0,
            )
        )
    return {ref: tuple(shots) for ref, shots in rows.items()}


def _hole(card: Card, ref: str, course: Course | None) -> RoundHole:
    rows = card.shots(ref)
    known = {} if course is None else {hole.ref: hole.par for hole in course.holes}
    return RoundHole(
        ref=ref,
        par=known.get(ref),
        strokes=card.strokes(ref),
        putts=sum(row.strokes for row in rows if row.lie is Lie.GREEN),
        penalties=sum(row.penalties for row in rows),
    )


def _strokes(
    ref: str,
    rows: Sequence[RoundRow],
    course: Course | None,
    kept: Mapping[tuple[str, int], bool | None],
) -> list[RoundShot]:
    found: list[RoundShot] = []
    for place, row in enumerate(rows, start=1):
        lonlat = row.place_lonlat
        if lonlat is None and row.place_hole is not None and course is not None:
            lon, lat = to_lonlat(course, course.hole(ref), [row.place_hole])[0].tolist()
            lonlat = (lon, lat)
        found.append(
            RoundShot(
                hole_ref=ref,
                number=len(found) + 1,
                club=row.club or None,
                lie=None if row.lie is None else row.lie.words,
                outcome=row.outcome or None,
                lon_deg=None if lonlat is None else lonlat[0],
                lat_deg=None if lonlat is None else lonlat[1],
                to_pin_m=row.to_pin_m,
                penalties=row.penalties,
                plan_kept=kept.get((ref, place)),
            )
        )
        for _ in range(row.strokes - 1):
            lie = None if row.lie is None else row.lie.words
            found.append(RoundShot(hole_ref=ref, number=len(found) + 1, lie=lie, penalties=0))
    return found
