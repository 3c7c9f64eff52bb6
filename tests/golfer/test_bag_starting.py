"""Bag files made from a few answers can be read and say what was answered."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import BagFileError
from planner.golfer.bag import bag_from_text
from planner.golfer.bag_starting import NAMED_CLUBS, USUAL_CLUBS, starting_bag
from planner.golfer.swing_set import build_shot_model
from planner.units import DistanceUnit


@given(
    name=st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=20),
    index=st.floats(-6.0, 54.0).map(lambda value: round(value, 1)),
    clubs=st.lists(st.sampled_from(NAMED_CLUBS), min_size=1, max_size=13, unique=True),
    left=st.booleans(),
    unit=st.sampled_from(DistanceUnit),
    carry=st.floats(120.0, 260.0),
)
def test_whatever_is_answered_is_a_bag(
    name: str, index: float, clubs: list[str], left: bool, unit: DistanceUnit, carry: float
) -> None:
    text = starting_bag(
        name, index, clubs, left_handed=left, carries_m={"Driver": carry}, unit=unit
    )
    bag = bag_from_text(text, source="made")
    assert bag.golfer.handicap_index == index
    assert bag.golfer.left_handed is left
    assert [club.label for club in bag.clubs] == [*clubs, "Putter"]
    for club in bag.clubs:
        pattern = club.pattern
        assert (pattern is not None) == (club.label == "Driver")
        if pattern is not None:
            assert pattern.carry_m == pytest.approx(carry, abs=0.06)


def test_the_usual_bag_can_be_played() -> None:
    bag = bag_from_text(starting_bag("Me", 18.0, USUAL_CLUBS), source="made")
    assert bag.carried()
    model = build_shot_model(bag)
    carries = {swing.club: swing.carry_m for swing in model.swings if swing.style.value == "full"}
    assert carries["Driver"] > carries["5 iron"] > carries["9 iron"] > carries["Sand wedge"]


def test_a_name_that_tells_nothing_is_said() -> None:
    with pytest.raises(BagFileError, match="spoon"):
        starting_bag("Me", 18.0, ["spoon"])
