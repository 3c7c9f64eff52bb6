"""Another golfer's clubs in one's own hands."""

from __future__ import annotations

from planner.demo_data import demo_bag
from planner.golfer.bag import Bag, read_bag
from planner.golfer.club import ClubKind
from planner.planning.borrowed_clubs import SAME_LOFT, with_borrowed

ODILE, WREN = read_bag(demo_bag("odile")), read_bag(demo_bag("wren"))


def hit(bag: Bag) -> list[tuple[ClubKind, float]]:
    return sorted(
        (club.kind, club.loft) for club in bag.carried() if club.kind is not ClubKind.PUTTER
    )


def test_a_set_of_the_lenders_clubs_and_the_own_putter() -> None:
    whole, theirs = with_borrowed(ODILE, WREN)
    assert whole.clubs[: len(ODILE.clubs)] == ODILE.clubs
    assert whole.golfer == ODILE.golfer
    chosen = [whole.club(label) for label in theirs]
    assert [club for club in chosen if club.kind is ClubKind.PUTTER] == [
        club for club in ODILE.carried() if club.kind is ClubKind.PUTTER
    ]
    lofts = sorted((club.kind, club.loft) for club in chosen if club.kind is not ClubKind.PUTTER)
    assert len(lofts) == len(hit(WREN))
    for (kind, loft), (wanted, other) in zip(lofts, hit(WREN), strict=True):
        assert kind is wanted
        assert abs(loft - other) < SAME_LOFT


def test_what_the_lender_does_with_his_clubs_stays_with_him() -> None:
    whole, _ = with_borrowed(ODILE, WREN)
    for club in whole.clubs[len(ODILE.clubs) :]:
        assert club.pattern is None
        assert not club.carried
    labels = [club.label.casefold() for club in whole.clubs]
    assert len(labels) == len(set(labels))


def test_nobody_borrows_from_himself() -> None:
    whole, theirs = with_borrowed(ODILE, ODILE)
    assert whole == ODILE
    assert set(theirs) == {club.label for club in ODILE.carried()}
