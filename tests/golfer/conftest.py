"""Bags for the tests of the golfer's part."""

from collections.abc import Callable, Mapping

import pytest

from planner.golfer.bag import Bag, Golfer
from planner.golfer.club import Club, ClubKind, MeasuredPattern
from planner.units import RAD_PER_DEG

SET = (
    ("Driver", "driver", 10.5),
    ("3 wood", "wood", 15.0),
    ("5 wood", "wood", 18.0),
    ("4 hybrid", "hybrid", 22.0),
    ("5 iron", "iron", 26.0),
    ("6 iron", "iron", 29.5),
    ("7 iron", "iron", 33.0),
    ("8 iron", "iron", 37.0),
    ("9 iron", "iron", 41.0),
    ("Pitching wedge", "wedge", 46.0),
    ("Gap wedge", "wedge", 51.0),
    ("Sand wedge", "wedge", 56.0),
    ("Lob wedge", "wedge", 60.0),
)

MakeBag = Callable[..., Bag]


@pytest.fixture
def make_bag() -> MakeBag:
    """Make a full set; ``patterns`` by label are measured, ``labels`` selects clubs."""

    def make(
        handicap_index: float = 15.0,
        *,
        patterns: Mapping[str, MeasuredPattern] | None = None,
        labels: tuple[str, ...] | None = None,
        **golfer: object,
    ) -> Bag:
        clubs = [
            Club(
                label,
                ClubKind(kind),
                loft * RAD_PER_DEG,
                tee_only=kind == "driver",
                pattern=(patterns or {}).get(label),
            )
            for label, kind, loft in SET
            if labels is None or label in labels
        ]
        clubs.append(Club("Putter", ClubKind.PUTTER, 3 * RAD_PER_DEG))
        return Bag("set", Golfer("golfer", handicap_index, **golfer), tuple(clubs))  # type: ignore[arg-type]

    return make
