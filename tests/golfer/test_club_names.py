"""Names of clubs: abbreviations, word order and lofts mean the clubs they say."""

from __future__ import annotations

import pytest

from planner.demo_data import demo_bag, demo_bag_names
from planner.golfer.bag import read_bag
from planner.golfer.club import ClubKind
from planner.golfer.club_names import club_from_name, matching_club, name_key
from planner.units import RAD_PER_DEG


@pytest.mark.parametrize(
    ("names", "kind", "loft_deg"),
    [
        (("7i", "7 Iron", "Iron 7", "i7", "7-iron", "No. 7 iron", "Eisen 7"), "iron", 33.0),
        (("Driver", "D", "DR", "1w", "1 wood"), "driver", 10.5),
        (("3w", "3 wood", "Fairway wood 3", "W3", "Holz 3"), "wood", 15.0),
        (("4h", "4 hybrid", "H4", "rescue 4"), "hybrid", 22.0),
        (("PW", "pitching wedge", "P"), "wedge", 46.0),
        (("SW", "Sand Wedge", "s"), "wedge", 56.0),
        (("56°", "56", "Wedge 56", "56 deg"), "wedge", 56.0),
    ],
)
def test_one_club_by_many_names(names: tuple[str, ...], kind: str, loft_deg: float) -> None:
    for name in names:
        club = club_from_name(name)
        assert club is not None, name
        assert club.kind == kind
        assert club.loft / RAD_PER_DEG == pytest.approx(loft_deg)
    if "56" not in names:
        assert len({name_key(name) for name in names}) == 1


@pytest.mark.parametrize("name", ["", "putter", "my favourite", "12 iron", "wood", "3", "77°"])
def test_names_that_tell_no_club(name: str) -> None:
    assert club_from_name(name) is None


@pytest.mark.parametrize("stem", demo_bag_names())
def test_every_label_of_a_bag_means_its_own_club(stem: str) -> None:
    bag = read_bag(demo_bag(stem))
    for club in bag.clubs:
        assert matching_club(club.label.upper(), bag.clubs) is club


def test_abbreviations_find_clubs_of_a_bag() -> None:
    clubs = read_bag(demo_bag("wren")).clubs
    for name, label in {
        "7i": "7 iron",
        "D": "Driver",
        "2 iron utility": "Utility 2 iron",
        "SW": "Sand wedge",
        "LW": "Lob wedge",
        "h3": "3 hybrid",
    }.items():
        found = matching_club(name, clubs)
        assert found is not None, name
        assert found.label == label
    sand = next(club for club in clubs if club.label == "Sand wedge")
    assert matching_club(f"{sand.loft / RAD_PER_DEG:.0f}°", clubs) is sand
    assert matching_club("1 iron", clubs) is None
    assert matching_club("wedge", clubs) is None


def test_a_lighter_driver_is_not_the_driver() -> None:
    clubs = read_bag(demo_bag("tobias")).clubs
    found = [matching_club(name, clubs) for name in ("light driver", "driver")]
    assert [club.label for club in found if club is not None] == ["Light driver", "Driver"]
    assert {club.kind for club in found if club is not None} == {ClubKind.DRIVER}
